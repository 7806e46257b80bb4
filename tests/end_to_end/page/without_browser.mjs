/* What of the desk's scripts needs no browser. Runs of all lengths, and rows of strokes, are packed as the
 * page does and unpacked again by zlib, which judges the checksum, too. Rasters lie on the picture where
 * `rowlock --manual` has them: on all of it or, of its crop's shape, on the crop. */
import { readFileSync } from 'node:fs';
import { runInNewContext } from 'node:vm';
import { inflateSync } from 'node:zlib';

const script = (name, what, given) =>
  runInNewContext(`${readFileSync(`src/desk/page/${name}.js`, 'utf8')}\n${what};`, { Uint8Array, ...given });
const pack = script('png', 'pack', {});
const runs = (count, lengthOf, byteOf) =>
  Uint8Array.from([...Array(count).keys()].flatMap((i) => Array(lengthOf(i)).fill(byteOf(i))));
const cases = {
  nothing: new Uint8Array(0),
  'every byte alone': runs(256, () => 1, (i) => i),
  'runs of 1 to 600': runs(600, (i) => i + 1, (i) => (i * 37) % 256),
  'a raster with nothing on it': new Uint8Array(601 * 900),
  'strokes of the highest index': runs(600, () => 901, (i) => (i % 7 ? 0 : 255)),
};
/* The names of those that come back otherwise. */
export const packing = () => Object.entries(cases).filter(([, bytes]) =>
  Buffer.compare(inflateSync(pack(bytes)), bytes) !== 0).map(([name]) => `${name}: unpacked otherwise`);

/* A picture of 80 x 40, cropped to 20 x 20 from 40 across and 10 down, at a quarter of its size. */
const placed = {
  'of the whole': [{ width: 2, height: 1, indices: [1, 2] }, (x) => (x < 10 ? 1 : 2)],
  'of the crop': [{ width: 10, height: 10, indices: [...Array(100).keys()].map((i) => i + 3) }, (x, y) => {
    const [column, row] = [Math.floor((4 * x + 2 - 40) / 2), Math.floor((4 * y + 2 - 10) / 2)];
    return column >= 0 && column < 10 && row >= 0 && row < 10 ? 3 + 10 * row + column : 0;
  }],
};
export async function placing() {
  const wrong = [];
  for (const [name, [read, wanted]] of Object.entries(placed)) {
    const loadRaster = script('painter', 'loadRaster', { readIndexed: async () => read,
      fetch: async () => ({ ok: true, arrayBuffer: async () => null }) });
    const found = await loadRaster('strokes', { width: 20, height: 10 }, { frame: { pictureWidth: 80,
      pictureHeight: 40 }, crop: '20x20+40+10' });
    if (found.some((index, i) => index !== wanted(i % 20, Math.floor(i / 20)))) wrong.push(`${name}: ${found}`);
  }
  return wrong;
}
