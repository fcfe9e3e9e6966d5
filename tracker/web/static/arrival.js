// The gate's arrival: an expected unit in one tap, and what is typed checked as it is typed.

import { wholeNumber } from "./form_fields.js";
import { sizeWords } from "./marks.js";
import { tables, watchMark } from "./mark_field.js";

const PAUSE_MS = 200;
const form = document.getElementById("arrival");
const field = (id) => document.getElementById(id);
const picks = [...document.querySelectorAll(".pick")];
const masses = ["gross", "tare", "payload"];

watchMark(field("mark"), {
  expected: picks.map((pick) => pick.dataset.mark).filter(Boolean),
  comes: true,
  onKnown: showKnown,
});
for (const pick of picks) pick.addEventListener("click", (click) => take(click, pick));
for (const mass of masses) field(mass).addEventListener("input", showSum);
field("size_type").addEventListener("input", () => void showSize());
field("placards").addEventListener("input", () => {
  field("placards-care").hidden = !field("placards").value.trim();
});
field("purpose").addEventListener("change", () => (field("purpose").dataset.proposed = ""));
form.addEventListener("captured", (captured) => arrived(captured.detail));

function take(click, pick) {
  click.preventDefault();
  field("mark").value = pick.dataset.mark || pick.querySelector(".mark").textContent;
  field("mark").dispatchEvent(new Event("input", { bubbles: true }));
  field("expected").open = false;
  scrollTo({ top: 0, behavior: matchMedia("(prefers-reduced-motion: reduce)").matches ? "auto" : "smooth" });
  showKnown(recordOf(pick), pick.dataset.mark);
  form.querySelector("button[type=submit]").focus({ preventScroll: true });
}

function recordOf({ dataset }) {
  const number = (text) => (text ? Number(text) : null);
  return {
    presence: "expected",
    purpose: dataset.purpose || null,
    batch: dataset.batch || null,
    size_type: dataset.size || null,
    gross_kg: number(dataset.gross),
    tare_kg: number(dataset.tare),
    payload_kg: number(dataset.payload),
  };
}

/** Show what is known of the unit; undefined: not asked yet, null: not known. */
function showKnown(unit, mark) {
  const place = field("known");
  if (field("purpose").dataset.proposed) propose("purchase", "");
  if (unit === undefined) {
    const pick = mark && picks.find((one) => one.dataset.mark === mark);
    if (pick) showKnown(recordOf(pick), mark);
    else place.replaceChildren();
    return;
  }
  if (unit === null) {
    place.replaceChildren(line("New here: nothing is known of it yet."));
    return;
  }
  const lines = [line(standing(unit), unit.presence === "in-depot" ? "care" : "good")];
  if (unit.presence === "expected") takeOver(unit);
  if (unit.presence === "away") lines.push(askWhy(unit));
  const figures = [unit.size_type, ...masses.map((mass) => unit[`${mass}_kg`] && `${mass} ${kg(unit[`${mass}_kg`])}`)];
  const told = figures.filter(Boolean).join(", ");
  if (told) lines.push(line(`Expected on its doors: ${told}`), same(unit));
  place.replaceChildren(...lines);
}

function standing(unit) {
  if (unit.presence === "expected") {
    const why = unit.purpose ? `, ${unit.purpose.replaceAll("-", " ")}` : "";
    return `Expected${why}${unit.batch ? `, batch ${unit.batch}` : ""}.`;
  }
  if (unit.presence === "in-depot") {
    return `It already stands here${unit.slot ? ` at ${unit.slot}` : ""}. Is this another box, or did it leave unseen?`;
  }
  return unit.presence === "away" ? "Known: it was here before and left." : "Known, and gone for good.";
}

/** A unit that was here and left comes back for something: propose what is likely, else ask. */
function askWhy(unit) {
  const why = comesBackFor(unit);
  propose(why, "yes");
  field("purpose").closest("details").open = true;
  const was = unit.sale ? "It was sold and left" : "It was here before and left";
  if (!why) return line(`${was}. Choose below why it comes.`, "care");
  const words = field("purpose").selectedOptions[0].textContent;
  return line(`${was}: taken as “${words}”. If it comes for something else, choose that below.`, "care");
}

