// What a hand does quicker: a day's training goes round at each press, minutes have a slider.
"use strict";

function cycles(form) {
  for (const cell of form.querySelectorAll(".cycle")) {
    if (cell.querySelector("button")) continue;
    const select = cell.querySelector("select"), label = cell.querySelector("label");
    const button = document.createElement("button");
    button.type = "button";
    button.id = "cycle-" + select.id;
    const tell = () => {
      const words = select.selectedOptions[0].textContent;
      button.textContent = words;
      button.className = "b day-kind " + select.value;
      button.setAttribute("aria-label", `${label.textContent}: ${words}. Press to change`);
    };
    button.addEventListener("click", () => {
      select.selectedIndex = (select.selectedIndex + 1) % select.options.length;
      tell();
      select.dispatchEvent(new Event("input", { bubbles: true }));
    });
    tell();
    select.hidden = true;
    select.after(button);
  }
}

function sliders(form) {
  for (const field of form.querySelectorAll(".slide")) {
    if (field.querySelector("[type=range]")) continue;
    const number = field.querySelector("input");
    const range = document.createElement("input");
    Object.assign(range, { type: "range", min: 0, max: 60, step: 1, id: "range-" + number.id });
    range.setAttribute("aria-label", field.querySelector("label").textContent);
    const pull = () => { range.value = number.value || document.getElementById("minutes_weekday").value || 12; };
    pull();
    number.addEventListener("input", pull);
    range.addEventListener("input", (event) => {
      event.stopPropagation();
      number.value = range.value;
      number.dispatchEvent(new Event("input", { bubbles: true }));
    });
    number.after(range);
  }
}

export function handy(form) {
  cycles(form);
  sliders(form);
}
