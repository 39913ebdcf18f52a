// Reads the dose from the link's fragment, which no server ever sees. The format is written down in homecare/render/links.py.
"use strict";

const SIDES = { L: "Left side", R: "Right side", B: "Both sides, one after the other", N: "" };
const FIELDS = { S: "sets", P: "reps", H: "hold", T: "tempo", R: "rest", U: "setup", N: "times" };
const DAMAGED = "This link is damaged. Scan the code again, or read the dose from your sheet.";
const NEWER = "This link is of another kind than this page knows. Read the dose from your sheet.";
const EPOCH = Date.UTC(2020, 0, 1);
const DAY = 86400000;
const SLOW = 3;

function bodyOf(path, fragment) {
  const at = fragment.lastIndexOf(".");
  const body = fragment.slice(0, at);
  let value = 0;
  for (const letter of path + "#" + body) value = (value * 131 + letter.codePointAt(0)) % 1679609;
  if (at < 1 || value.toString(36).toUpperCase().padStart(4, "0") !== fragment.slice(at + 1)) throw new Error(DAMAGED);
  if (!body.startsWith("1")) throw new Error(NEWER);
  return body;
}

function rungsOf(packed) {
  let before = { sets: 1, reps: 1, hold: 0, tempo: 0, rest: 0, setup: 10, times: 1, load: "" };
  return packed.map((text) => {
    const match = /^((?:[SPHTRUN]\d{1,5})*)(?:L([A-Z0-9+%_-]*))?$/.exec(text);
    if (!match) throw new Error(DAMAGED);
    before = { ...before };
    for (const [, letter, value] of match[1].matchAll(/([A-Z])(\d+)/g)) before[FIELDS[letter]] = Number(value);
    if (match[2] !== undefined) {
      try { before.load = decodeURIComponent(match[2].replaceAll("+", " ")).toLowerCase(); } catch { throw new Error(DAMAGED); }
    }
    return before;
  });
}

function duration(seconds) {
  if (seconds === 1) return "1 second";
  if (seconds < 60 || (seconds < 120 && seconds % 30)) return `${seconds} seconds`;
  const minutes = Math.floor(seconds / 60);
  const rest = seconds % 60;
  if (rest === 30) return `${minutes}½ minutes`;
  const whole = minutes === 1 ? "1 minute" : `${minutes} minutes`;
  return rest ? `${whole} ${duration(rest)}` : whole;
}

function work(rung) {
  const sets = rung.sets > 1 ? `${rung.sets} × ` : "";
  if (rung.reps === 1 && (rung.hold || rung.tempo)) return sets + duration(rung.hold || rung.tempo);
  if (rung.hold && !rung.tempo) return `${rung.sets > 1 ? `${rung.sets} rounds of ` : ""}${rung.reps} × ${duration(rung.hold)}`;
  const pace = rung.tempo >= SLOW ? "slow" : rung.reps > 1 ? "times" : "time";
  return `${sets}${rung.reps} ${pace}${rung.hold ? `, hold ${duration(rung.hold)}` : ""}`;
}

function dose(rung) {
  return work(rung) + (rung.load ? ` with ${rung.load}` : "") + (rung.times > 1 ? `, ${rung.times} a day` : "");
}

function put(parent, tag, text, name) {
  const made = document.createElement(tag);
  if (text) made.textContent = text;
  if (name) made.className = name;
  parent.append(made);
  return made;
}

function showDrill(place) {
  const [head, ...packed] = bodyOf(place.dataset.code, location.hash.slice(1)).split(".");
  const rungs = rungsOf(packed);
  const start = parseInt(head[2], 36);
  if (head.length !== 3 || !(head[1] in SIDES) || !(start < rungs.length)) throw new Error(DAMAGED);
  place.replaceChildren();
  if (SIDES[head[1]]) put(place, "p", SIDES[head[1]] + ".");
  const list = put(place, "ul", "", "doses");
  rungs.slice(start).forEach((rung, at) => {
    const line = put(list, "li");
    put(line, "b", dose(rung));
    put(line, "span", at ? ` step ${start + at + 1}, when your sheet says so` : ` step ${start + 1}, start here`);
  });
}

function drillOfSheet(text, level) {
  const [name, ...fields] = text.split(":");
  if (fields.length !== { D: 3, T: 2, L: 0 }[level] || !(name[0] in SIDES)) throw new Error(DAMAGED);
  let days = 0n;
  if (level === "D") for (const letter of fields.shift()) days = days * 36n + BigInt(parseInt(letter, 36));
  return { code: name.slice(1), side: SIDES[name[0]], days, rungs: level === "L" ? [] : rungsOf(fields[0].split("/")) };
}

function showSheet(place) {
  const [head, ...rest] = bodyOf("S", location.hash.slice(1)).split(".");
  const level = head[1];
  if (head.length !== 7 || !"DTL".includes(level)) throw new Error(DAMAGED);
  const now = new Date();
  const today = (Date.UTC(now.getFullYear(), now.getMonth(), now.getDate()) - EPOCH) / DAY - parseInt(head.slice(2, 5), 36);
  const drills = rest.map((text) => drillOfSheet(text, level));
  const all = document.getElementById("all");
  const rows = new Map([...all.children].map((row) => [row.dataset.code, row]));
  place.textContent = level !== "D" ? "Your days are on your sheet."
    : today < 0 || today >= parseInt(head.slice(5, 7), 36) ? "Today is not a day of this sheet."
    : `Today is day ${today + 1} of your sheet.`;
  all.replaceChildren(...drills.map((drill) => {
    const row = rows.get(drill.code) || put(document.createElement("ul"), "li", "This drill is on your sheet.");
    if (drill.side) put(row, "span", " " + drill.side.toLowerCase());
    if (drill.rungs.length) put(row, "span", " " + dose(drill.rungs[0]));
    if (level === "D" && today >= 0 && (drill.days >> BigInt(today)) & 1n) put(row, "b", "today", "tag");
    return row;
  }));
}

function show() {
  const drill = document.getElementById("dose");
  const place = drill || document.getElementById("sheet-days");
  if (!place || location.hash.length < 2) return;
  try {
    (drill ? showDrill : showSheet)(place);
  } catch (error) {
    place.textContent = error.message;
  }
}

show();
addEventListener("hashchange", () => location.reload());
