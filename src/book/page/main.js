/* Main: reads the plan, joins the parts of the book, and keeps the place. */

const DARK = window.matchMedia('(prefers-color-scheme: dark)');
const KEEPS_NOTHING =
  'This browser keeps nothing for this page. Save the progress as a file before you close it.';

class Book {
  constructor(plan) {
    this.plan = plan;
    this.store = new Store(plan.digest);
    this.setLight(this.store.get('light') || 'auto');
    this.setEyes(this.store.get('eyes'));
    this.inks = new Inks(plan);
    addSwatches(plan);
    this.progress = new Progress(plan, this.store);
    this.face = faceOf(plan);
    this.wall = new Wall(this);
    this.bench = new Bench(this);
    this.awake = new Awake();
    this.parts = { wall: this.wall, bench: this.bench, key: new Key(this) };
    if (plan.depth > plan.base) {
      this.parts.relief = new Relief(this);
      byId('go-relief').hidden = false;
    }
    this.parts.keep = this;
    for (const name of Object.keys(this.parts)) onClick(`go-${name}`, () => this.go(name));
    this.listenKeys();
    this.listenKeep();
    this.listenLight();
    this.listenEyes();
    this.listenPaper();
    this.store.refused = () => this.warn();
    if (!this.store.works) this.warn();
    this.start();
  }
  /* Where the book was left, or the wall. */
  start() {
    let place = {};
    try {
      place = JSON.parse(this.store.get('place') || '{}');
    } catch { /* a place that cannot be read is no place */ }
    const panel = this.plan.panels[place.panel] || this.firstOpenPanel();
    this.bench.open(panel.index, place.mode);
    this.go(this.parts[place.part] ? place.part : 'wall');
  }
  firstOpenPanel() {
    const order = byHanging(this.plan);
    return order.find((p) => this.progress.count[p.index] < p.count) || order[0];
  }
  go(name) {
    this.part = name;
    for (const other of Object.keys(this.parts)) {
      byId(other).hidden = other !== name;
      const button = byId(`go-${other}`);
      if (other === name) button.setAttribute('aria-current', 'page');
      else button.removeAttribute('aria-current');
    }
    window.scrollTo(0, 0);
    if (this.parts[name].show) this.parts[name].show();
    this.awake.want(name === 'bench');
    this.keepPlace();
  }
  keepPlace() {
    const { panel, mode } = this.bench.work;
    this.store.set('place', JSON.stringify({ part: this.part, panel: panel.index, mode }));
  }
  openPanel(index) {
    this.bench.open(index);
    this.go('bench');
    byId('bench-done').focus({ preventScroll: true });
  }
  lightColour(colour) {
    this.wall.light(colour);
    this.go('wall');
  }
  say(text) { byId('say').textContent = text; }
  warn() {
    const warning = byId('warning');
    warning.textContent = KEEPS_NOTHING;
    warning.hidden = false;
    this.tellWhere();
  }

  /* ---- keys: those of a pedal or a presenter too ---- */

  listenKeys() {
    const acts = {
      ArrowRight: 'forward', PageDown: 'forward', ' ': 'forward',
      ArrowLeft: 'back', PageUp: 'back', Backspace: 'back',
    };
    document.addEventListener('keydown', (event) => {
      const act = acts[event.key];
      if (this.part !== 'bench' || isShortcut(event)) return;
      if (event.repeat && event.target.closest('#bench .course')) event.preventDefault();
      if (!act) return;
      if (event.target.closest('input:not([type=radio]), select')) return;
      /* Arrows and space are a radio button's own keys, and space is every button's. */
      if (/^( |Arrow.*)$/.test(event.key) && event.target.closest('input')) return;
      if (event.key === ' ' && event.target.closest('button, summary, a')) return;
      event.preventDefault();
      /* A key that is held lays one step. */
      if (!event.repeat) this.bench[act]();
    });
  }

  /* ---- progress as a file ---- */

