/* Plays the figures that move, to and fro. Each path of an svg[data-moving] may carry data-frames: what it is made of
   (b ball, d disc, c cap with height, ~ balls in a row, l a line), then its numbers at each pose in tenths of a
   millimetre: the first as they are, the others as what they miss of going on as before. An element with data-pause
   stops and starts the figures in its data-figure box (one with data-still waits for the first tap); where less motion is wanted
   it shows start and end by turns instead. */
"use strict";
(function () {
  const WAYS = 40, SECONDS_ONE_WAY = 2, REST = 0.2;
  const calm = matchMedia("(prefers-reduced-motion: reduce)");
  const circle = Array.from({ length: WAYS }, (_, i) => [Math.cos((i * 2 * Math.PI) / WAYS), Math.sin((i * 2 * Math.PI) / WAYS)]);

  function read(path) {
    const [made, ...texts] = path.getAttribute("data-frames").split("|");
    const frames = texts.map((text) => (text.match(/-?\d+/g) || []).map(Number));
    for (let i = 1; i < frames.length; i++) {
      const last = frames[i - 1], before = i > 1 ? frames[i - 2] : last;
      frames[i] = frames[0].map((_, k) => 2 * last[k] - before[k] + (frames[i][k] || 0));
    }
    const kind = made[0] === "~" || made[0] === "l" ? made[0] : "";
    const prims = made.replace(/^[~l]/, "").split(" ").filter(Boolean).map((word) => {
      const [radius, height] = word.slice(1).split(",").map(Number);
      return { kind: word[0], radius, height };
    });
    return { path, frames, kind, prims };
  }

  /* Where a primitive reaches farthest in a direction: how far, and the point. */
  function farthest(prim, at, x, y) {
    const [px, py, nx, ny] = at, r = prim.radius;
    if (prim.kind === "b") return [px * x + py * y + r, px + r * x, py + r * y];
    const n = nx * x + ny * y, tx = x - n * nx, ty = y - n * ny;
    const cross = Math.hypot(tx, ty, n * Math.sqrt(Math.max(0, 1 - nx * nx - ny * ny))) || 1;
    if (prim.kind === "c" && n * r >= prim.height) return [px * x + py * y + r, px + r * x, py + r * y];
    const h = prim.kind === "c" ? prim.height : 0, flat = Math.sqrt(Math.max(r * r - h * h, 0)) / cross;
    const qx = px + h * nx + flat * tx, qy = py + h * ny + flat * ty;
    return [qx * x + qy * y, qx, qy];
  }

  function hull(prims, places, unit) {
    let text = "";
    for (const [x, y] of circle) {
      let best = [-Infinity, 0, 0];
      for (let i = 0; i < prims.length; i++) {
        const found = farthest(prims[i], places[i], x, y);
        if (found[0] > best[0]) best = found;
      }
      text += (text ? "L" : "M") + (best[1] * unit).toFixed(1) + " " + (best[2] * unit).toFixed(1);
    }
    return text + "Z";
  }

  function data(part, numbers, unit) {
    const places = [];
    if (part.kind === "l") {
      for (let i = 0; i < numbers.length; i += 2) places.push((numbers[i] * unit).toFixed(1) + " " + (numbers[i + 1] * unit).toFixed(1));
      return "M" + places.join("L");
    }
    let i = 0;
    for (const prim of part.prims) {
      const flat = prim.kind !== "b";
      places.push([numbers[i], numbers[i + 1], flat ? numbers[i + 2] / 100 : 0, flat ? numbers[i + 3] / 100 : 0]);
      i += flat ? 4 : 2;
    }
    if (part.kind !== "~") return hull(part.prims, places, unit);
    let text = "";
    for (let k = 0; k + 1 < places.length; k++) text += hull(part.prims.slice(k, k + 2), places.slice(k, k + 2), unit);
    return text;
  }

  function figure(svg) {
    const parts = Array.from(svg.querySelectorAll("[data-frames]"), read);
    const last = Number(svg.getAttribute("data-moving")) - 1, unit = Number(svg.getAttribute("data-unit"));
    return {
      svg,
      show(share) {
        const at = Math.min(last, Math.max(0, share * last)), from = Math.min(Math.floor(at), last - 1), part_ = at - from;
        for (const part of parts) {
          const one = part.frames[from], two = part.frames[from + 1];
          part.path.setAttribute("d", data(part, one.map((value, k) => value + (two[k] - value) * part_), unit));
        }
      },
    };
  }

  /* Share of the way from start to end at a time in seconds: there and back, slow at both ends, where it rests. */
  function shareAt(seconds) {
    const turn = (seconds / SECONDS_ONE_WAY) % 2, way = turn > 1 ? 2 - turn : turn;
    const moved = Math.min(1, Math.max(0, (way - REST / 2) / (1 - REST)));
    return (1 - Math.cos(Math.PI * moved)) / 2;
  }

  function start(root) {
    const figures = Array.from(root.querySelectorAll("svg[data-moving]"), figure);
    const buttons = Array.from(root.querySelectorAll("[data-pause]"));
    if (!figures.length) return;
    let playing = false, clock = SECONDS_ONE_WAY, before = 0, atEnd = true;
    function tell() {
      for (const button of buttons) button.textContent = playing ? "Stop" : calm.matches ? (atEnd ? "Show the start" : "Show the end") : "Show it moving";
    }
    function tick(now) {
      if (!playing) return;
      clock += Math.min(0.1, (now - before) / 1000);
      before = now;
      for (const one of figures) one.show(shareAt(clock));
      requestAnimationFrame(tick);
    }
    function play(wanted) {
      playing = wanted;
      tell();
      if (playing) requestAnimationFrame((now) => { before = now; tick(now); });
    }
    function tap() {
      if (!calm.matches) return play(!playing);
      playing = false;
      atEnd = !atEnd;
      for (const one of figures) one.show(atEnd ? 1 : 0);
      tell();
    }
    for (const button of buttons) {
      button.hidden = false;
      button.addEventListener("click", tap);
    }
    calm.addEventListener("change", () => play(!calm.matches));
    play(!calm.matches && !root.hasAttribute("data-still"));
  }

  /* The figures of an element, for a player that shows them at its own pace. */
  globalThis.homecareFigures = (root) => Array.from(root.querySelectorAll("svg[data-moving]"), figure);
  document.querySelectorAll("[data-figure]").forEach(start);
})();
