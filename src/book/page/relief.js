/* Relief: the solid turned in space. With WebGL 2 a cell is a box as deep as its tiers; runs of
 * equal cells are one face. Without, the tiers are drawn as sheets, one before another. Lengths
 * are millimetres. */

const RELIEF_VERTEX = `#version 300 es
in vec3 place; in vec4 paint; uniform mat4 view; uniform vec3 light; out vec3 shade;
const vec3 normals[5] = vec3[5](vec3(0,0,1), vec3(-1,0,0), vec3(1,0,0), vec3(0,-1,0), vec3(0,1,0));
void main() {
  float lit = max(dot(normals[int(paint.a * 255.0 + 0.5)], light), 0.0);
  shade = pow(pow(paint.rgb, vec3(2.2)) * (0.28 + 0.82 * lit), vec3(1.0 / 2.2));
  gl_Position = view * vec4(place, 1.0);
}`;
const RELIEF_FRAGMENT = `#version 300 es
precision mediump float; in vec3 shade; out vec4 colour; void main() { colour = vec4(shade, 1.0); }`;

class Mesh {
  constructor(plan, face) {
    this.place = [];
    this.paint = [];
    this.index = [];
    this.build(plan, face);
  }
  quad(corners, [r, g, b], normal) {
    const first = this.place.length / 3;
    for (const corner of corners) {
      this.place.push(...corner);
      this.paint.push(r, g, b, normal);
    }
    this.index.push(first, first + 1, first + 2, first, first + 2, first + 3);
  }
  build(plan, { brick, top }) {
    const { columns, rows, cellWidth: w, cellHeight: h, step } = plan;
    const x = (c) => (c - columns / 2) * w;
    const y = (r) => (r - rows / 2) * h;
    const at = (c, r) => (c < 0 || r < 0 || c >= columns || r >= rows ? 0 : top[r * columns + c]);
    const colour = (c, r) => plan.colour[brick[r * columns + c]];
    const lap = 0.02 * w; /* faces meet at unlike corners; without it the ground glints through */
    /* Faces toward the viewer, and the steps up and down between rows, in stretches. */
    for (let r = 0; r < rows; r++) {
      for (let c = 0, to; c < columns; c = to) {
        to = c + 1;
        const z = at(c, r);
        const k = colour(c, r);
        while (to < columns && at(to, r) === z && colour(to, r) === k) to++;
        const [x0, x1, y0, y1] = [x(c) - lap, x(to) + lap, y(r) - lap, y(r + 1) + lap];
        const corners = [[x0, y0], [x1, y0], [x1, y1], [x0, y1]];
        this.quad(corners.map((corner) => [...corner, z * step]), plan.colours[k].rgb, 0);
      }
      for (let c = 0; c < columns; c++) {
        const z = at(c, r);
        const { rgb } = plan.colours[colour(c, r)];
        const sides = [[-1, 0, x(c), y(r), x(c), y(r + 1), 1], [1, 0, x(c + 1), y(r), x(c + 1), y(r + 1), 2],
          [0, -1, x(c), y(r), x(c + 1), y(r), 3], [0, 1, x(c), y(r + 1), x(c + 1), y(r + 1), 4]];
        for (const [dc, dr, x0, y0, x1, y1, normal] of sides) {
          const low = at(c + dc, r + dr);
          if (low >= z) continue;
          const [from, to] = [low * step, z * step];
          this.quad([[x0, y0, from], [x1, y1, from], [x1, y1, to], [x0, y0, to]], rgb, normal);
        }
      }
    }
  }
}

/* The solid as a pile of sheets, each a picture of the cells that reach so far, a pixel a cell:
 * what a browser without WebGL 2 shows. Seen in parallel; sheets between two tiers are its
 * sides. */
const SHEETS_MOST = 96;

