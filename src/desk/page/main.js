/* Main: the desk. It asks for news, and shows them: the mural in its room, what it takes, the stage
 * of the work that is open, and the versions. */

const money = (value) => plain(value < 100 ? value.toFixed(2) : Math.round(value));
const hoursText = (hours) => (hours < 10 ? `${hours.toFixed(1)} h` : `${plain(Math.round(hours))} h`);
const massText = (kg) => (kg < 10 ? `${kg.toFixed(1)} kg` : `${plain(Math.round(kg))} kg`);
const metreText = (mm) => (mm < 1000 ? `${Math.round(mm)} mm` : `${(mm / 1000).toFixed(2)} m`);

/* Feet and inches to half an inch. */
function feetText(mm) {
  const halves = Math.round(mm / 12.7);
  const feet = Math.floor(halves / 24);
  const inches = (halves % 24) / 2;
  return feet ? `${feet} ft ${inches} in` : `${inches} in`;
}

const ENDED = 'This page’s link has ended. Open the link that the desk printed.';
const LOST = 'The desk does not answer. It may have been ended; start it again and open its link.';

class Desk {
  constructor() {
    this.state = { serial: 0, work: null };
    this.wall = new Wall(this);
    this.lamp = new Lamp(this.wall);
    this.strip = new Strip(this);
    this.colours = new Colours(this);
    this.crop = new Crop(this);
    this.painter = new Painter(this);
    this.brushes = { layers: new Painted(this, 'layers'), regions: new Painted(this, 'regions'),
      touch: new Touch(this), heights: new Heights(this) };
    this.touched = 'touch'; /* or heights: what is touched up */
    this.stage = 'picture';
    this.photos = { colours: new BrickPhoto(this), offer: new PanelPhoto(this) };
    onClick('undo', () => this.go(this.state.from));
    onClick('redo', () => this.go(this.state.onward));
    onClick('make', () => this.make());
    this.listenKeys();
    this.listenFiles();
  }
  async start() {
    this.form = new Form(this, await ask('/settings'));
    this.addStages();
    this.take(await ask('/state'));
    const { settings } = this.state;
    this.open(settings.reference ? 'size' : 'picture');
    this.wall.room.setPlanned(parseFloat(settings.distance));
    this.wall.room.walkTo(this.wall.room.planned);
    this.listen();
  }

  /* ---- news ---- */

  async listen() {
    for (;;) {
      try {
        this.take(await ask(`/state?after=${this.state.serial}&face=${this.state.work.face}`));
        this.lost = false;
      } catch (error) {
        if (error.refused === 403) return this.fault(ENDED);
        if (!this.lost) this.fault(LOST);
        this.lost = true;
        await new Promise((wake) => { setTimeout(wake, 1000); });
      }
    }
  }
  take(state) {
    const before = this.state;
    this.state = state;
    byId('title').textContent = state.title;
    document.title = `${state.title} on the desk`;
    byId('undo').disabled = state.from < 0;
    byId('redo').disabled = state.onward < 0;
    byId('bring').hidden = Boolean(state.settings.reference);
    for (const id of ['mural', 'person']) byId(id).toggleAttribute('hidden', !this.wall.face
      || !state.settings.reference);
    if (state.trail !== before.trail) this.form.show(state.settings);
    this.wall.room.setPlanned(parseFloat(state.settings.distance));
    this.showWork(state.work, before.work);
    if (state.face) this.wall.setFace(state.face);
    this.showCost(state.figures);
    this.showStrip(state, state.trail !== before.trail);
    this.wall.refresh();
    if (before.work && state.now !== before.now) this.say(`Version ${state.now + 1}`);
    this.showOwn();
  }
  /* The strip waits until the first face hangs: drawing it takes a part of what is planned with. */
  showStrip({ face, work }, isNews) {
    this.stripIsOld ||= isNews;
    if (!this.stripIsOld || (work.busy && !face)) return;
    this.stripIsOld = false;
    this.strip.load();
  }
  showWork(work, before) {
    byId('work').hidden = !work.busy;
    byId('work-stage').textContent = work.stage || 'planning';
    byId('work-meter').value = work.done;
    byId('make').textContent = work.making ? 'Stop' : 'Make the plan';
    if (work.fault) this.fault(work.fault);
    else if (before && before.fault) this.fault('');
    if (before && work.made !== before.made) {
      if (work.madeStatus > 1) this.fault(work.madeFault);
      else this.say('The plan is made.');
      if (work.madeStatus <= 1) this.open('offer');
    }
  }
  showCost(figures) {
    const { face } = this.wall;
    const m = figures?.plan?.measures;
    const q = figures?.quote || {};
    const used = face ? face.colours.filter(({ cells }) => cells > 0).length : 0;
    const { currency, budget } = this.state.settings;
    const total = q.total?.expected;
    const over = budget > 0 && total > budget;
    const facts = m ? [
      ['true size',
        [figures.plan.columns, figures.plan.rows].map((n, i) => metreText(n * figures.plan.cell_mm[i])).join(' × ')],
      ['bricks', plain(m.bricks)], ['colours', used, 'minor'],
      ...(q.bricks ? [['sizes', q.bricks.by_size.length, 'minor']] : []), ['mass', massText(m.whole_kg)],
      ['bricks cost', m.price ? `${money(m.price)} ${currency || ''}` : 'no prices'],
      ['work', hoursText(m.hours)], ['panels', figures.plan.panels.length],
      ...(budget > 0 ? [[over ? 'over the budget' : 'of the budget',
        total ? `${money(total)} of ${money(Number(budget))}` : 'no prices', over ? 'over' : '']] : []),
      ['crates', q.crates, 'minor'], ['seen error', m.perceived_de00.toFixed(1)],
      ...(m.unrest_2 === undefined ? [] : [['unrest', m.unrest_2.toFixed(2)]]),
    ] : [];
    byId('cost').classList.toggle('stale', this.state.work.busy);
    const key = JSON.stringify(facts);
    if (key === this.costShown) return;
    this.costShown = key;
    byId('cost').replaceChildren(...facts.map(([name, value, kind = '']) => make('div', kind,
      make('dt', '', name), make('dd', '', String(value)))));
  }

