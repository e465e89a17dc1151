// The whole way on a phone, from a program without a shop to a visit that is done and the next one put down: axe on
// each page in both themes, screenshots in browser/out. Every name in it is invented.

import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { WIDTHS, cleanInBoth, folder, open, picture, tabTo, until } from "./lib.mjs";
import { Shop } from "./shop.mjs";

let shop, context, page, dog, visit;
before(async () => {
  shop = await Shop.empty();
  context = await open(folder("walk"), { viewport: WIDTHS[0] });
  page = await context.newPage();
});
after(async () => {
  await context.close();
  await shop.kill();
});

const next = () => page.getByRole("button", { name: "Next", exact: true }).click();
const step = (n) => page.waitForFunction((n) => document.title.startsWith(`New dog, step ${n} `), n);
const choose = (name) => page.getByRole("radio", { name, exact: true }).check();

/** A day of the browser's own clock, `YYYY-MM-DD`. */
const dayOf = (days) => page.evaluate((days) => {
  const d = new Date(Date.now() + days * 86_400_000);
  return [d.getFullYear(), d.getMonth() + 1, d.getDate()].map((n) => String(n).padStart(2, "0")).join("-");
}, days);

test("a shop is founded with six answers", async () => {
  await page.goto(shop.at);
  await page.waitForURL(/\/begin/);
  await cleanInBoth(page, "walk-begin");
  await shop.begin(page);
  await cleanInBoth(page, "walk-no-dog");
});

test("a new dog: five steps, something wrong told beside its field, back without loss, and a plan", async () => {
  await page.goto(`${shop.at}/coats`);
  await page.getByRole("link", { name: "New dog" }).click();
  await step(1);
  await page.getByLabel("The dog's name").fill("Nettle");
  await page.getByLabel("The owner's name").fill("Una Invented");
  await page.getByLabel("Telephone").fill("085 012 3456");
  await page.getByLabel("Microchip").fill("276 000 312 312 34");
  await cleanInBoth(page, "walk-new-1");
  await next();
  await step(2);
  await page.getByText("The microchip has `14 digits`, not `15`.").waitFor();
  await page.getByRole("button", { name: "Back", exact: true }).click();
  await step(1);
  assert.equal(await page.getByLabel("The owner's name").inputValue(), "Una Invented");
  await page.getByLabel("Microchip").fill("276 000 312 312 345");
  await next();
  await step(2);
  await page.getByLabel("Born").fill("2021-05-02");
  await page.getByLabel("Mass").fill("eight");
  await choose("A bitch");
  await choose("Wire");
  await next();
  await page.getByText("`eight` is no number. Write kilograms, for instance 8.2.").first().waitFor();
  assert.equal(await page.getByLabel("Mass").getAttribute("aria-invalid"), "true");
  await cleanInBoth(page, "walk-new-2-wrong");
  await page.getByLabel("Mass").fill("8,4");
  await next();
  await step(3);
  assert.equal(await page.getByLabel("Last clipped on").isVisible(), false, "only what belongs to the answer is asked");
  await choose("It was rolled elsewhere");
  await page.getByLabel("Last worked on").fill(await dayOf(-24));
  await page.getByLabel("Worked every").fill("3");
  await cleanInBoth(page, "walk-new-3");
  await next();
  await step(4);
  await choose("Calm");
  await page.getByRole("checkbox", { name: "Skin that is broken, crusted, hot or sore" }).check();
  await page.locator("#minded\\.skin\\.where").selectOption("inner_thighs");
  await cleanInBoth(page, "walk-new-4");
  await next();
  await step(5);
  await choose("A tidy pet");
  await cleanInBoth(page, "walk-new-5");
  // The browser's own way back loses nothing either.
  await page.goBack();
  await step(4);
  assert.ok(await page.getByRole("radio", { name: "Calm", exact: true }).isChecked());
  await next();
  await step(5);
  await choose("A tidy pet");
  await page.getByRole("button", { name: "Take it in and plan" }).click();
  await page.waitForURL(/\/dogs\/[^/]+$/);
  dog = page.url();
  await page.getByRole("heading", { name: /^The next visit/ }).waitFor();
  await page.getByText("Skin noted").first().waitFor();
  await cleanInBoth(page, "walk-dog");
});

