// An inspection: the air comes first, damages are added as they are found, lines hide without plate.

const form = document.getElementById("inspection");
const more = document.getElementById("more-damage");
const damages = document.getElementById("damages");
const air = [...form.querySelectorAll("[data-air]")];
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
  const look = () => {
    lines.disabled = noPlate.checked;
    lines.hidden = noPlate.checked;
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
    const number = rows().length;
    const markup = document.getElementById("damage-form").innerHTML.replaceAll("NUMBER", String(number));
    damages.insertAdjacentHTML("beforeend", markup);
    const row = rows().at(-1);
    row.querySelector(".damage-number").textContent = number + 1;
    row.querySelector("select").focus();
  });
  form.addEventListener("captured", () => {
    for (const row of rows().slice(1)) row.remove();
  });
}
