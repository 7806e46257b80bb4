/* Touch: cells painted by hand in the palette's colours. They are pins: they stay as they are while
 * all the rest is planned anew. */

const FREE = 255; /* no colour of a palette */

class Touch {
  constructor(desk) {
    this.desk = desk;
    this.onItsWay = new OnItsWay(desk);
    this.size = 1;
    this.colour = 0;
    this.tool = 'paint';
  }
  keyOf(pins) {
    const { face } = this.desk.wall;
    return `${pins} ${face?.columns}x${face?.rows} ${face?.colours.length}`;
  }
  async load() {
    const { face } = this.desk.wall;
    const { settings } = this.desk.state;
    if (!face || !this.onItsWay.isNews(this.keyOf(settings.pins))) return false;
    this.pins = new Uint8Array(face.columns * face.rows).fill(FREE);
    const response = settings.pins ? await fetch('/brought?setting=pins') : null;
    const read = response?.ok ? await readIndexed(await response.arrayBuffer()) : null;
    if (read && read.width === face.columns && read.height === face.rows)
      this.pins.set(read.indices.map((index) => (index < face.colours.length ? index : FREE)));
    return true;
  }
  async show() {
    if (await this.load() || this.desk.painter.task?.owner !== this) this.paint();
  }
  paint() {
    const { face } = this.desk.wall;
    if (!this.pins || !face) return;
    const inks = Array.from({ length: 256 }, (_, i) => (i < face.colours.length ? face.colours[i].hex : ''));
    this.desk.painter.open({ owner: this, width: face.columns, height: face.rows, indices: this.pins, inks, veil: 255,
      round: false,
      part: { left: 0, top: 0, width: face.columns, height: face.rows },
      size: () => (this.tool === 'fill' ? 1 : this.size), index: () => (this.tool === 'free' ? FREE : this.colour),
      picks: () => this.tool === 'pick', pick: (x, y) => this.pick(x, y), done: () => this.done() });
  }
  count() { return this.pins.reduce((n, index) => n + (index !== FREE), 0); }
  /* The colour that a cell is seen in. */
  seenAt(i) { return this.pins[i] === FREE ? this.desk.wall.indices[i] : this.pins[i]; }
  pick(x, y) {
    const { columns, rows } = this.desk.wall.face;
    this.colour = this.seenAt(clamp(Math.floor(y), 0, rows - 1) * columns + clamp(Math.floor(x), 0, columns - 1));
    this.tool = 'paint';
    this.desk.showOwn(true);
  }
  /* Cells of one colour that touch at their sides, from the cell that was painted last. */
  fill() {
    const { columns, rows } = this.desk.wall.face;
    const [x, y] = this.desk.painter.points?.[0] || this.desk.painter.at;
    const start = Math.floor(y) * columns + Math.floor(x);
    const from = this.desk.wall.indices[start];
    const stack = [start];
    const met = new Set(stack);
    while (stack.length) {
      const i = stack.pop();
      this.pins[i] = this.colour;
      const column = i % columns;
      for (const [j, inside] of [[i - 1, column > 0], [i + 1, column < columns - 1], [i - columns, i >= columns],
        [i + columns, i < (rows - 1) * columns]])
        if (inside && !met.has(j) && this.desk.wall.indices[j] === from) {
          met.add(j);
          stack.push(j);
        }
    }
    this.desk.painter.repaint();
  }
  done() {
    const { face } = this.desk.wall;
    if (this.tool === 'fill') this.fill();
    if (this.pins.every((index) => index === FREE)) return this.setAllFree();
    const clear = face.colours.length;
    const raster = { width: face.columns, height: face.rows, inks: [...face.colours.map(({ hex }) => hex), '#000000'],
      clear: [clear], indices: this.pins.map((index) => (index === FREE ? clear : index)) };
    const what = `${many(this.count(), 'cell')} touched`;
    return this.onItsWay.send(async () => this.keyIf(await this.desk.form.bring('pins', writeIndexed(raster), {},
      what)));
  }
  keyIf(pins) { return pins && this.keyOf(pins); }
  setAllFree() {
    this.pins.fill(FREE);
    this.desk.painter.repaint();
    return this.onItsWay.send(() => {
      this.desk.form.change({ pins: '' }, 'all cells free');
      return this.keyOf('');
    });
  }
  parts() {
    const { face } = this.desk.wall;
    if (!face) return [];
    const touched = this.pins ? this.count() : 0;
    const colours = make('ul', 'patches inks', ...face.colours.map(({ id, name, hex }, i) => {
      const swatch = make('i');
      swatch.style.background = hex;
      const button = makeButton([swatch, id], () => {
        this.colour = i;
        if (this.tool !== 'fill') this.tool = 'paint';
        this.desk.showOwn(true);
      }, `${id}, ${name}`);
      button.setAttribute('aria-pressed', String(i === this.colour));
      return make('li', '', button);
    }));
    return [
      makeRadios('touch-tool', 'Tool', [['paint', 'paint'], ['fill', 'fill'], ['pick', 'pick a colour'], ['free',
        'set free']], this.tool, (tool) => { this.tool = tool; }),
      makeRadios('touch-size', 'Cells at once', [[1, '1'], [2, '2'], [3, '3'], [6, '6']], this.size, (size) =>
        { this.size = Number(size); }),
      make('p', 'acts-row', `${many(touched, 'cell')} touched. `, ...(touched ? [makeButton(['Set all free'], () =>
        this.setAllFree())] : [])),
      colours,
    ];
  }
}
