//! The ring-out sheet: the measurements to make with the units unplugged, in working order, with the readings.

use super::{
    Cell, Paper, PaperInput, Table,
    harness::{device, position},
    mark::Mark,
};
use crate::order::{InOrder, Map};
use petgraph::graph::{EdgeIndex, NodeIndex};

use crate::{
    analysis::ring_out::{Expect, Line, RingOut},
    document::{BarUse, DeviceKind, Document, ElementKind, End, Reading, Role, Test, natural_cmp},
    netlist::{EdgeOf, Point},
    rules::records::reading::{Outcome, judge},
};

const COLUMNS: &[(&str, &str, &str)] = &[
    ("at", "At", ""),
    ("test", "Test", ""),
    ("from", "One lead", ""),
    ("to", "Other lead", ""),
    ("first", "Preparation", ""),
    ("expect", "Expected", ""),
    ("limit", "Pass if", ""),
    ("right", "Pass", ""),
    ("read", "Read", "Ω"),
    ("judged", "Result", ""),
    ("who", "Who and when", ""),
];

/// The test of a line through the junction of a thermocouple.
const PROBE: &str = "thermocouple pair";
/// The test of a P-lead in one position of its switch.
const P_LEAD: &str = "P-lead";

/// The paper.
pub fn paper(asked: &PaperInput<'_>) -> Paper {
    let mut paper = Paper::new("ring-out", "Ring-out sheet", asked.document);
    paper.caution(
        "Remove the battery and insulate its leads before the first measurement. Measuring ohms on a live \
         circuit can destroy the meter and start a fire.",
    );
    let mut sheet = RingOut::new(asked.document);
    if let Some(before) = asked.before {
        let all = sheet.lines.len();
        let changed = changed(asked.document, before, &sheet);
        let mut changed = changed.into_iter();
        sheet.lines.retain(|_| changed.next().unwrap_or(true));
        paper.caution(format!(
            "This sheet has only the circuits that changed since the earlier version: {} of {all} lines. It proves \
             nothing about the others. What was unplugged to reach a change needs its own check.",
            sheet.lines.len()
        ));
    }
    let table = rows(asked.document, &sheet);
    let of = |what: &str| table.rows.iter().any(|row| row[1].show() == what);
    if has_p_lead(asked.document) {
        paper.caution(
            "Before you lift a P-lead or its shield, keep everyone clear of the propeller and remove one spark plug \
             from each cylinder, or make the engine safe as its maker says. A lifted or open P-lead, or one whose \
             return is lifted, leaves the magneto live: moving the propeller by hand can fire the engine. Reconnect \
             each P-lead and measure it again at the lead, switch OFF, before you turn the propeller.",
        );
    }
    paper.text(
        "Setup: unplug the units, mate the in-line connectors, pull the breakers and remove the fuses; limiters and \
         in-line fuses stay in. Set every switch to rest, except where \u{201c}Preparation\u{201d} names a \
         position. Null the leads. Items without a connector (lamps, coils) stay wired and are listed; those that would \
         hide a short, because their ohms are low or not known, are disconnected. Where \u{201c}Preparation\u{201d} \
         says \u{201c}off\u{201d}, disconnect the wires from that terminal, keep them together, and connect them again \
         after the line.",
    );
    paper.text(
        "Continuity: ohms of the copper at 20 °C (FAA AC 43.13-1B CHG 1, Table 11-9); up to 0.2 Ω or 25 % more \
         passes, whichever is larger. Open: 100 kΩ or more (both limits: common practice, no source). \u{201c}All \
         others\u{201d}: one lead on the pin, the other on each other pin of the connector (or terminal of \
         the device), then on the airframe; pins of the same circuit have a continuity line instead. A \
         circuit that can touch others elsewhere has a line there as well. Enter ohms, \u{201c}open\u{201d} or \
         \u{201c}ok\u{201d}.",
    );
    if of(PROBE) {
        paper.text(
            "Thermocouples: plus and minus meet in the junction, and a grounded probe connects to the engine, so a \
             pair is never open with its probe connected. Measure it through the junction: the expected ohms are \
             those of its leads by alloy, gauge and length (alloys from makers\u{2019} tables, from memory), plus \
             up to 20 Ω for the probe\u{2019}s own leads (common practice, no source). If the leads of a probe \
             cannot be disconnected, skip its \u{201c}open\u{201d} lines.",
        );
    }
    if document_has_antenna(asked.document) {
        paper.text(
            "Antennas: the drawing does not show whether an antenna is grounded inside for direct current; see its \
             maker\u{2019}s sheet. Measure the coax open with the antenna disconnected. With such an antenna \
             connected, near 0 Ω from center to shield is normal.",
        );
    }
    if sheet.lines.iter().any(|it| !it.shields.is_empty()) {
        paper.text(
            "Shields: measure to the braid where it is cut back, before it is insulated, or where \
             \u{201c}Preparation\u{201d} lifts it from its terminal. Where a line names several, each one must pass. \
             Connect lifted shields again.",
        );
    }
    paper.table(table);
    if asked.before.is_none() {
        paper.text(worth(asked.document, &sheet));
    }
    paper
}

