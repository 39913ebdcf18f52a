// Covers the page when its session has ended, and uncovers it for the same person: nothing typed is lost.
// Whatever script of the page is answered that one must sign in, the page is covered; "desk:unlocked" on the document
// tells it that it may send again.
const template = document.getElementById("locked");
const meta = document.querySelector("meta[name=token]");
const form = template.content.querySelector("form");
const MINUTE = 60_000;
let touched = false;
let dialog = null;
let timer = 0;

for (const kind of ["pointerdown", "keydown", "input", "wheel"]) {
  addEventListener(kind, () => { touched = true; }, { passive: true, capture: true });
}

const send = window.fetch;
window.fetch = async (...what) => {
  const answer = await send(...what);
  if (answer.status === 401) cover();
  return answer;
};

async function secondsLeft() {
  try {
    const answer = await send(form.dataset.left, { cache: "no-store" });
    return answer.ok ? (await answer.json()).seconds : 60;
  } catch {
    return 60; // the desk does not answer: it is asked again
  }
}

// Whoever types or reads on is there, though nothing of it reaches the desk by itself.
async function tell() {
  if (!touched || dialog) return;
  touched = false;
  try {
    await fetch(form.dataset.here, { method: "POST", headers: { "X-CSRFToken": meta.content } });
  } catch { touched = true; }
}

async function look() {
  if (dialog) return;
  await tell();
  const seconds = await secondsLeft();
  if (seconds <= 0) cover();
  wait(Math.min(Math.max(seconds, 1), 60) * 1000 + 500);
}

function cover() {
  if (dialog) return;
  document.body.append(template.content.cloneNode(true));
  dialog = document.querySelector("dialog.lock");
  document.body.classList.add("covered");
  dialog.addEventListener("cancel", (event) => event.preventDefault());
  dialog.addEventListener("close", () => { if (dialog) dialog.showModal(); });
  dialog.querySelector("form").addEventListener("submit", enter);
  dialog.showModal();
  dialog.querySelector("[name=passphrase]").focus();
}

async function enter(event) {
  event.preventDefault();
  const said = dialog.querySelector(".fault");
  const button = dialog.querySelector("button");
  button.disabled = true;
  try {
    const answer = await send(event.target.action, {
      method: "POST",
      headers: { "X-CSRFToken": meta.content, Accept: "application/json" },
      body: new URLSearchParams(new FormData(event.target)),
    });
    const told = answer.headers.get("Content-Type")?.startsWith("application/json") ? await answer.json() : {};
    if (answer.ok && told.same) return uncover(told.token);
    if (answer.ok) return void location.assign("/"); // another person: this page is not theirs
    say(said, told.fault || "This page had been open for too long. Sign in on another tab, then press again here.");
  } catch {
    say(said, "The desk does not answer. Try again in a moment.");
  } finally {
    button.disabled = false;
  }
}

function say(place, words) {
  place.textContent = words;
  place.hidden = false;
  const field = dialog.querySelector("[name=passphrase]");
  field.value = "";
  field.focus();
}

function uncover(token) {
  meta.content = token;
  for (const field of document.querySelectorAll("input[name=token]")) field.value = token;
  const was = dialog;
  dialog = null;
  was.close();
  was.remove();
  document.body.classList.remove("covered");
  touched = false;
  document.dispatchEvent(new Event("desk:unlocked"));
  wait(MINUTE);
}

function wait(time) {
  clearTimeout(timer);
  timer = setTimeout(look, time);
}

document.addEventListener("visibilitychange", () => { if (!document.hidden) look(); });
look();
