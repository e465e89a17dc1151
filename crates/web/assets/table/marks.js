// Findings on the skin: a mark on the drawing with words.

const SVG = "http://www.w3.org/2000/svg";

export class Marks {
  #state;
  #form = document.getElementById("skin-form");
  #on = false;

  constructor({ state }) {
    this.#state = state;
    const open = document.getElementById("skin-mark");
    open?.addEventListener("click", () => this.#set(true));
    this.#form?.elements.zone.addEventListener("change", () => this.#middle());
    this.#form?.addEventListener("reset", () => setTimeout(() => this.#middle()));
    this.#middle();
  }

  #svg() {
    return document.querySelector("#drawing svg");
  }

  #set(on) {
    this.#on = on;
    document.getElementById("drawing").classList.toggle("marking", on);
    const help = document.getElementById("skin-help");
    if (on) {
      help.textContent = "Now tap the place on the drawing.";
      this.#svg().scrollIntoView({ block: "center" });
    }
  }

  /** Takes a tap on the drawing as the place of a finding while one is being marked. */
  place(event, zone) {
    if (!this.#on || !this.#form) return false;
    const box = this.#svg().getBoundingClientRect();
    this.#put(zone, (event.clientX - box.left) / box.width, (event.clientY - box.top) / box.height);
    this.#set(false);
    document.getElementById("skin-help").textContent = "Marked. Write what you see and keep it.";
    this.#form.scrollIntoView({ block: "center" });
    this.#form.elements["t.note"].focus({ preventScroll: true });
    return true;
  }

  #put(zone, x, y) {
    const clamp = (v) => Math.min(1, Math.max(0, Math.round(v * 1000) / 1000));
    this.#form.elements.zone.value = zone;
    this.#form.elements["n.x"].value = clamp(x);
    this.#form.elements["n.y"].value = clamp(y);
    this.show();
  }

  /** Chosen by name and not by tap: the middle of the zone. */
  #middle() {
    const zone = this.#form?.elements.zone.value;
    const path = zone && document.querySelector(`#zone-${zone} path`);
    if (!path) return;
    const { width, height } = this.#svg().viewBox.baseVal;
    const b = path.getBBox();
    this.#form.elements["n.x"].value = Math.round(((b.x + b.width / 2) / width) * 1000) / 1000;
    this.#form.elements["n.y"].value = Math.round(((b.y + b.height / 2) / height) * 1000) / 1000;
  }

  show() {
    const svg = this.#svg();
    if (!svg) return;
    let group = svg.querySelector("#marks");
    if (!group) {
      group = document.createElementNS(SVG, "g");
      group.id = "marks";
      svg.append(group);
    }
    const { width, height } = svg.viewBox.baseVal;
    const found = this.#state().many.filter((e) => e.body.what.do === "skin");
    group.replaceChildren(
      ...found.map((e, i) => {
        const mark = document.createElementNS(SVG, "g");
        mark.setAttribute("transform", `translate(${e.body.what.x * width} ${e.body.what.y * height})`);
        const ring = document.createElementNS(SVG, "circle");
        ring.setAttribute("r", "11");
        const text = document.createElementNS(SVG, "text");
        text.setAttribute("text-anchor", "middle");
        text.setAttribute("dy", "5");
        text.textContent = String(i + 1);
        const title = document.createElementNS(SVG, "title");
        title.textContent = `${i + 1}: ${e.body.what.note}`;
        mark.append(title, ring, text);
        return mark;
      }),
    );
    const list = document.getElementById("skin-list");
    list?.replaceChildren(
      ...found.map((e, i) => {
        const li = document.createElement("li");
        li.textContent = `${i + 1}. ${document.getElementById(`z-${e.body.zone}`)?.dataset.label ?? "the dog"}: ${e.body.what.note}`;
        return li;
      }),
    );
    for (const note of document.querySelectorAll(".skin-here")) {
      note.hidden = !found.some((e) => e.body.zone === note.closest("[data-row]")?.dataset.row);
    }
  }
}
