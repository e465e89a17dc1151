// A shop that misbehaves on demand: for the queue of the work at the table, without the program.

import { readFileSync } from "node:fs";
import { createServer } from "node:http";

const ASSETS = new URL("../crates/web/assets/", import.meta.url);
const PAGE = `<!doctype html><html lang="en"><meta charset="utf-8"><title>Queue</title>
<script type="module" src="/assets/table/probe.js"></script></html>`;
const PROBE = `
import { Courier, sentence } from "./deliver.js";
import { Entries } from "./store.js";
import { merged, replay } from "./replay.js";
const states = [];
const entries = await Entries.of("shop-0001");
const courier = new Courier(entries, async (s) => { states.push(s); });
globalThis.queue = { entries, courier, states, sentence, merged, replay,
  tap: async (visit, what) => { await entries.keep(visit, [{ zone: "back", what }]); courier.soon(); } };
`;

/** Starts it. `how(batch)` says what happens to a batch: "keep", "lose the answer", "away", "out" or "refuse odd". */
export async function stub() {
  const shop = { kept: [], ids: new Set(), doubles: 0, batches: 0, how: () => "keep" };
  const server = createServer((request, answer) => {
    const { pathname } = new URL(request.url, "http://x");
    if (request.method === "POST") {
      let text = "";
      request.on("data", (d) => (text += d));
      request.on("end", () => {
        shop.batches += 1;
        const batch = JSON.parse(text).entries;
        const how = shop.how(batch, shop.batches);
        if (how === "away") return request.socket.destroy();
        if (how === "out") return answer.writeHead(401, { "content-type": "application/json" }).end("{}");
        const odd = (e) => how === "refuse odd" && e.count % 2 === 1;
        for (const e of batch.filter((e) => !odd(e))) {
          if (shop.ids.has(e.id)) shop.doubles += 1;
          else {
            shop.ids.add(e.id);
            shop.kept.push(e);
          }
        }
        if (how === "lose the answer") return request.socket.destroy();
        const said = {
          kept: batch.filter((e) => !odd(e)).map((e) => e.id),
          refused: batch.filter(odd).map((e) => ({ id: e.id, said: "odd entries are not taken" })),
        };
        answer.writeHead(200, { "content-type": "application/json" }).end(JSON.stringify(said));
      });
      return;
    }
    const js = { "content-type": "text/javascript" };
    if (pathname === "/") answer.writeHead(200, { "content-type": "text/html" }).end(PAGE);
    else if (pathname === "/assets/table/probe.js") answer.writeHead(200, js).end(PROBE);
    else if (/^\/assets\/table\/[a-z]+\.js$/.test(pathname)) {
      answer.writeHead(200, js).end(readFileSync(new URL(`.${pathname.slice("/assets".length)}`, ASSETS)));
    } else answer.writeHead(404).end();
  });
  await new Promise((yes) => server.listen(0, "127.0.0.1", yes));
  shop.at = `http://127.0.0.1:${server.address().port}/`;
  shop.close = () => new Promise((yes) => (server.closeAllConnections(), server.close(yes)));
  return shop;
}
