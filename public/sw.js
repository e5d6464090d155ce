// Keeps the app for the hangar. Page, program and styles are kept together as one generation, whole or not
// at all; one generation serves everything until the person agrees to the next.

// Which generation serves, and which is ready to.
const SERVING = "loomwright-serving";
// What the page's head does not name. Files that carry their content's digest in their name never change.
const ALSO = ["./", "worker.js", "samples/sorrel.json", "samples/teasel.json", "samples/bryony.json"];
const BY_CONTENT = /-[0-9a-f]{16}(_bg)?\.\w+$/;
// Written last: what lacks it was cut short.
const WHOLE = "whole";

self.addEventListener("install", (event) => event.waitUntil(first()));
self.addEventListener("activate", (event) => event.waitUntil(self.clients.claim()));
self.addEventListener("fetch", (event) => {
  const { request } = event;
  if (request.method === "GET" && request.url.startsWith(self.registration.scope)) {
    event.respondWith(answer(request));
  }
});
self.addEventListener("message", (event) => {
  if (event.data === "look") {
    event.waitUntil(look(event.source));
  } else if (event.data === "take") {
    event.waitUntil(take(event.source));
  }
});

async function first() {
  const generation = await fill();
  if (!(await noted("serving"))) {
    await note("serving", generation);
  }
}

async function look(page) {
  try {
    const generation = await fill();
    if (generation !== (await noted("serving"))) {
      await note("next", generation);
      page.postMessage("newer");
    }
  } catch (error) {
    // Without a network there is nothing newer.
    console.debug("nothing newer:", error);
  }
}

async function take(page) {
  const before = await noted("serving");
  // What was found whole; asking the network again could find a third.
  const next = await noted("next");
  if (next && next !== before) {
    await note("serving", next);
    // The one before stays for windows that still run it.
    const old = (await caches.keys()).filter((name) => ![SERVING, next, before].includes(name));
    await Promise.all(old.map((name) => caches.delete(name)));
  }
  page.postMessage("taken");
}

async function answer(request) {
  const name = await noted("serving");
  if (name) {
    const kept = await caches.open(name);
    const asked = request.mode === "navigate" ? "./" : request;
    const found = await kept.match(asked, { ignoreSearch: true });
    if (found) {
      return found;
    }
  }
  return fetch(request);
}

async function noted(what) {
  const kept = await (await caches.open(SERVING)).match(what);
  return kept?.text();
}

async function note(what, generation) {
  await (await caches.open(SERVING)).put(what, new Response(generation));
}

async function get(name) {
  const answer = await fetch(name, { cache: "no-cache" });
  if (!answer.ok) {
    throw new Error(`${name}: ${answer.status}`);
  }
  return answer;
}

// Fetches the newest generation, unless it is kept already, and gives its name: a digest of the page, which
// names the files that are named by their content, and of all others.
async function fill() {
  const page = await get("./");
  const text = await page.text();
  const named = [...text.matchAll(/(?:href|src)="([^"]+)"/g)].map((match) => match[1]);
  const files = [...new Set([...named.filter((name) => !/[?#:]|^\.?\/?$/.test(name)), ...ALSO])];
  const answers = new Map();
  for (const name of files.filter((name) => !BY_CONTENT.test(name))) {
    answers.set(name, await get(name));
  }
  const parts = await Promise.all([...answers.values()].map((answer) => answer.clone().arrayBuffer()));
  const digest = await crypto.subtle.digest("SHA-256", await new Blob([text, ...parts]).arrayBuffer());
  const hex = [...new Uint8Array(digest)].map((byte) => byte.toString(16).padStart(2, "0")).join("");
  const name = `loomwright-${hex.slice(0, 16)}`;
  const kept = await caches.open(name);
  if (!(await kept.match(WHOLE))) {
    for (const file of files) {
      await kept.put(file, answers.get(file) ?? (await get(file)));
    }
    await kept.put(WHOLE, new Response(""));
  }
  return name;
}
