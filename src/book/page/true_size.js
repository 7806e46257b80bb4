/* True size: the chart of the layer in hand on sheets of paper, a cell as large as a cell is, so that
 * bricks can be laid on it. A sheet is what A4 and letter both hold within a margin of 10 mm; lengths
 * are millimetres. A bar tells whether the printer kept the size. */

const SHEET_WIDTH = 186, SHEET_HEIGHT = 236;
const EDGE = 6; /* of the sheet, for numbers */
const BAR = 100;

function makeSvg(name, attributes, text = '') {
  const element = document.createElementNS('http://www.w3.org/2000/svg', name);
  for (const [key, value] of Object.entries(attributes)) element.setAttribute(key, value);
  element.textContent = text;
  return element;
}
const writeSvg = (x, y, size, text, weight = 'normal') => makeSvg('text',
  { x, y, 'font-size': size, 'font-weight': weight, 'text-anchor': 'middle', 'dominant-baseline': 'central' }, text);

/* How many cells a sheet holds, across and up: none where a cell is larger than the sheet. */
const cellsOfSheet = ({ cellWidth, cellHeight }) =>
  [Math.floor((SHEET_WIDTH - EDGE) / cellWidth), Math.floor((SHEET_HEIGHT - EDGE) / cellHeight)];

/* The cells of each sheet, {left, right, low, high}, from the lower left one on. */
function sheetsOf(field, plan) {
  const [across, up] = cellsOfSheet(plan);
  const sheets = [];
  for (let low = 0; low < field.rows; low += up)
    for (let left = 0; left < field.columns; left += across)
      sheets.push({ left, low, right: Math.min(left + across, field.columns), high: Math.min(low + up, field.rows) });
  return sheets;
}

function drawSheet(plan, field, sheet) {
  const { cellWidth: w, cellHeight: h } = plan;
  const [width, height] = [(sheet.right - sheet.left) * w, (sheet.high - sheet.low) * h];
  const size = [EDGE + width + 1, height + EDGE + 1];
  const svg = makeSvg('svg', { width: `${size[0]}mm`, height: `${size[1]}mm`,
    viewBox: `${-EDGE} -1 ${size.join(' ')}` });
  const y = (row) => height - (row - sheet.low) * h;
  field.whole = sheet;
  field.eachBrick(sheet, (i, column, row, us, vs) => {
    const { id, mark, rgb } = plan.colours[plan.colour[i]];
    const x = (column - sheet.left) * w;
    const fill = `rgb(${rgb.map((c) => Math.round(0.2 * c + 204)).join(' ')})`;
    svg.append(makeSvg('rect', { x, y: y(row + vs), width: us * w, height: vs * h, fill, class: 'brick' }));
    const text = `${mark} ${id}`;
    const turned = vs * h > us * w;
    const [along, across] = [us * w, vs * h].sort((a, b) => b - a);
    const word = writeSvg(0, 0, Math.min(0.5 * across, 4, along / (0.62 * text.length)), text, 'bold');
    word.setAttribute('transform', `translate(${x + us * w / 2} ${y(row + vs / 2)})${turned ? ' rotate(-90)' : ''}`);
    svg.append(word);
  });
  for (let column = sheet.left; column < sheet.right; column++)
    svg.append(writeSvg((column - sheet.left + 0.5) * w, height + EDGE / 2, 2.6, field.originColumn + column + 1));
  for (let row = sheet.low; row < sheet.high; row++)
    svg.append(writeSvg(-EDGE / 2, y(row + 0.5), 2.6, field.originRow + row + 1));
  return svg;
}

/* The bar that is as long as it says, beside what to do where it is not. */
function drawBar() {
  const svg = makeSvg('svg', { width: `${BAR + 1}mm`, height: '3mm', viewBox: `-0.5 0 ${BAR + 1} 3` });
  svg.append(makeSvg('path', { d: `M0 0v3M0 1.5h${BAR}M${BAR} 0v3`, class: 'brick', fill: 'none' }));
  return svg;
}

function printTrueSize(paper, bench) {
  const { plan, field, panel, layer } = bench;
  const sheets = sheetsOf(field, plan);
  const tier = plan.wall || plan.depth === 1 ? '' : `, tier ${layer + 1}`;
  sheets.forEach((sheet, k) => {
    const { left, right, low, high } = sheet;
    const place = placeText({ column: field.originColumn + left, columns: right - left,
      row: field.originRow + low, rows: high - low });
    paper.append(make('div', 'true-size',
      make('p', '', make('b', '', `Panel ${panel.name}${tier}`), `, sheet ${k + 1} of ${sheets.length}: ${place}`),
      make('p', 'bar', drawBar(), ` ${BAR} mm: print at 100 %, not fitted to the page`),
      drawSheet(plan, field, sheet)));
  });
}