test("its visit goes on today's Table and begins", async () => {
  await page.goto(dog);
  await page.locator("form[action='/table/visits'] input[name=day]").fill(await dayOf(0));
  await page.locator("form[action='/table/visits'] button").click();
  await page.waitForURL(/\/table\?day=/);
  await page.getByRole("link", { name: "Nettle" }).waitFor();
  await cleanInBoth(page, "walk-table");
  await page.getByRole("button", { name: "To the work" }).click();
  await page.waitForSelector("[data-ready=yes]");
  visit = page.url();
  await cleanInBoth(page, "walk-work");
});

test("the work goes on with the network cut and the program killed, and nothing is lost", async () => {
  await page.goto(visit);
  await page.waitForSelector("[data-ready=yes]");
  await until("the page is kept for later", () => page.evaluate(() => document.documentElement.dataset.away === "yes"));
  const rows = page.locator("[data-row][data-work=yes]");
  const net = () => page.locator("#net").textContent();
  await context.setOffline(true);
  for (const n of [0, 1]) await rows.nth(n).locator(".quick").click();
  await until("it says so", async () => /^2 entries wait for the network/.test(await net()));
  await cleanInBoth(page, "walk-work-offline");
  await context.setOffline(false);
  await until("all is kept", async () => (await net()) === "All kept in the shop.");
  await shop.kill();
  await rows.nth(2).locator(".quick").click();
  await until("it says so", async () => /^1 entry waits/.test(await net()));
  await shop.run();
  await page.evaluate(() => dispatchEvent(new Event("online")));
  await until("all is kept", async () => (await net()) === "All kept in the shop.");
  await page.reload();
  await page.waitForSelector("[data-ready=yes]");
  assert.equal(await page.locator("[data-row].done").count(), 3);
});

test("pictures before and after are compared", async () => {
  for (const colour of ["tan", "peru"]) await picture(page, `${dog}/photos/new`, "left side", colour);
  await cleanInBoth(page, "walk-photos");
  for (const box of await page.locator("input[name=id]").all()) await box.check();
  await page.getByRole("button", { name: "Look at two together" }).click();
  const slider = page.getByRole("slider");
  await slider.waitFor();
  const edge = () => page.locator("[data-two]").evaluate((e) => e.style.getPropertyValue("--edge"));
  await slider.fill("20");
  await until("the edge moves", async () => (await edge()) === "20%");
});

