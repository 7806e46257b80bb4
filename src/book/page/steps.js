/* Steps: a panel's bricks cut into what is laid at one go: a row, one brick, or the
 * bricks of one colour in a row. And the words for them, the same as on paper. */

const MODES = ['row', 'brick', 'colour'];

/* order[start[k]] to order[start[k + 1] - 1] are the bricks of step k; step[i - first]
 * is the step of brick i. */
function makeSteps(plan, panel, mode) {
  const { first, count } = panel;
  const order = new Int32Array(count);
  for (let k = 0; k < count; k++) order[k] = first + k;
  if (mode === 'colour') {
    const rank = new Float64Array(count);
    for (let k = 0; k < count; k++) {
      const i = first + k;
      rank[k] = ((plan.layer[i] * 256 + plan.colour[i]) * panel.vs + plan.v[i]) * panel.columns + plan.u[i];
    }
    order.sort((a, b) => rank[a - first] - rank[b - first]);
  }
  const same = (a, b) => mode !== 'brick' && plan.layer[a] === plan.layer[b] && plan.v[a] === plan.v[b] &&
    (mode === 'row' || plan.colour[a] === plan.colour[b]);
  const start = [];
  const step = new Int32Array(count);
  for (let k = 0; k < count; k++) {
    if (k === 0 || !same(order[k - 1], order[k])) start.push(k);
    step[order[k] - first] = start.length - 1;
  }
  const steps = start.length;
  start.push(count);
  return { mode, order, start, step, count: steps };
}

/* The row v of a layer's units as runs: equal bricks side by side, cells that an earlier row has
 * filled, cells that stay empty. `cells` is summed over the runs. */
function runsOfRow(plan, panel, v, units) {
  const runs = [];
  let cells = 0;
  let bricks = 0;
  const add = (run) => {
    const last = runs[runs.length - 1];
    cells += run.cells;
    bricks += run.bricks.length;
    if (last && ['kind', 'colour', 'size', 'upright'].every((what) => last[what] === run[what])) {
      last.cells += run.cells;
      last.bricks.push(...run.bricks);
    } else {
      runs.push(run);
    }
  };
  for (let u = 0; u < panel.columns;) {
    const i = units[v * panel.columns + u];
    if (i >= 0 && plan.v[i] === v) {
      add({ kind: 'bricks', u, cells: plan.us[i], bricks: [i], colour: plan.colour[i], size: plan.size[i],
        upright: plan.vs[i] > plan.us[i] });
      u += plan.us[i];
    } else {
      add({ kind: i >= 0 ? 'laid' : 'empty', u, cells: 1, bricks: [] });
      u++;
    }
  }
  return { runs, cells, bricks };
}

const sizeText = (plan, size, upright) => plan.sizes[size].name + (upright ? '↑' : '');

function runText(plan, run) {
  if (run.kind !== 'bricks') return `(${run.cells} ${run.kind})`;
  return `${run.bricks.length}×${plan.colours[run.colour].id} ${sizeText(plan, run.size, run.upright)}`;
}

/* "row 12", or "row 12 tier 2" where the mural has several tiers. */
function rowLabel(plan, panel, layer, v) {
  const row = panel.row + (plan.wall ? layer : v) + 1;
  const tier = (plan.wall ? v : layer) + 1;
  return plan.depth > 1 ? `row ${row} tier ${tier}` : `row ${row}`;
}

/* Bricks by colour and size: [{colour, size, count}], in palette order. */
function countBricks(plan, bricks) {
  const counts = new Map();
  for (const i of bricks) {
    const key = plan.colour[i] * 256 + plan.size[i];
    counts.set(key, (counts.get(key) || 0) + 1);
  }
  return [...counts.keys()].sort((a, b) => a - b)
    .map((key) => ({ colour: key >> 8, size: key & 255, count: counts.get(key) }));
}
