/* Bench: one panel, step by step. What is lit comes next; laid bricks are dimmed. */

/* The look of each colour's swatch as a rule of style: its mark is a picture in the ground, so
 * that a swatch is one element. A row of a wide panel has hundreds. */
function addSwatches(plan) {
  const style = make('style');
  style.textContent = plan.colours.map((c, k) => {
    const ink = c.white ? '#fff' : '#000';
    const mark = `<path fill='${ink}' d='${c.path}'/>`;
    const svg = `<svg xmlns='http://www.w3.org/2000/svg' viewBox='0 0 100 100'>${mark}</svg>`;
    return `.swatch-${k} { color: ${ink}; background-color: ${c.hex}; ` +
      `background-image: url("data:image/svg+xml,${encodeURIComponent(svg)}"); }`;
  }).join('\n');
  document.head.append(style);
}

/* A colour as a small brick with its mark and id. */
const swatch = (plan, colour) => make('span', `swatch swatch-${colour}`, plan.colours[colour].id);

const RUNS_TOGETHER = 12;
const RUNS_SAID = 40;
const ALIKE_SAID = 5;

class Bench {
  constructor(book) {
    const { plan, progress } = book;
    Object.assign(this, { book, plan, progress, mode: 'row', panel: null, past: [] });
    this.state = (i) => {
      if (this.steps.step[i - this.panel.first] === this.cursor) return NEXT;
      return this.progress.laid[i] ? LAID : LATER;
    };
    this.view = new View(byId('bench-canvas'), (context, view, part) => this.paint(context, view, part),
      (u, v) => this.tap(this.field.brickAt(u, v)));
    this.view.afterResize = () => this.follow();
    onClick('bench-done', () => this.forward());
    onClick('bench-back', () => this.back());
    onClick('bench-go', () => this.jump());
    byId('bench-jump').addEventListener('keydown', (event) => { if (event.key === 'Enter') this.jump(); });
    onClick('bench-before', () => this.layBefore());
    onClick('bench-anew', () => this.anew());
    onClick('bench-print', () => window.print());
    onChoice('mode', (mode) => this.setMode(mode));
  }

  open(index, mode = this.mode) {
    this.panel = this.plan.panels[index];
    this.mode = MODES.includes(mode) ? mode : 'row';
    this.layer = -1;
    checkRadio('mode', this.mode);
    byId('bench-advice').replaceChildren(...this.adviceItems());
    byId('bench-jump').max = String(this.panel.row + this.panel.rows);
    byId('bench-jump').min = String(this.panel.row + 1);
    this.restart();
  }
  /* How the panel is lifted and carried, and what a touch takes off it. */
  adviceItems() {
    return this.panel.advice.map(([name, text]) => make('div', '', make('dt', '', name), make('dd', '', text)));
  }
  setMode(mode) {
    this.mode = mode;
    this.book.keepPlace();
    this.restart();
  }
  /* Cuts the steps anew and goes to the first that is not laid. */
  restart() {
    this.steps = makeSteps(this.plan, this.panel, this.mode);
    this.past = [];
    this.cursor = this.firstOpen(0);
    this.countBag();
    this.changed(null);
  }
  stepBricks(k) { return this.steps.order.subarray(this.steps.start[k], this.steps.start[k + 1]); }
  /* Its bricks but for those that stand. */
  toLay(k) { return this.stepBricks(k).filter((i) => !this.progress.stands[i]); }
  /* The first step from k on with a brick that is not laid; then from the start; else
   * the number of steps. */
  firstOpen(k) {
    const { order, start, step } = this.steps;
    const { laid } = this.progress;
    for (let n = start[k] || 0; n < order.length; n++)
      if (!laid[order[n]]) return step[order[n] - this.panel.first];
    return k > 0 ? this.firstOpen(0) : this.steps.count;
  }

