/* Cost: what a version takes, always in the same places: above the wall for the version that hangs there, and
 * below it for two that are compared. Figures change in their places, so that nothing else moves. */

const money = (value) => plain(value < 100 ? value.toFixed(2) : Math.round(value));
const hoursText = (hours) => (hours < 10 ? `${hours.toFixed(1)} h` : `${plain(Math.round(hours))} h`);
const massText = (kg) => (kg < 10 ? `${kg.toFixed(1)} kg` : `${plain(Math.round(kg))} kg`);
const metreText = (mm) => (mm < 1000 ? `${Math.round(mm)} mm` : `${(mm / 1000).toFixed(2)} m`);

/* Each has a name in the page, a value of what a version takes, and a text of that. What is minor gives way where
 * there is little room. */
const FIGURES = [
  { name: 'bricks', text: plain }, { name: 'colours', text: plain }, { name: 'sizes', text: plain },
  { name: 'mass', text: massText }, { name: 'price', text: money }, { name: 'hours', text: hoursText },
  { name: 'panels', text: plain }, { name: 'crates', text: plain },
  { name: 'error', text: (value) => value.toFixed(1) },
  { name: 'unrest', text: (value) => value.toFixed(2), minor: true },
];
const NONE = '–';

const figureText = ({ name, text }, cost) => {
  const value = cost?.[name];
  return value === null || value === undefined || (name === 'price' && !(value > 0)) ? NONE : text(value);
};

/* The line above the wall. Until a new version's figures are there, those of the last one stay, in grey. */
class Cost {
  constructor() {
    this.values = new Map();
    byId('cost').append(this.entry('size', 'true size', 'minor'), ...FIGURES.map(({ name, minor }) =>
      this.entry(name, name, minor ? 'minor' : '')));
  }
  entry(name, said, kind) {
    const [title, value] = [make('dt', '', said), make('dd', '', NONE)];
    const element = make('div', kind, title, value);
    element.dataset.figure = name;
    this.values.set(name, { element, title, value });
    return element;
  }
  set(name, text) {
    const { value } = this.values.get(name);
    if (value.textContent !== text) value.textContent = text;
  }
  show(cost, settings, busy) {
    byId('cost').classList.toggle('stale', busy || !cost);
    if (!cost) return;
    this.set('size', `${metreText(cost.width)} × ${metreText(cost.height)}`);
    for (const figure of FIGURES) this.set(figure.name, figureText(figure, cost));
    this.showPrice(cost, settings);
  }
  /* The price is that of the quote: bricks, sheets and labour, as far as they have one. */
  showPrice({ price, priced }, { budget, currency }) {
    const { element, title } = this.values.get('price');
    const limit = Number(budget);
    const over = limit > 0 && price > limit;
    const said = priced || !(price > 0) ? 'price' : 'without bricks';
    title.textContent = over ? 'over the budget' : said;
    if (price > 0) this.set('price', [money(price), ...(limit > 0 ? ['of', money(limit)] : []),
      ...(currency ? [currency] : [])].join(' '));
    element.classList.toggle('over', over);
    element.classList.toggle('limited', limit > 0);
    element.style.setProperty('--spent', `${clamp(100 * price / limit, 0, 100) || 0}%`);
  }
}

/* Two versions side by side: a row of figures each, and what the second takes more or less than the first. */
class Pair {
  constructor() {
    this.table = byId('pair');
    byId('pair-names').append(...FIGURES.map(({ name, minor }) => {
      const head = make('th', minor ? 'minor' : '', name);
      head.scope = 'col';
      return head;
    }));
  }
  /* left, right: {title, cost}; the right one's title is chosen. null puts the table away. */
  show(left, right) {
    this.table.hidden = !left;
    if (!left) return;
    const key = JSON.stringify([left, right]);
    if (key === this.shown) return;
    this.shown = key;
    byId('pair-left').replaceChildren(this.head(left.title), ...this.cells(left.cost));
    byId('pair-right').replaceChildren(byId('pair-right').firstElementChild, ...this.cells(right.cost));
    byId('pair-less').replaceChildren(this.head('difference'), ...FIGURES.map((figure) =>
      make('td', figure.minor ? 'minor' : '', this.less(figure, left.cost, right.cost))));
  }
  head(text) {
    const head = make('th', '', text);
    head.scope = 'row';
    return head;
  }
  cells(cost) { return FIGURES.map((figure) => make('td', figure.minor ? 'minor' : '', figureText(figure, cost))); }
  less({ name, text }, left, right) {
    const [a, b] = [left?.[name], right?.[name]];
    if (typeof a !== 'number' || typeof b !== 'number') return '';
    const said = text(Math.abs(b - a));
    return /[1-9]/.test(said) ? `${b > a ? '+' : '−'}${said}` : '=';
  }
}
