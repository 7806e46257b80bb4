/* Bench: shows the work on one panel, step by step. What is lit comes next; laid bricks are dimmed. */

/* The look of each colour's swatch as a rule of style: a brick with its mark, in the ground at the left
 * of the id, so that a swatch is one element. A row of a wide panel has hundreds. The id stands on the
 * card, where it is read whatever the brick's colour. */
function addSwatches(plan) {
  const style = make('style');
  style.textContent = plan.colours.map((c, k) => {
    const ink = c.white ? '#fff' : '#000';
    const mark = `<path fill='${ink}' d='${c.path}'/>`;
    const svg = `<svg xmlns='http://www.w3.org/2000/svg' viewBox='0 0 100 100'>${mark}</svg>`;
    return `.swatch-${k} { --brick: ${c.hex}; --mark: url("data:image/svg+xml,${encodeURIComponent(svg)}"); }`;
  }).join('\n');
  document.head.append(style);
}

/* A colour as a small brick with its mark and id. */
const swatch = (plan, colour) => make('span', `swatch swatch-${colour}`, plan.colours[colour].id);

const RUNS_AT_ONCE = 60;
const RUNS_TOGETHER = 12;
const RUNS_ROOM = ['large', 'wide', 'close', 'tight'];
const RUNS_SAID = 40;
const ALIKE_SAID = 5;
/* What tells the step in hand, which a panel that is done has not. */
const STEP_PARTS = ['bench-row-head', 'bench-runs-title', 'bench-runs', 'bench-work'];
/* The longer side of a panel's picture on paper, CSS pixels of 1/96 inch: a quarter of a page. */
const PRINTED_SIDE = 300;

class Bench {
  constructor(book) {
    const { plan, progress } = book;
    Object.assign(this, { book, plan, progress, work: new Work(plan, progress) });
    this.state = (i) => (this.work.isLit(i) ? NEXT : progress.laid[i] ? LAID : LATER);
    this.view = new View(byId('bench-canvas'), (context, view, part) => this.paint(context, view, part),
      (u, v) => this.goTo(this.field.brickAt(u, v)));
    this.view.afterResize = () => this.follow();
    onPress('bench-done', () => this.forward());
    onPress('bench-back', () => this.back());
    onClick('bench-go', () => this.jump());
    byId('bench-jump').addEventListener('keydown', (event) => { if (event.key === 'Enter') this.jump(); });
    onClick('bench-before', () => this.does(() => this.work.layBefore(), true));
    onClick('bench-unlay', () => this.does(() => this.work.unlay(), true));
    onClick('bench-anew', () => this.anew());
    onClick('bench-print', () => window.print());
    onClick('bench-true', () => book.printTrueSize());
    byId('bench-true').hidden = cellsOfSheet(plan).includes(0);
    onChoice('mode', (mode) => this.setMode(mode));
    new ResizeObserver(() => this.fitRuns()).observe(byId('bench-sentence'));
  }
  get panel() { return this.work.panel; }

  open(index, mode = this.work.mode) {
    this.work.open(this.plan.panels[index], mode);
    checkRadio('mode', this.work.mode);
    byId('bench-advice').replaceChildren(...this.adviceItems());
    byId('bench-jump').max = String(this.panel.row + this.panel.rows);
    byId('bench-jump').min = String(this.panel.row + 1);
    this.reopened();
  }
  /* How the panel is lifted and carried, and what a touch takes off it. */
  adviceItems() {
    return this.panel.advice.map(([name, text]) => make('div', '', make('dt', '', name), make('dd', '', text)));
  }
  setMode(mode) {
    this.work.mode = mode;
    this.book.keepPlace();
    this.restart();
  }
  restart() {
    this.work.restart();
    this.reopened();
  }
  reopened() {
    this.layer = -1;
    this.fillBag();
    this.changed(null);
  }

