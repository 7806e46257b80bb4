/* Crew: who builds what, what lacks, and how fast it goes; a part of the build book where a bench
 * serves it. Whoever opens a panel sees who has it. */

const CREW_STYLE = `
  .crew-line { display: flex; flex-wrap: wrap; align-items: center; gap: .2rem .8rem; padding: .15rem .9rem;
    border-bottom: 1px solid var(--rule); background: var(--card); font-size: .9rem; }
  .crew-line b { color: var(--accent); }
  #crew a { color: var(--accent); }
  #crew { padding: .7rem .9rem 1rem; }
  #crew table { border-collapse: collapse; margin: .4rem 0 1rem; }
  #crew th, #crew td { text-align: left; padding: .25rem .8rem .25rem 0; border-bottom: 1px solid var(--rule); }
  #crew td { font-variant-numeric: tabular-nums; }
  #crew input { min-height: 2.75rem; padding: .3rem .8rem; background: var(--card);
    border: 1px solid var(--edge); max-width: 100%; }
  .lacks { list-style: none; }
  .lacks li { display: flex; flex-wrap: wrap; gap: .3rem .8rem; align-items: center; padding: .3rem 0;
    border-bottom: 1px solid var(--rule); }
  .visitors .sheet-head, .visitors .notes, .visitors .pad, .visitors .crew-line, .visitors .skip {
    display: none !important; }
  .visitors .spread { grid-template-columns: 1fr; grid-template-rows: 1fr; }
  .visitors .drawing { border: 0; }
  .visitors-said { position: fixed; left: 0; right: 0; bottom: 2vh; text-align: center;
    font-size: max(1.2rem, 3vh); }
`;

const [FAINT, FULL] = [0, 3]; /* of a brick of the build book's face: see its inks */
const PACE_AFTER = 1 / 6; /* hours at work of which a pace is, as the bench reckons */

const dayText = (seconds) => new Date(seconds * 1000).toLocaleDateString([], { weekday: 'short', day: 'numeric',
  month: 'long', year: 'numeric' });

function pairingText(pairing) {
  if (!pairing) return '';
  const { host, port, code } = pairing;
  return `Another device: open http://${host}:${port}/ there, and type ${code.slice(0, 4)} ${code.slice(4)}.`;
}

class Crew {
  constructor(share) {
    Object.assign(this, { share, book: share.book });
    document.head.append(make('style', '', CREW_STYLE));
    this.addLine();
    this.addPart();
    /* The book keeps its place whenever another part or panel is opened. */
    const keep = this.book.keepPlace.bind(this.book);
    this.book.keepPlace = () => {
      keep();
      this.showLine();
    };
    share.hear = () => this.refresh();
  }
  nameOf(device) { return this.share.state?.devices[device]?.name || 'a device without a name'; }
  refresh() {
    this.showLine();
    if (this.book.part === 'crew') this.show();
  }

  /* ---- the line: one's own state, and whose the open panel is ---- */

  addLine() {
    this.line = make('div', 'crew-line');
    this.line.setAttribute('role', 'status');
    document.querySelector('.sheet-head').after(this.line);
  }
  showLine() {
    const { share, book } = this;
    const { state, ended } = share;
    const waits = share.queue.length;
    const left = waits ? `${plain(waits)} still to be told` : 'nothing waits';
    const away = `${share.why || 'the bench is out of reach'}; ${left}`;
    const kept = ended ? ended : !share.reached ? away : waits ? 'telling the bench …' : 'the bench has it all';
    const parts = [make('span', '', state?.devices[share.device] ? `${this.nameOf(share.device)}: ${kept}` : kept)];
    if (book.part === 'bench' && state) parts.push(...this.panelParts(book.bench.work.panel.name, state));
    const key = parts.map((part) => part.textContent).join('|');
    if (key === this.lineShown) return;
    this.lineShown = key;
    this.line.replaceChildren(...parts);
  }
  panelParts(panel, state) {
    const holder = state.holders[panel];
    const own = this.share.device;
    if (!holder) return [make('span', '', `${panel} is nobody’s`),
      makeButton([`Take ${panel}`], () => this.ask('take', panel))];
    if (holder === own) return [make('span', '', `${panel} is yours`),
      makeButton([`Give ${panel} back`], () => this.ask('give', panel))];
    return [make('b', '', `${panel} is being built by ${this.nameOf(holder)}`),
      makeButton([`Take ${panel} over`], () => this.ask('take', panel, true))];
  }
  async ask(kind, panel, over = false) {
    try {
      await this.share.request({ kind, panel, over });
      this.book.say(kind === 'take' ? `${panel} is yours.` : `${panel} is given back.`);
    } catch (error) {
      this.book.say(error.message);
      this.line.append(make('b', '', error.message));
    }
  }

  /* ---- the part ---- */

