// Shows the slip at every change. All of it also works as a form.
"use strict";

const change = document.getElementById("amend");
const state = document.getElementById("status");
let asking = null;
let waiting = 0;

function says() {
  return change.elements.add.value.trim() !== "" || change.querySelector("input[name^=do-]:checked:not([value=''])") !== null;
}

async function show() {
  if (asking) asking.abort();
  const mine = asking = new AbortController();
  const fields = new FormData(change);
  fields.set("do", "look");
  state.textContent = says() ? "Making the slip…" : "";
  try {
    const answer = await fetch(change.action, { method: "POST", body: fields, credentials: "same-origin", signal: mine.signal });
    const page = new DOMParser().parseFromString(await answer.text(), "text/html");
    if (!page.getElementById("amend")) throw new Error("another page");
    const faulty = answer.status === 422;
    document.getElementById("shown").replaceChildren(...page.getElementById("shown").childNodes);
    document.getElementById("faults").replaceChildren();
    state.textContent = faulty && says() ? [...page.querySelectorAll("#faults li")].map((one) => one.textContent).join(". ") : "";
  } catch (error) {
    if (error.name !== "AbortError") state.textContent = "The slip could not be shown. Press “Print the slip” to go on.";
  }
}

function soon(wait) {
  clearTimeout(waiting);
  waiting = setTimeout(show, wait);
}

change.addEventListener("input", (event) => soon(["radio", "checkbox"].includes(event.target.type) ? 0 : 300));
for (const choice of change.querySelectorAll("[data-dose]")) {
  choice.addEventListener("change", () => choice.closest("li").querySelector(".doses input").focus());
}

// Pressed twice is sent once.
let sent = false;
change.addEventListener("submit", (event) => {
  if (sent) event.preventDefault();
  sent = true;
  setTimeout(() => { sent = false; }, 3000);
});
