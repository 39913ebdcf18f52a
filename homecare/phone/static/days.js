/* Reads a sheet's days from the fragment of its link: which drills are on it, at which dose, and which are due today.
   The format is that of homecare/render/links.py, the rest is dose.js's. Nothing is sent anywhere. */
"use strict";
(function () {
  const { DAMAGED, SIDES, readBody, readRungs, doseWords } = globalThis.homecareDose;
  const EPOCH = Date.UTC(2020, 0, 1), DAY = 86400000, MOST_DAYS = 84;

  /* A number in figures and capitals; null where another sign is among them, or none at all. */
  function number(text) {
    if (!/^[0-9A-Z]+$/.test(text)) { return null; }
    let value = 0n;
    for (const figure of text) { value = value * 36n + BigInt(parseInt(figure, 36)); }
    return value;
  }

  /* One drill: its days as bits from the first day, and the dose it starts at; null when it cannot be read. */
  function readDrill(text, level, length) {
    const [name, ...fields] = text.split(":"), code = name.slice(1);
    if (fields.length !== { D: 3, T: 2, L: 0 }[level] || !(name[0] in SIDES) || !/^[A-Z]{2,3}$/.test(code)) { return null; }
    const days = level === "D" ? number(fields.shift()) : 0n;
    if (days === null || days >> BigInt(length)) { return null; }
    if (level === "L") { return { code: code, side: SIDES[name[0]], days: days, rung: null }; }
    const rungs = readRungs(fields[0].split("/")), steps = fields[1].match(/[^]{1,2}/g) || [];
    const within = steps.every(function (step) { const at = number(step); return at !== null && at < length; });
    if (!rungs || !within || fields[1].length !== 2 * (rungs.length - 1)) { return null; }
    return { code: code, side: SIDES[name[0]], days: days, rung: rungs[0] };
  }

  function readSheet(fragment) {
    const read = readBody("S", fragment);
    if (read.refused) { return read; }
    const [head, ...rest] = read.body.split("."), level = head[1];
    const start = number(head.slice(2, 5)), length = number(head.slice(5, 7));
    if (head.length !== 7 || !"DTL".includes(level) || start === null || length === null || length > MOST_DAYS) {
      return { refused: DAMAGED };
    }
    const drills = rest.map(function (text) { return readDrill(text, level, Number(length)); });
    if (drills.includes(null)) { return { refused: DAMAGED }; }
    const now = new Date();
    const day = (Date.UTC(now.getFullYear(), now.getMonth(), now.getDate()) - EPOCH) / DAY - Number(start);
    return { level: level, day: day, length: Number(length), drills: drills };
  }

  function headline(sheet) {
    if (sheet.level !== "D") { return "Your days are on your sheet."; }
    const within = sheet.day >= 0 && sheet.day < sheet.length;
    return within ? `Today is day ${sheet.day + 1} of your sheet.` : "Today is not a day of this sheet.";
  }

  function add(row, kind, text) {
    const made = document.createElement(kind);
    made.textContent = text;
    row.append(" ", made);
    return made;
  }

  function row(sheet, drill, known) {
    const made = known || document.createElement("li");
    if (!known) { made.textContent = "One more drill is on your sheet."; }
    add(made, "span", [drill.side, drill.rung && doseWords(drill.rung)].filter(Boolean).join(", "));
    if (sheet.level === "D" && sheet.day >= 0 && (drill.days >> BigInt(sheet.day)) & 1n) { add(made, "b", "today").className = "tag"; }
    return made;
  }

  /* The start page leads back to the sheet that was last opened on this phone, until it is told to forget it. */
  const KEPT = "homecare last sheet";
  function kept(fragment) {
    try {
      if (fragment) { localStorage.setItem(KEPT, fragment); }
      return localStorage.getItem(KEPT) || "";
    } catch (fault) { return ""; }
  }
  function lead(place) {
    const fragment = kept();
    if (!fragment || readSheet(fragment).refused) { return; }
    const link = add(place, "a", "Go on with your sheet"), forget = add(place, "button", "Forget it");
    link.href = place.dataset.to + "#" + fragment;
    link.className = "back";
    forget.type = "button";
    forget.className = "word";
    forget.addEventListener("click", function () { localStorage.removeItem(KEPT); place.hidden = true; });
    place.hidden = false;
  }

  function show() {
    const last = document.getElementById("last-sheet");
    if (last) { lead(last); return; }
    if (location.hash.length < 2) { return; }
    const place = document.getElementById("sheet-days"), list = document.getElementById("all");
    const known = new Map(Array.from(list.children, function (one) { return [one.dataset.code, one]; }));
    const sheet = readSheet(location.hash.slice(1));
    place.textContent = sheet.refused || headline(sheet);
    if (sheet.refused) { return; }
    kept(location.hash.slice(1));
    list.replaceChildren(...sheet.drills.map(function (drill) { return row(sheet, drill, known.get(drill.code)); }));
  }

  globalThis.homecareDays = { readSheet: readSheet };
  window.addEventListener("hashchange", function () { location.reload(); });
  show();
})();
