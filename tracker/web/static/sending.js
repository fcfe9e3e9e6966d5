// Send what waits: in order, photos before the event that names them, by one sender at a time. What
// an answer was lost of is sent again; the id made on the device lets it be recorded once.

import { isOpen, list, tidy, update } from "./outbox.js";
import { addAt, putAt } from "./form_fields.js";

const GIVE_UP_MS = 20_000;
const ASKED_S = 5;

/** The server cannot be reached, or cannot take it now: the same is tried again later. */
class Later extends Error {}

/**
 * Send what waits and ask for the verdicts. Returns "all", "later" (no signal, or the server cannot
 * now) or "sign-in" (nobody is signed in, or somebody else than who made the entries).
 */
export async function sendWaiting() {
  return await navigator.locks.request("hardstand-sending", async () => {
    try {
      return await send();
    } catch (fault) {
      if (fault instanceof Later) return "later";
      throw fault;
    }
  });
}

/** Return who is signed in and their token, null when nobody is; throws without a signal. */
export async function askWhoIAm() {
  const answer = await ask("/api/me");
  if (answer.status === 401 || answer.status === 403) return null;
  return await answer.json();
}

/** Send one photo; returns { digest, says } or { refused }. */
export async function sendPhoto(blob, token) {
  const answer = await ask("/api/photos", {
    method: "POST",
    body: blob,
    headers: { "X-CSRF-Token": token, "Content-Type": blob.type || "application/octet-stream" },
  });
  if (answer.ok) return await answer.json();
  if (answer.status >= 500 || [401, 403, 408, 429].includes(answer.status)) throw new Later();
  return { refused: await problemWords(answer) };
}

async function send() {
  const open = (await list()).filter(isOpen);
  if (!open.length) return "all";
  const me = await askWhoIAm();
  if (me === null) return "sign-in";
  const mine = open.filter((entry) => entry.by === me.name);
  for (const entry of mine.filter((one) => one.state === "waiting")) await sendOne(entry, me);
  for (const entry of mine.filter((one) => one.state === "sent")) await askVerdict(entry);
  await tidy();
  return mine.length < open.length ? "sign-in" : "all";
}

async function sendOne(entry, me) {
  for (const photo of entry.photos.filter((one) => one.blob)) await sendOnePhoto(entry, photo, me);
  const event = withPhotos(entry);
  // What cannot be read comes back: it is kept here, and put right here.
  const answer = await ask("/api/events?unreadable=back", {
    method: "POST",
    body: JSON.stringify(event),
    headers: { "X-CSRF-Token": me.csrf_token, "Content-Type": "application/json" },
  });
  const said = await readJson(answer);
  if (said.state === undefined) {
    // No receipt: not ours to mend here unless the server found fault with the entry itself.
    if (answer.status >= 500 || [401, 403, 408, 429].includes(answer.status)) throw new Later();
    return await end(entry, "rejected", [{ weight: "refuse", text: said.detail ?? `Answer ${answer.status}` }]);
  }
  await take(entry, said);
}

async function sendOnePhoto(entry, photo, me) {
  const kept = await sendPhoto(photo.blob, me.csrf_token);
  if (kept.refused) {
    // What happened is told without its photo rather than not at all; its maker hears of it.
    entry.says.push({ weight: "doubt", text: `A photo was not taken: ${kept.refused}` });
  } else {
    photo.digest = kept.digest;
    for (const text of kept.says) entry.says.push({ weight: "warn", text });
  }
  photo.blob = null;
  await update(entry);
}

function withPhotos(entry) {
  const event = structuredClone(entry.event);
  for (const one of entry.photos.filter((photo) => photo.digest)) {
    if (one.path.endsWith("photos")) addAt(event, one.path, one.digest);
    else putAt(event, one.path, one.digest);
  }
  return event;
}

async function askVerdict(entry) {
  const answer = await ask(`/api/events/${entry.id}?wait=${ASKED_S}`);
  if (answer.status === 200) await take(entry, { state: "sent", verdict: await readJson(answer) });
}

async function take(entry, receipt) {
  const verdict = receipt.verdict;
  if (!verdict && receipt.state === "waiting") return await end(entry, "sent", []);
  const says = (verdict?.findings ?? []).map((one) => ({ weight: one.severity, text: one.message, id: one.id }));
  entry.faults = entry.form ? receipt.faults ?? [] : [];
  if (entry.faults.length) return await end(entry, "rejected", []);
  const error = receipt.state === "conflict" ? "Its id is taken by another entry." : receipt.error;
  if (error) says.unshift({ weight: "refuse", text: error });
  await end(entry, verdict?.verdict ?? receipt.state, says);
}

async function end(entry, state, says) {
  entry.state = state;
  entry.says.push(...says);
  await update(entry);
}

async function ask(path, options = {}) {
  try {
    const signal = AbortSignal.timeout(GIVE_UP_MS);
    return await fetch(path, { credentials: "same-origin", cache: "no-store", signal, ...options });
  } catch {
    throw new Later();
  }
}

async function readJson(answer) {
  try {
    return await answer.json();
  } catch {
    throw new Later();
  }
}

async function problemWords(answer) {
  const said = await answer.json().catch(() => ({}));
  return said.detail ?? `the answer was ${answer.status}`;
}
