/* Key: the colours as cards that are searched. */

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
    this.cards = [];
    counts.forEach((c, k) => { if (c.all) this.cards.push({ colour: k, card: this.cardOf(k, c) }); });
    byId('key-cards').replaceChildren(...this.cards.map(({ card }) => card));
    this.search();
  }
  cardOf(colour, counts) {
    const { plan } = this;
    const c = plan.colours[colour];
    const sizes = [...counts.sizes].sort((a, b) => a[0] - b[0])
      .map(([size, n]) => `${plain(n)} × ${plan.sizes[size].name}`).join(', ');
    const alike = alikeText(plan, colour, this.book.eyes);
    const button = makeButton(['Light'], () => this.book.lightColour(colour), `Light ${nameText(c)} on the wall`);
    const head = make('h3', '', swatch(plan, colour), ' ', make('span', 'name', c.name));
    const left = counts.left === counts.all ? many(counts.all, 'brick')
      : `${plain(counts.left)} of ${many(counts.all, 'brick')} to go`;
    return make('li', '', head, make('p', '', left), button, make('p', 'small', sizes),
      ...(alike ? [make('p', 'small', `Not to be taken for ${alike}.`)] : []));
  }
  search() {
    const words = byId('key-search').value.trim().toLowerCase();
    let found = 0;
    for (const { colour, card } of this.cards) {
      const c = this.plan.colours[colour];
      const is = words === '' || c.id.toLowerCase() === words || c.mark === words ||
        nameText(c).toLowerCase().includes(words);
      card.hidden = !is;
      if (is) found++;
    }
    byId('key-found').textContent = words === '' ? many(found, 'colour') : `${many(found, 'colour')} found`;
  }
}
