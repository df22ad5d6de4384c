// Links that save the pictures of the page: each is in the page once, the links are made here.
"use strict";
(() => {
  const plain = (words) => words.toLowerCase().replace(/[^a-z0-9]+/g, "-").replace(/^-|-$/g, "");

  function link(file, place) {
    const made = document.createElement("a");
    made.className = "save";
    made.download = file;
    made.textContent = `Save ${file}`;
    place(made);
    return made;
  }

  // Links of pictures that a chart stands for follow their group, as the group is not shown.
  const groups = new Map();
  function after(picture) {
    const group = picture.closest(".static");
    if (!group) return (made) => picture.closest(".paper").after(made);
    if (!groups.has(group)) {
      const line = document.createElement("p");
      line.className = "get";
      line.append("Drawn at duty, for paper: ");
      group.after(line);
      groups.set(group, line);
    }
    return (made) => groups.get(group).append(made, " ");
  }

  document.querySelectorAll(".paper img").forEach((picture) => {
    const suffix = picture.src.startsWith("data:image/png") ? ".png" : ".svg";
    link(picture.dataset.save || plain(picture.alt) + suffix, after(picture)).href = picture.src;
  });

  // A drawing that is part of the page takes its colours from the style sheet: they go with it.
  const names = ["fill", "stroke", "stroke-width", "stroke-dasharray", "font-family", "font-size",
    "font-weight", "text-anchor", "opacity"];
  function drawn(svg) {
    const copy = svg.cloneNode(true);
    const pairs = [svg, ...svg.querySelectorAll("*")];
    [copy, ...copy.querySelectorAll("*")].forEach((one, i) => {
      const style = getComputedStyle(pairs[i]);
      names.forEach((name) => one.style.setProperty(name, style.getPropertyValue(name)));
    });
    const { width, height } = svg.viewBox.baseVal;
    copy.setAttribute("width", width);
    copy.setAttribute("height", height);
    copy.style.background = charts.colour("page");
    return new Blob([new XMLSerializer().serializeToString(copy)], { type: "image/svg+xml" });
  }

  document.querySelectorAll(".wide > svg").forEach((svg) => {
    const name = plain(svg.parentElement.getAttribute("aria-label").replace(/^Picture: /, ""));
    const made = link(`${name}.svg`, (one) => svg.parentElement.after(one));
    made.href = "#";
    made.addEventListener("click", () => {
      const address = URL.createObjectURL(drawn(svg));
      made.href = address;
      setTimeout(() => URL.revokeObjectURL(address), 60_000);
    });
  });
})();