/// By line: true if the earlier project has no such line, or a wire along it or of its circuit was different.
fn changed(document: &Document, before: &Document, sheet: &RingOut) -> Vec<bool> {
    let was = RingOut::new(before);
    let mut old: Map<String, Vec<&Line>> = Map::new();
    for line in &was.lines {
        old.or_default(key(line)).push(line);
    }
    let is_same = |line: &Line| {
        let mut olds = old.get(&key(line)).into_iter().flatten();
        olds.any(|it| {
            (&it.expect, &it.off, &it.shields) == (&line.expect, &line.off, &line.shields)
        })
    };
    let wires = |line: &Line| {
        let mut edges = line.path.clone();
        if line.test != Test::Continuity {
            let nodes = [&line.from, &line.to].map(|it| sheet.circuit(it));
            let is_metal = |it: &NodeIndex| matches!(sheet.netlist.point(*it), Point::Structure(_));
            // Every line is against ground: changes there are in lines of their own.
            for nodes in nodes.iter().filter(|it| !it.iter().any(is_metal)) {
                edges.extend(nodes.iter().flat_map(|it| sheet.netlist.edges_at(*it)));
            }
        }
        edges
    };
    let is_kept = |edge: &EdgeIndex| match sheet.netlist.of(*edge) {
        EdgeOf::Wire(id) => document.wires.get(id) == before.wires.get(id),
        EdgeOf::Shield(id) => document.cables.get(id) == before.cables.get(id),
        _ => true,
    };
    let lines = sheet.lines.iter();
    lines
        .map(|line| !is_same(line) || !wires(line).iter().all(is_kept))
        .collect()
}

fn key(line: &Line) -> String {
    format!(
        "{} {} {} {:?}",
        line.test.name(),
        line.from,
        line.to,
        line.position
    )
}

/// Single faults that are named on paper; the rest is counted.
const NAMED: usize = 8;

/// What the sheet finds, and what it does not.
fn worth(document: &Document, sheet: &RingOut) -> String {
    let coverage = sheet.coverage(document);
    let missed: Vec<String> = (coverage.missed.iter())
        .map(|it| it.label(document))
        .collect();
    let named = missed.len().min(NAMED);
    let mut not = missed[..named].join("; ");
    if missed.len() > named {
        not += &format!("; and {} more", missed.len() - named);
    }
    format!(
        "Computed: this sheet finds {} of {} single faults (a wire open or touching metal; neighboring pins touching or \
         swapped; a shield open, touching a core or grounded at both ends; a jack body touching metal).{} Two \
         faults at a time can hide each other, and chafed or loose joints read well: look at every joint too.",
        count(coverage.faults - missed.len()),
        count(coverage.faults),
        match missed.is_empty() {
            true => String::new(),
            false => format!(" It does not find: {not}."),
        }
    )
}

/// "1,203".
fn count(number: usize) -> String {
    match number {
        0..1000 => number.to_string(),
        _ => format!("{},{:03}", number / 1000, number % 1000),
    }
}

/// True if a line may lift a P-lead or its shield.
fn has_p_lead(document: &Document) -> bool {
    let mut terminals = document.devices.values().flat_map(|it| &it.terminals);
    terminals.any(|it| it.role == Role::PLead)
}

fn document_has_antenna(document: &Document) -> bool {
    let mut devices = document.devices.values();
    devices.any(|it| it.kind == DeviceKind::Antenna)
}

/// A row for each measurement.
pub fn table(document: &Document) -> Table {
    rows(document, &RingOut::new(document))
}

