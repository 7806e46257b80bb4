/* Colours: the palette as patches,
  each with the cells that are in it. A patch that is switched off is left out everywhere. */

class Colours {
  constructor(desk) { this.desk = desk; }
  parts() {
    const { face } = this.desk.wall;
    const { regions } = this.desk.brushes;
    if (!face) return [make('p', 'facts', 'There is no face yet.')];
    const used = face.colours.filter(({ cells }) => cells > 0).length;
    const said = `${used} of ${face.colours.length} colours are in use; cells of each. Press one to leave it out.`;
    return [make('p', 'facts', said), make('ul', 'patches', ...face.colours.map((c) => this.patch(c,
      regions.off.includes(c.id))))];
  }
  patch({ id, name, hex, cells }, off) {
    const swatch = make('i');
    swatch.style.background = hex;
    const button = makeButton([swatch, make('b', '', id), make('small', '', off ? 'left out' : plain(cells)),
      make('span', '', name)],
      () => this.desk.brushes.regions.toggleColour(id), `${id}, ${name}, ${plain(cells)} cells`);
    button.id = `colour-${id}`;
    button.setAttribute('aria-pressed', String(!off));
    return make('li', off ? 'off' : cells ? '' : 'idle', button);
  }
}
