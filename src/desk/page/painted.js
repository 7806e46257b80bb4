/* Painted: the two stages in which parts of the picture are marked and named by some strokes: layers
 * that stand out, and regions that are asked for something else. What they are goes into an INI file,
 * the strokes into an indexed PNG; the program finds their outlines, and what it found is shown. */

const MARKS = ['', '#5c5f66', '#d1432b', '#1f6fb5', '#e0a100', '#2f8f4e', '#8a4fb0', '#d2691e', '#0f9aa8', '#b03a6b',
  '#6b7d1f', '#3f4fc0'];

/* whole: the setting of the same drawn whole, whose pixels are taken over as strokes. ground: of what is
 * in none; first: the least index of the others. */
const KINDS = {
  layers: {
    raster: 'strokes', list: 'layers', section: 'layer', first: 2, ground: 1, word: 'layer', called: 'subject',
    apart: 'ground', wants: 'Now some strokes on the ground, round what stands out.',
    said: 'Draw a few strokes on each thing that is to stand out, and some on the ground; '
      + 'outlines follow the picture’s edges.',
    keys: { height: { text: '3' }, profile: { choices: ['rounded', 'plateau', 'slope', 'relief'], text: 'rounded' },
      on: { choices: null, text: 'ground' } },
  },
  regions: {
    raster: 'region-strokes', whole: 'region-labels', list: 'regions', section: 'region', first: 1, ground: 255,
    word: 'region', called: 'region', apart: 'outside', wants: 'Now some strokes outside, round the region.',
    said: 'Draw a few strokes on what matters more, such as a face, and some outside it; outlines follow the '
      + 'picture’s edges.',
    keys: { care: { text: '3' }, calm: { text: '1' }, thrift: { text: '1' }, without: { text: '' } },
  },
};
const STROKE_SIZES = [6, 14, 30];
const STROKE_VEIL = 190;

/* What an index is painted with. */
function inkOf({ ground, first }, index) {
  if (index === NOTHING) return '';
  return index === ground ? MARKS[1] : MARKS[2 + Math.max(0, index - first) % (MARKS.length - 2)];
}

/* The region of all that is in no other: what is to be left out everywhere is left out there too. */
const ELSEWHERE = 'elsewhere';
const ELSEWHERE_INDEX = MARKS.length;

const KEY_SAID = {
  height: 'steps', profile: 'form', on: 'stands on', care: 'care, 0.1 to 10', calm: 'calm, times',
  thrift: 'thrift, times',
};

/* Sections as [{name, keys…}], of a file that the program reads as well. */
function readSections(text, section) {
  const list = [];
  for (const line of text.split(/\r?\n/)) {
    const head = new RegExp(`^\\s*\\[${section} ([^\\]]+)\\]`).exec(line);
    const entry = /^\s*([a-z]+)\s*=\s*(.*?)\s*$/.exec(line);
    if (head) list.push({ name: head[1] });
    else if (entry && list.length) list[list.length - 1][entry[1]] = entry[2];
  }
  return list;
}

/* Each index as the table has it. */
function translated(indices, table) {
  const to = new Uint8Array(indices.length);
  for (let i = 0; i < to.length; i++) to[i] = table[indices[i]];
  return to;
}

function indicesIn(indices) {
  const met = new Uint8Array(256);
  for (let i = 0; i < indices.length; i++) met[indices[i]] = 1;
  return new Set([...met.keys()].filter((index) => met[index]));
}

