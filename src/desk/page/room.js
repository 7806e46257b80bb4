/* Room: the wall, the floor and somebody who stands there, all at one scale, and how far away the
 * viewer is. From the distance that the mural is planned for, it fills the wall, or, where its size
 * is the matter, all of the room is in sight; whoever walks nearer sees things larger as the inverse
 * of the distance, and eyes stay at their height. */

/* Millimetres; common practice, no source: a picture's middle hangs at the height of the eyes. */
const EYES = 1500;
const PERSON = 1700;
const LEAST_ABOVE_FLOOR = 250;
const BESIDE = 200; /* between the mural and the person */
const STAND = [1000, 20000]; /* where one may stand */
const FARTHEST = 0.4; /* of the room's own scale, so that the mural stays to be seen */

/* The slider's thousand steps are even in the logarithm. */
const standOf = (step) => STAND[0] * (STAND[1] / STAND[0]) ** (step / 1000);
const stepOf = (mm) => Math.round(1000 * Math.log(clamp(mm, ...STAND) / STAND[0]) / Math.log(STAND[1] / STAND[0]));
const metres = (mm) => `${(mm / 1000).toFixed(mm < 9950 ? 1 : 0)} m`;

class Room {
  constructor(onMove) {
    this.element = byId('room');
    this.onMove = onMove;
    this.width = 1200; /* of the mural, mm */
    this.height = 800;
    this.planned = 5000; /* the distance that it is planned for, mm */
    this.stand = 5000;
    this.whole = false; /* all of the room is in sight */
    this.pan = [0, 0];
    this.listen();
    this.size = [0, 0];
    new ResizeObserver(([{ contentRect }]) => {
      this.size = [contentRect.width, contentRect.height];
      this.place();
      this.onMove();
    }).observe(this.element);
  }
  showWhole(whole) {
    if (whole === this.whole) return;
    this.whole = whole;
    this.pan = [0, 0];
    this.place();
    this.onMove();
  }
  setMural(width, height) {
    this.width = width;
    this.height = height;
    this.place();
  }
  setPlanned(mm) {
    if (mm === this.planned || !(mm > 0)) return;
    this.planned = mm;
    this.walkTo(mm);
  }
  walkTo(mm) {
    this.stand = clamp(mm, ...STAND);
    byId('stand').value = stepOf(this.stand);
    byId('stand').setAttribute('aria-valuetext', metres(this.stand));
    byId('stand-said').value = metres(this.stand);
    this.place();
    this.onMove();
  }
  listen() {
    byId('stand').addEventListener('input', (event) => this.walkTo(standOf(event.target.value)));
    this.element.addEventListener('wheel', (event) => {
      event.preventDefault();
      this.walkTo(this.stand * Math.exp(event.deltaY * (event.deltaMode ? 0.05 : 0.0012)));
    }, { passive: false });
    this.element.addEventListener('keydown', (event) => {
      if (event.target !== this.element || isShortcut(event)) return;
      const far = 80;
      const acts = {
        '+': () => this.walkTo(this.stand / 1.25), '=': () => this.walkTo(this.stand / 1.25),
        '-': () => this.walkTo(this.stand * 1.25), '0': () => this.walkTo(this.planned),
        ArrowLeft: () => this.panBy(far, 0), ArrowRight: () => this.panBy(-far, 0),
        ArrowUp: () => this.panBy(0, far), ArrowDown: () => this.panBy(0, -far),
      };
      if (!acts[event.key]) return;
      acts[event.key]();
      event.preventDefault();
    });
    this.listenDrag();
  }
  listenDrag() {
    let from = null;
    this.element.addEventListener('pointerdown', (event) => {
      if (event.target.closest('button, input, label') || this.busy) return;
      from = [event.clientX, event.clientY];
      this.element.setPointerCapture(event.pointerId);
    });
    this.element.addEventListener('pointermove', (event) => {
      if (!from) return;
      this.panBy(event.clientX - from[0], event.clientY - from[1]);
      from = [event.clientX, event.clientY];
    });
    for (const end of ['pointerup', 'pointercancel']) this.element.addEventListener(end, () => { from = null; });
  }
  panBy(dx, dy) {
    this.pan = [this.pan[0] + dx, this.pan[1] + dy];
    this.place();
  }
  /* Pixels a millimetre at which the whole room is in sight, and where its floor is then. */
  fit(w, h) {
    const low = Math.max(EYES - this.height / 2, LEAST_ABOVE_FLOOR);
    const top = low + this.height;
    const wide = this.width + BESIDE + 600;
    const high = Math.max(top, PERSON) + 70;
    const scale = Math.min(w * 0.94 / wide, (h - 26) / high);
    return { scale, floor: (h + high * scale) / 2 - 13, middle: low + this.height / 2, wide };
  }
  place() {
    const [w, h] = this.size;
    if (!w || !h) return;
    const room = this.fit(w, h);
    const filled = Math.min(w * 0.94 / this.width, (h - 36) / this.height);
    const home = this.whole ? room.scale : filled;
    const scale = Math.max(home * this.planned / this.stand, room.scale * FARTHEST);
    const near = scale / room.scale;
    /* So much larger than in the room it hangs in the middle of the view. */
    const full = this.whole ? 1.8 : Math.max(home / room.scale, 1.001);
    /* From the room's view, in which the floor is at its place, to the mural's, in the middle. */
    const into = clamp((near - 1) / (full - 1), 0, 1);
    const inRoom = room.floor - room.middle * room.scale + (room.middle - EYES) * (room.scale - scale);
    const middle = inRoom + (h / 2 - inRoom) * into;
    const limit = [Math.max(0, (this.width * scale - w * 0.6) / 2), Math.max(0, (this.height * scale - h * 0.6) / 2)];
    this.pan = this.pan.map((value, i) => clamp(value, -limit[i], limit[i]));
    const shift = (room.wide - this.width) / 2 * scale * (1 - into);
    const x = w / 2 - this.width * scale / 2 - shift + this.pan[0];
    const y = middle - this.height * scale / 2 + this.pan[1];
    this.scale = scale;
    this.box = { x, y, width: this.width * scale, height: this.height * scale };
    const ground = y + this.height * scale / 2 + room.middle * scale;
    this.setBox(byId('mural'), this.box);
    const tall = PERSON * scale;
    this.setBox(byId('person'), { x: x + (this.width + BESIDE) * scale, y: ground - tall, width: tall * 60 / 170,
      height: tall });
    this.setBox(byId('floor'), { x: 0, y: ground, width: w, height: Math.max(0, h - ground) });
    /* Somebody whose feet are out of sight tells no size and takes room from the mural. */
    byId('floor').hidden = ground >= h;
    byId('person').style.visibility = ground >= h ? 'hidden' : 'visible';
    /* The wipe's knob is where it can be taken hold of, also where the mural reaches out of sight. */
    const knob = clamp(h / 2 - y, 24, Math.max(24, this.box.height - 24));
    byId('mural').style.setProperty('--knob', `${y < 0 || y + this.box.height > h ? knob : this.box.height / 2}px`);
    byId('mural').style.setProperty('--drop', `${clamp(scale * 18, 2, 14)}px`);
  }
  setBox(element, { x, y, width, height }) {
    Object.assign(element.style, { left: `${x}px`, top: `${y}px`, width: `${width}px`, height: `${height}px` });
  }
}
