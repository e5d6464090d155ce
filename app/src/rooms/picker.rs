//! Chooses a file or a revision to compare with the project.

use std::sync::Arc;

use leptos::{ev, prelude::*};
use loomwright_core::{document::Document, exchange::revisions};

use crate::{App, platform::pick, session::file, strings};

/// Every revision that was kept, newest first: its key, and its date and name.
pub fn revisions(document: &Document) -> Vec<(String, String)> {
    let named = revisions::newest_first(document)
        .into_iter()
        .filter_map(|id| {
            let it = document.revisions.get(id)?;
            let name = match it.name.as_str() {
                "" => &it.reason,
                name => name,
            };
            Some((id.to_string(), format!("{} \u{b7} {name}", it.date)))
        });
    named.collect()
}

/// A button that takes a project file, which is not opened but handed over to look at.
pub fn picker(
    app: App,
    label: &'static str,
    take: impl Fn(Arc<Document>) + Copy + Send + Sync + 'static,
) -> AnyView {
    let open = move |event: ev::Event| {
        let Some(chosen) = pick::chosen(&event) else {
            return;
        };
        leptos::task::spawn_local(async move {
            let opened = match pick::read(chosen, file::BYTES_MAX).await {
                Some(picked) => file::open(&picked.bytes),
                None => Err(strings::FILE_TOO_LARGE.into()),
            };
            match opened {
                // Fields of a newer program may mean something else: they cannot be merged.
                Ok(opened) if opened.newer.is_some() => app.session.say(strings::NEWER_FILE.into()),
                Ok(opened) => take(Arc::new(opened.document)),
                Err(why) => app.session.say(why),
            }
        });
    };
    view! {
        <label class="button">
            {label}
            <input class="spoken" type="file" accept=".json,application/json" on:change=open />
        </label>
    }
    .into_any()
}
