// The work at the table: makes the page's forms into entries that this browser keeps and delivers.
// Without this script the same forms are sent to the shop as they are.

import { Clocks } from "./clocks.js";
import { Courier, State, sentence } from "./deliver.js";
import { Marks } from "./marks.js";
import { inWords, merged, replay, same } from "./replay.js";
import { Entries } from "./store.js";
import { keepPage } from "./away.js";

const page = document.querySelector("[data-visit]");
const visit = page.dataset.visit;
const data = JSON.parse(document.getElementById("work-data").textContent);
const known = new Set(data.known);
const $ = (selector, root = document) => root.querySelector(selector);
const $$ = (selector, root = document) => [...root.querySelectorAll(selector)];

const entries = await Entries.of(page.dataset.shop);
const channel = globalThis.BroadcastChannel ? new BroadcastChannel("coatwright-table") : undefined;
let shown = { zones: new Map(), many: [], undone: new Set() };
let all = [];

const clocks = new Clocks({ keep, state: () => shown });
const marks = new Marks({ page, state: () => shown });
const courier = new Courier(entries, async (state) => {
  await say(state);
  channel?.postMessage({ visit });
});

/** Keeps what one tap says, shows it, and sends it on its way. */
async function keep(taps) {
  await entries.keep(visit, taps);
  await show();
  channel?.postMessage({ visit });
  courier.soon();
}

const worked = () => $$("[data-row][data-work=yes]");
const standingAs = (button) => {
  const zone = button.form?.elements.zone?.value ?? "";
  const said = same(JSON.parse(button.value));
  return [...stateOf(zone).values()].find((e) => same(e.body.what) === said);
};

function press(button) {
  const what = JSON.parse(button.value).do;
  // A bath of tools or an undo is said again and again, not switched on and off.
  if (what !== "disinfected" && what !== "undo") button.setAttribute("aria-pressed", String(Boolean(standingAs(button))));
}

/** Puts the buttons for what was read into a zone when it is first opened: a page of all of them would be slow. */
function furnish(row) {
  const place = $(".readings", row);
  if ($("form", place)) return;
  const made = $("#readings").content.cloneNode(true);
  for (const form of $$("form", made)) {
    form.action = $(`#f-${row.dataset.row}`).action;
    form.elements.zone.value = row.dataset.row;
  }
  place.replaceChildren(made);
  for (const button of $$("button[name=entry]", place)) press(button);
}

const stateOf = (zone) => shown.zones.get(zone) ?? new Map();
const amountOf = (zone) => stateOf(zone).get("amount");
const rowOf = (zone) => document.getElementById(`z-${zone}`);

/** Reads may end in another order than they began: what was read earlier never replaces what was read later. */
function inTurn() {
  let begun = 0;
  let used = 0;
  return () => {
    const turn = (begun += 1);
    return () => {
      if (turn < used) return false;
      used = turn;
      return true;
    };
  };
}
const rowsTurn = inTurn();
const queueTurn = inTurn();

async function show() {
  const rowsAreNew = rowsTurn();
  // Both are read before anything is shown: a tap is never on the page while the queue still says that all is kept.
  const [own, queueShown] = await Promise.all([entries.of(visit), readQueue()]);
  queueShown();
  if (!rowsAreNew()) return;
  all = merged(data.entries, known, own);
  shown = replay(all);
  for (const row of $$("[data-row]")) showRow(row);
  for (const button of $$("button[name=entry]")) press(button);
  const rows = worked();
  const done = rows.filter((r) => amountOf(r.dataset.row));
  const left = rows.filter((r) => !amountOf(r.dataset.row)).reduce((m, r) => m + Number(r.dataset.min), 0);
  $("#progress").textContent = `${done.length} of ${rows.length} zones, ${Math.round(left)} min left`;
  $("#undo").disabled = !lastGroup().length;
  showAdvice();
  showLog();
  marks.show();
  clocks.show();
}

/** How much is advised follows how the dog bears it, at once and also without the network. */
function showAdvice() {
  const bearing = stateOf("").get("bearing")?.body.what.bearing ?? "calm";
  const note = $("#bearing-note");
  note.textContent = data.bearings[bearing] ?? "";
  note.hidden = !note.textContent;
  $("#drawing-stale").hidden = bearing === data.bearing;
  for (const row of $$("[data-row]")) {
    if (amountOf(row.dataset.row)) continue;
    const advice = data.advice[row.dataset.row]?.[bearing];
    if (!advice) continue;
    const [amount, lowered] = advice;
    $(".zone-amount", row).textContent = amount;
    $(".how-much", row).textContent = amount;
    $(".lowered", row).textContent = lowered;
    $("button.main", row).textContent = `As planned: ${amount}`;
    $(".quick", row).setAttribute("aria-label", `${row.dataset.label} as planned: ${amount}`);
  }
}

