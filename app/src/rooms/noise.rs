//! Noise in the headset: what is heard, the suspects of this drawing with the next test of each, and
//! what the tests showed. Computed only while it is looked at.

use leptos::prelude::*;
use loomwright_core::{
    analysis::failures::usual_state,
    document::{Document, NoiseFigures},
    edit::{self, Key, Record},
    netlist::EdgeOf,
    noise::{
        Hear, LoopNoise, Noise, Outcome, Settings, Suspect, guide::CAUTION, names::way, results,
        suspects,
    },
    order::Sorted,
    reports::noise::{assumed, level, suspect_level},
    solve::{Figures, operate},
};

use crate::{
    App, app, commands,
    platform::clock,
    strings,
    widgets::{Amount, Number},
};

/// The paper, folded up.
pub fn noise_in_the_headset() -> AnyView {
    let app = app();
    let open = RwSignal::new(false);
    let hear = RwSignal::new(None::<Hear>);
    view! {
        <details on:toggle=move |_| open.update(|open| *open = !*open)>
            <summary>{strings::NOISE}</summary>
            {move || open.get().then(|| view! {
                {choices(hear)}
                {move || {
                    app.session.with(|document| match (review(app, document), hear.get()) {
                        (None, _) => strings::NO_STATE.into_any(),
                        (Some(noise), Some(hear)) => guide(app, document, &noise, hear),
                        (Some(noise), None) => loops(app, document, &noise),
                    })
                }}
                {figures(app)}
            })}
        </details>
    }
    .into_any()
}

/// The noise in the chosen state, else in the one with the alternators on in which most runs.
fn review(app: App, document: &Document) -> Option<Noise> {
    let chosen = app.view.state.get();
    let chosen = chosen.and_then(|id| document.states.get_key_value(&id));
    let (id, state) = chosen.or_else(|| usual_state(document))?;
    let point = operate(document, id, state, Figures::Continuous);
    Some(Noise::new(document, point, Settings::of(&document.project)))
}

fn choices(hear: RwSignal<Option<Hear>>) -> AnyView {
    let button = |choice: Hear| {
        let pressed = move || hear.get() == Some(choice);
        view! {
            <button
                aria-pressed=move || pressed().to_string()
                on:click=move |_| hear.set((!pressed()).then_some(choice))
            >
                {choice.words()}
            </button>
        }
        .into_any()
    };
    let buttons = Vec::from(Hear::ALL.map(button));
    view! {
        <p id="what-is-heard">{strings::WHAT_IS_HEARD}</p>
        <div class="choices" role="group" aria-labelledby="what-is-heard">{buttons}</div>
    }
    .into_any()
}

/// Every loop with audio in it, before anything is heard.
fn loops(app: App, document: &Document, noise: &Noise) -> AnyView {
    let entry = |found: &LoopNoise| {
        let links = found.finding.way.iter().map(|at| &noise.graph.links[*at]);
        let netlist = noise.point.netlist();
        let at: Vec<EdgeOf> = links.map(|link| netlist.of(link.edge).clone()).collect();
        let most = level(found.most_v(), &noise.settings);
        view! {
            <li class="suspect">
                <p>
                    <b>{found.finding.kind.words()}</b>
                    ": "
                    {way(document, noise, found)}
                </p>
                <p class="hush">{strings::at_most_in_audio(&most)}</p>
                {show(app, &at)}
            </li>
        }
        .into_any()
    };
    let audio = noise.found.iter().filter(|found| found.audio);
    let entries: Vec<AnyView> = audio.map(entry).collect();
    let none = entries.is_empty().then_some(strings::NO_AUDIO_LOOP);
    view! {
        <p>{strings::returns(noise.loops.independent, noise.loops.benign)} " " {none}</p>
        <ol class="suspects">{entries}</ol>
    }
    .into_any()
}

fn guide(app: App, document: &Document, noise: &Noise, hear: Hear) -> AnyView {
    let all = suspects(document, noise, hear);
    let none = all.is_empty().then_some(strings::NO_SUSPECT);
    let entries: Vec<AnyView> = all
        .into_iter()
        .map(|suspect| entry(app, document, &noise.settings, hear, suspect))
        .collect();
    view! {
        <p class="caution">{CAUTION}</p>
        <p>{none}</p>
        <ol class="suspects">{entries}</ol>
    }
    .into_any()
}

