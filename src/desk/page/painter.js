/* Painter: a brush on the mural. What it paints is a raster of indices, whose part that the mural
 * shows lies over it; a pointer paints, or arrow keys and space do. The raster's owner is told when
 * a stroke is done. */

const NOTHING = 0;
const FINE = 3; /* pixels of a cell, on a side, of which a line takes one */
const FOUND_VEIL = 70;
const AT = { left: 1, right: 2, top: 4, bottom: 8 };

class Painter {
  constructor(desk) {
    this.desk = desk;
    this.element = byId('marks');
    this.canvas = byId('paint');
    this.foundCanvas = byId('found');
    this.cursor = byId('brush');
    this.task = null;
    this.listen();
  }
  /* task: {width, height, indices, part {left, top, width, height}, inks (of each index, "#rrggbb"; '' is clear),
   * veil (0 to 255), round, size(), index(place), done()}. null puts the brush away. */
  open(task) {
    this.task = task;
    this.element.classList.toggle('painting', Boolean(task));
    byId('mural').classList.toggle('painted', Boolean(task)); /* nothing hangs beside it then */
    if (task) this.element.tabIndex = 0;
    else this.element.removeAttribute('tabindex');
    if (task?.owner !== this.found?.owner) this.setFound(null);
    this.canvas.hidden = !task;
    this.cursor.hidden = true;
    if (!task) return;
    this.picture = new CellPicture(task.width, task.height);
    this.canvas.width = task.width;
    this.canvas.height = task.height;
    const { left, top, width, height } = task.part;
    Object.assign(this.canvas.style, { left: `${-100 * left / width}%`, top: `${-100 * top / height}%`,
      width: `${100 * task.width / width}%`, height: `${100 * task.height / height}%` });
    this.at = [Math.floor(left + width / 2), Math.floor(top + height / 2)];
    this.repaint();
  }
  /* What came of the strokes: {columns, rows, indices of the cells, inks}, or null. Lies under the strokes. */
  setFound(found) {
    this.found = found && { owner: this.task?.owner };
    this.foundCanvas.hidden = !found;
    if (!found) return;
    const { columns, rows, indices, inks } = found;
    const picture = new CellPicture(FINE * columns, FINE * rows);
    const lines = inks.map((ink) => (ink ? opaque(...channels(ink)) : 0));
    const own = new Uint32Array(indices.length);
    for (let i = 0; i < own.length; i++) own[i] = lines[indices[i]];
    const wide = FINE * columns;
    for (let y = 0, i = 0; y < rows; y++)
      for (let x = 0; x < columns; x++, i++) {
        const ends = (x > 0 && own[i - 1] !== own[i] ? AT.left : 0)
          | (x < columns - 1 && own[i + 1] !== own[i] ? AT.right : 0)
          | (y > 0 && own[i - columns] !== own[i] ? AT.top : 0)
          | (y < rows - 1 && own[i + columns] !== own[i] ? AT.bottom : 0);
        if (own[i] || ends) this.markCell(picture.pixels, FINE * (y * wide + x), wide, own[i], ends);
      }
    Object.assign(this.foundCanvas, { width: FINE * columns, height: FINE * rows });
    picture.put();
    this.foundCanvas.getContext('2d').drawImage(picture.canvas, 0, 0);
  }
  /* A cell under a veil, with a line where it borders on what is marked otherwise; white where it is not marked,
   * so that one of the two lines shows on any ground. */
  markCell(pixels, at, wide, ink, ends) {
    const veil = ink && (ink & 0xffffff | FOUND_VEIL << 24) >>> 0;
    const line = ink || 0xffffffff;
    for (let v = 0; v < FINE; v++)
      for (let u = 0; u < FINE; u++) {
        const sides = (u === 0 ? AT.left : 0) | (u === FINE - 1 ? AT.right : 0) | (v === 0 ? AT.top : 0)
          | (v === FINE - 1 ? AT.bottom : 0);
        pixels[at + v * wide + u] = sides & ends ? line : veil;
      }
  }
  repaint() {
    const { task } = this;
    this.pixels = task.inks.map((ink) => (ink ? (opaque(...channels(ink)) & 0xffffff | task.veil << 24) >>> 0 : 0));
    for (let i = 0; i < task.indices.length; i++) this.picture.pixels[i] = this.pixels[task.indices[i]] || 0;
    this.put(0, 0, task.width, task.height);
  }
  put(x, y, width, height) {
    this.picture.put(x, y, width, height);
    const context = this.canvas.getContext('2d');
    context.clearRect(x, y, width, height);
    context.drawImage(this.picture.canvas, x, y, width, height, x, y, width, height);
  }
  placeOf(event) {
    const box = this.element.getBoundingClientRect();
    const { left, top, width, height } = this.task.part;
    return [left + (event.clientX - box.left) / box.width * width,
      top + (event.clientY - box.top) / box.height * height];
  }
  /* A dab of the brush: a disc, or a square of cells. */
  dab(x, y) {
    const { task } = this;
    const r = task.size() / 2;
    const [l, t] = task.round ? [x - r, y - r] : [Math.floor(x - r + 0.5), Math.floor(y - r + 0.5)];
    const [x0, y0] = [Math.max(0, Math.floor(l)), Math.max(0, Math.floor(t))];
    const [x1, y1] = [Math.min(task.width, Math.ceil(l + 2 * r)), Math.min(task.height, Math.ceil(t + 2 * r))];
    for (let v = y0; v < y1; v++)
      for (let u = x0; u < x1; u++) {
        if (task.round && Math.hypot(u + 0.5 - x, v + 0.5 - y) > r) continue;
        const i = v * task.width + u;
        const index = task.indices[i] = task.index(i);
        this.picture.pixels[i] = this.pixels[index] || 0;
      }
    if (x1 > x0 && y1 > y0) this.put(x0, y0, x1 - x0, y1 - y0);
  }
  stroke([x0, y0], [x1, y1]) {
    const steps = Math.max(1, Math.ceil(Math.hypot(x1 - x0, y1 - y0) / Math.max(this.task.size() / 4, 0.5)));
    for (let i = 1; i <= steps; i++) this.dab(x0 + (x1 - x0) * i / steps, y0 + (y1 - y0) * i / steps);
  }
  listen() {
    const m = this.element;
    m.addEventListener('pointerdown', (event) => {
      if (!this.task || event.button) return;
      event.stopPropagation();
      m.setPointerCapture(event.pointerId);
      const place = this.placeOf(event);
      if (this.task.pick && (event.altKey || this.task.picks())) return void this.task.pick(...place);
      this.last = place;
      this.points = [place];
      this.dab(...place);
    });
    m.addEventListener('pointermove', (event) => {
      if (!this.task || !this.last) return;
      for (const e of event.getCoalescedEvents?.() || [event]) {
        const place = this.placeOf(e);
        this.stroke(this.last, place);
        this.last = place;
        this.points.push(place);
      }
    });
    const end = () => {
      if (!this.task || !this.last) return;
      this.last = null;
      this.task.done();
    };
    for (const name of ['pointerup', 'pointercancel']) m.addEventListener(name, end);
    m.addEventListener('keydown', (event) => this.key(event));
    m.addEventListener('blur', () => { this.cursor.hidden = true; });
  }
  key(event) {
    const ways = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1], ' ': [0, 0], Enter: [0,
      0] };
    const way = ways[event.key];
    if (!this.task || !way || isShortcut(event)) return;
    event.preventDefault();
    event.stopPropagation();
    const { width, height, part } = this.task;
    const far = (this.task.round ? this.task.size() / 2 : 1) * (event.shiftKey ? 10 : 1);
    this.at = [clamp(this.at[0] + way[0] * far, 0, width - 1), clamp(this.at[1] + way[1] * far, 0, height - 1)];
    Object.assign(this.cursor.style, { left: `${100 * (this.at[0] + 0.5 - part.left) / part.width}%`,
      top: `${100 * (this.at[1] + 0.5 - part.top) / part.height}%` });
    this.cursor.hidden = false;
    if (way[0] || way[1]) return this.desk.say(`${Math.floor(this.at[0]) + 1}, ${Math.floor(this.at[1]) + 1}`);
    this.dab(this.at[0] + 0.5, this.at[1] + 0.5);
    return this.task.done();
  }
}

