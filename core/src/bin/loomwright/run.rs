//! Runs the command: what takes one call of the core here, each of the others in its file.

use std::{path::Path, process::ExitCode};

use loomwright_core::{
    analysis::{
        bare::BareNetwork,
        endurance,
        failures::{Review, usual_state},
        load_analysis,
        shorts::Shorts,
        solve_report,
    },
    document::{Document, State},
    drawing, exchange,
    ids::StateId,
    noise::{Noise, Settings},
    reports::{self, shorts::WhatShorts, what_stops::WhatStops},
    solve::{Figures, operate},
};

use crate::{
    ask::{Command, Form, Sample},
    check, compare,
    files::{NOTICE, json, open, open_to_write, print, read, write},
    fix, report, schema,
    sheet::sheet_of,
    swap, tidy,
};

const SORREL: &str = include_str!("../../../../public/samples/sorrel.json");
const TEASEL: &str = include_str!("../../../../public/samples/teasel.json");
const BRYONY: &str = include_str!("../../../../public/samples/bryony.json");

/// Runs a command.
///
/// # Errors
/// Says which file or argument is wrong, and what was expected.
pub fn run(command: &Command) -> Result<ExitCode, String> {
    match command {
        // The exit codes of these two say more.
        Command::Check(ask) => return check::run(ask),
        Command::Merge {
            common,
            mine,
            other,
            output,
        } => return compare::merge([common, mine, other], output.as_deref()),
        Command::Diff {
            before,
            after,
            format,
        } => compare::diff([before, after], *format),
        Command::Solve { file, state, .. } => solve(&open(file)?, state.as_deref()),
        Command::Network { file, .. } => {
            let text = String::from_utf8(read(file)?);
            let text = text.map_err(|e| format!("{}: {e}; expected UTF-8", file.display()))?;
            let solution = BareNetwork::parse(&text).and_then(|network| network.solve());
            let solution = solution.map_err(|e| format!("{}: {e}", file.display()))?;
            print(&json(&solution))
        }
        Command::Loads { file, format } => {
            let document = open(file)?;
            let analysis = load_analysis(&document);
            print(&match format {
                Form::Text => reports::loads::to_text(&document, &analysis) + NOTICE,
                Form::Json => json(&reports::loads::to_json(&analysis)),
            })
        }
        Command::Endurance { file, format, plot } => {
            let document = open(file)?;
            let all = endurance(&document);
            if let Some(plot) = plot {
                write(Some(plot), reports::endurance_plot::svg(&all).as_bytes())?;
            }
            print(&match format {
                Form::Text => reports::endurance::to_text(&document, &all) + NOTICE,
                Form::Json => json(&reports::endurance::to_json(&all)),
            })
        }
        Command::WhatStops {
            file,
            item,
            state,
            format,
        } => {
            let document = open(file)?;
            let (what, shorts) = what_stops(&document, item.as_deref(), state.as_deref())?;
            print(&match format {
                Form::Text => what.to_text() + &shorts.to_text() + NOTICE,
                Form::Json => {
                    let mut value = what.to_json();
                    value["shorts"] = shorts.to_json();
                    json(&value)
                }
            })
        }
        Command::Noise {
            file,
            hear,
            answer,
            state,
            format,
            figures,
        } => {
            let document = open(file)?;
            let noise = noise(&document, state.as_deref(), figures.settings(&document))?;
            let heard = hear.map(|it| (it.hear(), &answer[..]));
            print(&match format {
                Form::Text => reports::noise::to_text(&document, &noise, heard) + NOTICE,
                Form::Json => json(&reports::noise::to_json(&document, &noise, heard)),
            })
        }
        Command::Draw {
            file,
            sheet,
            output,
        } => draw(&open(file)?, sheet, output.as_deref()),
        Command::Tidy {
            file,
            sheet,
            output,
            ..
        } => tidy::run(file, sheet.as_deref(), output),
        Command::Report(ask) => report::run(ask),
        Command::Swap(ask) => swap::run(ask),
        Command::Fix(ask) => fix::run(ask),
        Command::Sample { name, output } => {
            let text = match name {
                Sample::Sorrel => SORREL,
                Sample::Teasel => TEASEL,
                Sample::Bryony => BRYONY,
            };
            write(output.as_deref(), text.as_bytes())
        }
        Command::Schema => print(&json(&schema::schema())),
        Command::Rewrite { file } => write(Some(file), &exchange::save(&open_to_write(file)?)),
    }?;
    Ok(ExitCode::SUCCESS)
}

fn solve(document: &Document, state: Option<&str>) -> Result<(), String> {
    let report = solve_report(document, state);
    if let (true, Some(state)) = (report.states.is_empty(), state) {
        return Err(no_state(document, state));
    }
    print(&json(&report))
}

fn no_state(document: &Document, wanted: &str) -> String {
    let names = document.states.values().map(|state| state.title.as_str());
    let names = names.collect::<Vec<_>>().join(", ");
    format!("there is no phase {wanted:?}; expected one of: {names}")
}

/// The state with this name or id; the one in which most runs if none is wanted.
fn state_of<'d>(
    document: &'d Document,
    wanted: Option<&str>,
) -> Result<(&'d StateId, &'d State), String> {
    match wanted {
        None => usual_state(document)
            .ok_or_else(|| "the project has no phase; add one in the plan room".into()),
        Some(wanted) => (document.states.iter())
            .find(|(id, state)| id.as_str() == wanted || state.title == wanted)
            .ok_or_else(|| no_state(document, wanted)),
    }
}

fn what_stops(
    document: &Document,
    item: Option<&str>,
    state: Option<&str>,
) -> Result<(WhatStops, WhatShorts), String> {
    let found = state_of(document, state)?;
    let mut review = Review::new(document, found);
    let consequences: Vec<_> = review.by_ref().collect();
    let mut what = WhatStops::of(&review, &consequences, item);
    what.bring_back(&mut review, &consequences);
    let mut review = Shorts::new(document, found);
    let found: Vec<_> = review.by_ref().collect();
    let shorts = WhatShorts::of(&review, &found, item);
    match item {
        Some(item) if what.tried == 0 => Err(format!(
            "nothing called {item:?} can fail; expected a wire number, a device's tag, or a record's key"
        )),
        _ => Ok((what, shorts)),
    }
}

fn noise(document: &Document, state: Option<&str>, settings: Settings) -> Result<Noise, String> {
    let (id, state) = state_of(document, state)?;
    let point = operate(document, id, state, Figures::Continuous);
    Ok(Noise::new(document, point, settings))
}

fn draw(document: &Document, wanted: &str, output: Option<&Path>) -> Result<(), String> {
    let id = sheet_of(document, wanted)?;
    let scene = drawing::scene(document, id);
    let svg = drawing::svg(&scene, drawing::Theme::Light, None);
    write(output, svg.as_bytes())
}