fn entry(
    app: App,
    document: &Document,
    settings: &Settings,
    hear: Hear,
    suspect: Suspect,
) -> AnyView {
    let lines = [
        (strings::TEST, suspect.test.clone()),
        (strings::IF_CHANGED, suspect.if_changed.clone()),
        (strings::IF_SAME, suspect.if_same.clone()),
        (strings::METER, suspect.meter.clone()),
    ];
    let lines = lines.map(|(title, text)| {
        view! {
            <dt>{title}</dt>
            <dd>{text}</dd>
        }
        .into_any()
    });
    let found = results::result(document, hear, &suspect.what);
    let found = found
        .map(|(_, entry, outcome)| strings::found_by(outcome.words(), &entry.who, &entry.date));
    let shown = show(app, &suspect.at);
    let what = suspect.what.clone();
    let level = suspect_level(&suspect, settings);
    let known = suspect.outcome;
    let suspect = StoredValue::new(suspect);
    let button = |outcome: Outcome, words: &'static str| {
        view! {
            <button
                aria-pressed=(known == Some(outcome)).to_string()
                on:click=move |_| suspect.with_value(|it| keep(app, hear, it, outcome))
            >
                {words}
            </button>
        }
        .into_any()
    };
    view! {
        <li class="suspect">
            <p>
                <b>{what}</b>
            </p>
            <p class="hush">{level}</p>
            <dl>{Vec::from(lines)}</dl>
            <p class="found">{found}</p>
            <div class="choices">
                {shown} {button(Outcome::Changed, strings::IT_CHANGED)}
                {button(Outcome::Same, strings::IT_STAYED)}
            </div>
        </li>
    }
    .into_any()
}

/// Keeps what a test showed in the log; the same once more takes it back.
fn keep(app: App, hear: Hear, suspect: &Suspect, outcome: Outcome) {
    let change = app.session.peek(|document| {
        let known = results::result(document, hear, &suspect.what);
        if let Some((id, _, same)) = known
            && same == outcome
        {
            return edit::delete(document, &[Key::Log(id.clone())]);
        }
        let entry = results::entry(
            hear,
            suspect,
            outcome,
            clock::today(),
            app.settings
                .with_untracked(crate::session::settings::Settings::builder),
        );
        match known {
            Some((id, ..)) => {
                edit::update_record(document, &Key::Log(id.clone()), Record::Log(entry))
            }
            None => edit::add_record(document, Record::Log(entry)),
        }
    });
    app.session.try_run(strings::TEST, change);
}

/// A button that selects what a loop or a suspect is made of on the drawing.
fn show(app: App, at: &[EdgeOf]) -> AnyView {
    let keys = at.iter().map(|of| match of {
        EdgeOf::Wire(id) | EdgeOf::InlineFuse(id) => Key::Wire(id.clone()),
        EdgeOf::Shield(id) | EdgeOf::ShieldEnd(id, _) => Key::Cable(id.clone()),
        EdgeOf::Element(device, ..) => Key::Device(device.clone()),
        EdgeOf::Bond(place) => Key::Place(place.clone()),
    });
    let keys: Sorted<Key> = keys.collect();
    if keys.is_empty() {
        return ().into_any();
    }
    let show = move |_| {
        commands::show(app, keys.iter().cloned().collect());
        app.view.selection.set(keys.clone());
    };
    view! { <button on:click=show>{strings::SHOW_ON_DRAWING}</button> }.into_any()
}

/// The figures that no drawing holds, each with what is assumed while it is empty.
fn figures(app: App) -> AnyView {
    let own = Memo::new(move |_| app.session.with(|document| document.project.noise.clone()));
    let field = |(at, label): (usize, &'static str)| {
        let nth = move |mut figures: NoiseFigures| *figures.each()[at].1;
        let commit = move |value: Amount| {
            commands::edit_project(app.session, label, |project| {
                let mut figures = project.noise.take().unwrap_or_default();
                *figures.each()[at].1 = value;
                project.noise = (figures != NoiseFigures::default()).then_some(figures);
            });
        };
        view! {
            <Number
                label=label
                value=Signal::derive(move || nth(own.get().unwrap_or_default()))
                on_commit=commit
            />
        }
        .into_any()
    };
    let fields: Vec<AnyView> = strings::NOISE_FIGURES
        .into_iter()
        .enumerate()
        .map(field)
        .collect();
    view! {
        <details>
            <summary>{strings::NOISE_FIGURES_TITLE}</summary>
            <p class="hush">
                {move || app.session.with(|document| assumed(&Settings::of(&document.project)))}
            </p>
            <div class="pair">{fields}</div>
        </details>
    }
    .into_any()
}
