// The table of headline numbers at the depth chosen, by the rules that made it for the duty.
"use strict";
(() => {
  const told = charts.data("bondline-data");
  if (!told) return;
  const by = (id) => document.getElementById(id);
  const { depth, number, metres } = charts;

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

  depth.listen(showTable);
  showTable();
})();
