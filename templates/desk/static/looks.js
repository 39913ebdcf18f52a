// The pages as they will be printed: asked for after each change; the old ones stay until the new ones are there.
"use strict";

let shown = "", asking = false, at = 0;

// For whoever waits until the pages are those of what stands there: 1 while they are on their way.
const busy = (on) => { document.documentElement.dataset.looking = on ? "1" : "0"; };

export function looks() {
  const place = document.getElementById("leaf"), link = document.getElementById("pages");
  place.hidden = !link;
  if (link) link.hidden = true;  // each page leads to the same
  if (!link) shown = "";
  else if (!asking && link.dataset.mark !== shown) ask(link.href, place);
}

// One after another: of what was changed meanwhile only the newest is asked for.
async function ask(address, place) {
  asking = true;
  busy(true);
  place.setAttribute("aria-busy", "true");
  let wanted = true;
  try {
    const answer = await fetch(address, { headers: { "X-Quick": "pages" }, credentials: "same-origin" });
    const page = new DOMParser().parseFromString(await answer.text(), "text/html");
    const fresh = page.querySelector("[data-look]"), link = document.getElementById("pages");
    wanted = Boolean(link) && fresh !== null && fresh.dataset.look !== link.dataset.mark;
    if (fresh && link && !wanted) {
      shown = fresh.dataset.look;
      document.adoptNode(fresh);
      turn(fresh, at);
      const picture = fresh.querySelector(".leafpage:not([hidden]) img");
      if (picture) await picture.decode().catch(() => {});
      put(place, fresh);
    }
  } catch { wanted = false; /* the desk is away: the next change asks again */ }
  asking = false;
  busy(false);
  place.removeAttribute("aria-busy");
  if (wanted) looks();
}

function put(place, fresh) {
  const focus = place.contains(document.activeElement) ? document.activeElement : null;
  const key = focus && (focus.dataset.page ? `[data-page="${focus.dataset.page}"]` : `#${focus.id}`);
  place.replaceChildren(fresh);
  const again = key && place.querySelector(key);
  if (again) again.focus({ preventScroll: true });
}

function turn(pages, to) {
  const all = [...pages.querySelectorAll(".leafpage")];
  const now = Math.min(to, all.length - 1);
  all.forEach((one, index) => { one.hidden = index !== now; });
  for (const button of pages.querySelectorAll("[data-page]")) {
    button.classList.toggle("chosen", Number(button.dataset.page) === now);
    button.setAttribute("aria-pressed", String(Number(button.dataset.page) === now));
  }
}

export function turning() {
  const place = document.getElementById("leaf");
  place.addEventListener("click", (event) => {
    const button = event.target.closest("[data-page]");
    if (!button) return;
    at = Number(button.dataset.page);
    turn(place, at);
  });
}
