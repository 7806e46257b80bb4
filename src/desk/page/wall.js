/* Wall: what hangs in the room. The face by its cells is drawn from the program's answer, a pixel a
 * cell; all else that is to be seen are the program's own pictures of it, which are asked for again
 * whenever the face or the distance changes. Beside the face, under one frame, hangs what it is
 * compared with, and a wipe goes from one to the other; where that is a version, another may hang in
 * the face's place. All of them go through the same eye, and each has its own size. */

/* cells: until a new picture is there, those of the new face are shown instead of the last one. */
const LOOKS = [
  { name: 'seen', title: 'From here', view: 'seen', beside: 'reference-seen', cells: true },
  { name: 'cells', title: 'Cells', view: 'cells', beside: 'fitted', cells: true },
  { name: 'bricks', title: 'Bricks', view: 'bricks', beside: 'reference', cells: true },
  { name: 'relief', title: 'Relief', view: 'relief', beside: 'reference', raised: true },
  { name: 'layers', title: 'Outlines', view: 'layers', beside: 'reference', layered: true },
  { name: 'picture', title: 'Picture', view: 'reference', beside: 'reference' },
];
const SOON = 70; /* milliseconds without a move, after which a picture is asked for */
/* While a face is planned on, its cells hang there in the place of the picture for so long: drawing
 * that takes a part of what is planned with. Of a plan that takes longer it is seen meanwhile. */
const PATIENCE = 600;
/* Pixels that a number on the mural takes. */
const SPOT = 26;

/* A picture that is asked for anew; the last one stays until the next is there. */
class Picture {
  constructor(image) {
    this.image = image;
    this.path = '';
  }
  show(path, then = () => {}) {
    if (path === this.path) return then();
    const first = !this.path;
    this.path = path;
    clearTimeout(this.timer);
    this.timer = setTimeout(() => this.load(path, then), first ? 0 : SOON);
    return undefined;
  }
  async load(path, then) {
    if (this.stop) this.stop.abort();
    this.stop = new AbortController();
    try {
      const response = await fetch(path, { signal: this.stop.signal });
      if (!response.ok || path !== this.path) return;
      const before = this.image.src;
      this.image.src = URL.createObjectURL(await response.blob());
      if (before.startsWith('blob:')) URL.revokeObjectURL(before);
      await this.image.decode();
      then();
    } catch { /* a newer one is under way, or there is nothing to be seen yet */ }
  }
}

const isVersion = (side) => /^\d+$/.test(side);
const titleOf = (v) => v.name || `version ${v.version + 1}`;

