/* Plan: the page's two data blocks as arrays, one entry a brick in building order.
 * Places count from 0; people read them from 1. */

function bytesOf(base64) {
  const raw = atob(base64.trim());
  const bytes = new Uint8Array(raw.length);
  for (let i = 0; i < raw.length; i++) bytes[i] = raw.charCodeAt(i);
  return bytes;
}

/* A reader of little-endian base 128; products instead of shifts, since places may pass
 * 32 bits. */
function numbersOf(bytes) {
  let at = 0;
  return () => {
    let value = 0;
    let weight = 1;
    for (;;) {
      const b = bytes[at++];
      value += (b & 127) * weight;
      if (b < 128) return value;
      weight *= 128;
    }
  };
}

function readPlan(head, base64, digest) {
  const n = head.bricks;
  const wall = head.build === 'wall';
  const plan = {
    ...head, wall, digest, count: n,
    aspect: head.cellHeight / head.cellWidth,
    colours: head.colours.map(([id, name, hex, mark, path, white, alike]) =>
      ({ id, name, hex, mark, path, white: white === 1, alike, rgb: channels(hex) })),
    sizes: head.sizes.map(([name, width, length, mass]) => ({ name, width, length, mass })),
    u: new Int32Array(n), v: new Int32Array(n), layer: new Int32Array(n),
    us: new Uint8Array(n), vs: new Uint8Array(n), size: new Uint8Array(n), colour: new Uint8Array(n),
    shown: new Uint8Array(n), care: new Uint8Array(n), panel: new Int32Array(n),
  };
  let first = 0;
  plan.panels = head.panels.map(([name, column, row, columns, rows, count, hanging, advice], index) => {
    const vs = wall ? head.depth : rows;
    const panel = { index, name, column, row, columns, rows, count, hanging, advice, first, vs };
    first += count;
    return panel;
  });
  const next = numbersOf(bytesOf(base64));
  for (const panel of plan.panels) {
    let place = 0;
    for (let i = panel.first; i < panel.first + panel.count; i++) {
      const kind = next();
      const { width, length } = plan.sizes[kind >> 3];
      const upright = kind >> 2 & 1;
      plan.size[i] = kind >> 3;
      plan.us[i] = upright ? width : length;
      plan.vs[i] = upright ? length : width;
      plan.shown[i] = kind >> 1 & 1;
      plan.care[i] = kind & 1;
      plan.colour[i] = next();
      place += next();
      plan.u[i] = place % panel.columns;
      const line = Math.floor(place / panel.columns);
      plan.v[i] = line % panel.vs;
      plan.layer[i] = Math.floor(line / panel.vs);
      plan.panel[i] = panel.index;
    }
  }
  return plan;
}

const byHanging = (plan) => [...plan.panels].sort((a, b) => a.hanging - b.hanging);

/* Where the panel is in the mural, in words. */
const placeText = (p) =>
  `columns ${p.column + 1} to ${p.column + p.columns}, rows ${p.row + 1} to ${p.row + p.rows}`;

const nameText = ({ id, name }) => (name ? `${id} ${name}` : id);

/* The first brick of the panel at or after this layer. */
function layerStart(plan, panel, layer) {
  let low = panel.first;
  let high = panel.first + panel.count;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (plan.layer[middle] < layer) low = middle + 1;
    else high = middle;
  }
  return low;
}

/* For each unit of a layer of a panel, its brick, or -1. */
function layerUnits(plan, panel, layer) {
  const units = new Int32Array(panel.columns * panel.vs).fill(-1);
  const end = layerStart(plan, panel, layer + 1);
  for (let i = layerStart(plan, panel, layer); i < end; i++)
    for (let v = plan.v[i]; v < plan.v[i] + plan.vs[i]; v++)
      units.fill(i, v * panel.columns + plan.u[i], v * panel.columns + plan.u[i] + plan.us[i]);
  return units;
}

/* For each cell of the face, the brick that is outermost there, and how many tiers
 * stand there. */
function faceOf(plan) {
  const brick = new Int32Array(plan.columns * plan.rows).fill(-1);
  const top = new Uint16Array(plan.columns * plan.rows);
  for (let i = 0; i < plan.count; i++) {
    const p = plan.panels[plan.panel[i]];
    const row = p.row + (plan.wall ? plan.layer[i] : plan.v[i]);
    const rows = plan.wall ? 1 : plan.vs[i];
    const outer = plan.wall ? plan.v[i] + plan.vs[i] : plan.layer[i] + 1;
    for (let y = row; y < row + rows; y++)
      for (let cell = y * plan.columns + p.column + plan.u[i], k = 0; k < plan.us[i]; k++, cell++)
        if (outer > top[cell]) {
          top[cell] = outer;
          brick[cell] = i;
        }
  }
  return { brick, top };
}

/* The part of the face that is this panel, as layerUnits has a layer. */
function panelFace(plan, face, panel) {
  const units = new Int32Array(panel.columns * panel.rows);
  for (let row = 0; row < panel.rows; row++) {
    const from = (panel.row + row) * plan.columns + panel.column;
    units.set(face.brick.subarray(from, from + panel.columns), row * panel.columns);
  }
  return units;
}
