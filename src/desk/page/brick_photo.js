/* Brick photo: a photograph of bricks beside a colour chart. Each brick is pressed and given its id; the
 * program finds the chart and tells what colours the bricks are, and how sure it is; all of them are
 * taken into the palette in one act. */

const CHART_CORNERS = ['Middle of the first patch', 'Middle of the last patch of the first row',
  'Middle of the last patch', 'Middle of the first patch of the last row'];
const SQUARE = 0.03; /* a brick's square, of the photograph's width, until it is set */
const BRICKS_MOST = 100; /* whose list a request's first line holds */

addStyle(`
  .photo-frame button.brick { width: var(--square); height: var(--square); margin: calc(var(--square) / -2);
    border: 2px solid #8f2a12; border-radius: 0; box-shadow: 0 0 0 1.5px #fff; display: grid; place-content: center;
    font-size: .8rem; font-weight: bold; color: #000; text-shadow: 0 0 2px #fff, 0 0 3px #fff, 0 0 4px #fff; }
  .photo-frame button.brick::after { content: ""; position: absolute; inset: 50%; width: 2.2rem; height: 2.2rem;
    transform: translate(-50%, -50%); }
  .photo-frame.pressed { cursor: crosshair; }
  .brick-bar { position: absolute; left: 50%; bottom: .6rem; transform: translateX(-50%); display: flex; gap: .6rem;
    align-items: center; padding: .4rem .7rem; background: var(--card); border: 1px solid var(--edge); }
  .brick-bar.above { bottom: auto; top: .6rem; }
  .brick-bar label { white-space: nowrap; }
  .brick-bar input[type="text"] { width: 5rem; padding: .25rem .5rem; }
  #brick-list li { display: grid; grid-template-columns: 2rem 4.5rem minmax(0, 1fr) auto; gap: .4rem;
    align-items: center; padding: .2rem 0; border-top: 1px solid var(--rule); }
  #brick-list i { width: 2rem; height: 2rem; border: 1px solid var(--edge); }
  #brick-list i.blank { border-style: dashed; }
  #brick-list input { width: 4.5rem; padding: .25rem .5rem; }
  #brick-list input::-webkit-calendar-picker-indicator, .brick-bar input::-webkit-calendar-picker-indicator {
    display: none !important; }
  #brick-list small { overflow-wrap: anywhere; font-variant-numeric: tabular-nums; line-height: 1.2; }
  #brick-list button { min-width: 2.5rem; }
`);

const quoted = (text) => `"${text.replace(/"/g, '""')}"`;

class BrickPhoto {
  constructor(desk) {
    Object.assign(this, { desk, file: null, bricks: [], measured: null, numbered: 0 });
    this.addPicture();
    this.addPart();
  }
  addPicture() {
    this.frame = new PhotoFrame('The photograph: press each brick; arrow keys move what is focused', CHART_CORNERS,
      'brick-photo');
    const { frame, image } = this.frame;
    frame.classList.add('pressed');
    image.addEventListener('click', (event) => {
      const box = image.getBoundingClientRect();
      this.addBrick((event.clientX - box.left) * this.frame.scale, (event.clientY - box.top) * this.frame.scale);
    });
    this.frame.onFit = () => this.placeBricks();
    this.frame.onMove = () => this.forget();
    this.addBar();
    hangPhoto(this.frame.element);
  }
  /* The id of the brick that was pressed last is typed on the photograph, which stays in sight. */
  addBar() {
    this.typed = Object.assign(make('input'), { type: 'text', maxLength: 5, autocomplete: 'off', id: 'brick-typed' });
    this.typed.addEventListener('input', () => {
      this.bricks.at(-1).id.value = this.typed.value;
      this.rename();
    });
    this.typed.setAttribute('list', 'brick-ids');
    this.typedLabel = Object.assign(make('label'), { htmlFor: this.typed.id });
    this.bar = make('div', 'brick-bar', this.typedLabel, this.typed);
    this.frame.element.append(this.bar);
  }
  addPart() {
    const radio = (name, said, choices, act) => makeRadios(name, said, choices, choices[0][0], act);
    this.said = make('p');
    this.said.id = 'brick-photo-said';
    this.said.setAttribute('role', 'status');
    this.list = make('ul');
    this.list.id = 'brick-list';
    this.ids = make('datalist');
    this.ids.id = 'brick-ids';
    this.size = Object.assign(make('input'), { type: 'range', min: 0.01, max: 0.12, step: 0.002, value: SQUARE });
    this.size.addEventListener('input', () => {
      this.forget();
      this.placeBricks();
    });
    this.grey = Object.assign(make('input'), { type: 'text', inputMode: 'decimal', value: '49.5' });
    this.grey.addEventListener('change', () => this.forget());
    this.greyLine = labelledPair('L* of the card', this.grey, 'brick-photo-grey');
    this.beside = radio('brick-beside', 'Beside the bricks lies',
      [['chart', 'a chart of 24 patches'], ['grey', 'a grey card']], () => this.setBeside());
    this.found = Object.assign(make('input'), { type: 'checkbox', id: 'brick-photo-found', checked: true });
    this.found.addEventListener('change', () => this.setBeside());
    const found = Object.assign(make('label', '', 'find the chart by itself'), { htmlFor: this.found.id });
    this.foundLine = make('p', 'acts-row', this.found, ' ', found);
    this.others = radio('brick-others', 'Colours that are not in it', [['go', 'go'], ['stay', 'stay']],
      () => this.forget());
    this.add = makeButton(['Add a brick'], () => this.addBrick(this.frame.image.naturalWidth / 2,
      this.frame.image.naturalHeight / 2));
    this.measure = makeButton(['Measure'], () => this.look());
    this.take = makeButton([''], () => this.takeIn());
    this.take.className = 'go';
    this.work = make('div', '',
      make('p', 'facts', 'Press the middle of each brick, and give it its id: 1 to 4 signs, one for all bricks of a '
        + 'colour. The id paper is for places of plain white paper, which tell how even the light is.'),
      labelledPair('Square', this.size, 'brick-photo-size'), this.beside, this.foundLine, this.greyLine, this.others,
      make('p', 'acts-row', this.add, this.measure, makeButton(['Put the photograph away'], () => this.close())),
      this.said, this.list, this.ids, make('p', 'acts-row', this.take));
    this.part = make('fieldset', 'photo-part', make('legend', '', 'Measure the bricks'),
      make('p', 'facts', 'A photograph of bricks beside a colour chart tells their colours: two lamps at 45°, no '
        + 'flash, nothing mirrored. Choose it, or drop it on the wall.'),
      make('p', 'acts-row', ...photoChooser('brick-photo-file', 'Choose a photograph', (file) => this.bring(file))),
      this.work);
    this.work.hidden = true;
  }
  parts() { return [this.part]; }

