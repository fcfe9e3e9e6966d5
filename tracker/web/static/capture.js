// Every page of the gate and the workshop: what its forms report is kept on the device first and
// sent from there, with or without a signal. Without this script the forms post to the server.

import { newId, momentHere } from "./ids.js";
import { closedUp, faultIn, readFields } from "./form_fields.js";
import * as outbox from "./outbox.js";
import { askWhoIAm, sendWaiting } from "./sending.js";
import { shotsOf, forgetShots, watchPhotos } from "./photos.js";
import { keepForm } from "./put_right.js";
import { pathOfVerdict, person, showEntries, tell } from "./entries.js";

const AGAIN_MS = 8000;
const ASK_AGAIN_MS = 1000; // the server keeps each question for some seconds itself
const NOT_OF_EVENT = ["csrf_token", "form", "back"];

let sending = Promise.resolve();
let timer;
let followed = null;
// On a slow phone something is typed or photographed before this script has come.
let isTouched = [...document.querySelectorAll("input, textarea")].some(isFilledIn);

for (const form of document.querySelectorAll("form[data-capture]")) {
  form.addEventListener("submit", (submit) => void capture(submit, form));
}
for (const form of document.querySelectorAll("form")) watchPhotos(form);
for (const select of document.querySelectorAll("select[data-sends]")) {
  select.form.querySelector("button")?.setAttribute("hidden", "");
  const chosen = select.value;
  select.addEventListener("change", () => {
    const hasShots = [...document.querySelectorAll("form[data-capture]")].some((one) => shotsOf(one).length);
    if (!hasShots || confirm("The photos taken here are not recorded yet, and go by this. Go on?")) select.form.requestSubmit();
    else select.value = chosen;
  });
}
document.addEventListener("input", ({ target }) => {
  isTouched = true;
  target.setCustomValidity?.("");
});
document.addEventListener("invalid", ({ target }) => unfold(target), true);
navigator.serviceWorker?.addEventListener("message", ({ data }) => {
  if (data?.fresh !== location.href) return;
  if (!isTouched) location.reload();
  else tell("This page was kept on the device; a newer one has come since. Load it again when you are done.", "care");
});
outbox.onChange(() => {
  void showEntries();
  void followUp();
});
document.addEventListener("send", () => void sendAll());
addEventListener("online", () => void sendAll());
addEventListener("pageshow", (shown) => shown.persisted && void sendAll());
document.addEventListener("visibilitychange", () => {
  if (document.visibilityState === "visible") void sendAll();
});
void beginServiceWorker();
void navigator.storage?.persist?.();
void showEntries();
void sendAll();

function isFilledIn(field) {
  return field.value !== field.defaultValue || field.checked !== field.defaultChecked || field.files?.length > 0;
}

/** Keep what a form reports, then send it. */
async function capture(submit, form) {
  submit.preventDefault();
  const button = form.querySelector("button[type=submit]");
  if (button.disabled) return;
  if (!hasWhatItNeeds(form, button) || !isReadable(form) || isEmpty(form)) return;
  button.disabled = true;
  try {
    if (form.hasAttribute("data-online") && !(await isThereSignal())) {
      tell("No signal: this can only be asked with one. Try again, or ask the desk by telephone.", "stop");
      return;
    }
    await keepAndSend(form);
  } finally {
    button.disabled = false;
  }
}

async function keepAndSend(form) {
  const pairs = [...new FormData(form)].filter(([name]) => !NOT_OF_EVENT.includes(name));
  const event = eventOf(pairs);
  const filled = [...new FormData(form)].filter(([, value]) => typeof value === "string" && value.trim()).map(([name]) => name);
  const entry = {
    id: event.id,
    by: person().name,
    event,
    form: keepForm(form, pairs),
    said: form.dataset.says ?? "",
    asked: form.dataset.asks ?? "",
    photos: shotsOf(form).map(({ path, blob, digest }) => ({
      path: closedUp(path, filled),
      digest,
      blob: digest ? null : blob,
    })),
  };
  try {
    await outbox.add(entry);
  } catch {
    // This browser keeps nothing for us: let it send the form itself.
    form.submit();
    return;
  }
  form.dispatchEvent(new CustomEvent("captured", { detail: event }));
  forgetShots(form);
  form.reset();
  isTouched = false;
  tell(`${nameOf(event)}: kept on this device`);
  await sendAll();
  await follow(event.id, form);
}

function eventOf(pairs) {
  return {
    ...readFields(pairs),
    id: newId(),
    happened_at: momentHere(),
    reported_by: person().shownAs,
    source: matchMedia("(pointer: coarse)").matches ? "phone" : "page",
  };
}

/** Tell of the entry made last once its verdict comes late. */
async function followUp() {
  if (!followed) return;
  const { id, form } = followed;
  const entry = (await outbox.list()).find((one) => one.id === id);
  if (followed?.id === id && !(entry && outbox.isOpen(entry))) await follow(id, form);
}

