// The entries of this device as its pages show them: what needs eyes first, then what waits.

import { mendForm } from "./put_right.js";
import { depotZones, inZone, timeIn } from "./moments.js";
import { hasGrave, isDone, isOpen, list, remove } from "./outbox.js";

const WORDS = {
  waiting: "waits for a signal",
  sent: "accepted, being checked",
  recorded: "recorded",
  refused: "refused",
  held: "kept, but not understood: an operator looks at it",
  conflict: "not taken",
  rejected: "not taken",
};
const SENDING = { later: "No signal", "sign-in": "Sign in as the person who made them, and they are sent" };

/** Who made the entries of this page, as the server knew when it was opened. */
export function person() {
  const { person: name, shownAs } = document.getElementById("attention").dataset;
  return { name, shownAs };
}

/** Say something at the top of the page; weights are good, care and stop. */
export function tell(words, weight = "") {
  const told = document.getElementById("told");
  told.textContent = words;
  told.dataset.weight = weight;
}

/** Show the entries as they are now; `came` is what the last sending came to. */
export async function showEntries(came) {
  const [listed, zones] = await Promise.all([list(), depotZones()]);
  const entries = listed.reverse();
  const eyes = entries.filter((one) => !isOpen(one) && !isDone(one));
  const others = entries.filter((one) => isOpen(one) || isDone(one));
  fill(document.getElementById("attention"), eyes, zones);
  fill(document.getElementById("entries"), others, zones);
  const open = entries.filter(isOpen).length;
  const state = document.getElementById("entries-state");
  if (came !== undefined || !open) {
    const why = SENDING[came];
    state.textContent = open ? `${open} to send. ${why ? `${why}.` : ""}` : "";
    document.documentElement.toggleAttribute("data-no-signal", came === "later");
  }
}

function fill(section, entries, zones) {
  const list = section.querySelector("ol");
  // A row that asks for something stays: somebody may be typing in it.
  const asking = new Map([...list.children].filter((row) => row.dataset.asks).map((row) => [row.dataset.asks, row]));
  const rows = entries.map((entry) => (isToMend(entry) && asking.get(entry.id)) || rowOf(entry, zones[entry.event.depot]));
  list.replaceChildren(...rows);
  section.hidden = entries.length === 0;
}

const isToMend = (entry) => entry.faults?.length > 0;

function rowOf(entry, zone) {
  const row = document.getElementById("entry-form").content.cloneNode(true).firstElementChild;
  row.dataset.state = entry.state;
  row.querySelector(".mark").textContent = entry.event.mark ?? entry.event.tag ?? "";
  const at = new Date(entry.event.happened_at);
  row.querySelector(".entry-kind").textContent = `${saidOf(entry)}, ${timeIn(at, zone)}`;
  const pictures = entry.photos.filter((one) => one.blob).length;
  const still = pictures ? `, ${pictures} photo${pictures > 1 ? "s" : ""} to send` : "";
  const isAsked = entry.state === "recorded" && entry.says.some((one) => one.weight === "doubt");
  const asks = isAsked ? ", with a question that a person must settle" : "";
  row.querySelector(".entry-state").textContent = WORDS[entry.state] + asks + still;
  row.querySelector(".entry-says").replaceChildren(...entry.says.map((one) => sayingOf(one, zone)));
  const link = row.querySelector(".entry-link");
  link.hidden = !(entry.state === "recorded" && hasGrave(entry));
  link.href = pathOfVerdict(entry);
  if (isToMend(entry)) {
    row.dataset.asks = entry.id;
    row.querySelector(".entry-state").textContent = "not reported yet: put this right, all else is kept";
    row.querySelector(".entry-says").after(mendForm(entry));
  }
  const button = row.querySelector(":scope > button");
  button.textContent = isToMend(entry) ? "Do not report it" : button.textContent;
  button.hidden = isOpen(entry) || isDone(entry);
  button.addEventListener("click", async () => {
    await remove(entry.seq);
    document.getElementById("content").focus();
  });
  return row;
}

/** Return where the verdict of an entry is told on the page of its unit. */
export function pathOfVerdict({ id, event }) {
  const name = event.mark ?? `#${event.depot}/${event.tag}`;
  return `/units/${encodeURIComponent(name)}?told=${id}`;
}

/** What a decision asked for is said as asked until it is granted. */
function saidOf(entry) {
  return entry.state === "recorded" ? entry.said : entry.asked || entry.said;
}

function sayingOf({ weight, text }, zone) {
  const item = document.createElement("li");
  const strong = document.createElement("b");
  strong.textContent = `${weight[0].toUpperCase()}${weight.slice(1)}: `;
  item.className = `says-${weight}`;
  item.append(strong, inZone(text, zone));
  return item;
}
