// The queue of the work at the table against a shop that loses answers, goes away, signs people out and refuses.

import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { folder, open, until } from "./lib.mjs";
import { stub } from "./stub.mjs";

const VISIT = "visit-0001";
let context;
before(async () => {
  context = await open(folder("queue"));
});
after(() => context.close());

/** A fresh shop and a page on it: another port is another origin, so nothing is shared between tests. */
async function fresh(init) {
  const shop = await stub();
  const page = await context.newPage();
  if (init) await page.addInitScript(init);
  await page.goto(shop.at);
  await page.waitForFunction(() => globalThis.queue);
  return { shop, page };
}

const waiting = (page) => page.evaluate(async () => (await queue.entries.waiting()).length);
const tap = (page, n) => page.evaluate(async ([visit, n]) => {
  for (let i = 0; i < n; i += 1) await queue.tap(visit, { do: "pulled", share: 0.2 });
}, [VISIT, n]);

function inOrder(shop, n) {
  assert.equal(shop.kept.length, n);
  assert.equal(new Set(shop.kept.map((e) => e.id)).size, n);
  assert.deepEqual(shop.kept.map((e) => e.count), Array.from({ length: n }, (_, i) => i + 1));
}

test("entries made without the network are delivered once each and in order", async () => {
  const { shop, page } = await fresh();
  await context.setOffline(true);
  await tap(page, 120);
  assert.equal(await waiting(page), 120);
  assert.equal(shop.kept.length, 0);
  await context.setOffline(false);
  await until("all are kept", async () => (await waiting(page)) === 0);
  inOrder(shop, 120);
  await page.close();
  await shop.close();
});

test("answers that are lost double nothing", async () => {
  const { shop, page } = await fresh();
  shop.how = (_, n) => (n % 2 ? "lose the answer" : "keep");
  await tap(page, 60);
  await until("all are kept", async () => (await waiting(page)) === 0);
  inOrder(shop, 60);
  assert.ok(shop.doubles > 0, "the shop was never sent anything twice: the test shows nothing");
  await page.close();
  await shop.close();
});

test("two tabs count on from each other and lose nothing", async () => {
  const { shop, page } = await fresh();
  const other = await context.newPage();
  await other.goto(shop.at);
  await other.waitForFunction(() => globalThis.queue);
  await Promise.all([tap(page, 40), tap(other, 40)]);
  await until("all are kept", async () => (await waiting(page)) === 0);
  assert.equal(shop.kept.length, 80);
  assert.deepEqual(shop.kept.map((e) => e.count).sort((a, b) => a - b), Array.from({ length: 80 }, (_, i) => i + 1));
  await other.close();
  await page.close();
  await shop.close();
});

test("a tab closed in the middle leaves its entries to another", async () => {
  const { shop, page } = await fresh();
  shop.how = () => "away";
  await tap(page, 10);
  await page.close();
  const other = await context.newPage();
  await other.goto(shop.at);
  await other.waitForFunction(() => globalThis.queue);
  assert.equal(await waiting(other), 10);
  shop.how = () => "keep";
  await other.evaluate(() => queue.courier.soon());
  await until("all are kept", async () => (await waiting(other)) === 0);
  inOrder(shop, 10);
  await other.close();
  await shop.close();
});

for (const [name, init] of [
  ["a full store", () => {
    const put = IDBObjectStore.prototype.put;
    IDBObjectStore.prototype.put = function (value, ...rest) {
      if (value.body || value.count) throw new DOMException("full", "QuotaExceededError");
      return put.call(this, value, ...rest);
    };
  }],
  ["no store at all", () => Object.defineProperty(globalThis, "indexedDB", { value: undefined })],
]) {
  test(`${name}: entries are held in the page, said plainly, and sent`, async () => {
    const { shop, page } = await fresh(init);
    shop.how = () => "away";
    await tap(page, 3);
    const said = await page.evaluate(async () => ({
      safe: queue.entries.safe,
      held: queue.entries.held,
      text: queue.sentence("away", (await queue.entries.waiting()).length, queue.entries.safe),
    }));
    assert.deepEqual([said.safe, said.held], [false, 3]);
    assert.match(said.text, /^3 entries wait for the network, held in this page only: do not close it\.$/);
    shop.how = () => "keep";
    await page.evaluate(() => queue.courier.soon());
    await until("all are kept", async () => (await waiting(page)) === 0);
    inOrder(shop, 3);
    assert.equal(await page.evaluate(() => queue.entries.held), 0);
    await page.close();
    await shop.close();
  });
}

