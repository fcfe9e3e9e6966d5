// What was recorded on this device and what became of it, kept in IndexedDB by pages and by the
// service worker. An entry stays until it is recorded, or until whoever made it has seen the answer.
//
// entry: { seq, id, by, event, photos: [{ path, blob, digest }], state, says: [{ weight, text, id? }] }
// state: waiting -> sent -> recorded, refused, held, conflict, rejected

const NAME = "hardstand";
const STORE = "outbox";
const MOST_DONE = 12;

/** What ends without anything for its maker to see. */
export const isDone = (entry) => entry.state === "recorded" && !entry.says.some(isForEyes);
export const isOpen = (entry) => entry.state === "waiting" || entry.state === "sent";

/** What a verdict says that nobody may overlook, though it only warns. */
const GRAVE = ["damage.serious-deficiency", "damage.hold-proposed"];
const isGrave = (one) => GRAVE.includes(one.id);
export const hasGrave = (entry) => entry.says.some(isGrave);
const isForEyes = (one) => (one.weight !== "note" && one.weight !== "warn") || isGrave(one);
const news = new BroadcastChannel("hardstand-outbox");

/** Call a function whenever the outbox changed, on this page or elsewhere. */
export function onChange(call) {
  const heard = new BroadcastChannel("hardstand-outbox");
  heard.addEventListener("message", call);
}

/** Keep a new entry; the promise resolves when it is safe on the device. */
export async function add(entry) {
  await change((store) => store.add({ says: [], photos: [], state: "waiting", ...entry }));
}

/** Return all entries in the order they were made. */
export async function list() {
  return await using("readonly", (store) => store.getAll());
}

/** Write an entry as it is now. */
export async function update(entry) {
  await change((store) => store.put(entry));
}

/** Take an entry off the device. */
export async function remove(seq) {
  await change((store) => store.delete(seq));
}

/** Take the oldest of what is recorded off, so that a phone does not fill up. */
export async function tidy() {
  const done = (await list()).filter(isDone);
  for (const entry of done.slice(0, Math.max(0, done.length - MOST_DONE))) await remove(entry.seq);
}

async function change(act) {
  await using("readwrite", act);
  news.postMessage("changed");
}

async function using(mode, act) {
  const database = await open();
  try {
    // Strict: a phone that dies at this moment has it all the same.
    const transaction = database.transaction(STORE, mode, { durability: "strict" });
    const asked = act(transaction.objectStore(STORE));
    return await new Promise((resolve, reject) => {
      transaction.oncomplete = () => resolve(asked.result);
      transaction.onerror = () => reject(transaction.error);
      transaction.onabort = () => reject(transaction.error);
    });
  } finally {
    database.close();
  }
}

function open() {
  return new Promise((resolve, reject) => {
    const asked = indexedDB.open(NAME, 1);
    asked.onupgradeneeded = () => {
      asked.result.createObjectStore(STORE, { keyPath: "seq", autoIncrement: true });
    };
    asked.onsuccess = () => resolve(asked.result);
    asked.onerror = () => reject(asked.error);
  });
}