fn rows(document: &Document, sheet: &RingOut) -> Table {
    let mut rows: Vec<(String, u8, Vec<Cell>)> = Vec::new();
    for line in &sheet.lines {
        let reading = document.readings.values().find(|it| line.is_of(it));
        rows.push(row(document, line, reading));
    }
    rows.order_by(|a, b| {
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

/// The connector or device of the fixed lead, the order within it, and the row.
fn row(document: &Document, line: &Line, reading: Option<&Reading>) -> (String, u8, Vec<Cell>) {
    let (at, order) = match line.test {
        Test::Isolation
            if is_bar(document, &line.from, BarUse::Bus)
                && is_bar(document, &line.to, BarUse::Ground) =>
        {
            ("Before first power: buses to ground".to_owned(), 0)
        }
        _ if line.position.is_some() => (place(document, &line.from), 5),
        Test::Isolation if line.to == End::Open => (place(document, &line.from), 3),
        Test::Isolation => (place(document, &line.from), 4),
        Test::Resistance => (place(document, &line.from), 2),
        _ => (place(document, &line.from), 1),
    };
    let mut lifted = Vec::new();
    let mut shields = Vec::new();
    for (cable, free) in &line.shields {
        let label = document.record_label("cable", cable.as_str());
        let at = (document.cables.get(cable)).and_then(|it| it.shield_at(*free));
        match at {
            Some(at) => {
                lifted.push(format!("{label} shield off {}", document.end_label(at)));
                shields.push(format!("{label}, lifted end"));
            }
            None => shields.push(format!("{label}, end cut back")),
        }
    }
    let to = match (&line.to, line.test) {
        (End::Open, _) if !shields.is_empty() => format!("shield: {}", shields.join(", ")),
        (End::Open, _) => "all others".into(),
        (end, _) => document.end_label(end),
    };
    let judged = reading.map_or(String::new(), |reading| match judge(line, reading) {
        Outcome::Right => "pass".into(),
        Outcome::Wrong(why) => format!("FAIL: {why}"),
        Outcome::Unknown => "not judged".into(),
    });
    let key = Mark::Read(
        line.test,
        line.from.clone(),
        line.to.clone(),
        line.position.clone(),
    )
    .key();
    let off = line.off.iter();
    let off = off.map(|it| format!("{} off", document.end_label(it)));
    let set = line.position.as_ref();
    let set = set.map(|(switch, at)| position(document, switch, *at));
    let cells = vec![
        Cell::text(at.clone()),
        Cell::text(match &line.expect {
            Expect::Probe(_) => PROBE,
            _ if line.position.is_some() => P_LEAD,
            _ => test(line.test),
        }),
        Cell::text(document.end_label(&line.from)),
        Cell::text(to),
        Cell::List(off.chain(lifted).chain(set).collect()),
        Cell::text(expected(line)),
        Cell::text(line.limits()),
        Cell::Tick {
            done: reading.is_some_and(|it| judge(line, it) == Outcome::Right),
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
        Test::Continuity => "continuity",
        Test::Isolation => "open",
        Test::Resistance => "resistance",
        Test::Volts => "volts",
        Test::Amps => "amps",
    }
}

/// What is expected, in words.
fn expected(line: &Line) -> String {
    match &line.expect {
        Expect::Ohm(Some(ohm)) => format!("{ohm:.2} Ω"),
        Expect::Ohm(None) => "continuity; ohms unknown".into(),
        Expect::About(ohm) => format!("{ohm:.0} Ω"),
        Expect::Probe(None) => "low, never open; a length or alloy is not set".into(),
        Expect::Probe(Some(ohm)) => format!("{ohm:.1} Ω plus the probe\u{2019}s own leads"),
        Expect::Open { through, ohm } => match (through.is_empty(), ohm) {
            (true, _) => "open".into(),
            (false, Some(ohm)) => {
                // From one circuit to another only a part of it may be measured.
                let least = if line.to == End::Open {
                    ""
                } else {
                    "at least "
                };
                let decimals = usize::from(*ohm < 10.0);
                format!("{least}{ohm:.decimals$} Ω through {}", through.join(", "))
            }
            (false, None) => format!("through {}: ohms unknown", through.join(", ")),
        },
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::{asked, document};

    /// A wire that was moved is on the sheet of what changed, with the circuit that it left; the others are not.
    #[test]
    fn only_circuits_that_changed_are_listed() {
        let text = |pin: &str| {
            format!(
                "unit A J1-1:passive J1-2:passive J1-3:passive
                 unit B J2-1:passive J2-2:passive J2-3:passive
                 wire W1 A.J1-1 B.J2-1 22 1m
                 wire W2 A.J1-2 B.{pin} 22 1m"
            )
        };
        let (was, is) = (document(&text("J2-2")), document(&text("J2-3")));
        let sheet = RingOut::new(&is);
        let wires = |before: &Document| -> Vec<String> {
            let changed = changed(&is, before, &sheet);
            let lines = sheet.lines.iter().zip(changed).filter(|it| it.1);
            lines.map(|(line, _)| is.end_label(&line.from)).collect()
        };
        assert_eq!(wires(&is), [""; 0]);
        let changed = wires(&was);
        assert!(
            !changed.is_empty() && changed.iter().all(|it| it == "A J1-2"),
            "{changed:?}"
        );
        let mut input = asked(&is);
        input.before = Some(&was);
        let text = paper(&input).to_text();
        assert!(text.contains("only the circuits that changed"), "{text}");
    }
}
