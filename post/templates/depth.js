// The depth that every chart of the report is drawn for: its controls, the sea, the ladder's modes.
"use strict";
(() => {
  const told = charts.data("bondline-data");
  if (!told) return;
  const by = (id) => document.getElementById(id);
  const { number, metres } = charts;

  const heard = [];
  const depth = charts.depth = {
    value: told.duty.depth,
    duty: told.duty.depth,
    required: told.required.depth,
    deepest: told.deepest,
    temperature_change: told.temperature_change,
    pressureAt,
    pressure() { return pressureAt(this.value); },
    set(value) {
      if (Number.isFinite(value)) this.value = Math.min(Math.max(value, 0), told.deepest);
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
    const { modes, unknown, judged } = told.ladder;
    const at = `At ${metres(depth.value)} m`;
    const reached = modes.filter((mode) => mode.depth <= depth.value);
    const name = (mode) => mode.depth > 0
      ? `${mode.words} (${Math.floor(mode.depth).toLocaleString("en-GB")} m` +
        `${mode.doubt ? `, ${mode.doubt}` : ""})`
      : `${mode.words} (by the temperature change alone)`;
    const ends = unknown ? ` ${unknown} more ${unknown === 1 ? "has" : "have"} no number.` : "";
    let words;
    if (!judged) {
      words = "Strength is not judged: no depth here is said to be safe.";
    } else if (!modes.length) {
      words = "No mode of the ladder is reached in any sea.";
    } else if (!reached.length) {
      words = `${at} no mode of the ladder is reached; the first is ${name(modes[0])}.`;
    } else {
      words = `${at} reached, in this order: ${reached.map(name).join("; ")}. Beyond the first ` +
        "of these the real joint no longer follows the lines below: they stay linear.";
    }
    by("depth-modes").textContent = words + ends;
    const count = by("depth-count");
    count.hidden = !judged;
    count.textContent = !reached.length ? "no mode reached"
      : reached.length === 1 ? "1 mode reached" : `${reached.length} modes reached`;
    count.classList.toggle("reached", reached.length > 0);
  }

  const show = () => { showDepth(); showModes(); };
  depth.listen(show);
  show();

  // Calls draw as the depth changes; many moves between two pictures of the screen draw once.
  depth.follow = (draw) => {
    let waiting = false;
    depth.listen(() => {
      if (waiting) return;
      waiting = true;
      requestAnimationFrame(() => {
        waiting = false;
        draw();
      });
    });
  };

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
