// What tests of the work at the table ask of the page, of the browser's own store and of the shop.

import assert from "node:assert/strict";
import { until } from "./lib.mjs";

export const ready = (page) => page.waitForSelector("[data-ready=yes]");
export const net = (page) => page.locator("#net").textContent();
export const allKept = (page) => until("all is kept", async () => (await net(page)) === "All kept in the shop.");

/** What the shop has of a visit, by the page as the shop makes it now. */
export async function shopHas(context, shop, path) {
  const answer = await context.request.get(`${shop.at}${path}`);
  assert.equal(answer.status(), 200);
  const text = await answer.text();
  return JSON.parse(/id="work-data"[^>]*>(.*?)<\/script>/s.exec(text)[1]);
}

/** What this browser has of the visit on its page. */
const inBrowser = (page) =>
  page.evaluate(async () => {
    const db = await new Promise((yes) => {
      const r = indexedDB.open("coatwright", 1);
      r.onsuccess = () => yes(r.result);
    });
    const visit = document.querySelector("[data-visit]").dataset.visit;
    const all = await new Promise((yes) => {
      const r = db.transaction("entries").objectStore("entries").getAll();
      r.onsuccess = () => yes(r.result);
    });
    db.close();
    return all.filter((e) => e.visit === visit).sort((a, b) => a.count - b.count);
  });

/** Nothing that this browser made is missing in the shop, and nothing is there twice. */
export async function nothingMissing(page, shop, path) {
  const own = (await inBrowser(page)).map((e) => e.id);
  const { known } = await shopHas(page.context(), shop, path);
  assert.equal(new Set(known).size, known.length);
  assert.deepEqual(own.filter((id) => !known.includes(id)), []);
  assert.ok(own.length > 0, "nothing was written: the test shows nothing");
  return own;
}

/** Has the open page write down this many entries, one after the other. */
export async function keepMany(page, most) {
  const script = await page.locator("script[type=module]").getAttribute("src");
  await page.evaluate(async ([script, most]) => {
    const { Entries } = await import(script.replace("work.js", "store.js"));
    const entries = await Entries.of(document.querySelector("[data-shop]").dataset.shop);
    const { visit } = document.querySelector("[data-visit]").dataset;
    for (let i = 0; i < most; i += 1) await entries.keep(visit, [{ zone: "back", what: { do: "ease", ease: 1 + (i % 3) } }]);
  }, [script, most]);
}
