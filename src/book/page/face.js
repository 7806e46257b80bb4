/* Field: cells and the bricks that fill them, painted on a view. The fills are one small
 * picture, a pixel a cell, so that a far view costs the same however many bricks
 * there are; joints and ids are drawn for what is in sight and large enough. */

/* How a brick stands: laid is dulled toward a grey that stands off the page, later is a tint of the
 * page, so that the two differ for every colour, black and white too; next is lit, full is plain; below
 * is the grey of what lies under the layer. */
const LAID = 0, NEXT = 1, LATER = 2, FULL = 3, OFF = 4, BELOW = 5;
const STRENGTH = [0.35, 1, 0.2, 1, 0.1];
const BELOW_STRENGTH = 0.3;
const LAID_GROUND = { light: 150, dark: 130 };

class Inks {
  constructor(plan) {
    this.plan = plan;
    this.read();
    this.marks = plan.colours.map((c) => new Path2D(c.path));
  }
  /* The page's inks, and each colour in each state, as pixels. */
  read() {
    const style = getComputedStyle(document.documentElement);
    for (const name of ['paper', 'card', 'ink', 'soft', 'rule', 'edge', 'accent'])
      this[name] = style.getPropertyValue(`--${name}`).trim();
    const paper = channels(this.paper);
    const dark = paper[0] < 128;
    this.void = dark ? '#101214' : '#dedbd1';
    const dulled = new Array(3).fill(dark ? LAID_GROUND.dark : LAID_GROUND.light);
    const mixed = (rgb, strength, ground = paper) =>
      opaque(...rgb.map((c, i) => Math.round(c * strength + ground[i] * (1 - strength))));
    this.pixel = STRENGTH.map((strength, state) => Uint32Array.from(this.plan.colours, ({ rgb }) =>
      mixed(rgb, strength, state === LAID ? dulled : paper)));
    this.pixel[BELOW] = Uint32Array.from(this.plan.colours, ({ rgb: [r, g, b] }) =>
      mixed(new Array(3).fill(0.3 * r + 0.59 * g + 0.11 * b), BELOW_STRENGTH));
  }
}

