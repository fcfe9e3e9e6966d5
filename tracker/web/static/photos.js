// Photos of a form: shown at once, sent at once where there is a signal, so that one too dark is
// taken again while the box still stands there; without one they wait with the entry.

import { askWhoIAm, sendPhoto } from "./sending.js";

const shots = new WeakMap();

/** Return the photos taken for a form, each with the path that the event keeps its digest at. */
export function shotsOf(form) {
  return shots.get(form) ?? [];
}

/** Begin anew, once an entry has them. */
export function forgetShots(form) {
  shots.delete(form);
  for (const list of form.querySelectorAll(".shots")) list.replaceChildren();
}

/** Add a picture that is not from a file: a signature. Replaces one of the same name. */
export function addShot(form, name, blob) {
  const kept = shotsOf(form).filter((one) => one.name !== name);
  shots.set(form, blob ? [...kept, { name, path: "photos", blob, digest: null }] : kept);
}

/** Take over the file fields of a form, with what was chosen before this script had come. */
export function watchPhotos(form) {
  for (const field of form.querySelectorAll("[data-photo] input[type=file]")) takeAll(form, field);
  // On the form, since a row with a field of its own may be added later.
  form.addEventListener("change", ({ target }) => {
    if (target.matches("[data-photo] input[type=file]")) takeAll(form, target);
  });
}

function takeAll(form, field) {
  const list = field.closest("[data-photo]").querySelector(".shots");
  for (const file of field.files) void take(form, field, list, file);
  field.value = "";
}

async function take(form, field, list, file) {
  const path = field.name.slice(1);
  const shot = { path, blob: file, digest: null };
  const isOneOfMany = path.endsWith("photos");
  const others = shotsOf(form).filter((one) => isOneOfMany || one.path !== path);
  shots.set(form, [...others, shot]);
  if (!isOneOfMany) list.replaceChildren();
  const row = rowFor(file, () => shots.set(form, shotsOf(form).filter((one) => one !== shot)));
  list.append(row);
  await look(shot, row.querySelector(".shot-says"));
}

/** Send a photo now if that is possible, and say whether it can be read. */
async function look(shot, says) {
  says.textContent = "looking at it";
  try {
    const me = await askWhoIAm();
    if (me === null) throw new Error("nobody is signed in");
    const kept = await sendPhoto(shot.blob, me.csrf_token);
    shot.digest = kept.digest ?? null;
    says.textContent = kept.refused ?? (kept.says.join(" ") || "clear");
    says.dataset.weight = kept.refused || kept.says.length ? "care" : "good";
  } catch {
    says.textContent = "kept on this device, sent later";
  }
}

function rowFor(file, remove) {
  const row = document.createElement("li");
  const picture = document.createElement("img");
  picture.src = URL.createObjectURL(file);
  picture.alt = "The photo just taken";
  const says = document.createElement("span");
  says.className = "shot-says";
  const away = document.createElement("button");
  away.type = "button";
  away.className = "quiet";
  away.textContent = "Remove";
  away.addEventListener("click", () => {
    remove();
    row.remove();
    URL.revokeObjectURL(picture.src);
  });
  row.append(picture, says, away);
  return row;
}
