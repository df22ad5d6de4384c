// The cut-away: three quarters of the hull, revolved from the section, for the reader to turn.
// It shows the parts, or what the section viewer (viewer.js) shows. Axes: x along the hull,
// z upwards; the quarter towards the reader is cut away. Drawn with a depth buffer of its own,
// so that it needs no graphics processor.
"use strict";
const cutaway = (() => {
  const by = (id) => document.getElementById("cutaway-" + id);
  const TURN = Math.PI / 180;
  const FROM = 180, TO = 450, STEPS = 60; // what is left of the turn, degrees
  const CUTS = [90, 180]; // the upright and the level cut
  const FINE = 2, TALLEST = 600; // device pixels to a CSS pixel; CSS pixels
  const FIELD_OF_VIEW = 0.32; // half width to distance
  const INK = [29, 39, 48], PLAIN = [217, 222, 226], EDGE_BIAS = 1.002;
  const VIEWS = { first: [1, 65, 24], side: [1, 90, 0], end: [1, 5, 14], back: [1, -70, 22],
    joint: [0.3, 80, 10] }; // closeness, degrees round from the hull's axis, degrees up
  if (!viewer || !by("picture")) return null;

  const canvas = by("picture"), context = canvas.getContext("2d");
  let eye = [...VIEWS.first], aimed = "whole", solid = null, shape = null, waiting = false;

  // --- the solid: vertices are lattice points of the section, revolved by angles ---------------

  function build(field) {
    const points = [], angles = [], normals = [], faces = [], counts = [];
    const vertex = (point, angle, normal) => {
      angles.push(angle);
      normals.push(normal);
      return points.push(point) - 1;
    };
    const { each, grid, place } = field, sides = new Map();
    for (const [element, side] of field.outline) {
      const region = field.regionOf[element];
      sides.set(region, [...(sides.get(region) || []), [element, side]]);
    }
    for (const { first, last, region } of field.runs) {
      for (const angle of CUTS)
        for (let element = first; element < last; element++)
          faces.push(...grid.ends.map((q) => vertex(element * each + q, angle, null)));
      for (const [element, side] of sides.get(region) || []) {
        const run = grid.sides[side];
        const a = element * each + run[0], b = element * each + run[run.length - 1];
        if (place[2 * a + 1] + place[2 * b + 1] < 1e-6) continue; // along the axis
        const z = place[2 * b] - place[2 * a], r = place[2 * b + 1] - place[2 * a + 1];
        const normal = [-r / Math.hypot(z, r), z / Math.hypot(z, r)];
        let before = null;
        for (let step = 0; step <= STEPS; step++) {
          const angle = FROM + (TO - FROM) * step / STEPS;
          const now = [vertex(a, angle, normal), vertex(b, angle, normal)];
          if (before) faces.push(before[0], before[1], now[0], before[1], now[1], now[0]);
          before = now;
        }
      }
      counts.push(faces.length);
    }
    const edges = [];
    for (const angle of CUTS)
      for (const [element, side] of field.border) {
        const run = grid.sides[side], i = element * each;
        edges.push(vertex(i + run[0], angle, null), vertex(i + run[run.length - 1], angle, null));
      }
    return { points: Uint32Array.from(points), faces: Uint32Array.from(faces), angles, normals,
      counts, edges };
  }

  // Places and normals of the vertices, with movement as the section viewer draws it.
  function shaped({ field, load, factor }) {
    const count = solid.points.length, place = new Float32Array(3 * count);
    const normal = new Float32Array(3 * count);
    for (let k = 0; k < count; k++) {
      const i = solid.points[k], angle = solid.angles[k] * TURN, n = solid.normals[k];
      const r = field.place[2 * i + 1] + (factor ? factor * field.out(i, load) : 0);
      const c = Math.cos(angle), s = Math.sin(angle);
      place[3 * k] = field.place[2 * i] + (factor ? factor * field.along(i, load) : 0);
      place[3 * k + 1] = r * c;
      place[3 * k + 2] = r * s;
      normal.set(n ? [n[0], n[1] * c, n[1] * s] : [0, -s, c], 3 * k); // of a cut: around the axis
    }
    return { place, normal };
  }

  // --- the camera -----------------------------------------------------------------------------

  function aim(field) {
    const [z0, z1, r0, r1] = field.data.views[aimed === "joint" ? 1 : 0].box;
    const whole = field.data.views[0].box, size = Math.hypot(whole[1] - whole[0], 2 * whole[3]) / 2;
    return { size, centre: aimed === "joint" ? [(z0 + z1) / 2, 0, (r0 + r1) / 2]
      : [(z0 + z1) / 2, 0, 0] };
  }

  function camera(field) {
    const [far, round, up] = eye, { size, centre } = aim(field);
    const [c, s] = [Math.cos(up * TURN), Math.sin(up * TURN)];
    const [cr, sr] = [Math.cos(round * TURN), Math.sin(round * TURN)];
    const back = [c * cr, -c * sr, s], right = [sr, cr, 0], top = [-s * cr, s * sr, c];
    const distance = far * size / FIELD_OF_VIEW * 1.2;
    return { centre, back, right, top, distance };
  }

  // --- drawing --------------------------------------------------------------------------------

  function draw(quick = false) {
    if (waiting || !solid) return;
    waiting = true;
    requestAnimationFrame(() => { waiting = false; drawNow(quick ? 1 : FINE); });
  }

  function drawNow(fine) {
    const state = viewer.state(), { field } = state;
    const wide = canvas.clientWidth;
    if (!wide) return;
    const tall = Math.round(Math.min(Math.max(wide * 0.55, 280), TALLEST));
    canvas.style.height = tall + "px";
    canvas.width = wide * fine;
    canvas.height = tall * fine;
    const image = context.createImageData(canvas.width, canvas.height);
    const sheet = { width: canvas.width, height: canvas.height, fine,
      out: new Uint32Array(image.data.buffer),
      depth: new Float32Array(canvas.width * canvas.height) };
    const seen = project(field, sheet);
    paint(state, sheet, seen);
    for (let k = 0; k < solid.edges.length; k += 2)
      line(sheet, seen, solid.edges[k], solid.edges[k + 1]);
    context.putImageData(image, 0, 0);
  }

  // Screen place, nearness (1 / distance) and shade of every vertex.
  function project(field, sheet) {
    const { centre, back, right, top, distance } = camera(field), { place, normal } = shape;
    const count = solid.points.length, x = new Float32Array(count), y = new Float32Array(count);
    const near = new Float32Array(count), shade = new Float32Array(count);
    const scale = Math.min(sheet.width, 1.6 * sheet.height) / 2 / FIELD_OF_VIEW;
    const sun = [0, 1, 2].map((i) => 0.75 * back[i] + 0.55 * top[i] - 0.37 * right[i]);
    for (let k = 0; k < count; k++) {
      const px = place[3 * k] - centre[0], py = place[3 * k + 1] - centre[1];
      const pz = place[3 * k + 2] - centre[2];
      const away = distance - (px * back[0] + py * back[1] + pz * back[2]);
      const w = away > 1e-3 * distance ? 1 / away : 0; // behind the reader: not drawn
      near[k] = w;
      x[k] = sheet.width / 2 + scale * w * (px * right[0] + py * right[1] + pz * right[2]);
      y[k] = sheet.height / 2 - scale * w * (px * top[0] + py * top[1] + pz * top[2]);
      const nx = normal[3 * k], ny = normal[3 * k + 1], nz = normal[3 * k + 2];
      // the side that faces the reader
      const facing = nx * (back[0] * distance - px) + ny * (back[1] * distance - py)
        + nz * (back[2] * distance - pz);
      const lit = (nx * sun[0] + ny * sun[1] + nz * sun[2]) * (facing < 0 ? -1 : 1);
      // a cut shows its colours as they are
      shade[k] = solid.normals[k] ? 0.6 + 0.36 * Math.max(lit, 0) : 1;
    }
    return { x, y, near, shade };
  }

  function colours({ field, quantity, limit, values }, region) {
    const { data } = field;
    if (by("colour").value !== "part" && quantity.rows[region]) {
      const low = quantity.signed ? -limit : 0, bytes = viewer.mapBytes(quantity.signed);
      const last = bytes.length / 3 - 1;
      return { bytes, low, last, scale: last / (limit - low), values, red: 0, green: 0, blue: 0 };
    }
    const hex = data.fills[data.regions[region].part];
    const fill = [1, 3, 5].map((i) => parseInt(hex.slice(i, i + 2), 16));
    const [red, green, blue] = by("colour").value === "part" ? fill : PLAIN;
    return { bytes: null, low: 0, last: 0, scale: 1, values: null, red, green, blue };
  }

  function paint(state, sheet, seen) {
    let first = 0;
    solid.counts.forEach((last, n) => {
      const look = colours(state, state.field.runs[n].region);
      for (let t = first; t < last; t += 3)
        triangle(sheet, seen, look, solid.faces[t], solid.faces[t + 1], solid.faces[t + 2]);
      first = last;
    });
  }

  function triangle({ width, height, out, depth }, { x, y, near, shade }, look, a, b, c) {
    let x0 = x[a], y0 = y[a], x1 = x[b], y1 = y[b], x2 = x[c], y2 = y[c];
    const top = Math.max(Math.ceil(Math.min(y0, y1, y2) - 0.5), 0);
    const bottom = Math.min(Math.floor(Math.max(y0, y1, y2) - 0.5), height - 1);
    if (top > bottom || Math.max(x0, x1, x2) < 0 || Math.min(x0, x1, x2) > width) return;
    const det = (x1 - x0) * (y2 - y0) - (x2 - x0) * (y1 - y0);
    if (!det || !near[a] || !near[b] || !near[c]) return;
    // what is linear over the triangle: v = v(a) + vx (x - x(a)) + vy (y - y(a))
    const px = (y2 - y0) / det, qx = (y0 - y1) / det, py = (x0 - x2) / det, qy = (x1 - x0) / det;
    const xa = x0, ya = y0, na = near[a], sa = shade[a];
    const n1 = near[b] - na, n2 = near[c] - na, s1 = shade[b] - sa, s2 = shade[c] - sa;
    const nx = n1 * px + n2 * qx, ny = n1 * py + n2 * qy;
    const sx = s1 * px + s2 * qx, sy = s1 * py + s2 * qy;
    const { bytes, low, scale, values, last } = look;
    let v0 = 0, vx = 0, vy = 0, { red, green, blue } = look;
    if (bytes) {
      v0 = (values[solid.points[a]] - low) * scale;
      const v1 = (values[solid.points[b]] - low) * scale - v0;
      const v2 = (values[solid.points[c]] - low) * scale - v0;
      vx = v1 * px + v2 * qx;
      vy = v1 * py + v2 * qy;
    }
    for (let row = top; row <= bottom; row++) {
      const middle = row + 0.5;
      let from = Infinity, to = -Infinity;
      for (let side = 0; side < 3; side++) {
        if (y0 <= middle ? y1 >= middle : y1 <= middle) {
          const at = y0 === y1 ? x0 : x0 + (x1 - x0) * (middle - y0) / (y1 - y0);
          if (at < from) from = at;
          if (at > to) to = at;
        }
        const xt = x0, yt = y0;
        x0 = x1; y0 = y1; x1 = x2; y1 = y2; x2 = xt; y2 = yt;
      }
      const begin = Math.max(Math.ceil(from - 0.5), 0);
      const end = Math.min(Math.floor(to - 0.5), width - 1);
      const dx = begin + 0.5 - xa, dy = middle - ya;
      let w = na + nx * dx + ny * dy, s = sa + sx * dx + sy * dy;
      let v = v0 + vx * dx + vy * dy + 0.5;
      for (let column = begin, k = row * width + begin; column <= end; column++, k++) {
        if (w > depth[k]) {
          depth[k] = w;
          if (bytes) {
            const i = 3 * (v < 0 ? 0 : v > last ? last : v | 0);
            red = bytes[i]; green = bytes[i + 1]; blue = bytes[i + 2];
          }
          out[k] = 0xff000000 | (blue * s & 255) << 16 | (green * s & 255) << 8 | red * s & 255;
        }
        w += nx; s += sx; v += vx;
      }
    }
  }

  // An edge of a cut, where nothing is before it.
  function line({ width, height, fine, out, depth }, { x, y, near }, a, b) {
    if (!near[a] || !near[b]) return;
    const steps = Math.ceil(Math.max(Math.abs(x[b] - x[a]), Math.abs(y[b] - y[a]), 1));
    if (steps > 4 * (width + height)) return;
    const ink = 0xff000000 | INK[2] << 16 | INK[1] << 8 | INK[0];
    for (let step = 0; step <= steps; step++) {
      const t = step / steps, w = (near[a] + t * (near[b] - near[a])) * EDGE_BIAS;
      const column = Math.floor(x[a] + t * (x[b] - x[a]));
      const row = Math.floor(y[a] + t * (y[b] - y[a]));
      for (let dy = 0; dy < fine; dy++)
        for (let dx = 0; dx < fine; dx++) {
          const px = column + dx, py = row + dy, k = py * width + px;
          if (px >= 0 && px < width && py >= 0 && py < height && w >= depth[k]) out[k] = ink;
        }
    }
  }

  // --- what the reader does -------------------------------------------------------------------

  // The key of the parts' colours, or the words that say what the colours are.
  function tell() {
    const { field, quantity, limit, factor, words } = viewer.state(), { data } = field;
    const byPart = by("colour").value === "part", parts = new Map();
    for (const { part, material } of data.regions) parts.set(part, material);
    by("key").replaceChildren(...[...parts].filter(() => byPart).map(([part, material]) => {
      const item = document.createElement("span"), swatch = document.createElement("i");
      swatch.style.background = data.fills[part];
      item.append(swatch, `${part}, ${material}`);
      return item;
    }));
    const number = (value) => charts.number(value, limit < 10 ? 2 : 0);
    const moved = factor ? ` Movement \u00d7 ${factor}.` : "";
    const shown = `${quantity.name}, ${quantity.unit}, at ${words}; colours as in the section `
      + `viewer, from ${number(quantity.signed ? -limit : 0)} to ${number(limit)}, grey where it is not `
      + "defined. Cuts show the colours as they are, surfaces are shaded.";
    by("words").textContent = (byPart ? "" : shown) + moved;
  }

  function refresh() {
    if (!solid) return;
    shape = shaped(viewer.state());
    tell();
    draw();
  }

  let settled = null;
  function turn(to, quick = false) {
    eye = [Math.min(Math.max(to[0], 0.08), 3), to[1], Math.min(Math.max(to[2], -85), 85)];
    draw(quick);
    clearTimeout(settled);
    if (quick) settled = setTimeout(draw, 120);
  }

  const round = (by) => () => turn([eye[0], eye[1] + by, eye[2]]);
  const tip = (by) => () => turn([eye[0], eye[1], eye[2] + by]);
  const move = (by) => () => turn([eye[0] * by, eye[1], eye[2]]);
  const acts = { left: round(-15), right: round(15), up: tip(10), down: tip(-10),
    closer: move(1 / 1.25), farther: move(1.25), save };

  function save() {
    drawNow(FINE);
    canvas.toBlob((blob) => giveFile(blob, "cut-away.png"));
  }

  function listen() {
    gestures(canvas, {
      drag(dx, dy) {
        const fine = canvas.width / canvas.clientWidth;
        turn([eye[0], eye[1] + dx / fine / 3, eye[2] + dy / fine / 3], true);
      },
      zoom: (by) => turn([eye[0] * by, eye[1], eye[2]], true),
      keys: { ArrowLeft: acts.left, ArrowRight: acts.right, ArrowUp: acts.up,
        ArrowDown: acts.down, "+": acts.closer, "=": acts.closer, "-": acts.farther },
    });
    by("live").addEventListener("click", ({ target }) => {
      if (target.dataset.turn) acts[target.dataset.turn]();
      if (target.dataset.from) {
        aimed = target.dataset.from === "joint" ? "joint" : "whole";
        turn([...VIEWS[target.dataset.from]]);
      }
    });
    by("colour").addEventListener("change", refresh);
    document.addEventListener("viewerchange", refresh);
    new ResizeObserver(() => draw()).observe(canvas.parentElement);
  }

  async function open() {
    const field = await viewer.ready();
    if (!field) return false;
    solid = build(field);
    by("live").hidden = false;
    document.getElementById("cutaway").classList.add("drawn");
    listen();
    refresh();
    return true;
  }

  const ready = charts.near("cutaway", "300px", open);

  return { ready, view: () => [...eye] };
})();
window.hullringCutaway = cutaway;
