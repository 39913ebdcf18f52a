/* The list follows as one types; the check of the library says how far it is. Without script both are plain pages. */
"use strict";
(function () {
  const search = document.getElementById("search"), found = document.getElementById("found");
  let waiting = 0, asked = 0;

  async function ask() {
    const mine = ++asked;
    const words = new URLSearchParams(new FormData(search));
    try {
      const answer = await fetch(search.dataset.part + "&" + words);
      const text = await answer.text();
      if (answer.ok && mine === asked) {
        found.innerHTML = text;
        history.replaceState(null, "", "?" + words);
      }
    } catch {
      search.submit();
    }
  }
  if (search) {
    search.addEventListener("input", () => { clearTimeout(waiting); waiting = setTimeout(ask, 150); });
    search.addEventListener("submit", (event) => { event.preventDefault(); ask(); });
  }

  const checking = document.getElementById("checking");
  async function look() {
    try {
      const now = await (await fetch(checking.dataset.now)).json();
      if (!now.running) return location.reload();
      checking.querySelector("label").textContent = now.done + " of " + now.of + " steps";
      Object.assign(checking.querySelector("progress"), { max: now.of || 1, value: now.done });
    } catch { /* asked again in a moment */ }
    setTimeout(look, 500);
  }
  if (checking) {
    checking.nextElementSibling.hidden = true;  // the button that asks how far it is
    setTimeout(look, 300);
  }
})();