class Field {
  /* units: the brick of each cell, or -1, row 0 first; originColumn and originRow are the
   * numbers of cell (0, 0) in the mural; under: the same of the layer below, or null. */
  constructor(plan, inks, columns, rows, units, originColumn, originRow, under = null) {
    Object.assign(this, { plan, inks, columns, rows, units, originColumn, originRow, under });
    this.picture = new CellPicture(columns, rows);
  }
  /* The brick at this place, -1 where there is none. */
  brickAt(u, v) {
    const column = Math.floor(u);
    const row = Math.floor(v);
    if (column < 0 || row < 0 || column >= this.columns || row >= this.rows) return -1;
    return this.units[row * this.columns + column];
  }
  /* state(brick) for all cells of columns [from, to), rows [low, high). */
  colour(state, from = 0, low = 0, to = this.columns, high = this.rows) {
    const { plan, inks, units, under, columns, rows } = this;
    const { pixels } = this.picture;
    for (let row = low; row < high; row++) {
      const base = (rows - 1 - row) * columns;
      for (let column = from; column < to; column++) {
        const i = units[row * columns + column];
        const j = i < 0 && under ? under[row * columns + column] : -1;
        pixels[base + column] = i >= 0 ? inks.pixel[state(i)][plan.colour[i]]
          : j >= 0 ? inks.pixel[BELOW][plan.colour[j]] : 0;
      }
    }
    this.picture.put(from, rows - high, to - from, high - low);
  }
  /* part: the cells to paint anew, {left, low, right, high}; null for all. */
  paint(context, view, state, part = null) {
    const { inks } = this;
    /* A cell more than is painted, for what it has in common with its neighbours. */
    const sight = this.inSight(view, part && widened(part));
    this.whole = this.inSight(view);
    context.save();
    if (part) this.clipTo(context, view, part);
    context.fillStyle = inks.paper;
    context.fillRect(0, 0, view.width, view.height);
    const width = this.columns * view.scale;
    const height = this.rows * view.scale * view.aspect;
    context.fillStyle = inks.void;
    context.fillRect(view.left(0), view.upper(this.rows), width, height);
    context.imageSmoothingEnabled = view.scale < 1;
    context.drawImage(this.picture.canvas, view.left(0), view.upper(this.rows), width, height);
    const cells = (sight.right - sight.left) * (sight.high - sight.low);
    if (view.scale >= 4 && cells < 60000) this.paintJoints(context, view, sight);
    if (this.under && view.scale >= 6 && cells < 30000) this.paintUnder(context, view, sight, state);
    this.paintTens(context, view, sight);
    if (state) this.paintLit(context, view, sight, state);
    /* Where all labels would be too many, only what is lit has them. */
    const { left, right, low, high } = this.whole;
    if (view.scale >= 11) this.paintLabels(context, view, sight, state, (right - left) * (high - low) > 5000);
    context.restore();
  }
  /* To whole pixels, so that what is painted again leaves no seam. */
  clipTo(context, view, { left, right, low, high }) {
    const { ratio } = view;
    const x = Math.floor(view.left(left) * ratio) / ratio;
    const y = Math.floor(view.upper(high) * ratio) / ratio;
    context.beginPath();
    const end = Math.ceil(view.left(right) * ratio) / ratio;
    context.rect(x, y, end - x, Math.ceil(view.upper(low) * ratio) / ratio - y);
    context.clip();
  }
  inSight(view, part = null) {
    const [left, low] = view.cellAt(0, view.height);
    const [right, high] = view.cellAt(view.width, 0);
    const box = part || { left: 0, right: this.columns, low: 0, high: this.rows };
    const across = (column) => clamp(column, Math.max(box.left, 0), Math.min(box.right, this.columns));
    const up = (row) => clamp(row, Math.max(box.low, 0), Math.min(box.high, this.rows));
    return {
      left: across(Math.floor(left)), right: across(Math.ceil(right)),
      low: up(Math.floor(low)), high: up(Math.ceil(high)),
    };
  }
  /* Joints: a line wherever two neighbours are different bricks, in stretches. */
  paintJoints(context, view, { left, right, low, high }) {
    const w = view.scale;
    const h = view.scale * view.aspect;
    context.fillStyle = this.inks.edge;
    const line = view.scale >= 14 ? 1 : 0.6;
    const at = (column, row) => this.brickAt(column, row);
    for (let row = low; row <= high; row++) {
      let from = -1;
      for (let column = left; column <= right; column++) {
        const joint = column < right && at(column, row) !== at(column, row - 1);
        if (joint && from < 0) from = column;
        if (!joint && from >= 0) {
          context.fillRect(view.left(from), view.upper(row) - line / 2, (column - from) * w, line);
          from = -1;
        }
      }
    }
    for (let row = low; row < high; row++)
      for (let column = left; column <= right; column++)
        if (at(column, row) !== at(column - 1, row))
          context.fillRect(view.left(column) - line / 2, view.upper(row + 1), line, h);
  }
  /* The joints of the layer below, broken, where nothing of this one is laid yet. */
  paintUnder(context, view, { left, right, low, high }, state) {
    const { units, under, columns } = this;
    context.beginPath();
    for (let row = low; row < high; row++)
      for (let column = left; column < right; column++) {
        const cell = row * columns + column;
        const j = under[cell];
        if (j < 0 || (state && units[cell] >= 0 && state(units[cell]) === LAID)) continue;
        const x = view.left(column);
        const y = view.upper(row);
        if (column > 0 && under[cell - 1] !== j) {
          context.moveTo(x, y);
          context.lineTo(x, view.upper(row + 1));
        }
        if (row > 0 && under[cell - columns] !== j) {
          context.moveTo(x, y);
          context.lineTo(view.left(column + 1), y);
        }
      }
    context.setLineDash([view.scale / 6, view.scale / 6]);
    context.strokeStyle = this.inks.soft;
    context.lineWidth = 1;
    context.stroke();
    context.setLineDash([]);
  }
  paintTens(context, view, { left, right, low, high }) {
    if (view.scale < 2) return;
    context.globalAlpha = 0.5;
    context.fillStyle = this.inks.ink;
    const line = view.scale > 10 ? 1.5 : 1;
    for (let column = left; column <= right; column++)
      if ((this.originColumn + column) % 10 === 0)
        context.fillRect(view.left(column) - line / 2, view.upper(high), line, view.upper(low) - view.upper(high));
    for (let row = low; row <= high; row++)
      if ((this.originRow + row) % 10 === 0)
        context.fillRect(view.left(left), view.upper(row) - line / 2, view.left(right) - view.left(left), line);
    context.globalAlpha = 1;
  }
  /* Calls visit(brick, column, row, us, vs) for each brick that shows between these ends, with
   * the part of it that is in sight. */
  eachBrick({ left, right, low, high }, visit) {
    const { units, columns, whole } = this;
    for (let row = low; row < high; row++)
      for (let column = left; column < right; column++) {
        const cell = row * columns + column;
        const i = units[cell];
        if (i < 0 || (column > left && units[cell - 1] === i) || (row > low && units[cell - columns] === i)) continue;
        let [u0, u1, v0, v1] = [column, column + 1, row, row + 1];
        while (u0 > whole.left && units[row * columns + u0 - 1] === i) u0--;
        while (u1 < whole.right && units[row * columns + u1] === i) u1++;
        while (v0 > whole.low && units[(v0 - 1) * columns + column] === i) v0--;
        while (v1 < whole.high && units[v1 * columns + column] === i) v1++;
        visit(i, u0, v0, u1 - u0, v1 - v0);
      }
  }
  /* A line along where what this says of bricks changes: where the work has come to. */
  paintFront(context, view, is) {
    const { left, right, low, high } = this.inSight(view);
    const at = (column, row) => {
      const i = this.brickAt(column, row);
      return i >= 0 && is(i);
    };
    const thick = Math.max(1.5, Math.min(4, view.scale / 3));
    context.fillStyle = this.inks.accent;
    for (let row = low; row < high; row++)
      for (let column = left; column < right; column++) {
        const here = at(column, row);
        const [x, y] = [view.left(column), view.upper(row + 1)];
        if (column > 0 && here !== at(column - 1, row))
          context.fillRect(x - thick / 2, y, thick, view.scale * view.aspect);
        if (row > 0 && here !== at(column, row - 1))
          context.fillRect(x, view.upper(row) - thick / 2, view.scale, thick);
      }
  }
  /* A frame around what is lit, thick enough to see from the other end of the bench. */
  paintLit(context, view, sight, state) {
    const thick = Math.max(2, Math.min(4, view.scale / 6));
    context.lineWidth = thick;
    context.strokeStyle = this.inks.accent;
    this.eachBrick(sight, (i, column, row, us, vs) => {
      if (state(i) === NEXT)
        context.strokeRect(view.left(column), view.upper(row + vs), us * view.scale, vs * view.scale * view.aspect);
    });
  }
  paintLabels(context, view, sight, state, litOnly) {
    const { plan } = this;
    const h = view.scale * view.aspect;
    this.eachBrick(sight, (i, column, row, us, vs) => {
      const now = state ? state(i) : FULL;
      if (now === LAID || now === OFF || (litOnly && now !== NEXT)) return;
      const label = this.label(view, plan.colour[i], us, vs, now === LATER);
      context.drawImage(label, view.left(column), view.upper(row + vs), us * view.scale, vs * h);
      if (plan.care[i]) this.paintCare(context, view.left(column), view.upper(row + vs), Math.min(9, view.scale / 2));
    });
  }
  /* A brick's label as a small picture: text is slow to set, and most labels are alike. */
  label(view, colour, us, vs, later) {
    const { inks } = this;
    const { ratio } = view;
    const look = `${view.scale} ${view.aspect} ${ratio} ${view.text} ${inks.paper}`;
    if (this.look !== look || this.labels.size > 4000) {
      this.look = look;
      this.labels = new Map();
    }
    const key = ((colour * 256 + us) * 256 + vs) * 2 + (later ? 1 : 0);
    if (!this.labels.has(key)) {
      const width = us * view.scale;
      const height = vs * view.scale * view.aspect;
      const canvas = make('canvas');
      canvas.width = Math.max(1, Math.round(width * ratio));
      canvas.height = Math.max(1, Math.round(height * ratio));
      const context = canvas.getContext('2d');
      context.scale(canvas.width / width, canvas.height / height);
      context.textAlign = 'center';
      context.textBaseline = 'middle';
      context.fillStyle = later ? inks.soft : this.plan.colours[colour].white ? '#fff' : '#000';
      this.paintLabel(context, width / 2, height / 2, width, height, colour, later ? 12 : 22, view.text);
      this.labels.set(key, canvas);
    }
    return this.labels.get(key);
  }
  /* Mark and id beside each other, above each other, or the mark alone: as there is room. */
  paintLabel(context, x, y, width, height, colour, largest, text) {
    const { id } = this.plan.colours[colour];
    const most = largest * text;
    const em = Math.min(height * 0.62, most, width / (1.3 + 0.68 * id.length));
    if (em >= 7.5 * text) {
      context.font = font(em, 'bold');
      const wide = em * 0.66 * id.length;
      this.paintMark(context, x - wide / 2 - em * 0.1, y, em, colour);
      context.fillText(id, x + em * 0.55, y + em * 0.05);
      return;
    }
    const tall = Math.min(height * 0.42, width / (0.74 * id.length), most);
    if (tall >= 7 * text) {
      context.font = font(tall, 'bold');
      this.paintMark(context, x, y - height * 0.22, tall, colour);
      context.fillText(id, x, y + height * 0.24);
      return;
    }
    this.paintMark(context, x, y, Math.min(width * 0.8, height * 0.8, most), colour);
  }
  paintMark(context, x, y, em, colour) {
    context.save();
    context.translate(x - em / 2, y - em / 2);
    context.scale(em / 100, em / 100);
    context.fill(this.inks.marks[colour]);
    context.restore();
  }
  paintCare(context, x, y, side) {
    context.fillStyle = this.inks.accent;
    context.beginPath();
    context.moveTo(x, y);
    context.lineTo(x + side, y);
    context.lineTo(x, y + side);
    context.fill();
  }
}

