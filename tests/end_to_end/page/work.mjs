/* Lays the sample plans with the page in a browser, as people at a bench do. The outside sources:
 * bricks.csv and rows.csv for what is shown. */
import assert from 'node:assert/strict';
import { execFileSync } from 'node:child_process';
import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { closeBook, launch, openBook, readTable, run, sizes, until } from './bench.mjs';
import { bookOf, bricksOf, planOf, plans, samples } from './samples.mjs';

const browser = await launch();

/* The brick as bricks.csv has it, places from 1. */
function brickFacts(plan, i) {
  const p = plan.panels[plan.panel[i]];
  return {
    panel: p.name,
    column: p.column + plan.u[i] + 1,
    row: p.row + (plan.wall ? plan.layer[i] : plan.v[i]) + 1,
    tier: (plan.wall ? plan.v[i] : plan.layer[i]) + 1,
    columns: plan.us[i],
    rows: plan.wall ? 1 : plan.vs[i],
    tiers: plan.wall ? plan.vs[i] : 1,
    size: plan.sizes[plan.size[i]].name,
    colour: plan.colours[plan.colour[i]].id,
    shown: plan.shown[i],
  };
}

/* Each brick that the page holds is the brick of the same line of bricks.csv. */
function dataIsConserved() {
  for (const name of ['flat', 'wall', 'relief']) {
    const plan = planOf(name);
    const bricks = bricksOf(name);
    assert.equal(plan.count, bricks.length);
    bricks.forEach((brick, i) => {
      const facts = brickFacts(plan, i);
      for (const key of Object.keys(brick))
        assert.equal(String(facts[key]), brick[key], `${name}, brick ${i}, ${key}`);
    });
  }
}

/* The runs of each row, spelled out brick by brick, are the lines of rows.csv, and the cells of a
 * row's runs sum to the panel's width. */
function runsSayTheRows() {
  for (const name of ['flat', 'wall', 'relief']) {
    const plan = planOf(name);
    const told = [];
    for (const panel of plan.panels) {
      const layers = plan.wall ? panel.rows : plan.depth;
      for (let layer = 0; layer < layers; layer++) {
        const units = plans.layerUnits(plan, panel, layer);
        for (let v = 0; v < panel.vs; v++) {
          const { runs, cells } = plans.runsOfRow(plan, panel, v, units);
          assert.equal(cells, panel.columns);
          let nth = 0;
          const [row, tier] = plan.wall ? [layer, v] : [v, layer];
          for (const { u, bricks, size, colour } of runs.filter((r) => r.kind === 'bricks')) {
            let column = panel.column + u + 1;
            for (const brick of bricks) {
              told.push({ panel: panel.name, row: String(panel.row + row + 1), tier: String(tier + 1),
                nth: String(++nth), column: String(column), size: plan.sizes[size].name,
                colour: plan.colours[colour].id });
              column += plan.us[brick];
            }
          }
        }
      }
    }
    assert.deepEqual(told, readTable(join(samples, name, 'rows.csv')));
  }
}

/* What the bench says of the step in hand: {row, tier, count}, by the text of the live region. */
function stepOf(text) {
  const m = /row (\d+)(?: tier (\d+))?: (\d+) bricks?;/.exec(text);
  return m && { row: m[1], tier: m[2] || '1', count: Number(m[3]), text };
}

/* Presses keys one after another; tells what the live region said before each, as the page notes it: to
 * ask the page every time takes longer than the key. */
async function saidBefore(page, keys) {
  await page.evaluate(() => {
    window.said = [];
    window.addEventListener('keydown', () => window.said.push(document.getElementById('say').textContent), true);
  });
  for (const key of keys) await page.keyboard.press(key);
  return page.evaluate(() => window.said);
}

const laidShown = async (page) => Number((await page.textContent('#bench-laid')).replaceAll(',', ''));

/* Presses a button as a key does, at once: a click soon after another would count as its double. */
const press = (page, id) => page.evaluate((name) => document.getElementById(name).click(), id);

/* A whole panel to its end by keyboard alone, each step as rows.csv has it, with a reload in the
 * middle; nothing is asked of a network. */