class Pile {
  constructor(plan, face) {
    Object.assign(this, { plan, face, sheet: new CellPicture(plan.columns, plan.rows) });
  }
  /* The cells of `tier` tiers and more; those of just so many are lit, unless a neighbour toward
   * the lamp, {dx, dy}, shades them. */
  fill(tier, lamp, side) {
    const { plan, face: { brick, top }, sheet: { pixels } } = this;
    const { columns, rows } = plan;
    pixels.fill(0);
    for (let row = 0; row < rows; row++)
      for (let column = 0; column < columns; column++) {
        const cell = row * columns + column;
        if (top[cell] < tier) continue;
        const [x, y] = [column + lamp.dx, row + lamp.dy];
        const before = x < 0 || y < 0 || x >= columns || y >= rows ? 0 : top[y * columns + x];
        const shade = side ? 0.6 : before > top[cell] ? 0.75 : 1;
        const [r, g, b] = plan.colours[plan.colour[brick[cell]]].rgb;
        pixels[(rows - 1 - row) * columns + column] = opaque(r * shade, g * shade, b * shade);
      }
    this.sheet.put();
  }
  /* turn, tilt, lamp: radians; scale: pixels a millimetre; (x, y): the middle. */
  paint(context, { turn, tilt, lamp, scale, x, y }) {
    const { columns, rows, cellWidth, cellHeight, step, depth } = this.plan;
    const [cy, sy, cx, sx] = [Math.cos(turn), Math.sin(turn), Math.cos(tilt), Math.sin(tilt)];
    const toward = { dx: Math.round(Math.sin(lamp)), dy: Math.round(Math.cos(lamp)) };
    const [left, high] = [-columns / 2 * cellWidth, rows / 2 * cellHeight];
    const rise = Math.max(Math.abs(sy), Math.abs(sx * cy)) * step * scale;
    const between = Math.max(1, Math.min(Math.ceil(rise / 2), Math.floor(SHEETS_MOST / depth)));
    context.imageSmoothingEnabled = false;
    const place = (z) => {
      context.setTransform(scale * cy * cellWidth, -scale * sx * sy * cellWidth, 0, scale * cx * cellHeight,
        x + scale * (cy * left + sy * z), y - scale * (sx * sy * left + cx * high - sx * cy * z));
      context.drawImage(this.sheet.canvas, 0, 0);
    };
    for (let tier = 1; tier <= depth; tier++) {
      this.fill(tier, toward, true);
      for (let k = 1; k < between; k++) place((tier - 1 + k / between) * step);
      this.fill(tier, toward, false);
      place(tier * step);
    }
    context.setTransform(1, 0, 0, 1, 0, 0);
  }
}

