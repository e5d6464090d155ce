// Served beside the app in journeys: keeps what goes wrong, and how many workers the page started.
{
  const NAME = "journey.errors";
  const keep = (what) => {
    const all = JSON.parse(sessionStorage.getItem(NAME) ?? "[]");
    sessionStorage.setItem(NAME, JSON.stringify([...all, String(what)]));
  };
  window.journeyErrors = () => {
    const all = JSON.parse(sessionStorage.getItem(NAME) ?? "[]");
    sessionStorage.removeItem(NAME);
    return all;
  };
  addEventListener("error", (event) => keep(event.message ?? event.target?.src ?? "an error"));
  addEventListener("unhandledrejection", (event) => keep(event.reason));
  const plain = console.error;
  console.error = (...words) => {
    keep(words.join(" "));
    plain.apply(console, words);
  };

  window.journeyWorkers = 0;
  const Plain = window.Worker;
  window.Worker = class extends Plain {
    constructor(...words) {
      super(...words);
      window.journeyWorkers += 1;
    }
  };

  const asked = new URLSearchParams(location.search);
  if (asked.has("no-wasm")) {
    delete window.WebAssembly;
  }
  // A dialogue of the system would wait for a person.
  if (!asked.has("prints")) {
    window.print = () => {};
  }
}
