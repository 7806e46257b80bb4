/* Looks at the page of an exhibition in a browser. The outside sources: html-validate for the markup;
 * axe-core for WCAG 2.2 AA. */
import assert from 'node:assert/strict';
import { execFileSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { HtmlValidate } from 'html-validate';
import { build, closeBook, launch, openBook, run, sizes, violations, wcagAndContrast } from './bench.mjs';

const browser = await launch();
const folder = mkdtempSync(join(tmpdir(), 'rowlock-show-'));
process.on('exit', () => rmSync(folder, { recursive: true, force: true }));

/* Two rooms, a name that would be markup, a mural higher than a wall is at eye line. */
writeFileSync(join(folder, 's.ppm'), Buffer.concat([Buffer.from('P6 20 15 255\n'),
  Buffer.from([...Array(900).keys()].map((i) => (i * 37) % 256))]));
writeFileSync(join(folder, 'show.ini'), `[show]
name = Harbours <b>&amp; "ships"
start = 2027-03-01
book = no
quote = no
currency = EUR
pallet = 1200x800
[mural one]
reference = s.ppm
columns = 40
title = Dusk & <i>dawn</i>
room = Hall
[mural two]
reference = s.ppm
width = 90cm
`);
execFileSync(join(build, 'rowlock'),
  ['exhibition', join(folder, 'show.ini'), '--out', join(folder, 'show'), '--quiet']);
const index = join(folder, 'show/index.html');

async function markupIsValid() {
  const checker = new HtmlValidate({ extends: ['html-validate:recommended'],
    rules: { 'long-title': 'off', 'no-trailing-whitespace': 'off', 'require-sri': 'off',
      'no-inline-style': 'error' } });
  const report = await checker.validateFile(index);
  assert.deepEqual(report.results.flatMap((r) => r.messages.map((m) => `${m.line}: ${m.ruleId}: ${m.message}`)), []);
  assert.ok(!/<script|\son[a-z]+=/.test(readFileSync(index, 'utf8')), 'a script');
}

async function axeFindsNothing() {
  for (const [viewport, colorScheme] of [[sizes.phone, 'light'], [sizes.tablet, 'dark']]) {
    const page = await openBook(browser, index, { viewport, colorScheme, bypassCSP: true });
    assert.deepEqual(await violations(page, wcagAndContrast), [], `${viewport.width} wide, ${colorScheme}`);
    await closeBook(page);
  }
}

/* Faces are drawn, to one scale, at the eye line; what the user wrote is text. */
async function facesHangToOneScale() {
  const page = await openBook(browser, index);
  const faces = await page.$$eval('svg.wall image', (all) => all.map((image) => {
    const box = image.getBoundingClientRect(), eye = image.closest('svg').querySelector('.eye').getBoundingClientRect();
    return { width: box.width, middle: box.top + box.height / 2, eye: eye.top };
  }));
  assert.equal(faces.length, 2);
  const [one, two] = JSON.parse(readFileSync(join(folder, 'show/show.json'), 'utf8')).murals;
  assert.ok(Math.abs(faces[1].width / faces[0].width / (two.width_mm / one.width_mm) - 1) < 0.01);
  for (const face of faces) assert.ok(Math.abs(face.middle - face.eye) < 2, JSON.stringify(face));
  assert.equal(await page.textContent('h1'), 'Harbours <b>&amp; "ships"');
  assert.equal(await page.textContent('tbody th'), 'Dusk & <i>dawn</i>');
  const wide = await page.evaluate(() => document.documentElement.scrollWidth <= document.documentElement.clientWidth);
  assert.ok(wide, 'the page scrolls sideways');
  assert.deepEqual([page.asked, page.broken], [[], []]);
  await closeBook(page);
}

await run([
  ['markup_is_valid', markupIsValid],
  ['axe_finds_nothing', axeFindsNothing],
  ['faces_hang_to_one_scale', facesHangToOneScale],
]);
await browser.close();
process.exit();
