/* Photograph: a photograph of the open panel, which the bench holds to the plan. What it tells stands
 * as marks on the chart and as a list; what is right is ticked in one go, as if it were tapped. Where
 * the panel is not found in it, its four corners are dragged to where they are. */

const TICK_SCALE = 7; /* CSS pixels of a cell from which on what is right is marked */

addStyle(`
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
`);

class Photograph {
  constructor(share) {
    const { book, plan } = share;
    Object.assign(this, { share, book, plan, bench: book.bench, progress: book.progress, seen: null });
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
    this.turn = makeButton([''], () => this.showPicture(this.frame.element.hidden));
    this.untold = Object.assign(part('input', 'photo-untold'), { type: 'checkbox' });
    this.untold.addEventListener('change', () => this.tellButtons());
    this.untoldText = make('span');
    this.untoldLine = make('label', 'tick', this.untold, this.untoldText);
    this.tick = Object.assign(makeButton([''], () => this.tickRight()), { id: 'photo-tick' });
    this.keep = Object.assign(makeButton([''], () => this.takeBack()), { id: 'photo-keep' });
    this.acts = make('p', 'field', this.tick, this.keep);
    this.listTitle = make('h3', '', 'What is not right');
    this.list = part('ul', 'photo-list');
    this.list.className = 'photo-list';
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
    this.frame = new PhotoFrame('The photograph, with the four corners of what is built', PANEL_CORNERS, 'photo');
    document.querySelector('#bench .drawing').append(this.frame.element);
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
    Object.assign(this, { panel, file });
    this.frame.open(file, () => this.said.append(' This browser cannot show the photograph.'));
    this.title.textContent = `Photograph of ${panel.name}`;
    Object.assign(this.row, { min: String(panel.row + 1), max: String(panel.row + panel.rows),
      value: String(work.ended ? panel.row + panel.rows : this.rowOf(work.lead)) });
    this.section.hidden = false;
    document.querySelector('#bench .columns').hidden = true;
    this.showPicture(true);
    this.title.focus();
    this.look();
  }
  get to() { return rowIn(this.row); }
  async look() {
    const { panel, file } = this;
    this.row.value = String(this.to);
    this.forget();
    this.asking?.abort();
    const asking = new AbortController();
    this.asking = asking;
    this.said.textContent = 'Looking …';
    try {
      const given = this.frame.moved ? `&corners=${cornersText(this.frame.corners)}` : '';
      const told = await sendPhoto(`/photo?plan=${this.share.number}&panel=${panel.name}&to=${this.to}${given}`, file,
        asking.signal);
      this.show(told);
    } catch (error) {
      if (asking.signal.aborted) return;
      this.said.textContent = panelReason(error, 'bench', this.to, Number(this.row.max));
      this.showPicture(true);
    }
  }
  show({ corners, bricks, notes }) {
    this.frame.setCorners(corners);
    this.seen = readSeen(bricks);
    this.said.textContent = `${seenText(this.seen, this.to)}${hintText(notes)}`;
    this.listTitle.hidden = !listSeen(this.list, this.seen, (one) => this.point(one));
    this.showPicture(false);
    this.tellButtons();
    this.bench.view.draw();
  }
  close() {
    this.asking?.abort();
    this.frame.close();
    this.panel = null;
    this.forget();
    this.section.hidden = true;
    this.frame.element.hidden = true;
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
  paintMark(context, view, one) {
    const { u, v, us, vs } = this.boxOf(one.i);
    const box = { x: view.left(u), y: view.upper(v + vs), width: us * view.scale,
      height: vs * view.scale * view.aspect };
    if (box.x > view.width || box.y > view.height || box.x + box.width < 0 || box.y + box.height < 0) return;
    const outline = one === this.pointed ? new Path2D() : null;
    outline?.rect(box.x, box.y, box.width, box.height);
    paintSeen(context, one, box, view.scale, this.book.inks, outline);
  }

  showPicture(shown) {
    this.frame.element.hidden = !shown;
    this.turn.textContent = shown ? 'Show the chart' : 'Show the photograph';
  }
}
