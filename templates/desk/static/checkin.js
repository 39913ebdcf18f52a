// Counts with + and -, fills in all at once, and shows at every change what becomes of each dose. All of it also works as a form.
"use strict";

const checkin = document.getElementById("checkin");
const state = document.getElementById("status");
let asking = null;
let waiting = 0;

async function show() {
  if (asking) asking.abort();
  const mine = asking = new AbortController();
  const fields = new FormData(checkin);
  fields.delete("picture");
  fields.set("do", "look");
  try {
    const answer = await fetch(checkin.action, { method: "POST", body: fields, credentials: "same-origin", signal: mine.signal });
    const page = new DOMParser().parseFromString(await answer.text(), "text/html");
    if (!page.getElementById("checkin")) throw new Error("another page");
    for (const part of document.querySelectorAll("[data-live]")) {
      const now = page.getElementById(part.id);
      if (now) part.replaceChildren(...now.childNodes);
    }
    state.textContent = "";
    document.getElementById("heard").textContent = [...document.querySelectorAll("#becoming li b")].map((one) => one.textContent).join(", ");
  } catch (error) {
    if (error.name !== "AbortError") state.textContent = "What changes could not be shown. Press “Make the next sheet” to go on.";
  }
}

function soon() {
  clearTimeout(waiting);
  waiting = setTimeout(show, 150);
}

for (const button of checkin.querySelectorAll("[data-step]")) {
  button.hidden = false;
  button.addEventListener("click", () => {
    const field = button.parentElement.querySelector("input");
    const most = Number(field.dataset.planned);
    const now = field.value.trim() === "" ? (button.dataset.step > 0 ? 0 : most + 1) : Number(field.value);
    field.value = String(Math.min(Math.max((Number.isFinite(now) ? now : 0) + Number(button.dataset.step), 0), Math.max(most, now || 0)));
    soon();
  });
}
for (const button of checkin.querySelectorAll("[data-all]")) {
  button.addEventListener("click", (event) => {
    event.preventDefault();
    if (button.dataset.all === "done") {
      for (const field of checkin.querySelectorAll("[data-planned]")) field.value = field.dataset.planned;
    } else {
      for (const word of checkin.querySelectorAll("input[value=settled]")) word.checked = true;
    }
    soon();
  });
}
checkin.addEventListener("input", (event) => { if (event.target.type !== "file") soon(); });

// Pressed twice is sent once.
let sent = false;
checkin.addEventListener("submit", (event) => {
  if (sent) event.preventDefault();
  sent = true;
  setTimeout(() => { sent = false; }, 3000);
});
