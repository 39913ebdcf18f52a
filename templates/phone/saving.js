/* Has the pages kept on the phone by worker.js, which lies one folder up, and says on the page how far that is. */
"use strict";
(function () {
  const ALL = "Saved on this phone: works without a signal.";
  const PAGE = "This page is saved on this phone.";
  const REST = "This page is saved on this phone. The other pages are being saved now.";
  const NEW = "These pages have changed. Close this page and open it again to see what is new. ";
  const NOT = "Not saved on this phone: needs a signal.";
  const KEEP = "Safari drops these pages when you stay away for a week. To keep them, press Share. Then press “Add to Home Screen”. Then open them from there once, with a signal.";
  const place = document.getElementById("saved"), root = new URL("..", document.currentScript.src);
  const workers = navigator.serviceWorker;
  /* Only Safari on an iPhone has `standalone`: false while the page is not opened from the phone's screen. */
  if (navigator.standalone === false) {
    const manifest = document.querySelector("link[rel=manifest]"), told = document.createElement("p");
    manifest.href = manifest.dataset.page;
    told.className = "soft";
    told.textContent = KEEP;
    document.querySelector("main").append(told);
  }
  if (!workers) { place.textContent = NOT; return; }
  let answered = Boolean(workers.controller), changed = false;

  function say(state) {
    const text = (changed ? NEW : "") + (state.all ? ALL : state.page ? (state.saving ? REST : PAGE) : NOT);
    // Written only when it differs, since a screen reader tells each change.
    if (place.textContent !== text) { place.textContent = text; }
  }

  /* Whoever spares data has only what was opened kept. */
  async function ask() {
    const ready = await workers.ready;
    ready.active.postMessage(navigator.connection && navigator.connection.saveData ? "how far" : "save");
  }

  workers.addEventListener("message", function (event) { say(event.data); });
  workers.addEventListener("controllerchange", function () {
    changed = answered;
    answered = true;
    ask();
  });
  workers.register(new URL("worker.js", root), { scope: root, updateViaCache: "none" }).then(ask, function () { say({}); });
})();
