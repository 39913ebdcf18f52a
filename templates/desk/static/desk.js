// Adds and removes rows in place, and keeps the sheet up to date. Without it every button still works, by sending the form.
"use strict";

const form = document.getElementById("build");
const status = document.getElementById("status");
let waiting = 0;
let running = null;

function addRow(kind) {
  const list = document.getElementById("rows-" + kind);
  const used = [...list.querySelectorAll(`input[type=hidden][name^="${kind}-"]`)].map((input) => Number(input.name.split("-")[1]));
  const holder = document.createElement("ul");
  holder.innerHTML = document.getElementById("new-" + kind).innerHTML.replaceAll("NEW", String(Math.max(-1, ...used) + 1));
  const row = holder.firstElementChild;
  list.append(row);
  row.querySelector("input:not([type=hidden]), select").focus();
}

function removeRow(button) {
  const row = button.closest("[data-row]");
  const next = document.querySelector(`[data-add="${row.dataset.row}"]`);
  row.remove();
  next.focus();
  refreshSoon();
}

async function refresh(button) {
  if (running) running.abort();
  const mine = running = new AbortController();
  const data = new FormData(form);
  data.set("do", button ? button.value : "make");
  status.textContent = "Making it anew…";
  try {
    const answer = await fetch(form.getAttribute("action").split("#")[0], {
      method: "POST", body: new URLSearchParams(data), signal: mine.signal, credentials: "same-origin",
    });
    const page = new DOMParser().parseFromString(await answer.text(), "text/html");
    const wrong = page.querySelector("#made [aria-invalid]");
    if (!answer.ok && !wrong) {
      status.textContent = "Not up to date: something is to be mended. Press the button below to see what.";
      return;
    }
    for (const id of ["made", "print"]) document.getElementById(id).innerHTML = page.getElementById(id).innerHTML;
    status.textContent = wrong ? "Not put on: a reason is needed first." : "Up to date.";
    if (button) (wrong ? document.getElementById(wrong.id) : document.getElementById("now")).focus();
  } catch (error) {
    if (error.name !== "AbortError") status.textContent = "Not up to date: the desk does not answer. Nothing you typed is lost.";
  }
}

function refreshSoon() {
  if (!document.getElementById("now") || document.querySelector(".faults")) return;
  clearTimeout(waiting);
  waiting = setTimeout(refresh, 400);
}

form.addEventListener("submit", (event) => {
  const button = event.submitter;
  if (!button || button.name !== "do") return;
  if (button.dataset.add) {
    event.preventDefault();
    addRow(button.dataset.add);
  } else if (button.value.startsWith("remove:")) {
    event.preventDefault();
    removeRow(button);
  } else if (button.closest("#made")) {
    event.preventDefault();
    refresh(button);
  }
});
form.addEventListener("change", (event) => {
  if (!event.target.name.startsWith("why-")) refreshSoon();
});
