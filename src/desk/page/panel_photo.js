/* Panel photo: a photograph of a panel that is built, held to its plan. What it tells stands as marks on
 * the photograph, or on the panel as the plan has it, and as a list. Nothing is laid here: what is laid
 * is kept by the bench, one record for all. */

const NEAR = 3; /* times, to see single bricks of a photograph */
const MARKS_LEAST = 12; /* CSS pixels of a cell from which on what is right is marked, too */

addStyle(`
  .photo-part { border: 0; border-top: 1px solid var(--rule); padding: .6rem 0; min-width: 0; }
  .photo-part legend { float: left; width: 100%; font-weight: bold; padding: .6rem 0 .3rem; }
  .photo-part legend + * { clear: both; }
  .photo-part p { margin: .4rem 0; }
  .photo-part .acts-row { display: flex; flex-wrap: wrap; gap: .3rem; }
  .photo-part input[type="number"] { min-height: 2.5rem; padding: .25rem .7rem; background: var(--card);
    border: 1px solid var(--edge); }
  .photo-part [role="status"]:not(:empty) { border-left: 4px solid var(--accent); padding: .5rem .8rem;
    background: var(--lit); overflow-wrap: anywhere; }
  .room .photo-picture { background: var(--wall); cursor: default; overflow: auto; touch-action: pan-x pan-y;
    place-content: safe center; }
  .photo-chart canvas:first-child { image-rendering: pixelated; }
`);

/* From the unit square, (0, 0) its upper left corner, to a quadrilateral (Heckbert, Fundamentals of
 * texture mapping and image warping, 1989, section 2.2.3). */
function squareTo([[x0, y0], [x1, y1], [x2, y2], [x3, y3]]) {
  const [ax, ay, bx, by] = [x1 - x2, y1 - y2, x3 - x2, y3 - y2];
  const [sx, sy] = [x0 - x1 + x2 - x3, y0 - y1 + y2 - y3];
  const all = ax * by - bx * ay;
  const [g, h] = [(sx * by - bx * sy) / all, (ax * sy - sx * ay) / all];
  return (u, v) => {
    const depth = 1 + g * u + h * v;
    return [(x0 + (x1 - x0 + g * x1) * u + (x3 - x0 + h * x3) * v) / depth,
      (y0 + (y1 - y0 + g * y1) * u + (y3 - y0 + h * y3) * v) / depth];
  };
}

/* What keys and pointer do on a photograph moves nothing in the room behind it. */
function hangPhoto(element) {
  for (const name of ['pointerdown', 'wheel']) element.addEventListener(name, (event) => event.stopPropagation());
  byId('room').append(element);
}

/* A button for a file; `act` hears it. */
function photoChooser(id, text, act) {
  const input = make('input', 'unseen');
  Object.assign(input, { type: 'file', id, accept: 'image/*' });
  input.addEventListener('change', () => {
    if (input.files[0]) act(input.files[0]);
    input.value = '';
  });
  const label = make('label', 'button', text);
  label.htmlFor = id;
  return [input, label];
}

function labelledPair(text, input, id) {
  input.id = id;
  const label = make('label', '', text);
  label.htmlFor = id;
  return make('div', 'pair', label, input);
}

const makeOption = ({ name }, value) => Object.assign(make('option', '', name), { value });

class PanelPhoto {
  constructor(desk) {
    Object.assign(this, { desk, seen: null, file: null, plans: [], loaded: '', near: false });
    this.addPicture();
    this.addPart();
  }
  addPicture() {
    this.frame = new PhotoFrame('The photograph, with the four corners of what is built', PANEL_CORNERS, 'panel-photo');
    this.marks = make('canvas');
    this.frame.image.after(this.marks);
    this.frame.onFit = this.frame.onMove = () => this.paint();
    [this.cells, this.chartMarks] = [make('canvas'), make('canvas')];
    this.chartFrame = make('div', 'photo-frame', this.cells, this.chartMarks);
    this.chart = make('div', 'photo-picture photo-chart', this.chartFrame);
    Object.assign(this.chart, { id: 'panel-photo-chart', hidden: true, tabIndex: 0 });
    this.chart.setAttribute('role', 'group');
    this.chart.setAttribute('aria-label', 'The panel as planned, with marks; arrow keys scroll it');
    this.cells.setAttribute('role', 'img');
    hangPhoto(this.frame.element);
    hangPhoto(this.chart);
    new ResizeObserver(() => this.fitChart()).observe(this.chart);
  }
  addPart() {
    this.which = make('select');
    this.which.addEventListener('change', () => this.fillPanels());
    this.panelBox = make('select');
    this.panelBox.addEventListener('change', () => this.choosePanel());
    this.row = Object.assign(make('input'), { type: 'number', inputMode: 'numeric', step: '1' });
    this.sheet = Object.assign(make('input'), { type: 'text', maxLength: 7, placeholder: 'not given' });
    this.said = make('p');
    this.said.id = 'panel-photo-said';
    this.said.setAttribute('role', 'status');
    this.list = make('ul', 'photo-list');
    this.list.id = 'panel-photo-list';
    this.again = makeButton(['Look again'], () => this.look());
    this.turn = makeButton([''], () => this.showChart(this.chart.hidden));
    this.nearer = makeButton(['Nearer'], () => this.setNear(!this.near));
    this.away = makeButton(['Put the photograph away'], () => this.close());
    this.acts = make('p', 'acts-row', this.again, this.turn, this.nearer, this.away);
    this.whichLine = labelledPair('Plan', this.which, 'panel-photo-plan');
    this.part = make('fieldset', 'photo-part', make('legend', '', 'Hold a photograph to the plan'),
      make('p', 'facts', 'A photograph of a panel, whole or as far as it is built, shows which bricks are not as '
        + 'planned. Choose it, or drop it on the wall.'),
      this.whichLine, labelledPair('Panel', this.panelBox, 'panel-photo-panel'),
      labelledPair('Built up to row', this.row, 'panel-photo-to'),
      labelledPair('Sheet’s colour, if like a brick’s', this.sheet, 'panel-photo-sheet'),
      make('p', 'acts-row', ...photoChooser('panel-photo-file', 'Choose a photograph', (file) => this.bring(file))),
      this.said, this.acts, this.list,
      make('p', 'facts', 'Nothing is ticked here: what is laid is ticked at the bench, where all see it.'));
    this.acts.hidden = true;
  }

