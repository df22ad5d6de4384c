// What every chart of a page shares: its data, the page's colours and the chart's own buttons.
"use strict";
const charts = (() => {
  const dark = window.matchMedia("(prefers-color-scheme: dark)");
  const still = window.matchMedia("(prefers-reduced-motion: reduce)");
  const redrawn = [];

  // Data of a json_block; null where the page has none of that name.
  const known = {};
  function data(id) {
    const element = document.getElementById(id);
    known[id] ??= element ? JSON.parse(element.textContent) : null;
    return known[id];
  }

  // Bytes of packed text: base64 of what deflate made.
  async function unpack(text) {
    const bytes = Uint8Array.from(atob(text), (letter) => letter.charCodeAt(0));
    const stream = new Blob([bytes]).stream().pipeThrough(new DecompressionStream("deflate"));
    return new Response(stream).text();
  }

  // The charting library, unpacked when it is first asked for; a promise.
  let library = null;
  function plotly() {
    library ??= unpack(document.getElementById("plotly-packed").textContent).then((text) => {
      const script = document.createElement("script");
      script.textContent = text;
      document.head.append(script);
      return window.Plotly;
    });
    return library;
  }

  // A colour of the style sheet by the name of its variable, without the dashes.
  function colour(name) {
    return getComputedStyle(document.documentElement).getPropertyValue("--" + name).trim();
  }

  function axis(title) {
    return { title: { text: title, standoff: 8 }, automargin: true, gridcolor: colour("line"),
      linecolor: colour("soft"), zerolinecolor: colour("soft"), tickcolor: colour("soft"),
      ticks: "outside", ticklen: 4, showline: true, zeroline: true };
  }

  // A layout in the page's colours; what is given replaces what is here.
  function layout(more) {
    return { paper_bgcolor: "rgba(0,0,0,0)", plot_bgcolor: "rgba(0,0,0,0)", autosize: true,
      font: { family: "system-ui, sans-serif", size: 13, color: colour("text") },
      margin: { l: 60, r: 12, t: 12, b: 48 }, hovermode: "closest", dragmode: "zoom",
      hoverlabel: { bgcolor: colour("page"), bordercolor: colour("soft"),
        font: { color: colour("text"), size: 13 }, align: "left" },
      modebar: { bgcolor: "rgba(0,0,0,0)", color: colour("soft"), activecolor: colour("accent") },
      legend: { orientation: "h", x: 0, y: 1.02, yanchor: "bottom", bgcolor: "rgba(0,0,0,0)" },
      ...more };
  }

  const narrow = (id) => document.getElementById(id).clientWidth < 480;

  // Room around a chart; on a phone the legend goes below it, clear of the buttons.
  function fit(layout, slim) {
    layout.margin = { l: slim ? 48 : 62, r: 10, t: 36, b: slim ? 96 : 44 };
    if (slim) {
      layout.height += 40;
      layout.legend = { ...layout.legend, y: 0, yref: "container", yanchor: "bottom" };
    }
  }

  // The chart's own buttons: a picture of it, zoom and reset; no link out of the page.
  function config(file) {
    return { displaylogo: false, responsive: false, showLink: false, showSendToCloud: false,
      showEditInChartStudio: false, displayModeBar: true, doubleClick: "reset",
      modeBarButtonsToRemove: ["select2d", "lasso2d", "autoScale2d"],
      toImageButtonOptions: { format: "svg", filename: file } };
  }

  // Calls draw now, and again whenever the page changes its colours or its width.
  function keep(draw) {
    redrawn.push(draw);
    draw();
  }
  const again = () => redrawn.forEach((draw) => draw());
  dark.addEventListener("change", again);
  // The library's own way to follow a width forgets the height that a chart was given.
  let wide = window.innerWidth;
  window.addEventListener("resize", () => {
    if (wide === window.innerWidth) return;
    wide = window.innerWidth;
    requestAnimationFrame(again);
  });

  // Opens once what takes a moment to unpack: when it is asked for, or as the reader comes near.
  function near(id, margin, open) {
    let opening = null;
    const ready = () => (opening = opening || open());
    const watch = new IntersectionObserver((seen) => {
      if (!seen.some((each) => each.isIntersecting)) return;
      watch.disconnect();
      ready();
    }, { rootMargin: margin });
    watch.observe(document.getElementById(id));
    return ready;
  }

  // A number as the page writes it, with a true minus sign.
  function number(value, digits) {
    const text = value.toFixed(digits);
    return (Number(text) === 0 && text.startsWith("-") ? text.slice(1) : text)
      .replace("-", "\u2212");
  }

  // Whole metres with commas, as the ladder writes depths.
  function metres(value) {
    return Math.round(value).toString().replace(/\B(?=(\d{3})+$)/g, ",");
  }

  return { data, plotly, colour, axis, layout, narrow, fit, config,
    keep, near, number, metres, dark, still };
})();
