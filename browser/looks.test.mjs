// How the pages look and read: axe in both themes, two widths, targets for a thumb, keyboard only.
// Screenshots go to browser/out.

import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { OUT, WIDTHS, clean, folder, open, picture, tabTo, until } from "./lib.mjs";
import { Shop } from "./shop.mjs";

let shop, context, page, work, dog, owner, colleague, two;
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
  for (const colour of ["tan", "peru"]) await picture(page, `${shop.at}${dog}/photos/new`, "left side", colour);
  for (const box of await page.locator("input[name=id]").all()) await box.check();
  await page.getByRole("button", { name: "Look at two together" }).click();
  await page.waitForURL(/\/photos\/two/);
  two = new URL(page.url());
  two = two.pathname + two.search;
  await page.goto(`${shop.at}/people`);
  owner = await page.locator("a[href^='/people/owners/']:not([href$=new])").first().getAttribute("href");
  colleague = await page.locator("a[href^='/people/colleagues/']:not([href$=new])").first().getAttribute("href");
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
  ["photos-two", two, async () => {}],
  ["coats", "/coats", async () => {}],
  ["coats-nobody", "/coats?q=nobody", async () => {}],
  ["dog", dog, async () => {}],
  ["dog-tried", `${dog}?rhythm=12`, async () => {}],
  // The reading that would teach most comes after the page.
  ["dog-learned", `${dog}/learned`, async () => page.getByText("At the visit of").waitFor()],
  ["dog-learned-open", `${dog}/learned`, async () => {
    await page.locator("details").evaluateAll((all) => all.forEach((d) => (d.open = true)));
    await page.getByText("At the visit of").waitFor();
  }],
  ["dog-history", `${dog}/history/new`, async () => {}],
  ["new-dog", "/dogs/new", async () => {}],
  ["new-dog-wrong", "/dogs/new", async () => {
    await page.getByRole("button", { name: "Next" }).evaluate((b) => (b.form.noValidate = true));
    await page.getByRole("button", { name: "Next" }).click();
    await page.locator(".notice.bad").waitFor();
  }],
  ["people", "/people", async () => {}],
  ["owner-new", "/people/owners/new", async () => {}],
  ["owner", owner, async () => {}],
  ["colleague-new", "/people/colleagues/new", async () => {}],
  ["colleague", colleague, async () => {}],
  ["house", "/house", async () => {}],
  ["house-plan", "/house/plan", async () => {}],
  ["house-targets", "/house/targets/wire", async () => {}],
  ["you", "/you", async () => {}],
  ["nothing-here", "/nothing-here", async () => {}],
];

for (const theme of ["light", "dark"]) {
  for (const size of WIDTHS) {
    test(`axe finds nothing and nothing sticks out: ${theme}, ${size.width} wide`, async () => {
      await page.emulateMedia({ colorScheme: theme, reducedMotion: "reduce" });
      await page.setViewportSize(size);
      for (const [name, path, make] of pages()) {
        await page.goto(`${shop.at}${path}`);
        await make();
        await clean(page, `${name}-${theme}-${size.width}`);
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
  // Nothing is kept from one page to the next: neither by the browser nor by the page's own keeper of files.
  const fresh = await open(folder("wire"), { viewport: WIDTHS[0], serviceWorkers: "block" });
  await shop.signIn(await fresh.newPage());
  for (const [name, path] of pages()) {
    const p = await fresh.newPage();
    const client = await fresh.newCDPSession(p);
    await client.send("Network.enable");
    await client.send("Network.setCacheDisabled", { cacheDisabled: true });
    let bytes = 0;
    client.on("Network.loadingFinished", (e) => (bytes += e.encodedDataLength));
    await p.goto(`${shop.at}${path}`, { waitUntil: "networkidle" });
    assert.ok(bytes > 1000 && bytes < 200_000, `${name}: ${bytes} bytes`);
    await p.close();
  }
  await fresh.close();
});

test("the whole work by keyboard alone", async () => {
  await page.setViewportSize(WIDTHS[1]);
  let step = 0;
  const shot = (name) => page.screenshot({ path: `${OUT}walk-${(step += 1)}-${name}.png` });
  await page.goto(`${shop.at}/table`);
  await tabTo(page, "the work", (a) => a.text === "To the work" || a.text === "Back to the work");
  await shot("table");
  await page.keyboard.press("Enter");
  await page.waitForURL(/\/visits\//);
  await page.waitForSelector("[data-ready=yes]");
  await tabTo(page, "the first zone", (a) => a.tag === "summary");
  await shot("zone");
  await page.keyboard.press("Enter");
  // A zone gets its buttons when it is opened: no hand is quicker, a test is.
  await page.locator("[data-row] > details[open] .readings form").first().waitFor();
  await tabTo(page, "another amount", (a) => a.text === "1 in 5");
  await page.keyboard.press("Enter");
  await until("it is done", () => page.locator("[data-row].done").count().then((n) => n >= 1));
  await shot("done");
  await until("the next zone has the focus", () => page.evaluate(() => document.activeElement.localName === "summary"));
  await tabTo(page, "as planned", (a) => a.text.startsWith("As planned"));
  await page.keyboard.press("Enter");
  await until("two are done", () => page.locator("[data-row].done").count().then((n) => n >= 2));
  await shot("two-done");
  await tabTo(page, "the note", (a) => a.tag === "textarea", 400);
  await shot("skin");
  await tabTo(page, "finishing", (a) => a.text === "Finish the visit", 100);
  await page.keyboard.press("Enter");
  await page.waitForURL(/\/finish/);
  await shot("finish");
  await tabTo(page, "done", (a) => a.text === "The visit is done");
  await page.keyboard.press("Enter");
  await page.getByRole("heading", { name: "The next visit" }).waitFor();
  await shot("finished");
});
