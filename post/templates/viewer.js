// The section viewer: draws a quantity of the answer (field.js) on the section, element by
// element, and says what it is where the reader points. Screen: z to the right, r upwards.
"use strict";
const viewer = (() => {
  const by = (id) => document.getElementById("viewer-" + id);
  const data = charts.data("field-data");
  const FACTORS = [0, 1, 2, 5, 10, 20, 50, 100, 200, 500, 1000, 2000, 5000, 10000];
  const GREY = { wall: 0xd9dee2, adhesive: 0xf2ead9, ring: 0xc6ccd1, head: 0xe3e6e8 };
  const TALLEST = 620, SHARPEST = 2; // of the picture: CSS pixels, device pixels to one
  if (!data || !by("body")) return null;

  let field, values, limit, quantity, load, factor = 0, hold = false;
  let shown = null; // the picture's middle as drawn (z, r) and mm to the device pixel
  const canvas = by("picture"), context = canvas.getContext("2d");
  const palettes = {};

  // --- words ----------------------------------------------------------------------------------

  function digits(value, unit) {
    if (!Number.isFinite(value)) return "\u2013";
    const size = Math.abs(value);
    return charts.number(value, unit === "mm" ? 4 : size >= 1000 ? 0 : size >= 100 ? 1 : 2);
  }
  const mm = (value) => charts.number(value, shown && shown.mm < 0.005 ? 3 : 2);
  const spell = (symbol) => symbol.replace(/_(\S+)/g, "<sub>$1</sub>");
  const escaped = (text) => {
    const holder = document.createElement("span");
    holder.textContent = text;
    return holder.innerHTML;
  };

  function placeWords(found) {
    const { region } = found;
    let words = region.words[0].toUpperCase() + region.words.slice(1);
    if (region.start) {
      const s = (found.r - region.start[0]) * region.along[0]
        + (found.z - region.start[1]) * region.along[1];
      words += `, s = ${mm(s)} mm`;
    }
    return { where: `z ${mm(found.z)}, r ${mm(found.r)} mm`, part: words, of: region.material };
  }

  function valueWords(found) {
    if (!Number.isFinite(found.value)) return "not defined here";
    return `${digits(found.value, found.unit)} ${found.unit}`;
  }

  // --- the picture ----------------------------------------------------------------------------

  const pixel = (rgb) => 0xff000000 | (rgb & 255) << 16 | (rgb & 0xff00) | rgb >> 16 & 255;

  function palette(name) {
    const bytes = Uint8Array.from(atob(data.maps[name]), (letter) => letter.charCodeAt(0));
    const colours = new Uint32Array(bytes.length / 3);
    for (let i = 0; i < colours.length; i++)
      colours[i] = 0xff000000 | bytes[3 * i + 2] << 16 | bytes[3 * i + 1] << 8 | bytes[3 * i];
    return colours;
  }

  // Screen coordinates of every lattice point, in pixels.
  function project(width, height) {
    const x = new Float32Array(field.total), y = new Float32Array(field.total);
    const k = 1 / shown.mm, z0 = shown.z - width / 2 * shown.mm, r1 = shown.r + height / 2 * shown.mm;
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
    const colours = palettes[quantity.signed ? "signed" : "plain"], last = colours.length - 1;
    const low = quantity.signed ? -limit : 0, scale = last / (limit - low);
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
        const begin = Math.max(Math.ceil(from - 0.5), 0), end = Math.min(Math.floor(to - 0.5), width - 1);
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
      const plain = quantity.rows[region] ? 0 : pixel(GREY[data.regions[region].part]);
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
    const dot = sharp(), aim = canvas.width * shown.mm / 5, power = 10 ** Math.floor(Math.log10(aim));
    const length = [5, 2, 1].find((n) => n * power <= aim) * power, wide = length / shown.mm;
    const x = 14 * dot, y = canvas.height - 14 * dot, text = `${+length.toPrecision(2)} mm; z \u2192, r \u2191`;
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

  let waiting = false;
  function draw() {
    if (waiting || !field) return;
    waiting = true;
    requestAnimationFrame(() => { waiting = false; drawNow(); });
  }

  function drawNow() {
    const { width, height } = canvas, dot = sharp();
    const image = context.createImageData(width, height), [x, y] = project(width, height);
    fill(image, x, y);
    context.putImageData(image, 0, 0);
    if (by("mesh").checked) {
      context.strokeStyle = "#1d273055";
      context.lineWidth = 0.5 * dot;
      strokes(x, y, meshSides());
    }
    context.strokeStyle = "#1d2730";
    context.lineWidth = dot;
    strokes(x, y, field.border);
    context.lineWidth = 0.75 * dot;
    for (const [r, z, radius] of data.corner_places) {
      if (factor) break;
      context.beginPath();
      context.arc(...toScreen(z, r), radius / shown.mm, 0, 2 * Math.PI);
      context.stroke();
    }
    drawRuler();
    if (pinned) cross();
  }

  // --- what is shown --------------------------------------------------------------------------

  const nice = (value) => {
    if (!(value > 0)) return 1;
    const step = 10 ** (Math.floor(Math.log10(value)) - 1);
    return +(Math.ceil(value / step - 1e-9) * step).toPrecision(3);
  };

  function largest(test) {
    let found = 0;
    for (let i = 0; i < field.total; i++)
      if (field.judged[i] && test(i) && Math.abs(values[i]) > found) found = Math.abs(values[i]);
    return found;
  }

  function setLimit(value) {
    limit = value;
    by("limit").value = value;
    const low = quantity.signed ? -value : 0;
    by("ticks").innerHTML = [0, 0.25, 0.5, 0.75, 1].map((share) => {
      const at = low + share * (value - low);
      const sign = share === 1 || (share === 0 && low < 0) ? (at < 0 ? "\u2264 " : "\u2265 ") : "";
      return `<span>${sign}${charts.number(at, value >= 100 ? 0 : value >= 10 ? 1 : unitDigits())}</span>`;
    }).join("");
    const bar = by("colours").getContext("2d"), image = bar.createImageData(255, 1);
    new Uint32Array(image.data.buffer).set(palettes[quantity.signed ? "signed" : "plain"]);
    bar.putImageData(image, 0, 0);
    draw();
  }
  const unitDigits = () => (quantity.unit === "mm" ? 3 : 2);

  function evaluate() {
    values = field.values(quantity, load);
    if (!hold) setLimit(nice(largest(() => true)));
    tell();
    draw();
  }

  function showQuantity(key) {
    quantity = data.quantities.find((each) => each.key === key);
    by("title").innerHTML = `${escaped(quantity.name)}, ${spell(escaped(quantity.symbol))}, ${quantity.unit}.`;
    by("words").textContent = quantity.words;
    by("unit").textContent = quantity.unit;
    hold = false;
    evaluate();
  }

  // The reader's depth: temperature stays, pressure grows.
  function takeDepth() {
    const { depth } = charts;
    follow(() => { load = { ...data.duty, pressure: depth.pressure() }; });
    by("depth").value = depth.value;
    const words = `${charts.metres(depth.value)} m`;
    by("depth-words").textContent = words;
    by("depth").setAttribute("aria-valuetext", words);
    evaluate();
  }

  function loadWords() {
    const depth = charts.depth ? `${charts.metres(charts.depth.value)} m, ` : "";
    return `${depth}${charts.number(load.pressure, 2)} MPa, `
      + `${charts.number(load.temperature, 1)} K`;
  }

  // The text beside the picture: lowest and highest of each part, outside the corners.
  function tell() {
    const parts = {};
    for (const { first, last, region } of field.runs) {
      if (!quantity.rows[region]) continue;
      const { part } = data.regions[region];
      parts[part] = parts[part] || { low: -1, high: -1 };
      const found = parts[part];
      for (let i = first * field.each; i < last * field.each; i++) {
        if (!field.judged[i]) continue;
        if (found.low < 0 || values[i] < values[found.low]) found.low = i;
        if (found.high < 0 || values[i] > values[found.high]) found.high = i;
      }
    }
    const cell = (i) => {
      if (i < 0) return "<td>\u2013</td><td>\u2013</td>";
      const [z, r] = [field.place[2 * i], field.place[2 * i + 1]];
      return `<td>${digits(values[i], quantity.unit)} ${quantity.unit}</td><td>`
        + `<button type="button" data-z="${z}" data-r="${r}">${charts.number(z, 1)}, `
        + `${charts.number(r, 1)}</button></td>`;
    };
    by("extremes").innerHTML = Object.entries(parts).map(([part, { low, high }]) =>
      `<tr><th scope="row">${part}</th>${cell(low)}${cell(high)}</tr>`).join("");
    tellFile(parts);
    by("caption").textContent = `${quantity.name} outside the neighbourhoods of corners, at `
      + `${loadWords()}. A place is a button that shows it.`;
    tellPinned();
  }

  function tellFile(parts) {
    const rows = [["part", "quantity", "unit", "pressure_MPa", "temperature_change_K", "lowest",
      "lowest_z_mm", "lowest_r_mm", "highest", "highest_z_mm", "highest_r_mm"]];
    for (const [part, found] of Object.entries(parts)) {
      const ends = [found.low, found.high].flatMap((i) =>
        (i < 0 ? ["", "", ""] : [values[i], field.place[2 * i], field.place[2 * i + 1]]));
      rows.push([part, quantity.key, quantity.unit, load.pressure, load.temperature, ...ends.map(
        (x) => (x === "" ? x : +x.toPrecision(7)))]);
    }
    const text = rows.map((row) => row.join(",")).join("\r\n");
    by("csv").href = `data:text/csv;charset=utf-8,${encodeURIComponent(text + "\r\n")}`;
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
  const drawn = (i) => [field.place[2 * i] + factor * field.along(i, load),
    field.place[2 * i + 1] + factor * field.out(i, load)];

  // Keeps the place in the picture's middle there while movement changes.
  function follow(change) {
    const middle = shown && field ? nearest(shown.z, shown.r) : null;
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
    if (factor) {
      const kept = factor;
      factor = 0;
      follow(() => { factor = kept; });
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

  // --- pointing -------------------------------------------------------------------------------

  let pinned = null; // a place of the section as made
  const at = (event) => {
    const box = canvas.getBoundingClientRect(), dot = sharp();
    return [(event.clientX - box.left) * dot, (event.clientY - box.top) * dot];
  };

  function point(event) {
    const [x, y] = at(event), [z, r] = toPlace(x, y), tip = by("tip");
    const found = field.valueAt(quantity, z, r, load, factor);
    tip.hidden = !found;
    if (!found) return null;
    const words = placeWords(found);
    tip.innerHTML = `<b>${valueWords(found)}</b> ${spell(escaped(quantity.symbol))}<br>${words.where}`
      + `<br>${escaped(words.part)} <small>${escaped(words.of)}</small>`
      + (found.corner ? "<br><small>Near a corner: not judged.</small>" : "");
    const dot = sharp(), [px, py] = [x / dot, y / dot];
    const left = px + 14 + tip.offsetWidth > canvas.clientWidth ? px - 14 - tip.offsetWidth : px + 14;
    const top = py + 14 + tip.offsetHeight > canvas.clientHeight ? py - 14 - tip.offsetHeight : py + 14;
    tip.style.left = Math.max(left, 0) + "px";
    tip.style.top = Math.max(top, 0) + "px";
    return found;
  }

  function cross() {
    const found = pinned, dot = sharp();
    const [x, y] = toScreen(found.z + factor * found.move[2], found.r + factor * found.move[0]);
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

  function pin(z, r) {
    by("z").value = +z.toFixed(4);
    by("r").value = +r.toFixed(4);
    tellPinned();
  }

  function tellPinned() {
    const [z, r] = [by("z"), by("r")].map((input) => input.valueAsNumber);
    if (!Number.isFinite(z) || !Number.isFinite(r)) return;
    pinned = field.valueAt(quantity, z, r, load);
    if (!pinned) by("value").textContent = "not in the section";
    else {
      const words = placeWords(pinned);
      by("value").textContent = `${valueWords(pinned)} (${words.part}, ${words.of})`
        + (pinned.corner ? ", near a corner: not judged" : "");
    }
    draw();
  }

  function listenToPointers() {
    const down = new Map();
    let travelled = 0;
    canvas.addEventListener("pointerdown", (event) => {
      if (event.pointerType !== "mouse" && document.activeElement !== canvas) return;
      canvas.setPointerCapture(event.pointerId);
      down.set(event.pointerId, at(event));
      if (down.size === 1) travelled = 0;
    });
    canvas.addEventListener("pointermove", (event) => {
      const before = down.get(event.pointerId);
      if (!before) {
        if (event.pointerType === "mouse") point(event);
        return;
      }
      const now = at(event);
      if (down.size === 2) {
        const other = [...down].find(([id]) => id !== event.pointerId)[1];
        const apart = (p) => Math.hypot(p[0] - other[0], p[1] - other[1]);
        pan((now[0] - before[0]) / 2, (now[1] - before[1]) / 2);
        zoom(apart(before) / Math.max(apart(now), 1), (now[0] + other[0]) / 2, (now[1] + other[1]) / 2);
      } else pan(now[0] - before[0], now[1] - before[1]);
      travelled += Math.hypot(now[0] - before[0], now[1] - before[1]);
      by("tip").hidden = true;
      down.set(event.pointerId, now);
    });
    canvas.addEventListener("pointerup", (event) => {
      down.delete(event.pointerId);
      if (travelled > 6 * sharp()) return;
      const found = point(event);
      if (found) pin(found.z, found.r);
    });
    canvas.addEventListener("pointercancel", (event) => down.delete(event.pointerId));
    canvas.addEventListener("pointerleave", () => { by("tip").hidden = true; });
    canvas.addEventListener("wheel", (event) => {
      if (document.activeElement !== canvas) return;
      event.preventDefault();
      zoom(Math.exp(event.deltaY * (event.deltaMode ? 0.05 : 0.0015)), ...at(event));
    }, { passive: false });
  }

  const acts = {
    closer: () => zoom(1 / 1.5), farther: () => zoom(1.5),
    left: () => pan(canvas.width / 6, 0), right: () => pan(-canvas.width / 6, 0),
    up: () => pan(0, canvas.height / 6), down: () => pan(0, -canvas.height / 6),
    whole: () => look(data.views[0].box), save,
  };
  const keys = { "+": "closer", "=": "closer", "-": "farther", ArrowLeft: "left",
    ArrowRight: "right", ArrowUp: "up", ArrowDown: "down", 0: "whole" };

  // The picture with its words and colour bar, as a file.
  function save() {
    drawNow();
    const dot = sharp(), strip = 74 * dot, sheet = document.createElement("canvas");
    sheet.width = canvas.width;
    sheet.height = canvas.height + strip;
    const on = sheet.getContext("2d"), wide = Math.min(sheet.width - 28 * dot, 420 * dot);
    on.fillStyle = "#ffffff";
    on.fillRect(0, 0, sheet.width, sheet.height);
    on.drawImage(canvas, 0, 0);
    on.drawImage(by("colours"), 14 * dot, canvas.height + 30 * dot, wide, 14 * dot);
    on.fillStyle = "#1d2730";
    on.font = `${13 * dot}px system-ui, sans-serif`;
    const moved = factor ? `; movement \u00d7 ${factor}` : "";
    on.fillText(`${quantity.name}, ${quantity.unit}; ${loadWords()}${moved}`, 14 * dot,
      canvas.height + 20 * dot);
    on.font = `${12 * dot}px system-ui, sans-serif`;
    [...by("ticks").children].forEach((tick, i) => {
      on.textAlign = i === 0 ? "left" : i === 4 ? "right" : "center";
      on.fillText(tick.textContent, 14 * dot + wide * i / 4, canvas.height + 60 * dot);
    });
    sheet.toBlob((blob) => {
      const link = document.createElement("a");
      link.href = URL.createObjectURL(blob);
      link.download = `section-${quantity.key}.png`;
      link.click();
      URL.revokeObjectURL(link.href);
    });
  }

  function listen() {
    by("quantity").addEventListener("change", (event) => showQuantity(event.target.value));
    by("factor").addEventListener("input", (event) => follow(() => {
      factor = FACTORS[event.target.valueAsNumber];
      factorWords();
    }));
    by("mesh").addEventListener("change", draw);
    by("limit").addEventListener("change", (event) => {
      hold = true;
      if (event.target.valueAsNumber > 0) setLimit(event.target.valueAsNumber);
      else setLimit(limit);
    });
    by("fit").addEventListener("click", () => {
      const [x, y] = project(canvas.width, canvas.height);
      hold = true;
      setLimit(nice(largest((i) =>
        x[i] >= 0 && x[i] <= canvas.width && y[i] >= 0 && y[i] <= canvas.height)));
    });
    by("auto").addEventListener("click", () => { hold = false; evaluate(); });
    by("body").addEventListener("click", ({ target }) => {
      if (target.dataset.do) acts[target.dataset.do]();
      if (target.dataset.view) look(data.views[target.dataset.view].box);
      if (target.dataset.z) {
        const [z, r] = [Number(target.dataset.z), Number(target.dataset.r)];
        const half = data.views.length > 2 ? (data.views[2].box[1] - data.views[2].box[0]) / 2 : 10;
        look([z - half, z + half, r - half, r + half]);
        pin(z, r);
      }
    });
    canvas.addEventListener("keydown", (event) => {
      const act = keys[event.key];
      if (!act || event.ctrlKey || event.metaKey || event.altKey) return;
      event.preventDefault();
      acts[act]();
    });
    for (const name of ["z", "r"]) by(name).addEventListener("input", tellPinned);
    listenToPointers();
    charts.dark.addEventListener("change", draw);
    new ResizeObserver(resize).observe(canvas.parentElement);
  }

  function factorWords() {
    const words = factor ? `\u00d7 ${factor}` : "not drawn";
    by("factor-words").textContent = words;
    by("factor").setAttribute("aria-valuetext", words);
  }

  function offer() {
    const groups = new Map();
    for (const { key, group, name } of data.quantities)
      groups.set(group, [...(groups.get(group) || []), `<option value="${key}">${escaped(name)}</option>`]);
    by("quantity").innerHTML = [...groups].map(([group, options]) =>
      `<optgroup label="${escaped(group)}">${options.join("")}</optgroup>`).join("");
    by("views").innerHTML = data.views.map(({ name }, i) =>
      `<button type="button" data-view="${i}">${escaped(name)}</button>`).join("");
    const whole = data.views[0].box;
    let most = 0;
    for (let i = 0; i < field.total; i++)
      most = Math.max(most, Math.hypot(field.out(i, data.duty), field.along(i, data.duty)));
    const far = 0.25 * Math.max(whole[1], whole[3]) / (most || 1);
    by("factor").max = Math.max(FACTORS.findLastIndex((each) => each <= far), 1);
    factorWords();
  }

  async function open() {
    const state = by("state");
    try {
      await new Promise((done) => { setTimeout(done, 20); });
      field = await openField(data);
    } catch (error) {
      state.textContent = "This browser cannot unpack the answer; see the pictures of the stress fields.";
      return null;
    }
    for (const name of Object.keys(data.maps)) palettes[name] = palette(name);
    state.hidden = true;
    by("body").hidden = false;
    load = { ...data.duty };
    offer();
    resize();
    look(data.views[1].box);
    listen();
    showQuantity(data.quantities[0].key);
    if (charts.depth) {
      by("depth").max = charts.depth.deepest;
      by("depth").addEventListener("input", (event) => {
        charts.depth.set(event.target.valueAsNumber);
      });
      charts.depth.listen(takeDepth);
      by("depth-part").hidden = false;
      takeDepth();
    }
    return field;
  }

  // Unpacking takes a moment: it waits until the reader comes near.
  let opening = null;
  const ready = () => (opening = opening || open());
  const watch = new IntersectionObserver((seen) => {
    if (!seen.some((each) => each.isIntersecting)) return;
    watch.disconnect();
    ready();
  }, { rootMargin: "600px" });
  watch.observe(document.getElementById("viewer"));

  return {
    ready,
    view: () => ({ quantity: quantity.key, load, factor, limit, ...shown }),
    values: () => values,
    valueAt: (z, r, part = null, key = quantity.key) =>
      field.valueAt(data.quantities.find((each) => each.key === key), z, r, load, 0, part),
    screenAt(z, r) {
      const [x, y] = toScreen(z, r), box = canvas.getBoundingClientRect();
      return [x / sharp() + box.left, y / sharp() + box.top];
    },
  };
})();
window.hullringViewer = viewer;
