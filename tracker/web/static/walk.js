// Walking the stacks: the slot stays while mark after mark is read, and what was found goes from the
// list of what is missed.

import { watchMark } from "./mark_field.js";

const form = document.getElementById("seen");
const slot = document.getElementById("slot");
const mark = document.getElementById("mark");
const check = document.getElementById("check");
const known = document.getElementById("known");
const missed = [...document.querySelectorAll("#missed .pick")];

watchMark(mark, { expected: missed.map((one) => one.dataset.mark).filter(Boolean), onKnown: showKnown });
slot.addEventListener("input", () => {
  const { selectionStart } = slot;
  slot.value = slot.value.toUpperCase();
  slot.setSelectionRange(selectionStart, selectionStart);
});
form.addEventListener("change", ({ target }) => {
  // A move says nothing of a check; whoever moves a unit has seen it all the same.
  if (target.name === "kind" && check) check.disabled = target.value === "restow";
});
form.addEventListener("captured", ({ detail }) => {
  slot.defaultValue = slot.value;
  if (check) check.disabled = false;
  const name = detail.mark?.replace(/[^A-Z0-9]/gi, "").toUpperCase() ?? detail.tag.toUpperCase();
  const found = missed.find((one) => one.dataset.mark === name);
  found?.closest("li").remove();
  const count = document.querySelector("#missed .count");
  if (count) count.textContent = Number(count.textContent) - (found ? 1 : 0);
  setTimeout(() => {
    mark.dispatchEvent(new Event("input"));
    mark.focus();
  });
});

/** Say where the record has the unit; undefined: not asked yet, null: not known. */
function showKnown(unit) {
  known.replaceChildren();
  if (unit === undefined) return;
  const paragraph = document.createElement("p");
  known.append(paragraph);
  const isHere = unit?.presence === "in-depot";
  if (unit === null) paragraph.textContent = "New here: the record knows nothing of it.";
  else if (!isHere) paragraph.textContent = "By the record it is not here. Its sighting asks somebody how it came.";
  else if (!unit.slot) paragraph.textContent = "Here by the record, in no slot.";
  else paragraph.textContent = `By the record at ${unit.slot}.`;
  paragraph.dataset.weight = isHere && (!unit.slot || unit.slot === slot.value.trim()) ? "good" : "care";
}
