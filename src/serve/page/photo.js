/* Photo: what pages with photographs share: a photograph with corners that are dragged to where they
 * belong, how it is sent, and how a panel's bricks are told of and marked when it has been held to the
 * plan. */

const PHOTO_MOST = 64 * 1024 * 1024; /* bytes, as services take */
const LISTED = 40; /* bricks that are named one by one */
const FROM_EDGE = 0.12; /* where corners begin that nobody has placed, of the sides */
const PANEL_CORNERS = ['Upper left corner', 'Upper right corner', 'Lower right corner', 'Lower left corner'];
const FAULTS = ['wrong', 'missing', 'shifted'];
const SIGNS = { right: '✓', wrong: '×', missing: '○', shifted: '↔', untold: '…' };
const [SIGN_LEAST, SIGN_MOST] = [4, 13]; /* CSS pixels of a mark's half */

const PHOTO_STYLE = `
  .photo-picture { position: absolute; inset: 0; z-index: 1; background: var(--paper); display: grid;
    place-content: center; touch-action: none; }
  .photo-frame { position: relative; }
  .photo-frame > img, .photo-frame > svg, .photo-frame > canvas { position: absolute; inset: 0; width: 100%;
    height: 100%; }
  .photo-frame > img { -webkit-user-drag: none; user-select: none; }
  .photo-frame > svg, .photo-frame > canvas { pointer-events: none; }
  .photo-frame > svg { overflow: visible; fill: none; }
  .photo-frame polygon { stroke-width: 5; stroke: #fff; vector-effect: non-scaling-stroke; }
  .photo-frame polygon + polygon { stroke-width: 2; stroke: #8f2a12; }
  .photo-frame button { position: absolute; width: 2.75rem; height: 2.75rem; min-height: 0; padding: 0;
    margin: -1.375rem; border-radius: 50%; border: 3px solid #8f2a12; background: none; touch-action: none;
    box-shadow: 0 0 0 2px #fff, inset 0 0 0 2px #fff; cursor: move; }
  .photo-list { list-style: none; display: grid; gap: var(--joint); }
  .photo-list button { width: 100%; text-align: left; display: flex; align-items: center; gap: .6rem; }
  .photo-list .sign { flex: none; width: 1.2em; text-align: center; font-weight: bold; font-size: 1.3rem;
    line-height: 1; color: var(--accent); }
`;

/* A style that a script brings is none of the page's markup, which its rules would not let in. */
function addStyle(text) {
  const sheet = new CSSStyleSheet();
  sheet.replaceSync(text);
  document.adoptedStyleSheets = [...document.adoptedStyleSheets, sheet];
}
addStyle(PHOTO_STYLE);

/* ---- how it is sent ---- */

async function sendPhoto(path, file, signal) {
  if (file.size > PHOTO_MOST) throw Object.assign(new Error(), { refused: 413 });
  if (!file.type.startsWith('image/')) throw Object.assign(new Error(), { refused: 415 });
  return answerOf(await fetch(path, { method: 'POST', headers: { 'Content-Type': file.type }, body: file, signal }));
}

/* Eight numbers, as services take corners. */
const cornersText = (corners) => corners.flat().map((n) => n.toFixed(1)).join(',');

/* What went wrong and how to mend it; a mend that names an option of the command is none here, and
 * then `otherwise` is. */
function photoReason(error, service, otherwise) {
  if (error.refused === 413) return 'The photograph is larger than 64 MB; make it smaller.';
  if (error.refused === 415) return 'That is no picture; take or choose a photograph.';
  if (!error.refused) return `The ${service} is out of reach; look again when it is back.`;
  const [what, mend] = error.message.split(/; (.*)/s);
  const text = what[0].toUpperCase() + what.slice(1);
  if (mend && !mend.includes('--')) return `${text}; ${mend}.`;
  return `${text}; ${otherwise(what)}.`;
}

/* Why a panel's photograph, looked at up to a row, tells nothing; most: the panel's last row. */
function panelReason(error, service, to, most) {
  const reason = photoReason(error, service, (what) => (what.includes('shows panel')
    ? 'open that panel, or take another photograph'
    : 'set the row, drag the corners to those of what is built, and look again'));
  const more = error.refused === 422 && to < most && !/ row,|open that/.test(reason);
  return `${reason}${more ? ` If more than row ${to} is built, set the row.` : ''}`;
}

/* The row that a field of a panel's rows has. */
const rowIn = ({ value, min, max }) => clamp(Math.round(Number(value)) || 0, Number(min), Number(max));

/* ---- what it tells of bricks ---- */

const readSeen = (bricks) => bricks.map(([i, row, column, verdict, looks, right, up, obstacle, rows, columns, size,
  colour]) => ({ i, row, column, verdict, looks, right, up, obstacle, rows, columns, size, colour }));

