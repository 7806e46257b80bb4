/* Share: joins the build book of this device to the bench. What is laid here is told to it, at once
 * or when it can be reached again; what others laid comes from it. The bench alone judges what is
 * laid where two say different things: this page shows what it was told, and over that what it has
 * said itself and the bench has not confirmed yet. */

const SOON = 1000; /* ms from a failure to the next try; it doubles … */
const LATE = 15000; /* … up to this */
const SAID_MOST = 1e6; /* by a tab; so many times 2^32 are whole numbers still */
const AT_ONCE = 400; /* events in a request; the bench takes 1000 */

const pause = (ms) => new Promise((wake) => { setTimeout(wake, ms); });

/* Letters and digits by chance. */
const randomText = (length) => [...crypto.getRandomValues(new Uint8Array(length))]
  .map((n) => (n % 36).toString(36)).join('');

class Share {
  constructor(book, number) {
    Object.assign(this, { book, number, plan: book.plan, progress: book.progress, store: book.store });
    /* A device is the same at every plan's bench. */
    this.common = new this.store.constructor('bench');
    /* Tabs of one browser are one device; each numbers what it says from a place of its own. */
    this.tab = crypto.getRandomValues(new Uint32Array(1))[0];
    this.counted = 0;
    this.ordered = 0;
    this.told = new Uint8Array(this.plan.count); /* by the bench */
    this.pending = new Map(); /* brick: which in order of what was said here was of it last */
    this.changed = new Set();
    this.serial = 0;
    this.state = null;
    this.reached = true;
    this.why = '';
    this.hear = () => {};
    this.device = this.common.get('device') || randomText(20);
    this.common.set('device', this.device);
    this.queue = this.keptQueue().map((event) => ({ ...event, tab: this.tab, order: ++this.ordered }));
    this.store.set('queue', JSON.stringify(this.queue));
    this.listen();
  }
  keptQueue() {
    try {
      return JSON.parse(this.store.get('queue') || '[]');
    } catch {
      return []; /* cut off by a browser that was full */
    }
  }
  /* Whoever is not let in any more is told, and keeps what waits for the next time. */
  begin() {
    this.start().catch((error) => {
      this.ended = error.refused === 403 ? 'This page’s link has ended. Open the bench’s link again.' : error.message;
      this.hear();
    });
  }
  async start() {
    const laid = this.progress.laid.slice();
    for (const event of this.queue) this.cover(event);
    const state = await this.persist(() => ask(`/state?plan=${this.number}`));
    /* What was laid before this device came to this bench is told it as of old: whatever was said since counts
     * more. After that the bench tells what is laid. */
    if (this.store.get('joined') !== state.bench)
      this.say(this.runs((i) => laid[i] && !this.progress.stands[i]), 1, true);
    this.store.set('joined', state.bench);
    const text = this.common.get('name');
    if (text && state.devices[this.device]?.name !== text) this.put({ kind: 'name', text, made: Date.now() });
    for (const { name } of this.plan.panels) state.panels[name] ??= '';
    this.take(state);
    this.send();
    await this.follow();
  }
  /* Tries until the bench answers. */
  async persist(request) {
    for (let wait = SOON; ; wait = Math.min(2 * wait, LATE)) {
      try {
        const answer = await request();
        this.setReached(true, '');
        return answer;
      } catch (error) {
        if (error.refused && error.refused !== 503) throw error;
        this.setReached(false, error.refused ? error.message : '');
        await pause(wait);
      }
    }
  }
  /* why: what the bench says where it cannot keep anything, such as that its disk is full. */
  setReached(reached, why) {
    if (reached === this.reached && why === this.why) return;
    Object.assign(this, { reached, why });
    this.hear();
  }

  /* ---- what is laid here ---- */

