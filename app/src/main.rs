//! Loomwright in the browser.

use leptos::prelude::*;

fn main() {
    leptos::mount::mount_to_body(|| view! { <h1>"Loomwright"</h1> });
}
