/* What the tests share: the browser, opened with nothing of anybody's and no network; the sample
 * pages; a runner that tells results as the C tests do. */
import assert from 'node:assert/strict';
import { execFileSync } from 'node:child_process';
import { createRequire } from 'node:module';
import { mkdtempSync, readFileSync, readdirSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import { setTimeout as sleep } from 'node:timers/promises';
import { fileURLToPath, pathToFileURL } from 'node:url';
import { chromium } from 'playwright-core';

export const here = dirname(fileURLToPath(import.meta.url));
export const root = join(here, '../../..');
export const build = process.env.B ? join(process.cwd(), process.env.B) : join(root, 'build/release');

export const sizes = {
  phone: { width: 390, height: 844 }, tablet: { width: 1180, height: 820 }, wall: { width: 1920, height: 1080 },
};

/* The folder of the sample plans, made anew. */
export function makeSamples(...more) {
  const folder = mkdtempSync(join(tmpdir(), 'rowlock-page-'));
  process.on('exit', () => rmSync(folder, { recursive: true, force: true }));
  execFileSync(join(build, 'tests/end_to_end/page/sample'), [folder, ...more]);
  return folder;
}

/* A CSV file without quotes, as objects. */
export function readTable(path) {
  const [head, ...lines] = readFileSync(path, 'utf8').trimEnd().split('\r\n').map((line) => line.split(','));
  return lines.map((line) => Object.fromEntries(line.map((value, i) => [head[i], value])));
}

export const launch = () => chromium.launch({
  executablePath: process.env.CHROMIUM || '/usr/bin/chromium',
  args: ['--headless', '--no-sandbox', '--disable-gpu', '--disable-quic', '--no-first-run',
    '--disable-background-networking', '--disable-component-update', '--disable-sync',
    '--use-angle=swiftshader', '--enable-unsafe-swiftshader'],
});

/* What a page asks of any network, and every error of its script, is gathered in page.asked and
 * page.broken. */
function listen(page) {
  page.on('request', (request) => { if (!/^(file|data|blob):/.test(request.url())) page.asked.push(request.url()); });
  page.on('pageerror', (error) => page.broken.push(error.message));
}

/* A page in a profile of its own, as new: one that was emptied and taken again once lost what it had
 * kept as it was loaded anew. */
export async function openBook(browser, path, options = {}) {
  const { before, ...rest } = options;
  const context = await browser.newContext({ viewport: sizes.tablet, offline: true, acceptDownloads: true, ...rest });
  const page = await context.newPage();
  page.asked = [];
  page.broken = [];
  listen(page);
  if (before) await page.addInitScript(before);
  await page.goto(pathToFileURL(path).href);
  return page;
}

/* Waits until the page says so, asking it less and less often, since every question is work for it.
 * The page forbids what Playwright's own waiting does. */
export async function until(page, test, given = null, most = 30000) {
  let pause = 10;
  for (const end = Date.now() + most; !(await page.evaluate(test, given)); pause = Math.min(1.3 * pause, 200)) {
    if (Date.now() > end) throw new Error(`waited in vain for ${test}`);
    await new Promise((wake) => { setTimeout(wake, pause); });
  }
}

const axe = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');

/* What axe-core finds against the page as it stands, by all its rules or as it is asked; of what passes it
 * gathers nothing, which would be half of its work. */
export async function violations(page, asked = {}) {
  if (!await page.evaluate(() => Boolean(window.axe))) await page.evaluate(axe);
  const found = await page.evaluate((options) => window.axe.run(document, options),
    { ...asked, resultTypes: ['violations'] });
  return found.violations.map(({ id, nodes }) => `${id}: ${nodes.map(({ html }) => html).join(' | ')}`);
}

/* Every rule of WCAG 2.0 to 2.2 A and AA, and good practice. */
export const WCAG = ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice'];
/* These, and AAA's contrast. */
export const wcagAndContrast = { runOnly: WCAG, rules: { 'color-contrast-enhanced': { enabled: true } } };

export const closeBook = (page) => page.context().close();

/* Processor time of the processes below this one, or of those whose number passes the test; ms. */
export function spentBelow(test = () => true) {
  const processes = readdirSync('/proc').filter((name) => /^\d+$/.test(name)).flatMap((pid) => {
    try {
      const fields = readFileSync(`/proc/${pid}/stat`, 'utf8').replace(/^.*\) /, '').split(' ');
      return [{ pid: Number(pid), parent: Number(fields[1]), ticks: Number(fields[11]) + Number(fields[12]) }];
    } catch {
      return [];
    }
  });
  const ours = new Set([process.pid]);
  for (let grown = true; grown;) {
    grown = false;
    for (const p of processes) if (ours.has(p.parent) && !ours.has(p.pid)) grown = Boolean(ours.add(p.pid));
  }
  return processes.filter((p) => ours.has(p.pid) && p.pid !== process.pid && test(p.pid))
    .reduce((sum, p) => sum + p.ticks * 10, 0);
}

/* A test that waits for what never comes fails after four minutes, and does not hold up the others. */
async function inTime(test) {
  const late = Symbol('late');
  const first = await Promise.race([test(), sleep(240000, late, { ref: false })]);
  assert.notEqual(first, late, 'took over 240 s');
}

export async function run(tests) {
  let failed = 0;
  console.log(`[==========] Running ${tests.length} test(s).`);
  for (const [name, test] of tests) {
    console.log(`[ RUN      ] ${name}`);
    try {
      await inTime(test);
      console.log(`[       OK ] ${name}`);
    } catch (error) {
      failed++;
      console.log(error.stack);
      console.log(`[  FAILED  ] ${name}`);
    }
  }
  console.log(`[==========] ${tests.length} test(s) run.`);
  console.log(`[  PASSED  ] ${tests.length - failed} test(s).`);
  process.exitCode = failed ? 1 : 0;
}