  show() {
    const { plan, progress } = this;
    const done = plan.panels.filter((p) => progress.count[p.index] === p.count).length;
    byId('keep-facts').textContent = `${progress.said()}, ${done} of ${many(plan.panels.length, 'panel')} done.`;
    this.tellWhere();
  }
  tellWhere() {
    byId('keep-where').textContent = this.store.works
      ? 'Each step is kept in this browser. A file carries it to another one.' : KEEPS_NOTHING;
  }
  listenKeep() {
    onClick('keep-export', () => this.exportFile());
    byId('keep-import').addEventListener('change', async (event) => {
      const [file] = event.target.files;
      if (!file) return;
      this.importText(await file.text(), file.name);
      event.target.value = '';
    });
    window.addEventListener('storage', (event) => {
      const panel = this.plan.panels.find((p) => event.key === this.store.prefix + p.name);
      if (!panel) return;
      this.progress.replace(panel, event.newValue || '');
      this.refresh();
    });
  }
  exportFile() {
    const link = make('a');
    link.href = URL.createObjectURL(new Blob([this.progress.exported()], { type: 'text/csv' }));
    link.download = `progress-${this.plan.digest.slice(0, 8)}.csv`;
    link.click();
    setTimeout(() => URL.revokeObjectURL(link.href), 10000);
    byId('keep-said').textContent = `Saved as ${link.download}.`;
  }
  importText(text, place) {
    try {
      const { added, others } = this.progress.merge(text, place);
      this.refresh();
      this.show();
      const rest = `${many(others, 'brick')} of it ${others === 1 ? 'is' : 'are'} not in this plan: take them off.`;
      byId('keep-said').textContent = `${place}: ${many(added, 'brick')} added. ${others ? rest : ''}`.trim();
    } catch (error) {
      byId('keep-said').textContent = error.message;
    }
  }
  refresh() {
    this.bench.restart();
    this.wall.stale = true;
    if (this.part === 'wall') this.wall.show();
  }

  /* ---- colours that eyes take for each other ---- */

  setEyes(eyes) { this.eyes = Object.hasOwn(EYES, eyes) ? eyes : 'any'; }
  listenEyes() {
    checkRadio('eyes', this.eyes);
    onChoice('eyes', (eyes) => {
      this.store.set('eyes', eyes);
      this.setEyes(eyes);
      this.bench.changed(null);
      this.wall.light(this.wall.colour);
    });
  }

  /* ---- light and dark ---- */

  setLight(light) {
    this.light = ['light', 'dark'].includes(light) ? light : 'auto';
    const dark = this.light === 'dark' || (this.light === 'auto' && DARK.matches);
    document.documentElement.dataset.light = dark ? 'dark' : 'light';
  }
  listenLight() {
    const turn = (light) => {
      this.setLight(light);
      this.inks.read();
      this.wall.recolour();
      this.bench.changed(null);
      if (this.parts.relief) this.parts.relief.draw();
    };
    checkRadio('light', this.light);
    onChoice('light', (light) => {
      this.store.set('light', light);
      turn(light);
    });
    DARK.addEventListener('change', () => turn(this.light));
  }

  /* ---- paper ---- */

  listenPaper() {
    window.addEventListener('beforeprint', () => {
      const paper = byId('paper');
      paper.replaceChildren();
      if (this.part !== 'bench') this.print(paper);
      else if (this.atTrueSize) printTrueSize(paper, this.bench);
      else this.bench.print(paper);
    });
    window.addEventListener('afterprint', () => { this.atTrueSize = false; });
  }
  printTrueSize() {
    this.atTrueSize = true;
    window.print();
  }
  print(paper) {
    const { plan, progress } = this;
    const body = make('tbody');
    for (const p of byHanging(plan))
      body.append(makeRow(makeRowHead(make('span', 'tick'), p.name), placeText(p), many(p.count, 'brick'),
        `${plain(progress.count[p.index])} laid`));
    paper.append(make('h2', '', `${plan.title}: panels in the order of hanging`), make('table', '', body));
  }
}

const packed = byId('bricks');
window.book = new Book(readPlan(JSON.parse(byId('head').textContent), packed.textContent, packed.dataset.digest));