  /* Does this with the work and shows what came of it; `anywhere`: also far from the light. */
  does(act, anywhere = false) {
    const from = this.work.cursor;
    act();
    this.changed(anywhere ? null : from);
  }
  forward() { this.does(() => this.work.forward()); }
  back() {
    const last = this.work.past.at(-1);
    this.does(() => this.work.back(), last && last.kind === 'mark');
  }
  /* The first step that touches this row of the mural. */
  jump() {
    const { steps, lead } = this.work;
    const input = byId('bench-jump');
    const row = Number(input.value) - 1 - this.panel.row;
    if (!input.value || !Number.isInteger(row) || row < 0 || row >= this.panel.rows) {
      this.book.say(`Rows ${this.panel.row + 1} to ${this.panel.row + this.panel.rows} are in this panel.`);
      return;
    }
    const key = this.plan.wall ? this.plan.layer : this.plan.v;
    const from = lead < 0 ? 0 : this.plan.layer[lead];
    const at = (layer) => steps.order.find((i) => key[i] === row && this.plan.layer[i] >= layer);
    const found = at(this.plan.wall ? 0 : from) ?? at(0);
    if (found !== undefined) this.goTo(found);
  }
  /* To the step of this brick; -1 is none. */
  goTo(i) {
    if (i >= 0) this.does(() => this.work.jump(this.work.steps.step[i - this.panel.first]));
  }
  anew() {
    const { index, name } = this.panel;
    const laid = this.progress.count[index] - this.progress.standing[index];
    if (!window.confirm(`Take back all ${plain(laid)} laid bricks of panel ${name}?`)) return;
    this.does(() => this.work.anew(), true);
  }

  /* ---- what is shown ---- */

  /* After the cursor left step `from`; null: anything may have changed. */
  changed(from) {
    const { cursor, lead } = this.work;
    const layer = lead < 0 ? Math.max(this.layer, 0) : this.plan.layer[lead];
    const whole = layer !== this.layer || from === null;
    if (whole) this.setLayer(layer);
    else this.recolour([from, cursor]);
    this.follow();
    this.view.draw(whole ? null : this.changedCells(from));
    this.tell(lead);
    this.book.wall.touch(this.panel);
  }
  /* The cells of both steps and those around them, where the frame of what is lit reaches. */
  changedCells(from) {
    const boxes = [from, this.work.cursor].map((k) => this.boxOf(k)).filter(Boolean);
    if (!boxes.length) return null;
    return widened(boxes.reduce(around));
  }
  setLayer(layer) {
    const { plan, panel, book } = this;
    this.units = layerUnits(plan, panel, layer);
    this.under = layer > 0 ? layerUnits(plan, panel, layer - 1) : null;
    byId('bench-below').hidden = !this.under || (plan.wall && plan.depth < 2);
    byId('bench-below').textContent = `Grey and broken lines: the ${plan.wall ? 'course' : 'tier'} below.`;
    const units = plan.wall ? panelFace(plan, book.face, panel) : this.units;
    this.field = new Field(plan, book.inks, panel.columns, panel.rows, units, panel.column, panel.row,
      plan.wall ? null : this.under);
    this.field.colour(this.state);
    this.layer = layer;
    if (this.shownPanel !== panel) {
      this.shownPanel = panel;
      this.view.byHand = false;
      this.view.setField(panel.columns, panel.rows, plan.aspect);
    }
  }
  /* The box of a step in the field, {left, low, right, high}; null beyond the last. */
  boxOf(k) {
    if (k >= this.work.steps.count) return null;
    const { plan } = this;
    const box = { left: Infinity, low: Infinity, right: 0, high: 0 };
    for (const i of this.work.stepBricks(k)) {
      const v = plan.wall ? plan.layer[i] : plan.v[i];
      box.left = Math.min(box.left, plan.u[i]);
      box.right = Math.max(box.right, plan.u[i] + plan.us[i]);
      box.low = Math.min(box.low, v);
      box.high = Math.max(box.high, v + (plan.wall ? 1 : plan.vs[i]));
    }
    return box;
  }
  recolour(steps) {
    for (const k of steps) {
      const box = this.boxOf(k);
      if (box) this.field.colour(this.state, box.left, box.low, box.right, box.high);
    }
  }
  /* Keeps what is lit in sight, and large enough to read unless the hand chose a scale. */
  follow() {
    const { view } = this;
    const box = this.panel && this.boxOf(this.work.cursor);
    if (!box || !view.width) return;
    const fit = view.fitScale();
    const room = view.width - 2 * view.margin;
    const readable = fit >= 9 * view.text ? fit
      : clamp(room / (box.right - box.left + 2), 14 * view.text, 24 * view.text);
    const scale = view.byHand ? view.scale : readable;
    if (!view.byHand && scale === fit) {
      if (!view.fitted || view.scale !== fit) view.fit();
      return;
    }
    const wide = (box.right - box.left) * scale > room;
    const [left, low] = view.cellAt(view.margin, view.height - view.margin);
    const [right, high] = view.cellAt(view.width - view.margin, view.margin);
    const seen = (wide || (box.left >= left && box.right <= right)) && box.low >= low && box.high <= high;
    if (seen && scale === view.scale) return;
    const u = wide ? box.left - 1 + room / scale / 2 : (box.left + box.right) / 2;
    view.centre(u, (box.low + box.high) / 2, scale);
  }
  paint(context, view, part) {
    if (!this.field) return;
    this.field.paint(context, view, this.state, part);
    paintNumbers(context, view, this.field, this.boxOf(this.work.cursor));
  }

