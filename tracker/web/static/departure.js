// The gate's departure: the mark is checked as it is typed, and the driver signs on the glass.

import { watchMark } from "./mark_field.js";
import { addShot } from "./photos.js";

const ask = document.getElementById("ask");
const leaving = document.getElementById("leaving");
const form = leaving.querySelector("form");
const glass = document.getElementById("glass");
const canvas = glass.querySelector("canvas");
const unsigned = document.getElementById("unsigned");
const pen = canvas.getContext("2d");
let signed = false;

watchMark(document.getElementById("mark"), { leaves: true });
glass.hidden = false;
clear();
canvas.addEventListener("pointerdown", begin);
canvas.addEventListener("pointermove", draw);
canvas.addEventListener("pointerup", () => void keep());
glass.querySelector("button").addEventListener("click", clear);
unsigned.addEventListener("change", () => {
  glass.hidden = unsigned.checked;
  if (unsigned.checked) clear();
});
form.addEventListener("captured", () => {
  // What was answered about the box that has left holds no longer.
  document.getElementById("answer")?.remove();
  document.querySelector("form[data-capture=clearance]")?.remove();
  // Nor is the next box that one: a number left standing would be sent a second time.
  document.getElementById("out-mark").defaultValue = "";
  document.getElementById("mark").value = "";
  document.getElementById("mark").dispatchEvent(new Event("input"));
  leaving.open = false;
  scrollTo({ top: 0 });
  setTimeout(() => {
    clear();
    glass.hidden = false;
  });
});
const purpose = document.getElementById("out-purpose");
const toDepot = document.getElementById("to_depot");
purpose.addEventListener("change", askWhereTo);
form.addEventListener("reset", () => setTimeout(askWhereTo));
askWhereTo();
ask.addEventListener("submit", (submit) => void askOnline(submit));
takeFromAddress();

/** Without a signal the kept page opens, which knows nothing of this box: say so. */
function takeFromAddress() {
  const wanted = new URLSearchParams(location.search).get("mark");
  const field = document.getElementById("mark");
  if (wanted && !field.value) {
    field.value = wanted;
    document.getElementById("out-mark").value = wanted;
    noSignal();
  }
}

/** A transfer goes somewhere; nothing else names a depot of ours. */
function askWhereTo() {
  if (!toDepot) return;
  toDepot.required = purpose.value === "transfer";
  if (!toDepot.required) toDepot.value = "";
}

async function askOnline(submit) {
  submit.preventDefault();
  const answer = await fetch("/health", { cache: "no-store" }).catch(() => null);
  if (answer?.ok) ask.submit();
  else noSignal();
}

function noSignal() {
  document.getElementById("no-signal").hidden = false;
  document.getElementById("answer")?.remove();
  document.getElementById("out-mark").value = document.getElementById("mark").value;
  leaving.open = true;
}

function clear() {
  pen.fillStyle = "white";
  pen.fillRect(0, 0, canvas.width, canvas.height);
  pen.strokeStyle = "black";
  pen.lineWidth = 5;
  pen.lineCap = pen.lineJoin = "round";
  signed = false;
  addShot(form, "signature", null);
}

function begin(pointer) {
  canvas.setPointerCapture(pointer.pointerId);
  pen.beginPath();
  pen.moveTo(...at(pointer));
  signed = true;
  pointer.preventDefault();
}

function draw(pointer) {
  if (!signed || !pointer.buttons) return;
  pen.lineTo(...at(pointer));
  pen.stroke();
}

async function keep() {
  const blob = await new Promise((resolve) => canvas.toBlob(resolve, "image/png"));
  if (signed) addShot(form, "signature", blob);
}

function at(pointer) {
  const box = canvas.getBoundingClientRect();
  return [
    ((pointer.clientX - box.left) * canvas.width) / box.width,
    ((pointer.clientY - box.top) * canvas.height) / box.height,
  ];
}
