/* Many devices at one bench, without a browser: so many devices tick so often for a while, each
 * waits for news, and each is told of every tick. Times from sending a tick to the news of it at
 * every other device, in ms, and whether all of them end in the same state with nothing lost.
 *
 * Goal: 12 devices, 10 ticks a second each, 60 s: all within 300 ms (95 %), nothing lost.
 *
 *   node measure_bench.mjs [DEVICES] [TICKS-A-SECOND] [SECONDS] */
import { execFileSync, spawn } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { build, root } from './bench.mjs';

const [devices, often, seconds] = [12, 10, 60].map((value, i) => Number(process.argv[2 + i]) || value);
const folder = join(mkdtempSync(join(tmpdir(), 'rowlock-bench-')), 'plan');
process.on('exit', () => rmSync(join(folder, '..'), { recursive: true, force: true }));
execFileSync(join(build, 'rowlock'), ['plan', join(root, 'tests/data/pictures/astronaut.png'), '--columns', '96',
  '--quote', 'no', '--quiet', '--out', folder]);
const { panels } = JSON.parse(readFileSync(join(folder, 'plan.json'), 'utf8'));
const bench = spawn(join(build, 'rowlock'), ['bench', folder, '--no-open'], { stdio: ['ignore', 'pipe', 'ignore'] });
const link = await new Promise((resolve) => { bench.stdout.once('data', (text) => resolve(String(text).trim())); });
const { origin, searchParams, port } = new URL(link);
const Cookie = `rowlock-${port}=${searchParams.get('token')}`;
const pause = (ms) => new Promise((wake) => { setTimeout(wake, ms); });
const ask = async (path, body) => (await fetch(origin + path, body
  ? { method: 'POST', headers: { Cookie, 'Content-Type': 'application/json' }, body: JSON.stringify(body) }
  : { headers: { Cookie } })).json();

const serials = []; /* of each tick: when it was sent */
const waits = [];
let ended = false;
let confirmed = 0;
/* Each device marks bricks of a panel of its own turn by turn; a name that is told in the text of what lacks would
 * grow, so a mark is what is sent. */
async function tick(d) {
  for (let n = 0; n < often * seconds; n++) {
    const panel = panels[(d + n) % panels.length];
    const due = pause(1000 / often);
    const sent = performance.now();
    await ask('/events?plan=0', { device: `device${d}`, events: [{ number: n, kind: 'mark', panel: panel.name,
      first: (d * 7919 + n * 31) % panel.bricks, count: 1, laid: (n & 1) === 0 }] });
    confirmed++;
    serials.push([sent, performance.now()]);
    await due;
  }
}
async function follow() {
  let serial = 0;
  let state = {};
  while (!ended || serial < confirmed) {
    const news = await ask(`/state?plan=0&after=${serial}`);
    const now = performance.now();
    /* Serials count ticks in the order in which they were kept, which is nearly that of sending. */
    for (let s = serial; s < news.serial; s++) if (serials[s]) waits.push(now - serials[s][0]);
    serial = news.serial;
    state = news;
    for (const [name, runs] of Object.entries(news.panels)) state[name] = runs;
  }
  return state.laid;
}
const followers = Array.from({ length: devices }, follow);
await Promise.all([...Array(devices).keys()].map(tick));
ended = true;
await ask('/events?plan=0', { device: 'last', events: [{ number: 1, kind: 'name', text: 'end' }] });
const laid = await Promise.all(followers);
const whole = await ask('/state?plan=0');
waits.sort((a, b) => a - b);
const answers = serials.map(([a, b]) => b - a).sort((a, b) => a - b);
const at = (list, share) => list[Math.min(list.length - 1, Math.floor(share * list.length))].toFixed(0);
console.log(`${devices} devices, ${often} ticks a second, ${seconds} s:`,
  `${confirmed} ticks confirmed, ${whole.serial - 1} kept`);
console.log(`confirmed on the disk      ${at(answers, 0.5)} ms, 95 % within ${at(answers, 0.95)}`);
console.log(`seen by every other device ${at(waits, 0.5)} ms, 95 % within ${at(waits, 0.95)}`);
console.log(`all in one state: ${laid.every((n) => n === whole.laid) ? 'yes' : 'NO'}`);
bench.kill('SIGTERM');