/* What is painted is brought stroke by stroke, in their order. Meanwhile the wall has earlier states of
 * it, which are not to be read over what was painted since; and it may have what comes of a stroke
 * before the answer tells how that is called. States go by a key. */
class OnItsWay {
  constructor(desk) {
    this.desk = desk;
    this.last = ''; /* what is painted */
    this.older = new Set();
    this.under = 0; /* strokes that are not answered yet */
    this.met = []; /* what the wall had meanwhile */
    this.tail = Promise.resolve();
  }
  /* work() brings a stroke, and gives the key of what came of it; null where it was refused. */
  send(work) {
    this.under++;
    return this.tail = this.tail.then(work).then((key) => key !== null && this.put(key))
      .catch((error) => this.desk.fault(error.message)).finally(() => this.arrive());
  }
  put(key) {
    this.older.add(this.last);
    this.last = key;
  }
  /* What the wall had is looked at now that all keys are known; if it went on to another, that is news. */
  arrive() {
    if (--this.under) return;
    const met = this.met.splice(0);
    if (met.includes(this.last)) this.older.clear();
    if (met.length && !this.has(met[met.length - 1])) this.desk.showOwn(true);
  }
  has(key) { return key === this.last || this.older.has(key); }
  /* Whether what the wall has now came from elsewhere; from then on it is what is painted. */
  isNews(key) {
    if (this.under) return void this.met.push(key);
    if (key === this.last) this.older.clear();
    if (this.has(key)) return false;
    this.last = key;
    this.older.clear();
    return true;
  }
}

