//! What follows from the document, computed as a chain of memos keyed by the revision. Nothing here
//! is ever written by an effect.

use std::sync::Arc;

use leptos::prelude::*;
use loomwright_core::{document::State, rules::Verdict};

use crate::{platform::page, session::Session, view::View};

/// Everything derived, as memos.
#[derive(Clone, Copy)]
pub struct Derived {
    /// What the rules say.
    pub verdict: Memo<Arc<Verdict>>,
    /// The chosen state with what was operated by hand.
    pub state: Memo<State>,
}

impl Derived {
    /// The chain over this session and view.
    pub fn new(session: Session, view: View) -> Self {
        // After a crash the person may open the project without checks.
        let unchecked = page::hash() == "unchecked";
        Self {
            verdict: Memo::new(move |_| {
                session.with(|_document| {
                    if unchecked {
                        Arc::default()
                    } else {
                        Arc::new(Verdict::default())
                    }
                })
            }),
            state: Memo::new(move |_| {
                let moves = view.moves.get();
                let base = view.state.get();
                session.with(|document| {
                    let base = base.and_then(|id| document.states.get(&id).cloned());
                    moves.applied(&base.unwrap_or_default())
                })
            }),
        }
    }
}
