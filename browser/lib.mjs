// What all tests share: a browser with a profile of its own, and small helpers.

import { mkdtempSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { chromium } from "playwright-core";

export const CHROMIUM = process.env.CHROMIUM ?? "/usr/bin/chromium";

/** A folder that only this run uses. */
export const folder = (name) => mkdtempSync(join(tmpdir(), `coatwright-${name}-`));

/** A browser whose profile stays in `profile`, so that it can be closed and opened again. */
export async function open(profile, options = {}) {
  const context = await chromium.launchPersistentContext(profile, {
    executablePath: CHROMIUM,
    headless: true,
    args: [
      "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
      "--disable-component-update", "--disable-sync",
    ],
    ...options,
  });
  context.setDefaultTimeout(60_000);
  return context;
}

/** Waits until a condition holds; fails with its last answer. */
export async function until(what, condition, ms = 20_000) {
  const end = Date.now() + ms;
  let last;
  while (Date.now() < end) {
    last = await condition();
    if (last) return last;
    await new Promise((yes) => setTimeout(yes, 50));
  }
  throw new Error(`not within ${ms} ms: ${what}`);
}
