/* The sample plans, and what their files and their pages say. */
import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { makeSamples, readTable, root } from './bench.mjs';

export const samples = makeSamples();
export const bookOf = (name) => join(samples, name, 'book.html');
export const bricksOf = (name) => readTable(join(samples, name, 'bricks.csv'));
export const part = (file) => readFileSync(join(root, 'src/book/page', file), 'utf8');
export const plans = new Function(`${['dom.js', 'plan.js', 'steps.js'].map(part).join('')}
  return { readPlan, layerUnits, runsOfRow };`)();

export function planOf(name) {
  const html = readFileSync(bookOf(name), 'utf8');
  const block = (id) => new RegExp(`<script [^>]*id="${id}"[^>]*>([^<]*)</script>`).exec(html)[1];
  return plans.readPlan(JSON.parse(block('head')), block('bricks'), /data-digest="([0-9a-f]{64})"/.exec(html)[1]);
}