class Relief {
  constructor(book) {
    Object.assign(this, { book, plan: book.plan, zoom: 1, due: false });
    this.canvas = byId('relief-canvas');
    this.inputs = ['turn', 'tilt', 'light'].map((name) => byId(`relief-${name}`));
    this.rest = this.inputs.map((input) => input.value);
    for (const input of this.inputs) input.addEventListener('input', () => this.draw());
    byId('relief-facts').textContent = `${many(this.plan.depth, 'tier')} at most, ${this.plan.step} mm each`;
    this.listen();
    new ResizeObserver(() => this.draw()).observe(this.canvas);
  }
  listen() {
    const c = this.canvas;
    const [turn, tilt] = this.inputs;
    const nudge = (input, by) => {
      input.value = String(Number(input.value) + by);
      this.draw();
    };
    c.addEventListener('pointerdown', (event) => c.setPointerCapture(event.pointerId));
    c.addEventListener('pointermove', (event) => {
      if (!c.hasPointerCapture(event.pointerId)) return;
      nudge(turn, Math.round(event.movementX / 3));
      nudge(tilt, Math.round(event.movementY / 3));
    });
    const zoom = (by) => {
      this.zoom = clamp(this.zoom * by, 0.5, 6);
      this.draw();
    };
    c.addEventListener('wheel', (event) => {
      event.preventDefault();
      zoom(Math.exp(-event.deltaY * 0.0015));
    }, { passive: false });
    const acts = {
      ArrowLeft: () => nudge(turn, -5), ArrowRight: () => nudge(turn, 5),
      ArrowUp: () => nudge(tilt, -5), ArrowDown: () => nudge(tilt, 5),
      '+': () => zoom(1.25), '=': () => zoom(1.25), '-': () => zoom(0.8),
      '0': () => {
        this.zoom = 1;
        this.inputs.forEach((input, i) => { input.value = this.rest[i]; });
        this.draw();
      },
    };
    c.parentElement.addEventListener('keydown', (event) => {
      if (!acts[event.key] || isShortcut(event)) return;
      acts[event.key]();
      event.preventDefault();
    });
  }
  start() {
    const gl = this.canvas.getContext('webgl2', { antialias: true });
    this.gl = gl;
    byId('relief-none').hidden = Boolean(gl);
    if (!gl) {
      this.flat = this.canvas.getContext('2d', { alpha: false });
      this.pile = new Pile(this.plan, this.book.face);
      return;
    }
    const program = gl.createProgram();
    for (const [type, text] of [[gl.VERTEX_SHADER, RELIEF_VERTEX], [gl.FRAGMENT_SHADER, RELIEF_FRAGMENT]]) {
      const shader = gl.createShader(type);
      gl.shaderSource(shader, text);
      gl.compileShader(shader);
      gl.attachShader(program, shader);
    }
    gl.bindAttribLocation(program, 0, 'place');
    gl.bindAttribLocation(program, 1, 'paint');
    gl.linkProgram(program);
    gl.useProgram(program);
    const mesh = new Mesh(this.plan, this.book.face);
    const buffer = (kind, data) => {
      gl.bindBuffer(kind, gl.createBuffer());
      gl.bufferData(kind, data, gl.STATIC_DRAW);
    };
    buffer(gl.ARRAY_BUFFER, new Float32Array(mesh.place));
    gl.enableVertexAttribArray(0);
    gl.vertexAttribPointer(0, 3, gl.FLOAT, false, 0, 0);
    buffer(gl.ARRAY_BUFFER, new Uint8Array(mesh.paint));
    gl.enableVertexAttribArray(1);
    gl.vertexAttribPointer(1, 4, gl.UNSIGNED_BYTE, true, 0, 0);
    buffer(gl.ELEMENT_ARRAY_BUFFER, new Uint32Array(mesh.index));
    this.length = mesh.index.length;
    this.uniform = { view: gl.getUniformLocation(program, 'view'), light: gl.getUniformLocation(program, 'light') };
    gl.enable(gl.DEPTH_TEST);
  }
  show() {
    if (this.gl === undefined) this.start();
    this.draw();
  }
  draw() {
    if (this.due || !(this.gl || this.flat)) return;
    this.due = true;
    requestAnimationFrame(() => {
      this.due = false;
      this.paint();
    });
  }
  /* Turn, tilt and where the light comes from, in radians. */
  angles() { return this.inputs.map((input) => Number(input.value) * Math.PI / 180); }
  /* Turned about the upright, then the level axis, seen in perspective; column by column. */
  matrix(aspect) {
    const { plan } = this;
    const [turn, tilt] = this.angles();
    const width = plan.columns * plan.cellWidth;
    const height = plan.rows * plan.cellHeight;
    const size = Math.max(width / Math.max(aspect, 1e-6), height);
    const far = 1.9 * size / this.zoom;
    const cy = Math.cos(turn), sy = Math.sin(turn), cx = Math.cos(tilt), sx = Math.sin(tilt);
    const lens = 1 / Math.tan(0.31);
    const near = far / 20, end = far + 3 * Math.max(width, height);
    const a = (end + near) / (near - end), b = 2 * end * near / (near - end);
    const axes = [[cy, 0, sy, 0], [sx * sy, cx, -sx * cy, 0], [-cx * sy, sx, cx * cy, -far - plan.depth * plan.step]];
    const clip = [axes[0].map((n) => n * lens / aspect), axes[1].map((n) => n * lens),
      axes[2].map((n, i) => a * n + (i === 3 ? b : 0)), axes[2].map((n) => -n)];
    return Float32Array.from([0, 1, 2, 3].flatMap((column) => clip.map((row) => row[column])));
  }
  paint() {
    const { canvas } = this;
    if (!sharpen(canvas)) return;
    if (this.gl) this.paintSolid(canvas.clientWidth / canvas.clientHeight);
    else this.paintPile();
    const [turn, tilt] = this.inputs;
    setLabel('relief-canvas', `The relief, turned ${turn.value} and tilted ${tilt.value} degrees`);
  }
  paintSolid(aspect) {
    const { gl, canvas } = this;
    gl.viewport(0, 0, canvas.width, canvas.height);
    const [r, g, b] = channels(this.book.inks.paper).map((c) => c / 255);
    gl.clearColor(r, g, b, 1);
    gl.clear(gl.COLOR_BUFFER_BIT | gl.DEPTH_BUFFER_BIT);
    const from = this.angles()[2];
    gl.uniform3f(this.uniform.light, 0.8 * Math.sin(from), 0.8 * Math.cos(from), 0.6);
    gl.uniformMatrix4fv(this.uniform.view, false, this.matrix(aspect));
    gl.drawElements(gl.TRIANGLES, this.length, gl.UNSIGNED_INT, 0);
  }
  paintPile() {
    const { canvas, flat, plan } = this;
    const [turn, tilt, lamp] = this.angles();
    const [width, height] = [plan.columns * plan.cellWidth, plan.rows * plan.cellHeight];
    const room = Math.min(canvas.width / width, canvas.height / height);
    flat.fillStyle = this.book.inks.paper;
    flat.fillRect(0, 0, canvas.width, canvas.height);
    const scale = 0.85 * room * this.zoom;
    this.pile.paint(flat, { turn, tilt, lamp, scale, x: canvas.width / 2, y: canvas.height / 2 });
  }
}
