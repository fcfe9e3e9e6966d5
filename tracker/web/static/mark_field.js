// A field for a mark: split as it is typed, its digit checked on the device, and by the server
// where there is a signal, which also knows the unit.

import * as marks from "./marks.js";

const PAUSE_MS = 180;

/** Return the tables that checking takes; from the cache without a signal. */
export const tables = fetch("/capture/marks.json").then((answer) => answer.json()).catch(() => null);

/**
 * Watch a field. `expected` are marks to suggest first; `onKnown(unit, mark)` hears what the server
 * knows of a sound mark: its record, or null. `leaves` says that the box stands here and goes.
 */
export function watchMark(field, { expected = [], leaves = false, onKnown = () => undefined } = {}) {
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
    if (table === null) return;
    const read = marks.readMark(table, text);
    showSplit(split, read);
    say(read.sound && !read.says ? "" : read.says, read.whole && !read.sound ? "stop" : "");
    offer(read.sound ? [] : marks.suggest(table, text, expected));
    onKnown(undefined, read.sound ? read.read : null);
    if (read.read.length >= 10) timer = setTimeout(() => void askServer(text, read, asked.signal), PAUSE_MS);
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
      button.textContent = marks.written(mark);
      button.addEventListener("click", () => {
        field.value = marks.written(mark);
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