async function keyboardBuildsAPanel() {
  for (const name of ['flat', 'wall', 'relief']) {
    const page = await openBook(browser, bookOf(name));
    const rows = readTable(join(samples, name, 'rows.csv')).filter((r) => r.panel === 'r1c1');
    const steps = [];
    for (const r of rows) {
      const last = steps[steps.length - 1];
      if (last && last.row === r.row && last.tier === r.tier) last.bricks.push(r);
      else steps.push({ row: r.row, tier: r.tier, bricks: [r] });
    }
    await page.focus('#go-bench');
    await page.keyboard.press('Enter');
    await page.evaluate(() => document.activeElement.blur());
    const keys = [...steps.keys()].map((k) => ['ArrowRight', 'PageDown', 'Space'][k % 3]);
    const half = Math.floor(steps.length / 2);
    const said = await saidBefore(page, keys.slice(0, half));
    await page.reload();
    said.push(...await saidBefore(page, keys.slice(half)));
    assert.equal(said.length, steps.length);
    said.map(stepOf).forEach(({ row, tier, count, text }, k) => {
      const step = steps[k];
      assert.deepEqual([row, tier, count], [step.row, step.tier, step.bricks.length], `${name}, step ${k}`);
      for (const b of step.bricks) assert.ok(text.includes(` of ${b.colour} `) && text.includes(`, ${b.size}`), text);
    });
    assert.equal(await laidShown(page), rows.length);
    assert.match(await page.textContent('#say'), /r1c1 is done/);
    assert.equal(await page.isDisabled('#bench-done'), true);
    assert.equal(await page.isVisible('#bench-runs'), false, 'a row of a panel that is done');
    await page.keyboard.press('Backspace');
    assert.equal(await laidShown(page), rows.length - steps[steps.length - 1].bricks.length);
    assert.deepEqual(page.asked, []);
    assert.deepEqual(page.broken, []);
    await closeBook(page);
  }
}

/* The same by touch on a phone, colour by colour: each step's bricks are of one colour and one
 * row, and together they are the panel. */
async function touchBuildsAPanel() {
  const page = await openBook(browser, bookOf('flat'), { viewport: sizes.phone, hasTouch: true, isMobile: true });
  const bricks = bricksOf('flat').filter((b) => b.panel === 'r1c2');
  await page.tap('#wall-panels li:nth-child(2) button');
  await page.tap('input[value=colour]', { force: true });
  const lit = new Set();
  let laid = 0;
  const bench = () => page.evaluate(() => {
    const [done, said, shown] = ['bench-done', 'say', 'bench-laid'].map((id) => document.getElementById(id));
    return { open: !done.disabled, said: said.textContent, shown: Number(shown.textContent.replaceAll(',', '')) };
  });
  let now = await bench();
  for (let guard = 0; guard < 2000 && now.open; guard++) {
    const { count, text } = stepOf(now.said);
    const ids = new Set([...text.matchAll(/ of ([A-Z]\d+) /g)].map((m) => m[1]));
    assert.equal(ids.size, 1);
    lit.add([...ids][0]);
    if (guard === 0) await page.tap('#bench-done');
    else await press(page, 'bench-done');
    laid += count;
    now = await bench();
    assert.equal(now.shown, laid);
    if (guard === 9) {
      await page.reload();
      now = await bench();
    }
  }
  assert.equal(laid, bricks.length);
  assert.deepEqual([...lit].sort(), [...new Set(bricks.map((b) => b.colour))].sort());
  assert.deepEqual(page.broken, []);
  await closeBook(page);
}

/* Brick by brick: as many steps as bricks; Back takes back one, and may be held to the start. */
async function brickByBrick() {
  const page = await openBook(browser, bookOf('flat'));
  await page.click('#go-bench');
  await page.click('label:has(input[value=brick])');
  const bricks = bricksOf('flat').filter((b) => b.panel === 'r1c1');
  assert.equal(await page.textContent('#bench-step'), `1 of ${bricks.length}`);
  for (let i = 0; i < 5; i++) {
    assert.ok((await page.textContent('#say')).includes(`from column ${bricks[i].column}, 1 of ${bricks[i].colour} `));
    await page.keyboard.press('PageDown');
  }
  await page.reload();
  for (let i = 5; i > 0; i--) {
    assert.equal(await laidShown(page), i);
    await press(page, 'bench-back');
  }
  assert.equal(await laidShown(page), 0);
  assert.equal(await page.isDisabled('#bench-back'), true);
  await closeBook(page);
}