class Painted {
  constructor(desk, name) {
    this.desk = desk;
    this.kind = KINDS[name];
    this.onItsWay = new OnItsWay(desk);
    this.list = [];
    this.size = 1;
    this.current = this.kind.first;
    this.off = []; /* ids of colours that are left out everywhere */
    this.unfolded = new Set(); /* indices of regions whose colours are in sight */
  }
  /* The setting that tells where they are, and its file. */
  drawnIn(settings) {
    const { raster, whole } = this.kind;
    const name = !settings[raster] && settings[whole] ? whole : raster;
    return [name, settings[name] || ''];
  }
  keyOf(settings) {
    return `${this.drawnIn(settings)} ${settings[this.kind.list]} ${JSON.stringify(this.desk.wall.face?.frame)}`;
  }
  /* What the version on the wall has. */
  async load() {
    const { face } = this.desk.wall;
    const { settings } = this.desk.state;
    if (!face?.frame || !this.onItsWay.isNews(this.keyOf(settings))) return false;
    const response = settings[this.kind.list] ? await fetch(`/brought?setting=${this.kind.list}`) : null;
    const found = response?.ok ? readSections(await response.text(), this.kind.section) : [];
    const sections = found.filter((s) => s.name !== ELSEWHERE);
    this.off = (found.find((s) => s.name === ELSEWHERE)?.without || '').split(',').filter(Boolean);
    for (const s of sections)
      if (s.without) s.without = s.without.split(',').filter((id) => !this.off.includes(id)).join(',');
    /* What has just been added and is not drawn yet is in no file. */
    const fresh = this.list.filter(({ name, index }) => !sections.some((s) => s.name === name
      || Number(s.index) === index));
    this.list = [...sections.map((s) => ({ ...s, index: Number(s.index) })), ...(this.kept ? fresh : [])];
    await this.loadStrokes(face.frame, settings);
    return true;
  }
  /* Of regions that were drawn whole all pixels are strokes, those outside too. */
  async loadStrokes(frame, settings) {
    const [name, file] = this.drawnIn(settings);
    const { ground, whole } = this.kind;
    const raster = rasterOf(frame);
    const read = file ? await loadRaster(name, raster, { frame, crop: settings.crop })
      : new Uint8Array(raster.width * raster.height);
    const empty = name === whole ? ground : NOTHING;
    const known = new Set(this.list.map(({ index }) => index));
    const none = !read.some((index) => known.has(index));
    raster.indices = read.map((index) => {
      if (none) return NOTHING; /* nothing but what is left out everywhere */
      return index === ELSEWHERE_INDEX ? ground : index || empty;
    });
    this.raster = raster;
  }
  async show() {
    if (await this.load() || this.desk.painter.task?.owner !== this) this.paint();
    this.showFound();
  }
  paint() {
    if (!this.raster) return;
    const inks = Array.from({ length: 256 }, (_, index) => inkOf(this.kind, index));
    this.desk.painter.open({ ...this.raster, owner: this, inks, veil: STROKE_VEIL, round: true,
      size: () => STROKE_SIZES[this.size], index: () => this.current, done: () => this.save(this.strokeText()) });
  }
  /* The cells of each region, as the program found them. */
  showFound() {
    const { columns, rows, regions } = this.desk.wall.face;
    const text = `${columns} ${regions} ${this.list.map(({ index }) => index)}`;
    if (!this.kind.whole || (text === this.foundText && this.desk.painter.found)) return;
    this.foundText = text;
    this.found = regions ? bytesOf(regions) : null;
    const inks = Array.from({ length: 256 }, (_, i) => (i === ELSEWHERE_INDEX ? '' : inkOf(this.kind, i)));
    this.desk.painter.setFound(this.found && { columns, rows, indices: this.found, inks });
    const said = this.list.map((one) => `${one.name}: ${this.cellsOf(one)}`).join(', ');
    if (this.found && said !== this.foundSaid) this.desk.say(this.foundSaid = said);
  }
  cellsOf({ index }) {
    const cells = this.found ? this.found.reduce((n, other) => n + (other === index), 0) : 0;
    return cells ? `${many(cells, 'cell')}, ${(100 * cells / this.found.length).toFixed(0)} % of the mural`
      : 'no outline yet';
  }
  strokeText() {
    const one = this.list.find(({ index }) => index === this.current);
    return one ? `${one.name} drawn` : `${this.kind.word}s drawn`;
  }
  /* A region's own colours to be without, and those that are left out everywhere. */
  sectionText(one) {
    const own = { ...one, without: [...new Set([...(one.without || '').split(','),
      ...this.off])].filter(Boolean).join(',') };
    const { keys, section } = this.kind;
    const lines = Object.keys(keys).filter((key) => own[key]).map((key) => `${key} = ${own[key]}\n`);
    return `[${section} ${own.name}]\nindex = ${own.index}\n${lines.join('')}`;
  }
  /* Both files go together: one change, one version. Strokes that have nothing round them yet wait, unless
   * something else must be saved. */
  save(what, must = false) {
    const { raster, kind, off } = this;
    const drawn = indicesIn(raster.indices);
    let list = this.list.filter(({ index }) => drawn.has(index));
    this.wants = list.length && !drawn.has(kind.ground) ? kind.wants : '';
    if (list.length) this.kept = true;
    if (this.wants) list = [];
    if (this.wants && !must) return this.desk.showOwn(true);
    if (off.length) list.push({ name: ELSEWHERE, index: ELSEWHERE_INDEX });
    if (!list.length) return this.onItsWay.send(() => this.drop(what));
    const apart = off.length ? ELSEWHERE_INDEX : kind.ground;
    const all = list.every(({ index }) => index === ELSEWHERE_INDEX);
    const known = new Set([...list.map(({ index }) => index), apart]);
    const written = Uint8Array.from({ length: 256 }, (_, index) => {
      if (all || index === kind.ground) return apart;
      return known.has(index) ? index : NOTHING;
    });
    const indices = translated(raster.indices, written);
    const inks = Array.from({ length: Math.max(...known) + 1 }, (_, i) => inkOf(kind, i) || '#ffffff');
    const text = list.map((one) => this.sectionText(one)).join('\n');
    const png = writeIndexed({ ...raster, indices, inks });
    return this.onItsWay.send(async () => {
      const sections = await this.keepList(text);
      const name = await this.desk.form.bring(kind.raster, png, { [kind.list]: sections.name }, what);
      return name && this.keyOf({ [kind.raster]: name, [kind.list]: sections.name });
    });
  }
  drop(what) {
    const { raster, whole, list } = this.kind;
    const settings = Object.fromEntries([raster, whole, list].filter(Boolean).map((name) => [name, '']));
    this.desk.form.change(settings, what);
    return this.keyOf(settings);
  }
  /* The list changes seldom: what is there already is not brought again. */
  async keepList(text) {
    if (text !== this.brought?.text) this.brought = { text, ...await keepFile(this.kind.list, text) };
    return this.brought;
  }
  /* Leaves a colour out everywhere, or lets it in again. */
  async toggleColour(id) {
    await this.load();
    const was = this.off.includes(id);
    this.off = was ? this.off.filter((other) => other !== id) : [...this.off, id];
    await this.save(`${id} ${was ? 'let in' : 'left out'}`, true);
  }
  add() {
    const taken = new Set(this.list.map(({ index }) => index));
    let index = this.kind.first;
    while (taken.has(index)) index++;
    if (index >= MARKS.length) {
      const most = MARKS.length - this.kind.first;
      return this.desk.fault(`${this.kind.word}s: no more than ${most} here; write the files by hand for more.`);
    }
    const one = { name: `${this.kind.called} ${index - this.kind.first + 1}`, index };
    for (const [key, { text }] of Object.entries(this.kind.keys)) one[key] = text;
    this.list.push(one);
    this.current = index;
    this.kept = true;
    return this.desk.showOwn(true);
  }
  remove(one) {
    this.list = this.list.filter((other) => other !== one);
    for (const other of this.list) if (other.on === one.name) other.on = 'ground';
    this.raster.indices.forEach((index, i) => { if (index === one.index) this.raster.indices[i] = NOTHING; });
    this.current = this.kind.first;
    this.save(`${one.name} taken away`);
    this.desk.showOwn(true);
  }
  parts() {
    if (!this.desk.wall.face?.frame) return [];
    const said = make('p', this.wants ? 'hint' : 'facts', this.wants || this.kind.said);
    const { word, ground, apart } = this.kind;
    const choices = [[ground, apart], ...this.list.map((one) => [one.index, one.name]), [NOTHING, 'rub out']];
    const brushes = makeRadios(`${word}-index`, 'The brush draws', choices, this.current, (value) =>
      { this.current = Number(value); }, (index) => (index === NOTHING ? null : makeMark(inkOf(this.kind, index))));
    const sizes = makeRadios(`${word}-size`, 'The brush is', [[0, 'fine'], [1, 'middle'], [2, 'broad']], this.size,
      (value) => { this.size = Number(value); });
    const add = makeButton([`Add a ${this.kind.word}`], () => this.add());
    if (!this.list.length) return [said, make('p', 'acts-row', add)];
    return [said, brushes, sizes, make('p', 'acts-row', add), ...this.list.map((one) => this.card(one))];
  }
  card(one) {
    const entries = Object.entries(this.kind.keys).map(([key, { choices }]) => (key === 'without' ? this.colours(one)
      : this.entry(one, key, choices)));
    const found = this.kind.whole ? [make('p', 'facts', this.cellsOf(one))] : [];
    return make('fieldset', 'part', make('legend', '', one.name), ...found, this.entry(one, 'name', undefined),
      ...entries,
      makeButton(['Take away'], () => this.remove(one), `Take ${one.name} away`));
  }
  /* The colours that a region may have: pressed ones it has. */
  colours(one) {
    const without = (one.without || '').split(',').filter(Boolean);
    const face = this.desk.wall.face.colours.filter(({ id }) => !this.off.includes(id));
    const patches = () => face.map(({ id, name, hex }) => {
      const button = makeButton([makeMark(hex), id], () => {
        const next = without.includes(id) ? without.filter((other) => other !== id) : [...without, id];
        one.without = next.join(',');
        this.save(`${one.name}: ${id} ${next.includes(id) ? 'left out' : 'let in'}`);
        this.desk.showOwn(true);
      }, `${id}, ${name}, in ${one.name}`);
      button.id = `${this.kind.word}-${one.index}-${id}`;
      button.setAttribute('aria-pressed', String(!without.includes(id)));
      return make('li', without.includes(id) ? 'off' : '', button);
    });
    const said = without.length ? `${without.length} left out` : 'all';
    const open = this.unfolded.has(one.index);
    const inks = make('ul', 'patches inks', ...(open ? patches() : []));
    const list = make('details', 'more', make('summary', '', `colours: ${said}`), inks);
    list.open = open;
    list.addEventListener('toggle', () => {
      this.unfolded[list.open ? 'add' : 'delete'](one.index);
      if (list.open && !inks.firstChild) inks.append(...patches());
    });
    return list;
  }
  entry(one, key, choices) {
    const known = choices === null ? ['ground', ...this.list.filter((other) => other !== one).map(({ name }) => name)]
      : choices;
    const input = make(known ? 'select' : 'input');
    if (known) input.append(...known.map((text) => make('option', '', text)));
    else input.type = 'text';
    input.id = `${this.kind.word}-${one.index}-${key}`;
    input.value = one[key] || (known ? this.kind.keys[key].text : '');
    input.addEventListener('change', () => {
      const value = input.value.replace(/[[\];\r\n]/g, ' ').trim();
      if (key === 'name') for (const other of this.list) if (other.on === one.name) other.on = value;
      one[key] = value || one[key];
      this.save(`${one.name}: ${key} ${value}`);
      this.desk.showOwn(true);
    });
    const label = make('label', '', KEY_SAID[key] || key);
    label.htmlFor = input.id;
    return make('p', 'pair', label, input);
  }
}
