// An entry that could not be read: its maker is asked for what is wrong, by the field's own label;
// all else stays as it was filled in. The server's pages/put_right.py does the same without script.

import { readFields } from "./form_fields.js";
import { newId } from "./ids.js";
import { update } from "./outbox.js";

/** Return what of a form an entry keeps to be put right by: its fields, and what they are called. */
export function keepForm(form, pairs) {
  const labels = {};
  const hints = {};
  for (const field of form.elements) {
    if (!field.name) continue;
    labels[field.name] ??= labelOf(field);
    if (field.title) hints[field.name] ??= field.title;
  }
  return { pairs: pairs.filter(([, value]) => typeof value === "string"), labels, hints };
}

/** Return the form that asks for what is wrong with an entry. */
export function mendForm(entry) {
  const form = document.createElement("form");
  form.className = "stack mend";
  const inputs = entry.faults.map((fault) => inputFor(entry, fault, form));
  const button = document.createElement("button");
  button.className = "wide";
  button.textContent = "Send it again";
  form.append(button);
  form.addEventListener("submit", (submit) => {
    submit.preventDefault();
    void sendAgain(entry, inputs);
  });
  return form;
}

function labelOf(field) {
  const label = field.labels?.[0]?.cloneNode(true) ?? field.closest("fieldset")?.querySelector("legend")?.cloneNode(true);
  label?.querySelectorAll(".hint, input").forEach((part) => part.remove());
  return label?.textContent.trim() ?? "";
}

function inputFor(entry, fault, form) {
  const name = nameOf(entry.form.pairs, fault.field) ?? (fault.field || "mark");
  const label = document.createElement("label");
  const input = document.createElement("input");
  const says = document.createElement("p");
  input.id = `mend-${entry.id}-${name}`;
  label.htmlFor = input.id;
  label.textContent = entry.form.labels[name] || name.split(":")[0].replaceAll(/[._]/g, " ");
  input.name = name;
  input.value = entry.form.pairs.find(([one]) => one === name)?.[1] ?? "";
  input.autocomplete = "off";
  says.id = `${input.id}-why`;
  says.className = "fault";
  says.textContent = [fault.says, entry.form.hints[name]].filter(Boolean).join(" ");
  input.setAttribute("aria-describedby", says.id);
  form.append(label, input, says);
  return input;
}

/** Each filled field says its own name: so an event's path leads back to the form's field. */
function nameOf(pairs, path) {
  let at = readFields(pairs.map(([name, value]) => [name, name.startsWith("!") ? value : value.trim() && name]));
  for (const part of path.split(".")) at = at?.[part];
  return typeof at === "string" ? at : null;
}

async function sendAgain(entry, inputs) {
  const put = new Map(inputs.map((input) => [input.name, input.value]));
  const pairs = entry.form.pairs.map(([name, value]) => [name, put.get(name) ?? value]);
  for (const [name, value] of put) {
    if (!pairs.some(([one]) => one === name)) pairs.push([name, value]);
  }
  const { happened_at, reported_by, source } = entry.event;
  const id = newId();
  const event = { ...readFields(pairs), id, happened_at, reported_by, source };
  await update({ ...entry, id, event, form: { ...entry.form, pairs }, faults: [], says: [], state: "waiting" });
  document.dispatchEvent(new Event("send"));
}
