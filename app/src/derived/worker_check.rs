//! Checks in a worker for a project whose checks would make the page wait. A project that
//! may be one is checked there first; the page checks it by itself once that is known to be quick.

use std::{
    sync::{
        Arc,
        atomic::{AtomicBool, Ordering},
    },
    time::Duration,
};

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
/// A program that has just started is slow. If its first check took up to so many times [`QUICK_MS`], it is timed once
/// more.
const COLD_TIMES: f64 = 4.0;
/// More edits are waited for this long before the worker begins.
const PAUSE: Duration = Duration::from_millis(200);

/// What a worker found.
#[derive(Clone, PartialEq)]
struct Found {
    opening: u64,
    revision: u64,
    verdict: Arc<Verdict>,
}

/// Checks that the page does not wait for.
#[derive(Clone, Copy)]
pub struct WorkerCheck {
    session: Session,
    /// Whether the page may check the open project by itself, of which opening that is known.
    quick: RwSignal<(u64, bool)>,
    /// True if the page does not.
    pub is_on: Memo<bool>,
    found: RwSignal<Option<Found>>,
    /// The opening in which the person lets the page wait.
    patience: RwSignal<Option<u64>>,
    worker: StoredValue<Option<Running>, LocalStorage>,
    /// The opening and revision that the worker is at work on.
    asked: StoredValue<Option<(u64, u64)>>,
}

impl WorkerCheck {
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
            worker: StoredValue::new_local(None),
            asked: StoredValue::new(None),
        };
        Effect::new(move |begun: Option<u64>| {
            let revision = session.revision();
            let opening = session.opening();
            if !it.is_on.get() {
                it.stop();
                return opening;
            }
            let begin = move || {
                if session.revision_now() == revision {
                    it.check(opening, revision);
                }
            };
            let pause = match begun == Some(opening) {
                true => PAUSE,
                false => Duration::ZERO,
            };
            set_timeout(begin, pause);
            opening
        });
        it
    }

    fn stop(self) {
        self.asked.set_value(None);
        // Dropping it stops it.
        self.worker.set_value(None);
    }

    /// Has the worker check the project: the one there is, which is quicker than a new one, unless it is at work on
    /// a project that is no more.
    fn check(self, opening: u64, revision: u64) {
        let project = String::from_utf8_lossy(&self.session.bytes()).into_owned();
        let job = vec![CHECK.into(), project];
        if self.asked.get_value().is_some() {
            self.stop();
        }
        self.asked.set_value(Some((opening, revision)));
        let asked = self.worker.try_with_value(|worker| {
            let worker = worker.as_ref()?;
            worker.ask(job.clone());
            Some(())
        });
        if asked.flatten().is_some() {
            return;
        }
        let started = worker::start(job, move |words| self.hear(&words), move || self.fail());
        match started {
            Some(worker) => self.worker.set_value(Some(worker)),
            None => self.fail(),
        }
    }

    /// Without a worker the page has to do it.
    fn fail(self) {
        self.stop();
        self.quick.set((untrack(|| self.session.opening()), true));
    }

    fn hear(self, words: &[String]) {
        let Some(answer) = Answer::read(words) else {
            // Whatever is wrong with it: the page has to do it.
            return self.fail();
        };
        if let (Some(verdict), Some((opening, revision))) = (answer.verdict, self.asked.get_value())
        {
            self.asked.set_value(None);
            let verdict = Arc::new(verdict);
            self.found.set(Some(Found {
                opening,
                revision,
                verdict,
            }));
        }
        // What is only timed is the check that was found last.
        let timed = self
            .found
            .with_untracked(|it| it.as_ref().map(|it| it.opening));
        if let (Some(opening), true) = (timed, answer.took_ms <= QUICK_MS) {
            self.quick.set((opening, true));
        }
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
            // Not now: the caller is still being computed.
            set_timeout(move || self.quick.set((opening, false)), Duration::ZERO);
        }
        checked
    }
}

/// Wires times states: what checks grow with.
fn size(document: &Document) -> usize {
    document.wires.len() * document.states.len().max(1)
}

/// What a worker answers.
struct Answer {
    /// How long the check took, ms.
    took_ms: f64,
    /// What it found; none if it was only timed.
    verdict: Option<Verdict>,
}

impl Answer {
    fn read(words: &[String]) -> Option<Self> {
        let [took_ms, verdict @ ..] = words else {
            return None;
        };
        Some(Self {
            took_ms: took_ms.parse().ok()?,
            verdict: match verdict {
                [] => None,
                words => Some(Verdict::from_words(words)?),
            },
        })
    }

    fn to_words(&self) -> Words {
        let verdict = self.verdict.as_ref().map(Verdict::to_words);
        [self.took_ms.to_string()]
            .into_iter()
            .chain(verdict.into_iter().flatten())
            .collect()
    }
}

/// In a worker: makes a check if the job is one. False if it is another job.
pub fn answer(job: &[String], tell: &dyn Fn(Words)) -> bool {
    static IS_WARM: AtomicBool = AtomicBool::new(false);
    let [what, project] = job else { return false };
    if what != CHECK {
        return false;
    }
    let Ok(opened) = exchange::open(project.as_bytes()) else {
        tell(Words::new());
        return true;
    };
    let check = || {
        let begun_ms = clock::now_ms();
        let verdict = rules::check(&opened.document);
        (clock::now_ms() - begun_ms, verdict)
    };
    let (took_ms, verdict) = check();
    let was_warm = IS_WARM.swap(true, Ordering::Relaxed);
    let again = !was_warm && took_ms > QUICK_MS && took_ms <= COLD_TIMES * QUICK_MS;
    let answer = Answer {
        took_ms,
        verdict: Some(verdict),
    };
    tell(answer.to_words());
    if again {
        let timed = Answer {
            took_ms: check().0,
            verdict: None,
        };
        tell(timed.to_words());
    }
    true
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_answer_reads_as_it_was_told() {
        for verdict in [Some(Verdict::default()), None] {
            let told = Answer {
                took_ms: 12.5,
                verdict,
            };
            let words = told.to_words();
            let read = Answer::read(&words).expect("it was told");
            assert_eq!(read.verdict.is_some(), told.verdict.is_some());
            assert_eq!(read.to_words(), words);
        }
        assert!(Answer::read(&[]).is_none(), "a project that cannot be read");
    }
}