async function exported(page) {
  await page.click('#go-keep');
  const [download] = await Promise.all([page.waitForEvent('download'), page.click('#keep-export')]);
  return readFileSync(await download.path());
}
async function imported(page, buffer, name = 'bench.csv') {
  await page.click('#go-keep');
  await page.evaluate(() => { document.getElementById('keep-said').textContent = ''; });
  await page.setInputFiles('#keep-import', { name, mimeType: 'text/csv', buffer });
  await until(page, () => document.getElementById('keep-said').textContent !== '');
  return page.textContent('#keep-said');
}

/* Two benches, each with a part of one panel and one panel of its own, become one: the union, once,
 * and the other way round the same file. Files of other plans, and no files at all, change nothing. */
async function benchesAreMerged() {
  const benches = [];
  for (const [count, other] of [[3, 2], [5, 3]]) {
    const page = await openBook(browser, bookOf('flat'));
    await page.click('#go-bench');
    for (let i = 0; i < count; i++) await press(page, 'bench-done');
    await page.click('#go-wall');
    await page.click(`#wall-panels li:nth-child(${other}) button`);
    await page.click('#bench-done');
    benches.push({ page, file: await exported(page) });
  }
  const lines = (file) => String(file).trimEnd().split('\r\n').slice(1);
  const told = readFileSync(join(samples, 'flat', 'bricks.csv'), 'utf8').split('\r\n');
  const sets = benches.map(({ file }) => lines(file));
  assert.ok(sets.every((set) => set.length && set.every((line) => told.includes(line))), 'lines of bricks.csv');
  const [a, b] = benches;
  assert.match(await imported(a.page, b.file), /[1-9]\d* bricks? added/);
  assert.match(await imported(b.page, a.file), /[1-9]\d* bricks? added/);
  const merged = await exported(a.page);
  assert.deepEqual(merged, await exported(b.page));
  assert.deepEqual(lines(merged).sort(), [...new Set(sets.flat())].sort());
  const other = readFileSync(join(samples, 'wall', 'bricks.csv'));
  assert.match(await imported(a.page, other, 'other.csv'), /other.csv: .*another one/);
  for (const wrong of ['', '{}', 'panel,row\r\nr1c1,1\r\n', String(merged).replace('colour', 'color')])
    assert.match(await imported(a.page, Buffer.from(wrong), 'wrong.csv'), /^wrong.csv: this is no progress/);
  const turned = String(merged).replace(/\r\nr1c1,1,1,[^\r]*/, (line) => line.replace(/,[A-Z]\d+,/, ',Z9,'));
  assert.match(await imported(a.page, Buffer.from(turned), 'turned.csv'), /0 bricks added. 1 brick of it is not/);
  assert.deepEqual(await exported(a.page), merged);
  for (const { page } of benches) {
    assert.deepEqual(page.broken, []);
    await closeBook(page);
  }
}

/* Where the browser refuses storage the page says so, and works. */
async function worksWithoutStorage() {
  const page = await openBook(browser, bookOf('flat'), {
    before: () => Object.defineProperty(window, 'localStorage',
      { get() { throw new DOMException('no', 'SecurityError'); } }) });
  assert.equal(await page.isVisible('#warning'), true);
  await page.click('#go-bench');
  await page.click('#bench-done');
  const laid = await laidShown(page);
  assert.ok(laid > 0);
  const file = await exported(page);
  await page.reload();
  assert.match(await imported(page, file), new RegExp(`${laid} bricks added`));
  assert.deepEqual(page.broken, []);
  await closeBook(page);
}

/* Two tabs of one browser follow each other. */
async function tabsFollow() {
  const page = await openBook(browser, bookOf('flat'));
  const second = await page.context().newPage();
  await second.goto(page.url());
  await page.click('#go-bench');
  await page.click('#bench-done');
  const laid = await laidShown(page);
  await second.click('#go-keep');
  await until(second, (n) => document.getElementById('keep-facts').textContent.startsWith(`${n} of`) ||
    (document.getElementById('go-keep').click(), false), laid);
  await closeBook(page);
}

/* A row that is asked for is found; what stands before it can be marked as laid at once. */
async function jumpsToARow() {
  const page = await openBook(browser, bookOf('flat'));
  await page.click('#go-bench');
  await page.click('#bench summary');
  await page.fill('#bench-jump', '6');
  await page.keyboard.press('Enter');
  assert.equal(await page.textContent('#bench-row'), 'Row 6');
  await page.click('#bench-before');
  const before = bricksOf('flat').filter((b) => b.panel === 'r1c1' && Number(b.row) < 6).length;
  assert.equal(await laidShown(page), before);
  await page.fill('#bench-jump', '99');
  await page.click('#bench-go');
  assert.match(await page.textContent('#say'), /Rows 1 to 10/);
  page.on('dialog', (dialog) => dialog.accept());
  await page.click('#bench-anew');
  assert.equal(await laidShown(page), 0);
  await closeBook(page);
}