  forward() {
    if (this.cursor >= this.steps.count) return;
    const from = this.cursor;
    const set = [...this.stepBricks(from)].filter((i) => !this.progress.laid[i]);
    for (const i of set) this.lay(i, 1);
    this.past.push({ step: from, set });
    this.cursor = this.firstOpen(from + 1 < this.steps.count ? from + 1 : 0);
    this.progress.save(this.panel);
    this.changed(from);
  }
  back() {
    const from = this.cursor;
    const last = this.past.pop();
    if (!last && from === 0) return;
    const to = last ? last.step : from - 1;
    for (const i of last ? last.set : this.stepBricks(to)) this.lay(i, 0);
    this.cursor = to;
    this.progress.save(this.panel);
    this.changed(from);
  }
  lay(i, laid) {
    if (this.progress.laid[i] === laid || this.progress.stands[i]) return;
    this.progress.set(i, laid);
    this.bag.left[this.plan.colour[i] * 256 + this.plan.size[i]] += laid ? -1 : 1;
  }
  goTo(step) {
    const from = this.cursor;
    this.cursor = step;
    this.changed(from);
  }
  /* The first step that touches this row of the mural. */
  jump() {
    const input = byId('bench-jump');
    const row = Number(input.value) - 1 - this.panel.row;
    if (!input.value || !Number.isInteger(row) || row < 0 || row >= this.panel.rows) {
      this.book.say(`Rows ${this.panel.row + 1} to ${this.panel.row + this.panel.rows} are in this panel.`);
      return;
    }
    const key = this.plan.wall ? this.plan.layer : this.plan.v;
    const from = this.cursor < this.steps.count ? this.plan.layer[this.stepBricks(this.cursor)[0]] : 0;
    const at = (layer) => this.steps.order.find((i) => key[i] === row && this.plan.layer[i] >= layer);
    const found = at(this.plan.wall ? 0 : from) ?? at(0);
    if (found !== undefined) this.goTo(this.steps.step[found - this.panel.first]);
  }
  tap(i) {
    if (i >= 0) this.goTo(this.steps.step[i - this.panel.first]);
  }
  layBefore() {
    const { order, start } = this.steps;
    const set = [];
    for (let n = 0; n < start[this.cursor]; n++) if (!this.progress.laid[order[n]]) set.push(order[n]);
    for (const i of set) this.lay(i, 1);
    if (set.length) this.past.push({ step: this.cursor, set });
    this.progress.save(this.panel);
    this.changed(null);
  }
  anew() {
    const { index, name } = this.panel;
    const laid = this.progress.count[index] - this.progress.standing[index];
    if (!window.confirm(`Take back all ${plain(laid)} laid bricks of panel ${name}?`)) return;
    for (let i = this.panel.first; i < this.panel.first + this.panel.count; i++) this.progress.set(i, 0);
    this.progress.save(this.panel);
    this.restart();
  }

  /* ---- what is shown ---- */