function showRow(row) {
  const zone = row.dataset.row;
  const amount = amountOf(zone);
  row.classList.toggle("done", Boolean(amount));
  $(".taken", row).textContent = amount ? `Done: ${inWords(amount.body.what)}` : "";
  const ease = stateOf(zone).get("ease")?.body.what.ease ?? 0;
  $(".stop", row).hidden = ease < 4;
  const read = [...stateOf(zone)].filter(([p]) => p !== "amount" && p !== "clock").map(([, e]) => inWords(e.body.what));
  $(".read", row).textContent = read.join(", ");
  for (const g of $$(`.dog .zone[data-zone="${zone}"]`)) g.classList.toggle("done", Boolean(amount));
}

/** How the queue stands, in one sentence; read out when it changes. */
let lastState = State.kept;
async function say(state) {
  (await readQueue(state))();
}

/** Reads the queue; what comes back shows it, unless something newer is shown already. */
async function readQueue(state) {
  if (state && state !== State.sending) lastState = state;
  const isNew = queueTurn();
  const [waiting, refused] = await Promise.all([entries.waiting(), entries.refused()]);
  return () => isNew() && showQueue(state, waiting, refused);
}

function showQueue(state, waiting, refused) {
  const text = sentence(navigator.onLine === false && waiting.length ? State.away : (state ?? lastState), waiting.length, entries.safe);
  const net = $("#net");
  if (net.textContent !== text) net.textContent = text;
  net.dataset.state = waiting.length ? (lastState === State.kept ? "sending" : lastState) : "kept";
  $("#store-full").hidden = entries.safe;
  $("#signed-out").hidden = !(waiting.length && lastState === State.signedOut);
  const box = $("#refused");
  box.hidden = refused.length === 0;
  if (refused.length) {
    const list = $("ul", box);
    list.replaceChildren(
      ...refused.map((e) => {
        const li = document.createElement("li");
        li.textContent = `${zoneName(e.body.zone)}${inWords(e.body.what)}: ${e.said}`;
        return li;
      }),
    );
  }
}

const zoneName = (zone) => {
  const row = zone && rowOf(zone);
  return row ? `${row.dataset.label}, ` : "";
};

/** What the last tap of this browser or the shop said and was not undone: newest first by the order kept. */
function lastGroup() {
  const live = all.filter((e) => e.body.what.do !== "undo" && !shown.undone.has(e.id));
  const last = live.at(-1);
  if (!last) return [];
  return last.group ? live.filter((e) => e.group === last.group) : [last];
}

function showLog() {
  const log = $("#log");
  const live = all.filter((e) => e.body.what.do !== "undo");
  log.replaceChildren(
    ...live.slice().reverse().map((e) => {
      const li = document.createElement("li");
      const gone = shown.undone.has(e.id);
      const words = document.createElement(gone ? "s" : "span");
      const at = new Date(e.body.browser_ms).toLocaleTimeString([], { hour: "2-digit", minute: "2-digit" });
      words.textContent = `${at} ${zoneName(e.body.zone)}${inWords(e.body.what)}`;
      li.append(words);
      if (gone) li.append(" taken back");
      else {
        const undo = document.createElement("button");
        undo.type = "button";
        undo.textContent = "Take back";
        undo.setAttribute("aria-label", `Take back: ${zoneName(e.body.zone)}${inWords(e.body.what)}`);
        undo.dataset.undo = e.id;
        li.append(undo);
      }
      return li;
    }),
  );
}

/** The entry that a form and its pressed button make; numbers and texts by the letter before the field's name. */
function entryOf(form, button) {
  const what = JSON.parse(button?.name === "entry" ? button.value : $("input[name=entry]", form).value);
  for (const field of form.elements) {
    const [kind, name] = (field.name ?? "").split(".");
    if (!name || field.disabled) continue;
    const value = field.value.trim();
    if (kind === "t") what[name] = value;
    else if (value !== "") {
      const number = Number(value.replace(",", "."));
      if (!Number.isFinite(number)) return undefined;
      what[name] = kind === "i" ? number * 25.4 : kind === "m" ? Math.round(number * 60) : number;
    } else if (field.required) return undefined;
  }
  return { zone: form.elements.zone?.value || null, what };
}

