/* Many devices at one bench, without a browser: so many devices tick so often for a while, each
 * waits for news, and each is told of every tick. Times from sending a tick to the news of it at
 * every other device, in ms, and whether all of them end in the same state with nothing lost. The
 * bench may be killed meanwhile, so many times at moments by chance; devices send again what was
 * not confirmed, and all that was confirmed must be there.
 *
 * Goals: 12 devices, 10 ticks a second each, 60 s: all within 300 ms (95 %), nothing lost; nor by
 * 200 kills.
 *
 *   node measure_bench.mjs [DEVICES] [TICKS-A-SECOND] [SECONDS] [KILLS] */
import { execFileSync, spawn } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { build, readTable, root } from './bench.mjs';

const [devices, often, seconds, kills] = [12, 10, 60, 0].map((value, i) => Number(process.argv[2 + i]) || value);
const rowlock = join(build, 'rowlock');
const folder = join(mkdtempSync(join(tmpdir(), 'rowlock-bench-')), 'plan');
process.on('exit', () => rmSync(join(folder, '..'), { recursive: true, force: true }));
execFileSync(rowlock, ['plan', join(root, 'tests/data/pictures/astronaut.png'), '--columns', '96', '--quote', 'no',
  '--quiet', '--out', folder]);
const { panels } = JSON.parse(readFileSync(join(folder, 'plan.json'), 'utf8'));
const pause = (ms) => new Promise((wake) => { setTimeout(wake, ms); });

let bench = null;
let link = null;
async function open(port) {
  bench = spawn(rowlock, ['bench', folder, '--no-open', '--port', port], { stdio: ['ignore', 'pipe', 'inherit'] });
  const told = await new Promise((resolve) => { bench.stdout.once('data', resolve); });
  link = new URL(String(told).trim());
}
await open('0');
const end = () => new Promise((resolve) => {
  bench.once('exit', resolve);
  bench.kill('SIGTERM');
});

async function ask(path, body) {
  for (;;) {
    try {
      const headers = { Cookie: `rowlock-${link.port}=${link.searchParams.get('token')}`,
        'Content-Type': 'application/json' };
      const answer = await fetch(link.origin + path, body ? { method: 'POST', headers, body: JSON.stringify(body) }
        : { headers });
      if (answer.ok) return await answer.json();
    } catch { /* it was killed; the next one is asked */ }
    if (!kills) throw new Error(`${path}: no answer`);
    await pause(20);
  }
}

const ticks = []; /* [sent, confirmed], in the order of confirming */
const names = []; /* "device number" of each */
const waits = [];
let ended = false;
async function tick(d) {
  for (let n = 0; n < often * seconds; n++) {
    const panel = panels[(d + n) % panels.length];
    const due = pause(1000 / often);
    const sent = performance.now();
    await ask('/events?plan=0', { device: `device${d}`, events: [{ number: n, kind: 'mark', panel: panel.name,
      first: (d * 7919 + n * 31) % panel.bricks, count: 1, laid: (n & 1) === 0 }] });
    ticks.push([sent, performance.now()]);
    names.push(`device${d} ${n}`);
    await due;
  }
}
/* Serials count ticks in the order in which they were kept, which is nearly that of confirming. */
async function follow() {
  let serial = 0;
  let laid = 0;
  while (!ended || serial < ticks.length) {
    const news = await ask(`/state?plan=0&after=${serial}`);
    const now = performance.now();
    for (let s = serial; s < news.serial; s++) if (ticks[s]) waits.push(now - ticks[s][0]);
    [serial, laid] = [news.serial, news.laid];
  }
  return laid;
}
async function killNowAndThen() {
  for (let k = 0; k < kills; k++) {
    await pause(50 + 400 * Math.random());
    const gone = new Promise((resolve) => { bench.once('exit', resolve); });
    bench.kill('SIGKILL');
    await gone;
    await open(link.port);
  }
}
const followers = Array.from({ length: devices }, follow);
const killing = killNowAndThen();
await Promise.all([...Array(devices).keys()].map(tick));
await killing;
ended = true;
await ask('/events?plan=0', { device: 'last', events: [{ number: 1, kind: 'name', text: 'end' }] });
const laid = await Promise.all(followers);
const whole = await ask('/state?plan=0');
await end();
execFileSync(rowlock, ['bench', folder, '--export', join(folder, 'all.csv')]);
const kept = new Set(readTable(join(folder, 'all.csv')).map(({ device, number }) => `${device} ${number}`));
const lost = names.filter((one) => !kept.has(one)).length;
waits.sort((a, b) => a - b);
const answers = ticks.map(([a, b]) => b - a).sort((a, b) => a - b);
const at = (list, share) => list[Math.min(list.length - 1, Math.floor(share * list.length))].toFixed(0);
console.log(`${devices} devices, ${often} ticks a second, ${seconds} s, ${kills} kills:`,
  `${ticks.length} ticks confirmed, ${lost} of them lost`);
console.log(`confirmed on the disk      ${at(answers, 0.5)} ms, 95 % within ${at(answers, 0.95)}`);
console.log(`seen by every other device ${at(waits, 0.5)} ms, 95 % within ${at(waits, 0.95)}`);
console.log(`all in one state: ${laid.every((n) => n === whole.laid) ? 'yes' : 'NO'}`);
