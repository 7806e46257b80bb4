/* Lamp: the light that is carried round the relief. On its dial it is dragged, as somebody who stands
 * before the mural would hold it: at the rim it rakes, in the middle it shines straight on. Two
 * sliders do the same by keys. */

const LAMP_LOW = 5; /* degrees off the wall, at the rim */

class Lamp {
  constructor(wall) {
    this.wall = wall;
  }
  set(angle, height) {
    this.wall.lamp = [Math.round(angle), Math.round(height)];
    this.wall.setLook('relief');
    this.show();
  }
  show() {
    const [angle, height] = this.wall.lamp;
    const [turn, far] = [angle * Math.PI / 180, (90 - height) / (90 - LAMP_LOW) * 50];
    this.knob.style.left = `${50 + far * Math.sin(turn)}%`;
    this.knob.style.top = `${50 - far * Math.cos(turn)}%`;
    this.sliders.forEach((slider, i) => { slider.value = this.wall.lamp[i]; });
  }
  makeDial() {
    this.knob = make('i');
    const dial = make('div', 'dial', this.knob);
    dial.setAttribute('aria-hidden', 'true');
    const drag = (event) => {
      const box = dial.getBoundingClientRect();
      const [x, y] = [(event.clientX - box.left) / box.width * 2 - 1, (event.clientY - box.top) / box.height * 2 - 1];
      const angle = (Math.atan2(x, -y) * 180 / Math.PI + 360) % 360;
      this.set(angle, 90 - (90 - LAMP_LOW) * Math.min(1, Math.hypot(x, y)));
    };
    dial.addEventListener('pointerdown', (event) => {
      dial.setPointerCapture(event.pointerId);
      drag(event);
    });
    dial.addEventListener('pointermove', (event) => { if (event.buttons) drag(event); });
    return dial;
  }
  makeSlider(id, name, least, most, act) {
    const input = make('input');
    Object.assign(input, { type: 'range', id, min: least, max: most });
    input.addEventListener('input', () => act(Number(input.value)));
    const label = make('label', '', name);
    label.htmlFor = id;
    return [input, make('p', 'lamp', label, input)];
  }
  parts() {
    if (!this.wall.raised) return [];
    const [from, first] = this.makeSlider('lamp-angle', 'light from', 0, 360, (v) => this.set(v, this.wall.lamp[1]));
    const [high, second] = this.makeSlider('lamp-height', 'its height', LAMP_LOW, 90, (v) =>
      this.set(this.wall.lamp[0], v));
    this.sliders = [from, high];
    const dial = this.makeDial();
    this.show();
    return [make('div', 'lamps', dial, make('div', '', first, second))];
  }
}
