//! Loomwright in the browser: mounts the app and shows the crash page if our own code breaks. In a worker
//! it does the review it is asked for.

use loomwright_app::{platform::crash, review, shell::Shell, storage::Kept};

fn main() {
    // A worker has no page to show anything on.
    if review::serve() {
        return;
    }
    crash::install(|framed| Kept::read(framed).map(|kept| kept.text));
    leptos::mount::mount_to_body(Shell);
}
