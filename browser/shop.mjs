// The built program on a shop of invented dogs, in a folder of its own; it can be killed and started again.

import { spawn } from "node:child_process";
import { readdirSync } from "node:fs";
import { createServer } from "node:net";
import { after } from "node:test";
import { join } from "node:path";
import { folder, until } from "./lib.mjs";

const PROGRAM = process.env.COATWRIGHT ?? new URL("../target/release/coatwright", import.meta.url).pathname;

const freePort = () =>
  new Promise((yes) => {
    const s = createServer().listen(0, "127.0.0.1", () => {
      const { port } = s.address();
      s.close(() => yes(port));
    });
  });

// What a failed test leaves running ends with the run.
const started = new Set();
after(() => Promise.all([...started].map((s) => s.kill())));

/** A running shop. */
export class Shop {
  static async start() {
    const shop = new Shop();
    shop.port = await freePort();
    shop.at = `http://127.0.0.1:${shop.port}`;
    await shop.found();
    await shop.run();
    return shop;
  }

  /** A running program without a shop, on a file of its own or on the store at an address. */
  static async empty(store = join(folder("empty"), "shop.db")) {
    const shop = new Shop();
    shop.port = await freePort();
    shop.at = `http://127.0.0.1:${shop.port}`;
    shop.store = store;
    await shop.run();
    return shop;
  }

  /** Answers what a first start asks. */
  async begin(page) {
    await page.getByLabel("Name of the shop").fill("The Wiry End");
    await page.getByLabel("Place").fill("Nowhere, Ireland");
    await page.getByLabel("Your name").fill("Ada");
    await page.locator("#password").fill("hard hair rolls well");
    await page.getByRole("button", { name: "Found the shop" }).click();
    await page.getByText("No dog yet.").waitFor();
  }

  /** Lets the program make its invented shop, kills it before it can throw it away, and keeps what it made. */
  async found() {
    const tmp = folder("shop");
    this.#spawn(["demo", "--listen", `127.0.0.1:${this.port}`], { ...process.env, TMPDIR: tmp });
    await until("the invented shop is there", () => this.#alive() && /with the password \S+\s/.test(this.said), 120_000);
    [, this.name, this.password] = /as (.+) with the password (\S+)/.exec(this.said);
    await this.kill();
    const [made] = readdirSync(tmp).filter((n) => n.startsWith("coatwright-demo-"));
    this.store = join(tmp, made, "shop.db");
  }

  #spawn(args, env = process.env) {
    started.add(this);
    this.child = spawn(PROGRAM, args, { stdio: ["ignore", "pipe", "pipe"], env });
    this.said = "";
    for (const out of [this.child.stdout, this.child.stderr]) out.on("data", (d) => (this.said += d));
  }

  #alive() {
    if (this.child.exitCode !== null) throw new Error(`the program ended: ${this.said}`);
    return true;
  }

  async run() {
    const args = ["serve", "--store", this.store, "--listen", `127.0.0.1:${this.port}`];
    this.#spawn(args);
    await until("the shop answers", async () => {
      this.#alive();
      return fetch(`${this.at}/sign-in`).then((a) => a.status < 500, () => false);
    });
  }

  /** Whether the program runs. */
  alive() {
    return this.child.exitCode === null && this.child.signalCode === null;
  }

  /** SIGKILL: no time to finish anything. */
  async kill() {
    if (!this.alive()) return;
    const gone = new Promise((yes) => this.child.once("exit", yes));
    this.child.kill("SIGKILL");
    await gone;
  }

  async signIn(page, then = "/table") {
    await page.goto(`${this.at}/sign-in?then=${encodeURIComponent(then)}`);
    await page.getByLabel("Your name").fill(this.name);
    await page.locator("#password").fill(this.password);
    await page.getByRole("button", { name: "Sign in" }).click();
    await page.waitForURL((url) => url.pathname === then);
  }
}
