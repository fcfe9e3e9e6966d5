// A field for a mark: split as it is typed, its digit checked on the device, and by the server
// where there is a signal, which also knows the unit. Its last digits alone, or the depot's tag number,
// are looked up among the units it may be.

import * as marks from "./marks.js";

const PAUSE_MS = 180;
const FEWEST_DIGITS = 3;
const MOST_OFFERED = 8;
const TAG = /^#?[A-Z0-9][A-Z0-9./-]{0,23}$/i;

/** Return the tables that checking takes; from the cache without a signal. */
export const tables = fetch("/capture/marks.json").then((answer) => answer.json()).catch(() => null);

/**
 * Watch a field. `expected` are marks to suggest first; `onKnown(unit, mark)` hears what the server
 * knows of a sound mark or of a tag number: its record, or null. `leaves` says that the box stands
 * here and goes, `comes` that it stands elsewhere.
 */
export function watchMark(field, { expected = [], leaves = false, comes = false, onKnown = () => undefined } = {}) {
  const split = document.getElementById("mark-split");
  const says = document.getElementById("mark-says");
  const offers = document.getElementById("mark-offers");
  let asked = new AbortController();
  let timer;
  // Not on change: that comes with the tap on an offer, and would draw the offers anew under it.
  field.addEventListener("input", () => void look());
  if (field.value) void look();

  async function look() {
    asked.abort();
    asked = new AbortController();
    clearTimeout(timer);
    const table = await tables;
    const text = field.value;
    if (text.trim().startsWith("#")) return lookAtTag(text.trim(), asked.signal);
    if (marks.isLastDigits(text)) return lookAtDigits(text.replace(/\s/g, ""), asked.signal);
    if (table === null) return;
    const read = marks.readMark(table, text);
    showSplit(split, read);
    say(read.sound && !read.says ? "" : read.says, read.whole && !read.sound ? "stop" : "");
    offer(read.sound ? [] : marks.suggest(table, text, expected));
    onKnown(undefined, read.sound ? read.read : null);
    if (read.read.length >= 10) timer = setTimeout(() => void askServer(text, read, asked.signal), PAUSE_MS);
    else if (TAG.test(text.trim())) timer = setTimeout(() => void offerTag(text.trim(), asked.signal), PAUSE_MS);
  }

  function lookAtTag(text, signal) {
    split.replaceChildren();
    say("The depot’s own tag number, for a box whose number cannot be read.", "");
    offer([]);
    onKnown(undefined, null);
    timer = setTimeout(() => void askUnit(tagged(text), signal).then((unit) => onKnown(unit, null)).catch(() => undefined), PAUSE_MS);
  }

  /** A tag number typed without its sign: offered with it, where it is known. */
  async function offerTag(text, signal) {
    const unit = await askUnit(tagged(text), signal).catch(() => null);
    if (unit && !comes) offer([`#${text.toUpperCase()}`]);
  }

  function tagged(text) {
    const depot = field.form?.elements.depot?.value ?? "";
    return `#${depot}/${text.replace(/^#/, "").toUpperCase()}`;
  }

  function lookAtDigits(digits, signal) {
    split.replaceChildren();
    onKnown(undefined, null);
    const known = expected.filter((mark) => mark.endsWith(digits) || mark.slice(0, -1).endsWith(digits));
    const enough = digits.length >= FEWEST_DIGITS;
    say(enough ? "The last digits: compare the whole number with the box, then tap it." : "", "");
    offer(enough ? known.slice(0, MOST_OFFERED) : []);
    timer = setTimeout(() => void askDigits(digits, known, enough, signal), PAUSE_MS);
  }

  async function askDigits(digits, known, enough, signal) {
    try {
      const unit = comes ? null : await askUnit(tagged(digits), signal);
      const found = enough ? await listEndingSo(digits, signal) : [];
      const offered = [...(unit ? [`#${digits}`] : []), ...new Set([...known, ...found])];
      offer(offered.slice(0, MOST_OFFERED));
      if (enough && !offered.length) say(comes ? "Nothing that is expected or was here ends so. Type the whole number." : "Nothing here ends so. Type the whole number.", "care");
    } catch {
      // No signal, or typed on: what the device knows stands.
    }
  }

  async function listEndingSo(digits, signal) {
    const said = new URLSearchParams({ digits, size: "100" });
    const depot = field.form?.elements.depot?.value;
    if (!comes && depot) said.set("depot", depot);
    if (!comes) said.set("presence", "in-depot");
    const { units } = await ask(`/api/stock?${said}`, signal);
    const wanted = comes ? units.filter((one) => ["expected", "away"].includes(one.presence)) : units;
    wanted.sort((one, other) => (other.presence === "expected") - (one.presence === "expected"));
    return wanted.map((one) => one.mark).filter(Boolean);
  }

  async function askServer(text, read, signal) {
    try {
      const said = new URLSearchParams({ mark: text });
      const depot = field.form?.elements.depot?.value;
      if (depot) said.set("depot", depot);
      if (leaves) said.set("leaves", "true");
      const checked = await ask(`/api/check?${said}`, signal);
      const doubt = checked.findings.find((one) => one.severity === "doubt");
      const first = doubt ?? checked.findings.find((one) => one.severity === "warn");
      if (first) say(first.message, doubt ? "stop" : "care");
      if (!read.sound) offer(checked.suggestions);
      if (read.sound) onKnown(await askUnit(read.read, signal), read.read);
    } catch {
      // No signal, or typed on: what the device knows stands.
    }
  }

  function say(words, weight) {
    says.textContent = words;
    says.dataset.weight = weight;
  }

  function offer(found) {
    const shown = found.join();
    if (shown === offers.dataset.shown) return;
    offers.dataset.shown = shown;
    offers.replaceChildren(...found.map((mark) => {
      const button = document.createElement("button");
      button.type = "button";
      button.className = "quiet mark";
      const text = mark.startsWith("#") ? mark : marks.written(mark);
      button.textContent = text;
      button.addEventListener("click", () => {
        field.value = text;
        field.dispatchEvent(new Event("input", { bubbles: true }));
        field.focus();
      });
      return button;
    }));
  }
}

function showSplit(place, read) {
  const [owner, category, serial, digit] = read.parts;
  const parts = [["owner", owner], ["kind", category], ["serial", serial], ["digit", digit]];
  place.replaceChildren(...parts.filter(([, text]) => text).map(([name, text]) => {
    const part = document.createElement("span");
    part.className = `part part-${name}`;
    part.textContent = text;
    return part;
  }));
  if (!read.whole) return;
  const word = document.createElement("span");
  word.className = read.sound ? "good" : "stop";
  word.textContent = read.sound ? "✓ digit right" : "✗ digit wrong";
  place.append(word);
}

async function askUnit(mark, signal) {
  const answer = await fetch(`/api/units/${encodeURIComponent(mark)}`, { signal });
  return answer.ok ? (await answer.json()).record : null;
}

async function ask(path, signal) {
  const answer = await fetch(path, { signal });
  if (!answer.ok) throw new Error(`${answer.status}`);
  return await answer.json();
}
