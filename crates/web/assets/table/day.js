// The Table: brings entries of earlier work to the shop, says how many wait, and keeps the page for the day.

import { keepPage } from "./away.js";
import { Courier, State, sentence } from "./deliver.js";
import { Entries } from "./store.js";

const page = document.querySelector("[data-shop]");
const entries = await Entries.of(page.dataset.shop);
let last = State.kept;

async function say(state) {
  if (state && state !== State.sending) last = state;
  const waiting = await entries.waiting();
  const net = document.getElementById("net");
  const text = waiting.length ? sentence(state ?? last, waiting.length, entries.safe) : "";
  if (net.textContent !== text) net.textContent = text;
  net.hidden = waiting.length === 0;
}

const courier = new Courier(entries, say);
await entries.tidy().catch(() => {});
await say();
courier.soon();
keepPage();

// Pages of the shop do not stay in a browser from which somebody has signed out; entries that wait do.
document.addEventListener("submit", (event) => {
  if (event.target.getAttribute("action") === "/sign-out") {
    navigator.serviceWorker?.controller?.postMessage({ forget: true });
  }
});
page.dataset.ready = "yes";
