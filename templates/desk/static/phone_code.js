// Looks for the code through this machine's camera: a frame twice a second to the desk, until one is read.
"use strict";

const video = document.getElementById("seen");
const told = document.getElementById("told");
const field = document.getElementById("code");
const button = document.getElementById("look");
const token = document.querySelector("meta[name=token]").content;
let stream = null;

function stop(words) {
  if (stream) stream.getTracks().forEach((track) => track.stop());
  stream = null;
  video.hidden = true;
  told.textContent = words;
}

async function look() {
  if (stream) return stop("");
  try {
    stream = await navigator.mediaDevices.getUserMedia({ video: { facingMode: "environment", width: { ideal: 1280 } } });
  } catch {
    return stop("This browser may not use the camera: give a photograph or the letters.");
  }
  video.srcObject = stream;
  video.hidden = false;
  await video.play();
  told.textContent = "Looking for the code…";
  const canvas = document.createElement("canvas");
  while (stream) {
    canvas.width = video.videoWidth;
    canvas.height = video.videoHeight;
    canvas.getContext("2d").drawImage(video, 0, 0);
    const frame = await new Promise((done) => canvas.toBlob(done, "image/jpeg", 0.9));
    const answer = frame && await fetch("/phone-code/frame", { method: "POST", body: frame, credentials: "same-origin", headers: { "X-CSRFToken": token } });
    const found = answer && answer.ok ? (await answer.json()).code : "";
    if (found) {
      field.value = found;
      stop(button.dataset.found);
      (document.getElementById(button.dataset.press) || field).click();
      field.focus();
      return;
    }
    await new Promise((done) => setTimeout(done, 500));
  }
}

if (navigator.mediaDevices && navigator.mediaDevices.getUserMedia) {
  document.getElementById("camera").hidden = false;
  button.addEventListener("click", look);
}
