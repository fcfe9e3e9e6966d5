// Opens the pages of the gate and the workshop without a signal, and sends what waits when the
// signal returns while no page is open.

import { sendWaiting } from "/static/sending.js";

const KEPT = {"release": "", "files": []};
const SHELL = `hardstand-shell-${KEPT.release}`;
const PAGES = "hardstand-pages";
const STARTS = ["/gate", "/gate/departure", "/workshop", "/walk"];
const ALONE = ["/capture/marks.json"];
const PATIENCE_MS = 4000;
const MOST_PAGES = 80;

self.addEventListener("install", (event) => {
  event.waitUntil(
    caches.open(SHELL).then((shell) => shell.addAll(KEPT.files)).then(() => self.skipWaiting()),
  );
});

self.addEventListener("activate", (event) => {
  event.waitUntil(dropOldShells().then(() => self.clients.claim()).then(keepStarts));
});

self.addEventListener("fetch", (event) => {
  const url = new URL(event.request.url);
  if (url.origin !== self.location.origin || event.request.method !== "GET") return;
  if (KEPT.files.includes(url.pathname)) event.respondWith(fromShell(event.request, url.pathname));
  else if (isPage(url)) event.respondWith(fromNetworkFirst(event));
});

self.addEventListener("sync", (event) => {
  if (event.tag !== "hardstand-send") return;
  event.waitUntil(
    sendWaiting().then((came) => {
      // Rejecting asks the browser to wake us again.
      if (came === "later") throw new Error("no signal yet");
    }),
  );
});

self.addEventListener("message", (event) => {
  if (event.data?.keep) event.waitUntil(keepPages(event.data.keep));
  if (event.data === "forget") event.waitUntil(caches.delete(PAGES));
});

const isPage = (url) => [...STARTS, "/workshop/unit", "/workshop/inspection", ...ALONE].includes(url.pathname);

async function dropOldShells() {
  const names = await caches.keys();
  const old = names.filter((name) => name.startsWith("hardstand-shell-") && name !== SHELL);
  await Promise.all(old.map((name) => caches.delete(name)));
}

async function fromShell(request, path) {
  const kept = await (await caches.open(SHELL)).match(path);
  return kept ?? (await fetch(request));
}

async function fromNetworkFirst(event) {
  const { request } = event;
  const asked = fetch(request);
  const kept = asked.then((answer) => keep(request, answer.clone())).catch(() => undefined);
  event.waitUntil(kept);
  const found = await findKept(request);
  if (found === undefined) return await asked.catch(() => noPage());
  // A weak signal is worse than none: after a while what is kept is shown.
  const late = new Promise((resolve) => setTimeout(() => resolve("late"), PATIENCE_MS));
  const first = await Promise.race([asked.then(orKept(found), () => found), late]);
  if (first !== "late") return first;
  event.waitUntil(kept.then((isFresh) => isFresh && tellFresh(request.url)));
  return found;
}

const orKept = (found) => (answer) => (answer.status >= 500 ? found : answer);

async function findKept(request) {
  const pages = await caches.open(PAGES);
  const same = await pages.match(request.url);
  if (same) return same;
  // The forms of the gate are the same whatever was asked; a unit's page is only its own.
  const url = new URL(request.url);
  return [...STARTS, ...ALONE].includes(url.pathname) ? await pages.match(url.pathname) : undefined;
}

async function keep(request, answer) {
  if (!answer.ok || answer.redirected) return false;
  const pages = await caches.open(PAGES);
  await pages.put(request.url, answer);
  const keys = await pages.keys();
  for (const key of keys.slice(0, Math.max(0, keys.length - MOST_PAGES))) {
    if (!STARTS.includes(new URL(key.url).pathname)) await pages.delete(key);
  }
  return true;
}

/** What was shown is older than what came in the end: let the page know. */
async function tellFresh(url) {
  for (const client of await self.clients.matchAll({ type: "window" })) client.postMessage({ fresh: url });
}

async function keepStarts() {
  await keepPages([...STARTS, ...ALONE]);
}

async function keepPages(paths) {
  for (const path of paths) {
    const answer = await fetch(path, { credentials: "same-origin" }).catch(() => null);
    if (answer) await keep({ url: new URL(path, self.location.origin).href }, answer);
  }
}

function noPage() {
  const words = "<!doctype html><meta charset=utf-8><meta name=viewport content='width=device-width'>"
    + "<title>No signal</title><h1>No signal</h1><p>This page was not opened before and is not kept"
    + " on this device. <a href='/gate'>Gate</a> <a href='/workshop'>Workshop</a> <a href='/walk'>Stacks</a></p>";
  return new Response(words, { status: 503, headers: { "Content-Type": "text/html; charset=utf-8" } });
}
