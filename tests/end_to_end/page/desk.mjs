/* Drives a commission on the desk in a browser, as far as a studio would take it: a picture is
 * dropped, cropped, sized, tried in palettes, compared and planned, all by the keys alone; heights
 * are drawn by a pointer. The desk is killed and opened again. Bricks are measured in a
 * photograph, and one of a panel is held to the plan. The outside sources: `rowlock check`, and
 * `rowlock plan` on the saved job, which must give the same bytes; axe-core for WCAG 2.2 AA;
 * html-validate for the markup. */
import assert from 'node:assert/strict';
import { execFileSync, spawn } from 'node:child_process';
import { cpSync, mkdtempSync, readFileSync, readdirSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { basename, join } from 'node:path';
import { HtmlValidate } from 'html-validate';
import { build, launch, root, run, until, violations, WCAG } from './bench.mjs';

const room = mkdtempSync(join(tmpdir(), 'rowlock-desk-'));
process.on('exit', () => rmSync(room, { recursive: true, force: true }));
const rowlock = join(build, 'rowlock');
const picture = join(root, 'tests/data/pictures/coffee.png');
const browser = await launch();
let desk = null;

/* Opens the desk on an operand and waits for its link. */
async function open(...operands) {
  desk = spawn(rowlock, ['desk', ...operands, '--no-open'], { cwd: room, stdio: ['ignore', 'pipe', 'ignore'] });
  return new Promise((resolve) => { desk.stdout.once('data', (text) => resolve(String(text).trim())); });
}
const ended = () => new Promise((resolve) => { desk.once('exit', (code, signal) => resolve(signal || code)); });
process.on('exit', () => desk && desk.kill('SIGKILL'));

async function enter(link, options = {}) {
  const context = await browser.newContext({ viewport: { width: 1280, height: 800 }, ...options });
  const page = await context.newPage();
  page.broken = [];
  page.asked = [];
  page.on('pageerror', (error) => page.broken.push(error.message));
  page.on('console', (message) => { if (message.type() === 'error') page.broken.push(message.text()); });
  page.on('request', (request) => page.asked.push(request.url()));
  await page.goto(link);
  await until(page, () => window.desk.state.work);
  return page;
}

/* Until the version on the wall has its figures. */
const settle = (page) => until(page, () => {
  const { work, figures } = window.desk.state;
  return !work.busy && figures;
}, null, 60000);
const now = (page) => page.evaluate(() => window.desk.state.now);

/* Waits until what `act` does has made a version, and that is planned. */
async function change(page, act) {
  const before = await now(page);
  await act();
  await until(page, (n) => window.desk.state.now > n, before);
  await settle(page);
}

/* Goes there as one does without a pointer: by Tab, or back by Shift and Tab. */
async function reach(page, selector) {
  const way = () => page.evaluate((given) => {
    const [here, there] = [document.activeElement, document.querySelector(given)];
    if (!there) return null;
    return here === there ? '' : here.compareDocumentPosition(there) & window.Node.DOCUMENT_POSITION_PRECEDING
      && here !== document.body ? 'Shift+Tab' : 'Tab';
  }, selector);
  for (let presses = 0; presses < 150; presses++) {
    const key = await way();
    if (key === '') return;
    if (key) await page.keyboard.press(key);
  }
  throw new Error(`no key leads to ${selector}`);
}
async function press(page, selector, ...keys) {
  await reach(page, selector);
  for (const key of keys) await page.keyboard.press(key);
}

async function typeIn(page, selector, text) {
  await press(page, selector, 'Control+A');
  await page.keyboard.type(text);
  await page.keyboard.press('Enter');
}
const setText = (page, name, text) => change(page, () => typeIn(page, `#set-${name}`, text));
const stage = (page, name) => press(page, `#stage-${name}`, 'Enter');

/* The browser's own dialog opens by a key; what is chosen in it is the browser's matter. */
async function chooseFile(page, selector, path) {
  const dialog = page.waitForEvent('filechooser');
  await press(page, selector, 'Enter');
  await (await dialog).setFiles(path);
}
/* The box of a form or of a list that has this text. */
async function named(page, selector, text) {
  return page.evaluate(([given, said]) => {
    const found = [...document.querySelectorAll(given)].find(({ textContent }) => textContent === said);
    found.id ||= `found-${said.replace(/\W/g, '')}`;
    return `#${found.id}`;
  }, [selector, text]);
}
/* A desk that was killed on purpose is missed by the page that it served. */
const MISSED = /Failed to load resource/;
/* What the desk refuses is told by the browser, too. */
const REFUSED = /status of 422/;
let page = null;

/* Drops a file on the wall, as a drag from a folder ends, or pastes it: the page takes it, and keeps
 * the browser from opening what is dropped in the page's place. */
async function giveFile(path, types, on = page) {
  return on.evaluate(([name, bytes, given]) => {
    const data = new window.DataTransfer();
    const file = Uint8Array.from(atob(bytes), (c) => c.charCodeAt(0));
    data.items.add(new window.File([file], name, { type: `image/${name.replace(/^.*\./, '')}` }));
    const event = (type) => (type === 'paste' ? new window.ClipboardEvent(type, { clipboardData: data, bubbles: true })
      : new window.DragEvent(type, { dataTransfer: data, bubbles: true, cancelable: true }));
    return given.filter((type) => document.getElementById('room').dispatchEvent(event(type)));
  }, [basename(path), readFileSync(path, 'base64'), types]);
}
const dropFile = async (path, on = page) => assert.deepEqual(await giveFile(path, ['dragover', 'drop'], on), []);

/* The picture that the desk's program draws for this view, as {width, height, data}. */
const drawnBy = (view) => page.evaluate(async (path) => {
  const bitmap = await window.createImageBitmap(await (await fetch(path)).blob());
  const [canvas, { width, height }] = [document.createElement('canvas'), bitmap];
  Object.assign(canvas, { width, height });
  const context = canvas.getContext('2d');
  context.drawImage(bitmap, 0, 0);
  return { width, height, data: [...context.getImageData(0, 0, width, height).data] };
}, `/view?${view}`);

/* Whether pixel (x, y) of `a` is the one of `b` that `from(x, y)` names, but for a rounding. */
function areSame(a, b, from) {
  for (let y = 0; y < a.height; y++)
    for (let x = 0; x < a.width; x++) {
      const [u, v] = from(x, y);
      for (let k = 0; k < 3; k++)
        if (Math.abs(a.data[4 * (y * a.width + x) + k] - b.data[4 * (v * b.width + u) + k]) > 1) return false;
    }
  return true;
}

async function aPictureIsDroppedCroppedAndSized() {
  page = await enter(await open());
  assert.ok(await page.isVisible('#bring'));
  await change(page, () => dropFile(picture));
  await change(page, () => giveFile(picture, ['paste']));
  await stage(page, 'picture');
  const before = await drawnBy('view=whole&pixels=120');
  assert.ok(!areSame(before, before, (x, y) => [before.width - 1 - x, y])); /* or nothing would be told by it */
  await change(page, () => press(page, '#set-mirror', 'Space'));
  assert.ok(areSame(await drawnBy('view=whole&pixels=120'), before, (x, y) => [before.width - 1 - x, y]));
  await change(page, () => press(page, '#set-mirror', 'Space'));
  const shape = () => page.evaluate(() => [window.desk.wall.face.frame.pictureWidth,
    window.desk.wall.face.frame.pictureHeight]);
  const upright = await shape();
  await change(page, () => press(page, '#set-turn-none', 'ArrowRight'));
  await until(page, (width) => window.desk.wall.face.frame.pictureHeight === width, upright[0]);
  const turned = await drawnBy('view=whole&pixels=80');
  assert.ok(areSame(turned, before, (x, y) => [y, before.height - 1 - x]));
  await press(page, '#undo', 'Enter');
  await until(page, (width) => window.desk.wall.face.frame.pictureWidth === width, upright[0]);
  assert.equal(await page.isChecked('#set-turn-none'), true);
  await change(page, () => press(page, '.corner.lower.right', ...Array(4).fill('Shift+ArrowLeft')));
  assert.match(await page.inputValue('#set-crop'), /^\d+x\d+\+0\+0$/);
  await stage(page, 'size');
  await setText(page, 'width', '40 cm');
  assert.match(await page.textContent('#cost'), /400 mm/);
  assert.equal(await page.inputValue('#set-width'), '400 mm');
  await typeIn(page, '#set-width', 'wide');
  await page.waitForSelector('#set-width-wrong:not([hidden])');
  assert.match(await page.textContent('#set-width-wrong'), /not a length/);
  await typeIn(page, '#set-width', '400 mm');
  await stage(page, 'offer');
  await setText(page, 'rate', '30');
  await setText(page, 'budget', '10');
  assert.match(await page.textContent('#cost .over'), /over the budget/);
}

async function threePalettesAreTriedAndTwoVersionsCompared() {
  await stage(page, 'colours');
  for (const name of ['bricks-12.csv', 'greys-8.csv', 'bricks-24.cgats'])
    await change(page, () => chooseFile(page, '#set-palette', join(root, 'palettes', name)));
  assert.equal(await page.locator('.patches li').count(), 24);
  await change(page, () => page.evaluate(() => {
    const slider = document.getElementById('set-calm');
    for (const value of ['0.6', '0.7', '0.8']) {
      slider.value = value;
      slider.dispatchEvent(new Event('input'));
    }
    slider.dispatchEvent(new Event('change'));
  }));
  assert.equal(await page.evaluate(() => window.desk.state.settings.calm), '0.8');
  const kept = await now(page);
  await press(page, `.card[data-version="${kept}"] .keep`, 'Enter');
  await page.waitForSelector('.card.kept .plate');
  await typeIn(page, '.card.kept .plate', 'calm');
  await until(page, () => window.desk.strip.versions.some(({ name }) => name === 'calm'));
  await press(page, '#undo', 'Enter');
  await until(page, (n) => window.desk.state.now < n, kept);
  await settle(page);
  await press(page, '.card.kept .beside', 'Enter');
  assert.ok(await page.isVisible('#other'));
  await press(page, '#wipe', 'ArrowRight');
  assert.ok(await page.evaluate(() => window.desk.wall.wipe > 50));
  await press(page, '#redo', 'Enter');
  await until(page, (n) => window.desk.state.now === n, kept);
}

/* What is seen of a version is what was seen of it on the wall, to the byte; figures beside it are those of the
 * list of versions. */
async function anyTwoKeptVersionsHangSideBySide() {
  const [left, right] = [await now(page), (await now(page)) - 1];
  await settle(page);
  const same = (view) => page.evaluate(async (paths) => {
    const [a, b] = await Promise.all(paths.map((path) => fetch(path).then((answer) => answer.arrayBuffer())
      .then((bytes) => new Uint8Array(bytes))));
    return a.length > 200 && a.length === b.length && a.every((byte, i) => byte === b[i]);
  }, [`/view?view=${view}&pixels=400&distance=3000`, `/view?view=${view}&pixels=400&distance=3000&version=${left}`]);
  for (const view of ['seen', 'cells']) assert.ok(await same(view), view);
  await press(page, `.card[data-version="${right}"] .keep`, 'Enter');
  await page.waitForSelector(`.card.kept[data-version="${right}"] .beside`);
  await press(page, `.card[data-version="${left}"] .beside`, 'Enter');
  assert.equal(await page.isVisible('#pair'), true);
  assert.match(await page.textContent('#pair-left'), /^calm/);
  await page.selectOption('#hung', String(right));
  const asked = page.waitForRequest(new RegExp(`/view\\?version=${right}&view=seen`));
  await page.evaluate(() => window.desk.wall.room.walkTo(7000));
  await asked;
  const costs = await page.evaluate(() => fetch('/versions').then((answer) => answer.json()));
  const rows = await page.$$eval('#pair tbody tr', (list) => list.map((row) =>
    [...row.querySelectorAll('td')].map((cell) =>
      Number(cell.textContent.replace(/[^−0-9.]/g, '').replace('−', '-')))));
  const bricks = [left, right].map((n) => costs[n].figures.bricks);
  assert.deepEqual(rows.map((row) => row[0]), [...bricks, bricks[1] - bricks[0]]);
  const unrest = [left, right].map((n) => costs[n].figures.unrest);
  assert.ok(Math.abs(rows[2][9] - (unrest[1] - unrest[0])) < 0.006);
  /* A change is to be seen: what hung in its place is put away. */
  await press(page, '#undo', 'Enter');
  await until(page, () => !window.desk.wall.hung && window.desk.wall.against);
  await page.selectOption('#against', '');
  assert.equal(await page.isVisible('#pair'), false);
  await press(page, '#redo', 'Enter');
  await until(page, (n) => window.desk.state.now === n, left);
}

/* All that is to be in sight is, on the smallest screen too; while a change is planned the last figures stay. */
async function whatItCostsIsAlwaysInSight() {
  const names = ['bricks', 'colours', 'sizes', 'mass', 'price', 'hours', 'panels', 'crates'];
  await page.setViewportSize(viewports[0]);
  await settle(page);
  const places = () => page.evaluate((all) => all.map((name) => {
    const { left, top, right } = document.querySelector(`#cost [data-figure="${name}"]`).getBoundingClientRect();
    return right > left ? [Math.round(left), Math.round(top)] : null;
  }), names);
  const before = await places();
  assert.ok(before.every((place) => place && place[1] === before[0][1]));
  const told = await page.evaluate(() => new Promise((done) => {
    const texts = new Set();
    const look = () => {
      texts.add(document.querySelector('#cost [data-figure="bricks"] dd').textContent);
      if (texts.size > 1 && !window.desk.state.work.busy) done([...texts]);
      else window.requestAnimationFrame(look);
    };
    document.getElementById('set-brick-thrift').value = '0.9';
    for (const type of ['input', 'change']) document.getElementById('set-brick-thrift').dispatchEvent(new Event(type));
    look();
  }));
  assert.equal(told.length, 2); /* the last ones and the new ones, and nothing between */
  assert.ok(told.every((text) => /^[\d,]+$/.test(text)));
  assert.deepEqual(await places(), before);
}

/* The palette of greys has no red: the program names the colour that would help most, and the page shows it. */
async function theColourThatWouldHelpIsNamed() {
  await settle(page);
  await change(page, () => chooseFile(page, '#set-palette', join(root, 'palettes', 'greys-8.csv')));
  const hint = page.locator('#hints .hint', { hasText: 'Missing' });
  await hint.waitFor();
  const [, ink] = /closest addition would be .*\((#[0-9a-f]{6})\)/.exec(await hint.textContent());
  const [r, g, b] = await hint.locator('.mark').evaluate((mark) => window.getComputedStyle(mark).backgroundColor
    .match(/\d+/g).map(Number));
  assert.equal(`#${[r, g, b].map((n) => n.toString(16).padStart(2, '0')).join('')}`, ink);
  assert.ok(Math.max(r, g, b) - Math.min(r, g, b) > 20, `${ink} is a grey`);
  await press(page, '#undo', 'Enter');
  await settle(page);
}

/* Rows count from the bottom, as in bricks.csv. */
async function cellsThatNotesNameAreNumbered() {
  await stage(page, 'bricks');
  const { spots, folded, face } = await page.evaluate(() => {
    const d = window.desk;
    d.state.work.notes = ['panel r1c1 is one', 'a panel is two', 'panel r1c1, column 3, row 2: apart',
      'panel r1c1, columns 5 and 6, rows 1 to 7: a straight joint',
      'a brick at column 9, row 8; it gives at column 9, row 7', 'a panel is six', 'a brick at column 10, row 8'];
    d.showHints();
    const mural = document.getElementById('mural').getBoundingClientRect();
    const { columns, rows } = d.wall.face;
    return { face: [columns, rows], folded: document.querySelectorAll('#hints details .hint').length,
      spots: [...document.querySelectorAll('#places .spot')].map((spot) => {
        const box = spot.getBoundingClientRect();
        return [spot.textContent, columns * (box.left + box.width / 2 - mural.left) / mural.width + 0.5,
          rows * (mural.bottom - box.top - box.height / 2) / mural.height + 0.5];
      }) };
  });
  const wanted = [['3', 3, 2], ['4', 5.5, 4], ['5', 9, 8], ['5', 9, 7]];
  assert.equal(spots.length, wanted.length + 1);
  const [number, column, row] = spots.pop(); /* would lie on those of the fifth note */
  assert.ok(number === '7' && column > 10.5 && Math.abs(row - 8) < 0.1, `${number} ${column} ${row}`);
  spots.forEach(([note, x, y], i) => {
    assert.equal(note, wanted[i][0]);
    assert.ok(Math.abs(x - wanted[i][1]) < 0.1 && Math.abs(y - wanted[i][2]) < 0.1, `${x} ${y} ${face}`);
  });
  assert.equal(folded, 1);
}

/* A drag over the mural, in shares of its width and height. */
async function drag(...places) {
  await until(page, () => window.desk.painter.task);
  const box = await page.locator('#marks').boundingBox();
  const at = ([x, y]) => [box.x + x * box.width, box.y + y * box.height];
  await page.mouse.move(...at(places[0]));
  await page.mouse.down();
  for (const place of places.slice(1)) await page.mouse.move(...at(place), { steps: 8 });
  await page.mouse.up();
}

async function aColourIsSwitchedOffAndOn() {
  await stage(page, 'colours');
  const most = () => page.evaluate(() => window.desk.wall.face.colours.reduce((a, b) => (b.cells > a.cells ? b
    : a)).id);
  const cells = (id) => page.evaluate((given) => window.desk.wall.face.colours.find((c) => c.id === given).cells, id);
  const id = await most();
  await change(page, () => press(page, `[id="colour-${id}"]`, 'Enter'));
  await until(page, (given) => !window.desk.wall.face.colours.find((c) => c.id === given).cells, id);
  await change(page, () => press(page, `[id="colour-${id}"]`, 'Enter'));
  await until(page, (given) => window.desk.wall.face.colours.find((c) => c.id === given).cells, id);
  assert.ok(await cells(id) > 0);
  await change(page, () => press(page, `[id="colour-${id}"]`, 'Enter'));
}

async function aSubjectIsBroughtOutByStrokes() {
  await stage(page, 'layers');
  await press(page, await named(page, '#own button', 'Add a layer'), 'Enter');
  await press(page, '#marks', 'Space', 'ArrowDown', 'Space');
  await page.waitForSelector('#own .hint');
  await press(page, 'input[name="layer-index"]:checked', 'ArrowLeft');
  assert.equal(await page.inputValue('input[name="layer-index"]:checked'), '1');
  await change(page, () => press(page, '#marks', ...Array(9).fill('Shift+ArrowUp'), 'Space'));
  await until(page, () => window.desk.wall.raised);
  await press(page, '#lamp-angle', 'ArrowLeft');
  assert.equal(await page.evaluate(() => window.desk.wall.look), 'relief');
  /* Dragged round the dial: from the right, where light comes from 90 degrees, to below, near the middle. */
  await page.locator('.dial').scrollIntoViewIfNeeded();
  const dial = await page.locator('.dial').boundingBox();
  const asked = page.waitForRequest(/view=relief.*angle=(179|18[01])&lamp=4[6-9]/);
  await page.mouse.move(dial.x + dial.width - 2, dial.y + dial.height / 2);
  await page.mouse.down();
  const [angle, height] = await page.evaluate(() => window.desk.wall.lamp);
  assert.ok(Math.abs(angle - 90) < 2 && height >= 5 && height < 12, `${angle} ${height}`);
  await page.mouse.move(dial.x + dial.width / 2, dial.y + dial.height * 0.75, { steps: 5 });
  await page.mouse.up();
  await asked;
  assert.ok(Math.abs(Number(await page.inputValue('#lamp-angle')) - 180) < 2);
}

async function stepsAreRaisedByHand() {
  await stage(page, 'touch');
  await page.check('input[name="touched"][value="heights"]', { force: true });
  const at = () => page.evaluate(() => {
    const { columns, rows, steps } = window.desk.wall.face;
    return atob(steps).charCodeAt(Math.floor(rows / 2) * columns + Math.floor(columns / 2));
  });
  const before = await at();
  await change(page, () => drag([0.5, 0.5], [0.52, 0.5]));
  await until(page, (n) => {
    const { columns, rows, steps } = window.desk.wall.face;
    return atob(steps).charCodeAt(Math.floor(rows / 2) * columns + Math.floor(columns / 2)) === n + 1;
  }, before);
  await change(page, () => page.click('text=Derive them again'));
  await page.check('input[name="touched"][value="touch"]', { force: true });
}

/* Cells of a region, as the page has them from the program. */
const cellsOf = (index) => page.evaluate((given) => {
  const { regions } = window.desk.wall.face;
  return regions ? [...atob(regions)].filter((c) => c.charCodeAt(0) === given).length : 0;
}, index);

/* By keys: a stroke inside, and one outside; until there is one, nothing is asked of the program. */
async function aRegionIsFoundFromStrokes() {
  await stage(page, 'regions');
  await press(page, await named(page, '#own button', 'Add a region'), 'Enter');
  const before = page.asked.length;
  await press(page, '#marks', 'Space', 'ArrowRight', 'Space', 'ArrowDown', 'Space');
  assert.match(await page.textContent('#own .hint'), /some strokes outside/);
  assert.ok(!page.asked.slice(before).some((url) => /file|change/.test(url)));
  await press(page, 'input[name="region-index"]:checked', 'ArrowLeft');
  assert.equal(await page.inputValue('input[name="region-index"]:checked'), '255');
  await change(page, () => press(page, '#marks', ...Array(9).fill('Shift+ArrowUp'), 'Space'));
  const cells = await cellsOf(1);
  const all = await page.evaluate(() => window.desk.wall.indices.length);
  assert.ok(cells > 20 && cells < all - 20, `${cells} of ${all}`);
  assert.ok(await page.isVisible('#found'));
  assert.match(await page.textContent('#own .part .facts'), new RegExp(`^${cells.toLocaleString('en')} cells`));
  assert.match(await page.textContent('#say'), /region 1: .*cells/);
  await change(page, () => drag([0.1, 0.5], [0.1, 0.6]));
  const fewer = await cellsOf(1);
  const comesTo = (n) => until(page, (given) => [...atob(window.desk.wall.face.regions || '')]
    .filter((c) => c === '\x01').length === given, n);
  await press(page, '#undo', 'Enter');
  await comesTo(cells);
  await press(page, '#redo', 'Enter');
  await comesTo(fewer);
  await settle(page);
}

async function aRegionAsksForItsOwn() {
  await change(page, async () => {
    await page.fill('#region-1-care', '4');
    await page.press('#region-1-care', 'Enter');
  });
  const id = await page.evaluate(() => window.desk.wall.face.colours.find(({ cells }) => cells > 0).id);
  await press(page, '#own details summary', 'Enter');
  await change(page, () => press(page, `[id="region-1-${id}"]`, 'Enter'));
  assert.equal(await page.getAttribute(`[id="region-1-${id}"]`, 'aria-pressed'), 'false');
}

async function cellsAreTouchedUpAndStay() {
  await stage(page, 'touch');
  await press(page, '.inks li:nth-child(2) button', 'Enter');
  const place = await page.evaluate(() => ({ columns: window.desk.wall.face.columns,
    rows: window.desk.wall.face.rows }));
  const cell = ([u, v]) => [(u + 0.5) / place.columns, (v + 0.5) / place.rows];
  /* One after another without waiting: none is lost, and each is one request. */
  const before = page.asked.length;
  await change(page, async () => {
    for (const v of [5, 7, 9, 11]) await drag(cell([5, v]), cell([12, v]));
    await page.evaluate(() => window.desk.brushes.touch.onItsWay.tail);
    await until(page, () => {
      const { touch } = window.desk.brushes;
      return touch.onItsWay.last === touch.keyOf(window.desk.state.settings.pins);
    });
  });
  const row = (v = 5) => page.evaluate((at) =>
    [...window.desk.wall.indices.slice(at * window.desk.wall.face.columns + 5).slice(0, 8)], v);
  for (const v of [5, 7, 9, 11]) assert.deepEqual(await row(v), Array(8).fill(1));
  const changes = page.asked.slice(before).map((url) => new URL(url).pathname)
    .filter((path) => /file|change/.test(path));
  assert.deepEqual(changes, Array(4).fill('/file'));
  await change(page, () => press(page, '#marks', 'Space'));
  await stage(page, 'colours');
  await change(page, () => press(page, '#set-brick-thrift', 'ArrowRight'));
  assert.deepEqual(await row(), Array(8).fill(1));
}

/* The wall may show a stroke, and be gone back from it, before the answer tells how it is called. */
async function aStrokeIsUndoneBeforeItIsAnswered() {
  await stage(page, 'touch');
  await settle(page);
  const painted = () => page.evaluate(() => window.desk.brushes.touch.count());
  const pins = () => page.evaluate(() => window.desk.state.settings.pins);
  const [cells, name, version] = [await painted(), await pins(), await now(page)];
  await page.evaluate(() => {
    const { fetch } = window;
    const answered = new Promise((resolve) => { window.answerNow = resolve; });
    window.fetch = async (path, options) => {
      const response = await fetch(path, options);
      if (path.startsWith('/file')) {
        window.fetch = fetch;
        await answered;
      }
      return response;
    };
  });
  await drag([0.8, 0.8], [0.9, 0.8]);
  await until(page, (n) => window.desk.state.now > n, version);
  assert.notEqual(await pins(), name);
  assert.ok(await painted() > cells);
  await page.click('#undo');
  await until(page, (n) => window.desk.state.now === n, version);
  await page.evaluate(() => window.answerNow());
  await until(page, (n) => window.desk.brushes.touch.count() === n, cells);
  await settle(page);
}

/* All files of both folders, byte for byte. */
function sameFolders(a, b) {
  const names = readdirSync(a).sort();
  assert.deepEqual(readdirSync(b).sort(), names);
  for (const name of names) assert.ok(readFileSync(join(a, name)).equals(readFileSync(join(b, name))), name);
}

async function thePlanIsWhatTheCommandMakes() {
  await settle(page);
  await press(page, '#make', 'Enter');
  await until(page, () => window.desk.state.work.madeVersion === window.desk.state.now, null, 60000);
  assert.ok(await page.isVisible('a[href="/made?file=book.pdf"]'));
  const folder = join(room, 'mural.desk/plan');
  execFileSync(rowlock, ['check', folder]);
  cpSync(folder, join(room, 'made'), { recursive: true });
  execFileSync(rowlock, ['plan', '--job', 'mural.desk/job.ini', '--quiet'], { cwd: room });
  sameFolders(folder, join(room, 'made'));
}

/* What a link of the page opens, in a tab of its own. */
async function follow(selector) {
  const tab = page.context().waitForEvent('page');
  await press(page, selector, 'Enter');
  const opened = await tab;
  opened.broken = [];
  opened.on('pageerror', (error) => opened.broken.push(error.message));
  return opened;
}

/* Book, quote and bench open; the bench is told something, and ends when its plan is made anew, or with the desk. */
async function whatWasPlannedIsOpened() {
  const book = await follow('a[href="/made?file=book.html"]');
  await until(book, () => window.book?.plan.panels.length);
  await book.close();
  const pdf = await page.evaluate(() => fetch('/made?file=quote.pdf').then((answer) => answer.text()));
  assert.match(pdf, /^%PDF-/);
  assert.equal(await page.textContent('#own code'), 'rowlock bench mural.desk/plan --listen address');
  const bench = await follow('a[href="/bench"]');
  await until(bench, () => window.share?.state);
  assert.notEqual(new URL(bench.url()).port, new URL(page.url()).port);
  assert.ok(!bench.url().includes('token')); /* it has left the address bar */
  await bench.evaluate(() => {
    window.book.openPanel(0);
    window.book.bench.forward();
  });
  await until(bench, () => window.share.state.laid > 0 && !window.share.queue.length);
  assert.deepEqual(bench.broken, []);
  const laid = await bench.evaluate(() => window.share.state.laid);
  const again = await follow('a[href="/bench"]');
  await until(again, (n) => window.share?.state?.laid === n, laid);
  assert.equal(new URL(again.url()).port, new URL(bench.url()).port);
  for (const tab of [bench, again]) await tab.close();
}

/* What was found may be given back as drawn whole; a stroke over it changes what it covers. */
async function regionsDrawnWholeTakeStrokes() {
  const png = readFileSync(join(room, 'made/regions.png'), 'base64');
  await change(page, () => page.evaluate((text) => window.fetch('/file?setting=region-labels', { method: 'POST',
    headers: { 'Content-Type': 'application/octet-stream' },
    body: Uint8Array.from(atob(text), (c) => c.charCodeAt(0)) }), png));
  await stage(page, 'regions');
  await until(page, () => window.desk.brushes.regions.raster?.indices.every((index) => index > 0));
  const before = await cellsOf(1);
  assert.ok(before > 0);
  await page.check('input[name="region-index"][value="255"]', { force: true });
  const [x, y] = await page.evaluate(() => {
    const { columns, rows, regions } = window.desk.wall.face;
    const i = [...atob(regions)].lastIndexOf('\x01');
    return [(i % columns + 0.5) / columns, (Math.floor(i / columns) + 0.5) / rows];
  });
  await change(page, () => drag([x, y], [x, y]));
  const { settings } = await page.evaluate(() => window.desk.state);
  assert.match(settings['region-strokes'], /^region-strokes-\d+\.png$/);
  assert.equal(settings['region-labels'], '');
  assert.ok(await cellsOf(1) < before);
}

/* Undo and redo cross the kill, and what was kept is there under its name. */
async function aKilledDeskGoesOn() {
  const last = await now(page);
  await page.click('#undo');
  await until(page, (n) => window.desk.state.now < n, last);
  await settle(page);
  const told = () => ({ now: window.desk.state.now, onward: window.desk.state.onward,
    settings: window.desk.state.settings, kept: window.desk.strip.versions.filter(({ kept }) => kept)
      .map(({ version, name }) => [version, name]) });
  const before = await page.evaluate(told);
  assert.equal(before.onward, last);
  assert.ok(before.kept.some(([, name]) => name === 'calm'));
  const gone = ended();
  desk.kill('SIGKILL');
  assert.equal(await gone, 'SIGKILL');
  const after = await enter(await open());
  await until(after, () => window.desk.strip.versions);
  assert.deepEqual(await after.evaluate(told), before);
  assert.deepEqual(page.broken.filter((text) => !MISSED.test(text)), []);
  await page.context().close();
  page = after;
  /* What was laid is let go of by the kill, and is there again. */
  await stage(page, 'offer');
  const bench = await follow('a[href="/bench"]');
  await until(bench, () => window.share?.state?.laid > 0);
  await bench.close();
  await page.click('#redo');
  await until(page, (n) => window.desk.state.now === n, last);
  await page.click('#undo');
  await until(page, (n) => window.desk.state.now === n, before.now);
}

/* The last is the first with all at 200 %. */
const viewports = [{ width: 1280, height: 800 }, { width: 820, height: 1180 }, { width: 640, height: 400 }];

async function everyStageCanBeUsedByAll() {
  const stages = await page.evaluate(() => [...document.querySelectorAll('#stages button')].map(({ id }) =>
    id.slice(6)));
  for (const colorScheme of ['light', 'dark']) {
    await page.emulateMedia({ colorScheme });
    for (const viewport of viewports) {
      await page.setViewportSize(viewport);
      for (const name of stages) {
        await stage(page, name);
        const [wide, high] = await page.evaluate(() => {
          const { scrollWidth, clientWidth, scrollHeight, clientHeight } = document.documentElement;
          return [scrollWidth - clientWidth, scrollHeight - clientHeight];
        });
        assert.ok(wide <= 0, `${name} at ${viewport.width} is ${wide} pixels too wide`);
        /* Where there is room beside the wall, the sheet scrolls and the page does not. */
        assert.ok(high <= 0 || viewport !== viewports[0], `${name} is ${high} pixels too high`);
        /* What is dark differs in its inks alone. */
        const runOnly = colorScheme === 'dark' ? ['color-contrast'] : WCAG;
        if (viewport === viewports[2] || (colorScheme === 'dark' && viewport !== viewports[0])) continue;
        assert.deepEqual(await violations(page, { runOnly }), [], `${name}, ${colorScheme}`);
      }
    }
  }
}

/* Which parts of the page lie on one another, and how the wall is seen once it is scrolled to. */
function layout() {
  const parts = ['.head', '.courses', '.room', '.rail', '.sheet', '.shelf'];
  const box = (part) => document.querySelector(part).getBoundingClientRect();
  const common = (a, b, from, to) => Math.min(a[to], b[to]) - Math.max(a[from], b[from]);
  const meet = (a, b) => common(a, b, 'left', 'right') > 1 && common(a, b, 'top', 'bottom') > 1;
  const met = parts.flatMap((a, i) => parts.slice(i + 1).filter((b) => meet(box(a), box(b))).map((b) => a + b));
  document.querySelector('.room').scrollIntoView({ block: 'center' });
  const view = { left: 0, top: 0, right: window.innerWidth, bottom: window.innerHeight };
  const wall = box('.room');
  const seen = (from, to, size) => common(wall, view, from, to) / Math.min(size, view[to]);
  return { met, wide: document.documentElement.scrollWidth > view.right, across: wall.width / view.right,
    seen: Math.min(seen('left', 'right', wall.width), seen('top', 'bottom', wall.height)) };
}

/* WCAG 2.2, 1.4.4: text of twice its size. */
async function largeTextOverlapsNothing() {
  for (const size of ['100%', '150%', '200%']) {
    await page.evaluate((given) => { document.documentElement.style.fontSize = given; }, size);
    for (const viewport of viewports) {
      await page.setViewportSize(viewport);
      const { met, wide, across, seen } = await page.evaluate(layout);
      assert.deepEqual({ met, wide }, { met: [], wide: false }, `${size} at ${viewport.width}`);
      assert.ok(seen > 0.99 && across > 0.45, `${size} at ${viewport.width}: the wall is ${across} wide, ${seen} seen`);
    }
  }
  await page.evaluate(() => { document.documentElement.style.fontSize = ''; });
}

async function theMarkupIsValid() {
  for (const path of ['desk/page/desk.html', 'serve/pair.html']) {
    const html = readFileSync(join(root, 'src', path), 'utf8');
    const report = await new HtmlValidate({ extends: ['html-validate:standard'] }).validateString(html);
    assert.deepEqual(report.results.flatMap(({ messages }) => messages.map(({ line, message }) =>
      `${path}:${line}: ${message}`)), []);
  }
}

/* A stroke by a finger, down the mural so far from its left. It is still before it is lifted: after a swipe the
 * browser takes the next tap for what stops it, and no click comes. */
async function strokeByTouch(tablet, across) {
  await until(tablet, () => window.desk.painter.task && window.desk.state.figures && !window.desk.state.work.busy);
  const box = await tablet.locator('#marks').boundingBox();
  const browserOf = await tablet.context().newCDPSession(tablet);
  const touch = (type, ...shares) => browserOf.send('Input.dispatchTouchEvent', { type,
    touchPoints: shares.map((share) => ({ x: box.x + box.width * across, y: box.y + box.height * share })) });
  await touch('touchStart', 0.4);
  for (const share of [0.45, 0.5, 0.55]) await touch('touchMove', share);
  await tablet.waitForTimeout(200);
  await touch('touchEnd');
}
/* News that come while something of the sheet is pressed do not take it away. */
async function newsComeUnderAPress(tablet) {
  const broad = await tablet.locator('label:has(input[name="region-size"][value="2"])').boundingBox();
  await tablet.mouse.move(broad.x + broad.width / 2, broad.y + broad.height / 2);
  await tablet.mouse.down();
  await tablet.evaluate(() => window.desk.showOwn(true));
  await tablet.waitForTimeout(50);
  await tablet.mouse.up();
  await until(tablet, () => window.desk.brushes.regions.size === 2);
}
async function fingersPaint(tablet) {
  const { now: before } = await tablet.evaluate(() => window.desk.state);
  await tablet.tap('#stage-touch');
  await strokeByTouch(tablet, 0.5);
  await until(tablet, (n) => window.desk.state.now > n, before);
  assert.ok(await tablet.evaluate(() => window.desk.brushes.touch.count()) > 3);
  await settle(tablet);
  await tablet.tap('#stage-regions');
  await tablet.tap('#own button:has-text("Add a region")');
  await strokeByTouch(tablet, 0.5);
  await until(tablet, () => window.desk.brushes.regions.wants);
  await tablet.tap('label:has(input[name="region-index"][value="255"])');
  await until(tablet, () => window.desk.brushes.regions.current === 255);
  await newsComeUnderAPress(tablet);
  await strokeByTouch(tablet, 0.1);
  await until(tablet, () => window.desk.wall.face.regions && document.querySelector('#own .part .facts')?.textContent
    .includes('cells'));
}

/* At another address of the loopback, which stands for the studio's network. */
async function anotherDeviceIsPaired() {
  cpSync(picture, join(room, 'other.png'));
  const other = spawn(rowlock, ['desk', 'other.png', '--no-open', '--listen', '127.0.0.9'], { cwd: room,
    stdio: ['ignore', 'ignore', 'pipe'] });
  process.on('exit', () => other.kill('SIGKILL'));
  const [, link, code] = await new Promise((resolve) => {
    let said = '';
    other.stderr.on('data', (text) => {
      const found = /open (\S+) there, and type (\d+ \d+)/.exec(said += text);
      if (found) resolve(found);
    });
  });
  const tablet = await (await browser.newContext({ viewport: viewports[1], hasTouch: true })).newPage();
  await tablet.goto(link);
  assert.equal(new URL(tablet.url()).pathname, '/pair');
  await tablet.fill('#code', code === '0000 0000' ? '1111 1111' : '0000 0000');
  await tablet.click('button');
  assert.ok(await tablet.isVisible('#wrong'));
  assert.deepEqual(await violations(tablet), []);
  await tablet.fill('#code', code);
  await tablet.click('button');
  await until(tablet, () => window.desk?.state.work);
  assert.equal(tablet.url(), link);
  await fingersPaint(tablet);
  await tablet.context().close();
  other.kill('SIGKILL');
}

/* A desk of its own, on a job whose colours are measured in a photograph, and whose plan another is held
 * to: the tests' own camera took both. */
const sample = join(build, 'tests/end_to_end/page/sample');
let [measurer, table] = [null, null];
const answered = (id) => until(table, (given) => !/…$/.test(document.getElementById(given).textContent), id);
const isClean = async (what) => assert.deepEqual(await violations(table), [], what);

async function bricksAreMeasured() {
  const photo = join(room, 'bricks.jpeg');
  const bricks = execFileSync(sample, ['bricks', photo]).toString().trim().split('\n').map((line) => line.split(' '));
  cpSync(picture, join(room, 'cup.png'));
  writeFileSync(join(room, 'cup.ini'), 'reference=cup.png\ncolumns=48\npanel=24x16\nbook=no\nquote=no\n');
  measurer = spawn(rowlock, ['desk', 'cup.ini', '--no-open'], { cwd: room, stdio: ['ignore', 'pipe', 'ignore'] });
  process.on('exit', () => measurer.kill('SIGKILL'));
  table = await enter(await new Promise((resolve) => {
    measurer.stdout.once('data', (text) => resolve(String(text).trim()));
  }));
  await settle(table);
  await stage(table, 'colours');
  await dropFile(photo, table);
  await until(table, () => document.querySelector('#brick-photo-frame img').naturalWidth);
  const box = await table.locator('#brick-photo-frame img').boundingBox();
  const wide = await table.evaluate(() => window.desk.photos.colours.frame.image.naturalWidth);
  const used = [...Array(16).keys()].map((i) => bricks[3 * i]);
  for (const [id, x, y] of used) {
    await table.mouse.click(box.x + Number(x) * box.width / wide, box.y + Number(y) * box.width / wide);
    await table.keyboard.type(id);
  }
  await press(table, await named(table, '.photo-part button', 'Measure'), 'Enter');
  await answered('brick-photo-said');
  assert.match(await table.textContent('#brick-photo-said'), /^16 colours; nine of ten should lie within/);
  const told = await table.locator('#brick-list small').allTextContents();
  used.forEach(([id, , , ...lab], i) => {
    const found = told[i].match(/-?[\d.]+/g).map(Number);
    assert.ok(Math.hypot(...lab.map((value, k) => value - found[k])) < 9, `${id}: ${told[i]}, not ${lab}`);
    assert.ok(found[3] > 0 && found[3] < 5);
  });
  await isClean('bricks');
  await change(table, () => press(table, '.photo-part .go', 'Enter'));
  assert.equal(await table.evaluate(() => window.desk.wall.face.colours.length), 16);
  await table.fill('#brick-list input >> nth=0', 'ABCDE');
  await press(table, await named(table, '.photo-part button', 'Measure'), 'Enter');
  await answered('brick-photo-said');
  assert.match(await table.textContent('#brick-photo-said'), /^Brick 1: .*give 1 to 4/);
}

/* The plan of the measured colours is the command's; the photograph is held to one of the program's own colours,
 * which do not depend on where clicks fell. */
async function aPhotographIsHeldToThePlan() {
  const [folder, photo] = [join(room, 'cup.desk/plan'), join(room, 'panel.jpeg')];
  const makePlan = async () => {
    await settle(table);
    await press(table, '#make', 'Enter');
    await until(table, () => window.desk.state.work.madeVersion === window.desk.state.now, null, 60000);
  };
  await makePlan();
  cpSync(folder, join(room, 'measured'), { recursive: true });
  execFileSync(rowlock, ['plan', '--job', 'cup.desk/job.ini', '--quiet'], { cwd: room });
  sameFolders(folder, join(room, 'measured'));
  const measured = await now(table);
  await press(table, '#undo', 'Enter');
  await until(table, (n) => window.desk.state.now < n, measured);
  await makePlan();
  const planted = execFileSync(sample, ['panel', folder, '0', '16', photo]).toString().trim().split('\n')
    .map((line) => line.split(' ').map(Number));
  await until(table, () => document.getElementById('panel-photo-panel')?.options.length > 1);
  await chooseFile(table, '#panel-photo-file', photo);
  await answered('panel-photo-said');
  const seen = await table.evaluate(() => window.desk.photos.offer.seen);
  for (const [row, column] of planted) {
    const one = seen.find((b) => b.row === row && b.column === column);
    assert.ok(one && !['right', 'untold'].includes(one.verdict), `${row} ${column}: ${JSON.stringify(one)}`);
  }
  assert.ok(seen.filter(({ verdict }) => verdict === 'right').length >= seen.length - 3 * planted.length);
  await press(table, '#panel-photo-list button', 'Enter');
  await press(table, await named(table, '.photo-part button', 'Show the chart'), 'Enter');
  assert.ok(await table.isVisible('#panel-photo-chart'));
  await isClean('panel');
  await table.selectOption('#panel-photo-panel', { index: 1 });
  await answered('panel-photo-said');
  assert.match(await table.textContent('#panel-photo-said'), /^The photograph: shows panel r1c1, not r1c2; open that/);
  await table.click('text=Put the photograph away');
  assert.ok(await table.isHidden('#panel-photo-picture'));
  assert.deepEqual(readdirSync(join(room, 'cup.desk')).filter((name) => name.startsWith('.part')), []);
  assert.deepEqual(table.broken.filter((text) => !REFUSED.test(text)), []);
  measurer.kill('SIGTERM');
}

async function nothingIsAskedOfAnybodyElse() {
  const origin = new URL(page.url()).origin;
  assert.deepEqual(page.asked.filter((url) => !url.startsWith(origin) && !/^(data|blob):/.test(url)), []);
  assert.deepEqual(page.broken, []);
  const gone = ended();
  desk.kill('SIGTERM');
  assert.equal(await gone, 0);
}

await run([
  ['a_picture_is_dropped_cropped_and_sized', aPictureIsDroppedCroppedAndSized],
  ['three_palettes_are_tried_and_two_versions_compared', threePalettesAreTriedAndTwoVersionsCompared],
  ['any_two_kept_versions_hang_side_by_side', anyTwoKeptVersionsHangSideBySide],
  ['what_it_costs_is_always_in_sight', whatItCostsIsAlwaysInSight],
  ['the_colour_that_would_help_is_named', theColourThatWouldHelpIsNamed],
  ['cells_that_notes_name_are_numbered', cellsThatNotesNameAreNumbered],
  ['a_colour_is_switched_off_and_on', aColourIsSwitchedOffAndOn],
  ['a_subject_is_brought_out_by_strokes', aSubjectIsBroughtOutByStrokes],
  ['steps_are_raised_by_hand', stepsAreRaisedByHand],
  ['a_region_is_found_from_strokes', aRegionIsFoundFromStrokes],
  ['a_region_asks_for_its_own', aRegionAsksForItsOwn],
  ['cells_are_touched_up_and_stay', cellsAreTouchedUpAndStay],
  ['a_stroke_is_undone_before_it_is_answered', aStrokeIsUndoneBeforeItIsAnswered],
  ['the_plan_is_what_the_command_makes', thePlanIsWhatTheCommandMakes],
  ['what_was_planned_is_opened', whatWasPlannedIsOpened],
  ['regions_drawn_whole_take_strokes', regionsDrawnWholeTakeStrokes],
  ['a_killed_desk_goes_on', aKilledDeskGoesOn],
  ['every_stage_can_be_used_by_all', everyStageCanBeUsedByAll],
  ['large_text_overlaps_nothing', largeTextOverlapsNothing],
  ['the_markup_is_valid', theMarkupIsValid],
  ['another_device_is_paired', anotherDeviceIsPaired],
  ['bricks_are_measured', bricksAreMeasured],
  ['a_photograph_is_held_to_the_plan', aPhotographIsHeldToThePlan],
  ['nothing_is_asked_of_anybody_else', nothingIsAskedOfAnybodyElse],
]);
await browser.close();
process.exit();
