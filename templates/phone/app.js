/* The phone file as an application: one view at a time, today first; ticks, answers and notes stay on this phone.
   Without this script the page is the whole day list; every part of it is shown here by its own #name. */
"use strict";
(function () {
  const data = document.getElementById("plan"), main = document.querySelector("main");
  if (!data || !document.getElementById("days")) { return; }
  const plan = JSON.parse(data.textContent);
  const key = "homecare " + document.documentElement.getAttribute("data-sheet");
  const boxes = Array.from(document.querySelectorAll(".due input"));
  const what = plan.days.flatMap((day) => plan.boxes[day].split(" ").filter(Boolean).map((word) => word.split(".").map(Number)));
  const days = Array.from(document.querySelectorAll("details.day"));
  const marks = Array.from(document.querySelectorAll("#drills h3 svg"), (svg) => svg.outerHTML);
  let state = { ticks: {}, days: {}, settings: { tone: true, buzz: true, voice: false } };
  let lasting = true;

  /* An element with attributes (on… is a listener) and children. */
  function h(tag, attributes, ...children) {
    const made = document.createElement(tag);
    for (const [name, value] of Object.entries(attributes || {})) {
      if (name.startsWith("on")) { made.addEventListener(name.slice(2), value); }
      else if (value !== false && value !== null) { made.setAttribute(name, value === true ? "" : value); }
    }
    made.append(...children.filter((one) => one !== null && one !== undefined));
    return made;
  }

  function load() {
    try {
      const kept = JSON.parse(localStorage.getItem(key)) || {};
      for (const part of ["ticks", "days", "settings"]) { Object.assign(state[part], kept[part]); }
    } catch (fault) { lasting = false; }
  }
  function save() {
    try { localStorage.setItem(key, JSON.stringify(state)); lasting = true; } catch (fault) { lasting = false; }
  }
  function forget() {
    try { localStorage.removeItem(key); } catch (fault) { /* nothing was kept */ }
  }

  const pad = (n) => (n < 10 ? "0" : "") + n;
  const iso = (date) => date.getFullYear() + "-" + pad(date.getMonth() + 1) + "-" + pad(date.getDate());
  const todayIndex = () => days.findIndex((day) => day.id === "d" + iso(new Date()));
  const boxesOf = (day) => Array.from(day.querySelectorAll(".due input"));

  /* Seconds of one time of a box's dose, both sides counted. */
  function seconds(place) {
    const drill = plan.drills[what[place][0] - 1], r = drill.r[what[place][1]];
    return r[5] + drill.s.length * (r[0] * r[1] * (r[2] + r[3]) + (r[0] - 1) * r[4]);
  }
  function minutes(total) {
    const n = Math.max(1, Math.round(total / 60));
    return n === 1 ? "1 minute" : n + " minutes";
  }
  const left = (list) => list.map((box) => boxes.indexOf(box)).filter((place) => !boxes[place].checked);

  function tick(place, on) {
    boxes[place].checked = on;
    if (on) { state.ticks[place] = 1; } else { delete state.ticks[place]; }
    save();
    refresh();
    if (on) {
      say("Done: " + plan.drills[what[place][0] - 1].n + ".", "Take it back", () => tick(place, false));
    } else { say(""); }
  }

  /* One line at the foot that tells what was done, with one press that takes it back. */
  const line = h("p", { id: "told", role: "status" });
  function say(text, word, undo) {
    line.replaceChildren(...(text ? [h("span", {}, text), " "] : []));
    if (undo) { line.append(h("button", { type: "button", class: "word", onclick: undo }, word)); }
    line.classList.toggle("on", Boolean(text));
  }

  /* The part of a day that is due: the first with something left whose time has come, or the first with something left. */
  const HOURS = [["morning", 0], ["before", 12], ["after", 15], ["evening", 17]];
  function dueList(day) {
    const lists = Array.from(day.querySelectorAll(".due")).filter((list) => left(boxesOf(list)).length);
    const hour = new Date().getHours();
    const started = lists.filter((list) => {
      const name = list.previousElementSibling.textContent.toLowerCase();
      const found = HOURS.find(([word]) => name.startsWith(word));
      return !found || hour >= found[1];
    });
    return started[started.length - 1] || lists[0] || null;
  }

  /* The boxes of a day as rows that lead to their drills. */
  function dress(day) {
    for (const box of boxesOf(day)) {
      const row = box.closest("li"), [number, rung] = what[boxes.indexOf(box)], drill = plan.drills[number - 1];
      if (!row.firstElementChild.matches("label")) { continue; }
      const link = h("a", { href: "#drill" + number }, h("b", {}, drill.n + " "), [drill.p, drill.r[rung][6]].filter(Boolean).join(", "));
      link.firstElementChild.insertAdjacentHTML("beforeend", marks[number - 1]);
      box.setAttribute("aria-label", "Done: " + drill.n);
      row.replaceChildren(box, link);
    }
  }

  /* Below each part of the day that is shown: how long what is left takes, and one press that starts it. */
  function refresh() {
    const now = todayIndex();
    days.forEach((day, at) => {
      if (!day.classList.contains("here")) { return; }
      const due = at === now ? dueList(day) : null;
      for (const list of day.querySelectorAll(".due")) {
        const places = left(boxesOf(list)), total = places.reduce((sum, place) => sum + seconds(place), 0);
        let start = list.nextElementSibling;
        if (!start || !start.classList.contains("go")) {
          start = h("button", { type: "button", class: "go", onclick: () => app.play(left(boxesOf(list))) });
          list.after(start);
        }
        start.classList.toggle("quiet", list !== due);
        start.hidden = !places.length;
        start.textContent = "Start, " + minutes(total);
        list.previousElementSibling.dataset.left = places.length ? minutes(total) + " left" : "done";
      }
    });
  }

  /* Views: the sections of the page and those made here; the address says which is shown. */
  const views = { about: 0, days: 0, drills: 0, judge: 0, stop: 0 };
  for (const name of Object.keys(views)) { views[name] = document.getElementById(name); }
  function view(name, node) { views[name] = node; node.id = name; main.append(node); return node; }

  function dayRow(at) {
    const row = h("p", { class: "turn" });
    const link = (to, before, after) => {
      // From the page's own words, since browsers write a short date each in its own way.
      const [name, number] = days[to].querySelector("summary").firstChild.textContent.trim().split(" ");
      return h("a", { href: "#" + days[to].id }, before + name.slice(0, 3) + " " + number + after);
    };
    row.append(at > 0 ? link(at - 1, "‹ ", "") : h("span"), h("a", { href: "#all" }, "All " + days.length + " days"),
      at < days.length - 1 ? link(at + 1, "", " ›") : h("span"));
    return row;
  }
  function showDay(at) {
    views.days.querySelectorAll(".turn").forEach((row) => row.remove());
    days.forEach((day, place) => {
      day.hidden = place !== at;
      day.open = place === at;
      day.classList.toggle("here", place === at);
      day.classList.toggle("today", place === todayIndex());
    });
    dress(days[at]);
    days[at].before(dayRow(at));
    app.ask(at, days[at]);
    refresh();
  }
  function showAll() {
    views.days.querySelectorAll(".turn, .morning").forEach((row) => row.remove());
    days.forEach((day, place) => {
      dress(day);
      day.hidden = false;
      day.open = false;
      day.classList.remove("here");
      day.classList.toggle("today", place === todayIndex());
    });
  }

  function route() {
    const name = location.hash.slice(1) || "today";
    app.leave();
    say("");
    const day = name === "today" ? Math.max(0, todayIndex()) : days.findIndex((one) => one.id === name);
    const drill = /^drill\d+$/.test(name) && document.getElementById(name);
    const shown = drill ? "drills" : day >= 0 || name === "all" ? "days" : views[name] ? name : "days";
    for (const [other, node] of Object.entries(views)) { if (node) { node.classList.toggle("on", other === shown); } }
    document.querySelectorAll("nav a").forEach((link) => {
      const here = link.hash.slice(1) === (shown === "days" ? "today" : shown);
      if (here) { link.setAttribute("aria-current", "page"); } else { link.removeAttribute("aria-current"); }
    });
    document.querySelectorAll("article.drill").forEach((one) => { one.hidden = Boolean(drill) && one !== drill; });
    document.documentElement.classList.toggle("playing", shown === "play");
    if (shown === "days") { if (name === "all") { showAll(); } else { showDay(day >= 0 ? day : Math.max(0, todayIndex())); } }
    if (app.entered[shown]) { app.entered[shown](); }
    window.scrollTo(0, 0);
  }

  const app = globalThis.homecareApp = {
    plan, boxes, what, days, state, h, say, save, forget, view, views, iso, todayIndex, boxesOf, seconds, minutes, marks, tick,
    refresh, key, entered: {}, left,
    lasting: () => lasting,
    play: () => {},
    ask: () => {},
    leave: () => {},
    go(name) { if (location.hash === "#" + name) { route(); } else { location.hash = name; } },
    start() {
      load();
      document.documentElement.classList.add("app");
      boxes.forEach((box, place) => {
        box.checked = state.ticks[place] === 1;
        box.addEventListener("change", () => tick(place, box.checked));
      });
      document.querySelectorAll("article.drill").forEach((article, at) => {
        const drill = at + 1;
        article.append(h("button", { type: "button", class: "go quiet", onclick: () => app.playDrill(drill) }, "Do it now"));
      });
      views.days.append(h("p", { class: "foot" }, h("a", { class: "back", href: "#about" }, "What this is for"), " ",
        h("a", { class: "back", href: "#clinic" }, "Show at the clinic")));
      document.body.append(line);
      window.addEventListener("hashchange", route);
      document.addEventListener("visibilitychange", () => { if (!document.hidden && !document.documentElement.classList.contains("playing")) { route(); } });
      route();
    },
  };
})();
