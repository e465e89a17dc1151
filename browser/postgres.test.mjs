// The work at the table where the shop is kept in PostgreSQL: network cut, program killed, the database server fallen.
// The server is the test's own, as in the Rust tests.

import assert from "node:assert/strict";
import { spawn } from "node:child_process";
import { once } from "node:events";
import { after, before, test } from "node:test";
import { createInterface } from "node:readline";
import { folder, open, until } from "./lib.mjs";
import { Shop } from "./shop.mjs";
import { allKept, keepMany, net, nothingMissing, ready, shopHas } from "./work.mjs";

const PROGRAM = process.env.OWN_POSTGRES ?? new URL("../target/release/own-postgres", import.meta.url).pathname;

let server, said, shop, context, page;
before(async () => {
  server = spawn(PROGRAM, { stdio: ["pipe", "pipe", "inherit"] });
  const lines = createInterface({ input: server.stdout })[Symbol.asyncIterator]();
  said = async () => (await lines.next()).value ?? assert.fail("PostgreSQL does not run; what it said stands above");
  shop = await Shop.empty(await said());
  context = await open(folder("postgres"), { viewport: { width: 390, height: 844 } });
  page = await context.newPage();
});
after(async () => {
  await context?.close();
  await shop?.kill();
  if (server.exitCode !== null) return;
  server.stdin.end();
  await once(server, "exit");
});

test("work in PostgreSQL survives a cut network, a killed program and a fallen database server", async () => {
  await page.goto(shop.at);
  await shop.begin(page);
  await page.goto(`${shop.at}/dogs/new`);
  const choose = (name) => page.getByRole("radio", { name, exact: true }).check();
  const next = async (n) => {
    await page.getByRole("button", { name: "Next", exact: true }).click();
    await page.waitForFunction((n) => document.title.startsWith(`New dog, step ${n} `), n);
  };
  await page.getByLabel("The dog's name").fill("Nettle");
  await page.getByLabel("The owner's name").fill("Una Invented");
  await next(2);
  await page.getByLabel("Born").fill("2021-05-02");
  await page.getByLabel("Mass").fill("8.4");
  await choose("A bitch");
  await choose("Wire");
  await next(3);
  await choose("Nobody has worked it");
  await next(4);
  await choose("Calm");
  await next(5);
  await choose("A tidy pet");
  await page.getByRole("button", { name: "Take it in and plan" }).click();
  await page.waitForURL(/\/dogs\/[^/]+$/);
  await page.goto(`${shop.at}/table?q=Nettle`);
  await page.getByRole("button", { name: "Add Nettle", exact: true }).click();
  await page.getByRole("button", { name: "To the work" }).click();
  await page.waitForURL(/\/visits\/[^/]+$/);
  await ready(page);
  const path = new URL(page.url()).pathname;

  await context.setOffline(true);
  for (const n of [0, 1]) await page.locator("[data-row][data-work=yes]").nth(n).locator(".quick").click();
  await until("it says so", async () => /^2 entries wait for the network/.test(await net(page)));
  await context.setOffline(false);
  await allKept(page);

  const making = keepMany(page, 400);
  await page.locator("[data-row][data-work=yes]").nth(2).locator(".quick").click();
  for (const fall of ["program", "server", "program"]) {
    await new Promise((yes) => setTimeout(yes, 700));
    if (fall === "server") {
      server.stdin.write("fall\n");
      assert.equal(await said(), "again");
    } else {
      await shop.kill();
      await shop.run();
    }
  }
  await making;
  await page.evaluate(() => dispatchEvent(new Event("online")));
  await allKept(page);
  assert.equal((await nothingMissing(page, shop, path)).length, 403);
  assert.equal((await shopHas(context, shop, path)).known.length, 403);
  await page.reload();
  await ready(page);
  assert.equal(await page.locator("[data-row].done").count(), 3);
});
