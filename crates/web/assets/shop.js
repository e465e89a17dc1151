// What pages do beyond HTML: show a password, go to what is wrong with a form, announce what a search found.
"use strict";

document.addEventListener("DOMContentLoaded", () => {
  for (const input of document.querySelectorAll('input[type="password"]')) {
    const button = document.createElement("button");
    button.type = "button";
    button.className = "plain";
    const label = document.querySelector(`label[for="${input.id}"]`)?.firstChild?.textContent.trim() ?? "the password";
    const say = (shown) => {
      button.textContent = shown ? "Hide" : "Show";
      button.setAttribute("aria-label", `${button.textContent}: ${label}`);
      button.setAttribute("aria-pressed", String(shown));
    };
    button.addEventListener("click", () => {
      const shown = input.type === "password";
      input.type = shown ? "text" : "password";
      say(shown);
    });
    say(false);
    input.after(button);
    input.form?.addEventListener("submit", () => { input.type = "password"; });
  }
  document.querySelector('.notice[role="alert"]')?.focus();
});

// A form is sent once, however often its button is tapped; coming back to the page frees it.
document.addEventListener("submit", (event) => {
  const form = event.target;
  if (event.defaultPrevented || form.method !== "post" || form.hasAttribute("hx-post")) return;
  if (form.dataset.sent) event.preventDefault();
  form.dataset.sent = "yes";
});
window.addEventListener("pageshow", () => {
  for (const form of document.querySelectorAll("form[data-sent]")) delete form.dataset.sent;
});

// What was typed a moment ago goes along to another filter, though its own answer is not here yet.
document.addEventListener("click", (event) => {
  const link = event.target.closest?.(".filters a");
  const typed = document.querySelector('form[role="search"] #q');
  if (!link || !typed || !link.search.includes("filter=")) return;
  const to = new URL(link.href);
  if (typed.value.trim()) to.searchParams.set("q", typed.value.trim());
  else to.searchParams.delete("q");
  link.href = to.href;
});

// The layers of a coat through time: moving the slider shows another day. Without script there are links.
document.addEventListener("DOMContentLoaded", () => {
  for (const box of document.querySelectorAll("[data-through]")) {
    const slider = box.querySelector('input[type="range"]');
    const picture = box.parentElement.querySelector("picture");
    const [days, named] = [slider.dataset.days.split(" "), slider.dataset.named.split("|")];
    const image = picture.querySelector("img");
    const parts = [image, ...picture.querySelectorAll("source")];
    const show = () => {
      const at = Number(slider.value);
      slider.setAttribute("aria-valuetext", named[at]);
      box.querySelector("output").textContent = named[at];
      for (const part of parts) {
        const name = part === image ? "src" : "srcset";
        const to = new URL(part.getAttribute(name), location);
        to.searchParams.set("on", days[at]);
        part.setAttribute(name, to.pathname + to.search);
      }
      image.alt = image.alt.replace(/, [^,]*$|, today, [^,]*$/, `, ${named[at]}`);
    };
    slider.hidden = false;
    for (const link of box.querySelectorAll("a")) {
      link.addEventListener("click", (event) => {
        event.preventDefault();
        slider.value = String(Number(slider.value) + (link.rel === "next" ? 1 : -1));
        show();
      });
    }
    slider.addEventListener("input", show);
  }
});