  /* ---- stages ---- */

  addStages() {
    const items = STAGES.filter(({ name }) => name === 'picture' || name === 'touch'
      || !this.form.isEmpty(name)).map((stage) => {
      const button = makeButton([make('b', '', stage.title), make('span', '', stage.short)], () =>
        this.open(stage.name));
      button.id = `stage-${stage.name}`;
      return make('li', '', button);
    });
    byId('stages').replaceChildren(...items);
  }
  open(name) {
    const stage = STAGES.find((s) => s.name === name);
    this.stage = name;
    for (const photo of Object.values(this.photos)) photo.show();
    this.wall.room.showWhole(name === 'size');
    for (const button of byId('stages').querySelectorAll('button')) {
      if (button.id === `stage-${name}`) button.setAttribute('aria-current', 'step');
      else button.removeAttribute('aria-current');
    }
    /* What is set belongs before what is made of it, where there is much of that. */
    if (name === 'colours' || name === 'bricks') byId('form').after(byId('own'));
    else byId('form').before(byId('own'));
    byId('sheet').scrollTop = 0;
    byId('sheet-title').textContent = stage.title;
    byId('sheet-said').textContent = stage.said;
    this.form.open(name);
    this.form.show(this.state.settings);
    this.ownShown = '';
    this.showOwn();
  }
  /* What a stage has beside its settings; made anew only where something in it changed. */
  showOwn(anew = false) {
    const { work, figures, files, settings } = this.state;
    const drawn = ['reference', 'pins', 'steps-map', 'strokes', 'region-labels'].map((name) => settings[name]);
    const key = JSON.stringify([this.stage, this.wall.raised, drawn, this.wall.face?.frame, work?.face,
      figures?.quote?.bricks,
      this.state.pairing, work?.notes, figures?.plan?.measures, files, work?.madeVersion,
      this.state.held, this.wall.face?.columns]);
    if (key === this.ownShown && !anew) return;
    this.ownShown = key;
    const parts = {
      picture: () => this.pictureParts(), size: () => this.sizeParts(), colours: () => this.colours.parts(),
      offer: () => this.offerParts(), layers: () => [...this.brushes.layers.parts(), ...this.lamp.parts()],
      regions: () => this.brushes.regions.parts(), touch: () => this.touchParts(), bricks: () => this.bricksParts(),
    }[this.stage];
    const brush = this.brushes[this.stage === 'touch' ? this.touched : this.stage];
    if (brush && this.wall.face) brush.show().then(() => this.showParts(parts));
    else this.painter.open(null);
    if (this.stage === 'colours') this.brushes.regions.load().then((loaded) => loaded && this.showParts(parts));
    this.showParts(parts);
    this.crop.show(this.stage === 'picture');
    this.showHints();
  }
  /* Whoever was in a field of it is there again afterwards. */
  showParts(parts) {
    const focused = byId('own').contains(document.activeElement) ? document.activeElement : null;
    const mark = focused && (focused.id ? `#${CSS.escape(focused.id)}` : focused.name
      && `[name="${focused.name}"][value="${focused.value}"]`);
    byId('own').replaceChildren(...(parts ? parts() : []));
    if (mark) byId('own').querySelector(mark)?.focus();
  }
  touchParts() {
    return [makeRadios('touched', 'Touch up', [['touch', 'colours'], ['heights', 'heights']], this.touched, (what) => {
      this.touched = what;
      this.showOwn(true);
    }), ...this.brushes[this.touched].parts()];
  }
  /* What the program notes while it plans, each in the stage that can mend it. */
  showHints() {
    const words = { picture: /^(cut off|enlarged|small|the picture)|profile|pixels/, size: /^(enlarged|small|cut off)/,
      colours: /colour(?! profile)|palette/i,
      layers: /relief|layer|steps|stroke|tier/i, bricks: /^(?!budget).*(panel|shelf|stock|brick)/i,
      offer: /^budget|price|crate/i };
    const mine = words[this.stage];
    /* Files are named without where they lie. */
    const notes = (this.state.work?.notes || []).filter((note) => mine && mine.test(note))
      .map((note) => note.replace(/^[^:]*\/(?=[^/:]*:)/, ''));
    const hints = notes.map((note) => {
      const ink = /#[0-9a-f]{6}/.exec(note);
      const capital = /^[\w-]+\.\w+:/.test(note) ? note[0] : note[0].toUpperCase(); /* a file's name stays */
      return make('p', 'hint', ...(ink ? [makeMark(ink[0])] : []), asFields(`${capital}${note.slice(1)}.`));
    });
    /* Where a hint names a cell, both have the same number. */
    const places = notes.map((note) => /column (\d+), row (\d+)/.exec(note));
    places.forEach((at, i) => { if (at) hints[i].prepend(make('b', 'spot', String(i + 1))); });
    const [first, rest] = [hints.slice(0, 2), hints.slice(2)];
    const more = make('details', 'more', make('summary', '', `${rest.length} more`), ...rest);
    more.addEventListener('toggle', () => this.wall.setPlaces(more.open ? places : places.slice(0, 2)));
    byId('hints').replaceChildren(...first, ...(rest.length ? [more] : []));
    this.wall.setPlaces(places.slice(0, 2));
  }
  facts(rows) {
    return make('dl', 'facts-list', ...rows.map(([name, ...said]) =>
      make('div', '', make('dt', '', name), ...said.map((text) => make('dd', '', text)))));
  }
  pictureParts() {
    const file = make('input', 'unseen');
    file.type = 'file';
    file.id = 'new-picture';
    file.accept = 'image/*,.tif,.tiff,.pnm,.ppm,.tga,.bmp';
    file.addEventListener('change', () => { if (file.files[0]) this.bringPicture(file.files[0]); });
    const label = make('label', 'button', this.state.settings.reference ? 'Bring another' : 'Bring a picture');
    label.htmlFor = file.id;
    const { reference } = this.state.figures?.plan || {};
    const rows = [['file', this.state.settings.reference || 'none yet'], ...this.sizeRows()];
    if (reference) rows.push(['pixels in all', `${plain(reference.width)} × ${plain(reference.height)}`], ['colours',
      reference.profile]);
    const { pairing } = this.state;
    if (pairing) rows.push(['another device', `http://${pairing.host}:${pairing.port}/`,
      `code ${pairing.code.slice(0, 4)} ${pairing.code.slice(4)}`]);
    return [this.facts(rows), make('p', 'acts-row', file, label), ...(this.wall.face ? this.crop.parts() : [])];
  }
  sizeParts() { return this.wall.face ? [this.facts(this.sizeRows())] : []; }
  /* What a cell is a mark of; what is to be known again as something takes three each way. */
  sizeRows() {
    const { face } = this.wall;
    if (!face) return [];
    const [w, h] = [face.columns * face.cellWidth, face.rows * face.cellHeight];
    const pixels = face.frame ? face.frame.width / face.columns : 0;
    const shown = pixels ? [`${(3 * pixels).toFixed(pixels < 3 ? 1 : 0)} pixels of the picture across`] : [];
    const finer = pixels && pixels < 1 ? [['enlarged',
      `${(1 / pixels).toFixed(1)} times; more cells show no more`]] : [];
    return [
      ['true size', `${plain(Math.round(w))} × ${plain(Math.round(h))} mm`, `${feetText(w)} × ${feetText(h)}`],
      ['cells', `${plain(face.columns)} × ${plain(face.rows)}`],
      ['smallest detail', `3 cells, ${+(3 * face.cellWidth).toFixed(1)} mm`, ...shown], ...finer,
    ];
  }
  /* How many of each size, and what the shelf lacks of them. */
  bricksParts() {
    const bricks = this.state.figures?.quote?.bricks;
    if (!bricks) return [];
    const shelf = this.state.settings.stock ? [['from the shelf', plain(bricks.order - bricks.bought)],
      ['the shelf lacks', plain(bricks.bought)]] : [];
    const sizes = bricks.by_size.map(({ size, order }) => [size.replace('x', ' × '), plain(order)]);
    return [this.facts([...shelf, ...sizes])];
  }
  offerParts() {
    const { files, work, now, figures } = this.state;
    let made = 'There is a plan, of another state; make it again for this one.';
    if (work.madeVersion < 0) made = 'There is a plan from before the desk was opened; make it again to be sure of it.';
    if (work.madeVersion === now) made = 'The plan of this version is made.';
    if (!files.length) made = 'There is no plan yet.';
    const shown = ['book.html', 'book.pdf', 'quote.pdf', 'offer.pdf', 'order.csv', 'parts.csv', 'preview.png',
      'kit.pdf', 'relief.glb'];
    const there = shown.map((name) => files.find((file) => file.name === name)).filter(Boolean);
    const links = there.map(({ name, what }) => {
      const link = make('a', '', name);
      link.href = `/made?file=${encodeURIComponent(name)}`;
      link.target = '_blank';
      return make('li', '', link, make('small', '', what));
    });
    const m = figures?.plan?.measures;
    const rows = m ? [['panels', figures.plan.panels.length], ['crates', figures.quote?.crates],
      ['pieces', plain(m.pieces)]].map(([name, value]) => [name, String(value)]) : [];
    const bench = files.length ? [make('p', 'facts', 'To build it with many hands, give the plan’s folder to ',
      make('code', '', 'rowlock bench'), ': its build book for every tablet, and one state of what is laid.')] : [];
    return [make('p', 'facts', made), make('ul', 'files', ...links), ...bench, this.facts(rows),
      ...this.photos.offer.parts()];
  }

