// The work at the table in the program: network cut, program killed, two tabs, reload in flight, closed browser.

import assert from "node:assert/strict";
import { after, before, beforeEach, test } from "node:test";
import { folder, open, until } from "./lib.mjs";
import { Shop } from "./shop.mjs";
import { allKept, keepMany, net, nothingMissing, ready, shopHas } from "./work.mjs";

let shop, context, page;
before(async () => {
  shop = await Shop.start();
  context = await open(folder("table"), { viewport: { width: 390, height: 844 } });
  page = await context.newPage();
  await shop.signIn(page);
});
// A test that failed with the program killed does not take the others with it.
beforeEach(() => shop.alive() || shop.run());
after(async () => {
  await context.close();
  await shop.kill();
});

/** Dogs of today that are still to come and of which something is to be taken. */
const toCome = (p) => p.locator(".table-dog", { hasNotText: "Nothing to take" }).getByRole("button", { name: "To the work" });

/** Names of dogs that may still be put down for today, those whose day is past or near first. */
const names = [];

async function readNames(p) {
  for (const filter of ["past", "ready", "all"]) {
    await p.goto(`${shop.at}/coats?filter=${filter}`);
    names.push(...(await p.locator("#list .list .name").allTextContents()).filter((n) => !names.includes(n)));
  }
}

/** Sees to it that such a dog is there, and stays on the Table. Each dog is put down once: one that comes today
 * already would be refused. */
async function oneToCome(p) {
  if (names.length === 0) await readNames(p);
  for (;;) {
    await p.goto(`${shop.at}/table`);
    if (await toCome(p).count()) return;
    const name = names.shift();
    assert.ok(name, "no dog is left of which something is to be taken");
    await p.goto(`${shop.at}/table?q=${encodeURIComponent(name)}`);
    await p.getByRole("button", { name: `Add ${name}`, exact: true }).first().click();
    await p.waitForLoadState();
  }
}

/** Takes the next such dog to the table and opens its work. */
async function begin(p = page) {
  await oneToCome(p);
  await toCome(p).first().click();
  await p.waitForURL(/\/visits\/[^/]+$/);
  await ready(p);
  return new URL(p.url()).pathname;
}

const inShop = (path) => shopHas(context, shop, path);
const nothingLost = (path, p = page) => nothingMissing(p, shop, path);
const row = (p, n) => p.locator("[data-row][data-work=yes]").nth(n);

test("one tap as planned, two taps for another amount, undo for both", async () => {
  const path = await begin();
  await row(page, 0).locator(".quick").click();
  await until("it is done", () => row(page, 0).locator(".taken").textContent().then((t) => t === "Done: as planned"));
  await row(page, 1).locator("summary").click();
  await row(page, 1).getByRole("button", { name: "1 in 8", exact: true }).click();
  await until("it is done", () => row(page, 1).locator(".taken").textContent().then((t) => t === "Done: 1 in 8 pulled"));
  await page.locator("#undo").click();
  await until("it is taken back", () => row(page, 1).locator(".taken").textContent().then((t) => t === ""));
  await allKept(page);
  const { entries } = await inShop(path);
  assert.deepEqual(entries.map((e) => e.body.what.do), ["as_planned"]);
  await nothingLost(path);
});

test("a zone that will not come says stop", async () => {
  await begin();
  await row(page, 0).locator("summary").click();
  await row(page, 0).getByRole("button", { name: "5 will not come" }).click();
  await row(page, 0).getByText("Stop here: this zone is set. Go on to the next.").waitFor();
  await row(page, 0).getByRole("button", { name: "Next zone" }).click();
  await until("the next is open", () => row(page, 1).locator("details").evaluate((d) => d.open));
});

