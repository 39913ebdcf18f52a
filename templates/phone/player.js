/* Plays what is due: the figure moving at the dose's own pace, a count of holds, rests, sides and sets; tone, buzz and
   voice as wished; the screen kept awake. Every box that is played to its end is ticked. */
"use strict";
(function () {
  const app = globalThis.homecareApp;
  if (!app) { return; }
  const h = app.h, calm = matchMedia("(prefers-reduced-motion: reduce)"), CHANGE = 6;
  const SWITCHES = [["tone", "Sound"], ["buzz", "Buzz"], ["voice", "Voice"]];
  let queue = [], at = 0, run = null, lock = Promise.resolve(null), audio = null, frame = 0;

  /* The dose as a row of phases: what to do, for how many seconds, which repetition, set and side. */
  function phases(drill, r) {
    const [sets, reps, hold, tempo, rest, setup] = r, found = [{ k: "ready", s: setup, side: drill.s[0] }];
    drill.s.forEach((side, number) => {
      if (number) { found.push({ k: "side", s: CHANGE, side }); }
      for (let set = 1; set <= sets; set += 1) {
        for (let rep = 1; rep <= reps; rep += 1) {
          const here = { rep, set, side };
          if (!hold) { found.push({ k: "move", s: tempo, ...here }); continue; }
          if (tempo) { found.push({ k: "in", s: tempo / 2, ...here }); }
          found.push({ k: "hold", s: hold, ...here });
          if (tempo) { found.push({ k: "out", s: tempo / 2, ...here }); }
        }
        if (set < sets && rest) { found.push({ k: "rest", s: rest, set, side }); }
      }
    });
    return found;
  }
  const CUES = { ready: "Get ready", side: "Change sides", move: "Move slowly", in: "Ease in", hold: "Hold", out: "Ease out", rest: "Rest" };

  const el = {
    place: h("span", {}), figure: h("div", { class: "figure" }), side: h("b", { class: "side" }), name: h("h2", {}),
    cue: h("p", { class: "says", "aria-live": "polite" }), bead: h("i", {}), count: h("b", {}), reps: h("span", { class: "reps", "aria-hidden": "true" }),
    feel: h("p", {}), steps: h("ol", {}),
    pause: h("button", { type: "button", class: "go", onclick: () => (run.going ? pause() : resume()) }),
    next: h("button", { type: "button", class: "alt", onclick: () => next() }, "Next drill"),
  };
  const toggles = SWITCHES.map(([name, word]) => h("button", { type: "button", onclick: () => toggle(name) }, word));
  function toggle(name) {
    app.state.settings[name] = !app.state.settings[name];
    app.save();
    showSwitches();
    if (name === "tone") { wakeSound(); }
    if (name === "voice") { speak(app.state.settings.voice ? "Voice on" : ""); }
  }
  function showSwitches() {
    SWITCHES.forEach(([name], number) => toggles[number].setAttribute("aria-pressed", String(Boolean(app.state.settings[name]))));
    toggles[0].hidden = !globalThis.AudioContext;
    toggles[1].hidden = !navigator.vibrate;
    toggles[2].hidden = !globalThis.speechSynthesis;
  }
  app.view("play", h("section", { "aria-label": "Doing a drill" },
    h("p", { class: "bar" }, h("a", { href: "#today" }, "‹ Today"), el.place, h("span", { class: "switches" }, ...toggles)),
    h("div", { class: "stage" }, el.side, el.figure), el.name, el.cue,
    h("p", { class: "thread", "aria-hidden": "true" }, h("u"), el.bead, h("u")), h("p", { class: "count" }, el.count, el.reps), el.feel,
    h("div", { class: "controls" }, el.pause, h("button", { type: "button", class: "alt hurt", onclick: () => hurt() }, "It hurts or tingles more"), el.next),
    el.steps, navigator.wakeLock ? null : h("p", { class: "soft" }, "This phone may turn its screen off. Then the count stops until you press Go on."),
    h("p", { class: "foot" }, h("a", { class: "call", href: "#stop" }, "When to stop, and call"))));

  function tone(high) {
    if (!app.state.settings.tone || !audio) { return; }
    try {
      const one = audio.createOscillator(), loud = audio.createGain();
      one.frequency.value = high ? 880 : 587;
      loud.gain.setValueAtTime(0.2, audio.currentTime);
      loud.gain.exponentialRampToValueAtTime(0.001, audio.currentTime + 0.25);
      one.connect(loud).connect(audio.destination);
      one.start();
      one.stop(audio.currentTime + 0.25);
    } catch (fault) { /* this phone makes no tone: the count goes on in words */ }
  }
  /* An iPhone makes a tone only where a press has begun the sound, and none any more once the page was in the background. */
  function wakeSound() {
    if (!app.state.settings.tone) { return; }
    try {
      audio = audio || new AudioContext();
      audio.resume();
    } catch (fault) { /* this phone makes no tone */ }
  }
  function dropSound() {
    if (audio) { audio.close(); }
    audio = null;
  }
  function buzz(pattern) {
    if (app.state.settings.buzz && navigator.vibrate) { navigator.vibrate(pattern); }
  }
  function speak(text) {
    if (!globalThis.speechSynthesis || !app.state.settings.voice) { return; }
    if (speechSynthesis.speaking || speechSynthesis.pending) { speechSynthesis.cancel(); }
    if (text) { speechSynthesis.speak(Object.assign(new SpeechSynthesisUtterance(text), { lang: "en", rate: 0.95 })); }
  }
  /* Wishes are met one after the other: a drill ends and the next begins before the phone has answered. */
  function awake(wanted) {
    if (!navigator.wakeLock) { return; }
    lock = lock.then(async (held) => {
      if (wanted) { return held && !held.released ? held : navigator.wakeLock.request("screen"); }
      if (held) { await held.release(); }
      return null;
    }).catch(() => null);
  }

  function begin(places) {
    queue = places;
    at = 0;
    load();
    app.go("play");
    resume();
  }
  function load() {
    const one = queue[at], drill = app.plan.drills[one.drill - 1], r = drill.r[one.rung];
    const article = document.getElementById("drill" + one.drill);
    run = { one, drill, r, list: phases(drill, r), step: 0, gone: 0, going: false, last: 0 };
    const svg = article.querySelector(".figure > svg");
    el.figure.replaceChildren(...(svg ? [svg.cloneNode(true)] : []));
    run.figures = svg && globalThis.homecareFigures ? globalThis.homecareFigures(el.figure) : [];
    el.place.textContent = (at + 1) + " of " + queue.length;
    el.name.innerHTML = app.marks[one.drill - 1];
    el.name.append(" " + drill.n + " ", h("span", { class: "soft" }, r[6]));
    el.feel.replaceChildren(h("b", {}, "You should feel: "), article.querySelector("dd").textContent);
    el.steps.replaceChildren(...Array.from(article.querySelectorAll("ol li"), (li) => h("li", {}, li.textContent)));
    el.next.textContent = at + 1 < queue.length ? "Next drill" : "Finish";
    show();
  }

  const words = (phase) => (phase.k === "side" || phase.k === "ready") && phase.side ? CUES[phase.k] + ": " + phase.side + " side" : CUES[phase.k];
  function show() {
    const phase = run.list[run.step];
    el.cue.textContent = words(phase);
    el.side.textContent = phase.side || "";
    el.side.hidden = !phase.side;
    el.count.textContent = phase.rep ? phase.rep + " of " + run.r[1] + (run.r[0] > 1 ? ", set " + phase.set + " of " + run.r[0] : "") : "";
    const many = phase.rep && run.r[1] > 1 && run.r[1] <= 15 ? run.r[1] : 0;
    el.reps.replaceChildren(...Array.from({ length: many }, (_, n) => h("i", { class: n + 1 < phase.rep ? "full" : n + 1 === phase.rep ? "now" : null })));
    draw();
  }
  function share(phase, way) {
    if (phase.k === "hold") { return 1; }
    const turn = { move: way * 2 > 1 ? 2 - way * 2 : way * 2, in: way, out: 1 - way }[phase.k] || 0;
    return calm.matches ? Math.round(turn) : (1 - Math.cos(Math.PI * turn)) / 2;
  }
  function draw() {
    const phase = run.list[run.step], way = phase.s ? Math.min(1, run.gone / phase.s) : 1;
    el.bead.textContent = Math.max(0, Math.ceil(phase.s - run.gone));
    el.bead.style.left = (phase.k === "move" ? (way * 2 > 1 ? 2 - way * 2 : way * 2) : way) * 100 + "%";
    for (const one of run.figures) { one.show(share(phase, way)); }
  }
  function advance(now) {
    if (!run || !run.going) { return; }
    run.gone += Math.min(1, (now - run.last) / 1000);
    run.last = now;
    while (run.going && run.gone >= run.list[run.step].s) {
      run.gone -= run.list[run.step].s;
      if (run.step + 1 === run.list.length) { finished(); return; }
      run.step += 1;
      announce();
    }
    draw();
    frame = requestAnimationFrame(advance);
  }
  function announce() {
    const phase = run.list[run.step], first = run.list[run.step - 1];
    show();
    if (phase.k === "hold" || phase.k === "rest" || phase.k === "side") { tone(phase.k === "hold"); buzz(phase.k === "hold" ? 60 : [60, 60, 60]); speak(words(phase)); }
    else if (phase.k === "move") { tone(false); buzz(30); speak(first && first.k === "move" ? String(phase.rep) : words(phase)); }
    else { speak(words(phase)); }
  }
  function resume() {
    run.going = true;
    run.last = performance.now();
    wakeSound();
    el.pause.textContent = "Pause";
    awake(true);
    if (run.step === 0 && !run.gone) { speak(run.drill.n + ". " + words(run.list[0])); }
    cancelAnimationFrame(frame);
    frame = requestAnimationFrame(advance);
  }
  function pause() {
    if (!run) { return; }
    run.going = false;
    el.pause.textContent = "Go on";
    speak("");
    awake(false);
  }
  function finished() {
    tone(true);
    buzz([80, 60, 80, 60, 200]);
    if (run.one.place !== null) { app.tick(run.one.place, true); }
    next();
  }
  function next() {
    pause();
    if (at + 1 < queue.length) {
      at += 1;
      load();
      resume();
      return;
    }
    run = null;
    app.finished(queue);
  }
  function hurt() {
    pause();
    app.hurts(run.one.drill, at + 1 < queue.length ? () => { app.go("play"); next(); } : null);
  }

  app.phases = phases;
  app.play = (places) => begin(places.map((place) => ({ place, drill: app.what[place][0], rung: app.what[place][1] })));
  app.playDrill = (drill) => {
    const day = app.days[Math.max(0, app.todayIndex())];
    const open = app.left(app.boxesOf(day)).find((place) => app.what[place][0] === drill);
    const any = open !== undefined ? open : app.what.findIndex((one) => one[0] === drill);
    begin([{ place: open !== undefined ? open : null, drill, rung: any < 0 ? 0 : app.what[any][1] }]);
  };
  app.leave = () => { if (run && run.going && location.hash !== "#play") { pause(); } };
  app.entered.play = () => { if (!run) { app.go("today"); } else { showSwitches(); } };
  document.addEventListener("visibilitychange", () => {
    if (!document.hidden) { return; }
    if (run && run.going) { pause(); }
    dropSound();
  });
})();
