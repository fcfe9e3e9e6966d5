// An inspection: the air comes first, damages are added as they are found, lines hide without plate.

import { keepDraft } from "./draft.js";

const form = document.getElementById("inspection");
const more = document.getElementById("more-damage");
const damages = document.getElementById("damages");
const air = [...form.querySelectorAll("[data-air]")];
const MOST = 99;
const noPlate = document.getElementById("no-plate");

watchAir();
watchPlate();
watchDamages();

function watchAir() {
  const inside = [...form.querySelectorAll("[data-inside]")];
  const look = () => {
    const isSeenTo = air.some((one) => (one.type === "checkbox" ? one.checked : one.value === "clear"));
    for (const item of inside) {
      item.disabled = !isSeenTo;
      item.title = isSeenTo ? "" : "First see to the air, at the top";
    }
  };
  for (const one of air) one.addEventListener("change", look);
  form.addEventListener("reset", () => setTimeout(look));
  look();
}

function watchPlate() {
  const lines = document.getElementById("plate-lines");
  const looker = document.getElementById("seen_by");
  const look = () => {
    lines.disabled = noPlate.checked;
    lines.hidden = noPlate.checked;
    looker.required = noPlate.checked;
  };
  noPlate?.addEventListener("change", look);
  form.addEventListener("reset", () => setTimeout(look));
}

function watchDamages() {
  const rows = () => [...damages.querySelectorAll("[data-damage]")];
  // With script one row is enough to begin with.
  for (const row of rows().slice(1)) row.remove();
  more.hidden = false;
  more.addEventListener("click", () => {
    addRow().querySelector("select").focus();
  });
  function addRow() {
    const number = rows().length;
    const markup = document.getElementById("damage-form").innerHTML.replaceAll("NUMBER", String(number));
    damages.insertAdjacentHTML("beforeend", markup);
    const row = rows().at(-1);
    row.querySelector(".damage-number").textContent = number + 1;
    return row;
  }
  for (const happening of ["input", "change"]) {
    damages.addEventListener(happening, ({ target }) => {
      const row = target.closest("[data-damage]");
      if (target.matches("[data-firm]") && target.value) row.querySelector("[data-on-lorry]").checked = true;
      // After photos.js has taken a photo over.
      setTimeout(() => need(row));
    });
  }
  form.addEventListener("captured", () => {
    for (const row of rows().slice(1)) row.remove();
  });
  form.addEventListener("reset", () => setTimeout(() => rows().forEach(need)));
  keepDraft(form, {
    before: (names) => {
      const last = Math.max(0, ...names.map((name) => Number(/^damages\.(\d+)\./.exec(name)?.[1] ?? 0)));
      while (rows().length <= Math.min(last, MOST)) addRow();
    },
  });
}

/** Of a damage of which anything is said, it must be said on what it is and of which kind. */
function need(row) {
  const fields = [...row.querySelectorAll("input:not([type=file]), select")];
  const isTouched = fields.some((one) => (one.type === "checkbox" ? one.checked : one.value.trim()))
    || row.querySelector(".shots > li") !== null;
  for (const one of row.querySelectorAll("[data-damage-needs]")) one.required = isTouched;
}
