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
  nameByTag(said);
  return tidy(said);
}

/** `#T-12`, or `#NORTH/T-12` at NORTH, is the depot's tag number T-12 and no mark. */
function nameByTag(said) {
  if (typeof said.mark !== "string" || !said.mark.startsWith("#")) return;
  const text = said.mark.slice(1);
  const tag = (text.startsWith(`${said.depot}/`) ? text.slice(`${said.depot}/`.length) : text).trim();
  if (!tag) return;
  delete said.mark;
  said.tag ??= tag;
}

/** Write a value where a dotted path says, making what lies between. */
export function putAt(event, path, value) {
  const parts = path.split(".");
  const last = parts.pop();
  let at = event;
  for (const part of parts) at = at[part] ??= {};
  at[last] = value;
}

/** Add a value, once, to the list at a dotted path. */
export function addAt(event, path, value) {
  const parts = path.split(".");
  const last = parts.pop();
  const at = parts.reduce((one, part) => (one[part] ??= {}), event);
  at[last] = [...new Set([...(at[last] ?? []), value])];
}

/** Return a path as it is once the items of a form's list stand one after the other, gaps closed. */
export function closedUp(path, names) {
  const [list, number, ...rest] = path.split(".");
  if (!/^[0-9]+$/.test(number)) return path;
  const numbers = new Set(names.map((name) => name.split(".")).filter(([one, part]) => one === list && /^[0-9]+$/.test(part)).map(([, part]) => Number(part)));
  return [list, [...numbers].filter((one) => one < Number(number)).length, ...rest].join(".");
}

function put(said, name, value) {
  const [path, kind = ""] = name.split(":");
  const parts = path.split(".");
  const last = parts.pop();
  let at = said;
  for (const part of parts) at = at[part] ??= {};
  if (kind === "list") (at[last] ??= []).push(value);
  else at[last] = typed(last, value, kind);
}

function typed(name, value, kind) {
  if (kind === "bool") return value === "yes";
  if (kind === "money") return amount(value) ?? value;
  if (kind !== "int") return value;
  return wholeNumber(value, /_(kg|lb|n)$/.test(name)) ?? value;
}

/** Return a whole number as typed, undefined where it is none; only of a mass thousands may be apart. */
export function wholeNumber(text, isMass) {
  const value = text.trim();
  const isGrouped = isMass && /^[0-9]{1,3}([\s.,'’])[0-9]{3}(\1[0-9]{3})*$/.test(value);
  const plain = isGrouped ? value.replace(/[^0-9]/g, "") : value;
  return /^[0-9]{1,18}$/.test(plain) ? Number(plain) : undefined;
}

/** Return the words against what a field holds, where it asks for a whole number and has none. */
export function faultIn(name, value) {
  const [path, kind = ""] = name.split(":");
  if (kind !== "int" || !value.trim() || typeof typed(path.split(".").pop(), value.trim(), kind) === "number") return "";
  return `Whole numbers only: “${value.trim()}” is none.`;
}

function amount(value) {
  if (/^[1-9][0-9]{0,2}[.,][0-9]{3}$/.test(value)) return null; // thousands, or three decimals
  const found =
    /^([1-9][0-9]{0,2}([\s.,'\u2019])[0-9]{3}(?:\2[0-9]{3})*)(?:(?!\2)[.,]([0-9]{1,3}))?$/.exec(value) ??
    /^([0-9]+)()(?:[.,]([0-9]{1,3}))?$/.exec(value);
  if (!found) return null;
  const whole = found[1].replace(/[^0-9]/g, "");
  return found[3] === undefined ? whole : `${whole}.${found[3]}`;
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
