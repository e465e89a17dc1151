// The clock of each zone, and the contact time of the disinfectant. Both live in entries, so a reload does not
// stop them. Within a page the time that ran is counted by the page's own steady clock, not by the day's.

import { minutes } from "./replay.js";

/** A clock that ran longer was forgotten. */
const FORGOTTEN_S = 4 * 3600;

export class Clocks {
  #keep;
  #state;
  /** When an entry was first seen by this page, on the page's steady clock, and how old it was then. */
  #seen = new Map();
  #rung = new Set();

  constructor({ keep, state }) {
    this.#keep = keep;
    this.#state = state;
  }

  /** Seconds since an entry was made: by the day's clock up to when this page first saw it, steady from then on. */
  #since(entry) {
    if (!this.#seen.has(entry.id)) {
      const before = Math.max(0, (Date.now() - entry.body.browser_ms) / 1000);
      this.#seen.set(entry.id, { before, at: performance.now() });
    }
    const { before, at } = this.#seen.get(entry.id);
    return before + (performance.now() - at) / 1000;
  }

  #entry(zone) {
    return this.#state().zones.get(zone)?.get("clock");
  }

  /** The zone's clock runs. */
  runs(zone) {
    return Boolean(this.#entry(zone)?.body.what.running);
  }

  /** Seconds that the zone took so far, and whether its clock was forgotten. */
  read(zone) {
    const entry = this.#entry(zone);
    if (!entry) return { seconds: 0, forgotten: false };
    const { seconds, running } = entry.body.what;
    if (!running) return { seconds, forgotten: false };
    const ran = this.#since(entry);
    // A clock that nobody stopped for hours, or a browser whose day changed, tells nothing: keep what was sure.
    if (ran > FORGOTTEN_S) return { seconds, forgotten: true };
    return { seconds: seconds + ran, forgotten: false };
  }

  /** The entries that stop a zone's clock. */
  stop(zone) {
    if (!this.runs(zone)) return [];
    return [{ zone, what: { do: "clock", seconds: Math.round(this.read(zone).seconds), running: false } }];
  }

  /** The entries that start a zone's clock and stop any other. */
  start(zone) {
    const others = [...this.#state().zones.keys()].filter((z) => z !== zone && this.runs(z));
    const seconds = Math.round(this.read(zone).seconds);
    return [...others.flatMap((z) => this.stop(z)), { zone, what: { do: "clock", seconds, running: true } }];
  }

  toggle(zone) {
    return this.runs(zone) ? this.stop(zone) : this.start(zone);
  }

  show() {
    for (const button of document.querySelectorAll("[data-clock]")) {
      const zone = button.dataset.clock;
      const { seconds, forgotten } = this.read(zone);
      const runs = this.runs(zone);
      const text = runs ? "Pause the clock" : seconds ? "Go on with the clock" : "Start the clock";
      put(button.querySelector(".clock-do"), text);
      put(button.querySelector(".clock-at"), minutes(seconds));
      button.classList.toggle("runs", runs && !forgotten);
      const note = button.parentElement.querySelector(".clock-note");
      if (note) note.hidden = !forgotten;
    }
    const running = [...this.#state().zones.keys()].find((z) => z && this.runs(z));
    const bar = document.getElementById("bar-clock");
    if (bar) {
      const label = running && document.getElementById(`z-${running}`)?.dataset.label;
      put(bar, running ? `${label ?? running} ${minutes(this.read(running).seconds)}` : "no clock");
    }
    this.#contact();
  }

  /** The contact time that is left for the tools last put in. */
  #contact() {
    const box = document.getElementById("contact");
    if (!box) return;
    const last = this.#state().many.filter((e) => e.body.what.do === "disinfected").at(-1);
    if (!last) return put(box, "");
    const { agent, contact_min: min } = last.body.what;
    const left = min * 60 - this.#since(last);
    if (left > 0) return put(box, `Tools in the ${agent}: ${minutes(left)} left of ${min} min. Do not take them out before.`);
    if (!this.#rung.has(last.id)) {
      this.#rung.add(last.id);
      navigator.vibrate?.(200);
      put(document.getElementById("contact-over"), `The contact time of ${min} minutes is over.`);
    }
    put(box, `Tools in the ${agent}: ${min} min are over. Rinse and dry them.`);
  }
}

function put(element, text) {
  if (element && element.textContent !== text) element.textContent = text;
}
