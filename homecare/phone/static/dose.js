/* Reads a drill's dose from the fragment of its link, checks it, and writes it on the page. The format is that of
   homecare/render/links.py; the words are those of homecare/render/dose_words.py. Nothing is sent anywhere. */
"use strict";
(function () {
  const FIGURES = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ", PRIME = 1679609, BASE = 131, SLOW = 3, HELD = 8, LONGEST = 190;
  const SIDES = { L: "the left side", R: "the right side", B: "both sides, one after the other", N: "" };
  const BLANK = { sets: 1, reps: 1, hold: 0, tempo: 0, rest: 0, setup: 10, times: 1, load: "" };
  const FIELDS = { S: ["sets", 1, 10], P: ["reps", 1, 50], H: ["hold", 0, 600], T: ["tempo", 0, 30], R: ["rest", 0, 300],
    U: ["setup", 0, 120], N: ["times", 1, 3] };
  const ON_PAPER = "the load on your sheet";
  const DAMAGED = "This link is damaged. Scan the code again, or read the dose from your sheet.";
  const NEWER = "This link is of another kind than this page knows. Read the dose from your sheet.";

  function check(path, body) {
    let value = 0;
    for (const letter of path + "#" + body) { value = (value * BASE + letter.codePointAt(0)) % PRIME; }
    let text = "";
    for (let place = 0; place < 4; place += 1) { text = FIGURES[value % 36] + text; value = Math.floor(value / 36); }
    return text;
  }

  function readBody(path, fragment) {
    const cut = fragment.lastIndexOf("."), body = fragment.slice(0, cut);
    if (cut < 1 || fragment.length > LONGEST || check(path, body) !== fragment.slice(cut + 1)) { return { refused: DAMAGED }; }
    return body[0] === "1" ? { body: body } : { refused: NEWER };
  }

  function readRung(text, before) {
    const match = /^((?:[SPHTRUN][0-9]{1,5})*)(?:L((?:[A-Z0-9+_-]|%[0-9A-F]{2})*|\*))?$/.exec(text);
    if (!match) { return null; }
    const rung = Object.assign({}, before);
    for (const field of match[1].matchAll(/([A-Z])([0-9]+)/g)) {
      const [name, least, most] = FIELDS[field[1]], value = Number(field[2]);
      if (value < least || value > most) { return null; }
      rung[name] = value;
    }
    if (match[2] !== undefined) {
      if (match[2] === "*") { rung.load = ON_PAPER; return rung; }
      try { rung.load = decodeURIComponent(match[2].replace(/\+/g, " ")).toLowerCase(); } catch (fault) { return null; }
    }
    return rung;
  }

  /* The rungs in order, each written as what differs from the one before; null when any cannot be read. */
  function readRungs(parts) {
    let before = BLANK;
    const rungs = parts.map(function (part) { before = before && readRung(part, before); return before; });
    return rungs.includes(null) ? null : rungs;
  }

  function readDose(code, fragment) {
    const read = readBody(code, fragment);
    if (read.refused) { return read; }
    const parts = read.body.split("."), head = parts.shift(), start = FIGURES.indexOf(head[2]), rungs = readRungs(parts);
    if (head.length !== 3 || !(head[1] in SIDES) || start < 0 || !rungs || start >= rungs.length) {
      return { refused: DAMAGED };
    }
    return { side: SIDES[head[1]], start: start, rungs: rungs };
  }

  function durationWords(seconds) {
    if (seconds === 1) { return "1 second"; }
    if (seconds < 60 || (seconds < 120 && seconds % 30)) { return seconds + " seconds"; }
    const minutes = Math.floor(seconds / 60), rest = seconds % 60;
    if (rest === 30) { return minutes + "½ minutes"; }
    const whole = minutes === 1 ? "1 minute" : minutes + " minutes";
    return rest ? whole + " " + durationWords(rest) : whole;
  }

  function bareWork(rung) {
    const sets = rung.sets > 1 ? rung.sets + " × " : "";
    if (rung.reps === 1 && (rung.hold || rung.tempo)) { return sets + durationWords(rung.hold || rung.tempo); }
    if (rung.hold && (rung.hold >= HELD || !rung.tempo)) {
      return (rung.sets > 1 ? rung.sets + " rounds of " : "") + rung.reps + " × " + durationWords(rung.hold);
    }
    const pace = rung.tempo >= SLOW ? "slow" : rung.reps > 1 ? "times" : "time";
    return sets + rung.reps + " " + pace + (rung.hold ? ", hold " + durationWords(rung.hold) : "");
  }

  function doseWords(rung) {
    const joint = rung.load.endsWith("would be possible") ? ", so that " : " with ";
    return bareWork(rung) + (rung.load ? joint + rung.load : "") + (rung.times > 1 ? ", " + rung.times + " a day" : "");
  }

  function line(parent, kind, text) {
    const made = document.createElement(kind);
    made.textContent = text;
    parent.append(made);
    return made;
  }

  function show(place, dose) {
    place.replaceChildren();
    if (dose.refused) { line(place, "p", dose.refused); return; }
    if (dose.side) { line(place, "p", "Do it on " + dose.side + ".").className = "cue"; }
    const list = line(place, "ul", "");
    list.className = "doses";
    dose.rungs.forEach(function (rung, at) {
      if (at < dose.start) { return; }
      const item = line(list, "li", "");
      line(item, "span", "step " + (at + 1) + (at === dose.start ? ", start here" : ", when your sheet says so"));
      line(item, "br", "");
      line(item, "b", doseWords(rung));
    });
  }

  globalThis.homecareDose = { DAMAGED: DAMAGED, SIDES: SIDES, readBody: readBody, readRungs: readRungs, readDose: readDose,
    doseWords: doseWords };
  const place = typeof document === "undefined" ? null : document.getElementById("dose");
  if (!place) { return; }
  function update() { if (location.hash.length > 1) { show(place, readDose(place.dataset.code, location.hash.slice(1))); } }
  window.addEventListener("hashchange", update);
  update();
})();
