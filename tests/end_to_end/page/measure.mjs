/* Figures of a 480 x 360 plaque's page: its size, the first view, a step. `large` is cut
 * into panels of 48 x 48, `single` is one panel. A step is timed to the frame that shows it, and as the
 * processor's time of all of the browser, which a busy machine does not stretch. */
import { statSync } from 'node:fs';
import { join } from 'node:path';
import { launch, makeSamples, openBook, sizes, spentBelow } from './bench.mjs';

const samples = makeSamples('large');
const browser = await launch();
const middle = (list) => [...list].sort((a, b) => a - b)[list.length >> 1].toFixed(0);
const most = (list) => Math.max(...list).toFixed(0);

for (const name of ['large', 'single']) {
  const path = join(samples, name, 'book.html');
  const views = [];
  let page;
  for (let i = 0; i < 5; i++) {
    if (page) await page.context().close();
    const start = performance.now();
    page = await openBook(browser, path, { viewport: sizes.tablet });
    await page.evaluate(() => new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done))));
    views.push(performance.now() - start);
  }
  const bricks = await page.evaluate(() => window.book.plan.count);
  console.log(`${name}: ${(statSync(path).size / 1e6).toFixed(2)} MB, ${bricks} bricks; first view ` +
    `${middle(views)} ms, at most ${most(views)} ms`);
  await page.click('#go-bench');
  for (const mode of ['row', 'brick', 'colour']) {
    await page.click(`label:has(input[value=${mode}])`);
    await page.waitForTimeout(300);
    const before = spentBelow();
    const times = await page.evaluate(async () => {
      const list = [];
      for (let i = 0; i < 40; i++) {
        const start = performance.now();
        document.getElementById('bench-done').click();
        await new Promise((done) => requestAnimationFrame(() => setTimeout(done)));
        list.push(performance.now() - start);
        await new Promise((done) => setTimeout(done, 20));
      }
      return list;
    });
    const step = ((spentBelow() - before) / 40).toFixed(1);
    console.log(`  step by ${mode}: ${middle(times)} ms to the frame, at most ${most(times)} ms; ` +
      `${step} ms of processor time`);
  }
}
await browser.close();
