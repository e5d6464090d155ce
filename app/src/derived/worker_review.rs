//! Reviews of many trials, made in a worker: what stops if a part fails, what a short does.

use std::time::Duration;

use leptos::prelude::set_timeout;
use loomwright_core::{
    analysis::{
        failures::{Consequence, Review, usual_state},
        shorts::{Short, Shorts},
    },
    document::Document,
    exchange,
    ids::StateId,
    reports::{Table, shorts::WhatShorts, what_stops::WhatStops},
};

use super::worker_check;
use crate::platform::{
    clock,
    worker::{self, Running, Words},
};

/// What is reviewed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Of {
    /// What stops if a part fails open.
    Failures,
    /// What a short to structure does.
    Shorts,
}

/// A finished paper, in words.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Paper {
    /// Its heading.
    pub heading: String,
    /// Headings of its columns.
    pub columns: Vec<String>,
    /// Its cells, row by row.
    pub cells: Vec<String>,
}

/// What a review reports while it runs.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum News {
    /// How many trials there are, and how many are done.
    Progress(usize, usize),
    /// It is done.
    Done(Paper),
    /// It broke.
    Broken,
}

/// The shortest time between two reports of progress, ms.
const TELL_MS: f64 = 100.0;

const FAILURES: &str = "failures";
const SHORTS: &str = "shorts";
const PROGRESS: &str = "progress";
const DONE: &str = "done";

/// Starts a review of a project in a state, or in the one in which most runs. It stops when what is
/// returned is dropped. Without workers in the browser, it reports [`News::Broken`] a moment later.
pub fn start(
    of: Of,
    document: &Document,
    state: Option<&StateId>,
    tell: impl Fn(News) + Clone + 'static,
) -> Option<Running> {
    let what = match of {
        Of::Failures => FAILURES,
        Of::Shorts => SHORTS,
    };
    let project = String::from_utf8_lossy(&exchange::save(document)).into_owned();
    let state = state.map(ToString::to_string).unwrap_or_default();
    let (broken, absent) = (tell.clone(), tell.clone());
    let started = worker::start(
        vec![what.into(), project, state],
        move |words| tell(read(words).unwrap_or(News::Broken)),
        move || broken(News::Broken),
    );
    if started.is_none() {
        // Not now: the caller is still being computed.
        set_timeout(move || absent(News::Broken), Duration::ZERO);
    }
    started
}

fn read(words: Words) -> Option<News> {
    let mut words = words.into_iter();
    let what = words.next()?;
    let mut number = || words.next()?.parse::<usize>().ok();
    match what.as_str() {
        PROGRESS => Some(News::Progress(number()?, number()?)),
        DONE => {
            let columns = number()?;
            Some(News::Done(Paper {
                heading: words.next()?,
                columns: words.by_ref().take(columns).collect(),
                cells: words.collect(),
            }))
        }
        _ => None,
    }
}

/// In a worker: answers jobs. False in a page.
pub fn serve() -> bool {
    worker::serve(|job, tell| {
        if worker_check::answer(job, tell) {
            return;
        }
        let [what, project, state] = job else {
            return tell(Words::new());
        };
        let Ok(opened) = exchange::open(project.as_bytes()) else {
            return tell(Words::new());
        };
        let document = opened.document;
        let chosen = document.states.get_key_value(&StateId::new(state));
        let Some(state) = chosen.or_else(|| usual_state(&document)) else {
            return tell(Words::new());
        };
        match what.as_str() {
            FAILURES => go_through(Review::new(&document, state), tell),
            _ => go_through(Shorts::new(&document, state), tell),
        }
    })
}

fn go_through<T: Trials>(mut review: T, tell: &dyn Fn(Words)) {
    let mut found = Vec::new();
    let mut told_ms = 0.0;
    loop {
        let now_ms = clock::now_ms();
        if now_ms - told_ms > TELL_MS {
            told_ms = now_ms;
            let (all, done) = review.progress();
            tell(vec![PROGRESS.into(), all.to_string(), done.to_string()]);
        }
        match review.next() {
            Some(one) => found.push(one),
            None => break,
        }
    }
    let (heading, table) = review.paper(&found);
    let columns = table.headings();
    let mut words = vec![DONE.into(), columns.len().to_string(), heading];
    words.extend(columns);
    words.extend(
        table
            .rows
            .iter()
            .flatten()
            .map(loomwright_core::reports::Cell::show),
    );
    tell(words);
}

/// Many trials, and the paper of what they found.
trait Trials: Iterator {
    /// All there are, and those that are done.
    fn progress(&self) -> (usize, usize);
    /// The paper: its heading and its table.
    fn paper(&self, found: &[Self::Item]) -> (String, Table);
}

impl Trials for Review {
    fn progress(&self) -> (usize, usize) {
        self.progress()
    }

    fn paper(&self, found: &[Consequence]) -> (String, Table) {
        let what = WhatStops::of(self, found, None);
        let heading = format!("{} {}", what.heading(), what.legend());
        (heading.trim_end().to_owned(), what.table())
    }
}

impl Trials for Shorts {
    fn progress(&self) -> (usize, usize) {
        self.progress()
    }

    fn paper(&self, found: &[Short]) -> (String, Table) {
        let what = WhatShorts::of(self, found, None);
        (what.heading(), what.table())
    }
}
