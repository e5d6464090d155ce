//! The open sheet as drawn. A full sheet takes longer to lay out than a frame may: after an edit it is first
//! shown with every other wire where it was, and laid out from the document when edits pause.

use std::{sync::Arc, time::Duration};

use leptos::prelude::*;
use loomwright_core::{
    drawing::{self, Pace, Phase, Scene},
    ids::SheetId,
};

use crate::{platform::clock, session::Session, view::View};

/// A sheet that took longer than this to lay out is not laid out at once after the next edit.
const SLOW_MS: f64 = 10.0;
/// How long nothing is edited in a pause.
const PAUSE: Duration = Duration::from_millis(250);

/// What is drawn, and how it came to be.
#[derive(Clone)]
struct Drawn {
    scene: Arc<Scene>,
    sheet: Option<SheetId>,
    /// How many pauses there had been.
    pauses: u64,
    /// How long the sheet took when it was laid out from the document last.
    took_ms: f64,
    /// True if it is still to be laid out from the document.
    waits: bool,
}

/// Each is another one: what follows from it compares the scenes.
impl PartialEq for Drawn {
    fn eq(&self, other: &Self) -> bool {
        Arc::ptr_eq(&self.scene, &other.scene) && self.waits == other.waits
    }
}

/// The open sheet as drawn, drafts included, as it is in a phase.
pub fn scene(session: Session, view: View, phase: Memo<Phase>) -> Memo<Arc<Scene>> {
    let pauses = RwSignal::new(0);
    let drawn = Memo::new(move |before: Option<&Drawn>| {
        let (phase, sheet, pauses) = (phase.get(), view.sheet.get(), pauses.get());
        let earlier = before.filter(|it| it.sheet == sheet && sheet.is_some());
        let drags = session.has_draft();
        let is_quick =
            drags || earlier.is_some_and(|it| it.took_ms > SLOW_MS && it.pauses == pauses);
        let pace = if is_quick { Pace::Quick } else { Pace::Settled };
        let begun_ms = clock::now_ms();
        let scene = session.with_drawn(|document| match (&sheet, earlier) {
            (None, _) => Scene::default(),
            (Some(sheet), Some(it)) => {
                drawing::rescene(document, sheet, Some(&phase), &it.scene, pace)
            }
            (Some(sheet), None) => drawing::scene_in(document, sheet, Some(&phase)),
        });
        // How long it takes is known only if it was laid out.
        let kept = earlier.filter(|it| is_quick || it.scene.has_paths_of(&scene));
        Drawn {
            took_ms: kept.map_or(clock::now_ms() - begun_ms, |it| it.took_ms),
            scene: Arc::new(scene),
            sheet,
            pauses,
            waits: is_quick && !drags,
        }
    });
    let waiting = StoredValue::new(None::<TimeoutHandle>);
    Effect::new(move |_| {
        let waits = drawn.with(|it| it.waits);
        if let Some(timeout) = waiting.try_update_value(Option::take).flatten() {
            timeout.clear();
        }
        if waits {
            let pause = move || pauses.update(|it| *it += 1);
            waiting.set_value(set_timeout_with_handle(pause, PAUSE).ok());
        }
    });
    Memo::new(move |_| drawn.with(|it| Arc::clone(&it.scene)))
}
