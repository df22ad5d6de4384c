// Dragging, pinching, scrolling and keys over a picture, alike for all that are moved by hand.
// A page scrolls as ever until the reader clicks or taps into the picture (it then has the focus).
"use strict";
// acts: drag(dx, dy) and zoom(by, x, y) in the canvas's pixels, zoom by > 1 is farther away;
// tap(event) and hover(event), optional; keys, by the key's name what it does.
const gestures = (canvas, acts) => {
  const STILL = 6; // CSS pixels: what moves less is a tap
  const sharp = () => canvas.width / canvas.clientWidth;
  const at = (event) => {
    const box = canvas.getBoundingClientRect();
    return [(event.clientX - box.left) * sharp(), (event.clientY - box.top) * sharp()];
  };
  const down = new Map();
  let travelled = 0;

  canvas.addEventListener("pointerdown", (event) => {
    if (event.pointerType !== "mouse" && document.activeElement !== canvas) return;
    canvas.setPointerCapture(event.pointerId);
    down.set(event.pointerId, at(event));
    if (down.size === 1) travelled = 0;
  });
  canvas.addEventListener("pointermove", (event) => {
    const before = down.get(event.pointerId), now = at(event);
    if (!before) {
      if (event.pointerType === "mouse" && acts.hover) acts.hover(event);
      return;
    }
    const [dx, dy] = [now[0] - before[0], now[1] - before[1]];
    if (down.size === 2) {
      const other = [...down].find(([id]) => id !== event.pointerId)[1];
      const apart = (p) => Math.max(Math.hypot(p[0] - other[0], p[1] - other[1]), 1);
      acts.drag(dx / 2, dy / 2);
      acts.zoom(apart(before) / apart(now), (now[0] + other[0]) / 2, (now[1] + other[1]) / 2);
    } else acts.drag(dx, dy);
    travelled += Math.hypot(dx, dy);
    down.set(event.pointerId, now);
  });
  canvas.addEventListener("pointerup", (event) => {
    down.delete(event.pointerId);
    if (travelled <= STILL * sharp() && acts.tap) acts.tap(event);
  });
  canvas.addEventListener("pointercancel", (event) => down.delete(event.pointerId));
  canvas.addEventListener("wheel", (event) => {
    if (document.activeElement !== canvas) return;
    event.preventDefault();
    acts.zoom(Math.exp(event.deltaY * (event.deltaMode ? 0.05 : 0.0015)), ...at(event));
  }, { passive: false });
  canvas.addEventListener("keydown", (event) => {
    const act = acts.keys[event.key];
    if (!act || event.ctrlKey || event.metaKey || event.altKey) return;
    event.preventDefault();
    act();
  });
  return { at };
};

// Hands the reader a file.
const giveFile = (blob, name) => {
  const link = document.createElement("a");
  link.href = URL.createObjectURL(blob);
  link.download = name;
  link.click();
  URL.revokeObjectURL(link.href);
};