  /* ---- the plans ---- */

  /* What the sheet shows of it; nothing where there is no plan. */
  parts() {
    this.load();
    return this.plans.length ? [this.part] : [];
  }
  /* Asks for the panels of the plans that are there, where another has come. */
  async load() {
    const { held = [], work } = this.desk.state;
    const key = JSON.stringify([held, work.made]);
    if (key === this.loaded) return;
    this.loaded = key;
    const read = async (name, number) => ({ ...await ask(`/held?plan=${number}&file=plan.json`), number,
      name: number ? name : 'made here' });
    /* One that is written anew just now is told of again. */
    const plans = await Promise.all(held.map((name, number) => name && read(name, number).catch(() => null)));
    this.plans = plans.filter(Boolean);
    this.which.replaceChildren(...this.plans.map(makeOption));
    this.whichLine.hidden = this.plans.length < 2;
    this.close();
    this.fillPanels();
    this.desk.showOwn(true);
  }
  get heldPlan() { return this.plans[Number(this.which.value) || 0]; }
  fillPanels() {
    const panels = this.heldPlan?.panels || [];
    this.panelBox.replaceChildren(...panels.map(makeOption));
    this.choosePanel();
  }
  choosePanel() {
    this.panel = this.heldPlan?.panels[Number(this.panelBox.value) || 0];
    if (!this.panel) return;
    const { row, rows } = this.panel;
    Object.assign(this.row, { min: String(row), max: String(row + rows - 1), value: String(row + rows - 1) });
    if (this.file) this.look();
  }

  /* ---- a photograph ---- */

  bring(file) {
    this.close();
    this.file = file;
    this.frame.open(file, () => this.said.append(' This browser cannot show the photograph.'));
    this.acts.hidden = false;
    this.show();
    this.frame.element.scrollIntoView({ block: 'nearest' });
    this.look();
  }
  get to() { return rowIn(this.row); }
  async look() {
    const { panel, file, heldPlan } = this;
    this.row.value = String(this.to);
    this.forget();
    this.asking?.abort();
    const asking = new AbortController();
    this.asking = asking;
    this.said.textContent = 'Looking …';
    try {
      const given = this.frame.moved ? `&corners=${cornersText(this.frame.corners)}` : '';
      const path = `/photo?plan=${heldPlan.number}&panel=${encodeURIComponent(panel.name)}&to=${this.to}${given}`
        + `&sheet=${encodeURIComponent(this.sheet.value.trim())}`;
      await this.tell(await sendPhoto(path, file, asking.signal));
    } catch (error) {
      if (asking.signal.aborted) return;
      this.said.textContent = panelReason(error, 'desk', this.to, Number(this.row.max));
      this.showChart(false);
    }
  }
  async tell({ corners, bricks, notes }) {
    this.frame.setCorners(corners);
    this.seen = readSeen(bricks);
    this.built = this.to - this.panel.row + 1;
    this.said.textContent = `${seenText(this.seen, this.to)}${hintText(notes)}`;
    listSeen(this.list, this.seen, (one) => this.point(one));
    await this.drawChart();
    this.showChart(false);
    this.paint();
  }
  forget() {
    this.seen = this.pointed = null;
    this.list.replaceChildren();
    this.paint();
  }
  close() {
    this.asking?.abort();
    this.frame.close();
    this.file = null;
    this.said.textContent = '';
    this.acts.hidden = true;
    this.setNear(false);
    this.forget();
    this.show();
  }

  /* ---- what the wall shows of it ---- */