  /* ---- a photograph ---- */

  bring(file) {
    this.close();
    this.file = file;
    this.frame.open(file, () => { this.said.textContent = 'This browser cannot show the photograph.'; });
    this.work.hidden = false;
    this.setBeside();
    this.show();
    this.frame.element.scrollIntoView({ block: 'nearest' });
  }
  close() {
    this.asking?.abort();
    this.frame.close();
    this.file = null;
    for (const { handle } of this.bricks) handle.remove();
    this.bricks = [];
    this.list.replaceChildren();
    this.rename();
    this.said.textContent = '';
    this.work.hidden = true;
    this.show();
  }
  /* Hangs it before the wall while its stage is open. */
  show() {
    const { settings } = this.desk.state;
    this.frame.element.hidden = !this.file || this.desk.stage !== 'colours';
    this.others.hidden = !settings?.palette;
    this.ids.replaceChildren(...(this.desk.wall.face?.colours || []).map(({ id, name }) =>
      Object.assign(make('option', '', name), { value: id })));
  }
  chosen(box) { return box.querySelector('input:checked').value; }
  get isGrey() { return this.chosen(this.beside) === 'grey'; }
  get hasCorners() { return this.isGrey || !this.found.checked; }
  setBeside() {
    this.greyLine.hidden = !this.isGrey;
    this.foundLine.hidden = this.isGrey;
    this.frame.names = this.isGrey ? PANEL_CORNERS : CHART_CORNERS;
    for (const part of [...this.frame.handles, this.frame.frame.querySelector('svg')])
      part.toggleAttribute('hidden', !this.hasCorners);
    this.frame.placeCorners();
    this.forget();
    if (this.hasCorners) this.said.textContent = this.isGrey ? 'Drag the four corners to those of the card.'
      : 'Drag the four corners to the middles of the chart’s corner patches, around from the first, dark skin.';
  }

  /* ---- bricks ---- */

  addBrick(x, y) {
    if (this.bricks.length >= BRICKS_MOST) return;
    const brick = { at: [x, y], number: ++this.numbered };
    brick.handle = makeHandle((dx, dy) => {
      brick.at = this.frame.moveBy(brick.at, dx, dy);
      this.forget();
      this.placeBricks();
    });
    brick.handle.className = 'brick';
    brick.handle.addEventListener('keydown', (event) => {
      if (event.key === 'Delete' || event.key === 'Backspace') this.drop(brick);
    });
    this.frame.frame.append(brick.handle);
    this.bricks.push(brick);
    this.list.append(this.lineOf(brick));
    this.forget();
    this.placeBricks();
    this.bar.classList.toggle('above', y > this.frame.image.naturalHeight / 2);
    this.typed.focus({ preventScroll: true });
    const sheet = byId('sheet'); /* beside it, where there is room, it goes to the brick's line */
    sheet.scrollTop += Math.max(0, brick.line.getBoundingClientRect().bottom - sheet.getBoundingClientRect().bottom);
  }
  lineOf(brick) {
    brick.swatch = make('i', 'blank');
    brick.told = make('small');
    brick.id = Object.assign(make('input'), { type: 'text', maxLength: 5, autocomplete: 'off' });
    brick.id.id = `brick-id-${brick.number}`;
    brick.id.setAttribute('list', 'brick-ids');
    brick.id.setAttribute('aria-label', `Id of brick ${brick.number}`);
    brick.id.addEventListener('input', () => this.rename());
    brick.line = make('li', '', brick.swatch, brick.id, brick.told,
      makeButton(['×'], () => this.drop(brick), `Take brick ${brick.number} away`));
    return brick.line;
  }
  /* An id is another. */
  rename() {
    this.forget();
    this.placeBricks();
  }
  drop(brick) {
    this.bricks = this.bricks.filter((other) => other !== brick);
    brick.handle.remove();
    brick.line.remove();
    this.rename();
    (this.bricks.at(-1)?.id || this.add).focus();
  }
  get side() { return Number(this.size.value) * this.frame.image.naturalWidth; }
  placeBricks() {
    const last = this.bricks.at(-1);
    this.bar.hidden = !last;
    this.typedLabel.textContent = `Id of brick ${last?.number}`;
    if (last && this.typed.value !== last.id.value) this.typed.value = last.id.value;
    if (!this.frame.image.naturalWidth) return;
    this.frame.frame.style.setProperty('--square', `${this.side / this.frame.scale}px`);
    for (const { handle, at, id, number } of this.bricks) {
      const { left, top, said } = this.frame.placeOf(...at);
      Object.assign(handle.style, { left, top });
      handle.textContent = id.value;
      handle.setAttribute('aria-label',
        `Brick ${number}, ${id.value || 'without an id'}, ${said}; arrow keys move it, Delete takes it away`);
    }
  }