  /* ---- what is done ---- */

  async act(request) {
    try {
      await request();
      this.fault('');
    } catch (error) {
      this.fault(error.message);
    }
  }
  go(version) { if (version >= 0 && version !== this.state.now) this.act(() => tell('/go', { version })); }
  make() { this.act(() => tell(this.state.work.making ? '/stop' : '/make')); }
  bringPicture(blob) { this.act(() => bring('reference', blob)); }
  /* What is dropped or pasted belongs to the stage that is open. */
  bringFile(blob) {
    const photo = this.photos[this.stage];
    if (photo?.parts().length) photo.bring(blob);
    else this.bringPicture(blob);
  }
  say(text) { byId('say').textContent = text; }
  fault(text) {
    byId('fault').textContent = text;
    byId('fault').hidden = !text;
  }
  listenKeys() {
    document.addEventListener('keydown', (event) => {
      if (!(event.ctrlKey || event.metaKey) || event.target.closest('input[type=text]')) return;
      const key = event.key.toLowerCase();
      if (key === 'z' && !event.shiftKey) this.go(this.state.from);
      else if (key === 'y' || key === 'z') this.go(this.state.onward);
      else return;
      event.preventDefault();
    });
  }
  /* A file is dropped anywhere on the wall, pasted, or chosen. */
  listenFiles() {
    const room = byId('room');
    const over = (on) => room.classList.toggle('over', on);
    document.addEventListener('dragover', (event) => {
      event.preventDefault();
      over(true);
    });
    document.addEventListener('dragleave', () => over(false));
    document.addEventListener('drop', (event) => {
      event.preventDefault();
      over(false);
      const [file] = event.dataTransfer.files;
      if (file) this.bringFile(file);
    });
    document.addEventListener('paste', (event) => {
      const [file] = event.clipboardData.files;
      if (file) this.bringFile(file);
    });
    byId('first-file').addEventListener('change', (event) => {
      const [file] = event.target.files;
      if (file) this.bringPicture(file);
    });
  }
}

window.desk = new Desk();
window.desk.start();
