/* How soon the desk's page shows a change, at 200x133 from a 24-megapixel JPEG that is open: from
 * the moment that the change is sent to the first new face, the face itself, and the face with its
 * bricks and figures; in milliseconds, and as ratios to what djpeg takes to decode the file in the
 * same run. Strokes are of the brush: how long the page is at work on a move of it, the longest of a
 * stroke, and from its end to the first new face. A newer change is sent while an older one is at
 * work, and timed to the news that it is taken up: the way there and back is in it, of which a row
 * tells by itself; then the same without the browser's part in it, when that is gone. All in turn,
 * medians of so many rounds; with fewer than twenty, 95 % is the slowest.
 *
 * Goals, 95 % within, on two processors with nothing else to do: colour to the first face 150 ms, to
 * bricks and figures 500; crop to the first face 250; a move of the brush 16, a stroke to the first
 * face 150; an older run stopped in 30; the desk at most 300 MiB.
 *
 *   node measure_desk.mjs [ROUNDS]     with ASKED=1: also when each request was asked and answered */
import { execFileSync, spawn } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { Agent, request } from 'node:http';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { build, launch, spentBelow } from './bench.mjs';

const rounds = Number(process.argv[2]) || 20;
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
const tell = (name, ms) => console.log(name.padEnd(36), `${(middle(ms) / middle(decodes)).toFixed(2)} times djpeg,`,
  `${middle(ms).toFixed(0)} ms, 95 % within ${high(ms).toFixed(0)}`);
async function measure(name, change) {
  const before = spent();
  const rows = await time([...Array(rounds).keys()].map(change));
  const after = spent();
  decodes.push(decode());
  for (const [part, what] of [['first', 'first face'], ['face', 'the face'], ['all', 'bricks and figures'],
    ['seen', 'as it is seen from there']]) tell(`${name}, ${what}`, rows.map((row) => row[part]));
  const share = (of) => ((after[of] - before[of]) / rounds).toFixed(0);
  console.log(`${name}, processor time`.padEnd(36), `desk ${share('desk')} ms, browser ${share('browser')} ms`);
  if (process.env.ASKED) for (const { asked } of rows.slice(-3))
    console.log(asked.map((a) => `  ${a.join(' ')}`).join('\n'));
}
await page.evaluate(() => new Promise((done) => {
  const look = () => (window.desk.state.figures && !window.desk.state.work.busy ? done() : setTimeout(look, 50));
  look();
}));
/* Strokes of the brush that is out: moves of the pointer over a part of the mural, in shares of its
 * sides, and the end. Times are in ms: the longest move, and to the frame that shows the first face. */
const strokes = (list) => page.evaluate(async (lines) => {
  const { desk: d } = window;
  const marks = document.getElementById('marks');
  const frame = () => new Promise((done) => { requestAnimationFrame(() => setTimeout(done)); });
  const box = marks.getBoundingClientRect();
  marks.setPointerCapture = () => {};
  const send = (type, [x, y]) => {
    const begun = performance.now();
    marks.dispatchEvent(new window.PointerEvent(type, { clientX: box.left + x * box.width,
      clientY: box.top + y * box.height, bubbles: true, pointerId: 1 }));
    return performance.now() - begun;
  };
  const take = d.take.bind(d);
  const rows = [];
  for (const [[x0, y0], [x1, y1]] of lines) {
    while (d.state.work.busy || !d.state.figures) await frame();
    await new Promise((wake) => { setTimeout(wake, 200); });
    const row = { move: send('pointerdown', [x0, y0]) };
    for (let i = 1; i <= 20; i++) {
      row.move = Math.max(row.move, send('pointermove', [x0 + (x1 - x0) * i / 20, y0 + (y1 - y0) * i / 20]));
      await frame();
    }
    const shown = new Promise((done) => {
      d.take = (state) => {
        take(state);
        if (state.face) done();
      };
    });
    const begun = performance.now();
    send('pointerup', [x1, y1]);
    await shown;
    await frame();
    row.first = performance.now() - begun;
    d.take = take;
    rows.push(row);
  }
  return rows;
}, list);

/* A change, and a newer one when the first has been at work for a while: ms from sending that to the
 * news that it is at work; and of a request that is answered at once. */
