/* Key: the colours as a table that is searched. */

const ALIKE = [[1, 'in grey print'], [2, 'without red cones'], [4, 'without green cones'], [8, 'without blue cones']];

/* The colours that could be taken for this one, and by whom. */
function alikeText(plan, colour) {
  return plan.colours[colour].alike.map(([other, why]) => {
    const reasons = ALIKE.filter(([bit]) => why & bit).map(([, text]) => text);
    return `${plan.colours[other].id} (${reasons.join(', ')})`;
  }).join('; ');
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
      alikeText(plan, colour), button);
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
