/* View: a window onto a field of cells that is moved and zoomed by pointer, wheel, keys and
 * buttons. (x, y) is the field's place at the canvas's lower left corner, in cells,
 * y upward; scale is a cell's width in CSS pixels. */

const MOST_SCALE = 96;
/* CSS pixels for the numbers at the edges, for text of the usual size. */
const MARGIN = 24;
/* A pointer that moves less, in CSS pixels, taps; one that pinches has moved enough. */
const LEAST_DRAG = 6;
const DRAGGED = 2 * LEAST_DRAG;

/* The smallest box around both; null, for everything, if either is. */
function around(a, b) {
  return a && b && { left: Math.min(a.left, b.left), low: Math.min(a.low, b.low),
    right: Math.max(a.right, b.right), high: Math.max(a.high, b.high) };
}

/* The pad's buttons: what is on them, what is read out, and the key that does the same. */
const PAD = [
  ['◁', 'Move left', 'ArrowLeft'], ['△', 'Move up', 'ArrowUp'], ['▽', 'Move down', 'ArrowDown'],
  ['▷', 'Move right', 'ArrowRight'], ['−', 'Zoom out', '-'], ['▣', 'Show all', '0'], ['+', 'Zoom in', '+'],
];

/* A cell more on each side. */
const widened = (box) =>
  ({ left: box.left - 1, low: box.low - 1, right: box.right + 1, high: box.high + 1 });

class View {
  constructor(canvas, paint, onTap) {
    this.canvas = canvas;
    this.frame = canvas.parentElement;
    this.context = canvas.getContext('2d', { alpha: false });
    this.paint = paint;
    this.onTap = onTap;
    this.columns = 1;
    this.rows = 1;
    this.aspect = 1;
    this.scale = 1;
    this.x = 0;
    this.y = 0;
    this.width = 0;
    this.height = 0;
    this.fitted = true;
    this.text = 1;
    this.margin = MARGIN;
    this.pointers = new Map();
    this.due = false;
    this.listen();
    this.addPad();
    const watch = new ResizeObserver(() => this.resize());
    for (const what of [canvas, byId('rem')]) watch.observe(what);
  }
  setField(columns, rows, aspect) {
    this.columns = columns;
    this.rows = rows;
    this.aspect = aspect;
    this.fit();
  }
  resize() {
    const ratio = sharpen(this.canvas);
    if (!ratio) return;
    this.width = this.canvas.clientWidth;
    this.height = this.canvas.clientHeight;
    this.ratio = ratio;
    this.text = textScale();
    this.margin = MARGIN * this.text;
    if (this.fitted) this.fit();
    if (this.afterResize) this.afterResize();
    this.draw();
  }
  get mostScale() { return MOST_SCALE * this.text; }
  fitScale() {
    const [width, height] = [this.width, this.height].map((size) => size - 2 * this.margin);
    return Math.min(width / this.columns, height / (this.rows * this.aspect));
  }
  fit() {
    if (!this.width) return;
    this.fitted = true;
    this.scale = clamp(this.fitScale(), 0.01, this.mostScale);
    this.x = (this.columns - this.width / this.scale) / 2;
    this.y = (this.rows - this.height / (this.scale * this.aspect)) / 2;
    this.draw();
  }
  /* Keeps some of the field in sight. */
  hold() {
    const w = this.width / this.scale;
    const h = this.height / (this.scale * this.aspect);
    this.x = clamp(this.x, -w * 0.7, this.columns - w * 0.3);
    this.y = clamp(this.y, -h * 0.7, this.rows - h * 0.3);
  }
  moveBy(dx, dy) {
    this.fitted = false;
    this.x -= dx / this.scale;
    this.y += dy / (this.scale * this.aspect);
    this.hold();
    this.draw();
  }
  zoomAt(factor, px, py) {
    const [u, v] = this.cellAt(px, py);
    this.fitted = false;
    this.byHand = true;
    this.scale = clamp(this.scale * factor, Math.min(this.fitScale() * 0.7, this.mostScale), this.mostScale);
    this.x = u - px / this.scale;
    this.y = v - (this.height - py) / (this.scale * this.aspect);
    this.hold();
    this.draw();
  }
  zoom(factor) { this.zoomAt(factor, this.width / 2, this.height / 2); }
  cellAt(px, py) {
    return [this.x + px / this.scale, this.y + (this.height - py) / (this.scale * this.aspect)];
  }
  left(u) { return (u - this.x) * this.scale; }
  /* The upper edge of what ends at v. */
  upper(v) { return this.height - (v - this.y) * this.scale * this.aspect; }
  centre(u, v, scale) {
    this.fitted = false;
    this.scale = Math.min(this.mostScale, scale);
    this.x = u - this.width / this.scale / 2;
    this.y = v - this.height / (this.scale * this.aspect) / 2;
    this.draw();
  }
  /* part: {left, low, right, high} in cells, all that has changed; null for anything. */
  draw(part = null) {
    if (!this.width) return;
    this.part = this.due ? around(this.part, part) : part;
    if (this.due) return;
    this.due = true;
    requestAnimationFrame(() => {
      this.due = false;
      this.context.setTransform(this.ratio, 0, 0, this.ratio, 0, 0);
      this.paint(this.context, this, this.part);
    });
  }

