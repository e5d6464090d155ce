//! Checks beside the page, in a worker, for a project whose checks would make the page wait. A project that
//! may be one is checked there first; the page checks it by itself once that is known to be quick.

use std::{sync::Arc, time::Duration};

use leptos::prelude::*;
use loomwright_core::{document::Document, exchange, rules, rules::Verdict};

use crate::{
    platform::{
        clock,
        worker::{self, Running, Words},
    },
    session::Session,
    strings,
    widgets::Given,
};

/// The job of the worker, and its answer.
const CHECK: &str = "check";
/// Wires times states that the page checks by itself at once, whatever is wrong with them (measured: a
/// quarter of a second in a browser where no load can run).
const AT_ONCE: usize = 2_000;
/// A check in the worker that took no longer is made by the page from then on, ms.
const QUICK_MS: f64 = 250.0;
/// A check by the page that took longer was the last one, ms.
const SLOW_MS: f64 = 700.0;
/// Edits are waited for this long before the worker begins anew.
const PAUSE: Duration = Duration::from_millis(400);

/// What a worker found.
#[derive(Clone, PartialEq)]
struct Found {
    opening: u64,
    revision: u64,
    verdict: Arc<Verdict>,
}

/// Checks that the page does not wait for.
#[derive(Clone, Copy)]
pub struct Apart {
    session: Session,
    /// Whether the page may check the open project by itself, of which opening that is known.
    quick: RwSignal<(u64, bool)>,
    /// True if the page does not.
    pub is_on: Memo<bool>,
    found: RwSignal<Option<Found>>,
    /// The opening in which the person lets the page wait.
    patience: RwSignal<Option<u64>>,
}

impl Apart {
    /// Watches the open project; never if it is opened `unchecked`.
    pub fn new(session: Session, unchecked: bool) -> Self {
        let quick = RwSignal::new((0, true));
        let is_on = Memo::new(move |_| {
            let opening = session.opening();
            if unchecked {
                return false;
            }
            match quick.get() {
                (known, is_quick) if known == opening => !is_quick,
                _ => session.peek(|document| size(document) > AT_ONCE),
            }
        });
        let it = Self {
            session,
            quick,
            is_on,
            found: RwSignal::new(None),
            patience: RwSignal::new(None),
        };
        let running = StoredValue::new_local(None::<Running>);
        Effect::new(move |begun: Option<u64>| {
            let revision = session.revision();
            // Dropping it stops it.
            running.set_value(None);
            if !it.is_on.get() {
                return session.opening();
            }
            let opening = session.opening();
            let is_first = begun != Some(opening);
            let begin = move || {
                if session.revision_now() == revision {
                    running.set_value(it.start(opening, revision));
                }
            };
            match is_first {
                true => begin(),
                false => set_timeout(begin, PAUSE),
            }
            opening
        });
        it
    }

    fn start(self, opening: u64, revision: u64) -> Option<Running> {
        let project = String::from_utf8_lossy(&self.session.bytes()).into_owned();
        let hear = move |words: Words| {
            let Some((took_ms, verdict)) = read(&words) else {
                // Whatever is wrong with it: the page has to do it.
                return self.quick.set((opening, true));
            };
            let found = Found {
                opening,
                revision,
                verdict: Arc::new(verdict),
            };
            self.found.set(Some(found));
            if took_ms <= QUICK_MS {
                self.quick.set((opening, true));
            }
        };
        // Without a worker the page has to do it.
        let fail = move || self.quick.set((opening, true));
        let started = worker::start(vec![CHECK.into(), project], hear, fail);
        if started.is_none() {
            fail();
        }
        started
    }

    /// What was found last of the open project.
    pub fn verdict(self) -> Arc<Verdict> {
        let opening = self.session.opening();
        let found = self.found.get().filter(|it| it.opening == opening);
        found.map_or_else(Arc::default, |it| it.verdict)
    }

    /// True while what is shown is not yet of the project as it is.
    pub fn is_checking(self) -> bool {
        let now = (self.session.opening(), self.session.revision());
        self.is_on.get()
            && self.found.with(|found| {
                found
                    .as_ref()
                    .is_none_or(|it| (it.opening, it.revision) != now)
            })
    }

    /// True if the page may work out what a change does: quickly, or because the person lets it wait.
    pub fn may_work(self) -> bool {
        !self.is_on.get() || self.patience.get() == Some(self.session.opening())
    }

    /// Asks the person to let the page wait; nothing if there is no need to.
    pub fn ask(self) -> AnyView {
        let wait = move |_| self.patience.set(Some(untrack(|| self.session.opening())));
        view! {
            <Given when=move || !self.may_work()>
                <p>{strings::PAGE_WAITS} " " <button on:click=wait>{strings::WORK_IT_OUT}</button></p>
            </Given>
        }
        .into_any()
    }

    /// Runs a check of the page, and makes it the last one if it took too long.
    pub fn watched<T>(self, check: impl FnOnce() -> T) -> T {
        let begun_ms = clock::now_ms();
        let checked = clock::timed("findings", check);
        if clock::now_ms() - begun_ms > SLOW_MS {
            let opening = untrack(|| self.session.opening());
            // Not while whoever asked for the check is being computed.
            set_timeout(move || self.quick.set((opening, false)), Duration::ZERO);
        }
        checked
    }
}

/// Wires times states: what checks grow with.
fn size(document: &Document) -> usize {
    document.wires.len() * document.states.len().max(1)
}

fn read(words: &[String]) -> Option<(f64, Verdict)> {
    let (took_ms, verdict) = words.split_first()?;
    Some((took_ms.parse().ok()?, Verdict::from_words(verdict)?))
}

/// In a worker: the check that it is asked for; none if it is asked for something else.
pub fn answer(job: &[String]) -> Option<Words> {
    let [what, project] = job else { return None };
    if what != CHECK {
        return None;
    }
    let document = exchange::open(project.as_bytes()).ok()?.document;
    let begun_ms = clock::now_ms();
    let verdict = rules::check(&document);
    let took_ms = clock::now_ms() - begun_ms;
    Some(
        [took_ms.to_string()]
            .into_iter()
            .chain(verdict.to_words())
            .collect(),
    )
}