function seenText(seen, to) {
  const count = (verdict) => seen.filter((one) => one.verdict === verdict).length;
  const off = FAULTS.filter(count).map((verdict) => `${plain(count(verdict))} ${verdict}`);
  const untold = count('untold') ? ` Of ${plain(count('untold'))} it does not tell.` : '';
  const right = `${plain(count('right'))} of ${many(seen.length, 'brick')} are right`;
  return `Up to row ${to}: ${right}${off.length ? `; ${off.join(', ')}` : ''}.${untold}`;
}

function brickText({ row, column, size, colour, verdict, looks, right, up, obstacle }) {
  const brick = `Row ${row}, column ${column}: ${size} in ${colour}`;
  if (verdict === 'untold') return `${brick}: cannot tell, ${obstacle}`;
  const way = right > 0 ? ' to the right' : right < 0 ? ' to the left' : up > 0 ? ' up' : up < 0 ? ' down' : '';
  if (verdict === 'shifted') return `${brick}: shifted${way || ', or too short'}`;
  return `${brick}: ${verdict}, looks like ${looks || 'no colour of the palette'}`;
}

/* Lists what is not seen to be right, faults first; `act` hears which is chosen. Whether there is any. */
function listSeen(list, seen, act) {
  const of = (verdicts) => seen.filter(({ verdict }) => verdicts.includes(verdict));
  const all = [...of(FAULTS), ...of(['untold'])];
  const more = make('li', '', `… and ${many(all.length - LISTED, 'brick')} more among the marks`);
  list.replaceChildren(...all.slice(0, LISTED).map((one) => {
    const sign = make('span', 'sign', SIGNS[one.verdict]);
    sign.setAttribute('aria-hidden', 'true');
    return make('li', '', makeButton([sign, make('span', '', brickText(one))], () => act(one)));
  }), ...(all.length > LISTED ? [more] : []));
  return all.length > 0;
}

/* What it says of a panel that may be built up to a row only, as the page has it. */
function hintText(notes) {
  const hint = notes.map((note) => /; (.*)--to( \d+)?$/.exec(note)).find(Boolean);
  if (!hint) return '';
  return hint[2] ? ` Above about row${hint[2]} hardly a brick is right; if it is built up to some row there, set it.`
    : ' If it is built up to some row only, set that row.';
}

/* ---- marks ---- */

/* A mark as a path about (x, y), half as large as r; each is told by its shape. */
function traceSign(context, { verdict, right, up }, x, y, r) {
  context.beginPath();
  const line = (...points) => points.forEach(([dx, dy], k) =>
    context[k ? 'lineTo' : 'moveTo'](x + dx * r, y + dy * r));
  if (verdict === 'right') line([-0.8, 0.1], [-0.2, 0.7], [0.9, -0.7]);
  if (verdict === 'wrong') {
    line([-1, -1], [1, 1]);
    line([-1, 1], [1, -1]);
  }
  if (verdict === 'missing') context.arc(x, y, r, 0, 2 * Math.PI);
  if (verdict === 'untold') for (const dx of [-0.8, 0, 0.8]) line([dx - 0.1, 0], [dx + 0.1, 0]);
  if (verdict !== 'shifted') return;
  const [a, b] = [right, -up];
  if (!a && !b) {
    line([-1, 0], [1, 0]);
    return;
  }
  line([-a, -b], [a, b]);
  line([(a - b) * 0.5, (b + a) * 0.5], [a, b], [(a + b) * 0.5, (b - a) * 0.5]);
}

/* What is right has a small tick in the upper right corner of its box, beside its id; what is not is
 * marked large. `scale`: pixels of a cell; `outline`, where given, is stroked as well. */
function paintSeen(context, one, { x, y, width, height }, scale, { card, ink, accent }, outline = null) {
  const fine = one.verdict === 'right';
  const r = fine ? clamp(scale * 0.16, 2, 6)
    : clamp(Math.min(width, height) * 0.34, SIGN_LEAST, SIGN_MOST * textScale());
  const thick = clamp(r / 3.5, 1.2, 4);
  traceSign(context, one, fine ? x + width - r - 2 : x + width / 2, fine ? y + r + 2 : y + height / 2, r);
  for (const [colour, line] of [[card, thick * 2.4], [fine ? ink : accent, thick]]) {
    context.strokeStyle = colour;
    context.lineWidth = line;
    context.stroke();
    if (outline) context.stroke(outline);
  }
}

/* ---- the photograph ---- */

/* A button on a photograph that pointer and arrow keys move: `move` hears by how many pixels of the
 * screen; with Shift keys go ten. */