/* What a hand does by mistake: a stray tap on a brick far up is taken back by one Back, and so are bricks
 * that were marked; a double click lays one row, and so does a key that is held. The screen is kept on
 * at the bench alone. */
async function mistakesAreTakenBack() {
  const page = await openBook(browser, bookOf('flat'), { before: () => {
    window.locks = { now: 0, ever: 0 };
    const request = async () => {
      window.locks.now++;
      window.locks.ever++;
      return { released: false, async release() { this.released = true; window.locks.now--; } };
    };
    Object.defineProperty(navigator, 'wakeLock', { value: { request } });
  } });
  const row = () => page.textContent('#bench-row');
  const step = async () => Number.parseInt(await page.textContent('#bench-step'), 10);
  await page.click('#go-bench');
  await page.dblclick('#bench-done');
  assert.equal(await step(), 2);
  for (let i = 0; i < 4; i++) await page.keyboard.down('PageDown');
  await page.keyboard.up('PageDown');
  await page.focus('#bench-done');
  for (let i = 0; i < 4; i++) await page.keyboard.down('Enter');
  await page.keyboard.up('Enter');
  assert.equal(await step(), 4);
  const near = await row();
  const laid = await laidShown(page);
  const target = await page.evaluate(() => {
    const { view } = window.book.bench;
    const box = view.canvas.getBoundingClientRect();
    return [box.left + view.left(3.5), box.top + view.upper(8.5)];
  });
  await page.mouse.click(...target);
  assert.notEqual(await row(), near);
  assert.ok((await page.textContent('#bench-back')).includes(near.replace('Row', 'to row')));
  await press(page, 'bench-back');
  assert.equal(await row(), near);
  await page.mouse.click(...target);
  const far = await row();
  await press(page, 'bench-before');
  assert.ok(await laidShown(page) > laid);
  for (const [at, count] of [[far, laid], [near, laid]]) {
    await press(page, 'bench-back');
    assert.deepEqual([await row(), await laidShown(page)], [at, count]);
  }
  assert.deepEqual(await page.evaluate(() => window.locks), { now: 1, ever: 1 });
  await page.click('#go-wall');
  await until(page, () => window.locks.now === 0);
  assert.deepEqual(page.broken, []);
  await closeBook(page);
}

/* A chart is printed at its true size: the numbers of its columns and rows are a cell apart on paper, as
 * pdftotext finds them, and the sheets have every brick of the panel. Where a cell is larger than a sheet
 * there is no such chart. */
async function printsAtTrueSize() {
  for (const name of ['flat', 'wall']) {
    const page = await openBook(browser, bookOf(name), { before: () => { window.print = () => {}; } });
    const plan = planOf(name);
    await page.click('#go-bench');
    await press(page, 'bench-true');
    const path = join(samples, `${name}.pdf`);
    writeFileSync(path, await page.pdf({ format: 'A4', preferCSSPageSize: true }));
    const words = [...execFileSync('pdftotext', ['-bbox', path, '-'], { encoding: 'utf8' })
      .matchAll(/xMin="([\d.]+)" yMin="([\d.]+)" xMax="([\d.]+)" yMax="([\d.]+)">(\d+)</g)].map(
      ([, left, top, right, bottom, text]) => ({ x: (+left + +right) / 2, y: (+top + +bottom) / 2, text }));
    const first = (text, order) => words.filter((word) => word.text === text).sort(order)[0];
    const [ten, nine] = ['10', '9'].map((text) => first(text, (a, b) => b.y - a.y));
    assert.ok(Math.abs((ten.x - nine.x) * 25.4 / 72 - plan.cellWidth) < 0.1, 'columns');
    const [two, one] = ['2', '1'].map((text) => first(text, (a, b) => a.x - b.x));
    assert.ok(Math.abs((one.y - two.y) * 25.4 / 72 - plan.cellHeight) < 0.1, 'rows');
    const seen = await page.evaluate(() => new Set(window.book.bench.field.units).size);
    assert.ok(await page.$$eval('#paper rect', (rects) => rects.length) >= seen);
    await closeBook(page);
  }
  const path = join(samples, 'large.html');
  writeFileSync(path, readFileSync(bookOf('flat'), 'utf8').replace(/"cellWidth":\d+/, '"cellWidth":300'));
  const page = await openBook(browser, path);
  assert.equal(await page.evaluate(() => window.book.plan.cellWidth), 300);
  assert.equal(await page.$eval('#bench-true', (button) => button.hidden), true);
  await closeBook(page);
}

