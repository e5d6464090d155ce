//! Loomwright in the browser: mounts the app and shows the crash page if our own code breaks. In a worker
//! it makes the check or review that the page sends it.

use loomwright_app::{derived::worker_review, platform::crash, shell::Shell, storage::SavedText};

fn main() {
    // A worker has no page to show anything on.
    if worker_review::serve() {
        return;
    }
    crash::install(|framed| SavedText::read(framed).map(|saved| saved.text));
    leptos::mount::mount_to_body(Shell);
}
