// The section viewer: shows a quantity of the answer (field.js) on the section, in a picture
// (section_picture.js), in a table, and where the reader points.
"use strict";
const viewer = (() => {
  const by = (id) => document.getElementById("viewer-" + id);
  const data = charts.data("field-data");
  const FACTORS = [0, 1, 2, 5, 10, 20, 50, 100, 200, 500, 1000, 2000, 5000, 10000];
  if (!data || !by("body")) return null;

  const canvas = by("picture");
  const scene = { factor: 0, mesh: false, pinned: null }; // what is drawn: see section_picture.js
  let field = null, picture = null, hold = false; // hold: the reader has chosen the colours' end

  // --- words ----------------------------------------------------------------------------------

  function digits(value, unit) {
    if (!Number.isFinite(value)) return "\u2013";
    const size = Math.abs(value);
    return charts.number(value, unit === "mm" ? 4 : size >= 1000 ? 0 : size >= 100 ? 1 : 2);
  }
  const mm = (value) => charts.number(value, picture.view().mm < 0.005 ? 3 : 2);
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

  // Tells who draws the same elsewhere on the page that it changed.
  const changed = () => document.dispatchEvent(new CustomEvent("viewerchange"));

  // --- what is shown --------------------------------------------------------------------------

  const nice = (value) => {
    if (!(value > 0)) return 1;
    const step = 10 ** (Math.floor(Math.log10(value)) - 1);
    return +(Math.ceil(value / step - 1e-9) * step).toPrecision(3);
  };

  function largest(test) {
    let found = 0;
    for (let i = 0; i < field.total; i++) {
      const size = Math.abs(scene.values[i]);
      if (size > found && field.judged[i] && test(i)) found = size;
    }
    return found;
  }

  function setLimit(value) {
    scene.limit = value;
    by("limit").value = value;
    const { signed, unit } = scene.quantity, low = signed ? -value : 0;
    const places = value >= 100 ? 0 : value >= 10 ? 1 : unit === "mm" ? 3 : 2;
    by("ticks").innerHTML = [0, 0.25, 0.5, 0.75, 1].map((share) => {
      const at = low + share * (value - low);
      const sign = share === 1 || (share === 0 && low < 0) ? (at < 0 ? "\u2264 " : "\u2265 ") : "";
      return `<span>${sign}${charts.number(at, places)}</span>`;
    }).join("");
    const bar = by("colours").getContext("2d"), image = bar.createImageData(255, 1);
    new Uint32Array(image.data.buffer).set(picture.palettes[signed ? "signed" : "plain"]);
    bar.putImageData(image, 0, 0);
    changed();
    picture.draw();
  }

  function evaluate() {
    scene.values = field.values(scene.quantity, scene.load);
    if (!hold) setLimit(nice(largest(() => true)));
    tell();
    changed();
    picture.draw();
  }

  function showQuantity(key) {
    scene.quantity = data.quantities.find((each) => each.key === key);
    const { name, symbol, unit, words } = scene.quantity;
    by("title").innerHTML = `${escaped(name)}, ${spell(escaped(symbol))}, ${unit}.`;
    by("words").textContent = words;
    by("unit").textContent = unit;
    hold = false;
    evaluate();
  }

  // The reader's depth: temperature stays, pressure grows. A slider tells it faster than it draws.
  let taking = false;
  function takeDepth() {
    if (taking) return;
    taking = true;
    requestAnimationFrame(() => {
      taking = false;
      const pressure = charts.depth.pressure();
      picture.follow(() => { scene.load = { ...data.duty, pressure }; });
      evaluate();
    });
  }

  function loadWords() {
    const depth = charts.depth ? `${charts.metres(charts.depth.value)} m, ` : "";
    return `${depth}${charts.number(scene.load.pressure, 2)} MPa, `
      + `${charts.number(scene.load.temperature, 1)} K`;
  }

  // The text beside the picture: lowest and highest of each part, outside the corners.
  function tell() {
    const parts = {}, { quantity, values } = scene;
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
    const heads = ["Part", "Lowest", "at z, r", "Highest", "at z, r"];
    const rows = Object.entries(parts).map(([part, { low, high }]) =>
      `<tr><th scope="row">${part}</th>${cell(low)}${cell(high)}</tr>`);
    by("extremes").innerHTML = `<table class="numbers"><caption>${escaped(quantity.name)} outside `
      + `the neighbourhoods of corners, at ${loadWords()}. A place is a button that shows it.`
      + `</caption><thead><tr>${heads.map((text) => `<th scope="col">${text}</th>`).join("")}`
      + `</tr></thead><tbody>${rows.join("")}</tbody></table>`;
    extremes = parts;
    tellPinned();
  }

  let extremes = {};
  function saveTable() {
    const { quantity, values, load } = scene;
    const rows = [["part", "quantity", "unit", "pressure_MPa", "temperature_change_K", "lowest",
      "lowest_z_mm", "lowest_r_mm", "highest", "highest_z_mm", "highest_r_mm"]];
    for (const [part, found] of Object.entries(extremes)) {
      const ends = [found.low, found.high].flatMap((i) =>
        (i < 0 ? ["", "", ""] : [values[i], field.place[2 * i], field.place[2 * i + 1]]));
      rows.push([part, quantity.key, quantity.unit, load.pressure, load.temperature,
        ...ends.map((x) => (x === "" ? x : +x.toPrecision(7)))]);
    }
    const text = rows.map((row) => row.join(",") + "\r\n").join("");
    giveFile(new Blob([text], { type: "text/csv" }), `section-${quantity.key}.csv`);
  }

  // --- pointing -------------------------------------------------------------------------------

  function point(event) {
    const box = canvas.getBoundingClientRect(), tip = by("tip");
    const [px, py] = [event.clientX - box.left, event.clientY - box.top], dot = picture.sharp();
    const [z, r] = picture.toPlace(px * dot, py * dot);
    const found = field.valueAt(scene.quantity, z, r, scene.load, scene.factor);
    tip.hidden = !found;
    if (!found) return null;
    const words = placeWords(found), symbol = spell(escaped(scene.quantity.symbol));
    tip.innerHTML = `<b>${valueWords(found)}</b> ${symbol}<br>${words.where}`
      + `<br>${escaped(words.part)} <small>${escaped(words.of)}</small>`
      + (found.corner ? "<br><small>Near a corner: not judged.</small>" : "");
    const left = beside(px, tip.offsetWidth, canvas.clientWidth);
    tip.style.left = left + "px";
    tip.style.top = beside(py, tip.offsetHeight, canvas.clientHeight) + "px";
    return found;
  }

  // Where a box begins that stands beside a place, and stays inside.
  function beside(place, size, room) {
    return Math.max(place + 14 + size > room ? place - 14 - size : place + 14, 0);
  }

  function visit(z, r) {
    const half = data.half_view;
    picture.look([z - half, z + half, r - half, r + half]);
    pin(z, r);
  }

  function pin(z, r) {
    by("z").value = +z.toFixed(4);
    by("r").value = +r.toFixed(4);
    tellPinned();
  }

  function tellPinned() {
    const [z, r] = [by("z"), by("r")].map((input) => input.valueAsNumber);
    if (!Number.isFinite(z) || !Number.isFinite(r)) return;
    scene.pinned = field.valueAt(scene.quantity, z, r, scene.load);
    if (!scene.pinned) by("value").textContent = "not in the section";
    else {
      const words = placeWords(scene.pinned);
      by("value").textContent = `${valueWords(scene.pinned)} (${words.part}, ${words.of})`
        + (scene.pinned.corner ? ", near a corner: not judged" : "");
    }
    picture.draw();
  }

  // The picture with its words and colour bar, as a file.
  function save() {
    picture.drawNow();
    const dot = picture.sharp(), strip = 74 * dot, sheet = document.createElement("canvas");
    sheet.width = canvas.width;
    sheet.height = canvas.height + strip;
    const on = sheet.getContext("2d"), wide = Math.min(sheet.width - 28 * dot, 420 * dot);
    on.fillStyle = "#ffffff";
    on.fillRect(0, 0, sheet.width, sheet.height);
    on.drawImage(canvas, 0, 0);
    on.drawImage(by("colours"), 14 * dot, canvas.height + 30 * dot, wide, 14 * dot);
    on.fillStyle = "#1d2730";
    on.font = `${13 * dot}px system-ui, sans-serif`;
    const moved = scene.factor ? `; movement \u00d7 ${scene.factor}` : "";
    on.fillText(`${scene.quantity.name}, ${scene.quantity.unit}; ${loadWords()}${moved}`, 14 * dot,
      canvas.height + 20 * dot);
    on.font = `${12 * dot}px system-ui, sans-serif`;
    [...by("ticks").children].forEach((tick, i) => {
      on.textAlign = i === 0 ? "left" : i === 4 ? "right" : "center";
      on.fillText(tick.textContent, 14 * dot + wide * i / 4, canvas.height + 60 * dot);
    });
    sheet.toBlob((blob) => giveFile(blob, `section-${scene.quantity.key}.png`));
  }

  function listen() {
    by("quantity").addEventListener("change", (event) => showQuantity(event.target.value));
    by("factor").addEventListener("input", (event) => {
      picture.follow(() => { scene.factor = FACTORS[event.target.valueAsNumber]; });
      factorWords();
      changed();
    });
    by("mesh").addEventListener("change", (event) => {
      scene.mesh = event.target.checked;
      picture.draw();
    });
    by("limit").addEventListener("change", (event) => {
      hold = true;
      if (event.target.valueAsNumber > 0) setLimit(event.target.valueAsNumber);
      else setLimit(scene.limit);
    });
    by("fit").addEventListener("click", () => {
      hold = true;
      setLimit(nice(largest(picture.seen())));
    });
    by("auto").addEventListener("click", () => { hold = false; evaluate(); });
    for (const name of ["z", "r"]) by(name).addEventListener("input", tellPinned);
    const { zoom, pan, look } = picture;
    const acts = {
      closer: () => zoom(1 / 1.5), farther: () => zoom(1.5), save, table: saveTable,
      left: () => pan(canvas.width / 6, 0), right: () => pan(-canvas.width / 6, 0),
      up: () => pan(0, canvas.height / 6), down: () => pan(0, -canvas.height / 6),
    };
    by("body").addEventListener("click", ({ target }) => {
      const { do: act, view, z, r } = target.dataset;
      if (act) acts[act]();
      if (view) look(data.views[view].box);
      if (z) visit(Number(z), Number(r));
    });
    const hide = () => { by("tip").hidden = true; };
    gestures(canvas, {
      hover: point,
      tap(event) {
        const found = point(event);
        if (found) pin(found.z, found.r);
      },
      drag(dx, dy) { hide(); pan(dx, dy); },
      zoom(...how) { hide(); zoom(...how); },
      keys: { "+": acts.closer, "=": acts.closer, "-": acts.farther, ArrowLeft: acts.left,
        ArrowRight: acts.right, ArrowUp: acts.up, ArrowDown: acts.down,
        0: () => look(data.views[0].box) },
    });
    canvas.addEventListener("pointerleave", hide);
    charts.dark.addEventListener("change", picture.draw);
    new ResizeObserver(picture.resize).observe(canvas.parentElement);
  }

  function factorWords() {
    const words = scene.factor ? `\u00d7 ${scene.factor}` : "not drawn";
    by("factor-words").textContent = words;
    by("factor").setAttribute("aria-valuetext", words);
  }

  // Fills the list of quantities and the row of views.
  function offer() {
    const groups = new Map();
    for (const { key, group, name } of data.quantities) {
      if (!groups.has(group)) {
        groups.set(group, document.createElement("optgroup"));
        groups.get(group).label = group;
      }
      groups.get(group).append(new Option(name, key));
    }
    by("quantity").replaceChildren(...groups.values());
    by("views").replaceChildren(...data.views.map(({ name }, i) => {
      const button = document.createElement("button");
      button.type = "button";
      button.textContent = name;
      button.dataset.view = i;
      return button;
    }));
    const whole = data.views[0].box;
    let most = 0; // of the movement at duty
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
      state.textContent = "This browser cannot unpack the answer; see the pictures below.";
      return null;
    }
    state.hidden = true;
    by("body").hidden = false;
    picture = sectionPicture(canvas, field, scene);
    const { depth } = charts;
    scene.load = { ...data.duty, pressure: depth ? depth.pressure() : data.duty.pressure };
    offer();
    picture.resize();
    picture.look(data.views[1].box);
    showQuantity(data.quantities[0].key);
    listen();
    if (depth) depth.listen(takeDepth);
    return field;
  }

  const ready = charts.near("viewer", "600px", open);

  return {
    ready,
    mapBytes: (signed) => picture.mapBytes(signed ? "signed" : "plain"),
    state: () => ({ field, ...scene, words: loadWords() }),
    // for tests: what is seen, the answer at a place, and where a place is on the screen
    view: () => ({ ...picture.view(), ...scene, values: null, quantity: scene.quantity.key }),
    valueAt: (z, r, part = null, key = scene.quantity.key) =>
      field.valueAt(data.quantities.find((each) => each.key === key), z, r, scene.load, 0, part),
    screenAt(z, r) {
      const [x, y] = picture.toScreen(z, r), box = canvas.getBoundingClientRect();
      return [x / picture.sharp() + box.left, y / picture.sharp() + box.top];
    },
  };
})();
window.hullringViewer = viewer;
