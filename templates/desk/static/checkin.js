// Ticks and counts, fills in all at once, and shows at every change what becomes of each dose. All of it also works as a form.
"use strict";

const checkin = document.getElementById("checkin");
const state = document.getElementById("status");
const leaf = document.getElementById("leaf");
let asking = null;
let waiting = 0;
let pressed = null;

// With a button that was pressed the boxes and the numbers come back too, and the focus goes on to `then`.
async function show() {
  const { button, then } = pressed || { button: "look" };
  stop();
  const mine = asking = new AbortController();
  const fields = new FormData(checkin);
  fields.delete("picture");
  fields.set("do", button);
  try {
    const answer = await fetch(checkin.action, { method: "POST", body: fields, credentials: "same-origin", signal: mine.signal });
    const page = new DOMParser().parseFromString(await answer.text(), "text/html");
    if (!page.getElementById("checkin")) throw new Error("another page");
    for (const part of document.querySelectorAll("[data-live]")) put(part, page);
    if (pressed) {
      pressed = null;
      put(leaf, page);
      for (const field of numbers()) {
        const now = page.getElementById(field.id);
        [field.value, counted(field).value] = [now.value, counted(now).value];
      }
      count();
      const next = document.querySelector(then);
      if (next) next.focus();
    }
    for (const field of numbers()) {
      const fault = document.getElementById(`fault-${field.name}`);
      for (const [name, value] of [["aria-invalid", "true"], ["aria-describedby", `fault-${field.name}`]]) {
        if (fault) field.setAttribute(name, value);
        else field.removeAttribute(name);
      }
    }
    state.textContent = "";
    document.getElementById("heard").textContent = [...document.querySelectorAll(".back .fault, #becoming li b")].map((one) => one.textContent).join(", ");
  } catch (error) {
    if (error.name === "AbortError") return;
    pressed = null;
    state.textContent = "What changes could not be shown. Press “Make the next sheet” to go on.";
  }
}

function put(part, page) {
  const now = page.getElementById(part.id);
  if (now) part.replaceChildren(...now.childNodes);
}

// What is changed while an answer is under way goes with the next question, and so does what was pressed.
function stop() {
  clearTimeout(waiting);
  if (asking) asking.abort();
}

function soon() {
  stop();
  waiting = setTimeout(show, 150);
}

// The boxes: one that is seen is a box of its own, a shut week has those of a drill in one field.
const numbers = () => [...checkin.querySelectorAll("[data-planned]")];
const counted = (number) => number.parentElement.querySelector("[type=hidden]");
const boxes = (place) => [...place.querySelectorAll("[name^=ticks-]")];
const words = (text) => text.split(" ").filter(Boolean).length;
const ticked = (box) => box.type === "checkbox" ? Number(box.checked) : words(box.value);
const planned = (box) => box.type === "checkbox" ? 1 : words(box.dataset.all);
const sum = (found, what) => found.reduce((whole, box) => whole + what(box), 0);
const full = (found) => sum(found, ticked) === sum(found, planned);

function turn(found) {
  const on = !full(found);
  for (const box of found) {
    if (box.type === "checkbox") box.checked = on;
    else box.value = on ? box.dataset.all : "";
  }
}

function meant(button) {
  const day = button.dataset.turn === "day" && `${button.value.split(":")[1]}.`;
  return boxes(button.closest(`.${day ? "week" : button.dataset.turn}`) || leaf).filter((box) => !day || box.value.startsWith(day));
}

// The number of each drill as its boxes count, where nobody typed another; what is counted beside each row.
function count() {
  const all = boxes(leaf), used = sum(all, ticked) > 0;
  for (const number of numbers()) {
    const before = counted(number), now = used ? String(sum(all.filter((box) => box.name === `ticks-${number.name.slice(5)}`), ticked)) : "";
    if (["", before.value, now].includes(number.value)) number.value = before.value = now;
  }
  for (const place of leaf.querySelectorAll(".line, .shut")) {
    const said = place.querySelector(".sum"), found = boxes(place);
    if (said) said.textContent = `${sum(found, ticked)} of ${sum(found, planned)}`;
  }
  document.getElementById("sum").textContent = `${sum(all, ticked)} of ${sum(all, planned)}`;
  for (const button of checkin.querySelectorAll("[data-turn]")) {
    const none = full(meant(button)), say = button.querySelector(".say");
    if (say) say.textContent = none ? say.dataset.none || "none" : say.dataset.all || "all";
    else button.setAttribute("aria-pressed", String(none));
  }
  walked(leaf.querySelector("[tabindex='0']") || leaf.querySelector("[type=checkbox]"));
}

// The arrows walk over boxes and buttons alike, so that Tab passes all of them at once.
const STOPS = "[type=checkbox], button";

function walked(stop) {
  for (const one of leaf.querySelectorAll(STOPS)) one.tabIndex = one === stop ? 0 : -1;
}

function walk(event) {
  const lines = [...leaf.querySelectorAll(".heads, .line")].map((line) => [...line.querySelectorAll(STOPS)]).filter((line) => line.length);
  const at = lines.findIndex((line) => line.includes(event.target));
  const across = lines.flat(), next = { ArrowLeft: -1, ArrowRight: 1 }[event.key], down = { ArrowUp: -1, ArrowDown: 1 }[event.key];
  if (at < 0 || !(next || down) || event.ctrlKey || event.altKey || event.metaKey || event.shiftKey) return;
  event.preventDefault();
  const middle = (one) => { const place = one.getBoundingClientRect(); return place.left + place.width / 2; };
  const to = next ? across[across.indexOf(event.target) + next]
    : lines[at + down] && lines[at + down].reduce((best, one) => Math.abs(middle(one) - middle(event.target)) < Math.abs(middle(best) - middle(event.target)) ? one : best);
  if (!to) return;
  walked(to);
  to.focus();
}

if (leaf) {
  document.getElementById("keys").hidden = false;
  leaf.addEventListener("keydown", walk);
  leaf.addEventListener("focusin", (event) => { if (event.target.matches(STOPS)) walked(event.target); });
  leaf.addEventListener("change", count);
  checkin.addEventListener("change", (event) => { if (event.target.matches("[data-planned]")) count(); });
  count();
}

checkin.addEventListener("click", (event) => {
  const button = event.target.closest("button");
  if (!button) return;
  if (button.dataset.turn) {
    turn(meant(button));
    if (button.dataset.turn === "leaf") for (const number of numbers()) number.value = "";
    count();
    soon();
  } else if (button.dataset.part) {
    pressed = { button: button.value, then: button.dataset.part };
    show();
  } else if (button.dataset.step) {
    const field = button.parentElement.querySelector("[data-planned]");
    const most = Number(field.dataset.planned);
    const now = field.value.trim() === "" ? (button.dataset.step > 0 ? 0 : most + 1) : Number(field.value);
    field.value = String(Math.min(Math.max((Number.isFinite(now) ? now : 0) + Number(button.dataset.step), 0), Math.max(most, now || 0)));
    soon();
  } else if (button.id === "settled") {
    for (const word of checkin.querySelectorAll("input[value=settled]")) word.checked = true;
    soon();
  } else return;
  event.preventDefault();
});
for (const button of checkin.querySelectorAll("[data-step]")) button.hidden = false;
checkin.addEventListener("input", (event) => { if (event.target.type !== "file") soon(); });

// Pressed twice is sent once.
let sent = false;
checkin.addEventListener("submit", (event) => {
  if (sent) event.preventDefault();
  sent = true;
  setTimeout(() => { sent = false; }, 3000);
});
