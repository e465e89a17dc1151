// The entries of this browser: kept in its own database first, in memory where that is full or forbidden.
// Knows no page and no network.

const NAME = "coatwright";
const VERSION = 1;
/** Entries that the shop has kept are shown for so long, then dropped from the browser. */
const SHOWN_MS = 14 * 24 * 3600 * 1000;

/** A random text, 36 characters; also where `crypto.randomUUID` is missing. */
export function randomId() {
  if (crypto.randomUUID) return crypto.randomUUID();
  const b = crypto.getRandomValues(new Uint8Array(16));
  b[6] = (b[6] & 0x0f) | 0x40;
  b[8] = (b[8] & 0x3f) | 0x80;
  const h = [...b].map((x) => x.toString(16).padStart(2, "0")).join("");
  return [h.slice(0, 8), h.slice(8, 12), h.slice(12, 16), h.slice(16, 20), h.slice(20)].join("-");
}

function open() {
  return new Promise((yes, no) => {
    if (!globalThis.indexedDB) return no(new Error("no database"));
    const asked = indexedDB.open(NAME, VERSION);
    asked.onupgradeneeded = () => {
      const db = asked.result;
      const entries = db.createObjectStore("entries", { keyPath: "id" });
      entries.createIndex("visit", ["shop", "visit"]);
      entries.createIndex("state", ["shop", "state"]);
      db.createObjectStore("counts", { keyPath: "visit" });
      db.createObjectStore("names", { keyPath: "name" });
    };
    asked.onsuccess = () => {
      // A newer build in another tab may change the database: let it.
      asked.result.onversionchange = () => asked.result.close();
      yes(asked.result);
    };
    asked.onerror = () => no(asked.error);
    asked.onblocked = () => no(new Error("another tab holds an older database"));
  });
}

const got = (request) =>
  new Promise((yes, no) => {
    request.onsuccess = () => yes(request.result);
    request.onerror = () => no(request.error);
  });

const done = (tx) =>
  new Promise((yes, no) => {
    tx.oncomplete = () => yes();
    tx.onabort = () => no(tx.error ?? new Error("the browser's store gave up"));
    tx.onerror = () => no(tx.error);
  });

const inOrder = (a, b) => (a.visit < b.visit ? -1 : a.visit > b.visit ? 1 : a.count - b.count);

/** The entries of one shop in this browser. */
export class Entries {
  #db;
  #shop;
  #browser;
  /** Entries that could not be written to the database. */
  #memory = new Map();
  #counts = new Map();

  /** Opens the browser's database; without one, everything is held in memory and `safe` is false. */
  static async of(shop) {
    const self = new Entries();
    self.#shop = shop;
    self.#browser = randomId();
    self.safe = true;
    try {
      self.#db = await open();
      const tx = self.#begin(["names"]);
      const names = tx.objectStore("names");
      const known = await got(names.get("browser"));
      if (known) self.#browser = known.value;
      else names.put({ name: "browser", value: self.#browser });
      await done(tx);
    } catch {
      self.safe = false;
    }
    return self;
  }

  /** `strict`: on the disk before it is called kept. */
  #begin(stores) {
    return this.#db.transaction(stores, "readwrite", { durability: "strict" });
  }

  /**
   * Keeps what one tap says, in one piece. Counts go up by one over all tabs of this browser.
   * Returns the records as kept.
   */
  async keep(visit, taps, now = Date.now()) {
    const group = randomId();
    const made = taps.map(({ zone, what }) => ({
      id: randomId(),
      shop: this.#shop,
      visit,
      group,
      state: "waiting",
      body: { zone: zone ?? null, count: 0, browser: this.#browser, browser_ms: now, what },
    }));
    const number = (from) =>
      made.forEach((e, i) => {
        e.count = from + i + 1;
        e.body.count = e.count;
      });
    try {
      if (!this.#db) throw new Error("no database");
      const tx = this.#begin(["entries", "counts"]);
      const counts = tx.objectStore("counts");
      const last = await got(counts.get(visit));
      const from = Math.max(last?.count ?? 0, this.#counts.get(visit) ?? 0);
      number(from);
      counts.put({ visit, count: from + made.length });
      for (const e of made) tx.objectStore("entries").put(e);
      await done(tx);
      this.#counts.set(visit, from + made.length);
      this.safe = this.#memory.size === 0;
    } catch {
      const from = this.#counts.get(visit) ?? (await this.of(visit)).reduce((m, e) => Math.max(m, e.count), 0);
      number(from);
      this.#counts.set(visit, from + made.length);
      for (const e of made) this.#memory.set(e.id, e);
      this.safe = false;
    }
    return made;
  }

  async #all(index, key) {
    if (!this.#db) return [];
    try {
      const tx = this.#db.transaction(["entries"], "readonly");
      return await got(tx.objectStore("entries").index(index).getAll([this.#shop, key]));
    } catch {
      return [];
    }
  }

  /** All entries of a visit that this browser knows, in order. */
  async of(visit) {
    const held = [...this.#memory.values()].filter((e) => e.visit === visit);
    return [...(await this.#all("visit", visit)), ...held].sort(inOrder);
  }

  /** Entries of all visits that the shop has not acknowledged, in order. */
  async waiting() {
    const held = [...this.#memory.values()].filter((e) => e.state === "waiting");
    return [...(await this.#all("state", "waiting")), ...held].sort(inOrder);
  }

  /** Entries that the shop will not take, with what it said. */
  async refused() {
    const held = [...this.#memory.values()].filter((e) => e.state === "refused");
    return [...(await this.#all("state", "refused")), ...held].sort(inOrder);
  }

  /** Marks entries as kept by the shop, or as refused with its words. */
  async settle(kept, refused) {
    for (const id of kept) this.#memory.delete(id);
    for (const { id, said } of refused) {
      const e = this.#memory.get(id);
      if (e) Object.assign(e, { state: "refused", said });
    }
    this.safe = this.safe || (this.#db !== undefined && this.#memory.size === 0);
    if (!this.#db) return;
    const tx = this.#begin(["entries"]);
    const entries = tx.objectStore("entries");
    const change = async (id, how) => {
      const e = await got(entries.get(id));
      if (e) entries.put({ ...e, ...how });
    };
    const changes = [
      ...kept.map((id) => change(id, { state: "kept", kept_ms: Date.now() })),
      ...refused.map(({ id, said }) => change(id, { state: "refused", said })),
    ];
    await Promise.all([...changes, done(tx)]);
  }

  /** Puts a refused entry out of the way; it stays readable on the page until then. */
  async drop(ids) {
    for (const id of ids) this.#memory.delete(id);
    if (!this.#db) return;
    const tx = this.#begin(["entries"]);
    for (const id of ids) tx.objectStore("entries").delete(id);
    await done(tx);
  }

  /** Drops what the shop kept long ago. */
  async tidy(now = Date.now()) {
    const old = (await this.#all("state", "kept")).filter((e) => Math.abs(now - e.kept_ms) > SHOWN_MS);
    if (old.length) await this.drop(old.map((e) => e.id));
  }

  /** Entries held in memory only. */
  get held() {
    return this.#memory.size;
  }
}
