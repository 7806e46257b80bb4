/* Bench: one panel, step by step. What is lit comes next; laid bricks are dimmed. */

/* Makes an element; text stands for one text child. */
function make(name, className, ...children) {
  const element = document.createElement(name);
  if (className) element.className = className;
  element.append(...children);
  return element;
}

/* The look of each colour's swatch as a rule of style: its mark is a picture in the ground, so
 * that a swatch is one element. A row of a wide panel has hundreds. */
function addSwatches(plan) {
  const style = make('style');
  style.textContent = plan.colours.map((c, k) => {
    const ink = c.white ? '#fff' : '#000';
    const svg = `<svg xmlns='http://www.w3.org/2000/svg' viewBox='0 0 100 100'><path fill='${ink}' d='${c.path}'/></svg>`;
    return `.swatch-${k} { color: ${ink}; background-color: ${c.hex}; background-image: url("data:image/svg+xml,${encodeURIComponent(svg)}"); }`;
  }).join('\n');
  document.head.append(style);
}

/* A colour as a small brick with its mark and id. */
const swatch = (plan, colour) => make('span', `swatch swatch-${colour}`, plan.colours[colour].id);

const RUNS_TOGETHER = 12;
const RUNS_SAID = 40;
const ALIKE_SAID = 5;
const many = (n, what) => `${plain(n)} ${what}${n === 1 ? '' : 's'}`;

class Bench {
  constructor(book) {
    Object.assign(this, { book, plan: book.plan, progress: book.progress, mode: 'row', panel: null, past: [] });
    this.state = (i) => {
      if (this.steps.step[i - this.panel.first] === this.cursor) return NEXT;
      return this.progress.laid[i] ? LAID : LATER;
    };
    this.view = new View(byId('bench-canvas'), (context, view, part) => this.paint(context, view, part), (u, v) => this.tap(u, v));
    this.view.afterResize = () => this.follow();
    byId('bench-done').addEventListener('click', () => this.forward());
    byId('bench-back').addEventListener('click', () => this.back());
    byId('bench-go').addEventListener('click', () => this.jump());
    byId('bench-jump').addEventListener('keydown', (event) => { if (event.key === 'Enter') this.jump(); });
    byId('bench-before').addEventListener('click', () => this.layBefore());
    byId('bench-anew').addEventListener('click', () => this.anew());
    byId('bench-print').addEventListener('click', () => window.print());
    for (const radio of document.querySelectorAll('input[name=mode]'))
      radio.addEventListener('change', () => this.setMode(radio.value));
  }

