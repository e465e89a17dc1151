// What entries come to: the same reading of them as the shop's own, for the page between two deliveries.

/** Which reading an entry sets; a later one of the same place replaces it. */
export function place(what) {
  switch (what.do) {
    case "as_planned":
    case "pulled":
    case "all_ripe":
    case "left":
      return "amount";
    case "longest_depth":
    case "longest_mm":
      return "longest";
    case "new_layer_depth":
    case "new_layer_mm":
      return "new_layer";
    default:
      return what.do;
  }
}

/** Kinds of which every one counts. */
const MANY = new Set(["skin", "product", "disinfected", "note"]);

/** The same text for the same entry, whatever the order of its keys. */
export function same(what) {
  return JSON.stringify(Object.fromEntries(Object.entries(what).filter(([, v]) => v !== null).sort()));
}

/**
 * The state after all entries, in the order in which the shop took them and then the browser's own.
 * `zones` maps a zone's word ("" for the whole dog) to its readings by place; `many` lists the rest.
 */
export function replay(entries) {
  // From the last back: an undo that was itself undone takes nothing back.
  const undone = new Set();
  for (const e of entries.slice().reverse()) {
    if (e.body.what.do === "undo" && !undone.has(e.id)) undone.add(e.body.what.entry);
  }
  const zones = new Map();
  const many = [];
  for (const e of entries) {
    const { what, zone } = e.body;
    if (what.do === "undo" || undone.has(e.id)) continue;
    if (MANY.has(what.do)) {
      many.push(e);
      continue;
    }
    const key = zone ?? "";
    if (!zones.has(key)) zones.set(key, new Map());
    zones.get(key).set(place(what), e);
  }
  return { zones, many, undone };
}

/**
 * The shop's entries and then those of this browser that the shop did not have when it made the page. `known` are the
 * ids of all that it had, also those that no longer stand.
 */
export function merged(shop, known, own) {
  const later = own.filter((e) => e.state !== "refused" && !known.has(e.id));
  return [...shop, ...later];
}

const ONE_IN = (share) => {
  const n = Math.round(1 / share);
  return Math.abs(1 / n - share) < 0.004 ? `1 in ${n}` : `${Math.round(100 * share)} %`;
};

/** An entry in words. */
export function inWords(what) {
  switch (what.do) {
    case "as_planned":
      return "as planned";
    case "pulled":
      return `${ONE_IN(what.share)} pulled`;
    case "all_ripe":
      return "all that was ripe";
    case "left":
      return "left";
    case "carded":
      return what.yes ? "carded" : "not carded";
    case "ease":
      return `ease ${what.ease}`;
    case "longest_depth":
      return `longest hair: comb depth ${what.depth}`;
    case "longest_mm":
      return `longest hair ${Math.round(10 * what.mm) / 10} mm`;
    case "new_layer_depth":
      return `new layer: comb depth ${what.depth}`;
    case "new_layer_mm":
      return `new layer ${Math.round(10 * what.mm) / 10} mm`;
    case "new_hair":
      return what.yes ? "new hair is through" : "no new hair yet";
    case "feel":
      return `feels ${what.feel}`;
    case "cover":
      return `cover ${Math.round(100 * what.share)} %`;
    case "bearing":
      return what.bearing === "calm" ? "is calm" : what.bearing;
    case "tool":
      return what.tool;
    case "skin":
      return `on the skin: ${what.note || "something"}`;
    case "clock":
      return `clock ${what.running ? "runs" : "stands"} at ${minutes(what.seconds)}`;
    case "product":
      return `${what.what}, batch ${what.batch || "not noted"}, opened ${what.opened || "not noted"}`;
    case "disinfected":
      return `tools into the ${what.agent}, ${what.contact_min} min`;
    case "note":
      return what.note;
    default:
      return what.do;
  }
}

/** Seconds as minutes and seconds. */
export function minutes(seconds) {
  const s = Math.max(0, Math.round(seconds));
  return `${Math.floor(s / 60)}:${String(s % 60).padStart(2, "0")}`;
}