  /* ---- measuring ---- */

  /* What was measured no longer goes with what is on the page. */
  forget() {
    this.measured = null;
    this.asking?.abort();
    for (const { swatch, told } of this.bricks) {
      swatch.className = 'blank';
      swatch.style.background = '';
      told.textContent = '';
    }
    this.said.textContent = '';
    this.take.hidden = true;
    this.measure.disabled = !this.bricks.length || this.bricks.some(({ id }) => !id.value.trim());
  }
  /* The list as the program takes it: a line a brick, with its square's upper left corner and sides. */
  listText() {
    const names = new Map(this.desk.wall.face?.colours.map(({ id, name }) => [id, name]));
    const lines = this.bricks.map(({ id, at }) => [...[id.value.trim(), names.get(id.value.trim()) || ''].map(quoted),
      ...at.map((n) => (n - this.side / 2).toFixed(1)), this.side.toFixed(1), this.side.toFixed(1)].join(','));
    return ['id,name,x,y,width,height', ...lines, ''].join('\n');
  }
  async look() {
    this.forget();
    const asking = new AbortController();
    this.asking = asking;
    this.said.textContent = 'Measuring …';
    const query = new URLSearchParams({ patches: this.listText(), chart: this.hasCorners
      ? cornersText(this.frame.corners) : '', grey: this.isGrey ? this.grey.value.trim() : '',
    stay: !this.others.hidden && this.chosen(this.others) === 'stay' ? '1' : '' });
    try {
      this.tell(await sendPhoto(`/bricks?${query}`, this.file, asking.signal));
    } catch (error) {
      if (!asking.signal.aborted) this.refuse(error);
    }
  }
  refuse(error) {
    const line = /^the list of bricks:(\d+)(?::\d+)?: (.*)/.exec(error.message);
    const brick = line && this.bricks[Number(line[1]) - 2];
    if (brick) error.message = `brick ${brick.number}: ${line[2]}`;
    if (/--chart$/.test(error.message)) this.found.checked = false; /* its corners can be dragged then */
    this.setBeside();
    this.said.textContent = photoReason(error, 'desk', () =>
      'drag the four corners to the middles of the chart’s corner patches, dark skin first, and measure again');
    if (brick) brick.id.focus();
  }
  tell({ name, colours, notes }) {
    this.measured = name;
    const by = new Map(colours.map((colour) => [colour.id, colour]));
    const own = new Set();
    for (const { id, swatch, told } of this.bricks) {
      const colour = by.get(id.value.trim());
      if (!colour) continue;
      own.add(colour.id);
      swatch.className = '';
      swatch.style.background = colour.hex;
      const [l, a, b] = colour.lab.map((n) => n.toFixed(1));
      told.textContent = `L* ${l}, a* ${a}, b* ${b}; within ${colour.within.toFixed(1)}`;
    }
    /* How sure all are comes first; where a note is from is known here. */
    this.said.textContent = [notes.at(-1), ...notes.slice(0, -1)]
      .map((note) => note.replace(/^the (photograph|list of bricks:\d+): /, ''))
      .map((note) => `${note[0].toUpperCase()}${note.slice(1)}.`).join(' ');
    const more = colours.length - own.size;
    const kept = more ? `, and keep ${plain(more)}` : '';
    this.take.textContent = `Take ${many(own.size, 'colour')} into the palette${kept}`;
    this.take.hidden = false;
  }
  takeIn() {
    this.desk.form.change({ palette: this.measured }, `${this.take.textContent.replace(/^Take /, '')
      .replace(/ into.*/, '')} measured`);
    this.desk.say('The palette is planned with.');
    this.take.hidden = true;
    this.said.textContent = 'The palette has these colours now; the mural is planned with them.';
  }
}
