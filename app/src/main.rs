//! Loomwright in the browser: mounts the app and shows the crash page if our own code breaks.

use loomwright_app::{platform::crash, shell::Shell};

fn main() {
    crash::install();
    leptos::mount::mount_to_body(Shell);
}
