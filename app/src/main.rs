//! Loomwright in the browser.
fn main() {}
