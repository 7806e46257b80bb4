/* Progress: which bricks are laid. Kept in the browser panel by panel under the plan's
 * digest, where the browser lets it; told as lengths of runs, not laid and laid in turn.
 * What stood when the plan was made is laid from the start and is never taken back. */

const PROGRESS_FORMAT = 'rowlock-progress';

/* Storage that may be refused, full or absent; what fails is told once. */
class Store {
  constructor(digest) {
    this.prefix = `rowlock-${digest.slice(0, 16)}-`;
    this.works = true;
    this.refused = () => {};
    try {
      this.storage = window.localStorage;
      this.storage.setItem(this.prefix + 'test', '1');
      this.storage.removeItem(this.prefix + 'test');
    } catch {
      this.works = false;
    }
  }
  get(name) {
    try {
      return this.works ? this.storage.getItem(this.prefix + name) : null;
    } catch {
      return null;
    }
  }
  set(name, text) {
    if (!this.works) return;
    try {
      this.storage.setItem(this.prefix + name, text);
    } catch {
      this.works = false;
      this.refused();
    }
  }
}

class Progress {
  constructor(plan, store) {
    this.plan = plan;
    this.store = store;
    this.laid = new Uint8Array(plan.count);
    this.count = new Int32Array(plan.panels.length); /* laid bricks of each panel */
    this.total = 0;
    this.stands = new Uint8Array(plan.count);
    this.standing = new Int32Array(plan.panels.length); /* of each panel */
    (plan.standing || []).forEach((text, index) => this.read(plan.panels[index], text, (i) => this.stand(i)));
    for (const panel of plan.panels) this.replace(panel, store.get(panel.name) || '');
  }
  stand(i) {
    this.set(i, 1);
    this.stands[i] = 1;
    this.standing[this.plan.panel[i]]++;
  }
  set(i, laid) {
    if (this.laid[i] === laid || this.stands[i]) return;
    this.laid[i] = laid;
    const by = laid ? 1 : -1;
    this.count[this.plan.panel[i]] += by;
    this.total += by;
  }
  said() { return `${plain(this.total)} of ${plain(this.plan.count)} bricks laid`; }
  /* The panel's part as text, "" where nothing is laid. */
  text(panel) {
    const lengths = [];
    let state = 0;
    let length = 0;
    for (let i = panel.first; i < panel.first + panel.count; i++) {
      if (this.laid[i] !== state) {
        lengths.push(length);
        length = 0;
        state = 1 - state;
      }
      length++;
    }
    if (state) lengths.push(length);
    return lengths.join(',');
  }
  save(panel) { this.store.set(panel.name, this.text(panel)); }

  /* Calls visit(brick) for each laid one; false where the text fits no panel of this size. */
  read(panel, text, visit) {
    if (text === '') return true;
    const lengths = text.split(',').map(Number);
    const whole = lengths.every((n) => Number.isInteger(n) && n >= 0);
    if (!whole || lengths.reduce((a, b) => a + b, 0) > panel.count) return false;
    let at = panel.first;
    lengths.forEach((length, k) => {
      for (let i = 0; i < length; i++, at++) if (k % 2) visit(at);
    });
    return true;
  }
  replace(panel, text) {
    for (let i = panel.first; i < panel.first + panel.count; i++) this.set(i, 0);
    this.read(panel, text, (i) => this.set(i, 1));
  }

  exported() {
    const panels = {};
    for (const panel of this.plan.panels) if (this.count[panel.index]) panels[panel.name] = this.text(panel);
    const { digest, title } = this.plan;
    return JSON.stringify({ format: PROGRESS_FORMAT, version: 1, plan: digest, title, panels }, null, 1) + '\n';
  }
  /* Adds what a file says; returns how many bricks are new here. Throws an Error whose message
   * is for people. Nothing is taken from a file that is wrong anywhere. */
  merge(text, place) {
    let file = null;
    try {
      file = JSON.parse(text);
    } catch { /* told with the other files that are none of this page's */ }
    if (!file || file.format !== PROGRESS_FORMAT || typeof file.panels !== 'object' || !file.panels)
      throw new Error(`${place}: this is no progress file; choose one that this page saved`);
    if (file.plan !== this.plan.digest)
      throw new Error(`${place}: this is the progress of another plan; open that plan's book`);
    const found = [];
    const named = new Map(this.plan.panels.map((panel) => [panel.name, panel]));
    for (const [name, lengths] of Object.entries(file.panels)) {
      const panel = named.get(name);
      if (!panel || typeof lengths !== 'string' || !this.read(panel, lengths, (i) => found.push(i)))
        throw new Error(`${place}: panel ${name} does not fit this plan; save the file again`);
    }
    const before = this.total;
    for (const i of found) this.set(i, 1);
    for (const panel of this.plan.panels) this.save(panel);
    return this.total - before;
  }
}
