/* How soon the desk's page shows a change, at 200x133 from a 24-megapixel JPEG that is open: from
 * the moment that the change is sent to the first new face, the face itself, and the face with its
 * bricks and figures; in milliseconds, and as ratios to what djpeg takes to decode the file in the
 * same run. All in turn, medians of so many rounds.
 *
 *   node measure_desk.mjs [ROUNDS]     with ASKED=1: also when each request was asked and answered */
import { execFileSync, spawn } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { build, launch, spentBelow } from './bench.mjs';

const rounds = Number(process.argv[2]) || 9;
const room = mkdtempSync(join(tmpdir(), 'rowlock-desk-'));
process.on('exit', () => rmSync(room, { recursive: true, force: true }));
const jpeg = join(room, 'photo.jpg');
execFileSync(join(build, 'tests/end_to_end/page/sample'), ['photograph', jpeg]);

const desk = spawn(join(build, 'rowlock'), ['desk', jpeg, '--no-open'], { cwd: room,
  stdio: ['ignore', 'pipe', 'ignore'] });
process.on('exit', () => desk.kill('SIGKILL'));
const link = await new Promise((resolve) => { desk.stdout.once('data', (text) => resolve(String(text).trim())); });
const browser = await launch();
const page = await (await browser.newContext({ viewport: { width: 1280, height: 800 } })).newPage();
await page.goto(link);

/* Sends changes one after another, each when the one before it is whole. Times of each are in ms, to
 * the frame that shows it. */
const time = (list) => page.evaluate(async (changes) => {
  const { desk: d } = window;
  const pause = (ms) => new Promise((wake) => { setTimeout(wake, ms); });
  const frame = () => new Promise((done) => { requestAnimationFrame(() => setTimeout(done)); });
  const take = d.take.bind(d);
  const rows = [];
  const one = (settings) => new Promise((done) => {
    const before = d.state.now;
    const begun = performance.now();
    const row = {};
    const note = (name) => {
      if (row[name] !== undefined) return;
      row[name] = 0;
      frame().then(() => { row[name] = performance.now() - begun; });
    };
    performance.clearResourceTimings();
    d.take = (state) => {
      take(state);
      if (state.now === before) return;
      if (state.face) note('first');
      if (state.face && !state.face.sketch) note('face');
      if (state.work.busy || !state.figures) return;
      note('all');
      const look = () => (document.getElementById('seen').hidden ? setTimeout(look, 20) : frame().then(() => {
        row.seen = performance.now() - begun;
        row.asked = performance.getEntriesByType('resource').map((e) => [e.name.replace(/^.*?:\d+/, ''),
          Math.round(e.startTime - begun), Math.round(e.responseEnd - begun), e.transferSize]);
        done(row);
      }));
      look();
    };
    d.form.change(settings);
  });
  for (const settings of changes) {
    await pause(300);
    rows.push(await one(settings));
  }
  d.take = take;
  return rows;
}, list);

const middle = (list) => [...list].sort((a, b) => a - b)[list.length >> 1];
const high = (list) => [...list].sort((a, b) => a - b)[Math.ceil(0.95 * list.length) - 1];
const decode = () => {
  const begun = performance.now();
  execFileSync('djpeg', ['-outfile', '/dev/null', jpeg]);
  return performance.now() - begun;
};
const spent = () => ({ desk: spentBelow((pid) => pid === desk.pid),
  browser: spentBelow((pid) => pid !== desk.pid) });
const decodes = [decode()];
async function measure(name, change) {
  const before = spent();
  const rows = await time([...Array(rounds).keys()].map(change));
  const after = spent();
  decodes.push(decode());
  for (const [part, what] of [['first', 'first face'], ['face', 'the face'], ['all', 'bricks and figures'],
    ['seen', 'as it is seen from there']]) {
    const ms = rows.map((row) => row[part]);
    console.log(`${name}, ${what}`.padEnd(36), `${(middle(ms) / middle(decodes)).toFixed(2)} times djpeg,`,
      `${middle(ms).toFixed(0)} ms, 95 % within ${high(ms).toFixed(0)}`);
  }
  const share = (of) => ((after[of] - before[of]) / rounds).toFixed(0);
  console.log(`${name}, processor time`.padEnd(36), `desk ${share('desk')} ms, browser ${share('browser')} ms`);
  if (process.env.ASKED) for (const { asked } of rows.slice(-3))
    console.log(asked.map((a) => `  ${a.join(' ')}`).join('\n'));
}
await page.evaluate(() => new Promise((done) => {
  const look = () => (window.desk.state.figures && !window.desk.state.work.busy ? done() : setTimeout(look, 50));
  look();
}));
/* The first round warms up. */
await time([0, 1, 2].map((i) => ({ columns: '200', rows: '133', calm: String(0.3 + i * 0.004) })));
await measure('colour', (i) => ({ calm: String(0.35 + i * 0.004) }));
await measure('crop', (i) => ({ crop: `5400x3591+${10 + 7 * i}+40` }));
const memory = /VmHWM:\s*(\d+)/.exec(readFileSync(`/proc/${desk.pid}/status`, 'utf8'));
console.log(`${'peak memory of the desk'.padEnd(36)} ${(memory[1] / 1024).toFixed(0)} MiB`);
await browser.close();
desk.kill('SIGTERM');
