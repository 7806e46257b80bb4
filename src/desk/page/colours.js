/* Colours: the palette as patches,
  each with the cells that are in it. A patch that is switched off is left out everywhere. */

class Colours {
  constructor(desk) { this.desk = desk; }
  parts() {
    const { face } = this.desk.wall;
    const { regions } = this.desk.brushes;
    const measure = this.desk.photos.colours.parts();
    if (!face) return [make('p', 'facts', 'There is no face yet.'), ...measure];
    const used = face.colours.filter(({ cells }) => cells > 0).length;
    const said = `${used} of ${face.colours.length} colours are in use; cells of each. Press one to leave it out.`;
    return [make('p', 'facts', said), make('ul', 'patches', ...face.colours.map((c) => this.patch(c,
      regions.off.includes(c.id)))), ...measure];
  }
  patch({ id, name, hex, cells, within }, off) {
    const swatch = make('i');
    swatch.style.background = hex;
    const button = makeButton([swatch, make('b', '', id), make('small', '', off ? 'left out' : plain(cells)),
      make('span', '', name)],
      () => this.desk.brushes.regions.toggleColour(id), `${id}, ${name}, ${plain(cells)} cells`);
    if (within) button.title = `measured: nine of ten such colours lie within ${within.toFixed(1)}`;
    button.id = `colour-${id}`;
    button.setAttribute('aria-pressed', String(!off));
    return make('li', off ? 'off' : cells ? '' : 'idle', button);
  }
}
