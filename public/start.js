// Starts the program that the page names in its head, and speaks with the service worker. A file of its
// own, since the page allows no script inside it.

const named = (selector) => new URL(document.querySelector(selector).getAttribute("href"), document.baseURI).href;
const { default: init } = await import(named("link[rel=modulepreload]"));
await init({ module_or_path: named("link[rel=preload][as=fetch]") });

if ("serviceWorker" in navigator) {
  try {
    await navigator.serviceWorker.register("sw.js");
    const { active } = await navigator.serviceWorker.ready;
    // The program shows that there is a newer one, and says when the person wants it.
    navigator.serviceWorker.addEventListener("message", ({ data }) => {
      if (data === "newer") {
        document.documentElement.dataset.newer = "ready";
        window.dispatchEvent(new Event("newer-program"));
      } else if (data === "taken") {
        location.reload();
      }
    });
    window.addEventListener("take-newer-program", () => active.postMessage("take"));
    active.postMessage("look");
  } catch (error) {
    console.warn("not kept for use without a network:", error);
  }
}