  tell(lead) {
    const { panel, work } = this;
    const { cursor, steps } = work;
    const laid = this.progress.count[panel.index];
    byId('bench-title').textContent = `Panel ${panel.name}`;
    byId('bench-step').textContent = `${plain(Math.min(cursor + 1, steps.count))} of ${plain(steps.count)}`;
    byId('bench-laid').textContent = plain(laid);
    byId('bench-left').textContent = plain(panel.count - laid);
    setMeter(byId('bench-meter'), laid, panel.count);
    byId('bench-back').disabled = !work.canGoBack();
    byId('bench-back-to').textContent = this.backText();
    byId('bench-done').disabled = lead < 0;
    for (const id of STEP_PARTS) byId(id).hidden = lead < 0;
    byId('bench-end').hidden = lead >= 0;
    this.tellBag();
    if (lead < 0) this.tellEnd();
    else this.tellStep(lead);
  }
  /* What Back takes back. */
  backText() {
    const { work, plan, panel } = this;
    const last = work.past.at(-1);
    if (!work.canGoBack()) return '';
    if (last && last.kind === 'mark') return `undo ${many(last.set.length, 'brick')}`;
    const to = last ? last.cursor : work.cursor - 1;
    if (to >= work.steps.count) return 'to the end';
    const lead = work.stepBricks(to)[0];
    return `to ${rowLabel(plan, panel, plan.layer[lead], plan.v[lead])}`;
  }
  tellEnd() {
    const text = `Panel ${this.panel.name} is done: ${many(this.panel.count, 'brick')}. ` +
      'Count the rows once more, then press every joint home.';
    byId('bench-end').textContent = text;
    setLabel('bench-canvas', text);
    this.book.say(text);
  }
  tellStep(lead) {
    const { plan, panel } = this;
    const layer = plan.layer[lead];
    const v = plan.v[lead];
    const row = runsOfRow(plan, panel, v, this.units);
    const label = rowLabel(plan, panel, layer, v);
    const c = plan.colours[plan.colour[lead]];
    const what = this.work.mode === 'colour' ? `${nameText(c)}, ${label}` : label;
    byId('bench-row').textContent = what[0].toUpperCase() + what.slice(1);
    this.tellHand(countBricks(plan, this.work.toLay(this.work.cursor)));
    byId('bench-sum').textContent = `${many(row.bricks, 'brick')}, ${many(row.cells, 'cell')}`;
    this.tellRuns(row);
    this.paintCourse(v);
    const text = this.sentence(what, row);
    setLabel('bench-canvas', `Chart. ${text}`);
    this.book.say(text);
  }
  /* The step as a sentence for who does not see the chart. */
  sentence(what, row) {
    const { plan, panel } = this;
    const lit = [];
    let more = 0;
    for (const run of row.runs) {
      const bricks = run.bricks.filter((i) => this.state(i) === NEXT);
      if (!bricks.length) continue;
      if (lit.length === RUNS_SAID) {
        more++;
        continue;
      }
      lit.push(`from column ${panel.column + plan.u[bricks[0]] + 1}, ` +
        `${bricks.length} of ${nameText(plan.colours[run.colour])}, ` +
        `${plan.sizes[run.size].name}${run.upright ? ' upright' : ''}`);
    }
    if (more) lit.push(`and ${many(more, 'run')} more, listed below`);
    return `${what}: ${many(this.work.stepBricks(this.work.cursor).length, 'brick')}; ${lit.join('; ')}.`;
  }
  /* One item a colour: its brick, then how many of each size. */
  tellHand(counts) {
    const items = new Map();
    const { plan } = this;
    for (const { colour, size, count } of counts) {
      if (!items.has(colour)) {
        const name = make('span', 'unseen', plan.colours[colour].name);
        items.set(colour, make('li', '', swatch(plan, colour), name));
      }
      items.get(colour).append(make('span', 'take', make('b', '', String(count)), ` × ${plan.sizes[size].name}`));
    }
    for (const [colour, item] of items) {
      const text = this.alikeText(colour);
      if (text) item.append(make('span', 'alike', text));
    }
    if (!items.size) items.set(-1, make('li', '', 'These bricks stand already.'));
    byId('bench-hand').replaceChildren(...items.values());
  }
  /* The colours of this panel that could be picked instead. */
  alikeText(colour) {
    const others = alikeTo(this.plan, colour, this.book.eyes).map(([other]) => other)
      .filter((other) => this.work.bag.colours.has(other));
    const ids = others.slice(0, ALIKE_SAID).map((other) => this.plan.colours[other].id).join(', ');
    return ids && `not ${ids}${others.length > ALIKE_SAID ? ` or ${others.length - ALIKE_SAID} more` : ''}`;
  }
  /* Runs stand in lists of a few, the first at once and the rest when the browser has time:
   * a row of a very wide panel has hundreds. */
  tellRuns(row) {
    clearTimeout(this.telling);
    const home = byId('bench-runs');
    home.replaceChildren();
    let next = 0;
    const some = (most) => {
      const runs = row.runs.slice(next, next + most);
      const list = make('ol', 'runs', ...runs.map((run) => this.runItem(run)));
      list.setAttribute('aria-label', `Runs ${next + 1} to ${next + runs.length} of ${row.runs.length}`);
      home.append(list);
      next += runs.length;
      if (next < row.runs.length) this.telling = setTimeout(() => some(RUNS_TOGETHER), 60);
      else if (next > RUNS_AT_ONCE) this.fitRuns();
    };
    some(RUNS_AT_ONCE);
    home.scrollTop = 0;
    this.fitRuns();
  }
  /* The sentence of a row is seen whole: where there is little room its runs stand closer. Where that
   * is still not enough it says so. */
  fitRuns() {
    const home = byId('bench-runs');
    const fits = RUNS_ROOM.some((room) => {
      home.dataset.room = room;
      return home.scrollHeight <= home.clientHeight;
    });
    byId('bench-runs-title').textContent =
      `Lay from the left; before each, its first column${fits ? '' : '; scroll for more'}`;
  }
  runItem(run) {
    const { plan, panel } = this;
    const item = make('li', '', make('span', 'at', String(panel.column + run.u + 1)), ' ');
    if (run.kind !== 'bricks') {
      item.append(make('span', 'none', runText(plan, run)));
      return item;
    }
    const isLit = (i) => this.work.isLit(i);
    const lit = run.bricks.filter(isLit).length;
    item.append(make('b', '', `${run.bricks.length}×`), ' ', swatch(plan, run.colour), ' ',
      make('span', '', sizeText(plan, run.size, run.upright)));
    if (lit && lit < run.bricks.length)
      item.append(' ', make('span', '', `no. ${run.bricks.findIndex(isLit) + 1}`));
    item.className = lit ? 'lit' : run.bricks.every((i) => this.progress.laid[i]) ? 'past' : '';
    if (run.bricks.some((i) => plan.care[i])) item.append(' ', make('span', 'weak', 'weak place'));
    return item;
  }
  /* A course's units with its front below. */
  upside(units) {
    const { columns, vs } = this.panel;
    const turned = new Int32Array(units.length);
    for (let v = 0; v < vs; v++)
      turned.set(units.subarray(v * columns, (v + 1) * columns), (vs - 1 - v) * columns);
    return turned;
  }
  /* A wall's course from above, its front below. */
  paintCourse(row) {
    const { plan, panel } = this;
    const canvas = byId('bench-course');
    canvas.hidden = !plan.wall || plan.depth < 2;
    if (canvas.hidden) return;
    const side = Math.max(8, Math.min(24, Math.floor(1600 / panel.columns)));
    canvas.width = panel.columns * side;
    canvas.height = panel.vs * side;
    const context = canvas.getContext('2d');
    const field = new Field(plan, this.book.inks, panel.columns, panel.vs, this.upside(this.units),
      panel.column, 0, this.under && this.upside(this.under));
    field.colour(this.state);
    const still = { scale: side, aspect: 1, ratio: 1, text: 1, width: canvas.width, height: canvas.height,
      left: (u) => u * side, upper: (v) => canvas.height - v * side,
      cellAt: (x, y) => [x / side, (canvas.height - y) / side] };
    field.paint(context, still, this.state);
    setLabel('bench-course', `The course from above, its front below; tier ${row + 1} is lit`);
  }

