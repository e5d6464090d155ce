//! The chain of memos, keyed by the revision.

use loomwright_core::order::Map;
use std::sync::Arc;

use leptos::prelude::*;
use loomwright_core::{
    document::{Document, State},
    drawing::{Phase, Scene, overlay::PlacedFlag},
    edit::Change,
    ids::WireId,
    rules::{Checker, Verdict},
    solve::AT_REST,
};

use super::{
    flags::placed_flags,
    layout, sight,
    solved::{Checked, Solved},
    worker_check::WorkerCheck,
};
use crate::{
    platform::page,
    session::Session,
    strings,
    view::{View, camera::Camera},
};

/// Everything derived, as memos.
#[derive(Clone, Copy)]
pub struct Derived {
    /// Checks that the page does not wait for.
    pub worker_check: WorkerCheck,
    /// What the rules say.
    pub verdict: Memo<Arc<Verdict>>,
    /// The chosen state with what was operated by hand.
    pub state: Memo<State>,
    /// The open sheet as drawn, drafts included.
    pub scene: Memo<Arc<Scene>>,
    /// Where the open sheet is on the screen.
    pub camera: Memo<Camera>,
    /// Flags on the open sheet, each with its finding's place in the list.
    pub flags: Memo<Vec<(usize, PlacedFlag)>>,
    /// Volts and amps in the chosen state.
    pub solved: Memo<Solved>,
    /// Live wires of the chosen state, with volts.
    pub live: Memo<Map<WireId, f64>>,
}

impl Derived {
    /// The chain over this session and view.
    pub fn new(session: Session, view: View) -> Self {
        // After a crash the person may open the project without checks.
        let unchecked = page::query() == "unchecked";
        let state = Memo::new(move |_| {
            let moves = view.moves.get();
            let base = view.state.get();
            session.with(|document| {
                let base = base.and_then(|id| document.states.get(&id).cloned());
                moves.applied(&base.unwrap_or_default())
            })
        });
        let checker = StoredValue::new(Checker::default());
        let worker_check = WorkerCheck::new(session, unchecked);
        let checked = Memo::new(move |_| {
            session.revision();
            if unchecked || worker_check.is_on.get() {
                return Checked::default();
            }
            let check = |document: &Document, change: Option<Change>| {
                checker.try_update_value(|it| Checked::new(it.check(document, change.as_ref())))
            };
            let checked = worker_check.watched(|| session.take_changes(check));
            checked.flatten().unwrap_or_default()
        });
        let verdict = Memo::new(move |_| match worker_check.is_on.get() {
            true => worker_check.verdict(),
            false => checked.with(Checked::verdict),
        });
        let solved = Memo::new(move |_| {
            let (state, id) = (state.get(), view.state.get());
            let id = id.unwrap_or_else(|| AT_REST.into());
            checked.with(|checked| session.peek(|document| checked.solved(document, &id, &state)))
        });
        let phase = Memo::new(move |_| {
            let mut state = state.get();
            if view.moves.with(|moves| !moves.is_empty()) && !state.title.is_empty() {
                state.title.push_str(strings::SET_BY_HAND);
            }
            let energised = solved.with(Solved::energised);
            Phase { state, energised }
        });
        let scene = layout::scene(session, view, phase);
        let flags = Memo::new(move |_| {
            verdict.with(|verdict| scene.with(|scene| placed_flags(verdict, scene)))
        });
        let live = Memo::new(move |_| {
            let solved = solved.get();
            session.with(|document| solved.live_wires(document))
        });
        Self {
            worker_check,
            verdict,
            state,
            scene,
            camera: sight::camera(session, view, scene),
            flags,
            solved,
            live,
        }
    }
}
