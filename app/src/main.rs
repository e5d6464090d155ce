//! Loomwright in the browser: mounts the app and shows the crash page if our own code breaks. In a worker
//! it does the review it is asked for.

use loomwright_app::{platform::crash, review, shell::Shell};

fn main() {
    // A worker has no page to show anything on.
    if review::serve() {
        return;
    }
    crash::install();
    leptos::mount::mount_to_body(Shell);
}