  fillBag() {
    const { all, keys } = this.work.bag;
    byId('bench-bag').replaceChildren(...keys.map((key) =>
      makeRow(makeRowHead(swatch(this.plan, key >> 8)), this.plan.sizes[key & 255].name, plain(all[key]), '')));
  }
  tellBag() {
    const rows = byId('bench-bag').children;
    this.work.bag.keys.forEach((key, k) => {
      const text = plain(this.work.bag.left[key]);
      if (rows[k].lastChild.textContent !== text) rows[k].lastChild.textContent = text;
    });
  }

  /* ---- paper ---- */

  print(paper) {
    const { plan, panel } = this;
    paper.append(make('h2', '', `${plan.title}: panel ${panel.name}`),
      make('p', '', `${placeText(panel)}; ${many(panel.count, 'brick')}`), this.plainPicture(),
      make('dl', 'advice', ...this.adviceItems()));
    const body = make('tbody');
    let units = null;
    let layer = -1;
    const rows = makeSteps(plan, panel, 'row');
    for (let k = 0; k < rows.count; k++) {
      const i = rows.order[rows.start[k]];
      if (plan.layer[i] !== layer) units = layerUnits(plan, panel, layer = plan.layer[i]);
      const row = runsOfRow(plan, panel, plan.v[i], units);
      const runs = make('span');
      for (const run of row.runs) {
        const from = make('small', '', `${panel.column + run.u + 1} `);
        runs.append(make('span', 'run', from, runText(plan, run)), ' ');
      }
      const head = makeRowHead(make('span', 'tick'), rowLabel(plan, panel, layer, plan.v[i]),
        this.progress.stands[i] ? ' (stands)' : '');
      body.append(makeRow(head, runs, many(row.bricks, 'brick'), many(row.cells, 'cell')));
    }
    paper.append(make('table', '', body));
  }
  /* The panel's face, not dimmed. */
  plainPicture() {
    const { plan, panel, book } = this;
    const units = panelFace(plan, book.face, panel);
    const field = new Field(plan, book.inks, panel.columns, panel.rows, units, 0, 0);
    field.colour(() => FULL);
    const picture = make('img');
    const sides = [panel.columns * plan.cellWidth, panel.rows * plan.cellHeight];
    [picture.width, picture.height] = sides.map((side) => Math.ceil(side / Math.max(...sides) * PRINTED_SIDE));
    picture.src = field.picture.canvas.toDataURL();
    picture.alt = `Panel ${panel.name} from the front`;
    return picture;
  }
}
