//! Noise in the headset: what is heard, the next test with its answers as buttons, what was
//! answered, and the suspects. Computed only while it is looked at.

use leptos::prelude::*;
use loomwright_core::{
    analysis::failures::usual_state,
    document::{Document, NoiseFigures},
    edit::{self, Key, Record},
    ids::LogId,
    netlist::EdgeOf,
    noise::{
        Answer, Hear, LoopNoise, Noise, Proposal, Settings, Step, Suspect, guide::CAUTION, hunt,
        hunt::words, names::way, results,
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
    let hunt = hunt(document, noise, hear, &[]);
    let paragraph = |says: &'static str| view! { <p>{says}</p> }.into_any();
    let says: Vec<AnyView> = hunt.says.into_iter().map(paragraph).collect();
    let likely: Vec<String> = (hunt.sources.iter().take(4))
        .map(|(tag, likely)| format!("{tag} {:.0} %", likely * 100.0))
        .collect();
    let sources = (likely.len() > 1).then(|| strings::sources(&likely.join(", ")));
    let answers = answers(app, document, hear, &hunt.answers);
    let listen = hunt.listen.map(|it| card(app, document, hear, it));
    let next = hunt.next.map(|it| card(app, document, hear, it));
    let entries: Vec<AnyView> = hunt
        .suspects
        .into_iter()
        .map(|suspect| entry(app, document, &noise.settings, hear, &suspect))
        .collect();
    view! {
        <p class="caution">{CAUTION}</p>
        {listen}
        {next}
        {says}
        {answers}
        <p class="hush">{sources}</p>
        <ol class="suspects">{entries}</ol>
    }
    .into_any()
}

/// One test: what to do, what to heed, and its answers.
fn card(app: App, document: &Document, hear: Hear, next: Proposal) -> AnyView {
    let marked = RwSignal::new(Sorted::<String>::new());
    let step = StoredValue::new(next.step.clone());
    let labels = StoredValue::new(next.choices.clone());
    let answer = move |title: &'static str, answer: fn(Vec<String>) -> Answer| {
        let press = move |_| {
            let keys = marked.with_untracked(|keys| keys.iter().cloned().collect());
            step.with_value(|step| {
                labels.with_value(|labels| keep(app, hear, step, &answer(keys), labels));
            });
        };
        view! { <button on:click=press>{title}</button> }.into_any()
    };
    let buttons = match next.step.measures() || next.step == Step::Listen {
        true => vec![answer(strings::KEEP_MARKED, Answer::These)],
        false => {
            let mut buttons = vec![
                answer(strings::IT_STAYED, |_| Answer::Same),
                answer(strings::IT_IS_GONE, |_| Answer::Gone),
                answer(strings::IT_IS_WEAKER, |_| Answer::Partly),
            ];
            if next.choices.len() > 1 {
                buttons.push(answer(strings::GONE_AT_MARKED, Answer::These));
            }
            buttons
        }
    };
    let choice = |(at, (key, label)): (usize, (String, String))| {
        let reading = next.readings.get(at).cloned();
        let known = key.clone();
        let press = move |_| {
            marked.update(|keys| {
                if !keys.remove(&key) {
                    keys.insert(key.clone());
                }
            });
        };
        view! {
            <button
                aria-pressed=move || marked.with(|keys| keys.contains(&known)).to_string()
                on:click=press
            >
                {label}
            </button>
            <p class="hush">{reading}</p>
        }
        .into_any()
    };
    let asks_seats = next.choices.len() > 1 || next.step.measures();
    let choices = next.choices.into_iter().enumerate().filter(|_| asks_seats);
    let choices: Vec<AnyView> = choices.map(choice).collect();
    view! {
        <div class="suspect next">
            <p>
                <b>{next.step.title(document)}</b>
            </p>
            <p class="caution">{hear.caution(&next.step)}</p>
            <p>{next.step.how()}</p>
            <div class="choices">{choices}</div>
            <div class="choices">{buttons}</div>
        </div>
    }
    .into_any()
}

/// What was answered, each with a button that takes it back.
fn answers(app: App, document: &Document, hear: Hear, told: &[(String, String)]) -> AnyView {
    let answered = results::answered(document, hear);
    let row = |((id, ..), (title, told)): (&(&LogId, Step, Answer), &(String, String))| {
        let by = document.log.get(*id);
        let found = by.map(|it| strings::found_by(told, &it.who, &it.date));
        let key = Key::Log((*id).clone());
        let remove = move |_| {
            let change = (app.session).peek(|it| edit::delete(it, std::slice::from_ref(&key)));
            app.session.try_run(strings::TEST, change);
        };
        view! {
            <li>
                {title.clone()} ". " <span class="found">{found}</span>
                <button on:click=remove>{strings::TAKE_BACK}</button>
            </li>
        }
        .into_any()
    };
    let rows: Vec<AnyView> = answered.iter().zip(told).map(row).collect();
    view! { <ul class="answers">{rows}</ul> }.into_any()
}

fn entry(
    app: App,
    document: &Document,
    settings: &Settings,
    hear: Hear,
    suspect: &Suspect,
) -> AnyView {
    let lines = [
        (strings::TEST, suspect.test.clone()),
        (strings::IF_CHANGED, suspect.if_changed.clone()),
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
    view! {
        <li class="suspect">
            <p>
                <b>{suspect.what.clone()}</b>
                ": "
                {suspect.verdict()}
            </p>
            <p class="hush">{suspect_level(suspect, settings)}</p>
            <dl>{Vec::from(lines)}</dl>
            <p class="found">{found}</p>
            <div class="choices">{show(app, &suspect.at)}</div>
        </li>
    }
    .into_any()
}

/// Keeps an answer in the log.
fn keep(app: App, hear: Hear, step: &Step, answer: &Answer, labels: &[(String, String)]) {
    let change = app.session.peek(|document| {
        let who = (app.settings).with_untracked(crate::session::settings::Settings::builder);
        let told = words(step, answer, labels);
        let entry = results::entry(document, hear, (step, answer), told, (clock::today(), who));
        edit::add_record(document, Record::Log(entry))
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
                {move || app.session.with(|document| assumed(&Settings::of(&document.project), &document.project))}
            </p>
            <div class="pair">{fields}</div>
        </details>
    }
    .into_any()
}