  listen() {
    const { progress } = this;
    const set = progress.set.bind(progress);
    const save = progress.save.bind(progress);
    const replace = progress.replace.bind(progress);
    /* What another tab of this browser laid, that tells. */
    progress.replace = (panel, text) => {
      this.taking = true;
      replace(panel, text);
      this.taking = false;
    };
    progress.set = (i, laid) => {
      const before = progress.laid[i];
      set(i, laid);
      if (!this.taking && progress.laid[i] !== before) this.changed.add(i);
    };
    progress.save = (panel) => {
      save(panel);
      if (this.taking) return;
      for (const laid of [1, 0]) this.say(this.runs((i) => this.changed.has(i) && progress.laid[i] === laid), laid);
      this.changed.clear();
      this.send();
    };
  }
  /* Runs of bricks of a panel, [{panel, first, count}]. */
  runs(isOne) {
    const list = [];
    for (const panel of this.plan.panels)
      for (let i = 0, run = null; i < panel.count; i++) {
        if (!isOne(panel.first + i)) run = null;
        else if (run) run.count++;
        else list.push(run = { panel: panel.name, first: i, count: 1 });
      }
    return list;
  }
  say(runs, laid, old = false) {
    for (const run of runs) this.put({ kind: 'mark', ...run, laid: laid === 1, made: old ? 0 : Date.now() });
  }
  put(event) {
    const own = { ...event, number: this.nextNumber(), order: ++this.ordered, tab: this.tab };
    this.queue.push(own);
    this.cover(own);
    this.keepQueue();
  }
  nextNumber() { return this.tab * SAID_MOST + ++this.counted; }
  cover(event) {
    if (event.kind !== 'mark') return;
    const panel = this.plan.panels.find(({ name }) => name === event.panel);
    for (let k = 0; k < event.count; k++) this.pending.set(panel.first + event.first + k, event.order);
  }
  keepQueue() {
    const others = this.keptQueue().filter(({ tab }) => tab !== this.tab);
    this.store.set('queue', JSON.stringify([...others, ...this.queue]));
  }
  async send() {
    if (this.sending) return;
    this.sending = true;
    this.hear();
    let most = AT_ONCE;
    while (this.queue.length) {
      const part = this.queue.slice(0, most);
      try {
        await this.persist(() => this.post(part));
      } catch (error) {
        if (error.refused === 403) break;
        /* One of them is refused: the others are not to suffer for it. */
        most = 1;
        if (part.length > 1) continue;
        this.book.say(error.message);
      }
      this.queue.splice(0, part.length);
      this.keepQueue();
      this.confirmed = part[part.length - 1].order;
    }
    this.sending = false;
    this.hear();
  }
  post(events) {
    const now = Date.now();
    return tell(`/events?plan=${this.number}`, { device: this.device,
      events: events.map(({ made, ...event }) => ({ ...event, age: Math.max(0, (now - made) / 1000) })) });
  }
  /* One event that is wanted at once or not at all. */
  async request(event) {
    await this.post([{ ...event, number: this.nextNumber(), made: Date.now() }]);
  }

  /* ---- what the bench tells ---- */

  async follow() {
    for (;;) {
      const asked = this.confirmed;
      this.take(await this.persist(() => ask(`/state?plan=${this.number}&after=${this.serial}`)), asked);
    }
  }
  /* What was confirmed before the news were asked for is in them. */
  take(state, confirmed = 0) {
    for (const [i, order] of this.pending) if (order <= confirmed) this.pending.delete(i);
    this.serial = state.serial;
    this.state = state;
    const touched = new Set();
    for (const [name, text] of Object.entries(state.panels)) {
      const panel = this.plan.panels.find((p) => p.name === name);
      if (!panel) continue;
      this.told.fill(0, panel.first, panel.first + panel.count);
      this.progress.read(panel, text, (i) => { this.told[i] = 1; });
      if (this.show(panel)) touched.add(panel.index);
    }
    if (touched.size) this.showNews(touched);
    this.hear();
  }
  /* Panels, by index, that others laid bricks in: what is shown of them is drawn again, and the light goes
   * on where its bricks are laid already. */
  showNews(panels) {
    const { wall, bench, part } = this.book;
    const { work } = bench;
    for (const index of panels) wall.touch(this.plan.panels[index]);
    if (part === 'wall') wall.show();
    if (!panels.has(work.panel.index)) return;
    work.countBag();
    if (!work.ended && work.toLay(work.cursor).every((i) => this.progress.laid[i]))
      work.cursor = work.firstOpen(work.cursor);
    bench.changed(null);
  }
  /* Whether anything of the panel is other than before. */
  show(panel) {
    let anew = false;
    this.taking = true;
    for (let i = panel.first; i < panel.first + panel.count; i++)
      if (!this.pending.has(i) && !this.progress.stands[i] && this.progress.laid[i] !== this.told[i]) {
        this.progress.set(i, this.told[i]);
        anew = true;
      }
    if (anew) this.progress.save(panel);
    this.taking = false;
    return anew;
  }
}
