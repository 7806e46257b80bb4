/* Colours: the palette as patches, each with the cells that are in it, those that are used most
 * first. */

class Colours {
  constructor(desk) { this.desk = desk; }
  element() {
    const { face } = this.desk.wall;
    if (!face) return make('p', 'facts', 'There is no face yet.');
    const used = face.colours.filter(({ cells }) => cells > 0);
    const patches = [...face.colours].sort((a, b) => b.cells - a.cells).map((colour) => this.patch(colour));
    const said = make('p', 'facts', `${used.length} of ${face.colours.length} colours are in use; cells of each.`);
    return make('div', 'palette', said, make('ul', 'patches', ...patches));
  }
  patch({ id, name, hex, cells }) {
    const swatch = make('i');
    swatch.style.background = hex;
    const patch = make('li', cells ? '' : 'idle', swatch, make('b', '', id), make('span', '', name), make('small', '', plain(cells)));
    return patch;
  }
}
