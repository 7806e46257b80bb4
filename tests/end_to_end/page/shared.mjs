/* Three devices at one bench, side by side in a browser: what one lays is seen by all, a device that
 * was out of reach is merged, two on one panel are told, a photograph is held to the plan, and a bench
 * that is killed goes on. The outside sources: what was planted in the photograph; bricks.csv for how
 * many bricks a row has; axe-core for WCAG 2.2 AA; html-validate for the markup. */
import assert from 'node:assert/strict';
import { execFileSync, spawn } from 'node:child_process';
import { existsSync, mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { HtmlValidate } from 'html-validate';
import { build, launch, readTable, root, run, sizes, until, violations } from './bench.mjs';

const rowlock = join(build, 'rowlock');
const browser = await launch();
const folder = join(mkdtempSync(join(tmpdir(), 'rowlock-bench-')), 'plan');
process.on('exit', () => rmSync(join(folder, '..'), { recursive: true, force: true }));
/* The cells are given, so that what is photographed is the same whatever is searched for. */
const pictures = join(root, 'tests/data/pictures');
execFileSync(rowlock, ['plan', join(pictures, 'coffee.png'), '--cells', join(pictures, 'coffee-cells.png'),
  '--columns', '48', '--panel', '24x24', '--quote', 'no', '--quiet', '--out', folder]);
let bench = null;
let link = '';

async function open(...more) {
  bench = spawn(rowlock, ['bench', folder, '--no-open', ...more], { stdio: ['ignore', 'pipe', 'inherit'] });
  link = await new Promise((resolve) => { bench.stdout.once('data', (text) => resolve(String(text).trim())); });
}
process.on('exit', () => bench && bench.kill('SIGKILL'));
const gone = (how) => new Promise((resolve) => {
  bench.once('exit', (code, signal) => resolve(signal || code));
  bench.kill(how);
});

async function enter(name, viewport, path = '') {
  const context = await browser.newContext({ viewport });
  const page = await context.newPage();
  page.broken = [];
  page.on('pageerror', (error) => page.broken.push(error.message));
  await page.goto(link);
  if (path) await page.goto(new URL(path, link).href);
  await until(page, () => window.share?.state);
  if (name) await page.evaluate((text) => window.crew.rename(text), name);
  return page;
}
const total = (page) => page.evaluate(() => window.book.progress.total);
const same = (n) => Promise.all([ada, ben, wall].map((page) => until(page, (k) => window.book.progress.total === k
  && !window.share.queue.length, n)));

await open();
const { port } = new URL(link);
const ada = await enter('Ada', sizes.tablet);
const ben = await enter('Ben', sizes.phone);
const wall = await enter('', sizes.wall, '/book?plan=0&wall=1');

async function whatOneLaysIsSeenByAll() {
  const bricks = readTable(join(folder, 'bricks.csv'));
  const rows = bricks.filter(({ panel, row }) => panel === 'r1c1' && Number(row) <= 3).length;
  await ada.evaluate(() => window.book.openPanel(0));
  await ada.click('text=Take r1c1');
  for (let i = 0; i < 3; i++) await ada.evaluate(() => window.book.bench.forward());
  assert.equal(await total(ada), rows);
  await same(rows);
  assert.match(await wall.textContent('.visitors-said'), new RegExp(`^${rows} of `));
  await ada.evaluate(() => window.book.bench.back());
  const less = await total(ada);
  assert.ok(less < rows);
  await same(less);
}

/* Two tabs of one browser are one device, and number what they say without getting in each other's way. */
async function twoTabsLoseNothing() {
  const before = await total(ada);
  const twin = await ada.context().newPage();
  await twin.goto(new URL('/book?plan=0', link).href);
  await until(twin, () => window.share?.state);
  const lay = (page, panel) => page.evaluate((index) => {
    window.book.openPanel(index);
    const laid = window.book.progress.total;
    window.book.bench.forward();
    return window.book.progress.total - laid;
  }, panel);
  const [one, other] = await Promise.all([lay(ada, 2), lay(twin, 3)]);
  assert.ok(one > 0 && other > 0);
  await same(before + one + other);
  await until(ada, (all) => window.share.state.laid === all, before + one + other); /* confirmed, too */
  await twin.close();
  await ada.evaluate(() => window.book.openPanel(0));
}

async function twoOnOnePanelAreTold() {
  await ben.evaluate(() => window.book.openPanel(0));
  await until(ben, () => document.querySelector('.crew-line').textContent.includes('being built by Ada'));
  const refusal = await ben.evaluate(() => window.crew.ask('take', 'r1c1').then(() =>
    document.getElementById('say').textContent));
  assert.match(refusal, /r1c1: Ada has it/);
  await ben.click('text=Take r1c1 over');
  await until(ada, () => document.querySelector('.crew-line').textContent.includes('being built by Ben'));
}

/* Of the last panel its first twelve rows are photographed; five bricks are not as they should be. */
const photo = join(folder, '../photo.jpg');
const planted = execFileSync(join(build, 'tests/end_to_end/page/sample'), ['panel', folder, '3', '12', photo])
  .toString().trim().split('\n').map((line) => line.split(' ').map(Number));
const looked = (page) => until(page, () => !/Looking/.test(document.getElementById('photo-said').textContent));

async function aPhotographIsHeldToThePlan() {
  const before = await total(ada);
  const last = readTable(join(folder, 'bricks.csv')).filter(({ panel }) => panel === 'r2c2').map((b) => Number(b.row));
  const top = Math.min(...last) + 11;
  await ada.evaluate(() => window.book.openPanel(3));
  await ada.setInputFiles('#photo-file', photo);
  await looked(ada);
  await ada.fill('#photo-to', String(top));
  await ada.click('button:text-is("Look again")');
  await looked(ada);
  const seen = await ada.evaluate(() => window.photograph.seen);
  assert.equal(seen.length, last.filter((row) => row <= top).length);
  const right = seen.filter(({ verdict }) => verdict === 'right');
  for (const [row, column] of planted)
    assert.ok(seen.some((b) => b.row === row && b.column === column && !['right', 'untold'].includes(b.verdict)));
  assert.ok(right.length >= seen.length - 3 * planted.length);
  assert.ok(await ada.isVisible(`#photo-list button:has-text("Row ${planted[0][0]}, column ${planted[0][1]}:")`));
  const still = await ada.evaluate((list) => list.filter(({ i }) => !window.book.progress.laid[i]).length, right);
  assert.ok(still > right.length / 2);
  await ada.click('#photo-tick');
  await same(before + still);
  await ada.click('#bench-back');
  await same(before);
}

/* The corners that were found, given by hand: the same comes of it. */
async function cornersAreDragged() {
  const [found, seen] = await ada.evaluate(() => [window.photograph.frame.corners, window.photograph.seen.length]);
  await ada.evaluate(() => Object.assign(window.photograph.frame, { corners: null, moved: false }));
  await ada.click('button:text-is("Show the photograph")');
  await until(ada, () => window.photograph.frame.corners);
  const scale = await ada.evaluate(() => 1 / window.photograph.frame.scale);
  const frame = await ada.locator('#photo-frame').boundingBox();
  for (let k = 0; k < 4; k++) {
    const handle = await ada.locator('#photo-frame button').nth(k).boundingBox();
    await ada.mouse.move(handle.x + handle.width / 2, handle.y + handle.height / 2);
    await ada.mouse.down();
    await ada.mouse.move(frame.x + found[k][0] * scale, frame.y + found[k][1] * scale, { steps: 4 });
    await ada.mouse.up();
  }
  await ada.focus('#photo-frame button >> nth=0');
  await ada.keyboard.press('ArrowRight');
  const given = await ada.evaluate(() => window.photograph.frame.corners);
  given.forEach(([x, y], k) => assert.ok(Math.hypot(x - found[k][0], y - found[k][1]) < 3 / scale));
  await pageIsUsable(ada);
  await ada.click('button:text-is("Look again")');
  await looked(ada);
  assert.equal(await ada.evaluate(() => window.photograph.seen?.length), seen);
  await pageIsUsable(ada);
}

async function whatIsNoPhotographOfThePanelIsRefused() {
  await ada.evaluate(() => window.book.openPanel(2));
  assert.ok(await ada.isHidden('#photo'));
  await ada.setInputFiles('#photo-file', []);
  await ada.setInputFiles('#photo-file', photo);
  await looked(ada);
  assert.match(await ada.textContent('#photo-said'), /^The photograph: .*panel r2c[12]/);
  await ada.setInputFiles('#photo-file', join(folder, 'bricks.csv'));
  await looked(ada);
  assert.match(await ada.textContent('#photo-said'), /no picture/);
  await ada.click('text=Put the photograph away');
  await ada.evaluate(() => window.book.openPanel(0));
}

async function whoWasOutOfReachIsMerged() {
  const before = await total(ada);
  await ben.context().setOffline(true);
  await ben.evaluate(() => window.book.bench.forward());
  await until(ben, () => document.querySelector('.crew-line').textContent.includes('out of reach'));
  const theirs = await total(ben) - before;
  await ada.evaluate(() => {
    window.book.openPanel(1);
    window.book.bench.forward();
  });
  const ours = await total(ada) - before;
  assert.ok(ours > 0 && theirs > 0);
  await ben.context().setOffline(false);
  await same(before + ours + theirs);
}

async function aKilledBenchGoesOn() {
  const before = await total(ada);
  assert.equal(await gone('SIGKILL'), 'SIGKILL');
  await ada.evaluate(() => window.book.bench.forward());
  const after = await total(ada);
  const cookies = await ada.context().cookies();
  await open();
  assert.equal(new URL(link).port, port); /* or what waits in a browser would not be found again */
  /* A bench that was killed has another token: devices come in again by its new link, and keep what they laid. */
  assert.ok(cookies.length);
  for (const page of [ada, ben, wall]) {
    const path = page === wall ? '/book?plan=0&wall=1' : '/book?plan=0';
    await page.goto(link);
    await page.goto(new URL(path, link).href);
    await until(page, () => window.share?.state);
  }
  assert.ok(after > before);
  await same(after);
}

async function whatLacksIsTold() {
  await ada.evaluate(() => window.crew.lack('N1 2x4, twelve'));
  await ben.evaluate(() => window.book.go('crew'));
  await until(ben, () => document.getElementById('crew').textContent.includes('N1 2x4, twelve, told by Ada'));
  await ben.click('text=It is there');
  await until(ada, () => window.share.state.shortages.every(({ found }) => found));
}

async function pageIsUsable(page) {
  assert.deepEqual(await violations(page), []);
}

async function thePagesCanBeUsedByAll() {
  for (const page of [ada, ben]) {
    await page.evaluate(() => window.book.go('crew'));
    await pageIsUsable(page);
    assert.deepEqual(page.broken, []);
  }
  const report = await new HtmlValidate({ extends: ['html-validate:standard'], rules: { 'long-title': 'off' } })
    .validateString(readFileSync(join(root, 'src/bench/page/bench.html'), 'utf8'));
  assert.deepEqual(report.results.flatMap(({ messages }) => messages.map(({ message }) => message)), []);
}

/* Where the bench's file is lost, devices that come to the new one tell what they have. */
async function aBenchThatIsLostIsToldAnew() {
  const laid = await total(ada);
  assert.equal(await gone('SIGTERM'), 0);
  for (const name of ['bench.db', 'bench.db-wal']) rmSync(join(folder, name), { force: true });
  await open('--port', port); /* which was lost with the file */
  for (const page of [ada, ben]) {
    await page.goto(link);
    await page.goto(new URL('/book?plan=0', link).href);
    await until(page, () => window.share?.state);
    await until(page, (n) => window.book.progress.total === n && !window.share.queue.length, laid);
  }
  assert.equal(await ben.evaluate(() => window.share.state.laid), laid);
}

async function theRestIsPlannedFromIt() {
  const laid = await total(ada);
  assert.equal(await gone('SIGTERM'), 0);
  assert.ok(existsSync(join(folder, 'bench.db')));
  assert.ok(!existsSync(join(folder, 'bench.db-wal')));
  const next = join(folder, '../next');
  execFileSync(rowlock, ['replan', folder, '--built', 'bench', '--quiet', '--out', next]);
  assert.equal(JSON.parse(readFileSync(join(next, 'plan.json'), 'utf8')).built.bricks, laid);
  execFileSync(rowlock, ['check', next], { stdio: 'ignore' });
}

await run([
  ['what_one_lays_is_seen_by_all', whatOneLaysIsSeenByAll],
  ['two_tabs_lose_nothing', twoTabsLoseNothing],
  ['two_on_one_panel_are_told', twoOnOnePanelAreTold],
  ['a_photograph_is_held_to_the_plan', aPhotographIsHeldToThePlan],
  ['corners_are_dragged', cornersAreDragged],
  ['what_is_no_photograph_of_the_panel_is_refused', whatIsNoPhotographOfThePanelIsRefused],
  ['who_was_out_of_reach_is_merged', whoWasOutOfReachIsMerged],
  ['what_lacks_is_told', whatLacksIsTold],
  ['a_killed_bench_goes_on', aKilledBenchGoesOn],
  ['the_pages_can_be_used_by_all', thePagesCanBeUsedByAll],
  ['a_bench_that_is_lost_is_told_anew', aBenchThatIsLostIsToldAnew],
  ['the_rest_is_planned_from_it', theRestIsPlannedFromIt],
]);
await browser.close();
process.exit();