/* Paper: every row of the panel is printed, with its sum of bricks, and how the panel is lifted, as
 * the bench shows it. */
async function prints() {
  const page = await openBook(browser, bookOf('flat'));
  await page.click('#go-bench');
  const pdf = await page.pdf({ format: 'A4' });
  assert.ok(pdf.length > 5000);
  const rows = await page.$$eval('#paper tr', (trs) => trs.map((tr) => [...tr.children].map((c) => c.textContent)));
  const counts = new Map();
  for (const b of bricksOf('flat').filter((x) => x.panel === 'r1c1')) counts.set(b.row, (counts.get(b.row) || 0) + 1);
  assert.deepEqual(rows.map((r) => [r[0].replace('row ', ''), parseInt(r[2], 10)]), [...counts]);
  const advice = (place) => page.$$eval(`${place} div`, (items) => items.map((item) => item.textContent));
  assert.match((await advice('#bench-advice'))[0], /^To liftone person/);
  assert.deepEqual(await advice('#paper .advice'), await advice('#bench-advice'));
  assert.deepEqual(page.broken, []);
  await closeBook(page);
}

/* The layer below is seen in grey where the layer in hand leaves it bare, and the page says so;
 * a course's plan the same. The cells are those of bricks.csv. */
async function layerBelowIsShown() {
  const page = await openBook(browser, bookOf('relief'));
  await page.click('#go-bench');
  assert.equal(await page.isVisible('#bench-below'), false);
  const bricks = bricksOf('relief').filter((b) => b.panel === 'r1c1');
  const within = (place, from, count) => place >= Number(from) && place < Number(from) + Number(count);
  const covers = (tier, column, row) => bricks.some((b) => Number(b.tier) === tier &&
    within(column, b.column, b.columns) && within(row, b.row, b.rows));
  for (let guard = 0; guard < 200 && !/tier 2/i.test(await page.textContent('#bench-row')); guard++)
    await page.keyboard.press('PageDown');
  assert.match(await page.textContent('#bench-below'), /tier below/);
  const pixels = await page.evaluate(() => {
    const { field } = window.book.bench;
    const out = [];
    for (let row = 0; row < field.rows; row++) for (let column = 0; column < field.columns; column++) {
      const [r, g, b, a] = field.picture.data.data.subarray(4 * ((field.rows - 1 - row) * field.columns + column));
      out.push({ column: column + 1, row: row + 1, seen: a > 0, spread: Math.max(r, g, b) - Math.min(r, g, b) });
    }
    return out;
  });
  let bare = 0;
  for (const { column, row, seen, spread } of pixels) {
    const [here, below] = [covers(2, column, row), covers(1, column, row)];
    assert.equal(seen, here || below, `${column}, ${row}`);
    if (!here && below) {
      bare++;
      assert.ok(spread < 12, `${column}, ${row} is not grey`);
    }
  }
  assert.ok(bare > 0);
  await closeBook(page);
  const wall = await openBook(browser, bookOf('wall'));
  await wall.click('#go-bench');
  for (let guard = 0; guard < 20 && !/Row 2/.test(await wall.textContent('#bench-row')); guard++)
    await wall.keyboard.press('PageDown');
  assert.match(await wall.textContent('#bench-below'), /course below/);
  await closeBook(wall);
}

await run([
  ['data_is_conserved', dataIsConserved],
  ['runs_say_the_rows', runsSayTheRows],
  ['keyboard_builds_a_panel', keyboardBuildsAPanel],
  ['touch_builds_a_panel', touchBuildsAPanel],
  ['brick_by_brick', brickByBrick],
  ['benches_are_merged', benchesAreMerged],
  ['works_without_storage', worksWithoutStorage],
  ['tabs_follow', tabsFollow],
  ['jumps_to_a_row', jumpsToARow],
  ['mistakes_are_taken_back', mistakesAreTakenBack],
  ['prints', prints],
  ['prints_at_true_size', printsAtTrueSize],
  ['layer_below_is_shown', layerBelowIsShown],
]);
await browser.close();
process.exit();