class Wall {
  constructor(desk) {
    this.desk = desk;
    this.room = new Room(() => this.refresh());
    this.look = 'seen';
    this.wipe = 50;
    this.against = ''; /* left of the wipe: '', 'picture' or a version */
    this.hung = ''; /* right of it: '' for the version on the wall, or another */
    this.pair = new Pair();
    this.versions = [];
    this.lamp = [315, 25]; /* degrees */
    this.seen = new Picture(byId('seen'));
    this.other = new Picture(byId('other-image'));
    this.addLooks();
    this.listen();
  }
  addLooks() {
    for (const { name, title } of LOOKS) {
      const input = make('input');
      Object.assign(input, { type: 'radio', name: 'look', value: name });
      byId('looks').append(make('label', '', input, make('span', '', title)));
    }
    checkRadio('look', this.look);
    onChoice('look', (look) => this.setLook(look));
  }
  setLook(look) {
    this.look = look;
    checkRadio('look', look);
    this.refresh();
  }
  listen() {
    byId('wipe').addEventListener('input', (event) => this.setWipe(Number(event.target.value)));
    byId('against').addEventListener('change', (event) => this.compare(event.target.value));
    byId('hung').addEventListener('change', (event) => this.compare(this.against, event.target.value));
  }
  setWipe(percent) {
    this.wipe = percent;
    byId('wipe').value = percent;
    byId('wipe').setAttribute('aria-valuetext', `${Math.round(percent)} % ${this.againstText()}`);
    byId('other').style.clipPath = `inset(0 ${100 - percent}% 0 0)`;
    this.clipOwn();
    byId('edge').style.left = `${percent}%`;
  }
  /* What hangs beside it covers the face, unless that is larger. */
  clipOwn() {
    const { uneven, wipe } = this;
    byId('own-side').style.clipPath = this.against && uneven && !this.desk.painter?.task ? `inset(0 0 0 ${wipe}%)` : '';
  }
  againstText() { return byId('against').selectedOptions[0]?.textContent || ''; }
  /* What hangs left and right of the wipe. Beside the picture hangs what is planned now. */
  compare(against, hung = '') {
    this.against = against;
    this.hung = isVersion(against) ? hung : '';
    byId('against').value = against;
    byId('hung').value = this.hung;
    for (const id of ['other', 'edge', 'wipe']) byId(id).hidden = !against;
    this.setWipe(this.wipe);
    this.rehang();
  }
  rehang() {
    this.hangAll();
    this.showPair();
    this.refresh();
  }
  setVersions(versions) {
    this.versions = versions;
    const sides = [this.against, this.hung];
    const kept = [...versions].reverse().filter((v) => v.figures && (v.kept || sides.includes(String(v.version))))
      .map((v) => [String(v.version), titleOf(v)]);
    const fill = (id, options, chosen) => {
      byId(id).replaceChildren(...options.map(([value, text]) => {
        const option = make('option', '', text);
        option.value = value;
        return option;
      }));
      byId(id).value = chosen;
    };
    fill('against', [['', 'nothing'], ['picture', 'the picture'], ...kept], this.against);
    fill('hung', [['', 'on the wall'], ...kept], this.hung);
    this.showPair();
  }
  /* Figures side by side, where two versions are. */
  showPair() {
    const left = isVersion(this.against) && this.versions[this.against];
    if (!left || this.desk.painter?.task) return this.pair.show(null);
    const { cost } = this.hung ? { cost: this.versions[this.hung]?.figures } : this.desk.state;
    return this.pair.show({ title: titleOf(left), cost: left.figures }, { title: this.hung, cost });
  }
  /* Millimetres of what hangs at a side. */
  sizeOf(side) {
    const { face } = this;
    const own = [face.columns * face.cellWidth, face.rows * face.cellHeight];
    const figures = isVersion(side) && this.versions[side]?.figures;
    return figures ? [figures.width, figures.height] : own;
  }
  /* Each side has its true size, about one middle. */
  hangAll() {
    if (!this.face) return;
    const beside = this.desk.painter?.task ? '' : this.against;
    const shown = [this.shownHung(), beside].map((side) => this.sizeOf(side));
    const whole = [0, 1].map((i) => Math.max(...shown.map((size) => size[i])));
    const uneven = this.uneven = shown.some((size) => size.some((mm, i) => mm < 0.995 * whole[i]));
    this.room.setMural(...whole);
    byId('mural').classList.toggle('uneven', uneven);
    this.clipOwn();
    byId('cells').hidden = Boolean(this.shownHung());
    byId('places').hidden = Boolean(this.shownHung());
    for (const [id, [width, height]] of [['seen', shown[0]], ['cells', shown[0]], ['places', shown[0]],
      ['other-image', shown[1]]]) {
      const [w, h] = [100 * width / whole[0], 100 * height / whole[1]];
      Object.assign(byId(id).style, uneven ? { width: `${w}%`, height: `${h}%`, left: `${(100 - w) / 2}%`,
        top: `${(100 - h) / 2}%` } : { width: '', height: '', left: '', top: '' });
    }
  }
  /* While a brush is at work its own version hangs there. */
  shownHung() { return this.desk.painter?.task ? '' : this.hung; }
  /* The face as the program gave it: {columns, rows, cells, colours, …}. */
  setFace(face) {
    this.face = face;
    const picture = this.cells = new CellPicture(face.columns, face.rows);
    const inks = face.colours.map(({ hex }) => opaque(...channels(hex)));
    const cells = this.indices = bytesOf(face.cells);
    for (let i = 0; i < cells.length; i++) picture.pixels[i] = inks[cells[i]];
    const canvas = byId('cells');
    canvas.width = face.columns;
    canvas.height = face.rows;
    picture.put();
    canvas.getContext('2d').drawImage(picture.canvas, 0, 0);
    byId('cells').setAttribute('aria-label',
      `The face of the mural, ${face.columns} by ${face.rows} cells`);
    if (LOOKS.find(({ name }) => name === this.look).cells && !this.shownHung()) byId('seen').hidden = true;
    this.faceCame = performance.now();
    this.raised = Boolean(face.steps) && /[^A]/.test(face.steps.replace(/=+$/, ''));
    const { strokes, labels } = this.desk.state.settings;
    for (const radio of radios('look')) {
      const { raised, layered } = LOOKS.find(({ name }) => name === radio.value);
      radio.parentElement.hidden = (raised && !this.raised) || (layered && !strokes && !labels);
      if (radio.parentElement.hidden && this.look === radio.value) this.setLook('seen');
    }
    this.hangAll();
    byId('mural').hidden = false;
    byId('person').toggleAttribute('hidden', false);
  }
  /* Numbers on the mural: of each note the cells that it names, [column, row] from 1 at the lower left.
   * One that would lie on that of another note stands to the right of it. */
  setPlaces(places) {
    const { columns, rows } = this.face || {};
    if (!columns) return;
    const { clientWidth: width, clientHeight: height } = byId('places');
    const taken = [];
    byId('places').replaceChildren(...places.flatMap((cells, note) => cells.map(([column, row]) => {
      const number = make('b', 'spot', String(note + 1));
      const place = { note, x: width * (column - 0.5) / columns, y: height * (row - 0.5) / rows };
      while (taken.some(({ note: other, x, y }) => other !== note && Math.hypot(x - place.x, y - place.y) < SPOT))
        place.x += SPOT;
      taken.push(place);
      number.style.left = `${100 * place.x / width}%`;
      number.style.bottom = `${100 * place.y / height}%`;
      return number;
    })));
  }
  /* As many pixels as the mural covers, in few steps, so that walking asks for few pictures. */
  pixels() {
    const wide = (this.room.box?.width || 800) * Math.min(window.devicePixelRatio || 1, 2);
    return Math.min(2400, 400 * Math.ceil(wide / 400));
  }
  pathOf(view) {
    const eye = view.endsWith('seen') ? `&distance=${Math.round(this.room.stand)}` : '';
    const lamp = view === 'relief' ? `&angle=${this.lamp[0]}&lamp=${this.lamp[1]}` : '';
    const { face, laid } = this.desk.state.work;
    const bricks = view === 'bricks' || view === 'relief' ? `&laid=${laid}` : '';
    return `/view?view=${view}&pixels=${this.pixels()}${eye}${lamp}&face=${face}${bricks}`;
  }
  /* The same of a kept version: by its cells, or as it is seen from here. */
  pathOfVersion(version) {
    const seen = this.look === 'seen';
    const eye = seen ? `&distance=${Math.round(this.room.stand)}` : '';
    return `/view?version=${version}&view=${seen ? 'seen' : 'cells'}&pixels=${this.pixels()}${eye}`;
  }
  refresh() {
    if (!this.face || !this.desk.state.work) return;
    clearTimeout(this.later);
    byId('cells').classList.toggle('soft', this.look === 'seen');
    const left = this.desk.state.work.busy ? PATIENCE - (performance.now() - this.faceCame) : 0;
    if (left > 0) this.later = setTimeout(() => this.draw(), left);
    else this.draw();
  }
  draw() {
    const look = LOOKS.find(({ name }) => name === this.look);
    const hung = this.shownHung();
    this.seen.show(hung ? this.pathOfVersion(hung) : this.pathOf(look.view), () => {
      byId('seen').hidden = false;
      byId('seen').classList.toggle('sharp', hung ? this.look !== 'seen' : ['reference', 'cells'].includes(look.view));
    });
    const version = isVersion(this.against);
    byId('other-image').classList.toggle('sharp', version ? this.look !== 'seen' : look.beside !== 'reference-seen');
    if (version) this.other.show(this.pathOfVersion(this.against));
    else if (this.against) this.other.show(this.pathOf(look.beside));
  }
}
