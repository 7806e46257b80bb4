/* Progress: which bricks are laid. Kept in the browser panel by panel under the plan's
 * digest, where the browser lets it; told as lengths of runs, not laid and laid in turn.
 * What stood when the plan was made is laid from the start and is never taken back.
 *
 * A file of progress is the table of the bricks that are laid, with the columns of bricks.csv (RFC
 * 4180). So it says where each brick is, of which size and colour, and any page can tell which of
 * them are bricks of its own plan: another bench's, or those of the plan before that still stand. */

const BRICK_COLUMNS = ['panel', 'column', 'row', 'tier', 'columns', 'rows', 'tiers', 'size', 'colour', 'shown'];

/* As bricks.csv has the brick: places count from 1. */
function brickFields(plan, i) {
  const { name, column, row } = plan.panels[plan.panel[i]];
  const [up, out] = plan.wall ? [plan.layer[i], plan.v[i]] : [plan.v[i], plan.layer[i]];
  const [rows, tiers] = plan.wall ? [1, plan.vs[i]] : [plan.vs[i], 1];
  return [name, column + plan.u[i] + 1, row + up + 1, out + 1, plan.us[i], rows, tiers,
    plan.sizes[plan.size[i]].name, plan.colours[plan.colour[i]].id, plan.shown[i]].map(String);
}

/* Text that a spreadsheet would run has an apostrophe before it, as in all tables of a plan. */
const guarded = (text) => (/^[=+\-@\t\r']/.test(text) ? `'${text}` : text);
const unguarded = (text) => (/^'[=+\-@\t\r']/.test(text) ? text.slice(1) : text);
const csvField = (text) => {
  const field = guarded(text);
  return /[",\r\n]/.test(field) ? `"${field.replaceAll('"', '""')}"` : field;
};
const csvLine = (fields) => fields.map(csvField).join(',') + '\r\n';

/* The rows of a table as lists of fields, without empty lines. */
function csvRows(text) {
  const rows = [];
  let row = [];
  for (const [, quoted, bare, end] of text.matchAll(/(?:"((?:[^"]|"")*)"|([^",\r\n]*))(,|\r?\n|$)/g)) {
    row.push(unguarded(quoted === undefined ? bare : quoted.replaceAll('""', '"')));
    if (end === ',') continue;
    if (row.length > 1) rows.push(row);
    row = [];
  }
  return rows;
}

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
    const lines = [csvLine(BRICK_COLUMNS)];
    for (let i = 0; i < this.plan.count; i++) if (this.laid[i]) lines.push(csvLine(brickFields(this.plan, i)));
    return lines.join('');
  }
  /* The plan's brick that such fields tell of, or -1; where its lowest unit is, no other brick is. */
  finder() {
    const { plan } = this;
    const place = (fields) => fields.slice(1, 4).join(' ');
    const at = new Map();
    for (let i = 0; i < plan.count; i++) at.set(place(brickFields(plan, i)), i);
    return (fields) => {
      const i = at.get(place(fields));
      const same = i !== undefined && brickFields(plan, i).slice(1, 9).every((text, k) => text === fields[k + 1]);
      return same ? i : -1;
    };
  }
  /* Adds what a file says; returns how many bricks are new here, and how many of its bricks are none of
   * this plan's. Throws an Error whose message is for people. */
  merge(text, place) {
    const [head = [], ...rows] = csvRows(text.replace(/^\ufeff/, ''));
    const columns = BRICK_COLUMNS.map((name) => head.indexOf(name));
    if (columns.slice(1, 9).some((column) => column < 0))
      throw new Error(`${place}: this is no progress file; choose one that this page saved`);
    const find = this.finder();
    const found = rows.map((row) => find(columns.map((column) => row[column]))).filter((i) => i >= 0);
    if (rows.length && !found.length)
      throw new Error(`${place}: none of its bricks is in this plan; it is the progress of another one`);
    const before = this.total;
    for (const i of found) this.set(i, 1);
    for (const panel of this.plan.panels) this.save(panel);
    return { added: this.total - before, others: rows.length - found.length };
  }
}
