/* Wall: the whole face as a map, and the panels as a list. */

class Wall {
  constructor(book) {
    const { plan } = book;
    Object.assign(this, { book, plan, colour: -1, stale: true });
    this.field = new Field(plan, book.inks, plan.columns, plan.rows, book.face.brick, 0, 0);
    this.state = (i) => {
      if (this.colour >= 0) return plan.colour[i] === this.colour ? FULL : OFF;
      return book.progress.laid[i] ? LAID : FULL;
    };
    this.view = new View(byId('wall-canvas'), (context, view) => this.paint(context, view),
      (u, v) => this.tap(this.field.brickAt(u, v)));
    this.view.setField(plan.columns, plan.rows, plan.aspect);
    this.fillColours();
    this.fillPanels();
    byId('wall-facts').textContent = this.facts();
    byId('wall-cautions').append(...plan.cautions.map((text) => make('li', '', text)));
    byId('wall-colour').addEventListener('change', ({ target: { value } }) =>
      this.light(value === '' ? -1 : Number(value)));
  }
  facts() {
    const { title, columns, rows, cellWidth, cellHeight, count, panels } = this.plan;
    const size = [columns * cellWidth, rows * cellHeight].map((length) => plain(Math.round(length))).join(' × ');
    return `${title}: ${plain(columns)} × ${plain(rows)} cells, ${size} mm, ` +
      `${many(count, 'brick')}, ${many(panels.length, 'panel')}`;
  }
  fillColours() {
    const used = new Set(this.plan.colour);
    this.plan.colours.forEach((c, k) => {
      if (!used.has(k)) return;
      const option = make('option', '', `${c.id} ${c.mark} ${c.name}`);
      option.value = String(k);
      byId('wall-colour').append(option);
    });
  }
  fillPanels() {
    this.items = [];
    byId('wall-panels').append(...byHanging(this.plan).map((panel) => {
      const button = makeButton([panel.name, make('small')], () => this.book.openPanel(panel.index));
      this.items[panel.index] = button;
      return make('li', '', button);
    }));
    rove(byId('wall-panels'));
  }
  /* Progress of this panel (or of any) has changed: what shows it is made anew when the wall
   * is next seen. */
  touch(panel) {
    this.stale = true;
    this.tellPanel(panel);
  }
  tellPanel(panel) {
    const laid = this.book.progress.count[panel.index];
    const button = this.items[panel.index];
    button.lastChild.textContent = laid === panel.count ? 'done'
      : laid ? `${plain(laid)} of ${plain(panel.count)}` : many(panel.count, 'brick');
    button.classList.toggle('full', laid === panel.count);
  }
  show() {
    if (this.stale) this.recolour();
    for (const panel of this.plan.panels) this.tellPanel(panel);
    setMeter(byId('wall-meter'), this.book.progress.total, this.plan.count);
    setLabel('wall-canvas', `The wall, ${many(this.plan.panels.length, 'panel')}, ` +
      `${this.book.progress.said()}. The list of panels says the same.`);
    this.view.draw();
  }
  recolour() {
    this.field.colour(this.state);
    this.stale = false;
    this.view.draw();
  }
  light(colour) {
    this.colour = colour;
    byId('wall-colour').value = colour < 0 ? '' : String(colour);
    const alike = colour < 0 ? '' : alikeText(this.plan, colour, this.book.eyes);
    byId('wall-alike').hidden = !alike;
    byId('wall-alike').textContent = alike && `${this.plan.colours[colour].id} is not to be taken for ${alike}.`;
    this.recolour();
  }
  tap(i) {
    if (i >= 0) this.book.openPanel(this.plan.panel[i]);
  }
  paint(context, view) {
    const { laid } = this.book.progress;
    this.field.paint(context, view, this.colour < 0 ? null : this.state);
    if (this.colour < 0 && this.book.progress.total) this.field.paintFront(context, view, (i) => laid[i] === 1);
    this.paintPanels(context, view);
    paintNumbers(context, view, this.field, null);
  }
  paintPanels(context, view) {
    const { inks } = this.book;
    context.lineWidth = 2.5;
    context.textAlign = 'center';
    context.textBaseline = 'middle';
    for (const p of this.plan.panels) {
      const x = view.left(p.column);
      const y = view.upper(p.row + p.rows);
      const width = p.columns * view.scale;
      const height = p.rows * view.scale * view.aspect;
      context.strokeStyle = inks.ink;
      context.strokeRect(x, y, width, height);
      if (view.scale <= 12 * view.text) this.paintName(context, view.text, p, { x, y, width, height });
    }
  }
  /* The panel's name and how much of it is laid, as far as there is room. */
  paintName(context, text, panel, { x, y, width, height }) {
    const { inks, progress } = this.book;
    const laid = progress.count[panel.index];
    const lines = [[panel.name, 'bold'], [`${plain(laid)} of ${plain(panel.count)}`, '']];
    const line = 19 * text;
    lines.forEach(([words, weight], k) => {
      context.font = font(13 * text, weight);
      const wide = context.measureText(words).width + 10 * text;
      if (wide + 6 > width || (k + 1) * line + 6 > height || (k && !progress.total)) return;
      context.fillStyle = inks.card;
      context.fillRect(x + 3, y + 3 + k * line, wide, line);
      context.fillStyle = inks.ink;
      context.fillText(words, x + 3 + wide / 2, y + 3 + (k + 0.53) * line);
    });
  }
}
