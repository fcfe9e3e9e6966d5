// Keeps the part of a page marked `data-live` as it is on the server: asks every second whether
// what stands open is still the same, and loads that part anew when it is not. Without script the
// page is as it was when it was loaded.

const part = document.querySelector("[data-live]");
const says = document.getElementById("live-says");
const EVERY_MS = 1000;
const AFTER_FAULT_MS = 5000;
let known = null;

async function look() {
  const answer = await fetch("/live", { headers: { Accept: "application/json" } });
  if (answer.status === 401 || answer.status === 403) {
    return null;
  }
  const open = await answer.json();
  if (known !== null && open.state !== known && !part.contains(document.activeElement)) {
    await renew(open);
  }
  if (known === null || !part.contains(document.activeElement)) {
    known = open.state;
  }
  return EVERY_MS;
}

async function renew(open) {
  const answer = await fetch(location.href, { headers: { Accept: "text/html" } });
  const page = new DOMParser().parseFromString(await answer.text(), "text/html");
  const fresh = page.querySelector("[data-live]");
  if (!answer.ok || fresh === null) {
    return;
  }
  part.replaceChildren(...fresh.childNodes);
  part.classList.remove("arrived");
  void part.offsetWidth;
  part.classList.add("arrived");
  says.textContent = `${open.questions} questions and ${open.breaches} breaches are open`;
}

async function keepLooking() {
  let pause = EVERY_MS;
  try {
    if (!document.hidden) {
      pause = await look();
    }
  } catch {
    pause = AFTER_FAULT_MS;
  }
  if (pause !== null) {
    setTimeout(keepLooking, pause);
  }
}

keepLooking();