/* The numbers at the edges, in strips that stay while the field moves. lit: {low, high,
 * left, right} in cells, what is marked on them. */
function paintNumbers(context, view, field, lit) {
  const { inks } = field;
  const strip = view.margin - 4;
  const h = view.scale * view.aspect;
  context.font = font(11 * view.text);
  context.textAlign = 'center';
  context.textBaseline = 'middle';
  const sides = [0, view.width - strip];
  const ends = [0, view.height - strip];
  context.fillStyle = inks.card;
  for (const x of sides) context.fillRect(x, 0, strip, view.height);
  for (const y of ends) context.fillRect(0, y, view.width, strip);
  if (lit) {
    context.fillStyle = inks.accent;
    for (const x of sides) context.fillRect(x, view.upper(lit.high), strip, (lit.high - lit.low) * h);
    for (const y of ends) context.fillRect(view.left(lit.left), y + strip - 4, (lit.right - lit.left) * view.scale, 4);
  }
  const sight = field.inSight(view);
  const every = (size, room) => [1, 2, 5, 10, 20, 50, 100, 200, 500, 1000, 2000].find((n) => n * size >= room) || 5000;
  const across = every(view.scale, 26 * view.text);
  const up = every(h, 15 * view.text);
  const inside = (p, size) => p > strip + 6 && p < size - strip - 6;
  for (let column = sight.left; column < sight.right; column++) {
    const number = field.originColumn + column + 1;
    const x = view.left(column + 0.5);
    if (number % across && !(number === 1 && across > 4)) continue;
    if (!inside(x, view.width)) continue;
    context.fillStyle = inks.ink;
    for (const y of ends) context.fillText(number, x, y + strip / 2);
  }
  for (let row = sight.low; row < sight.high; row++) {
    const number = field.originRow + row + 1;
    const y = view.upper(row + 0.5);
    const here = lit && row >= lit.low && row < lit.high;
    if (number % up && !here) continue;
    if (!inside(y, view.height)) continue;
    context.fillStyle = here ? inks.paper : inks.ink;
    for (const x of sides) context.fillText(number, x + strip / 2, y);
  }
  context.fillStyle = inks.ink;
  context.fillRect(strip, strip, view.width - 2 * strip, 1);
  context.fillRect(strip, view.height - strip, view.width - 2 * strip, 1);
  context.fillRect(strip, strip, 1, view.height - 2 * strip);
  context.fillRect(view.width - strip, strip, 1, view.height - 2 * strip);
}
