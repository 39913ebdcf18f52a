// Finds as you type, copies the chart note, and follows a reprint. Without it every form and link still works.
"use strict";

const told = document.getElementById("told");
const roster = document.getElementById("roster");
let running = null;
let waiting = 0;

async function find() {
  if (running) running.abort();
  running = new AbortController();
  const rows = document.getElementById("rows");
  const asked = new FormData(roster);
  asked.set("part", "rows");
  asked.delete("page");
  try {
    const answer = await fetch(roster.action, { method: "POST", body: asked, signal: running.signal });
    if (!answer.ok) throw new Error(String(answer.status));
    rows.innerHTML = await answer.text();
    const list = rows.querySelector("[data-total]");
    const number = list ? Number(list.dataset.total) : 0;
    told.textContent = number === 1 ? "1 athlete" : `${number} athletes`;
  } catch (error) {
    if (error.name !== "AbortError") told.textContent = "Not found just now: press Find.";
  }
}

async function copy(button) {
  const text = button.dataset.copy
    ? document.getElementById(button.dataset.copy).textContent
    : await (await fetch(button.dataset.copyFrom)).text();
  const words = button.textContent;
  try {
    await navigator.clipboard.writeText(text);
    button.textContent = "Copied";
  } catch {
    button.textContent = "Not allowed: select the text";
  }
  setTimeout(() => { button.textContent = words; }, 3000);
}

async function follow(bar) {
  const answer = await fetch(bar.dataset.state);
  const { done, state } = await answer.json();
  bar.value = done;
  told.textContent = `${done} of ${bar.max} read`;
  if (state === "running") setTimeout(() => follow(bar), 400);
  else location.reload();
}

if (roster) {
  const typed = document.getElementById("typed");
  typed.addEventListener("input", () => {
    clearTimeout(waiting);
    waiting = setTimeout(find, 120);
  });
  document.addEventListener("keydown", (event) => {
    const inside = event.target.closest("input, textarea, select");
    if (event.key !== "/" || inside || event.ctrlKey || event.metaKey || event.altKey) return;
    event.preventDefault();
    typed.focus();
  });
}
if (navigator.clipboard) {
  for (const button of document.querySelectorAll("[data-copy], [data-copy-from]")) {
    button.hidden = false;
    button.addEventListener("click", () => copy(button));
  }
}
const bar = document.getElementById("progress");
if (bar) follow(bar);
