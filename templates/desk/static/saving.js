// Sends the form at each change, one request after another, and puts the parts of the answer in their places.
// What is typed meanwhile is never lost: it is laid over the answer and sent again.
"use strict";

const INVERSE = { drop: "undrop", undrop: "drop", cover: "uncover", uncover: "cover" };
const PRESSED = "button, summary, a[href], input[type=radio], input[type=checkbox]";
const TYPED = "input:not([type=radio]):not([type=checkbox]):not([type=range]):not([type=hidden]), textarea";
const UNSAVED = new Set(["find", "usual_name"]);

export function savedForm(form, after) {
  const shown = {};
  let waiting = 0, sending = false, again = false, idle = null, resting = 0, leaving = false, unsaved = null, held = false;
  const queue = [];  // every press counts, however fast they come
  const since = new Map();

  function note(event) {
    const field = event.target;
    if (field.name) since.set(field.name + (/radio|checkbox/.test(field.type) ? "=" + field.value : ""), field);
  }

  function status(words) {
    const place = document.getElementById("status");
    if (place) place.textContent = words;
  }

  function relay() {
    for (const old of since.values()) {
      const pick = /radio|checkbox/.test(old.type) ? `[value="${CSS.escape(old.value)}"]` : "";
      const field = form.querySelector(`[name="${CSS.escape(old.name)}"]${pick}`);
      if (!field || field === old) continue;
      if (pick) field.checked = old.checked;
      else field.value = old.value;
    }
  }

  function keyOf(field) {
    if (!field || field === document.body) return null;
    if (field.id) return "#" + CSS.escape(field.id);
    if (field.name) return `[name="${CSS.escape(field.name)}"][value="${CSS.escape(field.value)}"]`;
    return field.tagName === "SUMMARY" && field.parentNode.id ? `#${CSS.escape(field.parentNode.id)} > summary` : null;
  }

  function place(id, html, pressed) {
    const part = document.getElementById("part-" + id);
    if (!part || shown[id] === html) return;
    const focus = document.activeElement, inside = part.contains(focus);
    // Somebody types here: next time. A press may have changed the rows, which must be in place for the next sending.
    const choosing = inside && focus.getAttribute("aria-expanded") === "true" && focus.matches("[role=combobox]");
    if (!pressed && inside && focus.matches(TYPED) && (choosing || since.has(focus.name))) return;
    shown[id] = html;
    const folds = new Map([...part.querySelectorAll("details[id]")].map((one) => [one.id, one.open]));
    const key = inside ? keyOf(focus) : null, at = inside && "selectionStart" in focus ? focus.selectionStart : null;
    const turn = inside ? pressable(part).indexOf(focus) : -1;
    part.innerHTML = html;
    for (const one of part.querySelectorAll("details[id]")) if (folds.has(one.id)) one.open = folds.get(one.id);
    const again = (key && part.querySelector(key)) || (turn >= 0 && pressable(part)[Math.min(turn, pressable(part).length - 1)]);
    if (again) {
      again.focus({ preventScroll: true });
      if (at !== null && again.setSelectionRange) {
        again.value = focus.value;
        again.setSelectionRange(at, at);
      }
    }
  }

  // What was pressed may be gone: then the next in its place has the focus.
  function pressable(part) {
    return [...part.querySelectorAll(PRESSED)].filter((one) => one.checkVisibility());
  }

  function put(answer, button, focusOn) {
    if (answer.to) {
      leaving = true;
      window.location.assign(answer.to);
      return;
    }
    for (const [id, html] of Object.entries(answer.parts)) place(id, html, Boolean(button));
    relay();
    after();
    if (answer.draft) {
      const address = form.dataset.new + "/" + answer.draft;
      form.action = address;
      if (window.location.pathname !== address) window.history.replaceState(null, "", address);
    }
    status(answer.told);
    clearTimeout(resting);
    if (answer.more) resting = setTimeout(() => { if (!sending && !waiting) theRest(); }, 900);
    fold(button);
    if (button) arrive(button, focusOn);
  }

  // What has been answered folds, once: who, with the first finding; the screen, with "none of these".
  function fold(button) {
    const who = document.getElementById("fold-who"), screen = document.getElementById("fold-screen");
    if (button.startsWith("put:") && form.elements.athlete.value && !form.dataset.folded) {
      form.dataset.folded = "1";
      who.open = false;
    }
    const clear = form.elements.screen.checked;
    if (clear && form.dataset.clear !== "1") screen.open = false;
    form.dataset.clear = clear ? "1" : "";
  }

  function arrive(value, focusOn) {
    const row = value.startsWith("put:") ? [...form.querySelectorAll(`[data-row="${rowOf(value)}"]`)].pop() : null;
    const wrong = form.querySelector("#part-made [aria-invalid=true]");
    const [verb, ...rest] = value.split(":");
    const back = INVERSE[verb] && form.querySelector(`[name=do][value="${CSS.escape([INVERSE[verb], ...rest].join(":"))}"]`);
    if (wrong) wrong.focus();
    else if (back && back.checkVisibility()) back.focus({ preventScroll: true });
    else if (value.startsWith("at:") && document.getElementById("here")) document.getElementById("here").querySelector("button").focus();
    else if (focusOn === "find") document.getElementById("find").focus();
    else if (row && row.querySelector(".how input:not(:checked), .how button")) row.querySelector(".how input, .how button").focus();
    else if (value === "issue" || value === "undo") { const said = document.getElementById("now") || document.querySelector(".undo button") || document.getElementById("fits"); if (said) said.focus(); }
    else if (focusOn) { const field = document.getElementById(focusOn); if (field) field.focus(); }
  }

  const rowOf = (value) => ({ tissue: "finding" }[value.split(":")[1]] || value.split(":")[1]);

  // A button that is replaced while it is held down would never be pressed.
  async function released() {
    while (held) await new Promise((done) => setTimeout(done, 20));
  }

  // What takes long to find is asked for when nothing more is pressed.
  async function theRest() {
    const mine = idle = new AbortController();
    const data = new URLSearchParams(new FormData(form));
    data.set("do", "make");
    try {
      const answer = await fetch(form.action, { method: "POST", body: data, headers: { "X-Quick": "whole" }, credentials: "same-origin", signal: mine.signal });
      const told = answer.ok ? await answer.json() : null;
      await released();
      if (told && !mine.signal.aborted && !waiting) put(told, "");
    } catch { /* a press came first, or the desk is away: the next saving tells */ }
  }

  // For whoever waits until all is saved: 1 while something is on its way.
  const busy = (on) => { document.documentElement.dataset.busy = on ? "1" : "0"; };

  async function send(button, focusOn) {
    if (leaving) return;
    if (sending) {
      if (button) queue.push([button, focusOn]);
      else again = true;
      return;
    }
    sending = true;
    busy(true);
    again = false;
    clearTimeout(waiting);
    waiting = 0;
    if (idle) idle.abort();  // its answer would put back what stood there before
    const data = new URLSearchParams(new FormData(form));
    const value = button ? button.value : "make";
    data.set("do", value);
    since.clear();
    if (value === "issue") status("The sheet is being printed…");
    const address = button && button.hasAttribute("formaction") ? button.getAttribute("formaction") : form.action;
    try {
      const answer = await fetch(address, { method: "POST", body: data, headers: { "X-Quick": "soon" }, credentials: "same-origin" });
      if (answer.status === 403) return aloud(value, address);
      if (!(answer.headers.get("Content-Type") || "").includes("json")) throw new Error("no answer");
      const told = await answer.json();
      await released();
      put(told, button ? value : "", focusOn);
      unsaved = null;
    } catch {
      unsaved = [button, focusOn];
      status("Not saved: the desk does not answer. What you typed is still here, and sent again in a moment.");
      clearTimeout(resting);
      resting = setTimeout(retry, 5000);
    }
    sending = false;
    if (queue.length) send(...queue.shift());
    else if (again) send();
    else if (!waiting) busy(false);
  }

  // A page whose token is of another session: sent as a form, what it holds comes back to be sent once more.
  function aloud(value, address) {
    leaving = true;
    since.clear();
    unsaved = null;
    form.append(Object.assign(document.createElement("input"), { type: "hidden", name: "do", value }));
    form.action = address;
    form.submit();
  }

  function retry() {
    if (unsaved && !sending) send(...unsaved);
  }

  function soon(wait = 250) {
    clearTimeout(waiting);
    busy(true);
    waiting = setTimeout(() => { waiting = 0; send(); }, wait);
  }

  form.addEventListener("input", (event) => {
    if (UNSAVED.has(event.target.name)) return;
    note(event);
    soon(event.target.matches(TYPED) ? 500 : 20);
  });
  form.addEventListener("submit", (event) => {
    const button = event.submitter;
    if (!button || button.name !== "do" || button.value === "" || button.value === "copy") return;
    event.preventDefault();
    send(button);
  });
  for (const [down, up] of [["pointerdown", "pointerup"], ["keydown", "keyup"]]) {
    form.addEventListener(down, (event) => { held = down === "pointerdown" || (event.key === " " && !event.target.matches(TYPED)); });
    // After the click that follows it.
    for (const name of [up, "pointercancel", "blur"]) window.addEventListener(name, () => setTimeout(() => { held = false; }));
  }
  document.addEventListener("desk:unlocked", retry);
  window.addEventListener("beforeunload", (event) => { if (since.size || unsaved) event.preventDefault(); });

  // What was typed or ticked before this script was there is saved like all else.
  const changed = (field) => field.type === "radio" || field.type === "checkbox" ? field.checked !== field.defaultChecked
    : field.options ? [...field.options].some((one) => one.defaultSelected && !one.selected) : field.value !== field.defaultValue;
  const early = [...form.elements].filter((field) => field.name && field.type !== "submit" && !UNSAVED.has(field.name) && changed(field));
  for (const field of early) note({ target: field });
  if (early.length) soon(0);
  else busy(false);
  return { press: send, soon };
}
