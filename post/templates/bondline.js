// The bondlines: curves along s, strengths, and values read at a place.
"use strict";
(() => {
  const told = charts.data("bondline-data");
  if (!told) return;
  const by = (id) => document.getElementById(id);
  const { depth, number, metres } = charts;

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
      Object.values(parts(curve, stress, depth.pressureAt(at))).forEach((line) => {
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
    const narrow = charts.narrow(`bondline-chart-${bond.name}`);
    const traces = [];
    const layout = charts.layout({ height: 110 + 190 * stresses.length, shapes: [],
      annotations: [], hovermode: "x unified", uirevision: choice.set.value + choice.place.value });
    charts.fit(layout, narrow);
    layout.xaxis = { ...charts.axis("s, mm"), range: [0, bond.length], zeroline: false,
      hoverformat: ".2f", unifiedhovertitle: { text: "s = %{x:.2f} mm" },
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
        text: lines[load.key].map((value) => number(value, 2)),
        hovertemplate: `${words.toLowerCase()} %{text} MPa<extra>${load.words}</extra>`,
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
  depth.follow(drawBonds);
  charts.plotly().then(() => charts.keep(drawBonds));
})();
