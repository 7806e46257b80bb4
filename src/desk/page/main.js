/* Main: the desk. It asks for news, and shows them: the mural in its room, what it takes, the stage
 * of the work that is open, and the versions. */

/* Feet and inches to half an inch. */
function feetText(mm) {
  const halves = Math.round(mm / 12.7);
  const feet = Math.floor(halves / 24);
  const inches = (halves % 24) / 2;
  return feet ? `${feet} ft ${inches} in` : `${inches} in`;
}

/* The cells that a note names, as "column 3, row 4" or "columns 3 and 4, rows 5 to 9", of which the middle. */
function cellsIn(note) {
  const named = note.matchAll(/columns? (\d+)(?: and (\d+))?, rows? (\d+)(?: to (\d+))?/g);
  const cells = [...named].map(([, ...n]) => n.map(Number)).map(([column, other, row, last]) =>
    [((other || column) + column) / 2, ((last || row) + row) / 2]);
  return cells.filter(([column, row], i) => cells.findIndex((cell) => cell[0] === column && cell[1] === row) === i);
}

/* A path as a shell takes it for one word. */
const asWord = (path) => (/^[\w./-]+$/.test(path) ? path : `'${path.replaceAll('\'', '\'\\\'\'')}'`);

const ENDED = 'This page’s link has ended. Open the link that the desk printed.';
const CLICK_MS = 100; /* the longest from a pointer's lift to its click; an assumption */
const LOST = 'The desk does not answer. It may have been ended; start it again and open its link.';

