// Every page of somebody signed in: whoever signs out, from whichever page, leaves neither kept pages
// nor drafts on the device. What waits to be sent stays: it is theirs, and sent when they are back.

/** Begins the name under which a draft is kept. */
export const DRAFT = "hardstand-draft";

document.querySelector("form[action='/sign-out']")?.addEventListener("submit", () => {
  navigator.serviceWorker?.controller?.postMessage("forget");
  for (const key of Object.keys(localStorage).filter((one) => one.startsWith(DRAFT))) localStorage.removeItem(key);
});
