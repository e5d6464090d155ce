// Starts the program that the page names in its head, and speaks with the service worker. A file of its
// own, since the page allows no script inside it.

const named = (selector) => new URL(document.querySelector(selector).getAttribute("href"), document.baseURI).href;

// A page that stays empty says nothing to the person.
function cannotStart(why, error) {
  document.getElementById("starting").hidden = true;
  document.getElementById(why).hidden = false;
  document.getElementById("not-started").hidden = false;
  document.getElementById("not-started-why").textContent = String(error ?? "");
}

if (typeof WebAssembly === "undefined") {
  cannotStart("no-wasm");
} else {
  try {
    const { default: init } = await import(named("link[rel=modulepreload]"));
    await init({ module_or_path: named("link[rel=preload][as=fetch]") });
    document.getElementById("starting").hidden = true;
  } catch (error) {
    // What broke once it ran has said so itself.
    if (document.getElementById("crash").hidden) {
      cannotStart("no-program", error);
    }
    throw error;
  }
}

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