  open(index, mode = this.mode) {
    this.panel = this.plan.panels[index];
    this.mode = MODES.includes(mode) ? mode : 'row';
    this.layer = -1;
    for (const radio of document.querySelectorAll('input[name=mode]')) radio.checked = radio.value === this.mode;
    byId('bench-jump').max = String(this.panel.row + this.panel.rows);
    byId('bench-jump').min = String(this.panel.row + 1);
    this.restart();
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
    const { order, step } = this.steps;
    const { laid } = this.progress;
    for (let n = this.steps.start[k] || 0; n < order.length; n++) if (!laid[order[n]]) return step[order[n] - this.panel.first];
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
  tap(u, v) {
    const { field } = this;
    const column = Math.floor(u);
    const row = Math.floor(v);
    if (column < 0 || row < 0 || column >= field.columns || row >= field.rows) return;
    const i = field.units[row * field.columns + column];
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
    if (!window.confirm(`Take back all ${plain(this.progress.count[this.panel.index] - this.progress.standing[this.panel.index])} laid bricks of panel ${this.panel.name}?`)) return;
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
    const box = boxes.reduce(around);
    return { left: box.left - 1, low: box.low - 1, right: box.right + 1, high: box.high + 1 };
  }
  setLayer(layer) {
    const { plan, panel, book } = this;
    const before = this.field;
    this.units = layerUnits(plan, panel, layer);
    this.under = layer > 0 ? layerUnits(plan, panel, layer - 1) : null;
    byId('bench-below').hidden = !this.under || (plan.wall && plan.depth < 2);
    byId('bench-below').textContent = `Grey and broken lines: the ${plan.wall ? 'course' : 'tier'} below.`;
    if (plan.wall) {
      const front = new Int32Array(panel.columns * panel.rows);
      for (let row = 0; row < panel.rows; row++) {
        const from = (panel.row + row) * plan.columns + panel.column;
        front.set(book.face.brick.subarray(from, from + panel.columns), row * panel.columns);
      }
      this.field = new Field(plan, book.inks, panel.columns, panel.rows, front, panel.column, panel.row);
    } else {
      this.field = new Field(plan, book.inks, panel.columns, panel.rows, this.units, panel.column, panel.row, this.under);
    }
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
    const scale = view.byHand ? view.scale : fit >= 9 ? fit : Math.max(14, Math.min(24, room / (box.right - box.left + 2)));
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
    const text = `Panel ${this.panel.name} is done: ${many(this.panel.count, 'brick')}. Count the rows once more, then press every joint home.`;
    byId('bench-end').textContent = text;
    byId('bench-canvas').setAttribute('aria-label', text);
    this.book.say(text);
  }
  tellStep(lead) {
    const { plan, panel } = this;
    const layer = plan.layer[lead];
    const v = plan.v[lead];
    const row = runsOfRow(plan, panel, layer, v, this.units);
    const label = rowLabel(plan, panel, layer, v);
    const c = plan.colours[plan.colour[lead]];
    const what = this.mode === 'colour' ? `${c.id}${c.name ? ` ${c.name}` : ''}, ${label}` : label;
    byId('bench-row').textContent = what[0].toUpperCase() + what.slice(1);
    this.tellHand(countBricks(plan, this.toLay(this.cursor)));
    this.tellRuns(row);
    byId('bench-sum').textContent = `${many(row.bricks, 'brick')} in the row, ${many(row.cells, 'cell')}`;
    this.paintCourse(v);
    const text = this.sentence(what, row);
    byId('bench-canvas').setAttribute('aria-label', `Chart. ${text}`);
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
      const c = plan.colours[run.colour];
      lit.push(`from column ${panel.column + plan.u[bricks[0]] + 1}, ${bricks.length} of ${c.id}${c.name ? ` ${c.name}` : ''}, ${plan.sizes[run.size].name}${run.upright ? ' upright' : ''}`);
    }
    return `${what}: ${many(this.stepBricks(this.cursor).length, 'brick')}; ${lit.join('; ')}${more ? `; and ${many(more, 'run')} more, listed below` : ''}.`;
  }
  /* One item a colour: its brick, then how many of each size. */
  tellHand(counts) {
    const items = new Map();
    for (const { colour, size, count } of counts) {
      if (!items.has(colour)) items.set(colour, make('li', '', swatch(this.plan, colour), make('span', 'unseen', this.plan.colours[colour].name)));
      items.get(colour).append(make('span', 'take', make('b', '', String(count)), ` × ${this.plan.sizes[size].name}`));
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
    const others = this.plan.colours[colour].alike.map(([other]) => other).filter((other) => this.bag.colours.has(other));
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
        const list = make('ol', 'runs', ...row.runs.slice(next, next + RUNS_TOGETHER).map((run) => this.runItem(run)));
        list.setAttribute('aria-label', `Runs ${next + 1} to ${Math.min(next + RUNS_TOGETHER, row.runs.length)} of ${row.runs.length}`);
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
    const lit = run.bricks.filter((i) => this.state(i) === NEXT).length;
    item.append(make('b', '', `${run.bricks.length}×`), swatch(plan, run.colour), sizeText(plan, run.size, run.upright));
    if (lit && lit < run.bricks.length) item.append(make('span', '', `no. ${run.bricks.findIndex((i) => this.state(i) === NEXT) + 1}`));
    item.className = lit ? 'lit' : run.bricks.every((i) => this.progress.laid[i]) ? 'past' : '';
    if (run.bricks.some((i) => plan.care[i])) item.append(make('span', 'small', 'weak place'));
    return item;
  }
  /* A course's units with its front below. */
  upside(units) {
    const { columns, vs } = this.panel;
    const turned = new Int32Array(units.length);
    for (let v = 0; v < vs; v++) turned.set(units.subarray(v * columns, (v + 1) * columns), (vs - 1 - v) * columns);
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
    const field = new Field(plan, this.book.inks, panel.columns, panel.vs, this.upside(this.units), panel.column, 0,
      this.under && this.upside(this.under));
    field.colour(this.state);
    const still = { scale: side, aspect: 1, width: canvas.width, height: canvas.height,
      left: (u) => u * side, upper: (v) => canvas.height - v * side,
      cellAt: (x, y) => [x / side, (canvas.height - y) / side] };
    field.paint(context, still, this.state);
    canvas.setAttribute('aria-label', `The course from above, its front below; tier ${row + 1} is lit`);
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
    byId('bench-bag').replaceChildren(...bag.keys.map((key) => {
      const name = make('th', '', swatch(this.plan, key >> 8));
      name.scope = 'row';
      return make('tr', '', name, make('td', '', this.plan.sizes[key & 255].name), make('td', '', plain(bag.all[key])), make('td', ''));
    }));
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
      make('p', '', `columns ${panel.column + 1} to ${panel.column + panel.columns}, rows ${panel.row + 1} to ${panel.row + panel.rows}; ${many(panel.count, 'brick')}`), picture);
    const body = make('tbody');
    let units = null;
    let layer = -1;
    const rows = makeSteps(plan, panel, 'row');
    for (let k = 0; k < rows.count; k++) {
      const i = rows.order[rows.start[k]];
      if (plan.layer[i] !== layer) units = layerUnits(plan, panel, layer = plan.layer[i]);
      const row = runsOfRow(plan, panel, layer, plan.v[i], units);
      const runs = make('td');
      for (const run of row.runs) runs.append(make('span', 'run', make('small', '', `${panel.column + run.u + 1} `), runText(plan, run)), ' ');
      body.append(make('tr', '', make('th', '', make('span', 'tick'), rowLabel(plan, panel, layer, plan.v[i]), this.progress.stands[i] ? ' (stands)' : ''), runs,
        make('td', '', many(row.bricks, 'brick')), make('td', '', many(row.cells, 'cell'))));
    }
    paper.append(make('table', '', body));
  }
  /* The panel's face, a pixel a cell, not dimmed. */
  plainPicture() {
    const { plan, panel, book } = this;
    const units = new Int32Array(panel.columns * panel.rows);
    for (let row = 0; row < panel.rows; row++) {
      const from = (panel.row + row) * plan.columns + panel.column;
      units.set(book.face.brick.subarray(from, from + panel.columns), row * panel.columns);
    }
    const field = new Field(plan, book.inks, panel.columns, panel.rows, units, 0, 0);
    field.colour(() => FULL);
    return field.picture.toDataURL();
  }
}

function setMeter(meter, done, all) {
  meter.max = Math.max(all, 1);
  meter.value = all ? done : 1;
}
