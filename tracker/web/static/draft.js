// What is typed into a long form is kept on the device until it is recorded: a page loaded anew, a
// choice above the form, or a phone that dies loses none of it. Photos are no part of it.

import { person, tell } from "./entries.js";
import { DRAFT } from "./leaving.js";

const OLD_MS = 24 * 3600 * 1000;

/** Keep what is typed into a form; `before(names)` makes the fields that a draft needs. */
export function keepDraft(form, { before = () => undefined } = {}) {
  const key = [DRAFT, person().name, form.dataset.draft].join(" ");
  const pairs = read(key);
  if (pairs.length) restore(form, pairs, before);
  for (const happening of ["input", "change"]) form.addEventListener(happening, () => write(key, typedInto(form)));
  form.addEventListener("captured", () => localStorage.removeItem(key));
}

function typedInto(form) {
  const own = [...form.elements].filter((one) => one.name && one.type !== "hidden" && one.type !== "file");
  const names = new Set(own.map((one) => one.name));
  return [...new FormData(form)].filter(([name, value]) => names.has(name) && typeof value === "string" && value);
}

function write(key, pairs) {
  if (pairs.length) localStorage.setItem(key, JSON.stringify({ at: Date.now(), pairs }));
  else localStorage.removeItem(key);
}

function read(key) {
  try {
    const { at, pairs } = JSON.parse(localStorage.getItem(key)) ?? { pairs: [] };
    return Date.now() - at > OLD_MS ? [] : pairs;
  } catch {
    return [];
  }
}

function restore(form, pairs, before) {
  before(pairs.map(([name]) => name));
  for (const field of [...form.elements].filter((one) => one.name && one.type !== "hidden" && one.type !== "file")) {
    const values = pairs.filter(([name]) => name === field.name).map(([, value]) => value);
    if (field.type === "checkbox" || field.type === "radio") field.checked = values.includes(field.value);
    else if (values.length) field.value = values[0];
    else continue;
    field.dispatchEvent(new Event("change", { bubbles: true }));
  }
  form.dispatchEvent(new Event("input", { bubbles: true }));
  tell("What you had filled in here is back; nothing of it is recorded yet. Photos are to be taken again.", "care");
}