  addPart() {
    const button = makeButton(['Crew'], () => this.book.go('crew'));
    button.id = 'go-crew';
    document.querySelector('nav').append(button);
    this.element = make('section', '');
    this.element.id = 'crew';
    this.element.hidden = true;
    this.element.setAttribute('aria-labelledby', 'crew-title');
    byId('main').append(this.element);
    const name = this.field('crew-name', 'This device is called', 'Keep the name', (text) => this.rename(text));
    const lack = this.field('crew-lack', 'What lacks: colour, size, how many', 'Tell the studio', (text) =>
      this.lack(text));
    this.facts = make('p', 'facts');
    this.lacks = make('ul', 'lacks');
    this.people = make('tbody');
    this.panels = make('tbody');
    const headOf = (text) => {
      const head = make('th', '', text);
      head.scope = 'col';
      return head;
    };
    const table = (caption, heads, body) => make('table', '', make('caption', '', caption),
      make('thead', '', make('tr', '', ...heads.map(headOf))), body);
    const title = make('h2', '', 'Crew');
    title.id = 'crew-title';
    this.pairing = make('p', 'facts');
    this.element.append(title, this.facts, name, make('h3', '', 'What lacks'), this.lacks, lack,
      table('Who laid how many', ['name', 'bricks', 'hours', 'bricks an hour'], this.people),
      table('Panels that were begun', ['panel', 'laid', 'hours', 'bricks an hour', 'now with'], this.panels),
      this.pairing);
    byId('crew-name').value = this.share.common.get('name') || '';
    this.book.parts.crew = this;
  }
  field(id, label, button, act) {
    const input = make('input');
    Object.assign(input, { id, type: 'text', maxLength: 60, autocomplete: 'off' });
    const mark = make('label', '', label);
    mark.htmlFor = id;
    const go = () => {
      const text = input.value.trim();
      if (text) act(text);
    };
    input.addEventListener('keydown', (event) => { if (event.key === 'Enter') go(); });
    return make('p', 'field', mark, ' ', input, ' ', makeButton([button], go));
  }
  rename(text) {
    this.share.common.set('name', text);
    this.share.put({ kind: 'name', text, made: Date.now() });
    this.share.send();
  }
  lack(text) {
    const panel = this.book.bench.work.panel.name;
    this.share.put({ kind: 'short', panel, text, made: Date.now() });
    this.share.send();
    byId('crew-lack').value = '';
  }
  show() {
    const { state } = this.share;
    if (!state) return;
    const pace = state.pace ? `, ${plain(Math.round(state.pace))} bricks an hour` : '';
    const end = state.end && state.laid < state.bricks ? `; at this pace it is done on ${dayText(state.end)}` : '';
    this.facts.textContent = `${plain(state.laid)} of ${plain(state.bricks)} bricks laid${pace}${end}.`;
    this.lacks.replaceChildren(...state.shortages.filter(({ found }) => !found).map((one) => make('li', '',
      make('span', '', `${one.panel ? `${one.panel}: ` : ''}${one.text}, told by ${this.nameOf(one.device)}`),
      makeButton(['It is there'], () => this.found(one)))));
    this.people.replaceChildren(...Object.keys(state.devices).map((device) => this.row(this.nameOf(device),
      state.shares.filter((share) => share.device === device))));
    const begun = [...new Set([...state.shares.map(({ panel }) => panel), ...Object.keys(state.holders)])].sort();
    this.panels.replaceChildren(...begun.map((panel) => {
      const holder = state.holders[panel];
      return this.row(panel, state.shares.filter((share) => share.panel === panel), holder ? this.nameOf(holder) : '');
    }));
    this.showPairing();
  }
  row(name, shares, ...more) {
    const sum = (key) => shares.reduce((total, share) => total + share[key], 0);
    const [bricks, hours] = [sum('bricks'), sum('hours')];
    const pace = hours >= PACE_AFTER ? plain(Math.round(bricks / hours)) : '';
    return makeRow(makeRowHead(name), plain(bricks), hours.toFixed(1), pace, ...more);
  }
  found(one) {
    this.share.put({ kind: 'found', text: one.device, first: one.number, made: Date.now() });
    this.share.send();
  }
  async showPairing() {
    const { pairing } = await ask('/plans').catch(() => ({}));
    const { number } = this.share;
    const ways = [['Wall for visitors', `/book?plan=${number}&wall=1`],
      ['Labels with codes, to print', `/labels?plan=${number}`]].map(([text, href]) => {
      const way = make('a', '', text);
      Object.assign(way, { href, target: '_blank' });
      return way;
    });
    this.pairing.replaceChildren(pairingText(pairing)
      || 'Other devices come in where the bench was started with --listen.', make('br'), ways[0], ' · ', ways[1]);
  }
}

/* The wall for those who look on: nothing but the mural as far as it has grown. */
function showVisitors(share) {
  const { book } = share;
  document.head.append(make('style', '', CREW_STYLE));
  document.body.classList.add('visitors');
  const said = make('p', 'visitors-said');
  document.body.append(said);
  /* What stands is seen in full, what is to come shines through. */
  book.wall.state = (i) => (book.progress.laid[i] ? FULL : FAINT);
  book.wall.recolour();
  book.go('wall');
  share.hear = () => {
    const { state } = share;
    said.textContent = state ? `${plain(state.laid)} of ${plain(state.bricks)} bricks` : '';
  };
}
