/* One drill while it is written: its figure and its faults follow the typing, and each step can be undone. Without
   script the same form is sent by its buttons. */
"use strict";
(function () {
  const form = document.getElementById("drill"), token = document.querySelector("meta[name=token]").content;
  const drawn = document.getElementById("drawn"), proofs = document.getElementById("proofs");
  const reading = document.getElementById("reading"), live = document.getElementById("live");
  const undo = document.getElementById("undo"), turn = document.getElementById("turn");
  const LEAVES_ALONE = new Set(["photo-words", "photo-side", "photo", "joint", "small", "grey"]);
  const calm = matchMedia("(prefers-reduced-motion: reduce)");
  const latest = { figure: 0, check: 0 };
  let drawing = null;

  function values() {
    const sent = new FormData(form);
    sent.delete("photo");
    sent.delete("token");
    return new URLSearchParams(sent);
  }

  /* The newest answer wins; null where it came too late or not at all. */
  async function send(what) {
    const mine = ++latest[what];
    try {
      const answer = await fetch(form.dataset[what], { method: "POST", body: values(), headers: { "X-CSRFToken": token } });
      if (!answer.ok) throw new Error();
      const text = await answer.text();
      return mine === latest[what] ? text : null;
    } catch {
      if (mine === latest[what]) live.textContent = "The desk does not answer. What you typed stays here.";
      return null;
    }
  }

  let figures = [], begun = 0;
  function play(now) {
    if (!figures.length) return;
    const seconds = (now - begun) / 2000, way = seconds % 2 > 1 ? 2 - (seconds % 2) : seconds % 2;
    for (const one of figures) one.show((1 - Math.cos(Math.PI * way)) / 2);
    requestAnimationFrame(play);
  }
  function moved() {
    const playing = figures.length > 0;
    figures = !calm.matches && globalThis.homecareFigures ? globalThis.homecareFigures(drawn) : [];
    if (figures.length && !playing) requestAnimationFrame((now) => { begun = now; play(now); });
  }

  function draw() { drawing = redraw(); }

  async function redraw() {
    const text = await send("figure");
    if (text === null) return;
    const before = drawn.querySelector("[data-drawn]"), unfolded = drawn.querySelector("details")?.open;
    drawn.innerHTML = text;
    // The last pose that could be drawn stays in view.
    if (before && !drawn.querySelector("[data-drawn]")) drawn.querySelector(".none").replaceWith(before);
    if (unfolded && drawn.querySelector("details")) drawn.querySelector("details").open = true;
    moved();
  }

  /* What would put a fault right, each a press. */
  function presses(cures) {
    const row = document.createElement("p");
    row.className = "cures";
    for (const cure of cures) {
      const button = document.createElement("button");
      Object.assign(button, { className: "b", name: "do", value: cure.do, textContent: cure.words });
      row.append(button);
    }
    return row;
  }

  function tell(faults, cures) {
    for (const old of form.querySelectorAll(".fault[id^=fault-], .cures")) old.remove();
    for (const field of form.querySelectorAll("[aria-invalid]")) {
      field.removeAttribute("aria-invalid");
      field.removeAttribute("aria-describedby");
    }
    for (const [name, words] of Object.entries(faults)) {
      const field = document.getElementById(name);
      if (!name || !field) continue;
      const said = document.createElement("p");
      said.className = "fault";
      said.id = "fault-" + name;
      said.textContent = words;
      const row = field.closest("tr"), line = field.closest(".line"), group = field.closest("fieldset") || field.closest(".field");
      const place = row ? row.nextElementSibling.firstElementChild : line ? line.querySelector(".told") : group;
      if (place && field.matches(".lines")) place.lastElementChild.before(said);
      else if (place) place.append(said);
      else field.after(said);
      if (name in cures) said.after(presses(cures[name]));
      if (field.matches("input:not([type=radio], [type=checkbox]), select, textarea")) field.setAttribute("aria-invalid", "true");
      if (!field.matches("table")) field.setAttribute("aria-describedby", said.id);
    }
  }

  async function check() {
    const text = await send("check"), mine = latest.check;
    await drawing;  // what is told is told of the figure that is seen
    if (text === null || mine !== latest.check) return;
    const found = JSON.parse(text), count = Object.keys(found.faults).length;  // what is still empty is not at fault yet
    proofs.innerHTML = found.proofs;
    reading.textContent = found.reading;
    tell(found.faults, found.cures);
    live.textContent = found.ready ? "Ready to be saved." : count ? "Not ready to be saved: " + count + (count > 1 ? " fields" : " field") : "Not whole yet.";
  }

  /* Steps that can be undone: a field, and what it held before. */
  const steps = [];
  const held = new Map();
  const state = (field) => (field.matches("[type=radio], [type=checkbox]") ? field.checked : field.value);
  function hold(field) {
    if (field.name && !field.matches("button, [type=hidden], [type=file]")) held.set(field, state(field));
  }
  for (const field of form.elements) hold(field);
  function noted(field) {
    if (!held.has(field)) return;
    const last = steps[steps.length - 1];
    if (!last || last.field !== field || field.matches("[type=radio], [type=checkbox], select")) {
      const before = field.type === "radio" ? [...form.elements].find((one) => one.name === field.name && held.get(one)) : field;
      steps.push({ field: before || field, value: before ? held.get(before) : false });
    }
    for (const one of field.type === "radio" ? form.elements[field.name] : [field]) held.set(one, state(one));
    undo.hidden = false;
  }
  function undone() {
    const step = steps.pop();
    if (!step) return;
    if (step.back) step.back();
    else if (step.field.matches("[type=radio], [type=checkbox]")) step.field.checked = step.value;
    else step.field.value = step.value;
    for (const one of step.fields || (step.field.type === "radio" ? form.elements[step.field.name] : [step.field])) hold(one);
    undo.hidden = !steps.length;
    step.field.focus();
    later();
  }

  let soon = 0, then = 0, dirty = "typed" in form.dataset;
  function later() {
    clearTimeout(soon);
    clearTimeout(then);
    live.textContent = "";  // what was told was told of another pose
    soon = setTimeout(draw, 120);
    then = setTimeout(check, 500);
  }
  form.addEventListener("input", (event) => {
    const name = event.target.name;
    if (LEAVES_ALONE.has(name)) return;
    if (name === "turn" || name === "look") {
      clearTimeout(soon);
      soon = setTimeout(draw, 60);
      return;
    }
    noted(event.target);
    const end = name.startsWith("start-") && document.getElementById(name.replace("start-", "end-"));
    if (end) end.placeholder = event.target.value;
    dirty = true;
    later();
  });
  /* Fields that another script has brought or set, and how that goes back as one step. */
  form.addEventListener("shelf:set", (event) => {
    for (const field of event.detail.fields) hold(field);
    if (event.detail.back) {
      steps.push({ field: event.detail.fields[0], ...event.detail });
      undo.hidden = false;
      dirty = true;
      later();
    }
  });
  undo.addEventListener("click", undone);
  proofs.addEventListener("click", (event) => {
    const field = event.target.closest("a") && document.getElementById(event.target.closest("a").hash.slice(1));
    if (!field) return;
    event.preventDefault();
    for (let fold = field.closest("details"); fold; fold = fold.parentElement.closest("details")) fold.open = true;
    field.scrollIntoView({ block: "center" });
    field.focus({ preventScroll: true });
  });
  form.addEventListener("submit", () => { dirty = false; });
  addEventListener("beforeunload", (event) => { if (dirty) event.preventDefault(); });

  /* Two buttons turn the figure; the number stays for the keyboard and for those without script. */
  for (const [words, by] of [["turn ↻", 30], ["↺ turn", -30]]) {
    const button = document.createElement("button");
    button.type = "button";
    button.className = "b";
    button.textContent = words;
    button.setAttribute("aria-label", by < 0 ? "Turn the figure to the left" : "Turn the figure to the right");
    button.addEventListener("click", () => { turn.value = (Number(turn.value) + by) % 360; draw(); });
    form.querySelector(".how").prepend(button);
  }
  form.querySelector(".turning").hidden = true;
  moved();
})();
