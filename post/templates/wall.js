// The wall through its thickness, ply by ply.
"use strict";
(() => {
  const wall = charts.data("wall-data");
  if (!wall) return;
  const by = (id) => document.getElementById(id);
  const { depth, number, metres } = charts;

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
        group.told.push(`ply ${ply.number}, ${name}<br>r = ${number(r, 3)} mm<br>` +
          `${symbol} ${number(value, 2)} MPa`);
        [0, depth.deepest].forEach((at) => {
          const other = ply.pressure[row][i] * depth.pressureAt(at) + warm;
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
      hovertemplate: "%{text}<extra></extra>",
    }));
    const room = 0.08 * (high - low || 2);
    const layout = charts.layout({ height: 420, shapes: [], annotations: [],
      uirevision: `${pick.station.value} ${row}` });
    charts.fit(layout, charts.narrow("wall-chart"));
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
  depth.follow(drawWall);
  charts.plotly().then(() => charts.keep(drawWall));
})();