test("a picture is taken at the table, with the last one of its pose over the camera, and kept", async () => {
  await page.goto(`${visit}/finish`);
  await page.getByRole("link", { name: "Take a picture" }).click();
  await page.getByRole("button", { name: "Use the camera here, with the last picture over it" }).click();
  const view = page.locator("#view");
  const sees = () => view.evaluate((v) => [v.videoWidth, v.videoHeight]);
  await until("the camera runs", async () => (await sees())[0] > 0);
  assert.equal(await page.evaluate(() => document.activeElement.id), "shoot", "one can press the button at once");
  assert.equal(await page.locator("#camera-on").isVisible(), false, "what was pressed is gone");
  // The last left side lies over it, at the same place, and shines through as far as one likes.
  const ghost = page.locator("#ghost");
  const ghosts = () => ghost.evaluate((g) => [g.hidden, g.complete && g.naturalWidth > 0, getComputedStyle(g).opacity]);
  await until("the last picture lies over it", async () => (await ghosts()).join() === "false,true,0.35");
  const last = await page.locator("[data-ghost='left side']").getAttribute("data-at");
  assert.equal(new URL(await ghost.evaluate((g) => g.src)).pathname, last);
  assert.deepEqual(await ghost.boundingBox(), await view.boundingBox());
  await page.getByRole("slider", { name: "The last picture shines through" }).fill("60");
  assert.deepEqual(await ghosts(), [false, true, "0.6"]);
  await cleanInBoth(page, "walk-camera");
  await choose("right side");
  assert.equal((await ghosts())[0], true, "of this side there is no picture yet");
  await choose("left side");
  assert.equal((await ghosts())[0], false);
  await page.getByRole("button", { name: "Take the picture" }).click();
  await page.getByText("Taken. Keep it, or take another.").waitFor();
  await until("it is shown", () => page.locator("#shot").evaluate((i) => i.complete && i.naturalWidth > 0));
  await cleanInBoth(page, "walk-camera-taken");
  const [width, height] = await sees();
  await page.getByRole("button", { name: "Keep the picture" }).click();
  await page.waitForURL(visit);
  // It is with the visit, and it is what the camera saw: its size, and not one colour.
  await page.goto(`${visit}/finish`);
  await until("it is shown", () => page.getByRole("img", { name: "left side" }).evaluate((i) => i.complete && i.naturalWidth > 0));
  await page.goto(`${dog}/photos/new`);
  const kept = await page.locator("[data-ghost='left side']").getAttribute("data-at");
  assert.notEqual(kept, last);
  const seen = await page.evaluate(async (at) => {
    const image = await createImageBitmap(await (await fetch(at)).blob());
    const canvas = new OffscreenCanvas(image.width, image.height).getContext("2d");
    canvas.drawImage(image, 0, 0);
    const { data } = canvas.getImageData(0, 0, image.width, image.height);
    return { size: [image.width, image.height], colours: new Set(new Uint32Array(data.buffer)).size };
  }, kept);
  assert.deepEqual(seen.size, [width, height]);
  assert.ok(seen.colours > 10, `only ${seen.colours} colours`);
});

test("the visit is finished, with before and after, and the next one put down", async () => {
  await page.goto(visit);
  await page.waitForSelector("[data-ready=yes]");
  await page.getByRole("button", { name: "Finish the visit" }).click();
  await page.getByRole("button", { name: "The visit is done" }).click();
  await page.getByRole("table", { name: "The coat before and after" }).waitFor();
  await cleanInBoth(page, "walk-finished");
  await page.getByRole("button", { name: "Put it down" }).click();
  await page.waitForURL(/\/table\?day=/);
  await page.getByRole("link", { name: "Nettle" }).waitFor();
  await page.goto(dog);
  await page.getByText(/visit, \d+ minutes|visit, \d+ entr/).first().waitFor();
});

test("a change is tried out beside the plan, and kept", async () => {
  await page.goto(dog);
  await page.locator("section[aria-labelledby=try] summary").click();
  await page.getByLabel("Days between visits").fill("14");
  await page.getByRole("button", { name: "Try it out" }).click();
  await page.getByText("Tried out, not kept.").waitFor();
  await page.getByRole("row", { name: "Days between visits" }).getByRole("cell", { name: "14" }).waitFor();
  await cleanInBoth(page, "walk-tried");
  await page.getByRole("button", { name: "Keep the change" }).click();
  await page.waitForURL(/kept=1/);
  await page.getByRole("heading", { name: /every 14 days/ }).waitFor();
});

test("the layers of the coat move through time", async () => {
  await page.goto(dog);
  const drawn = () => page.locator("section[aria-labelledby=layers] img").evaluate((i) => i.currentSrc);
  const today = await drawn();
  const slider = page.getByRole("slider", { name: "Day" });
  await slider.fill(await slider.getAttribute("max"));
  await until("another day is drawn", async () => (await drawn()) !== today);
  await until("it is there", () => page.locator("section[aria-labelledby=layers] img").evaluate((i) => i.complete && i.naturalWidth > 0));
});

