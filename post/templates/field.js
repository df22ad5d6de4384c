// The answer in the browser: unpacks what post/field_viewer.py packed, and evaluates movement and
// stress at any place as solve/stress.py does. Places are (z, r) as in the drawings, mm.
"use strict";
const openField = async (data) => {
  const LOADS = ["pressure", "temperature"]; // per MPa, per K
  const MOST_TRIANGLES = 200000; // what a picture may take

  // Differences of whole steps, byte plane by byte plane, deflated, in base64.
  async function unpack(packed) {
    const bytes = Uint8Array.from(atob(packed.data), (letter) => letter.charCodeAt(0));
    const stream = new Blob([bytes]).stream().pipeThrough(new DecompressionStream("deflate"));
    const plane = new Uint8Array(await new Response(stream).arrayBuffer());
    const count = plane.length / 4, numbers = new Float64Array(count);
    for (let i = 0, sum = 0; i < count; i++) {
      sum = (sum + (plane[i] | plane[count + i] << 8 | plane[2 * count + i] << 16
        | plane[3 * count + i] << 24)) | 0;
      numbers[i] = sum * packed.step;
    }
    return numbers;
  }

  const points = await unpack(data.points), corners = await unpack(data.corners);
  const dofs = await unpack(data.dofs), moved = {};
  for (const load of LOADS) moved[load] = await unpack(data.displacement[load]);
  const pointCount = data.points.shape[1], count = data.corners.shape[1];
  const [shapeCount] = data.dofs.shape, [components, unknowns] = data.displacement.pressure.shape;
  const twist = components === 3, strains = data.strains.length;

  // Shape functions and their slopes at one place of the reference triangle.
  function shapes(degree) {
    const { powers, coefficients } = data.shapes[degree], size = powers.length;
    return (x, y) => {
      const found = [new Float64Array(size), new Float64Array(size), new Float64Array(size)];
      powers.forEach(([a, b], j) => {
        const here = [x ** a * y ** b, a ? a * x ** (a - 1) * y ** b : 0,
          b ? b * x ** a * y ** (b - 1) : 0];
        for (let i = 0; i < size; i++)
          for (let k = 0; k < 3; k++) found[k][i] += coefficients[i][j] * here[k];
      });
      return found;
    };
  }
  const mapShapes = shapes(2), moveShapes = shapes(data.degree);

  const regionOf = new Uint16Array(count), runs = [];
  data.counts.forEach((size, region) => {
    const first = runs.length ? runs[runs.length - 1].last : 0;
    runs.push({ first, last: first + size, region });
    regionOf.fill(region, first, first + size);
  });

  // Where an element's reference point lies: place and its slopes by the reference coordinates.
  function mapAt(element, [value, byX, byY]) {
    const at = { z: 0, r: 0, zx: 0, zy: 0, rx: 0, ry: 0 };
    for (let i = 0; i < 6; i++) {
      const node = corners[i * count + element], r = points[node], z = points[pointCount + node];
      at.z += value[i] * z; at.zx += byX[i] * z; at.zy += byY[i] * z;
      at.r += value[i] * r; at.rx += byX[i] * r; at.ry += byY[i] * r;
    }
    return at;
  }

  // Unit displacements of an element's unknowns: all u_r, then u_theta, then u_z.
  function gather(element, load, own) {
    const u = moved[load];
    for (let i = 0; i < shapeCount; i++) {
      const dof = dofs[i * count + element];
      own[i] = u[dof];
      if (twist) own[shapeCount + i] = u[unknowns + dof];
      own[2 * shapeCount + i] = u[(components - 1) * unknowns + dof];
    }
  }

  // Movement (u_r, u_theta, u_z) and strain [rr, tt, zz, tz, rz, rt] of an element somewhere.
  function stateAt(own, at, [value, byX, byY], move, strain) {
    const n = shapeCount, det = at.rx * at.zy - at.ry * at.zx;
    const xr = at.zy / det, yr = -at.zx / det, xz = -at.ry / det, yz = at.rx / det;
    let ur = 0, ut = 0, uz = 0, urx = 0, ury = 0, utx = 0, uty = 0, uzx = 0, uzy = 0;
    for (let i = 0; i < n; i++) {
      const v = value[i], x = byX[i], y = byY[i], r = own[i], z = own[2 * n + i];
      ur += v * r; urx += x * r; ury += y * r;
      uz += v * z; uzx += x * z; uzy += y * z;
      if (twist) { const t = own[n + i]; ut += v * t; utx += x * t; uty += y * t; }
    }
    const onAxis = at.r < 1e-9, rr = urx * xr + ury * yr;
    move[0] = ur; move[1] = ut; move[2] = uz;
    strain[0] = rr; strain[1] = onAxis ? rr : ur / at.r; strain[2] = uzx * xz + uzy * yz;
    strain[4] = urx * xz + ury * yz + uzx * xr + uzy * yr;
    if (twist) {
      const tr = utx * xr + uty * yr;
      strain[3] = utx * xz + uty * yz;
      strain[5] = tr - (onAxis ? tr : ut / at.r);
    }
  }

  // Points of a triangle's lattice and the small triangles between them.
  function lattice(order) {
    const place = {}, xi = [], small = [];
    for (let j = 0; j <= order; j++)
      for (let i = 0; i <= order - j; i++) {
        place[i + "," + j] = xi.length;
        xi.push([i / order, j / order]);
      }
    const at = (i, j) => place[i + "," + j];
    for (let j = 0; j < order; j++)
      for (let i = 0; i < order - j; i++) {
        small.push(at(i, j), at(i + 1, j), at(i, j + 1));
        if (i + j < order - 1) small.push(at(i + 1, j), at(i + 1, j + 1), at(i, j + 1));
      }
    const along = (from, to) => Array.from({ length: order + 1 }, (_, i) =>
      at(...[0, 1].map((k) => from[k] * (order - i) + to[k] * i)));
    const sides = [along([0, 0], [1, 0]), along([1, 0], [0, 1]), along([0, 0], [0, 1])];
    return { order, xi, small, sides, ends: [at(0, 0), at(order, 0), at(0, order)] };
  }
  const grid = lattice([4, 3, 2].find((n) => n * n * count <= MOST_TRIANGLES) || 1);
  const each = grid.xi.length, total = each * count;

  // Every element sampled on a lattice of its own: nothing is averaged between elements.
  const place = new Float64Array(2 * total), move = {}, strain = {};
  for (const load of LOADS) {
    move[load] = new Float32Array(3 * total);
    strain[load] = new Float32Array(strains * total);
  }
  {
    const atMap = grid.xi.map(([x, y]) => mapShapes(x, y));
    const atMove = grid.xi.map(([x, y]) => moveShapes(x, y));
    const u = new Float64Array(3), e = new Float64Array(6), own = new Float64Array(3 * shapeCount);
    for (let element = 0; element < count; element++) {
      const at = atMap.map((shape) => mapAt(element, shape));
      for (const load of LOADS) {
        const moves = move[load], bends = strain[load];
        gather(element, load, own);
        for (let q = 0; q < each; q++) {
          const i = element * each + q;
          place[2 * i] = at[q].z;
          place[2 * i + 1] = at[q].r;
          stateAt(own, at[q], atMove[q], u, e);
          for (let c = 0; c < 3; c++) moves[3 * i + c] = u[c];
          for (let c = 0; c < strains; c++) bends[strains * i + c] = e[data.strains[c]];
        }
      }
    }
  }

  // Whether a place lies in the neighbourhood of a corner, where no stress is judged.
  const nearCorner = (z, r) => data.corner_places.some(
    ([cr, cz, radius]) => Math.hypot(r - cr, z - cz) < radius * (1 - 1e-7));
  const judged = new Uint8Array(total);
  for (let i = 0; i < total; i++) judged[i] = nearCorner(place[2 * i], place[2 * i + 1]) ? 0 : 1;

  // Sides of elements on the outline of the section, and these with those between parts or layers.
  const outline = [], border = [];
  {
    const seen = new Map();
    for (let element = 0; element < count; element++)
      [[0, 1], [1, 2], [0, 2]].forEach(([a, b], side) => {
        const i = corners[a * count + element], j = corners[b * count + element];
        const key = Math.min(i, j) * pointCount + Math.max(i, j), other = seen.get(key);
        if (other === undefined) seen.set(key, [element, side]);
        else {
          if (apart(regionOf[element], regionOf[other[0]])) border.push(other);
          seen.set(key, null);
        }
      });
    for (const alone of seen.values()) if (alone) outline.push(alone);
    border.push(...outline);
  }
  function apart(a, b) {
    const [one, two] = [data.regions[a], data.regions[b]];
    return one.part !== two.part || (one.part === "wall" && a !== b);
  }

  const mises = (rr, tt, zz, tz, rz, rt) => Math.sqrt(((rr - tt) ** 2 + (tt - zz) ** 2
    + (zz - rr) ** 2) / 2 + 3 * (tz * tz + rz * rz + rt * rt));

  // What a quantity makes of the sums of its rows.
  function combine(quantity, sums) {
    if (sums.length === 1) return sums[0];
    return quantity.kind === "mises" ? mises(...sums) : Math.hypot(...sums);
  }

  // Values of a quantity at all lattice points; not a number where it is not defined.
  function values(quantity, load) {
    const found = new Float32Array(total).fill(NaN);
    const movement = quantity.kind === "movement", width = movement ? 3 : strains;
    const p = load.pressure, t = load.temperature, [of1, of2] = LOADS.map((name) =>
      (movement ? move : strain)[name]);
    for (const { first, last, region } of runs) {
      const rows = quantity.rows[region];
      if (!rows) continue;
      const sums = new Float64Array(rows.length), flat = Float64Array.from(rows.flat());
      const stride = flat.length / rows.length, rest = movement ? 0 : t;
      for (let i = first * each; i < last * each; i++) {
        for (let j = 0; j < sums.length; j++) {
          let sum = movement ? 0 : -flat[j * stride + width] * rest;
          for (let c = 0, k = i * width, m = j * stride; c < width; c++, k++, m++)
            sum += flat[m] * (p * of1[k] + t * of2[k]);
          sums[j] = sum;
        }
        found[i] = combine(quantity, sums);
      }
    }
    return found;
  }

  // Boxes around the elements as drawn, kept until movement is drawn otherwise.
  let boxed = "", boxes = null;
  function boxesOf(load, factor) {
    const key = factor ? [load.pressure, load.temperature, factor].join() : "as made";
    if (key === boxed) return boxes;
    boxes = new Float64Array(4 * count);
    for (let element = 0; element < count; element++) {
      let z0 = Infinity, z1 = -Infinity, r0 = Infinity, r1 = -Infinity;
      for (let i = element * each; i < (element + 1) * each; i++) {
        const z = place[2 * i] + factor * along(i, load);
        const r = place[2 * i + 1] + factor * out(i, load);
        if (z < z0) z0 = z;
        if (z > z1) z1 = z;
        if (r < r0) r0 = r;
        if (r > r1) r1 = r;
      }
      const room = 0.02 * Math.max(z1 - z0, r1 - r0); // sides may bulge between lattice points
      boxes.set([z0 - room, z1 + room, r0 - room, r1 + room], 4 * element);
    }
    boxed = key;
    return boxes;
  }

  // Element and reference coordinates of a place, where movement is drawn magnified.
  function locate(z, r, load, factor, accept) {
    const box = boxesOf(load, factor);
    let best = null;
    for (let element = 0, k = 0; element < count; element++, k += 4) {
      if (z < box[k] || z > box[k + 1] || r < box[k + 2] || r > box[k + 3]) continue;
      if (!accept(regionOf[element])) continue;
      const xi = invert(element, z, r, load, factor);
      const outside = -Math.min(xi[0], xi[1], 1 - xi[0] - xi[1]);
      if (!best || outside < best.outside) best = { element, xi, outside };
      if (outside <= 0) break;
    }
    // beyond a side by a little: arcs are parabolas in the mesh
    return best && best.outside < 2e-3 ? best : null;
  }
  const out = (i, load) =>
    load.pressure * move.pressure[3 * i] + load.temperature * move.temperature[3 * i];
  const along = (i, load) =>
    load.pressure * move.pressure[3 * i + 2] + load.temperature * move.temperature[3 * i + 2];

  function invert(element, z, r, load, factor) {
    let x = 1 / 3, y = 1 / 3;
    for (let round = 0; round < 8; round++) {
      const at = mapAt(element, mapShapes(x, y));
      if (factor) {
        const [value, byX, byY] = moveShapes(x, y);
        for (const name of LOADS) {
          const f = factor * load[name], u = moved[name];
          for (let i = 0; i < shapeCount; i++) {
            const dof = dofs[i * count + element];
            const ur = f * u[dof], uz = f * u[(components - 1) * unknowns + dof];
            at.r += value[i] * ur; at.rx += byX[i] * ur; at.ry += byY[i] * ur;
            at.z += value[i] * uz; at.zx += byX[i] * uz; at.zy += byY[i] * uz;
          }
        }
      }
      const det = at.zx * at.ry - at.zy * at.rx, dz = z - at.z, dr = r - at.r;
      const stepX = (at.ry * dz - at.zy * dr) / det, stepY = (at.zx * dr - at.rx * dz) / det;
      x += stepX; y += stepY;
      if (Math.abs(stepX) + Math.abs(stepY) < 1e-12) break;
    }
    return [x, y];
  }

  // The answer at a place of the section or, with a factor, of its drawing with movement.
  // Where parts meet, the one that has the quantity; or the part that is asked for.
  function valueAt(quantity, z, r, load, factor = 0, part = null) {
    const wanted = (region) => part ? data.regions[region].part === part : quantity.rows[region];
    const found = locate(z, r, load, factor, wanted)
      || (part ? null : locate(z, r, load, factor, () => true));
    if (!found) return null;
    const { element, xi } = found, region = regionOf[element], rows = quantity.rows[region];
    const at = mapAt(element, mapShapes(...xi)), shape = moveShapes(...xi);
    const u = new Float64Array(3), e = new Float64Array(6), own = new Float64Array(3 * shapeCount);
    const moves = [0, 0, 0], bends = [0, 0, 0, 0, 0, 0];
    for (const name of LOADS) {
      gather(element, name, own);
      stateAt(own, at, shape, u, e);
      moves.forEach((_, c) => { moves[c] += load[name] * u[c]; });
      bends.forEach((_, c) => { bends[c] += load[name] * e[c]; });
    }
    const state = quantity.kind === "movement" ? moves
      : [...data.strains.map((c) => bends[c]), -load.temperature];
    const sums = (rows || []).map((row) => row.reduce((sum, x, i) => sum + x * state[i], 0));
    return { value: rows ? combine(quantity, sums) : NaN, unit: quantity.unit, r: at.r, z: at.z,
      move: moves, region: data.regions[region], corner: nearCorner(at.z, at.r) };
  }

  return { data, runs, grid, each, count, total, place, out, along, judged, border,
    outline, regionOf, values, valueAt };
};
