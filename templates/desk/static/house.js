// The head of the sheet follows what is typed.
const form = document.getElementById("settings");
const leaf = document.querySelector(".leaf");

function show() {
  const value = (name) => form.elements[name].value.trim();
  for (const place of leaf.querySelectorAll("[data-shows]")) place.textContent = value(place.dataset.shows);
  const number = value("phone") ? ` on ${value("phone")}` : "";
  const hours = value("hours") ? ` (${value("hours")})` : "";
  leaf.querySelector(".stop").textContent = `Stop and call us${number}${hours} if:`;
  leaf.querySelector(".closed").hidden = !value("after_hours");
}

form.addEventListener("input", show);