function openZone(zone, { focus = true } = {}) {
  const row = rowOf(zone);
  if (!row) return;
  for (const d of $$("[data-row] > details[open]")) if (d.parentElement !== row) d.open = false;
  $("details", row).open = true;
  emphasise(zone);
  const calm = matchMedia("(prefers-reduced-motion: reduce)").matches;
  row.scrollIntoView({ block: "start", behavior: calm ? "auto" : "smooth" });
  if (focus) $("summary", row).focus({ preventScroll: true });
}

function emphasise(zone) {
  for (const g of $$(".dog .zone")) g.classList.toggle("now", g.dataset.zone === zone);
}

function nextZone(after) {
  const rows = worked();
  const at = rows.findIndex((r) => r.dataset.row === after);
  const order = [...rows.slice(at + 1), ...rows.slice(0, at + 1)];
  return order.find((r) => !amountOf(r.dataset.row))?.dataset.row;
}

const openNow = () => $("[data-row] > details[open]")?.parentElement.dataset.row;

document.addEventListener("submit", async (event) => {
  const form = event.target;
  if (!form.matches("form[data-tap]")) return;
  event.preventDefault();
  if (!form.reportValidity()) return;
  const button = event.submitter;
  const entry = entryOf(form, button);
  if (!entry) return;
  const zone = entry.zone ?? "";
  // A pressed button taken back is an undo, except where saying it again is the plain meaning.
  if (button?.getAttribute("aria-pressed") === "true") {
    const set = standingAs(button);
    if (set) return keep([{ zone: set.body.zone, what: { do: "undo", entry: set.id } }]);
  }
  const taps = [entry];
  const amount = ["as_planned", "pulled", "all_ripe", "left"].includes(entry.what.do);
  const next = amount ? nextZone(zone) : undefined;
  const onward = amount && clocks.runs(zone);
  if (onward) taps.push(...clocks.stop(zone), ...(next ? clocks.start(next) : []));
  await keep(taps);
  if (form.dataset.tap === "reset") form.reset();
  // From the list one goes down the list; from within a zone the next one opens.
  if (amount && form.dataset.tap === "next" && !button?.classList.contains("quick")) {
    const to = nextZone(zone);
    if (to) openZone(to);
    else $("#finish").scrollIntoView({ block: "center" });
  }
});

document.addEventListener("click", async (event) => {
  const target = event.target.closest("[data-undo], [data-clock], [data-go], .dog .zone, #undo, #next, #refused-seen");
  if (!target) return;
  if (target.dataset.undo) return keep([{ zone: null, what: { do: "undo", entry: target.dataset.undo } }]);
  if (target.id === "undo") {
    const taps = lastGroup().map((e) => ({ zone: e.body.zone, what: { do: "undo", entry: e.id } }));
    if (taps.length) await keep(taps);
    return;
  }
  if (target.id === "next" || target.dataset.go === "next") {
    const to = nextZone(openNow() ?? "");
    if (to) openZone(to);
    return;
  }
  if (target.id === "refused-seen") {
    await entries.drop((await entries.refused()).map((e) => e.id));
    return show();
  }
  if (target.dataset.clock) return keep(clocks.toggle(target.dataset.clock));
  const zone = target.dataset.zone;
  if (zone && !marks.place(event, zone)) openZone(zone);
});

document.addEventListener("toggle", (event) => {
  const row = event.target.parentElement;
  if (!row?.matches?.("[data-row]") || !event.target.open) return;
  furnish(row);
  for (const d of $$("[data-row] > details[open]")) if (d !== event.target) d.open = false;
  emphasise(row.dataset.row);
}, true);

// Finishing needs the shop, and the shop needs all entries first.
$("#finish")?.addEventListener("submit", async (event) => {
  if ((await entries.waiting()).length === 0) return;
  event.preventDefault();
  await courier.soon();
  const waiting = (await entries.waiting()).length;
  if (!waiting) return event.target.submit();
  const note = $("#finish-waits");
  note.hidden = false;
  note.textContent = `${sentence(lastState, waiting, entries.safe)} Finish when all are kept in the shop.`;
});

addEventListener("beforeunload", (event) => {
  if (entries.held) event.preventDefault();
});

if (channel) channel.onmessage = (event) => event.data.visit === visit && show();

/** The screen stays on while the page is looked at, where the browser can. */
async function stayAwake() {
  try {
    await navigator.wakeLock?.request("screen");
  } catch {
    // Low battery, or not allowed: nothing to do.
  }
}
document.addEventListener("visibilitychange", () => document.visibilityState === "visible" && stayAwake());
stayAwake();

document.documentElement.classList.add("with-script");
for (const row of $$("[data-row]")) if ($("details", row).open) furnish(row);
setInterval(() => clocks.show(), 1000);
await entries.tidy().catch(() => {});
await show();
courier.soon();
keepPage();
page.dataset.ready = "yes";