test("the network is cut: entries wait, a reload still opens the page, and all arrive in order", async () => {
  const path = await begin();
  await until("the page is kept for later", () => page.evaluate(() => document.documentElement.dataset.away === "yes"));
  await context.setOffline(true);
  for (const n of [0, 1, 2]) await row(page, n).locator(".quick").click();
  await until("it says so", async () => /^3 entries wait for the network/.test(await net(page)));
  await page.reload();
  await ready(page);
  assert.match(await net(page), /^3 entries wait for the network, kept in this browser\.$/);
  assert.equal(await row(page, 2).locator(".taken").textContent(), "Done: as planned");
  await row(page, 3).locator(".quick").click();
  await context.setOffline(false);
  await allKept(page);
  const own = await nothingLost(path);
  assert.equal(own.length, 4);
  assert.deepEqual((await inShop(path)).entries.map((e) => e.id), own);
});

test("two tabs do not disturb each other", async () => {
  const path = await begin();
  const other = await context.newPage();
  await other.goto(`${shop.at}${path}`);
  await ready(other);
  await Promise.all([
    (async () => { for (const n of [0, 1, 2]) await row(page, n).locator(".quick").click(); })(),
    (async () => { for (const n of [3, 4, 5]) await row(other, n).locator(".quick").click(); })(),
  ]);
  await until("the other tab sees it", () => other.locator("[data-row].done").count().then((n) => n === 6));
  await allKept(other);
  await allKept(page);
  assert.equal((await nothingLost(path)).length, 6);
  await other.close();
});

test("a reload while entries are on their way", async () => {
  const path = await begin();
  await page.route("**/entries", async (route) => {
    await route.fetch();
    await new Promise((yes) => setTimeout(yes, 500));
    // The reload ends the request itself where it comes first.
    await route.abort().catch(() => {});
  });
  await row(page, 0).locator(".quick").click();
  await row(page, 1).locator(".quick").click();
  await page.reload();
  await page.unrouteAll({ behavior: "ignoreErrors" });
  await ready(page);
  await allKept(page);
  assert.equal((await nothingLost(path)).length, 2);
  assert.equal((await inShop(path)).entries.length, 2);
});

test("the program is killed and started again in the middle of a thousand entries", async () => {
  const path = await begin();
  const making = keepMany(page, 1000);
  await row(page, 0).locator(".quick").click();
  for (let i = 0; i < 4; i += 1) {
    await new Promise((yes) => setTimeout(yes, 700));
    await shop.kill();
    await shop.run();
  }
  await making;
  await page.evaluate(() => dispatchEvent(new Event("online")));
  await until("all is kept", async () => (await net(page)) === "All kept in the shop.", 60_000);
  assert.equal((await nothingLost(path)).length, 1001);
  assert.equal((await inShop(path)).known.length, 1001);
});

test("a browser closed without the network opens the page again without it, and delivers later", async () => {
  const profile = folder("closed");
  let own = await open(profile, { viewport: { width: 390, height: 844 } });
  let p = await own.newPage();
  await shop.signIn(p);
  const path = await begin(p);
  await until("the page is kept", () => p.evaluate(() => document.documentElement.dataset.away === "yes"));
  await shop.kill();
  await row(p, 0).locator(".quick").click();
  await row(p, 1).locator(".quick").click();
  await until("they wait", async () => /^2 entries wait/.test(await net(p)));
  await own.close();
  own = await open(profile, { viewport: { width: 390, height: 844 } });
  p = await own.newPage();
  await p.goto(`${shop.at}${path}`);
  await ready(p);
  await until("it says so", async () => /^2 entries wait for the network/.test(await net(p)));
  await shop.run();
  await p.evaluate(() => dispatchEvent(new Event("online")));
  await allKept(p);
  assert.equal((await nothingLost(path, p)).length, 2);
  await own.close();
});

test("signed out in the middle: it says so, keeps all, and sends after signing in", async () => {
  const path = await begin();
  await context.clearCookies();
  await row(page, 0).locator(".quick").click();
  await until("it says so", async () => /^You were signed out\. 1 entry waits/.test(await net(page)));
  await page.locator("#signed-out").getByRole("link", { name: "Sign in" }).click();
  await page.getByLabel("Your name").fill(shop.name);
  await page.locator("#password").fill(shop.password);
  await page.getByRole("button", { name: "Sign in" }).click();
  await page.waitForURL(`**${path}`);
  await ready(page);
  await allKept(page);
  assert.equal((await nothingLost(path)).length, 1);
});

