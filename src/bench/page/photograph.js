/* Photograph: a photograph of the open panel, which the bench holds to the plan. What it tells stands
 * as marks on the chart and as a list; what is right is ticked in one go, as if it were tapped. Where
 * the panel is not found in it, its four corners are dragged to where they are. */

const PHOTO_MOST = 64 * 1024 * 1024; /* bytes, as the bench takes */
const LISTED = 40; /* bricks that are named one by one */
const [CORNERS, FROM_EDGE] = [['Upper left', 'Upper right', 'Lower right', 'Lower left'], 0.12];
const FAULTS = ['wrong', 'missing', 'shifted'];
const SIGNS = { right: '✓', wrong: '×', missing: '○', shifted: '↔', untold: '…' };
const [TICK_SCALE, SIGN_LEAST, SIGN_MOST] = [7, 4, 13]; /* CSS pixels of a cell, and of a mark's half */

const PHOTO_STYLE = `
  #photo { height: 100%; padding: .5rem .9rem 1rem; overflow: auto; }
  #photo p { margin: .5rem 0; }
  #photo h3 { margin-top: .8rem; }
  #photo-title:focus { outline: none; }
  #photo-said { font-size: 1.1rem; }
  #photo-to { width: 6rem; }
  #photo label.tick { display: flex; align-items: center; gap: .6rem; min-height: 2.75rem; }
  #photo label.tick input { width: 1.4rem; height: 1.4rem; flex: none; accent-color: var(--accent); }
  #photo-tick { background: var(--accent); color: var(--on-accent); border-color: var(--accent); font-weight: bold; }
  #photo-tick:disabled { background: var(--card); color: var(--soft); border-color: var(--edge); }
  #photo-list { list-style: none; display: grid; gap: var(--joint); }
  #photo-list button { width: 100%; text-align: left; display: flex; align-items: center; gap: .6rem; }
  #photo-list .sign { flex: none; width: 1.2em; text-align: center; font-weight: bold; font-size: 1.3rem;
    line-height: 1; color: var(--accent); }
  #photo-picture { position: absolute; inset: 0; z-index: 1; background: var(--paper); display: grid;
    place-content: center; touch-action: none; }
  #photo-frame { position: relative; }
  #photo-frame img, #photo-frame svg { position: absolute; inset: 0; width: 100%; height: 100%; }
  #photo-frame svg { pointer-events: none; overflow: visible; fill: none; }
  #photo-frame polygon { stroke-width: 5; stroke: #fff; vector-effect: non-scaling-stroke; }
  #photo-frame polygon + polygon { stroke-width: 2; stroke: #8f2a12; }
  #photo-frame button { position: absolute; width: 2.75rem; height: 2.75rem; min-height: 0; padding: 0;
    margin: -1.375rem; border-radius: 50%; border: 3px solid #8f2a12; background: none; touch-action: none;
    box-shadow: 0 0 0 2px #fff, inset 0 0 0 2px #fff; cursor: move; }
`;

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

/* What went wrong and how to mend it; a mend that names an option of the command is none here. */
function reasonOf(error) {
  if (error.refused === 413) return 'The photograph is larger than 64 MB; make it smaller.';
  if (error.refused === 415) return 'That is no picture; take or choose a photograph.';
  if (!error.refused) return 'The bench is out of reach; look again when it is back.';
  const [what, mend] = error.message.split(/; (.*)/s);
  const text = what[0].toUpperCase() + what.slice(1);
  if (mend && !mend.includes('--')) return `${text}; ${mend}.`;
  if (what.includes('shows panel')) return `${text}; open that panel, or take another photograph.`;
  return `${text}; set the row, drag the corners to those of what is built, and look again.`;
}

class Photograph {
  constructor(share) {
    const { book, plan } = share;
    Object.assign(this, { share, book, plan, bench: book.bench, progress: book.progress, seen: null });
    document.head.append(make('style', '', PHOTO_STYLE));
    this.addButtons();
    this.addResult();
    this.addPicture();
    this.joinChart();
  }

  /* ---- parts of the page ---- */

