// The body is one stop of the Tab key a view: on it the arrow keys go from place to place.
"use strict";

const ARROWS = { ArrowUp: [0, -1], ArrowDown: [0, 1], ArrowLeft: [-1, 0], ArrowRight: [1, 0] };
const middle = (place) => { const box = place.getBoundingClientRect(); return [box.x + box.width / 2, box.y + box.height / 2]; };
let last = "";

function stop(place) {
  for (const one of place.closest(".view").querySelectorAll(".at")) one.tabIndex = one === place ? 0 : -1;
}

export function places(form) {
  for (const view of form.querySelectorAll(".view")) {
    const all = [...view.querySelectorAll(".at")];
    if (all.length) stop(all.find((one) => one.id === last) || all[0]);
  }
  const figure = form.querySelector(".figure");
  if (figure) figure.setAttribute("aria-description", "The arrow keys go from place to place.");
}

// The nearest place that way; what lies aside counts double.
function next(from, [x, y]) {
  const [left, top] = middle(from);
  const ways = [...from.closest(".view").querySelectorAll(".at")].map((one) => {
    const [toLeft, toTop] = middle(one), ahead = (toLeft - left) * x + (toTop - top) * y;
    return [ahead > 1 ? ahead + 2 * Math.abs((toLeft - left) * y + (toTop - top) * x) : Infinity, one];
  });
  const [far, one] = ways.reduce((best, way) => (way[0] < best[0] ? way : best));
  return far < Infinity ? one : from;
}

export function walking(form) {
  form.addEventListener("keydown", (event) => {
    if (!event.target.matches(".at") || !ARROWS[event.key]) return;
    event.preventDefault();
    const place = next(event.target, ARROWS[event.key]);
    stop(place);
    place.focus();
  });
  form.addEventListener("focusin", (event) => { if (event.target.matches(".at")) last = event.target.id; });
}