test("what was written down is corrected, and the page says what that changes", async () => {
  await page.goto(dog);
  await page.getByRole("link", { name: /^Correct/ }).last().click();
  await page.getByLabel("Every").fill("five");
  await page.getByRole("button", { name: "Save" }).click();
  await page.getByText("`five` is no number.").first().waitFor();
  await cleanInBoth(page, "walk-history-wrong");
  await page.getByLabel("Every").fill("5");
  await page.getByRole("button", { name: "Save" }).click();
  await page.getByText("The coat was worked out anew from there on.").waitFor();
  await page.getByText(/today is \d+ %; it was \d+ %\./).first().waitFor();
  await cleanInBoth(page, "walk-corrected");
});

test("a new dog on a tablet by keyboard alone", async () => {
  await page.setViewportSize(WIDTHS[1]);
  await page.goto(`${shop.at}/coats`);
  const type = async (id, text) => {
    await tabTo(page, id, (a) => a.id === id);
    await page.keyboard.type(text);
  };
  const pick = async (name, down) => {
    await tabTo(page, name, (a) => a.name === name);
    await page.keyboard.press("Space");
    for (let i = 0; i < down; i += 1) await page.keyboard.press("ArrowDown");
  };
  // In a date field the parts are typed in the order in which the browser shows them.
  const date = async (id) => {
    await tabTo(page, id, (a) => a.id === id);
    await page.keyboard.type("05052021");
  };
  await tabTo(page, "the way to a new dog", (a) => a.text === "New dog");
  await page.keyboard.press("Enter");
  await step(1);
  await type("name", "Teasel");
  await type("owner.name", "Una Other");
  await page.keyboard.press("Enter");
  await step(2);
  await date("born");
  await type("mass_kg", "9");
  await pick("sex", 1);
  await pick("coat", 1);
  await tabTo(page, "on", (a) => a.text === "Next");
  await page.keyboard.press("Enter");
  await step(3);
  await pick("before", 0);
  await page.keyboard.press("Enter");
  await step(4);
  await pick("temper", 0);
  await page.keyboard.press("Enter");
  await step(5);
  await pick("look", 0);
  await page.keyboard.press("Enter");
  await page.waitForURL(/\/dogs\/[^/]+$/);
  await page.getByRole("heading", { name: "Teasel" }).waitFor();
  await page.getByRole("heading", { name: "Ways to begin" }).waitFor();
  await cleanInBoth(page, "walk-dog-tablet");
});

test("finding dogs: an answer that comes late never wins, and a filter takes along what was typed", async () => {
  await page.goto(`${shop.at}/coats`);
  const found = () => page.locator("#list .name").allTextContents();
  await until("both are there", async () => (await found()).length === 2);
  let late = null;
  await page.route("**/coats?*", async (route) => {
    const answer = await route.fetch();
    if (late === null) {
      late = "on its way";
      await new Promise((yes) => setTimeout(yes, 1500));
      // The page may have given up on it, which is as good.
      await route.fulfill({ response: answer }).catch(() => {});
      late = "sent";
      return;
    }
    await route.fulfill({ response: answer });
  });
  await page.locator("#q").fill("nettle");
  await until("the first is on its way", () => late);
  await page.locator("#q").fill("teasel");
  await until("the second is shown", async () => (await found()).join() === "Teasel");
  await until("the first was sent", () => late === "sent");
  await new Promise((yes) => setTimeout(yes, 500));
  assert.deepEqual(await found(), ["Teasel"]);
  assert.equal(new URL(page.url()).searchParams.get("q"), "teasel");
  await page.unroute("**/coats?*");
  await page.locator("#q").fill("nettle");
  await page.getByRole("link", { name: "All", exact: true }).click();
  await until("it was taken along", async () => (await found()).join() === "Nettle");
  assert.equal(await page.locator("#q").inputValue(), "nettle");
});
