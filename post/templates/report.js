// The report's own charts. The depth is one for all of them: they are sums of unit parts.
"use strict";
(() => {
  const told = charts.data("bondline-data");
  if (!told) return;
  const by = (id) => document.getElementById(id);

  // --- the depth that every chart of the page is drawn for ------------------------------------

  const heard = [];
  charts.depth = {
    value: told.duty.depth,
    duty: told.duty.depth,
    deepest: told.deepest,
    temperature_change: told.temperature_change,
    pressure() { return pressureAt(this.value); },
    set(value) {
      this.value = Math.min(Math.max(value, 0), told.deepest);
      heard.forEach((listen) => listen());
    },
    listen(listen) { heard.push(listen); },
  };

  function pressureAt(depth) {
    const { depth: d, pressure: p } = told.sea;
    let i = 1;
    while (i < d.length - 1 && d[i] < depth) i += 1;
    if (depth === d[i]) return p[i];
    return p[i - 1] + ((p[i] - p[i - 1]) * (depth - d[i - 1])) / (d[i] - d[i - 1]);
  }

  // --- bondlines ------------------------------------------------------------------------------

  const LOADS = [
    { key: "duty", words: "whole", dash: "solid", width: 2.5, colour: "load-whole" },
    { key: "pressure", words: "pressure part", dash: "dash", width: 1.6, colour: "load-pressure" },
    { key: "temperature", words: "temperature part", dash: "dot", width: 1.8,
      colour: "load-temperature" },
  ];

  function parts(curve, stress, pressure) {
    const press = curve.pressure[stress].map((value) => value * pressure);
    const warm = curve.temperature[stress];
    return { pressure: press, temperature: warm, duty: press.map((value, i) => value + warm[i]) };
  }

  function draw(bond) {
    const curve = bond.curves["mid/adhesive"];
    const pressure = charts.depth.pressure();
    const chosen = ["peel", "shear"];
    const traces = [];
    const layout = charts.layout({ height: 420, xaxis: { ...charts.axis("s, mm"), anchor: "y2" } });
    chosen.forEach((stress, i) => {
      const words = told.stresses.find((each) => each.key === stress).words;
      const y = i ? "y2" : "y";
      layout[i ? "yaxis2" : "yaxis"] = { ...charts.axis(`${words}, MPa`),
        domain: i ? [0, 0.47] : [0.53, 1] };
      const lines = parts(curve, stress, pressure);
      LOADS.forEach((load) => traces.push({
        x: curve.s, y: lines[load.key], yaxis: y, name: load.words, legendgroup: load.key,
        showlegend: i === 0, mode: "lines",
        line: { dash: load.dash, width: load.width, color: charts.colour(load.colour) },
        hovertemplate: `s = %{x:.2f} mm<br>${words.toLowerCase()} %{y:.2f} MPa` +
          `<extra>${load.words}</extra>`,
      }));
    });
    Plotly.react(`bondline-chart-${bond.name}`, traces, layout,
      charts.config(`bondline-${bond.name}`));
  }

  const drawAll = () => told.bonds.forEach(draw);
  charts.keep(drawAll);
  charts.depth.listen(drawAll);

  // --- controls of the depth ------------------------------------------------------------------

  const slider = by("depth-slider");
  const field = by("depth-number");
  slider.addEventListener("input", () => charts.depth.set(Number(slider.value)));
  field.addEventListener("change", () => charts.depth.set(Number(field.value)));
  by("depth-duty").addEventListener("click", () => charts.depth.set(told.duty.depth));
  charts.depth.listen(() => {
    slider.value = field.value = String(Math.round(charts.depth.value));
    by("depth-pressure").textContent = `${charts.number(charts.depth.pressure(), 2)} MPa`;
  });
  charts.depth.set(told.duty.depth);
})();
