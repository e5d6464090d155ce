// Runs the program that the page runs a second time, for what takes long.

const named = (name) => {
  const url = new URL(new URL(self.location).searchParams.get(name), self.location);
  if (url.origin !== self.location.origin) {
    throw new Error(`${url.origin} is not where this program is from`);
  }
  return url.href;
};
try {
  const { default: init } = await import(named("script"));
  await init({ module_or_path: named("wasm") });
} catch (error) {
  // Thrown outside of any promise, so that the page hears of it.
  setTimeout(() => {
    throw error;
  });
}
