/* Png: pictures of a few indices, as the program takes strokes, labels and pins: written here, and
 * read back where they are of this kind.
 *
 * Source: PNG, third edition (W3C), colour type 3. */

const crcTable = Array.from({ length: 256 }, (_, n) => {
  let c = n;
  for (let k = 0; k < 8; k++) c = c & 1 ? 0xedb88320 ^ (c >>> 1) : c >>> 1;
  return c >>> 0;
});
function crcOf(bytes) {
  let c = 0xffffffff;
  for (const byte of bytes) c = crcTable[(c ^ byte) & 255] ^ (c >>> 8);
  return (c ^ 0xffffffff) >>> 0;
}

function chunk(type, data) {
  const bytes = new Uint8Array(12 + data.length);
  const view = new DataView(bytes.buffer);
  view.setUint32(0, data.length);
  bytes.set([...type].map((c) => c.charCodeAt(0)), 4);
  bytes.set(data, 8);
  view.setUint32(8 + data.length, crcOf(bytes.subarray(4, 8 + data.length)));
  return bytes;
}

/* Packs bytes as one block of fixed codes. A run of the same byte is written as the byte and copies
 * of the one before: rows of strokes are little else, and no stream is waited for.
 *
 * Source: RFC 1950, RFC 1951. */
const FIXED = { copy: 257, most: 258, least: 3, end: 256 };

/* The code of a literal or a length, and its bits, the first of them lowest (RFC 1951, 3.2.6). */
const fixedCodes = Array.from({ length: 286 }, (_, symbol) => {
  const [first, code, bits] = [[0, 0x30, 8], [144, 0x190, 9], [256, 0, 7], [280, 0xc0, 8]]
    .findLast(([from]) => symbol >= from);
  const text = (code + symbol - first).toString(2).padStart(bits, '0');
  return [parseInt([...text].reverse().join(''), 2), bits];
});

class Packer {
  constructor(length) {
    this.bytes = new Uint8Array(2 * length + 64); /* no byte takes more than nine bits */
    this.at = 0;
    this.held = 0;
    this.bits = 0;
    this.sums = [1, 0]; /* Adler-32 */
  }
  put(value, bits) {
    this.held |= value << this.bits;
    for (this.bits += bits; this.bits >= 8; this.bits -= 8, this.held >>>= 8) this.bytes[this.at++] = this.held & 255;
  }
  /* Copies of the byte before: a length and the distance 1 (RFC 1951, 3.2.5). */
  copy(length) {
    const beyond = length - FIXED.least;
    const more = length === FIXED.most ? 0 : Math.max(0, 29 - Math.clz32(beyond));
    this.put(...fixedCodes[length === FIXED.most ? 285 : FIXED.copy + 4 * more + (beyond >> more)]);
    this.put(beyond & ((1 << more) - 1), more);
    this.put(0, 5);
  }
  run(byte, length) {
    const [a, b] = this.sums;
    this.sums = [(a + length * byte) % 65521, (b + length * a + byte * length * (length + 1) / 2) % 65521];
    this.put(...fixedCodes[byte]);
    let left = length - 1;
    for (; left >= FIXED.least; left -= Math.min(left, FIXED.most)) this.copy(Math.min(left, FIXED.most));
    for (; left > 0; left--) this.put(...fixedCodes[byte]);
  }
}

function pack(bytes) {
  const packer = new Packer(bytes.length);
  packer.put(0x0178, 16);
  packer.put(3, 3); /* the last block, of fixed codes */
  for (let from = 0, to = 0; from < bytes.length; from = to) {
    const byte = bytes[from];
    while (to < bytes.length && bytes[to] === byte) to++;
    packer.run(byte, to - from);
  }
  packer.put(...fixedCodes[FIXED.end]);
  packer.put(0, 7); /* to the end of the byte */
  const [a, b] = packer.sums;
  packer.bytes.set([b >> 8, b & 255, a >> 8, a & 255], packer.at);
  return packer.bytes.subarray(0, packer.at + 4);
}

function joined(parts) {
  const whole = new Uint8Array(parts.reduce((sum, { length }) => sum + length, 0));
  let at = 0;
  for (const part of parts) {
    whole.set(part, at);
    at += part.length;
  }
  return whole;
}

/* The bytes of the file. indices: width x height, the top row first; inks: "#rrggbb" of each index; clear:
 * indices that are transparent. */
function writeIndexed({ width, height, indices, inks, clear = [] }) {
  const head = new Uint8Array(13);
  new DataView(head.buffer).setUint32(0, width);
  new DataView(head.buffer).setUint32(4, height);
  head.set([8, 3, 0, 0, 0], 8);
  const rows = new Uint8Array(height * (width + 1));
  for (let y = 0; y < height; y++) rows.set(indices.subarray(y * width, (y + 1) * width), y * (width + 1) + 1);
  const alpha = new Uint8Array(inks.length).map((_, i) => (clear.includes(i) ? 0 : 255));
  return joined([new Uint8Array([137, 80, 78, 71, 13, 10, 26, 10]), chunk('IHDR', head),
    chunk('PLTE', new Uint8Array(inks.flatMap(channels))), chunk('tRNS', alpha), chunk('IDAT', pack(rows)),
    chunk('IEND', new Uint8Array(0))]);
}

/* Undoes a row's filter in place (PNG, section 9). */
function unfilter(kind, row, above) {
  for (let x = 0; x < row.length; x++) {
    const a = x ? row[x - 1] : 0;
    const b = above ? above[x] : 0;
    const c = x && above ? above[x - 1] : 0;
    const p = a + b - c;
    const [pa, pb, pc] = [Math.abs(p - a), Math.abs(p - b), Math.abs(p - c)];
    const paeth = pa <= pb && pa <= pc ? a : pb <= pc ? b : c;
    row[x] += [0, a, b, (a + b) >> 1, paeth][kind];
  }
}

/* {width, height, indices} of an indexed PNG of 8 bits; null for any other. */
async function readIndexed(buffer) {
  const view = new DataView(buffer);
  const bytes = new Uint8Array(buffer);
  if (buffer.byteLength < 33 || view.getUint32(0) !== 0x89504e47) return null;
  const [width, height] = [view.getUint32(16), view.getUint32(20)];
  if (bytes[24] !== 8 || bytes[25] !== 3 || bytes[28]) return null;
  const parts = [];
  for (let at = 8; at + 12 <= bytes.length; at += 12 + view.getUint32(at))
    if (view.getUint32(at + 4) === 0x49444154) parts.push(bytes.subarray(at + 8, at + 8 + view.getUint32(at)));
  const rows = new Uint8Array(await new Response(new Blob(parts).stream()
    .pipeThrough(new DecompressionStream('deflate'))).arrayBuffer());
  const indices = new Uint8Array(width * height);
  for (let y = 0; y < height; y++) {
    const from = y * (width + 1);
    const row = rows.slice(from + 1, from + 1 + width);
    unfilter(rows[from], row, y ? indices.subarray((y - 1) * width, y * width) : null);
    indices.set(row, y * width);
  }
  return { width, height, indices };
}
