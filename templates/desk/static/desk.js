// The builder: every change is saved, and what it comes to is put in place. Without this, each button sends the form.
import { savedForm } from "./saving.js";
import { seek } from "./seek.js";
import { handy } from "./handy.js";
import { looks, turning } from "./looks.js";
import { places, walking } from "./places.js";

const form = document.getElementById("build");
const after = () => { handy(form); looks(); places(form); };
const saving = savedForm(form, after);
turning();
walking(form);
after();
seek(form, {
  field: "find", list: "offers", ask: () => form.dataset.find,
  take: (button) => { document.getElementById("find").value = ""; saving.press(button, "find"); },
});
seek(form, {
  field: "athlete", list: "who-found", ask: () => form.dataset.who,
  take: (button) => saving.press(button, "athlete"),
});

document.addEventListener("keydown", (event) => {
  const typing = event.target.closest("input, textarea, select");
  if (event.key === "/" && !typing) {
    event.preventDefault();
    document.getElementById("find").focus();
  }
  if (event.key === "z" && (event.ctrlKey || event.metaKey) && !typing) {
    const undo = form.querySelector("button[value=undo]");
    if (undo) { event.preventDefault(); saving.press(undo); }
  }
});
