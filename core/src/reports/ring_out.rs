//! The ring-out sheet: what is measured with the units unplugged, in the order in which it can be done,
//! with what was read.

use super::{Asked, Cell, Paper, Table, harness::device, mark::Mark};
use crate::{
    document::{BarUse, Document, ElementKind, End, Reading, Test, natural_cmp},
    order::sort_by,
    solve::ring_out::{Expect, Line, Outcome, RingOut},
};

const COLUMNS: &[(&str, &str, &str)] = &[
    ("at", "At", ""),
    ("test", "Test", ""),
    ("from", "One lead", ""),
    ("to", "Other lead", ""),
    ("expect", "Expected", ""),
    ("right", "Right", ""),
    ("read", "Read", "Ω"),
    ("judged", "Says", ""),
    ("who", "Who and when", ""),
];

/// The paper.
pub fn paper(asked: &Asked<'_>) -> Paper {
    let mut paper = Paper::new("ring-out", "Ring-out sheet", asked.document);
    paper.caution(
        "Battery out and its leads apart before the first measurement. An ohmmeter on a live circuit is \
         destroyed, and what feeds it may burn.",
    );
    paper.text(
        "Units unplugged, in-line connectors mated, breakers pulled and fuses out, limiters in, switches as \
         they rest. Null the leads. What has no connector (lamps, motors, coils) stays joined and is named. \
         Ways: ohms of the copper at 20 °C (FAA AC 43.13-1B CHG 1, Table 11-9); read may be 0.2 Ω or a \
         quarter more. Open: 100 kΩ or more (both: common practice, no source). \"All others\": one lead on \
         the pin, the other on each other pin of the connector and on structure; a circuit that meets others \
         elsewhere has a line there too. Write ohms, \"open\" or \"ok\".",
    );
    paper.table(table(asked.document));
    paper
}

/// A row for each measurement.
pub fn table(document: &Document) -> Table {
    let sheet = RingOut::new(document);
    let mut rows: Vec<(String, u8, Vec<Cell>)> = Vec::new();
    for line in &sheet.lines {
        let reading = document.readings.values().find(|it| line.is_of(it));
        rows.push(row(document, line, reading));
    }
    sort_by(&mut rows, |a: &(String, u8, _), b: &(String, u8, _)| {
        (a.1 == 0)
            .cmp(&(b.1 == 0))
            .reverse()
            .then_with(|| natural_cmp(&a.0, &b.0))
            .then(a.1.cmp(&b.1))
    });
    let mut table = Table::new("ring-out", "Ring-out sheet", COLUMNS).grouped();
    table.rows = rows.into_iter().map(|(.., row)| row).collect();
    table
}

/// Where the fixed lead is: the connector or device; and the order within it.
fn row(document: &Document, line: &Line, reading: Option<&Reading>) -> (String, u8, Vec<Cell>) {
    let (at, order) = match line.test {
        Test::Isolation
            if is_bar(document, &line.from, BarUse::Bus)
                && is_bar(document, &line.to, BarUse::Ground) =>
        {
            ("Before first power: buses to ground".to_owned(), 0)
        }
        Test::Isolation if line.to == End::Open => (place(document, &line.from), 3),
        Test::Isolation => (place(document, &line.from), 4),
        Test::Resistance => (place(document, &line.from), 2),
        _ => (place(document, &line.from), 1),
    };
    let to = match &line.to {
        End::Open => "all others".into(),
        end => document.end_label(end),
    };
    let judged = reading.map_or(String::new(), |reading| match line.judge(reading) {
        Outcome::Right => "right".into(),
        Outcome::Wrong(why) => format!("WRONG: {why}"),
        Outcome::Unknown => "not judged".into(),
    });
    let key = Mark::Read(line.test, line.from.clone(), line.to.clone()).key();
    let cells = vec![
        Cell::text(at.clone()),
        Cell::text(test(line.test)),
        Cell::text(document.end_label(&line.from)),
        Cell::text(to),
        Cell::text(expected(line)),
        Cell::Tick {
            done: reading.is_some_and(|it| line.judge(it) == Outcome::Right),
            key: key.clone(),
        },
        Cell::Entry {
            value: reading.map_or(String::new(), Reading::shown),
            key,
        },
        Cell::text(judged),
        Cell::text(reading.map_or(String::new(), |it| format!("{} {}", it.who, it.date))),
    ];
    (at, order, cells)
}

fn is_bar(document: &Document, end: &End, wanted: BarUse) -> bool {
    let elements = device(document, end)
        .into_iter()
        .flat_map(|it| &it.elements);
    let mut bars = elements.filter_map(|it| match &it.is {
        ElementKind::Bar(bar) => Some(bar.used_as),
        _ => None,
    });
    bars.any(|it| it == wanted)
}

/// The connector or device of an end.
fn place(document: &Document, end: &End) -> String {
    let End::Terminal(_, id) = end else {
        return document.end_label(end);
    };
    let Some(device) = device(document, end) else {
        return document.end_label(end);
    };
    let terminal = device.terminal(id);
    match terminal.and_then(|it| device.connector_of(it)) {
        Some(connector) if connector.label == device.tag => connector.label.clone(),
        Some(connector) => format!("{} {}", device.tag, connector.label),
        None => device.tag.clone(),
    }
}

/// A test in a word.
pub fn test(test: Test) -> &'static str {
    match test {
        Test::Continuity => "way",
        Test::Isolation => "open",
        Test::Resistance => "resistors",
        Test::Volts => "volts",
        Test::Amps => "amperes",
    }
}

/// What is expected, in words.
fn expected(line: &Line) -> String {
    match &line.expect {
        Expect::Ohm(Some(ohm)) if *ohm < 0.095 => "under 0.1 Ω".into(),
        Expect::Ohm(Some(ohm)) => format!("{ohm:.2} Ω"),
        Expect::Ohm(None) => "a way; ohms not known".into(),
        Expect::About(ohm) => format!("{ohm:.0} Ω"),
        Expect::Open { through, ohm } => match (through.is_empty(), ohm) {
            (true, _) => "open".into(),
            (false, Some(ohm)) if *ohm < 10.0 => {
                format!("{ohm:.1} Ω through {}", through.join(", "))
            }
            (false, Some(ohm)) => format!("{ohm:.0} Ω through {}", through.join(", ")),
            (false, None) => format!("no short; read with {} joined", through.join(", ")),
        },
    }
}
