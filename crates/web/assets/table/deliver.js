// Brings the browser's entries to the shop: in order, in batches, each once however often it is sent.
// An entry leaves the queue only when the shop has said that it is kept.

const BATCH = 50;
const PATIENCE_MS = 15_000;
const WAITS_MS = [500, 1000, 2000, 4000, 8000, 15_000, 30_000];

/** What the queue can say of itself. */
export const State = Object.freeze({
  kept: "kept",
  sending: "sending",
  away: "away",
  signedOut: "signed out",
  barred: "barred",
});

/** One tab at a time delivers; where the browser has no locks, doubles are harmless: the shop knows ids. */
async function alone(work) {
  if (!navigator.locks) return work();
  return navigator.locks.request("coatwright-deliver", { ifAvailable: true }, (lock) => (lock ? work() : "busy"));
}

async function post(visit, batch) {
  const stop = new AbortController();
  const timer = setTimeout(() => stop.abort(), PATIENCE_MS);
  try {
    const answer = await fetch(`/visits/${encodeURIComponent(visit)}/entries`, {
      method: "POST",
      headers: { "content-type": "application/json", accept: "application/json" },
      body: JSON.stringify({ entries: batch.map((e) => ({ id: e.id, ...e.body })) }),
      credentials: "same-origin",
      cache: "no-store",
      redirect: "manual",
      signal: stop.signal,
    });
    if (answer.type === "opaqueredirect" || answer.status === 401) return { state: State.signedOut };
    if (answer.status === 403 || answer.status === 404) return { state: State.barred };
    if (!answer.ok) return { state: State.away };
    const said = await answer.json();
    return { state: State.kept, kept: said.kept ?? [], refused: said.refused ?? [] };
  } catch {
    return { state: State.away };
  } finally {
    clearTimeout(timer);
  }
}

/** Delivers what waits, now and whenever something changes; tells `onState` how it stands. */
export class Courier {
  #entries;
  #onState;
  #again;
  #failed = 0;
  #running;
  #more = false;

  constructor(entries, onState) {
    this.#entries = entries;
    this.#onState = onState;
    addEventListener("online", () => this.soon());
    addEventListener("focus", () => this.soon());
    document.addEventListener("visibilitychange", () => document.visibilityState === "visible" && this.soon());
  }

  /** Delivers at once, whatever the waits. */
  soon() {
    this.#failed = 0;
    return this.deliver();
  }

  /** Delivers until nothing waits or something is in the way. Resolves to the state. */
  deliver() {
    if (this.#running) {
      this.#more = true;
      return this.#running;
    }
    clearTimeout(this.#again);
    this.#running = this.#walk().finally(() => {
      this.#running = undefined;
      if (this.#more) {
        this.#more = false;
        this.deliver();
      }
    });
    return this.#running;
  }

  async #walk() {
    let state = await alone(() => this.#all());
    if (state === "busy") {
      // Another tab is at it. Look again shortly: it may be closed in the middle.
      state = (await this.#entries.waiting()).length ? State.sending : State.kept;
    }
    const left = (await this.#entries.waiting()).length;
    if (left) {
      const wait = WAITS_MS[Math.min(this.#failed, WAITS_MS.length - 1)];
      this.#failed += 1;
      this.#again = setTimeout(() => this.deliver(), wait);
    } else this.#failed = 0;
    await this.#onState(state);
    return state;
  }

  async #all() {
    let worst = State.kept;
    const barred = new Set();
    for (;;) {
      const waiting = (await this.#entries.waiting()).filter((e) => !barred.has(e.visit));
      if (!waiting.length) return worst;
      const visit = waiting[0].visit;
      const batch = waiting.filter((e) => e.visit === visit).slice(0, BATCH);
      const said = await post(visit, batch);
      if (said.state === State.barred) {
        barred.add(visit);
        worst = State.barred;
        continue;
      }
      if (said.state !== State.kept) return said.state;
      const sent = new Set(batch.map((e) => e.id));
      const kept = said.kept.filter((id) => sent.has(id));
      const refused = said.refused.filter(({ id }) => sent.has(id));
      if (kept.length + refused.length === 0) return State.away;
      await this.#entries.settle(kept, refused);
      this.#failed = 0;
      await this.#onState(State.sending);
    }
  }
}

/** The sentence under the dog's name. */
export function sentence(state, waiting, safe) {
  const n = waiting === 1 ? "1 entry" : `${waiting} entries`;
  const waits = waiting === 1 ? "waits" : "wait";
  const where = safe ? "kept in this browser" : "held in this page only: do not close it";
  if (!waiting) return "All kept in the shop.";
  switch (state) {
    case State.signedOut:
      return `You were signed out. ${n} ${waits}, ${where}, and will be sent when you have signed in.`;
    case State.barred:
      return `The shop does not take ${n} from you: sign in to the shop where this visit is. They are ${where}.`;
    case State.sending:
    case State.kept:
      return `Sending ${n}.`;
    default:
      return `${n} ${waits} for the network, ${where}.`;
  }
}