class Desk {
  constructor() {
    this.state = { serial: 0, work: null };
    this.cost = new Cost();
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
    this.watchPresses();
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
    this.cost.show(state.cost, state.settings, state.work.busy);
    this.showStrip(state, state.trail !== before.trail);
    /* A change is to be seen, also where another version hung in its place. */
    if (this.wall.hung && state.now !== before.now) this.wall.compare(this.wall.against);
    else this.wall.showPair();
    this.wall.refresh();
    if (before.work && state.now !== before.now) this.say(`Version ${state.now + 1}`);
    this.showOwn();
  }
  /* The strip waits until the first face hangs: drawing it takes a part of what is planned with. */
  showStrip({ face, work }, isNews) {
    this.stripIsOld ||= isNews;
    if (!this.stripIsOld || (work.busy && !face)) return;
    this.stripIsOld = false;
    this.strip.load().catch(() => { this.stripIsOld = true; }); /* asked again with the next news */
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
    /* A brush is what one comes back to; what it says of its strokes stands on the wall, too. */
    (this.brushes[name] ? byId('own') : byId('sheet-said')).after(byId('hints'));
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
    const drawn = ['reference', 'pins', 'steps-map', 'strokes', 'region-strokes', 'region-labels'].map((name) =>
      settings[name]);
    const key = JSON.stringify([this.stage, this.wall.raised, drawn, this.wall.face?.frame, work?.face,
      figures?.quote,
      this.state.pairing, work?.notes, figures?.plan?.measures, files, this.state.bench, work?.madeVersion,
      this.state.held, this.wall.face?.columns]);
    if (key === this.ownShown && !anew) return;
    this.ownShown = key;
    const parts = {
      picture: () => this.pictureParts(), size: () => this.sizeParts(), colours: () => this.colours.parts(),
      offer: () => this.offerParts(), layers: () => [...this.brushes.layers.parts(), ...this.lamp.parts()],
      regions: () => this.brushes.regions.parts(), touch: () => this.touchParts(), bricks: () => this.bricksParts(),
    }[this.stage];
    const brush = this.brushes[this.stage === 'touch' ? this.touched : this.stage];
    const { stage } = this; /* another may be open when the brush is there */
    const waits = brush && this.wall.face;
    if (waits) brush.show().then(() => {
      if (stage === this.stage) this.showParts(parts);
      this.wall.rehang();
    });
    else this.painter.open(null);
    if (!waits || stage !== this.partsShown) this.wall.rehang();
    if (stage === 'colours') this.brushes.regions.load().then((loaded) => loaded && stage === this.stage
      && this.showParts(parts));
    if (!waits || stage !== this.partsShown) this.showParts(parts);
    this.partsShown = stage;
    this.crop.show(this.stage === 'picture');
    this.showHints();
  }
  /* Never under a finger: what it pressed would be gone before it is lifted, and the press lost. Whoever was in a
   * field of it is there again afterwards. */
  showParts(parts) {
    this.partsLate = this.pressed ? () => this.showParts(parts) : null;
    if (this.pressed) return;
    const focused = byId('own').contains(document.activeElement) ? document.activeElement : null;
    const mark = focused && (focused.id ? `#${CSS.escape(focused.id)}` : focused.name
      && `[name="${focused.name}"][value="${focused.value}"]`);
    byId('own').replaceChildren(...(parts ? parts() : []));
    if (mark) byId('own').querySelector(mark)?.focus();
  }
  /* A press ends with its click, which comes after the pointer is up, if it comes at all. */
  watchPresses() {
    let end = 0;
    const press = (isOn) => {
      clearTimeout(end);
      this.pressed = isOn;
      /* Late parts come when what was clicked has heard of it. */
      if (!isOn) end = setTimeout(() => this.partsLate?.());
    };
    byId('own').addEventListener('pointerdown', () => press(true));
    byId('own').addEventListener('click', () => press(false), true);
    for (const name of ['pointerup', 'pointercancel']) window.addEventListener(name, () => {
      if (this.pressed) end = setTimeout(() => press(false), CLICK_MS);
    });
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
      colours: /colour(?! profile)|palette/i, regions: /^(regions?|outside)\b/,
      layers: /^(?!region|outside).*(relief|layer|steps|stroke|tier)/i,
      bricks: /^(?!budget).*(panel|shelf|stock|brick)/i, offer: /^budget|price|crate/i };
    const mine = words[this.stage];
    /* Files are named without where they lie. */
    const notes = (this.state.work?.notes || []).filter((note) => mine && mine.test(note))
      .map((note) => note.replace(/^[^:]*\/(?=[^/:]*:)/, '').replace(/^region (?=[^:]*:)/, ''));
    const hints = notes.map((note) => {
      const ink = /#[0-9a-f]{6}/.exec(note);
      const capital = /^[\w-]+\.\w+:/.test(note) ? note[0] : note[0].toUpperCase(); /* a file's name stays */
      return make('p', 'hint', ...(ink ? [makeMark(ink[0])] : []), asFields(`${capital}${note.slice(1)}.`));
    });
    /* Where a hint names cells, they have its number on the wall, and it is never folded away. */
    const places = notes.map(cellsIn);
    const shown = hints.filter((_, i) => i < 2 || places[i].length);
    const folded = hints.filter((_, i) => i >= 2 && !places[i].length);
    hints.forEach((hint, i) => { if (places[i].length) hint.prepend(make('b', 'spot', String(i + 1))); });
    byId('hints').replaceChildren(...shown, ...(folded.length ? [make('details', 'more',
      make('summary', '', `${folded.length} more`), ...folded)] : []));
    this.wall.setPlaces(places);
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
    const { files, work, now } = this.state;
    let made = 'There is a plan, of another state; make it again for this one.';
    if (work.madeVersion < 0) made = 'There is a plan from before the desk was opened; make it again to be sure of it.';
    if (work.madeVersion === now) made = 'The plan of this version is made.';
    if (!files.length) made = 'There is no plan yet.';
    const shown = ['book.html', 'book.pdf', 'quote.pdf', 'offer.pdf', 'order.csv', 'parts.csv', 'preview.png',
      'kit.pdf', 'relief.glb'];
    const there = shown.map((name) => files.find((file) => file.name === name)).filter(Boolean);
    const [book, ...links] = there.map(({ name, what }) =>
      this.linkTo(`/made?file=${encodeURIComponent(name)}`, name, what));
    return [make('p', 'facts', made), make('ul', 'files', ...(book ? [book] : []), ...this.benchParts(there), ...links),
      this.facts(this.priceRows()), ...this.photos.offer.parts()];
  }
  /* What the price is made of, as the quote has it. */
  priceRows() {
    const q = this.state.figures?.quote;
    if (!q) return [];
    const parts = [['bricks', q.bricks.price.expected], ['sheets', q.sheets_price], ['labour', q.labour.expected],
      ['crates', q.crates_price], ['freight', q.freight], ['on site', q.site_price], ['in all', q.total.expected]];
    const days = q.building_days.expected;
    return [...parts.filter(([, price]) => price > 0).map(([name, price]) => [name, money(price)]),
      ['building', many(days, 'day')]];
  }
  linkTo(path, name, ...more) {
    const link = make('a', '', name);
    link.href = path;
    link.target = '_blank';
    return make('li', '', link, ...more.map((text) => make('small', '', text)));
  }
  /* The desk opens the bench on its own machine. For tablets somebody has to say at which address. */
  benchParts(files) {
    const { bench, title, held } = this.state;
    if (!files.some(({ name }) => name === 'book.html')) return [];
    const near = /^(127\.|localhost$|\[::1\]$)/.test(window.location.hostname);
    const link = near ? [this.linkTo('/bench', 'bench', 'what is laid, brick by brick; open as long as the desk is',
      ...(bench ? [bench] : []))] : [];
    const command = make('code', '', `rowlock bench ${asWord(`${title}.desk/${held[0]}`)} `,
      make('span', '', '--listen ', make('i', '', 'address')));
    return [...link, make('li', '', make('small', '', 'for tablets, with one state for all of them:'), command)];
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