  addButtons() {
    this.input = make('input');
    Object.assign(this.input, { id: 'photo-file', type: 'file', accept: 'image/*', hidden: true });
    this.input.addEventListener('change', () => { if (this.input.files[0]) this.take(this.input.files[0]); });
    const pick = (camera) => {
      if (camera) this.input.setAttribute('capture', 'environment');
      else this.input.removeAttribute('capture');
      this.input.value = '';
      this.input.click();
    };
    const title = make('h4', '', 'Hold what is built to the plan');
    this.buttons = make('p', 'field', makeButton(['Photograph'], () => pick(true), 'Photograph the panel'),
      makeButton(['Choose a photograph'], () => pick(false)), this.input);
    document.querySelector('#bench .modes').after(title, this.buttons);
  }
  addResult() {
    const part = (name, id, ...children) => Object.assign(make(name, '', ...children), { id });
    this.title = part('h2', 'photo-title');
    this.title.tabIndex = -1;
    this.said = part('p', 'photo-said');
    this.said.setAttribute('role', 'status');
    this.row = Object.assign(part('input', 'photo-to'), { type: 'number', inputMode: 'numeric', step: '1' });
    this.row.addEventListener('input', () => { if (this.seen) this.tellButtons(); });
    const label = Object.assign(make('label', '', 'Built up to row'), { htmlFor: 'photo-to' });
    this.again = makeButton(['Look again'], () => this.look());
    this.turn = makeButton([''], () => this.showPicture(this.picture.hidden));
    this.untold = Object.assign(part('input', 'photo-untold'), { type: 'checkbox' });
    this.untold.addEventListener('change', () => this.tellButtons());
    this.untoldText = make('span');
    this.untoldLine = make('label', 'tick', this.untold, this.untoldText);
    this.tick = Object.assign(makeButton([''], () => this.tickRight()), { id: 'photo-tick' });
    this.keep = Object.assign(makeButton([''], () => this.takeBack()), { id: 'photo-keep' });
    this.acts = make('p', 'field', this.tick, this.keep);
    this.listTitle = make('h3', '', 'What is not right');
    this.list = part('ul', 'photo-list');
    this.section = part('section', 'photo', make('div', 'title-block', this.title), this.said,
      make('p', 'field', label, this.row, this.again, this.turn), this.untoldLine,
      this.acts, this.listTitle, this.list,
      make('p', '', makeButton(['Put the photograph away'], () => this.close())));
    this.section.hidden = true;
    this.section.setAttribute('aria-labelledby', 'photo-title');
    /* What scrolls or steps here lays nothing. */
    this.section.addEventListener('keydown', (event) => event.stopPropagation());
    document.querySelector('#bench .notes').prepend(this.section);
  }
  addPicture() {
    this.image = Object.assign(make('img'), { alt: 'The photograph', draggable: false });
    this.image.addEventListener('load', () => this.fitPicture());
    this.image.addEventListener('error', () => {
      if (this.url) this.said.append(' This browser cannot show the photograph.');
    });
    this.handles = CORNERS.map((name, k) => this.handle(k));
    this.frame = make('div', '', this.image);
    this.frame.id = 'photo-frame';
    this.frame.insertAdjacentHTML('beforeend', '<svg viewBox="0 0 1 1" preserveAspectRatio="none" aria-hidden="true">'
      + '<polygon/><polygon/></svg>');
    this.frame.append(...this.handles);
    this.picture = make('div', '', this.frame);
    Object.assign(this.picture, { id: 'photo-picture', hidden: true });
    this.picture.setAttribute('role', 'group');
    this.picture.setAttribute('aria-label', 'The photograph, with the four corners of what is built');
    this.picture.addEventListener('keydown', (event) => event.stopPropagation());
    document.querySelector('#bench .drawing').append(this.picture);
    new ResizeObserver(() => this.fitPicture()).observe(this.picture);
  }
  /* A corner that pointer and arrow keys move, by pixels of the screen; with Shift by ten. */
  handle(k) {
    const button = makeButton([], () => {});
    let last = null;
    button.addEventListener('pointerdown', (event) => {
      button.setPointerCapture(event.pointerId);
      last = event;
    });
    button.addEventListener('pointermove', (event) => {
      if (!last) return;
      this.moveCorner(k, event.clientX - last.clientX, event.clientY - last.clientY);
      last = event;
    });
    for (const end of ['pointerup', 'pointercancel']) button.addEventListener(end, () => { last = null; });
    button.addEventListener('keydown', (event) => {
      const way = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] }[event.key];
      if (!way || isShortcut(event)) return;
      event.preventDefault();
      this.moveCorner(k, ...way.map((step) => step * (event.shiftKey ? 10 : 1)));
    });
    return button;
  }
  joinChart() {
    const { bench } = this;
    const [paint, open, changed] = ['paint', 'open', 'changed'].map((name) => bench[name].bind(bench));
    bench.paint = (context, view, part) => {
      paint(context, view, this.seen ? null : part);
      if (this.seen) this.paintMarks(context, view);
    };
    bench.open = (...given) => {
      open(...given);
      if (this.panel !== bench.panel) this.close();
    };
    bench.changed = (from) => {
      changed(from);
      if (this.seen) this.tellButtons();
    };
  }

  /* ---- a photograph ---- */

  rowOf(i) { return this.panel.row + (this.plan.wall ? this.plan.layer[i] : this.plan.v[i]) + 1; }
  take(file) {
    const { panel, work } = this.bench;
    this.close();
    Object.assign(this, { panel, file, corners: null, moved: false, url: URL.createObjectURL(file) });
    this.image.src = this.url;
    this.title.textContent = `Photograph of ${panel.name}`;
    Object.assign(this.row, { min: String(panel.row + 1), max: String(panel.row + panel.rows),
      value: String(work.ended ? panel.row + panel.rows : this.rowOf(work.lead)) });
    this.section.hidden = false;
    document.querySelector('#bench .columns').hidden = true;
    this.showPicture(true);
    this.title.focus();
    this.look();
  }
  get to() { return clamp(Math.round(Number(this.row.value)) || 0, Number(this.row.min), Number(this.row.max)); }
  async look() {
    const { panel, file } = this;
    this.row.value = String(this.to);
    this.forget();
    this.asking?.abort();
    const asking = new AbortController();
    this.asking = asking;
    this.said.textContent = 'Looking …';
    try {
      if (file.size > PHOTO_MOST) throw Object.assign(new Error(), { refused: 413 });
      if (!file.type.startsWith('image/')) throw Object.assign(new Error(), { refused: 415 });
      const given = this.moved ? `&corners=${this.corners.flat().map((n) => n.toFixed(1)).join(',')}` : '';
      const told = await answerOf(await fetch(
        `/photo?plan=${this.share.number}&panel=${panel.name}&to=${this.to}${given}`,
        { method: 'POST', headers: { 'Content-Type': file.type }, body: file, signal: asking.signal }));
      this.show(told);
    } catch (error) {
      if (asking.signal.aborted) return;
      const reason = reasonOf(error);
      const more = error.refused === 422 && this.to < Number(this.row.max) && !/ row,|open that/.test(reason);
      this.said.textContent = `${reason}${more ? ` If more than row ${this.to} is built, set the row.` : ''}`;
      this.showPicture(true);
    }
  }
  show({ corners, bricks }) {
    this.corners = corners;
    this.placeCorners();
    this.seen = bricks.map(([i, row, column, verdict, looks, right, up, obstacle]) =>
      ({ i, row, column, verdict, looks, right, up, obstacle }));
    const count = (verdict) => this.seen.filter((one) => one.verdict === verdict).length;
    const off = FAULTS.filter(count).map((verdict) => `${plain(count(verdict))} ${verdict}`);
    const untold = count('untold') ? ` Of ${plain(count('untold'))} it does not tell.` : '';
    const right = `${plain(count('right'))} of ${many(bricks.length, 'brick')} are right`;
    this.said.textContent = `Up to row ${this.to}: ${right}${off.length ? `; ${off.join(', ')}` : ''}.${untold}`;
    this.showList();
    this.showPicture(false);
    this.tellButtons();
    this.bench.view.draw();
  }
  /* Faults first, then what is not told. */
  showList() {
    const off = this.seen.filter(({ verdict }) => FAULTS.includes(verdict));
    const untold = this.seen.filter(({ verdict }) => verdict === 'untold');
    const all = [...off, ...untold];
    const more = make('li', '', `… and ${many(all.length - LISTED, 'brick')} more on the chart`);
    this.list.replaceChildren(...all.slice(0, LISTED).map((one) => {
      const sign = make('span', 'sign', SIGNS[one.verdict]);
      sign.setAttribute('aria-hidden', 'true');
      return make('li', '', makeButton([sign, make('span', '', this.sentence(one))], () => this.point(one)));
    }), ...(all.length > LISTED ? [more] : []));
    this.listTitle.hidden = !all.length;
  }
  sentence({ i, row, column, verdict, looks, right, up, obstacle }) {
    const { plan } = this;
    const [size, colour] = [plan.sizes[plan.size[i]], plan.colours[plan.colour[i]]];
    const brick = `Row ${row}, column ${column}: ${size.name} in ${colour.id}`;
    if (verdict === 'untold') return `${brick}: cannot tell, ${obstacle}`;
    const way = right > 0 ? ' to the right' : right < 0 ? ' to the left' : up > 0 ? ' up' : up < 0 ? ' down' : '';
    if (verdict === 'shifted') return `${brick}: shifted${way || ', or too short'}`;
    return `${brick}: ${verdict}, looks like ${looks || 'no colour of the palette'}`;
  }
  close() {
    this.asking?.abort();
    if (this.url) URL.revokeObjectURL(this.url);
    this.url = '';
    this.panel = null;
    this.forget();
    this.section.hidden = true;
    this.picture.hidden = true;
    document.querySelector('#bench .columns').hidden = false;
  }
  forget() {
    this.seen = null;
    this.pointed = null;
    this.untold.checked = false;
    this.list.replaceChildren();
    for (const part of [this.listTitle, this.untoldLine, this.acts]) part.hidden = true;
    this.bench.view.draw();
  }

  /* ---- acts ---- */

  /* What the photograph tells as one of these, up to the row that is chosen. */
  bricksThat(verdicts) {
    return this.seen.filter(({ row, verdict }) => row <= this.to && verdicts.includes(verdict)).map(({ i }) => i);
  }
  /* Those of which it does not tell, and those that do not show at all. */
  bricksUntold() {
    const told = new Set(this.seen.filter(({ verdict }) => verdict !== 'untold').map(({ i }) => i));
    const list = [];
    for (let i = this.panel.first; i < this.panel.first + this.panel.count; i++)
      if (!told.has(i) && this.rowOf(i) <= this.to) list.push(i);
    return list;
  }
  toTick() { return [...this.bricksThat(['right']), ...(this.untold.checked ? this.bricksUntold() : [])]; }
  tellButtons() {
    const { laid } = this.progress;
    const open = (list) => list.filter((i) => !laid[i]).length;
    const [untold, ticked] = [open(this.bricksUntold()), open(this.toTick())];
    const wrong = this.bricksThat(FAULTS).filter((i) => laid[i] && !this.progress.stands[i]).length;
    this.untoldLine.hidden = !untold;
    this.untoldText.textContent = `also the ${plain(untold)} of which it does not tell, or that do not show`;
    this.acts.hidden = false;
    this.tick.disabled = !ticked;
    this.tick.textContent = ticked ? `Tick what is right up to here: ${many(ticked, 'brick')}`
      : 'What is right up to here is ticked';
    this.keep.hidden = !wrong;
    this.keep.textContent = `Keep ${plain(wrong)} that ${wrong === 1 ? 'is' : 'are'} not right as to be laid again`;
  }
  /* One act, which Back takes back whole; the light goes to the first brick that is still to be laid. */
  tickRight() { this.mark(this.toTick(), 1); }
  takeBack() { this.mark(this.bricksThat(FAULTS), 0); }
  mark(bricks, laid) {
    const { bench } = this;
    bench.does(() => {
      bench.work.act('mark', bricks, laid);
      bench.work.cursor = bench.work.firstOpen(0);
    }, true);
    this.title.focus();
  }

  /* ---- marks on the chart ---- */

  boxOf(i) {
    const { plan } = this;
    return { u: plan.u[i], v: plan.wall ? plan.layer[i] : plan.v[i], us: plan.us[i], vs: plan.wall ? 1 : plan.vs[i] };
  }
  point(one) {
    const { view } = this.bench;
    const { u, v, us, vs } = this.boxOf(one.i);
    this.pointed = one;
    this.showPicture(false);
    view.centre(u + us / 2, v + vs / 2, Math.max(view.scale, 24 * view.text));
  }
  paintMarks(context, view) {
    const strip = view.margin - 4;
    const right = this.seen.filter(({ verdict }) => verdict === 'right');
    context.save();
    context.beginPath();
    context.rect(strip, strip, view.width - 2 * strip, view.height - 2 * strip);
    context.clip();
    context.lineCap = 'round';
    context.lineJoin = 'round';
    if (view.scale >= TICK_SCALE) for (const one of right) this.paintMark(context, view, one);
    for (const one of this.seen) if (one.verdict !== 'right') this.paintMark(context, view, one);
    context.restore();
  }
  /* What is right has a small tick in its corner, beside its id; what is not is marked large. */
  paintMark(context, view, one) {
    const { inks } = this.book;
    const { u, v, us, vs } = this.boxOf(one.i);
    const [x, y, width, height] = [view.left(u), view.upper(v + vs), us * view.scale, vs * view.scale * view.aspect];
    if (x > view.width || y > view.height || x + width < 0 || y + height < 0) return;
    const fine = one.verdict === 'right';
    const r = fine ? clamp(view.scale * 0.16, 2, 6)
      : clamp(Math.min(width, height) * 0.34, SIGN_LEAST, SIGN_MOST * view.text);
    traceSign(context, one, fine ? x + width - r - 2 : x + width / 2, fine ? y + r + 2 : y + height / 2, r);
    const thick = clamp(r / 3.5, 1.2, 4);
    for (const [ink, line] of [[inks.card, thick * 2.4], [fine ? inks.ink : inks.accent, thick]]) {
      context.strokeStyle = ink;
      context.lineWidth = line;
      context.stroke();
      if (one === this.pointed) context.strokeRect(x, y, width, height);
    }
  }

  /* ---- the photograph and its corners ---- */

  showPicture(shown) {
    this.picture.hidden = !shown;
    this.turn.textContent = shown ? 'Show the chart' : 'Show the photograph';
  }
  fitPicture() {
    const { image, picture, frame } = this;
    if (!image.naturalWidth || !picture.clientWidth) return;
    const scale = Math.min((picture.clientWidth - 24) / image.naturalWidth,
      (picture.clientHeight - 24) / image.naturalHeight);
    frame.style.width = `${image.naturalWidth * scale}px`;
    frame.style.height = `${image.naturalHeight * scale}px`;
    this.placeCorners();
  }
  placeCorners() {
    const { naturalWidth: width, naturalHeight: height } = this.image;
    if (!width) return;
    this.corners ??= [[0, 0], [1, 0], [1, 1], [0, 1]].map((at) => at.map((c, k) =>
      Math.abs(c - FROM_EDGE) * [width, height][k]));
    const parts = this.corners.map(([x, y]) => [x / width, y / height]);
    for (const polygon of this.frame.querySelectorAll('polygon')) polygon.setAttribute('points', parts.join(' '));
    this.handles.forEach((handle, k) => {
      const [left, top] = parts[k].map((part) => `${(100 * part).toFixed(1)}%`);
      Object.assign(handle.style, { left, top });
      const place = `${left} from the left, ${top} from the top`;
      handle.setAttribute('aria-label', `${CORNERS[k]} corner, ${place}; arrow keys move it`);
    });
  }
  moveCorner(k, dx, dy) {
    const { image, frame } = this;
    if (!this.corners) return;
    const scale = image.naturalWidth / frame.clientWidth;
    const [x, y] = this.corners[k];
    this.corners[k] = [clamp(x + dx * scale, 0, image.naturalWidth), clamp(y + dy * scale, 0, image.naturalHeight)];
    this.moved = true;
    this.placeCorners();
  }
}
