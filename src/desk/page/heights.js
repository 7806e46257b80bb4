/* Heights: steps of the relief by hand, cell by cell. The brush raises or lowers by a step at each
 * stroke, or takes the mean of what is round a cell. What comes of it is a map of steps, which the
 * plan takes in place of those that it would derive. */

const STEPS_MOST = 120; /* what the program takes */
const HEIGHT_TOOLS = { raise: { title: 'raises', done: 'steps raised' }, lower: { title: 'lowers',
  done: 'steps lowered' }, smooth: { title: 'smooths', done: 'steps smoothed' } };

class Heights {
  constructor(desk) {
    this.desk = desk;
    this.onItsWay = new OnItsWay(desk);
    this.size = 3;
    this.tool = 'raise';
  }
  /* Steps as the plan has them now; of a map that was painted here, when it is planned. */
  load() {
    const { face } = this.desk.wall;
    const { settings, work } = this.desk.state;
    const map = settings['steps-map'];
    const key = `${face?.columns}x${face?.rows} ${face?.steps}`;
    if (!face || key === this.loaded) return false;
    const news = this.onItsWay.isNews(map);
    if (this.onItsWay.under || (!news && map && (map !== this.onItsWay.last || work.busy))) return false;
    this.loaded = key;
    this.steps = face.steps ? bytesOf(face.steps) : new Uint8Array(face.columns * face.rows);
    this.before = this.steps.slice();
    return true;
  }
  async show() {
    if (this.load() || this.desk.painter.task?.owner !== this) this.paint();
  }
  paint() {
    const { face } = this.desk.wall;
    if (!face) return;
    this.desk.painter.open({ owner: this, width: face.columns, height: face.rows, indices: this.steps,
      inks: this.inks(), veil: 150, round: false,
      part: { left: 0, top: 0, width: face.columns, height: face.rows },
      size: () => this.size, index: (i) => this.stepsAt(i), done: () => this.done() });
  }
  /* The ground is clear; the higher, the lighter. */
  inks() {
    const most = Math.max(4, ...this.steps) + 2;
    return Array.from({ length: STEPS_MOST + 1 }, (_, n) => {
      const light = Math.round(90 + 165 * Math.min(1, n / most)).toString(16).padStart(2, '0');
      return n ? `#${light}${light}4a` : '';
    });
  }
  /* What a stroke makes of a cell; the same, however often it passes. */
  stepsAt(i) {
    if (this.tool === 'smooth') return this.meanAt(i);
    return clamp(this.before[i] + (this.tool === 'raise' ? 1 : -1), 0, STEPS_MOST);
  }
  meanAt(i) {
    const { columns, rows } = this.desk.wall.face;
    const [x, y] = [i % columns, Math.floor(i / columns)];
    let [sum, cells] = [0, 0];
    for (let v = Math.max(0, y - 1); v <= Math.min(rows - 1, y + 1); v++)
      for (let u = Math.max(0, x - 1); u <= Math.min(columns - 1, x + 1); u++, cells++)
        sum += this.before[v * columns + u];
    return Math.round(sum / cells);
  }
  done() {
    const { columns, rows } = this.desk.wall.face;
    const what = HEIGHT_TOOLS[this.tool].done;
    this.before = this.steps.slice();
    const inks = Array.from({ length: STEPS_MOST + 1 }, (_, n) =>
      `#${(2 * n).toString(16).padStart(2, '0').repeat(3)}`);
    const raster = { width: columns, height: rows, indices: this.before, inks };
    return this.onItsWay.send(async () => this.desk.form.bring('steps-map', writeIndexed(raster), {}, what));
  }
  parts() {
    if (!this.desk.wall.face) return [];
    const given = this.desk.state.settings['steps-map'];
    return [
      makeRadios('height-tool', 'The brush', Object.entries(HEIGHT_TOOLS).map(([name, { title }]) => [name, title]),
        this.tool, (tool) => { this.tool = tool; }),
      makeRadios('height-size', 'Cells at once', [[1, '1'], [3, '3'], [6, '6'], [12, '12']], this.size, (size) =>
        { this.size = Number(size); }),
      make('p', 'acts-row', given ? 'Steps are as they were left by hand. ' : 'Steps are derived until a stroke is '
        + 'made here. ', ...(given ? [makeButton(['Derive them again'], () =>
        this.desk.form.change({ 'steps-map': '' }, 'steps derived again'))] : [])),
    ];
  }
}
