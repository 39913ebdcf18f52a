// A field with a list of what is found for it: the arrow keys choose, Enter takes, Escape closes.
"use strict";

export function seek(form, { field, list, ask, take }) {
  let asked = 0, at = -1, answered = "";
  const input = () => document.getElementById(field);
  const place = () => document.getElementById(list);
  const all = () => [...place().querySelectorAll("[role=option]")];

  function mark(number) {
    const found = all();
    at = found.length ? (number + found.length) % found.length : -1;
    found.forEach((one, index) => one.setAttribute("aria-selected", String(index === at)));
    if (at >= 0) {
      input().setAttribute("aria-activedescendant", found[at].id);
      found[at].scrollIntoView({ block: "nearest" });
    } else input().removeAttribute("aria-activedescendant");
    input().setAttribute("aria-expanded", String(found.length > 0));
  }

  function close() {
    answered = "";
    place().replaceChildren();
    mark(-1);
  }

  async function look() {
    const mine = ++asked, typed = input().value;
    if (!typed.trim()) return close();
    const data = new URLSearchParams({ token: form.elements.token.value, [field]: typed });
    const answer = await fetch(ask(), { method: "POST", body: data, credentials: "same-origin" });
    const offers = answer.ok ? await answer.text() : "";
    if (mine !== asked || !answer.ok) return;
    place().innerHTML = offers;
    answered = typed;
    mark(field === "find" ? 0 : -1);
  }

  form.addEventListener("input", (event) => { if (event.target.id === field) look(); });
  form.addEventListener("keydown", (event) => {
    if (event.target.id !== field) return;
    if (event.key === "ArrowDown" || event.key === "ArrowUp") {
      event.preventDefault();
      mark(at + (event.key === "ArrowDown" ? 1 : -1));
    } else if (event.key === "Enter") {
      event.preventDefault();
      takeMarked();
    } else if (event.key === "Escape") close();
  });
  form.addEventListener("click", (event) => {
    const option = event.target.closest("[role=option]");
    if (!option || !place().contains(option)) return;
    event.preventDefault();
    event.stopPropagation();
    choose(option);
  });

  // Whoever types faster than the answers come means what was typed, not what was found for half of it.
  async function takeMarked() {
    if (answered !== input().value) await look();
    if (at >= 0) choose(all()[at]);
  }

  function choose(option) {
    asked += 1;
    take(option);
    close();
  }
}
