/* Rows of a pose come and go, and what puts a fault right is set, while the page stays; Undo takes each back. */
"use strict";
(function () {
  const form = document.getElementById("drill");
  const told = (fields, back) => form.dispatchEvent(new CustomEvent("shelf:set", { detail: { fields: [...fields], back } }));
  const fieldsOf = (line) => line.querySelectorAll("input, select");

  /* The page has each long list once, in an empty row: all others get it here, beside what is theirs alone. */
  const lists = new Map(["point", "on", "how", "way", "freed"].map((part) => [part, [...form.querySelector(`.lines select[name$="-${part}"]:not([data-short])`).children]]));
  function fill(kind) {
    for (const list of kind.querySelectorAll("select[data-short]")) {
      const chosen = list.value, [first, ...others] = lists.get(list.dataset.short).map((one) => one.cloneNode(true));
      list.replaceChildren(first, ...list.querySelectorAll("[data-own]"), ...others);
      list.value = chosen;
      list.removeAttribute("data-short");
    }
  }
  for (const kind of form.querySelectorAll(".lines")) fill(kind);
  const blanks = new Map();  // an empty row of each kind, as the page came
  for (const kind of form.querySelectorAll(".lines")) blanks.set(kind.id, [...kind.querySelectorAll(".line")].at(-1).cloneNode(true));
  const numberOf = (line) => Number(line.querySelector("[value^=less]").value.split(":")[2]);

  function more(kind) {
    const lines = [...kind.querySelectorAll(".line")], line = blanks.get(kind.id).cloneNode(true);
    const was = numberOf(line), now = Math.max(was, ...lines.map(numberOf)) + 1;
    for (const one of line.querySelectorAll("*")) {
      for (const key of ["id", "name", "for"]) {
        if (one.hasAttribute(key)) one.setAttribute(key, one.getAttribute(key).replace(`-${was}-`, `-${now}-`));
      }
    }
    const place = lines.length + 1, legend = kind.querySelector("legend").textContent, remove = line.querySelector("[value^=less]");
    remove.value = `less:${kind.id}:${now}`;
    remove.setAttribute("aria-label", `Remove row ${place}: ${legend}`);
    line.setAttribute("aria-label", `${legend}, row ${place}`);
    line.classList.add("new");
    kind.lastElementChild.before(line);
    told(fieldsOf(line));
    fieldsOf(line)[0].checkVisibility() ? fieldsOf(line)[0].focus() : fieldsOf(line)[1].focus();
  }

  function less(line) {
    const kind = line.parentElement, after = line.nextElementSibling;
    line.remove();
    told(fieldsOf(line), () => kind.insertBefore(line, after.parentElement === kind ? after : kind.lastElementChild));
    (after.querySelector("select, input") || kind.lastElementChild).focus();
  }

  const state = (field) => (field.type === "checkbox" ? field.checked : field.value);
  const put = (field, value) => { field[field.type === "checkbox" ? "checked" : "value"] = value; };

  /* Whether every field that a cure sets is on the page; if not, the form is sent and comes back with it. */
  function cure(sets) {
    const changes = [];
    for (const [name, value] of new URLSearchParams(sets)) {
      const field = name.endsWith("+") ? form.querySelector(`[name="${name.slice(0, -1)}"][value="${value}"]`) : document.getElementById(name);
      if (!field) return false;
      changes.push([field, state(field), name.endsWith("+") ? true : value]);
    }
    for (const [field, , value] of changes) put(field, value);
    told(changes.map(([field]) => field), () => { for (const [field, before] of changes) put(field, before); });
    changes[0][0].focus();
    return true;
  }

  /* What only the desk can bring, a joint's row: the form is sent, and its rows are taken from the page that comes back. */
  const PARTS = ["#pose tbody", "#touch", "#held", "#arrow", "#room", "#loose"];
  const written = () => { const sent = new FormData(form); sent.delete("photo"); return new URLSearchParams(sent).toString(); };
  async function ask(button) {
    const before = written();
    let text = "";
    try {
      const answer = await fetch(form.action, { method: "POST", body: new URLSearchParams(`${before}&${new URLSearchParams({ do: button.value })}`) });
      if (answer.status === 401) return;
      text = await answer.text();
    } catch {
      text = "";
    }
    if (before !== written()) return ask(button);  // somebody types on: nothing of it is lost
    const page = new DOMParser().parseFromString(text, "text/html");
    const mine = PARTS.map((part) => form.querySelector(part)), theirs = PARTS.map((part) => page.querySelector(part));
    if (theirs.includes(null)) return form.requestSubmit(button);
    const onto = page.querySelector("[autofocus]");
    theirs.filter((part) => part.matches(".lines")).forEach(fill);
    onto?.removeAttribute("autofocus");
    mine.forEach((part, at) => part.replaceWith(theirs[at]));
    told(theirs.flatMap((part) => [...fieldsOf(part)]), () => theirs.forEach((part, at) => part.replaceWith(mine[at])));
    (onto || document.getElementById("undo")).focus();
  }

  form.addEventListener("click", (event) => {
    const button = event.target.closest("button[name=do]");
    if (!button) return;
    const verb = button.value.split(":")[0];
    if (verb === "more") more(button.closest(".lines"));
    else if (verb === "less") less(button.closest(".line"));
    else if (["joint", "drop", "copy"].includes(verb)) ask(button);
    else if (verb !== "cure") return;
    else if (!cure(button.value.slice("cure:".length))) ask(button);
    event.preventDefault();
  });
})();
