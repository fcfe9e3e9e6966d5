// Fields of a form as the JSON of an event. The server's pages/form_fields.py does the same and
// says how fields are named; a test holds the two together.

/** Return what a form's entries say, nested as their names tell; what is empty is left out. */
export function readFields(pairs) {
  const said = {};
  const needs = [];
  for (const [name, raw] of pairs) {
    if (typeof raw !== "string") continue;
    const value = raw.trim();
    if (name.startsWith("!")) needs.push([name.slice(1), value]);
    else if (value) put(said, name, value);
  }
  for (const [path, lead] of needs) dropUnfilled(said, path, lead);
  return tidy(said);
}

/** Write a value where a dotted path says, making what lies between. */
export function putAt(event, path, value) {
  const parts = path.split(".");
  const last = parts.pop();
  let at = event;
  for (const part of parts) at = at[part] ??= {};
  at[last] = value;
}

function put(said, name, value) {
  const [path, kind = ""] = name.split(":");
  const parts = path.split(".");
  const last = parts.pop();
  let at = said;
  for (const part of parts) at = at[part] ??= {};
  if (kind === "list") (at[last] ??= []).push(value);
  else at[last] = typed(value, kind);
}

function typed(value, kind) {
  if (kind === "bool") return value === "yes";
  if (kind !== "int") return value;
  const plain = value.replace(/[\s.,'\u2009\u202f]/g, "");
  return /^[0-9]+$/.test(plain) ? Number(plain) : value;
}

function dropUnfilled(said, path, lead) {
  const items = said[path];
  if (items === undefined) return;
  said[path] = Object.fromEntries(Object.entries(items).filter(([, item]) => lead in item));
}

function tidy(value) {
  if (value === null || typeof value !== "object" || Array.isArray(value)) return value;
  const kept = Object.entries(value)
    .map(([name, one]) => [name, tidy(one)])
    .filter(([, one]) => typeof one !== "object" || Object.keys(one).length > 0);
  const names = kept.map(([name]) => name);
  if (names.length && names.every((name) => /^[0-9]+$/.test(name))) {
    return kept.sort(([one], [other]) => one - other).map(([, item]) => item);
  }
  return Object.fromEntries(kept);
}