  /* Hangs it before the wall while its stage is open. */
  show() {
    const shown = Boolean(this.file) && this.desk.stage === 'offer';
    this.onChart &&= shown && Boolean(this.seen);
    this.frame.element.hidden = !shown || this.onChart;
    this.chart.hidden = !shown || !this.onChart;
    this.turn.hidden = !this.seen;
    this.turn.textContent = this.onChart ? 'Show the photograph' : 'Show the chart';
  }
  showChart(shown) {
    this.onChart = shown;
    this.show();
  }
  setNear(near) {
    this.near = near;
    this.frame.zoom = near ? NEAR : 1;
    this.nearer.textContent = near ? 'All of it' : 'Nearer';
    this.nearer.setAttribute('aria-pressed', String(near));
    this.frame.fit();
    this.fitChart();
  }
  point(one) {
    this.pointed = one;
    this.show();
    this.setNear(true);
    const [{ x, y, width, height }, box] = this.onChart ? [this.boxOnChart(one), this.chart]
      : [this.boxOnPhoto(one), this.frame.element];
    box.scrollTo(x + width / 2 - box.clientWidth / 2, y + height / 2 - box.clientHeight / 2);
    this.paint();
  }
  /* The sides of a brick as parts of what is built, from the upper left. */
  sidesOf({ row, column, rows, columns }) {
    const { panel, built } = this;
    return [(column - panel.column) / panel.columns, Math.max(0, 1 - (row + rows - panel.row) / built),
      (column + columns - panel.column) / panel.columns, 1 - (row - panel.row) / built];
  }
  boxOnPhoto(one) {
    const [left, top, right, bottom] = this.sidesOf(one);
    const place = squareTo(this.frame.corners);
    const quad = [[left, top], [right, top], [right, bottom], [left, bottom]]
      .map((at) => place(...at).map((n) => n / this.frame.scale));
    const [xs, ys] = [0, 1].map((k) => quad.map((at) => at[k]).sort((a, b) => a - b));
    const outline = new Path2D();
    quad.forEach((at, k) => outline[k ? 'lineTo' : 'moveTo'](...at));
    outline.closePath();
    return { x: (xs[0] + xs[1]) / 2, y: (ys[0] + ys[1]) / 2, width: (xs[2] + xs[3] - xs[0] - xs[1]) / 2,
      height: (ys[2] + ys[3] - ys[0] - ys[1]) / 2, outline };
  }
  boxOnChart(one) {
    const { clientWidth: w, clientHeight: h } = this.chartFrame;
    const [left, top, right, bottom] = this.sidesOf(one);
    const box = { x: left * w, y: top * h, width: (right - left) * w, height: (bottom - top) * h,
      outline: new Path2D() };
    box.outline.rect(box.x, box.y, box.width, box.height);
    return box;
  }
  paint() {
    this.paintOn(this.marks, (one) => this.boxOnPhoto(one));
    this.paintOn(this.chartMarks, (one) => this.boxOnChart(one), 'rgb(0 0 0 / .45)');
  }
  /* joint: with what the bricks' edges are drawn, where they do not show. */
  paintOn(canvas, boxOf, joint = null) {
    const ratio = sharpen(canvas);
    if (!ratio || !this.seen) return;
    const context = canvas.getContext('2d');
    const style = getComputedStyle(document.documentElement);
    const [card, ink, accent] = ['--card', '--ink', '--accent'].map((name) => style.getPropertyValue(name));
    context.scale(ratio, ratio);
    context.lineCap = context.lineJoin = 'round';
    if (joint) context.strokeStyle = joint;
    if (joint) for (const one of this.seen) context.stroke(boxOf(one).outline);
    const fine = this.seen.filter(({ verdict }) => verdict === 'right');
    const off = this.seen.filter(({ verdict }) => verdict !== 'right');
    for (const one of [...fine, ...off]) {
      const box = boxOf(one);
      const scale = box.width / one.columns;
      if (one.verdict !== 'right' || scale >= MARKS_LEAST)
        paintSeen(context, one, box, scale, { card, ink, accent }, one === this.pointed ? box.outline : null);
    }
  }
  /* The panel as the plan has it, as far as it is built, a pixel a cell. */
  async drawChart() {
    const { panel, built, cells, heldPlan } = this;
    const face = await createImageBitmap(await (await fetch(`/held?plan=${heldPlan.number}&file=cells.png`)).blob());
    Object.assign(cells, { width: panel.columns, height: built });
    cells.getContext('2d').drawImage(face, 1 - panel.column, panel.row - 1 + built - face.height);
    cells.setAttribute('aria-label', `Panel ${panel.name} as planned, up to row ${this.to}`);
    this.fitChart();
  }
  fitChart() {
    const { chart, cells, heldPlan } = this;
    if (!chart.clientWidth || !heldPlan) return;
    const [cw, ch] = heldPlan.cell_mm;
    const room = [(chart.clientWidth - 24) / (cells.width * cw), (chart.clientHeight - 24) / (cells.height * ch)];
    const scale = Math.min(...room) * (this.near ? NEAR : 1);
    Object.assign(this.chartFrame.style, { width: `${cells.width * cw * scale}px`,
      height: `${cells.height * ch * scale}px` });
    this.paint();
  }
}