  listen() {
    this.listenPointers();
    this.canvas.addEventListener('wheel', (event) => {
      event.preventDefault();
      const { x, y } = this.placeOf(event);
      this.zoomAt(Math.exp(-event.deltaY * (event.deltaMode ? 0.05 : 0.0015)), x, y);
    }, { passive: false });
    this.frame.addEventListener('keydown', (event) => {
      if (event.target !== this.frame || isShortcut(event)) return;
      const act = this.keyActs()[event.key];
      if (!act) return;
      act();
      event.preventDefault();
      event.stopPropagation();
    });
  }
  placeOf(event) {
    const box = this.canvas.getBoundingClientRect();
    return { x: event.clientX - box.left, y: event.clientY - box.top };
  }
  listenPointers() {
    const c = this.canvas;
    c.addEventListener('pointerdown', (event) => {
      c.setPointerCapture(event.pointerId);
      this.pointers.set(event.pointerId, this.placeOf(event));
      if (this.pointers.size === 1) this.moved = 0;
    });
    c.addEventListener('pointermove', (event) => {
      const before = this.pointers.get(event.pointerId);
      if (!before) return;
      const now = this.placeOf(event);
      if (this.pointers.size === 1) {
        this.moved += Math.hypot(now.x - before.x, now.y - before.y);
        if (this.moved > LEAST_DRAG) this.moveBy(now.x - before.x, now.y - before.y);
      } else {
        this.pinch(event.pointerId, before, now);
      }
      this.pointers.set(event.pointerId, now);
    });
    const end = (event) => {
      const last = this.pointers.get(event.pointerId);
      this.pointers.delete(event.pointerId);
      const tapped = event.type === 'pointerup' && last && this.moved < LEAST_DRAG;
      if (tapped && this.onTap) this.onTap(...this.cellAt(last.x, last.y));
      if (this.pointers.size) this.moved = DRAGGED;
    };
    c.addEventListener('pointerup', end);
    c.addEventListener('pointercancel', end);
  }
  keyActs() {
    const far = Math.min(this.width, this.height) / 4;
    return {
      ArrowLeft: () => this.moveBy(far, 0), ArrowRight: () => this.moveBy(-far, 0),
      ArrowUp: () => this.moveBy(0, far), ArrowDown: () => this.moveBy(0, -far),
      '+': () => this.zoom(1.5), '=': () => this.zoom(1.5), '-': () => this.zoom(1 / 1.5),
      '0': () => {
        this.byHand = false;
        this.fit();
      },
    };
  }
  pinch(id, before, now) {
    this.moved = DRAGGED;
    const other = [...this.pointers].find(([key]) => key !== id)[1];
    const was = Math.hypot(before.x - other.x, before.y - other.y);
    const is = Math.hypot(now.x - other.x, now.y - other.y);
    this.moveBy((now.x - before.x) / 2, (now.y - before.y) / 2);
    if (was > 4) this.zoomAt(is / was, (now.x + other.x) / 2, (now.y + other.y) / 2);
  }
  /* Buttons for whoever cannot drag or pinch; on a narrow page they are folded until
   * asked for. */
  addPad() {
    const pad = make('div', 'pad', ...PAD.map(([text, said, key]) =>
      makeButton([text], () => this.keyActs()[key](), said)));
    const turn = () => {
      const folded = pad.classList.toggle('folded');
      fold.setAttribute('aria-expanded', String(!folded));
    };
    const fold = makeButton(['⊕'], turn, 'Show or hide the drawing’s buttons');
    fold.className = 'fold';
    turn();
    pad.append(fold);
    this.frame.append(pad);
  }
}
