/* Dom: what the parts of the page share: elements made and found, canvases, and the ways that
 * numbers, colours and fonts are written. */

const byId = (id) => document.getElementById(id);
const clamp = (value, least, most) => Math.min(Math.max(value, least), most);

/* 1234567 is "1,234,567"; many(2, 'brick') is "2 bricks". */
const plain = (value) => String(value).replace(/\B(?=(\d{3})+$)/g, ',');
const many = (n, what) => `${plain(n)} ${what}${n === 1 ? '' : 's'}`;

/* "#rrggbb" as three numbers to 255, and such numbers as a pixel of an ImageData. */
const channels = (hex) => [1, 3, 5].map((i) => parseInt(hex.slice(i, i + 2), 16));
const opaque = (r, g, b) => (255 << 24 | b << 16 | g << 8 | r) >>> 0;

const font = (pixels, weight = '') =>
  `${weight} ${pixels}px "DejaVu Sans Condensed", "Arial Narrow", Arial, sans-serif`.trim();

/* Makes an element; a string among the children stands for text. */
function make(name, className, ...children) {
  const element = document.createElement(name);
  if (className) element.className = className;
  element.append(...children);
  return element;
}

/* A button that does `act`; label: what is read out instead of the text. */
function makeButton(children, act, label = '') {
  const button = make('button', '', ...children);
  button.type = 'button';
  if (label) button.setAttribute('aria-label', label);
  button.addEventListener('click', act);
  return button;
}

/* A row of a table: its head, then its cells, each text or an element. */
function makeRow(head, ...cells) {
  return make('tr', '', head, ...cells.map((cell) => make('td', '', cell)));
}

/* The head of a row that is read out with each of its cells. */
function makeRowHead(...children) {
  const head = make('th', '', ...children);
  head.scope = 'row';
  return head;
}

const onClick = (id, act) => byId(id).addEventListener('click', act);

/* The second click of a double click comes within so many ms, one that is meant later: common
 * practice, no source. */
const DOUBLE_CLICK = 400;

/* As onClick, but a double click counts once, whether the device calls it one or it is as quick. A click
 * by a key has no detail. */
function onPress(id, act) {
  let last = -Infinity;
  onClick(id, (event) => {
    if (event.detail) {
      if (event.detail % 2 === 0 || event.timeStamp - last < DOUBLE_CLICK) return;
      last = event.timeStamp;
    }
    act();
  });
}

const setLabel = (id, text) => byId(id).setAttribute('aria-label', text);

/* The radio buttons of this name: one is checked, and `act` hears which is chosen. */
const radios = (name) => document.querySelectorAll(`input[name=${name}]`);
function checkRadio(name, value) {
  for (const radio of radios(name)) radio.checked = radio.value === value;
}
function onChoice(name, act) {
  for (const radio of radios(name)) radio.addEventListener('change', () => act(radio.value));
}

function setMeter(meter, done, all) {
  meter.max = Math.max(all, 1);
  meter.value = all ? done : 1;
}

/* How large the page's text is, 1 as browsers have it: drawings write theirs by it. */
const textScale = () => parseFloat(getComputedStyle(document.documentElement).fontSize) / 16;

/* Makes a list of many buttons one stop of the tab key: arrows, Home and End move within it. Up and
 * down go by the lines in which the buttons lie. */
function rove(list) {
  const buttons = [...list.querySelectorAll('button')];
  const stop = (button) => buttons.forEach((other) => { other.tabIndex = other === button ? 0 : -1; });
  stop(buttons[0]);
  list.addEventListener('focusin', (event) => stop(event.target.closest('button')));
  list.addEventListener('keydown', (event) => {
    const at = buttons.indexOf(event.target);
    if (at < 0 || isShortcut(event)) return;
    const top = buttons[0].getBoundingClientRect().top;
    const next = buttons.findIndex((button) => button.getBoundingClientRect().top > top + 1);
    const line = next < 0 ? buttons.length : next;
    const to = { ArrowRight: at + 1, ArrowLeft: at - 1, ArrowDown: at + line, ArrowUp: at - line, Home: 0,
      End: buttons.length - 1 }[event.key];
    if (to === undefined) return;
    event.preventDefault();
    if (buttons[to]) buttons[to].focus();
  });
}

/* Whether a key is part of a shortcut of the browser's. */
const isShortcut = (event) => event.ctrlKey || event.metaKey || event.altKey;

/* Gives a canvas as many pixels as its box has on the screen; returns how many there are to a
 * CSS pixel, or 0 where the canvas is not shown. */
function sharpen(canvas) {
  const { clientWidth, clientHeight } = canvas;
  if (!clientWidth || !clientHeight) return 0;
  const ratio = window.devicePixelRatio || 1;
  canvas.width = Math.round(clientWidth * ratio);
  canvas.height = Math.round(clientHeight * ratio);
  return ratio;
}

/* A picture of cells, a pixel a cell. pixels[0] is the upper left one; what has changed is
 * shown by put(). */
class CellPicture {
  constructor(columns, rows) {
    this.canvas = document.createElement('canvas');
    this.canvas.width = columns;
    this.canvas.height = rows;
    this.context = this.canvas.getContext('2d');
    this.data = this.context.createImageData(columns, rows);
    this.pixels = new Uint32Array(this.data.data.buffer);
  }
  put(x = 0, y = 0, width = this.canvas.width, height = this.canvas.height) {
    this.context.putImageData(this.data, 0, 0, x, y, width, height);
  }
}
