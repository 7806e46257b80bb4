/* Key: the colours as a table that is searched. */

/* Why two colours are taken for each other on a screen, as bits of the plan, and whose eyes each
 * choice is for. Grey print is no reason here: a screen shows colours. */
const ALIKE = [[2, 'without red cones'], [4, 'without green cones'], [8, 'without blue cones']];
const EYES = { any: 14, red: 2, green: 4, blue: 8, none: 0 };

/* [colour, why] of each that such eyes could take for this one. */
const alikeTo = (plan, colour, eyes) => plan.colours[colour].alike.filter(([, why]) => why & EYES[eyes])
  .map(([other, why]) => [other, why & EYES[eyes]]);

/* The same in words, by reason: "A1, B2 without red cones; A1 without green cones". */
function alikeText(plan, colour, eyes) {
  const alike = alikeTo(plan, colour, eyes);
  return ALIKE.map(([bit, text]) => {
    const ids = alike.filter(([, why]) => why & bit).map(([other]) => plan.colours[other].id);
    return ids.length ? `${ids.join(', ')} ${text}` : '';
  }).filter(Boolean).join('; ');
}

class Key {
  constructor(book) {
    Object.assign(this, { book, plan: book.plan });
    byId('key-search').addEventListener('input', () => this.search());
  }
  /* Bricks of each colour: in all, not laid, and of each size. */
  count() {
    const { plan } = this;
    const { laid } = this.book.progress;
    const counts = plan.colours.map(() => ({ all: 0, left: 0, sizes: new Map() }));
    for (let i = 0; i < plan.count; i++) {
      const c = counts[plan.colour[i]];
      c.all++;
      if (!laid[i]) c.left++;
      c.sizes.set(plan.size[i], (c.sizes.get(plan.size[i]) || 0) + 1);
    }
    return counts;
  }
  show() {
    const counts = this.count();
    this.rows = [];
    counts.forEach((c, k) => { if (c.all) this.rows.push({ colour: k, row: this.rowOf(k, c) }); });
    byId('key-rows').replaceChildren(...this.rows.map(({ row }) => row));
    this.search();
  }
  rowOf(colour, counts) {
    const { plan } = this;
    const c = plan.colours[colour];
    const sizes = [...counts.sizes].sort((a, b) => a[0] - b[0])
      .map(([size, n]) => `${plan.sizes[size].name}: ${plain(n)}`).join(', ');
    const button = makeButton(['Light'], () => this.book.lightColour(colour), `Light ${nameText(c)} on the wall`);
    return makeRow(makeRowHead(swatch(plan, colour)), c.name, plain(counts.all), plain(counts.left), sizes,
      alikeText(plan, colour, this.book.eyes), button);
  }
  search() {
    const words = byId('key-search').value.trim().toLowerCase();
    let found = 0;
    for (const { colour, row } of this.rows) {
      const c = this.plan.colours[colour];
      const is = words === '' || c.id.toLowerCase() === words || c.mark === words ||
        nameText(c).toLowerCase().includes(words);
      row.hidden = !is;
      if (!row.hidden) found++;
    }
    byId('key-found').textContent = words === '' ? many(found, 'colour') : `${many(found, 'colour')} found`;
  }
}
