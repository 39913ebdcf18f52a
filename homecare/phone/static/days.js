/* Reads a sheet's days from the fragment of its link: which drills are on it, at which dose, and which are due today.
   The format is that of homecare/render/links.py, the rest is dose.js's. Nothing is sent anywhere. */
"use strict";
(function () {
  const { DAMAGED, NEWER, SIDES, check, readRung, doseWords } = globalThis.homecareDose;
  const EPOCH = Date.UTC(2020, 0, 1), DAY = 86400000;
  const BLANK = { sets: 1, reps: 1, hold: 0, tempo: 0, rest: 0, setup: 10, times: 1, load: "" };

  function readDrill(text, level) {
    const [name, ...fields] = text.split(":");
    if (fields.length !== { D: 3, T: 2, L: 0 }[level] || !(name[0] in SIDES)) { throw new Error(DAMAGED); }
    let days = 0n;
    if (level === "D") { for (const figure of fields.shift()) { days = days * 36n + BigInt(parseInt(figure, 36)); } }
    const rung = level === "L" ? null : readRung(fields[0].split("/")[0], BLANK);
    if (level !== "L" && !rung) { throw new Error(DAMAGED); }
    return { code: name.slice(1), side: SIDES[name[0]], days: days, rung: rung };
  }

  function readSheet(fragment) {
    const cut = fragment.lastIndexOf("."), body = fragment.slice(0, cut);
    if (cut < 1 || check("S", body) !== fragment.slice(cut + 1)) { throw new Error(DAMAGED); }
    if (body[0] !== "1") { throw new Error(NEWER); }
    const [head, ...rest] = body.split(".");
    const level = head[1];
    if (head.length !== 7 || !"DTL".includes(level)) { throw new Error(DAMAGED); }
    const now = new Date();
    const day = (Date.UTC(now.getFullYear(), now.getMonth(), now.getDate()) - EPOCH) / DAY - parseInt(head.slice(2, 5), 36);
    const drills = rest.map(function (text) { return readDrill(text, level); });
    return { level: level, day: day, length: parseInt(head.slice(5, 7), 36), drills: drills };
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

  function show() {
    if (location.hash.length < 2) { return; }
    const place = document.getElementById("sheet-days"), list = document.getElementById("all");
    const known = new Map(Array.from(list.children, function (one) { return [one.dataset.code, one]; }));
    try {
      const sheet = readSheet(location.hash.slice(1));
      place.textContent = headline(sheet);
      list.replaceChildren(...sheet.drills.map(function (drill) { return row(sheet, drill, known.get(drill.code)); }));
    } catch (fault) {
      place.textContent = fault.message;
    }
  }

  window.addEventListener("hashchange", function () { location.reload(); });
  show();
})();
