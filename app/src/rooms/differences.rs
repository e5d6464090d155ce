//! What differs between two states of a project: in words, on the sheets, and in what it does.

use leptos::prelude::*;
use loomwright_core::{
    document::Document,
    drawing::{
        beside::{SheetComparison, beside},
        overlay::FlagAt,
    },
    edit::Key,
    exchange::compare::{Difference, compare},
    reports::{
        Paper,
        effects::{Effects, Side, effects},
        html::{self, Form},
    },
};

use crate::{App, strings, widgets::Views};

/// What differs between two states of a project: in words, and on the sheets.
#[derive(Clone, PartialEq)]
pub struct Differs {
    lines: Vec<String>,
    drawn: Vec<SheetComparison>,
    /// What it did to the rest of the aircraft, where the view shows that.
    effects: Option<Effects>,
}

impl Differs {
    /// Compares two states.
    pub fn new(before: &Document, after: &Document) -> Self {
        let all = compare(before, after);
        let numbered = all.iter().zip(1..);
        let marks = numbered.filter_map(|(it, number)| Some((number, mark(&it.key)?)));
        Self {
            drawn: beside(before, after, &marks.collect::<Vec<_>>()),
            lines: all.iter().map(Difference::words).collect(),
            effects: None,
        }
    }

    /// With what it did to the rest of the aircraft, unless that takes too long.
    #[must_use]
    pub fn judged(self, app: App, before: &Document, after: &Document) -> Self {
        let may_work = untrack(|| app.derived.worker_check.may_work());
        Self {
            effects: may_work.then(|| effects(&Side::new(before), &Side::new(after))),
            ..self
        }
    }

    /// A numbered list, and the sheets with those numbers as flags.
    pub fn shown(self, heading: &'static str, sides: [&'static str; 2]) -> AnyView {
        if self.lines.is_empty() {
            return view! { <p>{strings::NOTHING_DIFFERS}</p> }.into_any();
        }
        let lines = self.lines.into_iter().map(|line| view! { <li>{line}</li> });
        let drawn = self.drawn.into_iter().map(move |sheet| {
            let pieces = [sheet.before, sheet.after].into_iter().zip(sides);
            let figures = pieces.map(|(svg, side)| {
                let none = svg.is_empty().then_some(strings::NOT_THERE);
                view! {
                    <figure>
                        <figcaption>{side} {none}</figcaption>
                        <div inner_html=svg></div>
                    </figure>
                }
            });
            view! {
                <h5>{sheet.title}</h5>
                <div class="beside">{figures.collect::<Vec<_>>().views()}</div>
            }
        });
        view! {
            <h4>{heading}</h4>
            <ol>{lines.views()}</ol>
            {self.effects.map(|it| view! {
                {list(strings::CAME, strings::NONE_CAME, it.new.clone())}
                {list(strings::WORSE, "", it.worse.clone())}
                {list(strings::WENT, strings::NONE_WENT, it.gone.clone())}
                {loads(&it)}
            })}
            {drawn.views()}
        }
        .into_any()
    }
}

/// Where the flag of a record is; none for what no sheet shows.
fn mark(key: &Key) -> Option<FlagAt> {
    match key {
        Key::Wire(id) => Some(FlagAt::Wire(id.clone())),
        Key::Device(id) => Some(FlagAt::Device(id.clone())),
        Key::Cable(id) => Some(FlagAt::Cable(id.clone())),
        Key::Splice(id) => Some(FlagAt::Splice(id.clone())),
        Key::Place(id) => Some(FlagAt::Place(id.clone())),
        _ => None,
    }
}

/// Lines under a heading, or a sentence if there are none.
pub fn list(heading: &'static str, nothing: &'static str, lines: Vec<String>) -> AnyView {
    if lines.is_empty() {
        return view! { <p>{nothing}</p> }.into_any();
    }
    let lines = lines.into_iter().map(|line| view! { <li>{line}</li> });
    view! {
        <h4>{heading}</h4>
        <ul>{lines.views()}</ul>
    }
    .into_any()
}

/// What a change does to loads and endurance; a sentence if that is nothing.
pub fn loads(effects: &Effects) -> AnyView {
    if effects.is_same_load() {
        return view! { <p>{strings::SAME_LOADS}</p> }.into_any();
    }
    let mut paper = Paper::default();
    for table in effects.tables() {
        paper.table(table.clone());
    }
    let markup = html::body(&paper, Form::Screen);
    view! { <div class="on-paper on-screen" inner_html=markup></div> }.into_any()
}
