// The picture of the section viewer: fills the section with a quantity, element by element, and
// keeps what part of it is seen. Screen: z to the right, r upwards. Drawn without a graphics
// processor, which not every reader's machine lends to a page.
//
// The scene says what to draw: quantity, values at the lattice points, limit of the colours, load,
// factor by which movement is magnified, mesh (whether its lines are drawn), pinned (a place).
"use strict";
const sectionPicture = (canvas, field, scene) => {
  const GREY = { wall: 0xd9dee2, adhesive: 0xf2ead9, ring: 0xc6ccd1, head: 0xe3e6e8 };
  const TALLEST = 620, SHARPEST = 2; // of the picture: CSS pixels, device pixels to one
  const { data } = field, context = canvas.getContext("2d");
  let shown = null; // the picture's middle as drawn (z, r) and mm to the device pixel

  // --- drawing --------------------------------------------------------------------------------

  const pixel = (rgb) => 0xff000000 | (rgb & 255) << 16 | (rgb & 0xff00) | rgb >> 16 & 255;

  const mapBytes = (name) =>
    Uint8Array.from(atob(data.maps[name]), (letter) => letter.charCodeAt(0));

  function palette(name) {
    const bytes = mapBytes(name);
    const colours = new Uint32Array(bytes.length / 3);
    for (let i = 0; i < colours.length; i++)
      colours[i] = 0xff000000 | bytes[3 * i + 2] << 16 | bytes[3 * i + 1] << 8 | bytes[3 * i];
    return colours;
  }
  const palettes = { signed: palette("signed"), plain: palette("plain") };

  // Screen coordinates of every lattice point, in pixels.
  function project() {
    const x = new Float32Array(field.total), y = new Float32Array(field.total);
    const k = 1 / shown.mm, [z0, r1] = toPlace(0, 0);
    const { factor, load } = scene;
    for (let i = 0; i < field.total; i++) {
      const z = field.place[2 * i] + (factor ? factor * field.along(i, load) : 0);
      const r = field.place[2 * i + 1] + (factor ? factor * field.out(i, load) : 0);
      x[i] = (z - z0) * k;
      y[i] = (r1 - r) * k;
    }
    return [x, y];
  }

  // Fills an image with the triangles of the lattices, each by the values at its corners.
  function fill(image, x, y) {
    const { width, height } = image, out = new Uint32Array(image.data.buffer);
    const colours = palettes[scene.quantity.signed ? "signed" : "plain"], last = colours.length - 1;
    const low = scene.quantity.signed ? -scene.limit : 0, scale = last / (scene.limit - low);
    const { values } = scene;
    const { each, grid } = field;

    function triangle(a, b, c, plain) {
      let x0 = x[a], y0 = y[a], x1 = x[b], y1 = y[b], x2 = x[c], y2 = y[c];
      const top = Math.max(Math.ceil(Math.min(y0, y1, y2) - 0.5), 0);
      const bottom = Math.min(Math.floor(Math.max(y0, y1, y2) - 0.5), height - 1);
      if (top > bottom) return;
      const det = (x1 - x0) * (y2 - y0) - (x2 - x0) * (y1 - y0);
      let v0 = 0, vx = 0, vy = 0;
      if (!plain && det) {
        v0 = (values[a] - low) * scale;
        const v1 = (values[b] - low) * scale - v0, v2 = (values[c] - low) * scale - v0;
        vx = (v1 * (y2 - y0) - v2 * (y1 - y0)) / det;
        vy = (v2 * (x1 - x0) - v1 * (x2 - x0)) / det;
      }
      const xa = x0, ya = y0;
      for (let row = top; row <= bottom; row++) {
        const middle = row + 0.5;
        let from = Infinity, to = -Infinity;
        for (let side = 0; side < 3; side++) {
          if (y0 <= middle ? y1 >= middle : y1 <= middle) {
            const at = y0 === y1 ? x0 : x0 + (x1 - x0) * (middle - y0) / (y1 - y0);
            if (at < from) from = at;
            if (at > to) to = at;
            if (y0 === y1) { from = Math.min(from, x1); to = Math.max(to, x1); }
          }
          const [xt, yt] = [x0, y0];
          x0 = x1; y0 = y1; x1 = x2; y1 = y2; x2 = xt; y2 = yt;
        }
        const begin = Math.max(Math.ceil(from - 0.5), 0);
        const end = Math.min(Math.floor(to - 0.5), width - 1);
        let k = row * width + begin;
        if (plain) {
          for (let column = begin; column <= end; column++) out[k++] = plain;
          continue;
        }
        let value = v0 + vx * (begin + 0.5 - xa) + vy * (middle - ya) + 0.5;
        for (let column = begin; column <= end; column++, value += vx)
          out[k++] = colours[value < 0 ? 0 : value > last ? last : value | 0];
      }
    }

    for (const { first, last: end, region } of field.runs) {
      const plain = scene.quantity.rows[region] ? 0 : pixel(GREY[data.regions[region].part]);
      for (let element = first; element < end; element++) {
        const i = element * each;
        let left = Infinity, right = -Infinity, top = Infinity, bottom = -Infinity;
        for (let q = i; q < i + each; q++) {
          if (x[q] < left) left = x[q];
          if (x[q] > right) right = x[q];
          if (y[q] < top) top = y[q];
          if (y[q] > bottom) bottom = y[q];
        }
        if (right < 0 || left > width || bottom < 0 || top > height) continue;
        if (right - left < 2 && bottom - top < 2) {
          triangle(i + grid.ends[0], i + grid.ends[1], i + grid.ends[2], plain);
          continue;
        }
        for (let t = 0; t < grid.small.length; t += 3)
          triangle(i + grid.small[t], i + grid.small[t + 1], i + grid.small[t + 2], plain);
      }
    }
  }

  function strokes(x, y, sides) {
    const { width, height } = canvas;
    context.lineCap = context.lineJoin = "round"; // sides are drawn one by one, without gaps
    context.beginPath();
    for (const [element, side] of sides) {
      const run = field.grid.sides[side], i = element * field.each;
      const a = i + run[0], b = i + run[run.length - 1];
      if (Math.max(x[a], x[b]) < 0 || Math.min(x[a], x[b]) > width) continue;
      if (Math.max(y[a], y[b]) < 0 || Math.min(y[a], y[b]) > height) continue;
      context.moveTo(x[a], y[a]);
      for (let n = 1; n < run.length; n++) context.lineTo(x[i + run[n]], y[i + run[n]]);
    }
    context.stroke();
  }

  function meshSides() {
    const sides = [];
    for (let element = 0; element < field.count; element++)
      for (let side = 0; side < 3; side++) sides.push([element, side]);
    return sides;
  }

  const toScreen = (z, r) => [(z - shown.z) / shown.mm + canvas.width / 2,
    canvas.height / 2 - (r - shown.r) / shown.mm];
  const toPlace = (x, y) => [shown.z + (x - canvas.width / 2) * shown.mm,
    shown.r + (canvas.height / 2 - y) * shown.mm];
  const sharp = () => canvas.width / canvas.clientWidth;

  function drawRuler() {
    const dot = sharp(), aim = canvas.width * shown.mm / 5;
    const power = 10 ** Math.floor(Math.log10(aim));
    const length = [5, 2, 1].find((n) => n * power <= aim) * power, wide = length / shown.mm;
    const x = 14 * dot, y = canvas.height - 14 * dot;
    const text = `${+length.toPrecision(2)} mm; z \u2192, r \u2191`;
    context.font = `${12 * dot}px system-ui, sans-serif`;
    for (const [colour, extra] of [[charts.colour("panel"), 3], [charts.colour("text"), 0]]) {
      context.strokeStyle = context.fillStyle = colour;
      context.lineWidth = (1.5 + extra) * dot;
      context.beginPath();
      context.moveTo(x, y - 4 * dot);
      context.lineTo(x, y);
      context.lineTo(x + wide, y);
      context.lineTo(x + wide, y - 4 * dot);
      context.stroke();
      context.lineWidth = extra * dot;
      if (extra) context.strokeText(text, x + 5 * dot, y - 6 * dot);
      else context.fillText(text, x + 5 * dot, y - 6 * dot);
    }
  }

  function cross() {
    const found = scene.pinned, dot = sharp();
    const [x, y] = toScreen(found.z + scene.factor * found.move[2],
      found.r + scene.factor * found.move[0]);
    for (const [colour, wide] of [["#ffffff", 4], ["#1d2730", 1.5]]) {
      context.strokeStyle = colour;
      context.lineWidth = wide * dot;
      context.beginPath();
      for (const [dx, dy] of [[1, 0], [-1, 0], [0, 1], [0, -1]]) {
        context.moveTo(x + 3 * dx * dot, y + 3 * dy * dot);
        context.lineTo(x + 10 * dx * dot, y + 10 * dy * dot);
      }
      context.stroke();
    }
  }

  let waiting = false;
  function draw() {
    if (waiting || !shown) return;
    waiting = true;
    requestAnimationFrame(() => { waiting = false; drawNow(); });
  }

  function drawNow() {
    const { width, height } = canvas, dot = sharp();
    const image = context.createImageData(width, height), [x, y] = project();
    fill(image, x, y);
    context.putImageData(image, 0, 0);
    if (scene.mesh) {
      context.strokeStyle = "#1d273055";
      context.lineWidth = 0.5 * dot;
      strokes(x, y, meshSides());
    }
    context.strokeStyle = "#1d2730";
    context.lineWidth = dot;
    strokes(x, y, field.border);
    context.lineWidth = 0.75 * dot;
    for (const [r, z, radius] of data.corner_places) {
      if (scene.factor) break;
      context.beginPath();
      context.arc(...toScreen(z, r), radius / shown.mm, 0, 2 * Math.PI);
      context.stroke();
    }
    drawRuler();
    if (scene.pinned) cross();
  }

  // --- where the picture looks ----------------------------------------------------------------

  function nearest(z, r) {
    let best = 0, least = Infinity;
    for (let i = 0; i < field.total; i++) {
      const [dz, dr] = drawn(i);
      const away = (dz - z) ** 2 + (dr - r) ** 2;
      if (away < least) { least = away; best = i; }
    }
    return best;
  }
  const drawn = (i) => [field.place[2 * i] + scene.factor * field.along(i, scene.load),
    field.place[2 * i + 1] + scene.factor * field.out(i, scene.load)];

  // Keeps the place in the picture's middle there while movement changes.
  function follow(change) {
    const middle = shown ? nearest(shown.z, shown.r) : null;
    const before = middle === null ? null : drawn(middle);
    change();
    if (middle === null) return;
    const after = drawn(middle);
    shown.z += after[0] - before[0];
    shown.r += after[1] - before[1];
    draw();
  }

  function look([z0, z1, r0, r1]) {
    const air = 1.04, tall = canvas.height, wide = canvas.width;
    shown = { z: (z0 + z1) / 2, r: (r0 + r1) / 2,
      mm: air * Math.max((z1 - z0) / wide, (r1 - r0) / tall) };
    if (scene.factor) {
      const kept = scene.factor;
      scene.factor = 0;
      follow(() => { scene.factor = kept; });
    }
    draw();
  }

  function zoom(by, x = canvas.width / 2, y = canvas.height / 2) {
    const [z, r] = toPlace(x, y), whole = data.views[0].box;
    const most = 4 * Math.max(whole[1], whole[3]) / canvas.width;
    shown.mm = Math.min(Math.max(shown.mm * by, 0.05 / canvas.width), most);
    const [z2, r2] = toPlace(x, y);
    shown.z += z - z2;
    shown.r += r - r2;
    draw();
  }

  function pan(dx, dy) {
    shown.z -= dx * shown.mm;
    shown.r += dy * shown.mm;
    draw();
  }

  function resize() {
    const wide = canvas.clientWidth;
    if (!wide) return;
    const tall = Math.round(Math.min(Math.max(wide * 0.52, 280), TALLEST));
    const dot = Math.min(window.devicePixelRatio || 1, SHARPEST), before = canvas.width;
    canvas.style.height = tall + "px";
    canvas.width = Math.round(wide * dot);
    canvas.height = Math.round(tall * dot);
    if (shown) shown.mm *= before / canvas.width;
    draw();
  }

  // Says which lattice points are in the picture.
  function seen() {
    const [x, y] = project();
    return (i) => x[i] >= 0 && x[i] <= canvas.width && y[i] >= 0 && y[i] <= canvas.height;
  }

  return { draw, drawNow, look, zoom, pan, resize, follow, seen, sharp, toPlace, toScreen, mapBytes,
    palettes, view: () => ({ ...shown }) };
};
