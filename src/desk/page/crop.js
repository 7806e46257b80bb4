/* Crop: the whole picture in the place of the mural, and on it the frame of what is shown. Its
 * corners hold the mural's shape, or change it; the program is told when they are let go. */

const LEAST_CROP = 8; /* pixels of the picture */

/* Where the whole picture is to be had; `of` has it asked for again where it is another. */
function wholePath({ state, wall }, pixels) {
  const { reference, turn, mirror } = state.settings;
  const { pictureWidth, pictureHeight } = wall.face.frame;
  const of = encodeURIComponent(`${reference} ${turn} ${mirror} ${pictureWidth} ${pictureHeight}`);
  return `/view?view=whole&pixels=${pixels}&of=${of}`;
}

class Crop {
  constructor(desk) {
    this.desk = desk;
    this.element = byId('crop');
    this.frame = byId('crop-frame');
    this.picture = new Picture(byId('whole'));
    this.holds = true;
    for (const corner of ['upper left', 'upper right', 'lower left', 'lower right']) this.addCorner(corner);
    this.listen(this.frame, [0, 0]);
    new ResizeObserver(() => this.place()).observe(this.element);
  }
  addCorner(name) {
    const sides = [name.includes('left') ? -1 : 1, name.includes('upper') ? -1 : 1];
    const corner = makeButton([], () => {}, `Crop: ${name} corner; arrow keys move it`);
    corner.className = `corner ${name}`;
    this.frame.append(corner);
    this.listen(corner, sides);
  }
  show(open) {
    const { face } = this.desk.wall;
    this.element.hidden = !(open && face?.frame);
    if (this.element.hidden) return;
    this.picture.show(wholePath(this.desk, 1600));
    if (!this.moving) this.box = { ...face.frame };
    this.place();
  }
  /* The picture as large as there is room; the frame where it lies on it. */
  place() {
    if (!this.box || this.element.hidden) return;
    const { pictureWidth: pw, pictureHeight: ph, left, top, width, height } = this.box;
    const [w, h] = [this.element.clientWidth - 60, this.element.clientHeight - 60];
    const scale = this.scale = Math.max(Math.min(w / pw, h / ph), 1e-6);
    const set = (element, x, y, across, down) => Object.assign(element.style, {
      left: `${x}px`, top: `${y}px`, width: `${across}px`, height: `${down}px` });
    set(byId('crop-table'), (w + 60 - pw * scale) / 2, (h + 60 - ph * scale) / 2, pw * scale, ph * scale);
    set(this.frame, left * scale, top * scale, width * scale, height * scale);
    this.frame.setAttribute('aria-label',
      `What is shown: ${Math.round(width)} by ${Math.round(height)} of ${pw} by ${ph} pixels; arrow keys move it`);
    byId('crop-said').textContent = `${plain(Math.round(width))} × ${plain(Math.round(height))} pixels`;
  }
  /* Moves the frame, sides [0, 0], or the corner on those sides, by so many pixels of the picture. */
  move(from, sides, dx, dy) {
    const { pictureWidth: pw, pictureHeight: ph } = from;
    const box = { ...from };
    if (!sides[0]) {
      box.left = clamp(from.left + dx, 0, pw - from.width);
      box.top = clamp(from.top + dy, 0, ph - from.height);
    } else {
      const room = [sides[0] < 0 ? from.left + from.width : pw - from.left, sides[1] < 0 ? from.top + from.height
        : ph - from.top];
      const shape = from.width / from.height;
      box.width = clamp(from.width + sides[0] * dx, LEAST_CROP, room[0]);
      box.height = clamp(from.height + sides[1] * dy, LEAST_CROP, room[1]);
      if (this.holds || this.isFixed()) {
        const wider = Math.abs(dx) >= Math.abs(dy) * shape;
        box.width = Math.min(wider ? box.width : box.height * shape, room[0], room[1] * shape);
        box.height = box.width / shape;
      }
      if (sides[0] < 0) box.left = from.left + from.width - box.width;
      if (sides[1] < 0) box.top = from.top + from.height - box.height;
    }
    this.box = box;
    this.place();
  }
  /* Both sides of the mural are given, and with them its shape. */
  isFixed() {
    const s = this.desk.state.settings;
    const given = (name) => s[name] && s[name] !== '0' && s[name] !== '0mm';
    return (given('width') || given('columns')) && (given('height') || given('rows'));
  }
  send() {
    const { left, top, width, height } = this.box;
    const [w, h] = [Math.round(width), Math.round(height)];
    const [x, y] = [Math.round(left), Math.round(top)];
    this.desk.form.change({ crop: `${Math.max(w, 1)}x${Math.max(h, 1)}+${x}+${y}` }, `cropped to ${w} × ${h}`);
  }
  listen(element, sides) {
    element.addEventListener('pointerdown', (event) => {
      if (event.target !== element) return;
      event.stopPropagation();
      this.moving = { box: this.box, x: event.clientX, y: event.clientY };
      element.setPointerCapture(event.pointerId);
    });
    element.addEventListener('pointermove', (event) => {
      const m = this.moving;
      if (m && event.target === element) this.move(m.box, sides, (event.clientX - m.x) / this.scale,
        (event.clientY - m.y) / this.scale);
    });
    const end = () => {
      if (!this.moving) return;
      const moved = this.moving.box !== this.box;
      this.moving = null;
      if (moved) this.send();
    };
    for (const name of ['pointerup', 'pointercancel']) element.addEventListener(name, end);
    element.addEventListener('keydown', (event) => {
      const ways = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };
      if (!ways[event.key] || event.target !== element || isShortcut(event)) return;
      event.preventDefault();
      const far = this.box.pictureWidth / (event.shiftKey ? 20 : 100);
      this.move(this.box, sides, ways[event.key][0] * far, ways[event.key][1] * far);
      clearTimeout(this.timer);
      this.timer = setTimeout(() => this.send(), 400);
    });
  }
  /* What the sheet shows of it. */
  parts() {
    const hold = make('input');
    hold.type = 'checkbox';
    hold.id = 'crop-holds';
    hold.checked = this.holds || this.isFixed();
    hold.disabled = this.isFixed();
    hold.addEventListener('change', () => { this.holds = hold.checked; });
    const label = make('label', '', 'corners hold the mural’s shape');
    label.htmlFor = hold.id;
    const said = make('span', 'held');
    said.id = 'crop-said';
    return [make('p', 'acts-row', hold, ' ', label),
      make('p', 'acts-row', makeButton(['Show the whole picture'], () => this.desk.form.change({ crop: '' },
        'the whole picture')), ' ',
        said)];
  }
}