function makeHandle(move) {
  const button = makeButton([], () => {});
  let last = null;
  button.addEventListener('pointerdown', (event) => {
    button.setPointerCapture(event.pointerId);
    last = event;
  });
  button.addEventListener('pointermove', (event) => {
    if (!last) return;
    move(event.clientX - last.clientX, event.clientY - last.clientY);
    last = event;
  });
  for (const end of ['pointerup', 'pointercancel']) button.addEventListener(end, () => { last = null; });
  button.addEventListener('keydown', (event) => {
    const way = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] }[event.key];
    if (!way || isShortcut(event)) return;
    event.preventDefault();
    move(...way.map((step) => step * (event.shiftKey ? 10 : 1)));
  });
  return button;
}

/* A photograph as large as its box, or `zoom` times, with four corners on it. `corners` are in its own pixels, x and y
 * from the upper left, null until they are placed; `moved` once somebody has. */
class PhotoFrame {
  constructor(said, names, id) {
    Object.assign(this, { names, corners: null, moved: false, url: '', zoom: 1, onFit: () => {}, onMove: () => {} });
    this.image = Object.assign(make('img'), { alt: 'The photograph', draggable: false });
    this.image.addEventListener('load', () => this.fit());
    this.handles = names.map((name, k) => makeHandle((dx, dy) => this.moveCorner(k, dx, dy)));
    this.frame = make('div', 'photo-frame', this.image);
    this.frame.id = `${id}-frame`;
    this.frame.insertAdjacentHTML('beforeend', '<svg viewBox="0 0 1 1" preserveAspectRatio="none" aria-hidden="true">'
      + '<polygon/><polygon/></svg>');
    this.frame.append(...this.handles);
    this.element = make('div', 'photo-picture', this.frame);
    Object.assign(this.element, { id: `${id}-picture`, hidden: true });
    this.element.setAttribute('role', 'group');
    this.element.setAttribute('aria-label', said);
    /* What is typed here is for the corners. */
    this.element.addEventListener('keydown', (event) => event.stopPropagation());
    new ResizeObserver(() => this.fit()).observe(this.element);
  }
  /* Shows the file; onBroken: this browser cannot. */
  open(file, onBroken) {
    this.close();
    this.url = URL.createObjectURL(file);
    this.image.onerror = () => { if (this.url) onBroken(); };
    this.image.src = this.url;
  }
  close() {
    if (this.url) URL.revokeObjectURL(this.url);
    Object.assign(this, { url: '', corners: null, moved: false });
  }
  get scale() { return this.image.naturalWidth / this.frame.clientWidth; }
  fit() {
    const { image, element, frame } = this;
    if (!image.naturalWidth || !element.clientWidth) return;
    const scale = this.zoom * Math.min((element.clientWidth - 24) / image.naturalWidth,
      (element.clientHeight - 24) / image.naturalHeight);
    frame.style.width = `${image.naturalWidth * scale}px`;
    frame.style.height = `${image.naturalHeight * scale}px`;
    this.placeCorners();
    this.onFit();
  }
  /* Where a place of the photograph is in its frame, as the style has it, and as it is read out. */
  placeOf(x, y) {
    const { naturalWidth, naturalHeight } = this.image;
    const [left, top] = [x / naturalWidth, y / naturalHeight].map((part) => `${(100 * part).toFixed(1)}%`);
    return { left, top, said: `${left} from the left, ${top} from the top` };
  }
  setCorners(corners) {
    this.corners = corners;
    this.placeCorners();
  }
  placeCorners() {
    const { naturalWidth: width, naturalHeight: height } = this.image;
    if (!width) return;
    this.corners ??= [[0, 0], [1, 0], [1, 1], [0, 1]].map((at) => at.map((c, k) =>
      Math.abs(c - FROM_EDGE) * [width, height][k]));
    const points = this.corners.map(([x, y]) => [x / width, y / height]).join(' ');
    for (const polygon of this.frame.querySelectorAll('polygon')) polygon.setAttribute('points', points);
    this.handles.forEach((handle, k) => {
      const { left, top, said } = this.placeOf(...this.corners[k]);
      Object.assign(handle.style, { left, top });
      handle.setAttribute('aria-label', `${this.names[k]}, ${said}; arrow keys move it`);
    });
  }
  moveCorner(k, dx, dy) {
    if (!this.corners) return;
    this.corners[k] = this.moveBy(this.corners[k], dx, dy);
    this.moved = true;
    this.placeCorners();
    this.onMove();
  }
  /* A place moved by pixels of the screen, within the photograph. */
  moveBy([x, y], dx, dy) {
    const { scale, image } = this;
    return [clamp(x + dx * scale, 0, image.naturalWidth), clamp(y + dy * scale, 0, image.naturalHeight)];
  }
}
