// How the pages of the table look and read: axe in both themes, two widths, targets for a thumb, keyboard only.
// Screenshots go to browser/out.

import assert from "node:assert/strict";
import { mkdirSync, readFileSync } from "node:fs";
import { createRequire } from "node:module";
import { after, before, test } from "node:test";
import { folder, open, until } from "./lib.mjs";
import { Shop } from "./shop.mjs";

const AXE = readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");
const OUT = new URL("./out/", import.meta.url).pathname;
mkdirSync(OUT, { recursive: true });

const WIDTHS = [
  { width: 390, height: 844 },
  { width: 820, height: 1180 },
];

let shop, context, page, work, dog;
before(async () => {
  shop = await Shop.start();
  context = await open(folder("looks"), { viewport: WIDTHS[0] });
  page = await context.newPage();
  await shop.signIn(page);
  await page.getByRole("button", { name: "To the work" }).first().click();
  await page.waitForURL(/\/visits\/[^/]+$/);
  work = new URL(page.url()).pathname;
  await page.goto(`${shop.at}/table`);
  dog = await page.locator(".table-dog h2 a").first().getAttribute("href");
});
after(async () => {
  await context.close();
  await shop.kill();
});

/** The pages, each brought into the state that is looked at. */
const pages = () => [
  ["table", "/table", async () => {}],
  ["table-add", "/table?q=a", async () => {}],
  ["work", work, async () => page.waitForSelector("[data-ready=yes]")],
  ["work-zone", work, async () => {
    await page.waitForSelector("[data-ready=yes]");
    await page.locator("[data-row] summary").first().click();
    await page.locator("[data-row]").first().getByRole("button", { name: "4 hardly" }).click();
  }],
  ["finish", `${work}/finish`, async () => {}],
  ["photo", `${dog}/photos/new?zone=back`, async () => {}],
  ["photos", `${dog}/photos`, async () => {}],
];

for (const theme of ["light", "dark"]) {
  for (const size of WIDTHS) {
    test(`axe finds nothing and nothing sticks out: ${theme}, ${size.width} wide`, async () => {
      await page.emulateMedia({ colorScheme: theme, reducedMotion: "reduce" });
      await page.setViewportSize(size);
      for (const [name, path, make] of pages()) {
        await page.goto(`${shop.at}${path}`);
        await make();
        await page.screenshot({ path: `${OUT}${name}-${theme}-${size.width}.png`, fullPage: true });
        await page.evaluate(AXE);
        const found = await page.evaluate(() => axe.run(document, { resultTypes: ["violations"] }));
        const said = found.violations.map((v) => `${v.id}: ${v.nodes.map((n) => n.target).join(" ")}`);
        assert.deepEqual(said, [], name);
        const wide = await page.evaluate(() => document.documentElement.scrollWidth - innerWidth);
        assert.ok(wide <= 0, `${name} is ${wide} px wider than the screen`);
      }
    });
  }
}

test("every target at the table is at least 48 by 48", async () => {
  await page.setViewportSize(WIDTHS[0]);
  for (const [name, path, make] of pages().filter(([name]) => name.startsWith("work"))) {
    await page.goto(`${shop.at}${path}`);
    await make();
    const small = await page.evaluate(() =>
      [...document.querySelectorAll("button, summary, select, input:not([type=hidden]), textarea, a")]
        .filter((e) => e.checkVisibility())
        .map((e) => [e.textContent.trim() || e.name, e.getBoundingClientRect()])
        .filter(([, r]) => r.width < 47.5 || r.height < 47.5)
        .map(([t, r]) => `${t}: ${Math.round(r.width)} x ${Math.round(r.height)}`),
    );
    assert.deepEqual(small, [], name);
  }
});

test("the first view of each page is under 200 kB over the wire", async () => {
  for (const [name, path] of pages()) {
    const fresh = await open(folder("wire"), { viewport: WIDTHS[0] });
    const p = await fresh.newPage();
    await shop.signIn(p);
    await fresh.clearPermissions();
    const client = await fresh.newCDPSession(p);
    await client.send("Network.enable");
    await client.send("Network.setCacheDisabled", { cacheDisabled: true });
    let bytes = 0;
    client.on("Network.loadingFinished", (e) => (bytes += e.encodedDataLength));
    await p.goto(`${shop.at}${path}`, { waitUntil: "networkidle" });
    assert.ok(bytes < 200_000, `${name}: ${bytes} bytes`);
    await fresh.close();
  }
});

/** Presses Tab until what has the focus fits; fails after too many. */
async function tabTo(what, fits, most = 80) {
  for (let i = 0; i < most; i += 1) {
    await page.keyboard.press("Tab");
    const at = await page.evaluate(() => {
      const e = document.activeElement;
      const r = e.getBoundingClientRect();
      const ring = getComputedStyle(e);
      return { text: (e.getAttribute("aria-label") ?? e.textContent ?? "").trim(), tag: e.localName, id: e.id,
        seen: r.width > 0 && r.bottom > 0 && r.top < innerHeight, ring: ring.outlineStyle !== "none" && ring.outlineWidth !== "0px" };
    });
    if (fits(at)) {
      assert.ok(at.seen, `${what} has the focus and is not in view`);
      assert.ok(at.ring, `${what} has the focus and does not show it`);
      return at;
    }
  }
  throw new Error(`no way to ${what} by keyboard`);
}

test("the whole work by keyboard alone", async () => {
  await page.setViewportSize(WIDTHS[1]);
  let step = 0;
  const shot = (name) => page.screenshot({ path: `${OUT}walk-${(step += 1)}-${name}.png` });
  await page.goto(`${shop.at}/table`);
  await tabTo("the work", (a) => a.text === "To the work" || a.text === "Back to the work");
  await shot("table");
  await page.keyboard.press("Enter");
  await page.waitForURL(/\/visits\//);
  await page.waitForSelector("[data-ready=yes]");
  await tabTo("the first zone", (a) => a.tag === "summary");
  await shot("zone");
  await page.keyboard.press("Enter");
  await tabTo("another amount", (a) => a.text === "1 in 5");
  await page.keyboard.press("Enter");
  await until("it is done", () => page.locator("[data-row].done").count().then((n) => n >= 1));
  await shot("done");
  await until("the next zone has the focus", () => page.evaluate(() => document.activeElement.localName === "summary"));
  await tabTo("as planned", (a) => a.text.startsWith("As planned"));
  await page.keyboard.press("Enter");
  await until("two are done", () => page.locator("[data-row].done").count().then((n) => n >= 2));
  await shot("two-done");
  await tabTo("the note", (a) => a.tag === "textarea", 400);
  await shot("skin");
  await tabTo("finishing", (a) => a.text === "Finish the visit", 100);
  await page.keyboard.press("Enter");
  await page.waitForURL(/\/finish/);
  await shot("finish");
  await tabTo("done", (a) => a.text === "The visit is done");
  await page.keyboard.press("Enter");
  await page.getByRole("heading", { name: "The next visit" }).waitFor();
  await shot("finished");
});
