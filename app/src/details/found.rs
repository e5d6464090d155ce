//! The findings about a record, under its details.

use leptos::prelude::*;
use loomwright_core::edit::Key;

use crate::{app, derived::flags::record_of, findings, strings};

/// The findings that speak of this record.
#[component]
pub fn FoundHere(
    /// The record.
    key: Key,
) -> impl IntoView {
    let app = app();
    move || {
        let entries = app.derived.verdict.with(|verdict| {
            findings::list(app, verdict, |finding| {
                finding.accepted.is_none()
                    && finding
                        .at
                        .iter()
                        .any(|at| record_of(at).as_ref() == Some(&key))
            })
        });
        (!entries.is_empty()).then(|| {
            view! {
                <h3>{strings::FINDINGS_HERE}</h3>
                <ul class="findings">{entries}</ul>
            }
        })
    }
}
