// The report's own charts. The depth is one for all of them: they are sums of unit parts.
"use strict";
(() => {
  const told = charts.data("bondline-data");
  if (!told) return;
  const by = (id) => document.getElementById(id);
  const { number, metres } = charts;

  // --- the depth that every chart of the page is drawn for ------------------------------------

  const heard = [];
  const depth = charts.depth = {
    value: told.duty.depth,
    duty: told.duty.depth,
    required: told.required.depth,
    deepest: told.deepest,
    temperature_change: told.temperature_change,
    pressure() { return pressureAt(this.value); },
    set(value) {
      if (!Number.isFinite(value)) return;
      this.value = Math.min(Math.max(value, 0), told.deepest);
      heard.forEach((listen) => listen());
    },
    listen(listen) { heard.push(listen); },
  };

  function pressureAt(at) {
    const { depth: d, pressure: p } = told.sea;
    let i = 1;
    while (i < d.length - 1 && d[i] < at) i += 1;
    if (at === d[i]) return p[i];
    return p[i - 1] + ((p[i] - p[i - 1]) * (at - d[i - 1])) / (d[i] - d[i - 1]);
  }

  // --- controls of the depth ------------------------------------------------------------------

  const slider = by("depth-slider");
  const field = by("depth-number");
  slider.addEventListener("input", () => depth.set(slider.valueAsNumber));
  field.addEventListener("change", () => depth.set(field.valueAsNumber));
  by("depth-duty").addEventListener("click", () => depth.set(depth.duty));
  by("depth-required").addEventListener("click", () => depth.set(depth.required));
  by("depth-duty").title = `${metres(depth.duty)} m`;
  by("depth-required").title = `${metres(depth.required)} m`;
  if (depth.required > depth.deepest) by("depth-required").disabled = true;

  function showDepth() {
    slider.value = String(depth.value);
    field.value = String(Math.round(depth.value));
    const pressure = `${number(depth.pressure(), 2)} MPa`;
    by("depth-pressure").textContent = pressure;
    slider.setAttribute("aria-valuetext", `${metres(depth.value)} m, ${pressure}`);
    by("depth-duty").setAttribute("aria-pressed", String(depth.value === depth.duty));
    by("depth-required").setAttribute("aria-pressed", String(depth.value === depth.required));
  }

  // Which modes of the ladder are reached, by their own depths.
  function showModes() {
    const { modes, unknown } = told.ladder;
    const at = `At ${metres(depth.value)} m`;
    const reached = modes.filter((mode) => mode.depth <= depth.value);
    const name = (mode) => mode.depth > 0
      ? `${mode.words} (${Math.floor(mode.depth).toLocaleString("en-GB")} m` +
        `${mode.doubt ? `, ${mode.doubt}` : ""})`
      : `${mode.words} (by the temperature change alone)`;
    const ends = unknown ? ` ${unknown} more ${unknown === 1 ? "has" : "have"} no number.` : "";
    let words;
    if (!modes.length) {
      words = "No mode of the ladder is reached in any sea.";
    } else if (!reached.length) {
      words = `${at} no mode of the ladder is reached; the first is ${name(modes[0])}.`;
    } else {
      words = `${at} reached, in this order: ${reached.map(name).join(", ")}. Beyond the first ` +
        "of these the real joint no longer follows the lines below: they stay linear.";
    }
    by("depth-modes").textContent = words + ends;
    const count = by("depth-count");
    count.textContent = !reached.length ? "no mode reached"
      : reached.length === 1 ? "1 mode reached" : `${reached.length} modes reached`;
    count.classList.toggle("reached", reached.length > 0);
  }

  // --- the table of headline numbers ----------------------------------------------------------

  const ofDepth = (part, pressure) => pressure * part.pressure + part.temperature;

  // Every statistic of a stress on one mesh: value, and place of the extremes.
  function statistics(parts, stress, pressure) {
    const found = {};
    Object.entries(parts.means[stress]).forEach(([name, mean]) => {
      found[name] = { value: ofDepth(mean, pressure), at: null };
    });
    const line = parts.lines[stress];
    let high = 0;
    let low = 0;
    const whole = line.pressure.map((unit, i) => pressure * unit + line.temperature[i]);
    whole.forEach((value, i) => {
      if (value > whole[high]) high = i;
      if (value < whole[low]) low = i;
    });
    found.largest = { value: whole[high], at: parts.s[high] };
    found.smallest = { value: whole[low], at: parts.s[low] };
    return found;
  }

  // The same with the numerical error: how far each moves between the meshes, and the floor.
  function headlines(bond, stress, pressure) {
    const [fine, coarse] = bond.headlines.map((parts) => statistics(parts, stress, pressure));
    const { safety, floor } = told.rules;
    const largest = Math.max(...Object.values(fine).map((each) => Math.abs(each.value)));
    Object.entries(fine).forEach(([name, each]) => {
      each.error = Math.max(safety * Math.abs(each.value - coarse[name].value), floor * largest);
    });
    return fine;
  }

  const strongest = (found) => Math.abs(found.largest.value) >= Math.abs(found.smallest.value)
    ? found.largest : found.smallest;

  // Cells as the page was written with: value, error, place.
  function fill(cell, { value, error, at }) {
    const digits = error < 0.05 ? 2 : error < 0.5 ? 1 : 0;
    const shown = value.toFixed(digits).replace("-", "\u2212");
    const least = Math.max(error, 0.5 * 10 ** -digits).toFixed(digits);
    cell.replaceChildren();
    const add = (tag, text) => {
      const element = document.createElement(tag);
      element.textContent = text;
      cell.append(element);
    };
    add("b", shown);
    cell.append(" ");
    add("small", `\u00b1 ${least}`);
    if (at !== null) {
      add("br", "");
      add("small", `at s = ${at.toFixed(2)} mm`);
    }
  }

  const table = by("headlines").querySelector("table");
  function showTable() {
    const pressure = depth.pressure();
    const rows = [...told.rules.shown];
    if (table.tBodies[0].rows.length > rows.length) {
      rows.push(["Strongest twist shear", "twist_shear", ""]);
    }
    told.bonds.forEach((bond, column) => {
      rows.forEach(([, stress, statistic], row) => {
        const cell = table.tBodies[0].rows[row].cells[column + 1];
        if (!told.stresses.some((each) => each.key === stress) || !told.twists[bond.name] &&
            stress === "twist_shear") return;
        const found = headlines(bond, stress, pressure);
        fill(cell, statistic ? found[statistic] : strongest(found));
      });
    });
    const at = depth.value === depth.duty ? "at duty" : `at ${metres(depth.value)} m`;
    table.tHead.rows[0].cells[0].textContent = `MPa, ${at}`;
  }

  // --- bondlines ------------------------------------------------------------------------------

  const LOADS = [
    { key: "duty", words: "whole", dash: "solid", width: 2.6, colour: "load-whole" },
    { key: "pressure", words: "pressure part", dash: "dash", width: 1.7, colour: "load-pressure" },
    { key: "temperature", words: "temperature part", dash: "dot", width: 2,
      colour: "load-temperature" },
  ];
  const choice = { set: by("bondline-stresses"), place: by("bondline-place") };
  const stressOf = Object.fromEntries(told.stresses.map((each) => [each.key, each]));
  const isMid = () => choice.place.value.startsWith("mid/");

  function parts(curve, stress, pressure) {
    const press = curve.pressure[stress].map((value) => value * pressure);
    const warm = curve.temperature[stress];
    return { pressure: press, temperature: warm, duty: press.map((value, i) => value + warm[i]) };
  }

  // Limits that hold the curves of every depth, so that they grow as the depth does. At a face's
  // ends stress has no bound: there the limits are those of the rest.
  function limits(bond, curve, stress) {
    const clear = isMid() ? 0 : bond.thickness / 2;
    const inside = curve.s.map((s) => s >= clear && s <= bond.length - clear);
    let [low, high] = [0, 0];
    [0, depth.deepest].forEach((at) => {
      Object.values(parts(curve, stress, pressureAt(at))).forEach((line) => {
        line.forEach((value, i) => {
          if (inside[i]) [low, high] = [Math.min(low, value), Math.max(high, value)];
        });
      });
    });
    strengthsOf(stress).forEach((value) => {
      [low, high] = [Math.min(low, value), Math.max(high, value)];
    });
    const room = 0.08 * (high - low || 1);
    return [low - room, high + room];
  }

  // Strengths that a stress is judged by: bonds are judged at mid-thickness alone.
  function strengthsOf(stress) {
    const { peel, shear } = told.strengths;
    if (!isMid()) return [];
    if (stress === "peel" && peel !== null) return [peel];
    return shear !== null && (stress === "shear" || stress === "twist_shear")
      ? [shear, -shear] : [];
  }

  const readers = {};
  function drawBond(bond) {
    const curve = bond.curves[choice.place.value];
    const stresses = told.sets[choice.set.value].keys;
    const pressure = depth.pressure();
    const share = 1 / stresses.length;
    const narrow = by(`bondline-chart-${bond.name}`).clientWidth < 480;
    const traces = [];
    const layout = charts.layout({ height: 110 + 190 * stresses.length, shapes: [],
      annotations: [], hovermode: "x unified", uirevision: choice.set.value + choice.place.value });
    layout.margin = { l: narrow ? 48 : 62, r: 10, t: narrow ? 64 : 36, b: 44 };
    layout.xaxis = { ...charts.axis("s, mm"), range: [0, bond.length], zeroline: false,
      hoverformat: ".2f", unifiedhovertitle: { text: "s = %{x} mm" },
      anchor: stresses.length > 1 ? `y${stresses.length}` : "y" };
    stresses.forEach((stress, i) => {
      const words = stressOf[stress].words;
      const y = i ? `y${i + 1}` : "y";
      layout[i ? `yaxis${i + 1}` : "yaxis"] = { ...charts.axis(`${words}, MPa`),
        range: limits(bond, curve, stress),
        domain: [1 - (i + 1) * share + (i < stresses.length - 1 ? 0.035 : 0),
          1 - i * share - (i ? 0.035 : 0)] };
      const lines = parts(curve, stress, pressure);
      LOADS.forEach((load) => traces.push({
        x: curve.s, y: lines[load.key], yaxis: y, name: load.words, legendgroup: load.key,
        showlegend: i === 0, mode: "lines",
        line: { dash: load.dash, width: load.width, color: charts.colour(load.colour) },
        hovertemplate: `${words.toLowerCase()} %{y:.2f} MPa<extra>${load.words}</extra>`,
      }));
      strengthsOf(stress).forEach((value) => {
        layout.shapes.push({ type: "line", xref: "paper", x0: 0, x1: 1, yref: y, y0: value,
          y1: value, line: { color: charts.colour("limit"), width: 1.5, dash: "dashdot" } });
        layout.annotations.push({ xref: "paper", x: 0.995, xanchor: "right", yref: y, y: value,
          yanchor: value > 0 ? "top" : "bottom", showarrow: false,
          text: `strength ${number(value, 1)} MPa`, font: { size: 12,
            color: charts.colour("limit") }, bgcolor: charts.colour("page"), borderpad: 1 });
      });
      [[0, Math.min(bond.thickness, bond.length / 2)],
        [bond.length - Math.min(bond.thickness, bond.length / 2), bond.length]].forEach(([a, b]) =>
        layout.shapes.push({ type: "rect", xref: "x", x0: a, x1: b, yref: `${y} domain`, y0: 0,
          y1: 1, line: { width: 0 }, fillcolor: charts.colour("band"), layer: "below" }));
    });
    const s = readers[bond.name] ?? null;
    if (s !== null) {
      layout.shapes.push({ type: "line", xref: "x", x0: s, x1: s, yref: "paper", y0: 0, y1: 1,
        line: { color: charts.colour("soft"), width: 1 } });
    }
    Plotly.react(`bondline-chart-${bond.name}`, traces, layout,
      charts.config(`bondline-${bond.name}`));
    describe(bond, stresses);
    read(bond);
  }

  // What the chart shows, in words, for those who do not see it.
  function describe(bond, stresses) {
    const where = choice.place.selectedOptions[0].textContent;
    const senses = stresses.map((stress) => {
      const [up, down] = stressOf[stress].sense;
      return `${stressOf[stress].words}: + ${up}, \u2212 ${down}.`;
    });
    const judged = strengthsOf(stresses[0]).length
      ? ` Strengths after every knock-down; a bond is judged by both together, averaged over ` +
        `${told.strengths.length.toPrecision(3).replace(/\.?0+$/, "")} mm, so a peak above a ` +
        "line is not yet a failure." : "";
    const ends = isMid() ? "" : " At the very ends of a face stress has no bound: it belongs to " +
      "the mesh there, and no number near them is judged.";
    by(`bondline-about-${bond.name}`).textContent =
      `In the ${where}, at ${metres(depth.value)} m, from s = 0, ${bond.ends[0]}, to s = ` +
      `${number(bond.length, 1)} mm, ${bond.ends[1]}. ${senses.join(" ")} Shaded: the first and ` +
      `last bond thickness.${judged}${ends}`;
  }

  function read(bond) {
    const slide = by(`bondline-s-${bond.name}`);
    const curve = bond.curves[choice.place.value];
    const s = Number(slide.value) / 1000 * bond.length;
    const line = told.sets[choice.set.value].keys.map((stress) => {
      const lines = parts(curve, stress, depth.pressure());
      const at = (load) => number(between(curve.s, lines[load], s), 2);
      return `${stressOf[stress].words.toLowerCase()} ${at("duty")} MPa (pressure ` +
        `${at("pressure")}, temperature ${at("temperature")})`;
    });
    const words = `s = ${number(s, 2)} mm: ${line.join("; ")}`;
    by(`bondline-read-${bond.name}`).textContent = words;
    slide.setAttribute("aria-valuetext", `${number(s, 2)} mm`);
  }

  function between(x, y, at) {
    if (at <= x[0]) return y[0];
    for (let i = 1; i < x.length; i += 1) {
      if (at <= x[i]) return y[i - 1] + ((y[i] - y[i - 1]) * (at - x[i - 1])) / (x[i] - x[i - 1]);
    }
    return y[y.length - 1];
  }

  told.bonds.forEach((bond) => {
    by(`bondline-s-${bond.name}`).addEventListener("input", (event) => {
      readers[bond.name] = event.target.valueAsNumber / 1000 * bond.length;
      drawBond(bond);
    });
  });

  const drawBonds = () => told.bonds.forEach(drawBond);
  choice.set.addEventListener("change", drawBonds);
  choice.place.addEventListener("change", drawBonds);

  // --- the wall, ply by ply -------------------------------------------------------------------

  const wall = charts.data("wall-data");
  const pick = { station: by("wall-station"), component: by("wall-component") };
  const angleWords = (angle) => `${number(angle, Number.isInteger(angle) ? 0 : 1)}\u00b0`;

  function drawWall() {
    const station = wall.stations[pick.station.value];
    const row = Number(pick.component.value);
    const words = wall.words[row];
    const [symbol] = words.split(",");
    const pressure = depth.pressure();
    const groups = new Map();
    let [low, high] = [0, 0];
    let largest = null;
    station.plies.forEach((ply) => {
      const name = `${angleWords(ply.angle)} ${ply.card}`;
      if (!groups.has(name)) groups.set(name, { x: [], y: [], told: [] });
      const group = groups.get(name);
      ply.r.forEach((r, i) => {
        const warm = ply.temperature[row][i];
        const value = ply.pressure[row][i] * pressure + warm;
        group.x.push(r);
        group.y.push(value);
        group.told.push(`ply ${ply.number}, ${name}`);
        [0, depth.deepest].forEach((at) => {
          const other = ply.pressure[row][i] * pressureAt(at) + warm;
          [low, high] = [Math.min(low, other), Math.max(high, other)];
        });
        if (!largest || Math.abs(value) > Math.abs(largest.value)) largest = { value, r, ply };
      });
      group.x.push(null); // nothing across the face between two plies
      group.y.push(null);
      group.told.push("");
    });
    const colours = ["load-pressure", "load-temperature", "third", "fourth", "fifth", "sixth"];
    const traces = [...groups].map(([name, group], i) => ({
      x: group.x, y: group.y, text: group.told, name, mode: "lines", connectgaps: false,
      line: { width: 3, color: charts.colour(colours[i % colours.length]) },
      hovertemplate: `%{text}<br>r = %{x:.3f} mm<br>${symbol} %{y:.2f} MPa<extra></extra>`,
    }));
    const room = 0.08 * (high - low || 2);
    const layout = charts.layout({ height: 420, shapes: [], annotations: [],
      uirevision: `${pick.station.value} ${row}` });
    layout.margin = { l: 62, r: 10, t: 36, b: 44 };
    layout.xaxis = { ...charts.axis("radius, mm (bore on the left)"), zeroline: false,
      range: [wall.bore, wall.outside] };
    layout.yaxis = { ...charts.axis(`${symbol}, MPa`), range: [low - room, high + room] };
    wall.layers.forEach((layer, i) => layout.shapes.push({ type: "rect", xref: "x",
      x0: layer.from, x1: layer.to, yref: "y domain", y0: 0, y1: 1, layer: "below",
      line: { width: i ? 1 : 0, color: charts.colour("line") },
      fillcolor: i % 2 ? charts.colour("band") : "rgba(0,0,0,0)" }));
    strengthLines(row, low - room, high + room, layout);
    Plotly.react("wall-chart", traces, layout, charts.config("wall-plies"));
    const where = pick.station.selectedOptions[0].textContent;
    by("wall-about").textContent = largest
      ? `${words}, at ${metres(depth.value)} m, ${where}. Strongest: ${number(largest.value, 1)} ` +
        `MPa in ply ${largest.ply.number} (${angleWords(largest.ply.angle)}), r = ` +
        `${number(largest.r, 2)} mm.${unseenStrengths(row, low - room, high + room)}`
      : "The wall has no ply here.";
  }

  function strengthLines(row, low, high, layout) {
    Object.entries(wall.strengths).forEach(([card, of]) => {
      of[wall.components[row]].filter((value) => value > low && value < high).forEach((value) => {
        layout.shapes.push({ type: "line", xref: "paper", x0: 0, x1: 1, yref: "y", y0: value,
          y1: value, line: { color: charts.colour("limit"), width: 1.5, dash: "dashdot" } });
        layout.annotations.push({ xref: "paper", x: 0.995, xanchor: "right", yref: "y", y: value,
          yanchor: value > 0 ? "top" : "bottom", showarrow: false, borderpad: 1,
          text: `strength ${number(value, 0)} MPa, ${card}`, bgcolor: charts.colour("page"),
          font: { size: 12, color: charts.colour("limit") } });
      });
    });
  }

  // Strengths beyond the chart are told in words.
  function unseenStrengths(row, low, high) {
    return Object.entries(wall.strengths).map(([card, of]) => {
      const [pull, push] = of[wall.components[row]];
      const seen = [pull, push].every((value) => value > low && value < high);
      const words = pull === -push ? `${number(pull, 0)} MPa either way`
        : `${number(pull, 0)} MPa in tension, ${number(-push, 0)} MPa in compression`;
      return seen ? "" : ` Strength of ${card}: ${words}.`;
    }).join("");
  }

  pick.station.addEventListener("change", drawWall);
  pick.component.addEventListener("change", drawWall);

  // --- all of it ------------------------------------------------------------------------------

  const showAll = () => { showDepth(); showModes(); showTable(); };
  depth.listen(showAll);
  showAll();
  charts.keep(drawBonds);
  charts.keep(drawWall);
  // Many moves of the slider between two pictures of the screen draw once.
  let waiting = false;
  depth.listen(() => {
    if (waiting) return;
    waiting = true;
    requestAnimationFrame(() => {
      waiting = false;
      drawBonds();
      drawWall();
    });
  });

  // Paper shows the duty: its figures are drawn for it.
  let before = null;
  window.addEventListener("beforeprint", () => {
    before = depth.value;
    if (before !== depth.duty) depth.set(depth.duty);
    document.querySelectorAll("details:not([open])").forEach((each) => {
      each.open = true;
      each.dataset.shut = "";
    });
  });
  window.addEventListener("afterprint", () => {
    if (before !== null && before !== depth.value) depth.set(before);
    document.querySelectorAll("details[data-shut]").forEach((each) => {
      each.open = false;
      delete each.dataset.shut;
    });
  });
})();
