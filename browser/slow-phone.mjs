// How long the Table takes on a slow phone: run with `browser/run slow-phone.mjs`.
//
// The phone is Chromium at 390 by 844 with the mobile preset of Lighthouse (docs/throttling.md there): 150 ms latency,
// 1.6 Mbit/s down, 0.75 Mbit/s up, its processor slowed four times. The page counts as usable when its document and
// its modules are there and have run, so that a tap does what it says. `first` has nothing of the shop in the
// browser's cache; `again` has been there before.

import { folder, open } from "./lib.mjs";
import { Shop } from "./shop.mjs";

const ROUNDS = 11;
const NET = { offline: false, latency: 150, downloadThroughput: 1.6e6 / 8, uploadThroughput: 0.75e6 / 8 };

const shop = await Shop.start();
const context = await open(folder("slow"), { viewport: { width: 390, height: 844 }, serviceWorkers: "block" });
const page = await context.newPage();
await shop.signIn(page);
const dog = await page.locator(".table-dog h2 a").first().getAttribute("href");
await page.goto(`${shop.at}${dog}`);

const phone = await context.newCDPSession(page);
await phone.send("Network.enable");
await phone.send("Network.emulateNetworkConditions", NET);
await phone.send("Emulation.setCPUThrottlingRate", { rate: 4 });

/** From the tap that asks for the page: first paint, usable, everything loaded, ms; bytes over the wire. */
async function look(path, cached) {
  await page.goto("about:blank");
  if (!cached) await phone.send("Network.clearBrowserCache");
  let bytes = 0;
  const count = (e) => (bytes += e.encodedDataLength);
  phone.on("Network.loadingFinished", count);
  await page.goto(`${shop.at}${path}`, { waitUntil: "load" });
  phone.off("Network.loadingFinished", count);
  const t = await page.evaluate(() => {
    const [n] = performance.getEntriesByType("navigation");
    const paint = performance.getEntriesByName("first-contentful-paint")[0];
    // Modules run before DOMContentLoaded.
    return { paint: paint?.startTime ?? NaN, usable: n.domContentLoadedEventEnd, loaded: n.loadEventEnd };
  });
  return { ...t, kB: bytes / 1000 };
}

const median = (xs) => xs.sort((a, b) => a - b)[Math.floor(xs.length / 2)];
console.log(`${"median of " + ROUNDS}`.padEnd(24), "paint ms".padStart(9), "usable ms".padStart(10), "loaded ms".padStart(10), "kB".padStart(7));
for (const [name, path] of [["Table", "/table"], ["Coats", "/coats"], ["a dog", dog]]) {
  for (const [how, cached] of [["first", false], ["again", true]]) {
    const seen = [];
    for (let i = 0; i < ROUNDS; i += 1) seen.push(await look(path, cached));
    const at = (k) => median(seen.map((s) => s[k]));
    console.log(`${name}, ${how}`.padEnd(24), at("paint").toFixed(0).padStart(9), at("usable").toFixed(0).padStart(10), at("loaded").toFixed(0).padStart(10), at("kB").toFixed(0).padStart(7));
  }
}
await context.close();
await shop.kill();
