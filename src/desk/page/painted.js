/* Painted: the two stages in which parts of the picture are marked and named: layers that stand
 * out, by some strokes on each, and regions that are asked for something else, drawn whole. What
 * they are goes into an INI file, where they are into an indexed PNG, and the plan is made of both. */

const MARKS = ['', '#5c5f66', '#d1432b', '#1f6fb5', '#e0a100', '#2f8f4e', '#8a4fb0', '#d2691e', '#0f9aa8', '#b03a6b',
  '#6b7d1f', '#3f4fc0'];

const KINDS = {
  layers: {
    raster: 'strokes', list: 'layers', section: 'layer', first: 2, ground: 1, brush: [6, 14, 30], word: 'layer',
    said: 'Draw a few strokes on each thing that is to stand out, and some on the ground; '
      + 'outlines follow the picture’s edges.',
    called: 'subject', inks: MARKS, veil: 190,
    keys: { height: { text: '3' }, profile: { choices: ['rounded', 'plateau', 'slope', 'relief'], text: 'rounded' },
      on: { choices: null, text: 'ground' } },
  },
  regions: {
    raster: 'region-labels', list: 'regions', section: 'region', first: 1, ground: 0, brush: [12, 30, 70],
      word: 'region', outlines: true,
    called: 'region', inks: ['', ...MARKS.slice(2), MARKS[1]], veil: 70,
    said: 'Draw round what matters more, such as a face: what is enclosed belongs to the region. A line that '
      + 'ends where it began is laid along the picture’s edges under the brush.',
    keys: { care: { text: '3' }, calm: { text: '1' }, thrift: { text: '1' }, without: { text: '' } },
  },
};
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
    this.follows = true; /* the picture's edges */
    this.off = []; /* ids of colours that are left out everywhere */
    this.unfolded = new Set(); /* indices of regions whose colours are in sight */
  }
  keyOf(settings) {
    return `${settings[this.kind.raster]} ${settings[this.kind.list]} ${JSON.stringify(this.desk.wall.face?.frame)}`;
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
    this.raster = rasterOf(face.frame);
    this.raster.indices = settings[this.kind.raster] ? await loadRaster(this.kind.raster, this.raster.width,
      this.raster.height)
      : new Uint8Array(this.raster.width * this.raster.height);
    this.raster.indices.forEach((index, i, all) => { if (index === ELSEWHERE_INDEX) all[i] = NOTHING; });
    return true;
  }
  async show() {
    if (await this.load() || this.desk.painter.task?.owner !== this) this.paint();
    if (!this.kind.outlines || !this.raster) return;
    const path = wholePath(this.desk, RASTER);
    if (path === this.steepOf) return;
    this.steepOf = path;
    this.steep = null;
    const { width, height } = this.raster;
    const steep = await steepnessOf(path, width, height);
    if (path === this.steepOf) this.steep = steep;
  }
  paint() {
    if (!this.raster) return;
    const { inks, veil, outlines } = this.kind;
    this.desk.painter.open({ ...this.raster, owner: this, inks: [...inks, ...MARKS.slice(2), ...MARKS.slice(2)], veil,
      outlined: outlines, round: true,
      size: () => this.kind.brush[this.size], index: () => this.current,
      outline: () => this.kind.outlines && this.current !== NOTHING,
      follow: this.kind.outlines && ((points) => this.follow(points)), done: () => this.save(this.strokeText()) });
  }
  /* A line that ends where it began, laid along the picture's edges; null: it stays as it was drawn. */
  follow(points) {
    const { width, height } = this.raster;
    const size = this.kind.brush[this.size];
    const [[x0, y0], [x1, y1]] = [points[0], points[points.length - 1]];
    const closed = Math.hypot(x1 - x0, y1 - y0) <= 2 * size;
    return this.follows && this.steep && closed ? alongEdges(points, this.steep, width, height, size / 2) : null;
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
  /* Both files go together: one change, one version. */
  save(what) {
    const { raster, kind, off } = this;
    const drawn = indicesIn(raster.indices);
    const list = this.list.filter(({ index }) => drawn.has(index));
    if (off.length) list.push({ name: ELSEWHERE, index: ELSEWHERE_INDEX });
    if (!list.length) return this.onItsWay.send(() => this.drop(what));
    this.kept = true;
    this.wants = kind.ground && !drawn.has(kind.ground) ? 'Now some strokes on the ground, round what stands out.' : '';
    if (this.wants) return this.desk.showOwn(true);
    const known = new Set([kind.ground, ...list.map(({ index }) => index)]);
    const rest = off.length ? ELSEWHERE_INDEX : NOTHING;
    const written = Uint8Array.from({ length: 256 }, (_, index) => (index && known.has(index) ? index : rest));
    const indices = new Uint8Array(raster.indices.length);
    for (let i = 0; i < indices.length; i++) indices[i] = written[raster.indices[i]];
    const inks = Array.from({ length: Math.max(...known) + 1 }, (_, i) => kind.inks[i] || '#ffffff');
    const text = list.map((one) => this.sectionText(one)).join('\n');
    return this.onItsWay.send(async () => {
      const [png, sections] = await Promise.all([writeIndexed({ ...raster, indices, inks }), this.keepList(text)]);
      const name = await this.desk.form.bring(kind.raster, png, { [kind.list]: sections.name }, what);
      return name && this.keyOf({ [kind.raster]: name, [kind.list]: sections.name });
    });
  }
  drop(what) {
    const settings = { [this.kind.raster]: '', [this.kind.list]: '' };
    this.desk.form.change(settings, what);
    return this.keyOf(settings);
  }
  /* The list changes seldom: what is there already is not brought again. */
  async keepList(text) {
    if (text !== this.brought?.text) this.brought = { text, ...await keepFile(this.kind.list, new Blob([text])) };
    return this.brought;
  }
  /* Leaves a colour out everywhere, or lets it in again. */
  async toggleColour(id) {
    await this.load();
    const was = this.off.includes(id);
    this.off = was ? this.off.filter((other) => other !== id) : [...this.off, id];
    await this.save(`${id} ${was ? 'let in' : 'left out'}`);
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
    const choices = [...(this.kind.ground ? [[this.kind.ground, 'ground']] : []), ...this.list.map((one) => [one.index,
      one.name]), [NOTHING, 'rub out']];
    const { word } = this.kind;
    const brushes = makeRadios(`${word}-index`, 'The brush draws', choices, this.current, (value) =>
      { this.current = Number(value); }, (index) => (this.kind.inks[index] ? makeMark(this.kind.inks[index]) : null));
    const sizes = makeRadios(`${word}-size`, 'The brush is', [[0, 'fine'], [1, 'middle'], [2, 'broad']], this.size,
      (value) => { this.size = Number(value); });
    const line = this.kind.outlines ? [makeRadios('outline', 'The outline lies', [['edges', 'along the edges'],
      ['hand', 'as drawn']], this.follows ? 'edges' : 'hand', (value) => { this.follows = value === 'edges'; })] : [];
    const add = makeButton([`Add a ${this.kind.word}`], () => this.add());
    if (!this.list.length) return [said, make('p', 'acts-row', add)];
    return [said, brushes, sizes, ...line, make('p', 'acts-row', add), ...this.list.map((one) => this.card(one))];
  }
  card(one) {
    const entries = Object.entries(this.kind.keys).map(([key, { choices }]) => (key === 'without' ? this.colours(one)
      : this.entry(one, key, choices)));
    return make('fieldset', 'part', make('legend', '', one.name), this.entry(one, 'name', undefined), ...entries,
      makeButton(['Take away'], () => this.remove(one), `Take ${one.name} away`));
  }
  /* The colours that a region may have: pressed ones it has. */
  colours(one) {
    const without = (one.without || '').split(',').filter(Boolean);
    const face = this.desk.wall.face.colours.filter(({ id }) => !this.off.includes(id));
    const patches = face.map(({ id, name, hex }) => {
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
    const list = make('details', 'more', make('summary', '', `colours: ${said}`),
      make('ul', 'patches inks', ...patches));
    list.open = this.unfolded.has(one.index);
    list.addEventListener('toggle', () => this.unfolded[list.open ? 'add' : 'delete'](one.index));
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
