// Keeps the page itself in the browser, so that it opens with the network gone.

/** Registers the worker and asks it to keep this page and what it is made of. Says on the page when that is so. */
export async function keepPage() {
  if (!("serviceWorker" in navigator)) return;
  try {
    await navigator.serviceWorker.register("/sw.js", { scope: "/" });
    const ready = await navigator.serviceWorker.ready;
    const parts = [...document.querySelectorAll("link[rel=stylesheet], script[src], link[rel=modulepreload], link[rel=icon]")];
    const paths = parts.map((e) => new URL(e.href ?? e.src, location.href)).filter((u) => u.origin === location.origin);
    const channel = new MessageChannel();
    const kept = new Promise((yes) => {
      channel.port1.onmessage = (event) => yes(event.data);
    });
    ready.active.postMessage({ keep: [location.pathname, ...paths.map((u) => u.pathname + u.search)] }, [channel.port2]);
    document.documentElement.dataset.away = (await kept) ? "yes" : "no";
  } catch {
    document.documentElement.dataset.away = "no";
  }
}
