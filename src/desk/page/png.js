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

/* Bytes that went through a stream, written into it at once: through a blob they would take another
 * way round through the browser's other processes. */
async function through(stream, bytes) {
  const writer = stream.writable.getWriter();
  const written = writer.write(bytes).then(() => writer.close());
  const [parts, reader] = [[], stream.readable.getReader()];
  for (let part = await reader.read(); !part.done; part = await reader.read()) parts.push(part.value);
  await written;
  const whole = new Uint8Array(parts.reduce((sum, { length }) => sum + length, 0));
  let at = 0;
  for (const part of parts) {
    whole.set(part, at);
    at += part.length;
  }
  return whole;
}

/* indices: width x height, the top row first; inks: "#rrggbb" of each index; clear: indices that are
 * transparent. */
async function writeIndexed({ width, height, indices, inks, clear = [] }) {
  const head = new Uint8Array(13);
  new DataView(head.buffer).setUint32(0, width);
  new DataView(head.buffer).setUint32(4, height);
  head.set([8, 3, 0, 0, 0], 8);
  const rows = new Uint8Array(height * (width + 1));
  for (let y = 0; y < height; y++) rows.set(indices.subarray(y * width, (y + 1) * width), y * (width + 1) + 1);
  const packed = await through(new CompressionStream('deflate'), rows);
  const alpha = new Uint8Array(inks.length).map((_, i) => (clear.includes(i) ? 0 : 255));
  return new Blob([new Uint8Array([137, 80, 78, 71, 13, 10, 26, 10]), chunk('IHDR', head),
    chunk('PLTE', new Uint8Array(inks.flatMap(channels))), chunk('tRNS', alpha),
    chunk('IDAT', packed), chunk('IEND', new Uint8Array(0))], { type: 'image/png' });
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
