/* Edges: an outline that was drawn by hand, laid along the edges of the picture under the brush. It
 * goes round on the path of least cost, on which a step costs the less the steeper the picture is
 * there, and never leaves what the brush went over.
 *
 * Source: E. N. Mortensen and W. A. Barrett, "Intelligent scissors for image composition", SIGGRAPH
 * 1995, of whose costs that of the gradient's magnitude is taken, as whole numbers in buckets too. */

/* Times what a step along the steepest place costs; from 8 to 200 the test's ring is laid alike. */
const DEAREST = 20;
const LEGS = 3; /* of a way round, so that none can turn back and be shorter */

/* How steep the picture is at each place: by central differences, the steepest of the channels. */
function steepness({ data, width, height }) {
  const steep = new Float32Array(width * height);
  const at = (x, y, c) => data[4 * (clamp(y, 0, height - 1) * width + clamp(x, 0, width - 1)) + c];
  for (let y = 0; y < height; y++)
    for (let x = 0; x < width; x++)
      for (let c = 0; c < 3; c++) {
        const here = Math.sqrt((at(x + 1, y, c) - at(x - 1, y, c)) ** 2 + (at(x, y + 1, c) - at(x, y - 1, c)) ** 2);
        if (here > steep[y * width + x]) steep[y * width + x] = here;
      }
  return steep;
}

/* The same of a picture that the program shows, at so many places; null where there is none. */
async function steepnessOf(path, width, height) {
  const response = await fetch(path);
  if (!response.ok) return null;
  const canvas = make('canvas');
  Object.assign(canvas, { width, height });
  const context = canvas.getContext('2d');
  context.drawImage(await createImageBitmap(await response.blob()), 0, 0, width, height);
  return steepness(context.getImageData(0, 0, width, height));
}

/* The places of the path of least cost, both ends with it; none where no path leads. costs: bytes in
 * rows, what a step onto the place costs; 0 is shut. */
function leastCostPath(costs, width, from, to) {
  const known = new Float64Array(costs.length).fill(Infinity);
  const before = new Int32Array(costs.length).fill(-1);
  const buckets = [[from]]; /* by what the way there costs */
  known[from] = 0;
  for (let spent = 0; spent < buckets.length && known[to] > spent; spent++)
    for (const at of buckets[spent] || []) {
      if (known[at] !== spent) continue;
      for (let dy = -1; dy <= 1; dy++)
        for (let dx = -1; dx <= 1; dx++) {
          const next = at + dy * width + dx;
          const x = at % width + dx;
          if (!costs[next] || x < 0 || x >= width) continue;
          const far = spent + Math.ceil(costs[next] * (dx && dy ? Math.SQRT2 : 1));
          if (far >= known[next]) continue;
          known[next] = far;
          before[next] = at;
          (buckets[far] ||= []).push(next);
        }
    }
  const path = [];
  for (let at = known[to] < Infinity ? to : -1; at >= 0; at = before[at]) path.unshift(at);
  return path;
}

/* Points on a closed line, so far apart at most. */
function alongLine(points, apart) {
  return points.flatMap(([x0, y0], i) => {
    const [x1, y1] = points[(i + 1) % points.length];
    const steps = Math.max(1, Math.ceil(Math.hypot(x1 - x0, y1 - y0) / apart));
    return Array.from({ length: steps }, (_, k) => [x0 + (x1 - x0) * k / steps, y0 + (y1 - y0) * k / steps]);
  });
}

/* Calls `act` with each place within the radius of a point. */
function inDisc([x, y], radius, width, height, act) {
  for (let v = Math.max(0, Math.floor(y - radius)); v < Math.min(height, y + radius); v++)
    for (let u = Math.max(0, Math.floor(x - radius)); u < Math.min(width, x + radius); u++)
      if ((u + 0.5 - x) ** 2 + (v + 0.5 - y) ** 2 <= radius ** 2) act(v * width + u);
}

/* The closed outline through `points`, laid along the picture's edges within `radius` of it; as it
 * was where the picture is even. steep: as steepness() gives it, of width × height places. */
function alongEdges(points, steep, width, height, radius) {
  const line = alongLine(points, radius / 2);
  const starts = Array.from({ length: LEGS }, (_, leg) => Math.floor(leg * line.length / LEGS));
  const ends = starts.map((at) => {
    let best = -1;
    inDisc(line[at], radius, width, height, (i) => { if (best < 0 || steep[i] > steep[best]) best = i; });
    return best;
  });
  const path = starts.map((start, leg) => {
    const part = [...line, ...line].slice(start, (starts[leg + 1] || line.length) + 1);
    const costs = new Uint8Array(width * height);
    let steepest = 0;
    for (const point of part) inDisc(point, radius, width, height, (i) => { steepest = Math.max(steepest, steep[i]); });
    const cost = (i) => { costs[i] = 1 + Math.round((DEAREST - 1) * (1 - steep[i] / steepest)); };
    for (const point of steepest ? part : []) inDisc(point, radius, width, height, cost);
    return ends[leg] < 0 ? [] : leastCostPath(costs, width, ends[leg], ends[(leg + 1) % LEGS]);
  });
  if (path.some((leg) => !leg.length)) return points;
  return path.flat().map((i) => [i % width + 0.5, Math.floor(i / width) + 0.5]);
}
