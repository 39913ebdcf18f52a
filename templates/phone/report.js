/* What the athlete answers: how it was by the morning, a note from 0 to 10, that it hurts; what to do then; and the code
   that shows all of it at the clinic. It stays on this phone, can be saved as a copy, and can be erased. The text of the
   code is that of homecare/core/phone_report.py. */
"use strict";
(function () {
  const app = globalThis.homecareApp;
  if (!app) { return; }
  const h = app.h, FIGURES = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ", MOST_NOTES = 60, DAY = 86400000;
  const ANSWERS = [["S", "Eased, or no worse"], ["O", "Sore, up to 5 out of 10"], ["W", "Over 5, or more tingling"]];
  const judged = Array.from(document.querySelectorAll("#judge > h3"), (title) => ({
    mark: title.querySelector("svg").outerHTML, name: title.textContent.trim(), then: title.nextElementSibling.textContent,
  }));

  const of = (date) => (app.state.days[date] = app.state.days[date] || {});
  const dateOf = (at) => app.days[at].id.slice(1);
  function drillsDone(at) {
    const done = app.boxesOf(app.days[at]).filter((box) => box.checked).map((box) => app.what[app.boxes.indexOf(box)][0]);
    return Array.from(new Set(done));
  }

  /* Three answers with their stairs; a sore or worse one asks which drills. */
  function answers(at, done) {
    const given = of(dateOf(at)), box = h("div", { class: "answers", role: "group", "aria-label": "How was it by the morning?" });
    function which() {
      const drills = drillsDone(at);
      if (!given.a || given.a === "S" || drills.length < 2) { return null; }
      return h("fieldset", {}, h("legend", {}, "Which one?"), ...drills.map((drill) => h("label", {},
        h("input", { type: "checkbox", checked: (given.w || []).includes(drill), onchange: (event) => {
          given.w = drills.filter((one) => (one === drill ? event.target.checked : (given.w || []).includes(one)));
          app.save();
        } }), app.plan.drills[drill - 1].n)));
    }
    function show() {
      box.replaceChildren(...ANSWERS.map(([letter, words], number) => {
        const button = h("button", { type: "button", class: "answer", "aria-pressed": String(given.a === letter), onclick: () => {
          given.a = letter;
          given.w = letter === "S" ? [] : drillsDone(at).length === 1 ? drillsDone(at) : given.w || [];
          app.save();
          show();
          if (done) { done(); }
        } }, words);
        button.insertAdjacentHTML("beforeend", judged[number].mark);
        return button;
      }), ...[which()].filter(Boolean));
      const told = ANSWERS.findIndex(([letter]) => letter === given.a);
      if (told >= 0) { box.append(h("p", { role: "status" }, h("b", {}, judged[told].name + ". "), judged[told].then)); }
    }
    show();
    return box;
  }

  function notes(at) {
    const given = of(dateOf(at)), row = h("div", { class: "notes", role: "group", "aria-label": app.plan.note + " now, 0 to 10" });
    row.append(...Array.from({ length: 11 }, (_, n) => h("button", { type: "button", "aria-pressed": String(given.n === n), onclick: () => {
      given.n = given.n === n ? undefined : n;
      app.save();
      row.querySelectorAll("button").forEach((one, other) => one.setAttribute("aria-pressed", String(given.n === other)));
    } }, String(n))));
    return [h("h3", {}, app.plan.note + " now ", h("span", { class: "soft" }, "0 none, 10 worst")), row];
  }

  /* On the first opening of a new day: how yesterday's drills were by this morning. */
  app.ask = (at, day) => {
    app.views.days.querySelectorAll(".morning").forEach((one) => one.remove());
    if (at !== app.todayIndex()) { return; }
    let before = at - 1;
    while (before >= 0 && !drillsDone(before).length) { before -= 1; }
    if (before < 0 || (app.state.days[dateOf(before)] || {}).a) { return; }
    const asked = before === at - 1 ? "How was it by this morning?" : "How was it the morning after?";
    day.before(h("section", { class: "morning" }, h("h2", {}, asked), answers(before)));
  };

  const finish = app.view("done", h("section", {}));
  app.finished = (queue) => {
    const at = Math.max(0, app.todayIndex()), left = app.left(app.boxesOf(app.days[at]));
    const rest = left.reduce((sum, place) => sum + app.seconds(place), 0);
    const more = left.length ? "Still to do today: " + app.minutes(rest) + "." : "That is all for today.";
    finish.replaceChildren(h("h2", {}, queue.some((one) => one.place !== null && !app.boxes[one.place].checked) ? "Left for now" : "Done"),
      h("p", {}, more), ...notes(at), h("p", { class: "soft" }, kept()),
      h("p", { class: "foot" }, h("a", { class: "go", href: "#today" }, "Back to today")));
    app.go("done");
  };
  app.entered.done = () => { if (!finish.children.length) { app.go("today"); } };
  /* Only Safari on iPhones has `standalone`; there what a site keeps goes after a week in which nobody touches the site. */
  const forgetful = navigator.standalone === false && location.protocol !== "file:";
  const kept = () => (!app.lasting() ? "This browser keeps nothing. Once you close the page, all is gone. Save a copy first." :
    forgetful ? "Kept on this phone only. Safari drops it when you stay away for a week. Save a copy." : "Kept on this phone only.");

  const sore = app.view("hurt", h("section", { class: "stop" }));
  app.hurts = (drill, goOn) => {
    const at = Math.max(0, app.todayIndex()), given = of(dateOf(at));
    given.a = "W";
    given.w = Array.from(new Set([...(given.w || []), drill]));
    app.save();
    const call = document.querySelector("#stop .call");
    sore.replaceChildren(h("h2", {}, "Stop " + app.plan.drills[drill - 1].n),
      h("p", {}, "Leave it out for today. " + judged[2].then), h("p", {}, "Look at the stop signs. If one of them is true, call us."),
      h("p", { class: "foot" }, h("a", { class: "go", href: "#stop" }, "Stop signs"), call ? call.cloneNode(true) : null,
        goOn ? h("button", { type: "button", class: "alt", onclick: goOn }, "Go on with the next drill") : null,
        h("a", { class: "alt", href: "#today" }, "Stop for now"),
        h("button", { type: "button", class: "word", onclick: () => { given.w = given.w.filter((one) => one !== drill); if (!given.w.length) { delete given.a; } app.save(); app.go("today"); } }, "I pressed it by mistake")));
    app.go("hurt");
  };
  app.entered.hurt = () => { if (!sore.children.length) { app.go("today"); } };

  /* The code for the clinic. */
  function base36(number, width) {
    let text = "";
    while (number) { text = FIGURES[number % 36] + text; number = Math.floor(number / 36); }
    return text.padStart(width, "0");
  }
  function checked(body) {
    let value = 0;
    for (const letter of body) { value = (value * 131 + letter.codePointAt(0)) % 1679609; }
    return body + "." + base36(value, 4);
  }
  function lastAnswer(drill) {
    let found = "N";
    app.days.forEach((day, at) => {
      const given = app.state.days[dateOf(at)];
      if (!given || !given.a) { return; }
      const named = given.w || [];
      if (given.a !== "S" && (named.includes(drill) || (!named.length && drillsDone(at).includes(drill)))) { found = given.a; }
      else if (drillsDone(at).includes(drill)) { found = "S"; }
    });
    return found;
  }
  app.code = () => {
    const done = app.plan.drills.map((_, number) => app.boxes.filter((box, place) => box.checked && app.what[place][0] === number + 1).length);
    const start = Date.parse(app.plan.start + "T00:00:00Z");
    const noted = Object.keys(app.state.days).sort().filter((date) => app.state.days[date].n !== undefined).slice(-MOST_NOTES);
    return checked("R1" + app.plan.mark + done.map((n, number) => base36(Math.min(n, 1295), 2) + lastAnswer(number + 1)).join("") + "." +
      noted.map((date) => base36(Math.round((Date.parse(date + "T00:00:00Z") - start) / DAY), 2) + base36(app.state.days[date].n, 1)).join(""));
  };
  const clinic = app.view("clinic", h("section", {}));
  app.entered.clinic = () => {
    const code = app.code(), parts = code.match(/.{1,4}/g).join(" ");
    clinic.replaceChildren(h("h2", {}, "Show at the clinic"),
      h("p", {}, "This code says which boxes you ticked, how it went, and your notes from 0 to 10. It holds no name."),
      globalThis.homecareCode(code, "Code for the clinic: " + parts), h("p", { class: "typed" }, parts),
      h("p", { class: "soft" }, "Or read these letters out."), h("p", { class: "foot" }, h("a", { class: "alt", href: "#today" }, "Back to today")));
  };

  /* Below the judging: today's own answer and note, a copy, and a clean slate. */
  const own = h("div", { class: "own" });
  document.getElementById("judge").append(own);
  app.entered.judge = () => {
    const at = Math.max(0, app.todayIndex());
    let last = at;
    while (last > 0 && !drillsDone(last).length) { last -= 1; }
    const erase = h("button", { type: "button", class: "alt hurt", onclick: () => {
      if (erase.dataset.sure) { app.forget(); location.hash = ""; location.reload(); return; }
      erase.dataset.sure = "1";
      erase.textContent = "Press again to erase all of it";
    } }, "Erase it from this phone");
    own.replaceChildren(...(drillsDone(last).length ? [h("h2", {}, "Your answer for " + app.days[last].querySelector("summary").firstChild.textContent.trim()), answers(last)] : []),
      ...notes(at), h("h2", {}, "What this phone keeps"), h("p", { class: "soft" }, kept()),
      h("p", { class: "foot" }, h("a", { class: "alt", href: "#clinic" }, "Show at the clinic"), h("a", { class: "alt", download: "home-care-notes.json",
        href: "data:application/json," + encodeURIComponent(JSON.stringify({ sheet: app.plan.mark, start: app.plan.start, ticked: Object.keys(app.state.ticks).map(Number), days: app.state.days }, null, 1)) }, "Save a copy"), erase));
  };

  app.start();
})();
