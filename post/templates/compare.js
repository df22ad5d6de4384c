// The bondlines of several cases over each other: one stress at a time, s in mm or as a share.
"use strict";
(() => {
  const told = charts.data("compare-data");
  if (!told || !document.documentElement.classList.contains("js")) return;
  const stress = document.getElementById("stress"), along = document.getElementById("along");

  function trace(line, key, share) {
    const one = told.cases[line.case], longest = line.s[line.s.length - 1];
    return { type: "scatter", mode: "lines", name: one.name,
      x: share ? line.s.map((s) => s / longest) : line.s, y: line[key],
      line: { color: charts.colour(one.colour), dash: one.dash, width: 2 },
      hovertemplate: `${one.name}<br>s = %{x:.4g}${share ? "" : " mm"}<br>%{y:.4g} MPa<extra></extra>` };
  }

  function draw(library) {
    const key = stress.value, share = along.value === "share";
    const { words, sense } = told.stresses.find((one) => one.key === key);
    for (const bond of told.bonds) {
      const place = document.getElementById(`plot-${bond.name}`);
      const layout = charts.layout({ showlegend: true, height: 380,
        xaxis: charts.axis(share ? "s over the bond's length" : "s from the open edge, mm"),
        yaxis: charts.axis(`${words} stress, MPa (+ ${sense[0]})`) });
      library.react(place, bond.lines.map((line) => trace(line, key, share)), layout,
        charts.config(`${bond.name}-${key}`));
    }
  }

  charts.plotly().then((library) => {
    charts.keep(() => draw(library));
    stress.addEventListener("change", () => draw(library));
    along.addEventListener("change", () => draw(library));
  });
})();
