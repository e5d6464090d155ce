// Runs the program that the page runs a second time, for what takes long.

// The page tells its two files as this worker's name: an address kept for a hangar has no query.
const [script, wasm] = self.name.split(" ").map((address) => {
  const url = new URL(address, self.location);
  if (url.origin !== self.location.origin) {
    throw new Error(`${url.origin} is not where this program is from`);
  }
  return url.href;
});
try {
  const { default: init } = await import(script);
  await init({ module_or_path: wasm });
} catch (error) {
  // Thrown outside of any promise, so that the page hears of it.
  setTimeout(() => {
    throw error;
  });
}
