// The workshop's day: keeps the pages of its units on the device (capture.js does), and reads again
// when it is looked at after a while.

const OLD_MS = 60_000;
const shownAt = Date.now();

document.addEventListener("visibilitychange", () => {
  if (document.visibilityState === "visible" && Date.now() - shownAt > OLD_MS) location.reload();
});
