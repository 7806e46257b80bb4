/* Strip: the shelf on which all versions stand, the newest first. One click puts a version on the
 * wall again; keeping it gives it a name and holds it against others. */

class Strip {
  constructor(desk) {
    this.desk = desk;
    this.cards = new Map();
  }
  async load() {
    this.versions = await ask('/versions');
    const newest = [...this.versions].reverse();
    byId('strip').replaceChildren(...newest.map((v) => this.card(v)));
    this.desk.wall.setVersions(this.versions);
    this.mark();
  }
  mark() {
    for (const card of byId('strip').children) {
      const now = Number(card.dataset.version) === this.desk.state.now;
      card.classList.toggle('now', now);
      const button = card.querySelector('.hang');
      if (now) button.setAttribute('aria-current', 'true');
      else button.removeAttribute('aria-current');
    }
  }
  card(v) {
    const small = make('img');
    small.alt = '';
    small.loading = 'lazy';
    if (v.figures) small.src = `/version?version=${v.version}`;
    const title = v.name || v.what;
    const hang = makeButton([small, make('b', '', title),
      ...this.figuresText(v).map((text) => make('span', '', text))],
      () => this.desk.go(v.version), `Version ${v.version + 1}: ${title}. ${this.figuresText(v).join('; ')}`);
    hang.className = 'hang';
    const keep = makeButton([v.kept ? 'kept' : 'keep'], () => this.keep(v),
      `${v.kept ? 'Let go of' : 'Keep'} version ${v.version + 1}`);
    keep.className = 'keep';
    keep.setAttribute('aria-pressed', String(v.kept));
    const more = v.kept ? [this.namePlate(v), this.compareButton(v)] : [];
    const card = make('li', v.kept ? 'card kept' : 'card', hang, ...more, keep);
    card.dataset.version = v.version;
    return card;
  }
  figuresText({ figures }) {
    if (!figures) return ['', ''];
    const price = figures.price > 0 ? ` · ${money(figures.price)}` : '';
    const unrest = figures.unrest ? ` · unrest ${figures.unrest.toFixed(2)}` : '';
    return [`${plain(figures.bricks)} bricks${price} · ${hoursText(figures.hours)}`,
      `error ${figures.error.toFixed(1)}${unrest}`];
  }
  keep(v) { this.desk.act(() => tell('/name', { version: v.version, name: v.kept ? '' : v.name || '',
    kept: !v.kept })); }
  namePlate(v) {
    const input = make('input', 'plate');
    Object.assign(input, { type: 'text', value: v.name || '', placeholder: v.what, maxLength: 40 });
    input.setAttribute('aria-label', `Name of version ${v.version + 1}`);
    input.addEventListener('change', () => this.desk.act(() =>
      tell('/name', { version: v.version, name: input.value.trim(), kept: true })));
    return input;
  }
  compareButton(v) {
    const button = makeButton(['beside'], () => this.desk.wall.compare(String(v.version)),
      `Compare with version ${v.version + 1}`);
    button.className = 'beside';
    return button;
  }
}
