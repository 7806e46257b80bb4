/* Wall: what hangs in the room. The face by its cells is drawn from the program's answer, a pixel a
 * cell; all else that is to be seen are the program's own pictures of it, which are asked for again
 * whenever the face or the distance changes. Beside the face, under one frame, hangs what it is
 * compared with, and a wipe goes from one to the other. */

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

class Wall {
  constructor(desk) {
    this.desk = desk;
    this.room = new Room(() => this.refresh());
    this.look = 'seen';
    this.wipe = 50;
    this.against = '';
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
  }
  setWipe(percent) {
    this.wipe = percent;
    byId('wipe').value = percent;
    byId('wipe').setAttribute('aria-valuetext', `${Math.round(percent)} % ${this.againstText()}`);
    byId('other').style.clipPath = `inset(0 ${100 - percent}% 0 0)`;
    byId('edge').style.left = `${percent}%`;
  }
  againstText() { return byId('against').selectedOptions[0]?.textContent || ''; }
  /* What the face is compared with: '', 'picture' or the number of a version. */
  compare(against) {
    this.against = against;
    byId('against').value = against;
    for (const id of ['other', 'edge', 'wipe']) byId(id).hidden = !against;
    this.setWipe(this.wipe);
    this.refresh();
  }
  setVersions(versions) {
    const options = [['', 'nothing'], ['picture', 'the picture']];
    for (const v of [...versions].reverse())
      if (v.figures && (v.kept || v.version === Number(this.against)))
        options.push([String(v.version), v.name || `version ${v.version + 1}`]);
    byId('against').replaceChildren(...options.map(([value, text]) => {
      const option = make('option', '', text);
      option.value = value;
      return option;
    }));
    byId('against').value = this.against;
  }
  /* The face as the program gave it: {columns, rows, cells, colours, …}. */
  setFace(face) {
    this.face = face;
    const picture = this.cells = new CellPicture(face.columns, face.rows);
    const inks = face.colours.map(({ hex }) => opaque(...channels(hex)));
    this.indices = Uint8Array.from(atob(face.cells), (c) => c.charCodeAt(0));
    this.indices.forEach((index, i) => { picture.pixels[i] = inks[index]; });
    const canvas = byId('cells');
    canvas.width = face.columns;
    canvas.height = face.rows;
    picture.put();
    canvas.getContext('2d').drawImage(picture.canvas, 0, 0);
    byId('cells').setAttribute('aria-label',
      `The face of the mural, ${face.columns} by ${face.rows} cells`);
    if (LOOKS.find(({ name }) => name === this.look).cells) byId('seen').hidden = true;
    this.faceCame = performance.now();
    this.raised = Boolean(face.steps) && /[^A]/.test(face.steps.replace(/=+$/, ''));
    const { strokes, labels } = this.desk.state.settings;
    for (const radio of radios('look')) {
      const { raised, layered } = LOOKS.find(({ name }) => name === radio.value);
      radio.parentElement.hidden = (raised && !this.raised) || (layered && !strokes && !labels);
      if (radio.parentElement.hidden && this.look === radio.value) this.setLook('seen');
    }
    this.room.setMural(face.columns * face.cellWidth, face.rows * face.cellHeight);
    byId('mural').hidden = false;
    byId('person').toggleAttribute('hidden', false);
  }
  /* Numbers on the mural at cells, each [, column, row] from 1 on, or null. */
  setPlaces(places) {
    const { columns, rows } = this.face || {};
    byId('places').replaceChildren(...places.map((at, i) => {
      const number = make('b', 'spot', String(i + 1));
      number.hidden = !at || !columns;
      if (at) number.style.left = `${100 * (at[1] - 0.5) / columns}%`;
      if (at) number.style.top = `${100 * (at[2] - 0.5) / rows}%`;
      return number;
    }));
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
    this.seen.show(this.pathOf(look.view), () => {
      byId('seen').hidden = false;
      byId('seen').classList.toggle('sharp', ['reference', 'cells'].includes(look.view));
    });
    const version = /^\d+$/.test(this.against);
    byId('other-image').classList.toggle('sharp', version || look.beside !== 'reference-seen');
    if (version) this.other.show(`/version?version=${this.against}`);
    else if (this.against) this.other.show(this.pathOf(look.beside));
  }
}