/**
 * Tell what became of an entry that was just made; load the page again where that shows more. What
 * has no verdict yet is followed until it has.
 */
async function follow(id, form) {
  const entry = (await outbox.list()).find((one) => one.id === id);
  const name = nameOf(entry?.event ?? {});
  followed = entry && outbox.isOpen(entry) ? { id, form } : null;
  const isSettled = !entry || !outbox.isOpen(entry);
  if (isSettled && form.dataset.with && !isTouched) {
    location.assign(addressAfter(form, entry?.event ?? {}));
  } else if (entry?.state === "recorded" && outbox.hasGrave(entry)) {
    if (form.hasAttribute("data-grave") && !isTouched) location.assign(pathOfVerdict(entry));
    else tell(`${name}: recorded. Take care with it now: look at it here.`, "stop");
  } else if (!entry || entry.state === "recorded") {
    if (form.dataset.then === "again" && !isTouched) location.reload();
    else if (!entry || outbox.isDone(entry)) tell(`${name}: recorded`, "good");
    else if (entry.says.some((one) => one.weight === "breach")) {
      tell(`${name}: recorded, and the manager is told that it should not have been. Look at it here.`, "stop");
    } else tell(`${name}: recorded, with a question. Look at it here.`, "care");
  } else if (entry.state === "sent") tell(`${name}: accepted, its check takes a moment`);
  else if (entry.state === "waiting") tell(`${name}: kept on this device until there is a signal`, "care");
  else if (entry.faults?.length) tell(`${name}: not reported yet. Put it right here, nothing is lost.`, "stop");
  else tell(`${name}: not ${form.dataset.asks ? "granted" : "recorded"}. Look at it here.`, "stop");
}

/** The page that a form leads to, told of the fields that the form names. */
function addressAfter(form, event) {
  const named = { ...event, mark: event.mark ?? `#${event.tag ?? ""}` };
  const said = form.dataset.with.split(" ").map((name) => [name, named[name] ?? ""]);
  return `${form.dataset.then}?${new URLSearchParams(said)}`;
}

function nameOf(event) {
  return event.mark ?? event.tag ?? "Entry";
}

/** Send what waits now, and again after a while for as long as something does. */
function sendAll() {
  sending = sending.then(sendOnce, sendOnce);
  return sending;
}

async function sendOnce() {
  clearTimeout(timer);
  const came = await sendWaiting().catch(() => "later");
  const open = (await outbox.list()).filter(outbox.isOpen).length;
  await showEntries(open ? came : "all");
  await followUp();
  if (!open) return;
  timer = setTimeout(() => void sendAll(), came === "all" ? ASK_AGAIN_MS : AGAIN_MS);
  const worker = await navigator.serviceWorker?.getRegistration();
  await worker?.sync?.register("hardstand-send").catch(() => undefined);
}

async function isThereSignal() {
  return await askWhoIAm().then(() => true, () => false);
}

function hasWhatItNeeds(form, button) {
  const needed = button.dataset.needs;
  if (!needed || new FormData(form).has(needed)) return true;
  tell("Tick what it is about first.", "care");
  return false;
}

/** A form that may not be sent empty says something besides what the page put into it. */
function isEmpty(form) {
  if (!form.hasAttribute("data-never-empty") || shotsOf(form).length) return false;
  const said = readFields([...new FormData(form)].filter(([name]) => !form.querySelector(`[type=hidden][name="${name}"]`)));
  if (Object.keys(said).length) return false;
  tell("Nothing was filled in, so nothing was recorded.", "stop");
  scrollTo({ top: 0 });
  return true;
}

/** What cannot be read is said at its field, and all that was typed stays. */
function isReadable(form) {
  for (const field of form.elements) {
    if (field.matches("input[name*=':int']:enabled")) field.setCustomValidity(faultIn(field.name, field.value));
  }
  return form.reportValidity();
}

/** Show a field that is at fault, however deep it is folded away. */
function unfold(field) {
  for (let at = field.closest("details"); at; at = at.parentElement.closest("details")) at.open = true;
}

async function beginServiceWorker() {
  if (!("serviceWorker" in navigator)) return;
  try {
    await navigator.serviceWorker.register("/service-worker.js", { type: "module", scope: "/" });
  } catch {
    return; // An old browser: entries are kept and sent all the same while a page is open.
  }
  const { active } = await navigator.serviceWorker.ready;
  const links = [...document.querySelectorAll("a[data-keep]")].slice(0, 40);
  const here = location.pathname + location.search;
  const paths = [here, "/gate", "/gate/departure", "/workshop", "/walk", "/capture/marks.json"];
  active.postMessage({ keep: [...new Set([...paths, ...links.map((link) => link.getAttribute("href"))])] });
}
