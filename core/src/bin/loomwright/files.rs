//! Reads project files, runs the other commands, and writes files.

use std::{
    fs,
    io::{self, Write as _},
    path::Path,
};

use loomwright_core::{
    document::{Document, State, limits::MAX_BYTES},
    drawing,
    exchange::{self, revisions},
    ids::{RevisionId, SheetId, StateId},
    noise::{Noise, Settings},
    reports::{self, Paper, PaperInput, Part, Table, shorts::WhatShorts, what_stops::WhatStops},
    solve::{
        Figures,
        bare::BareNetwork,
        endurance,
        failures::{Review, usual_state},
        load_analysis, operate,
        shorts::Shorts,
        solve_report,
    },
};

use crate::{
    ask::{Command, Form, GroupBy, Heard, PaperForm, Report, Sample},
    compare, fix, schema, swap,
};

const SORREL: &str = include_str!("../../../../public/samples/sorrel.json");
const TEASEL: &str = include_str!("../../../../public/samples/teasel.json");

/// Printed under every answer that someone may build from.
pub const NOTICE: &str = "This is an aid. Local regulation, the maker's manual and a licensed person's judgment come first.\n";

/// Runs a command.
///
/// # Errors
/// Says which file or argument is wrong, and what was expected.
pub fn run(command: &Command) -> Result<(), String> {
    match command {
        // `main` runs these two: their exit codes say more.
        Command::Check(_) | Command::Merge { .. } => Ok(()),
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
            state,
            format,
            figures,
        } => {
            let document = open(file)?;
            let noise = noise(&document, state.as_deref(), figures.settings(&document))?;
            let hear = hear.map(Heard::hear);
            print(&match format {
                Form::Text => reports::noise::to_text(&document, &noise, hear) + NOTICE,
                Form::Json => json(&reports::noise::to_json(&document, &noise, hear)),
            })
        }
        Command::Draw {
            file,
            sheet,
            output,
        } => draw(&open(file)?, sheet, output.as_deref()),
        Command::Report(ask) => report(ask),
        Command::Swap(ask) => swap::run(ask),
        Command::Fix(ask) => fix::run(ask),
        Command::Sample { name, output } => {
            let text = match name {
                Sample::Sorrel => SORREL,
                Sample::Teasel => TEASEL,
            };
            write(output.as_deref(), text.as_bytes())
        }
        Command::Schema => print(&json(&schema::schema())),
        Command::Rewrite { file } => write(Some(file), &exchange::save(&open_to_write(file)?)),
    }
}

/// The earlier project to compare with: a file, or a version kept in the project, by the first letters of its key.
fn earlier(document: &Document, given: &Path) -> Result<Document, String> {
    let key = given.to_str().filter(|_| !given.exists());
    let begins = |id: &&RevisionId| key.is_some_and(|key| id.as_str().starts_with(key));
    let kept: Vec<&RevisionId> = document.revisions.keys().filter(begins).collect();
    match kept[..] {
        [only] => revisions::content(document, only).map_err(|error| error.to_string()),
        _ => open(given),
    }
}

fn report(ask: &Report) -> Result<(), String> {
    let document = open(&ask.file)?;
    let before = ask.before.as_deref();
    let before = before.map(|given| earlier(&document, given)).transpose()?;
    let asked = PaperInput {
        document: &document,
        before: before.as_ref(),
        zone: drawing::zone_of,
        drawn: drawing::plain_svg,
    };
    if ask.group.is_some() && ask.paper != "wires" {
        return Err("only the wire list can be grouped; leave --group out".into());
    }
    let mut paper = match &*ask.paper {
        "wires" => reports::wires::paper_by(&asked, ask.group.map(GroupBy::group)),
        "always-hot" => one_table(reports::always_hot::table(&document)),
        "endurance" => one_table(reports::endurance::table(&document)),
        name => {
            reports::paper(&asked, name).ok_or_else(|| format!("there is no paper {name:?}"))?
        }
    };
    for part in &mut paper.parts {
        let Part::Table(table) = part else { continue };
        if let Some(only) = &ask.only {
            table.keep(only);
        }
        if let Some(key) = ask.sort.as_deref().filter(|key| !table.sort_by(key)) {
            let keys: Vec<&str> = table.columns.iter().map(|column| column.key).collect();
            return Err(format!(
                "there is no column {key:?}; expected one of: {}",
                keys.join(", ")
            ));
        }
    }
    write(ask.output.as_deref(), formed(&paper, ask.format).as_bytes())
}

