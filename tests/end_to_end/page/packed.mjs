/* Packs runs of all lengths, and rows of strokes, as the desk's page does, and unpacks them again by
 * zlib, which judges the checksum, too. */
import { readFileSync } from 'node:fs';
import { runInNewContext } from 'node:vm';
import { inflateSync } from 'node:zlib';

const pack = runInNewContext(`${readFileSync('src/desk/page/png.js', 'utf8')}\npack;`, { Uint8Array });
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
