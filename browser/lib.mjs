// What all tests share: a browser with a profile of its own, and small helpers.

import assert from "node:assert/strict";
import { mkdirSync, mkdtempSync, readFileSync } from "node:fs";
import { createRequire } from "node:module";
import { after } from "node:test";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { chromium } from "playwright-core";

export const CHROMIUM = process.env.CHROMIUM ?? "/usr/bin/chromium";

/** A folder that only this run uses. */
export const folder = (name) => mkdtempSync(join(tmpdir(), `coatwright-${name}-`));

// A test that fails leaves its browser open; the run would wait for it for ever.
const opened = new Set();
after(() => Promise.all([...opened].map((c) => c.close().catch(() => {}))));

/** A browser whose profile stays in `profile`, so that it can be closed and opened again. */
export async function open(profile, options = {}) {
  const context = await chromium.launchPersistentContext(profile, {
    executablePath: CHROMIUM,
    headless: true,
    args: [
      "--no-sandbox", "--disable-dev-shm-usage", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
      "--disable-component-update", "--disable-sync",
      // A camera that shows a moving pattern, and nobody who has to allow it.
      "--use-fake-device-for-media-stream", "--use-fake-ui-for-media-stream",
    ],
    ...options,
  });
  context.setDefaultTimeout(180_000);
  opened.add(context);
  context.on("close", () => opened.delete(context));
  return context;
}

/** Waits until a condition holds; fails with its last answer. */
export async function until(what, condition, ms = 60_000) {
  const end = Date.now() + ms;
  let last;
  while (Date.now() < end) {
    last = await condition();
    if (last) return last;
    await new Promise((yes) => setTimeout(yes, 50));
  }
  throw new Error(`not within ${ms} ms: ${what}`);
}

const AXE = readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");

/** Where screenshots go. */
export const OUT = new URL("./out/", import.meta.url).pathname;
mkdirSync(OUT, { recursive: true });

/** A phone and a tablet. */
export const WIDTHS = [
  { width: 390, height: 844 },
  { width: 820, height: 1180 },
];

/** Nothing for axe to find on the page as it stands, and nothing wider than the screen; takes a screenshot. */
export async function clean(page, name) {
  await page.screenshot({ path: `${OUT}${name}.png`, fullPage: true });
  await page.evaluate(AXE);
  const found = await page.evaluate(() => axe.run(document, { resultTypes: ["violations"] }));
  const said = found.violations.map((v) => `${v.id}: ${v.nodes.map((n) => n.target).join(" ")}`);
  assert.deepEqual(said, [], name);
  const wide = await page.evaluate(() => document.documentElement.scrollWidth - innerWidth);
  assert.ok(wide <= 0, `${name} is ${wide} px wider than the screen`);
}

/** The same in both themes, at this width. */
export async function cleanInBoth(page, name) {
  for (const theme of ["light", "dark"]) {
    await page.emulateMedia({ colorScheme: theme, reducedMotion: "reduce" });
    await clean(page, `${name}-${theme}-${page.viewportSize().width}`);
  }
  await page.emulateMedia({ colorScheme: "light", reducedMotion: "reduce" });
}

/** Keeps an invented picture of a dog in a pose: a colour with a line through it. */
export async function picture(page, at, pose, colour) {
  await page.goto(at);
  const png = await page.evaluate((colour) => {
    const canvas = document.createElement("canvas");
    [canvas.width, canvas.height] = [640, 480];
    const c = canvas.getContext("2d");
    [c.fillStyle, c.lineWidth] = [colour, 9];
    c.fillRect(0, 0, 640, 480);
    c.strokeRect(120, 90, 400, 300);
    return canvas.toDataURL("image/png").split(",")[1];
  }, colour);
  await page.getByRole("radio", { name: pose, exact: true }).check();
  await page.setInputFiles("#file", { name: "dog.png", mimeType: "image/png", buffer: Buffer.from(png, "base64") });
  await page.getByRole("button", { name: "Keep the picture" }).click();
  await page.waitForURL(/\/photos$|\/visits\//);
}

/** Presses Tab until what has the focus fits; it must be in view and show its ring. Fails after too many. */
export async function tabTo(page, what, fits, most = 80) {
  for (let i = 0; i < most; i += 1) {
    await page.keyboard.press("Tab");
    const at = await page.evaluate(() => {
      const e = document.activeElement;
      const r = e.getBoundingClientRect();
      const ring = getComputedStyle(e);
      return { text: (e.getAttribute("aria-label") ?? e.textContent ?? "").trim(), tag: e.localName, id: e.id,
        name: e.name ?? "", type: e.type ?? "", seen: r.width > 0 && r.bottom > 0 && r.top < innerHeight,
        ring: ring.outlineStyle !== "none" && ring.outlineWidth !== "0px" };
    });
    if (fits(at)) {
      assert.ok(at.seen, `${what} has the focus and is not in view`);
      assert.ok(at.ring, `${what} has the focus and does not show it`);
      return at;
    }
  }
  throw new Error(`no way to ${what} by keyboard`);
}