/// A paper in a form.
pub fn formed(paper: &Paper, form: PaperForm) -> String {
    match form {
        PaperForm::Html => paper.to_html(),
        PaperForm::Csv => paper.to_csv(),
        PaperForm::Json => paper.to_json(),
        PaperForm::Text => paper.to_text(),
    }
}

fn one_table(table: Table) -> Paper {
    Paper {
        name: table.name,
        title: table.title.clone(),
        parts: vec![Part::Table(table)],
    }
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
    let what = WhatStops::of(&review, &consequences, item);
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
    let is_wanted =
        |id: &SheetId, number: u32| number.to_string() == wanted || id.as_str() == wanted;
    let mut sheets = document.sheets.iter();
    let Some((id, _)) = sheets.find(|(id, sheet)| is_wanted(id, sheet.number)) else {
        let numbers = document
            .sheets
            .values()
            .map(|sheet| sheet.number.to_string());
        let numbers = numbers.collect::<Vec<_>>().join(", ");
        return Err(format!(
            "there is no sheet {wanted:?}; expected one of: {numbers}"
        ));
    };
    let scene = drawing::scene(document, id);
    let svg = drawing::svg(&scene, drawing::Theme::Light, None);
    write(output, svg.as_bytes())
}

/// Opens a project to look at it.
pub fn open(file: &Path) -> Result<Document, String> {
    let opened = opened(file)?;
    if opened.is_newer() {
        eprintln!(
            "{}: written by a newer Loomwright (file format {}). What this one does not know is neither shown nor \
             checked",
            file.display(),
            opened.version
        );
    }
    Ok(opened.document)
}

/// Opens a project of which something is to be written.
///
/// # Errors
/// As [`open`], and for a file that a newer program wrote.
pub fn open_to_write(file: &Path) -> Result<Document, String> {
    let opened = opened(file)?;
    match opened.is_newer() {
        false => Ok(opened.document),
        true => Err(format!(
            "{}: written by a newer Loomwright (file format {}). This one would lose what it does not know. Use \
             a newer one",
            file.display(),
            opened.version
        )),
    }
}

fn opened(file: &Path) -> Result<exchange::Opened, String> {
    exchange::open(&read(file)?).map_err(|e| format!("{}: {e}", file.display()))
}

fn read(file: &Path) -> Result<Vec<u8>, String> {
    let name = file.display();
    let size = fs::metadata(file)
        .map_err(|e| format!("{name}: {e}"))?
        .len();
    if size > MAX_BYTES as u64 {
        return Err(format!(
            "{name}: the file has {size} bytes, expected at most {MAX_BYTES}"
        ));
    }
    fs::read(file).map_err(|e| format!("{name}: {e}"))
}

pub fn write(file: Option<&Path>, bytes: &[u8]) -> Result<(), String> {
    let Some(file) = file else {
        return print(&String::from_utf8_lossy(bytes));
    };
    // Write a second file, then rename it: a full disk leaves the old file undamaged.
    let mut beside = file.as_os_str().to_owned();
    beside.push(".new");
    fs::write(&beside, bytes)
        .and_then(|()| fs::rename(&beside, file))
        .map_err(|e| format!("{}: {e}", file.display()))
}

/// Prints a text. A reader that stops early, such as `head`, is not an error.
pub fn print(text: &str) -> Result<(), String> {
    match io::stdout().lock().write_all(text.as_bytes()) {
        Err(e) if e.kind() != io::ErrorKind::BrokenPipe => Err(format!("cannot print: {e}")),
        _ => Ok(()),
    }
}

/// As JSON, with a line feed at the end.
pub fn json(value: &impl serde::Serialize) -> String {
    let text = serde_json::to_string_pretty(value);
    text.expect("texts and numbers always fit into JSON") + "\n"
}