/* The raster on which strokes and regions are drawn has the whole picture's shape. */
const RASTER = 900;
function rasterOf(frame) {
  const scale = RASTER / Math.max(frame.pictureWidth, frame.pictureHeight);
  return { width: Math.max(1, Math.round(frame.pictureWidth * scale)), height: Math.max(1,
    Math.round(frame.pictureHeight * scale)),
    part: { left: frame.left * scale, top: frame.top * scale, width: frame.width * scale,
      height: frame.height * scale } };
}

/* What of the picture a raster is of, as the program takes it: all, or, where it has not that shape, the
 * crop. */
function coverOf({ width, height }, { pictureWidth, pictureHeight }, crop) {
  const whole = { left: 0, top: 0, width: pictureWidth, height: pictureHeight };
  const [, ...numbers] = /^(\d+)x(\d+)\+(\d+)\+(\d+)$/.exec(crop) || [];
  const [w, h, left, top] = numbers.map(Number);
  const isWhole = Math.abs(width * pictureHeight / pictureWidth - height) <= Math.max(1, height / 100);
  return isWhole || !numbers.length ? whole : { left, top, width: w, height: h };
}

/* The indices of a raster that was brought before, drawn anew at this size; outside of it, or of none, 0. */
async function loadRaster(setting, { width, height }, { frame, crop }) {
  const response = await fetch(`/brought?setting=${setting}`);
  const read = response.ok ? await readIndexed(await response.arrayBuffer()) : null;
  const indices = new Uint8Array(width * height);
  if (!read) return indices;
  const cover = coverOf(read, frame, crop);
  const placeOf = (at, all, pixels, from, covered, count) =>
    Math.floor(((at + 0.5) / all * pixels - from) / covered * count);
  const columns = Array.from({ length: width }, (_, x) =>
    placeOf(x, width, frame.pictureWidth, cover.left, cover.width, read.width));
  for (let y = 0; y < height; y++) {
    const row = placeOf(y, height, frame.pictureHeight, cover.top, cover.height, read.height);
    if (row < 0 || row >= read.height) continue;
    for (let x = 0; x < width; x++)
      if (columns[x] >= 0 && columns[x] < read.width)
        indices[y * width + x] = read.indices[row * read.width + columns[x]];
  }
  return indices;
}