test("signed out: says so, keeps all, sends after signing in", async () => {
  const { shop, page } = await fresh();
  shop.how = () => "out";
  await tap(page, 2);
  await until("it knows", () => page.evaluate(() => queue.states.includes("signed out")));
  assert.equal(await waiting(page), 2);
  assert.match(await page.evaluate(() => queue.sentence("signed out", 2, true)), /^You were signed out\. 2 entries wait/);
  shop.how = () => "keep";
  await page.evaluate(() => queue.courier.soon());
  await until("all are kept", async () => (await waiting(page)) === 0);
  inOrder(shop, 2);
  await page.close();
  await shop.close();
});

test("a refused entry is set aside with the shop's words and holds nothing up", async () => {
  const { shop, page } = await fresh();
  shop.how = () => "refuse odd";
  await tap(page, 5);
  await until("nothing waits", async () => (await waiting(page)) === 0);
  assert.deepEqual(shop.kept.map((e) => e.count), [2, 4]);
  const refused = await page.evaluate(() => queue.entries.refused());
  assert.deepEqual(refused.map((e) => [e.count, e.said]), [1, 3, 5].map((n) => [n, "odd entries are not taken"]));
  await page.close();
  await shop.close();
});

test("a clock wrong by a day changes no order", async () => {
  const { shop, page } = await fresh();
  await context.setOffline(true);
  await tap(page, 1);
  await page.evaluate(() => {
    const now = Date.now;
    Date.now = () => now() - 24 * 3600 * 1000;
  });
  await tap(page, 1);
  await page.evaluate(() => {
    const now = Date.now;
    Date.now = () => now() + 48 * 3600 * 1000;
  });
  await tap(page, 1);
  await context.setOffline(false);
  await until("all are kept", async () => (await waiting(page)) === 0);
  inOrder(shop, 3);
  const times = shop.kept.map((e) => e.browser_ms);
  assert.ok(times[1] < times[0] && times[0] < times[2], "the browser's own times are kept beside");
  await page.close();
  await shop.close();
});

test("a browser closed without the network delivers when it is opened again", async () => {
  const profile = folder("closed");
  const shop = await stub();
  shop.how = () => "away";
  let own = await open(profile);
  let page = await own.newPage();
  await page.goto(shop.at);
  await page.waitForFunction(() => globalThis.queue);
  await tap(page, 7);
  await own.close();
  assert.equal(shop.kept.length, 0);
  shop.how = () => "keep";
  own = await open(profile);
  page = await own.newPage();
  await page.goto(shop.at);
  await page.waitForFunction(() => globalThis.queue);
  assert.equal(await waiting(page), 7);
  await page.evaluate(() => queue.courier.soon());
  await until("all are kept", async () => (await waiting(page)) === 0);
  inOrder(shop, 7);
  await own.close();
  await shop.close();
});

test("undone entries do not stand, and what the shop has is not shown twice", async () => {
  const { shop, page } = await fresh();
  const got = await page.evaluate(() => {
    const e = (id, zone, what, more = {}) => ({ id, body: { zone, what }, ...more });
    const shop = [e("a", "back", { do: "as_planned" }), e("b", "back", { do: "ease", ease: 2 })];
    const own = [
      e("a", "back", { do: "as_planned" }, { state: "kept" }),
      e("c", "back", { do: "pulled", share: 0.2 }, { state: "waiting" }),
      e("d", null, { do: "undo", entry: "c" }, { state: "waiting" }),
      e("gone", "back", { do: "left" }, { state: "kept" }),
      e("x", "back", { do: "left" }, { state: "refused" }),
    ];
    const all = queue.merged(shop, new Set(["a", "b", "gone"]), own);
    const back = queue.replay(all).zones.get("back");
    return { ids: all.map((e) => e.id), amount: back.get("amount").id, ease: back.get("ease").id };
  });
  assert.deepEqual(got, { ids: ["a", "b", "c", "d"], amount: "a", ease: "b" });
  await page.close();
  await shop.close();
});