test("clocks and the contact time survive a reload", async () => {
  await begin();
  await row(page, 0).locator("summary").click();
  await row(page, 0).locator("[data-clock]").click();
  await page.getByRole("button", { name: "disinfectant bath, 10 min" }).click();
  await page.getByText(/Tools in the disinfectant bath: \d+:\d\d left/).waitFor();
  await page.reload();
  await ready(page);
  const seconds = (text) => text.match(/(\d+):(\d\d)$/)?.slice(1).reduce((m, s) => 60 * m + Number(s), 0) ?? 0;
  await until("the clock runs on", () => page.locator("#bar-clock").textContent().then((t) => seconds(t) >= 2));
  await page.getByText(/Tools in the disinfectant bath: 9:\d\d left/).waitFor();
  await row(page, 0).locator("summary").click();
  await row(page, 0).getByRole("button", { name: "Pause the clock" }).click();
  await row(page, 0).getByRole("button", { name: "Go on with the clock" }).waitFor();
  const stands = await row(page, 0).locator(".clock-at").textContent();
  await new Promise((yes) => setTimeout(yes, 1500));
  assert.equal(await row(page, 0).locator(".clock-at").textContent(), stands);
});

test("a finding on the skin is marked on the drawing", async () => {
  const path = await begin();
  await page.getByRole("button", { name: "Mark it on the drawing" }).click();
  await page.locator("#zone-sides path").first().click({ position: { x: 20, y: 20 } });
  await page.getByLabel("What you see").fill("a round bald patch, a coin wide");
  await page.getByRole("button", { name: "Keep the finding" }).click();
  await until("the mark is there", () => page.locator("#marks circle").count().then((n) => n === 1));
  const found = async () => (await inShop(path)).entries.find((e) => e.body.what.do === "skin")?.body;
  const skin = await until("the finding is in the shop", found);
  await allKept(page);
  assert.equal(skin.zone, "sides");
  assert.ok(skin.what.x > 0 && skin.what.x < 1 && skin.what.y > 0 && skin.what.y < 1 && skin.what.x !== 0.5);
});

test("finishing shows before and after and puts the next visit down", async () => {
  await begin();
  for (const n of [0, 1, 2]) await row(page, n).locator(".quick").click();
  await page.getByRole("button", { name: "Finish the visit" }).click();
  await page.getByRole("button", { name: "The visit is done" }).click();
  await page.getByRole("table", { name: "The coat before and after" }).waitFor();
  await page.getByRole("heading", { name: "Left for next time" }).waitFor();
  // A dog whose next visit is booked already shows that day instead.
  await page.getByRole("button", { name: "Put it down" }).or(page.getByRole("link", { name: "See that day" })).click();
  await page.waitForURL(/\/table\?day=/);
  await page.getByRole("button", { name: "To the work" }).first().waitFor();
});

test("without script the same buttons work as forms", async () => {
  const plain = await open(folder("plain"), { javaScriptEnabled: false });
  const p = await plain.newPage();
  await shop.signIn(p);
  await oneToCome(p);
  await toCome(p).first().click();
  await row(p, 0).locator(".quick").click();
  await p.getByText("Done: as planned").waitFor();
  const zone = await row(p, 1).getAttribute("data-row");
  await p.locator(`#z-${zone} summary`).click();
  await p.locator(`#z-${zone}`).getByRole("link", { name: "Another amount, and what was read" }).click();
  await p.waitForURL(/\?zone=/);
  await p.locator(`#z-${zone}`).getByRole("button", { name: "1 in 10", exact: true }).click();
  await p.getByText("Done: 1 in 10 pulled").waitFor();
  await plain.close();
});