/** The server's pages/arriving.py proposes the same without script. */
function comesBackFor(unit) {
  if (unit.whereabouts === "outside workshop") return "outside-repair";
  if (unit.whereabouts === "on the lorry") return "failed-delivery";
  return unit.sale ? "take-back" : "";
}

function propose(purpose, proposed) {
  field("purpose").value = purpose;
  field("purpose").dataset.proposed = proposed;
}

function takeOver(unit) {
  if (unit.purpose) field("purpose").value = unit.purpose;
  field("batch").value = unit.batch ?? "";
}

function same(unit) {
  const button = document.createElement("button");
  button.type = "button";
  button.className = "quiet";
  button.textContent = "The doors say the same";
  button.addEventListener("click", () => {
    field("size_type").value = unit.size_type ?? "";
    for (const mass of masses) field(mass).value = unit[`${mass}_kg`] ?? "";
    showSum();
    void showSize();
  });
  return button;
}

function showSum() {
  const place = field("sum");
  const [gross, tare, payload] = masses.map((mass) => numberIn(field(mass)));
  place.dataset.weight = "";
  if ([gross, tare, payload].some(Number.isNaN)) {
    place.textContent = "Whole kilograms only.";
    place.dataset.weight = "stop";
  } else if (gross === null || tare === null) {
    place.textContent = tare !== null && payload !== null ? `Tare and payload make ${kg(tare + payload)}.` : "";
  } else if (payload === null) {
    place.textContent = `Leaves a payload of ${kg(gross - tare)}.`;
  } else if (tare + payload === gross) {
    place.textContent = `✓ ${kg(tare)} and ${kg(payload)} make ${kg(gross)}.`;
    place.dataset.weight = "good";
  } else {
    const off = tare + payload - gross;
    place.textContent = `✗ ${kg(tare)} and ${kg(payload)} make ${kg(tare + payload)}: ${kg(Math.abs(off))} too ${off > 0 ? "much" : "little"}. Read them again.`;
    place.dataset.weight = "stop";
  }
}

function numberIn(input) {
  return input.value.trim() === "" ? null : (wholeNumber(input.value, true) ?? NaN);
}

let sizeTimer;
async function showSize() {
  const place = field("size-says");
  const code = field("size_type").value.trim();
  clearTimeout(sizeTimer);
  const table = await tables;
  place.dataset.weight = "";
  place.textContent = code && table ? sizeWords(table, code) : "";
  if (code.length < 4) return;
  sizeTimer = setTimeout(() => void askSize(code, place), PAUSE_MS);
}

async function askSize(code, place) {
  const answer = await fetch(`/api/check?size_type=${encodeURIComponent(code)}`).catch(() => null);
  if (!answer?.ok || field("size_type").value.trim() !== code) return;
  const { decoded, findings } = await answer.json();
  const said = decoded.size_type ?? {};
  const words = [said.length, said.height && `${said.height} high`, said.meanings?.[0]?.type ?? said.type];
  const doubt = findings.find((one) => one.severity === "doubt");
  place.textContent = doubt ? doubt.message : words.filter(Boolean).join(", ");
  place.dataset.weight = doubt ? "stop" : "good";
}

function arrived(event) {
  picks.find((pick) => pick.dataset.mark === event.mark?.replace(/[^A-Z0-9]/gi, "").toUpperCase())
    ?.closest("li").remove();
  const left = document.querySelectorAll(".pick").length;
  const count = document.querySelector("#expected .count");
  if (count) count.textContent = left;
  // After the form was emptied, so must what stood beside its fields be.
  setTimeout(() => {
    for (const name of ["mark", "size_type", "gross"]) field(name).dispatchEvent(new Event("input"));
    field("known").replaceChildren();
    if (field("expected")) field("expected").open = true;
    field("placards-care").hidden = true;
    field("batch").value = "";
    field("mark").focus();
  });
}

function kg(mass) {
  return `${String(mass).replace(/\B(?=(\d{3})+$)/g, "\u202f")}\u202fkg`;
}

function line(words, weight = "") {
  const paragraph = document.createElement("p");
  paragraph.textContent = words;
  paragraph.dataset.weight = weight;
  return paragraph;
}