const supersede = (times, whole) => page.evaluate(async ([count, most]) => {
  const { desk: d } = window;
  const pause = (ms) => new Promise((wake) => { setTimeout(wake, ms); });
  const post = (calm) => window.fetch('/change', { method: 'POST', headers: { 'Content-Type': 'application/json' },
    body: JSON.stringify({ settings: { calm: calm.toFixed(4) } }) });
  const rows = [];
  for (let i = 0; i < count; i++) {
    while (d.state.work.busy || !d.state.figures) await pause(20);
    await post(0.2 + 0.002 * i);
    await pause(most * i / count);
    const { now } = d.state;
    const begun = performance.now();
    const sent = post(0.2 + 0.002 * i + 0.001);
    while (d.state.now === now || d.state.work.version !== d.state.now) await pause(0);
    const taken = performance.now() - begun;
    await sent;
    const asked = performance.now();
    await (await window.fetch('/versions')).text();
    rows.push({ taken, way: performance.now() - asked });
  }
  return rows;
}, [times, whole]);

/* The first round warms up. */
await time([0, 1, 2].map((i) => ({ columns: '200', rows: '133', calm: String(0.3 + i * 0.004) })));
await measure('colour', (i) => ({ calm: String(0.35 + i * 0.004) }));
await measure('crop', (i) => ({ crop: `5400x3591+${10 + 7 * i}+40` }));
const taken = await supersede(2 * rounds, 400);
decodes.push(decode());
tell('a newer change is taken up', taken.map((row) => row.taken));
tell('a request there and back', taken.map((row) => row.way));

async function measureStrokes(name, prepare) {
  await prepare();
  await page.evaluate(() => new Promise((done) => {
    const look = () => (window.desk.painter.task ? done() : setTimeout(look, 20));
    look();
  }));
  const down = (i) => 0.2 + 0.6 * i / rounds;
  const lines = [...Array(rounds + 1).keys()].map((i) => [[0.3, down(i)], [0.6, down(i) + 0.02]]);
  const rows = (await strokes(lines)).slice(1);
  tell(`${name}, longest move`, rows.map((row) => row.move));
  tell(`${name}, first face`, rows.map((row) => row.first));
}
await measureStrokes('stroke on cells', () => page.click('#stage-touch'));
await measureStrokes('stroke on a region', async () => {
  await page.click('#stage-regions');
  await page.click('text=Add a region');
  await page.waitForFunction(() => window.desk.painter.task?.owner === window.desk.brushes.regions);
  /* An outline wants some strokes outside, too. */
  await page.evaluate(() => {
    const { painter, brushes } = window.desk;
    const { width } = painter.task;
    brushes.regions.current = 255;
    painter.stroke([0.1 * width, 20], [0.9 * width, 20]);
    brushes.regions.current = 1;
  });
});
/* The desk asked by this program alone, as supersede does. */
async function supersedeBare(cookie, count, most) {
  const { hostname, port, origin } = new URL(link);
  const agent = new Agent({ keepAlive: true });
  const host = hostname.replace(/[[\]]/g, '');
  const ask = (method, path, body) => new Promise((done, failed) => {
    const headers = { Cookie: cookie, Origin: origin, ...(body && { 'Content-Type': 'application/json' }) };
    const asked = request({ host, port, method, path, agent, headers }, (answer) => {
      let text = '';
      answer.on('data', (part) => { text += part; });
      answer.on('end', () => done(JSON.parse(text || 'null')));
    });
    asked.on('error', failed);
    asked.end(body);
  });
  const change = (calm) => ask('POST', '/change', JSON.stringify({ settings: { calm: calm.toFixed(4) } }));
  const news = (state) => ask('GET', `/state?after=${state.serial}&face=${state.work.face}`);
  const rows = [];
  for (let i = 0; i < count; i++) {
    await change(0.5 + 0.002 * i);
    await new Promise((wake) => { setTimeout(wake, most * i / count); });
    let state = await ask('GET', '/state');
    const { now } = state;
    const begun = performance.now();
    const sent = change(0.5 + 0.002 * i + 0.001);
    while (state.now === now || state.work.version !== state.now) state = await news(state);
    rows.push(performance.now() - begun);
    await sent;
    while (state.work.busy || !state.figures) state = await news(state);
  }
  agent.destroy();
  return rows;
}

const memory = /VmHWM:\s*(\d+)/.exec(readFileSync(`/proc/${desk.pid}/status`, 'utf8'));
console.log(`${'peak memory of the desk'.padEnd(36)} ${(memory[1] / 1024).toFixed(0)} MiB`);
const cookie = (await page.context().cookies()).map(({ name, value }) => `${name}=${value}`).join('; ');
await browser.close();
tell('a newer change, without the browser', await supersedeBare(cookie, 2 * rounds, 400));
desk.kill('SIGTERM');