  /* After the cursor left step `from`; null: anything may have changed. */
  changed(from) {
    const { plan, steps } = this;
    const ended = this.cursor >= steps.count;
    const lead = ended ? -1 : this.stepBricks(this.cursor)[0];
    const layer = ended ? Math.max(this.layer, 0) : plan.layer[lead];
    const whole = layer !== this.layer || from === null;
    if (whole) this.setLayer(layer);
    else this.recolour([from, this.cursor]);
    this.follow();
    this.view.draw(whole ? null : this.changedCells(from));
    this.tell(lead);
    this.book.wall.touch(this.panel);
  }
  /* The cells of both steps and those around them, where the frame of what is lit reaches. */
  changedCells(from) {
    const boxes = [from, this.cursor].map((k) => this.boxOf(k)).filter(Boolean);
    if (!boxes.length) return null;
    return widened(boxes.reduce(around));
  }
  setLayer(layer) {
    const { plan, panel, book } = this;
    const before = this.field;
    this.units = layerUnits(plan, panel, layer);
    this.under = layer > 0 ? layerUnits(plan, panel, layer - 1) : null;
    byId('bench-below').hidden = !this.under || (plan.wall && plan.depth < 2);
    byId('bench-below').textContent = `Grey and broken lines: the ${plan.wall ? 'course' : 'tier'} below.`;
    const units = plan.wall ? panelFace(plan, book.face, panel) : this.units;
    this.field = new Field(plan, book.inks, panel.columns, panel.rows, units, panel.column, panel.row,
      plan.wall ? null : this.under);
    this.field.colour(this.state);
    this.layer = layer;
    if (!before || this.shownPanel !== panel) {
      this.shownPanel = panel;
      this.view.byHand = false;
      this.view.setField(panel.columns, panel.rows, plan.aspect);
    }
  }
  /* The box of a step in the field, {left, low, right, high}; null beyond the last. */
  boxOf(k) {
    if (k >= this.steps.count) return null;
    const { plan } = this;
    const box = { left: Infinity, low: Infinity, right: 0, high: 0 };
    for (const i of this.stepBricks(k)) {
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
    const box = this.panel && this.boxOf(this.cursor);
    if (!box || !view.width) return;
    const fit = view.fitScale();
    const room = view.width - 2 * view.margin;
    const readable = fit >= 9 ? fit : clamp(room / (box.right - box.left + 2), 14, 24);
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
    paintNumbers(context, view, this.field, this.boxOf(this.cursor));
  }

  tell(lead) {
    const { panel, steps } = this;
    const laid = this.progress.count[panel.index];
    byId('bench-title').textContent = `Panel ${panel.name}`;
    byId('bench-step').textContent = `${plain(Math.min(this.cursor + 1, steps.count))} of ${plain(steps.count)}`;
    byId('bench-laid').textContent = plain(laid);
    byId('bench-left').textContent = plain(panel.count - laid);
    setMeter(byId('bench-meter'), laid, panel.count);
    byId('bench-back').disabled = !this.past.length && this.cursor === 0;
    byId('bench-done').disabled = lead < 0;
    byId('bench-work').hidden = lead < 0;
    byId('bench-end').hidden = lead >= 0;
    this.tellBag();
    if (lead < 0) this.tellEnd();
    else this.tellStep(lead);
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
    const what = this.mode === 'colour' ? `${nameText(c)}, ${label}` : label;
    byId('bench-row').textContent = what[0].toUpperCase() + what.slice(1);
    this.tellHand(countBricks(plan, this.toLay(this.cursor)));
    this.tellRuns(row);
    byId('bench-sum').textContent = `${many(row.bricks, 'brick')} in the row, ${many(row.cells, 'cell')}`;
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
    return `${what}: ${many(this.stepBricks(this.cursor).length, 'brick')}; ${lit.join('; ')}.`;
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
    const others = this.plan.colours[colour].alike.map(([other]) => other)
      .filter((other) => this.bag.colours.has(other));
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
    const some = (lists) => {
      for (; lists > 0 && next < row.runs.length; lists--, next += RUNS_TOGETHER) {
        const runs = row.runs.slice(next, next + RUNS_TOGETHER);
        const list = make('ol', 'runs', ...runs.map((run) => this.runItem(run)));
        list.setAttribute('aria-label', `Runs ${next + 1} to ${next + runs.length} of ${row.runs.length}`);
        home.append(list);
      }
      if (next < row.runs.length) this.telling = setTimeout(() => some(1), 60);
    };
    some(1);
  }
  runItem(run) {
    const { plan, panel } = this;
    const item = make('li', '', make('span', 'at', String(panel.column + run.u + 1)));
    if (run.kind !== 'bricks') {
      item.append(make('span', 'none', runText(plan, run)));
      return item;
    }
    const isLit = (i) => this.state(i) === NEXT;
    const lit = run.bricks.filter(isLit).length;
    item.append(make('b', '', `${run.bricks.length}×`), swatch(plan, run.colour),
      sizeText(plan, run.size, run.upright));
    if (lit && lit < run.bricks.length)
      item.append(make('span', '', `no. ${run.bricks.findIndex(isLit) + 1}`));
    item.className = lit ? 'lit' : run.bricks.every((i) => this.progress.laid[i]) ? 'past' : '';
    if (run.bricks.some((i) => plan.care[i])) item.append(make('span', 'small', 'weak place'));
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
    const still = { scale: side, aspect: 1, width: canvas.width, height: canvas.height,
      left: (u) => u * side, upper: (v) => canvas.height - v * side,
      cellAt: (x, y) => [x / side, (canvas.height - y) / side] };
    field.paint(context, still, this.state);
    setLabel('bench-course', `The course from above, its front below; tier ${row + 1} is lit`);
  }

  countBag() {
    const bag = { all: new Int32Array(65536), left: new Int32Array(65536), keys: [] };
    for (let i = this.panel.first; i < this.panel.first + this.panel.count; i++) {
      if (this.progress.stands[i]) continue;
      const key = this.plan.colour[i] * 256 + this.plan.size[i];
      if (!bag.all[key]++) bag.keys.push(key);
      if (!this.progress.laid[i]) bag.left[key]++;
    }
    bag.keys.sort((a, b) => a - b);
    bag.colours = new Set(bag.keys.map((key) => key >> 8));
    this.bag = bag;
    byId('bench-bag').replaceChildren(...bag.keys.map((key) =>
      makeRow(makeRowHead(swatch(this.plan, key >> 8)), this.plan.sizes[key & 255].name, plain(bag.all[key]), '')));
  }
  tellBag() {
    const rows = byId('bench-bag').children;
    this.bag.keys.forEach((key, k) => {
      const text = plain(this.bag.left[key]);
      if (rows[k].lastChild.textContent !== text) rows[k].lastChild.textContent = text;
    });
  }

  /* ---- paper ---- */

  print(paper) {
    const { plan, panel } = this;
    const picture = make('img');
    picture.src = this.plainPicture();
    picture.alt = `Panel ${panel.name} from the front`;
    paper.append(make('h2', '', `${plan.title}: panel ${panel.name}`),
      make('p', '', `${placeText(panel)}; ${many(panel.count, 'brick')}`), picture,
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
  /* The panel's face, a pixel a cell, not dimmed. */
  plainPicture() {
    const { plan, panel, book } = this;
    const units = panelFace(plan, book.face, panel);
    const field = new Field(plan, book.inks, panel.columns, panel.rows, units, 0, 0);
    field.colour(() => FULL);
    return field.picture.canvas.toDataURL();
  }
}
