//! The first power-up card: one circuit at a time from rest, what to set, what to expect, when to stop.

use super::{
    Asked, Cell, Paper, Table,
    mark::Mark,
    schedule::{circuit_name, protectors},
};
use crate::{
    analysis::power_up::{OFF_V, Pin, PowerUp, Step, power_up},
    document::{Document, ElementKind, End, Reading, Role, Test, natural_cmp},
    netlist::{AtNode, Netlist, Through, trace::Returns},
};

const COLUMNS: &[(&str, &str, &str)] = &[
    ("bus", "Bus", ""),
    ("protector", "Line", ""),
    ("circuit", "Circuit", ""),
    ("disconnect", "Off and insulated", ""),
    ("positions", "Set from rest", ""),
    ("close", "Close", ""),
    ("mind", "Keep clear", ""),
    ("supply_at", "Supply at", ""),
    ("supply_v", "Supply", "V"),
    ("supply_limit_a", "Limit", "A"),
    ("lead", "One lead", ""),
    ("other_lead", "Other lead", ""),
    ("expected_v", "Expected", "V"),
    ("read_v", "Read", "V"),
    ("live_too", "Live too", ""),
    ("continuous_a", "Units connected", "A"),
    ("peak_a", "At most", "A"),
    ("read_a", "Read", "A"),
];

/// The paper.
pub fn paper(asked: &Asked<'_>) -> Paper {
    let document = asked.document;
    let mut paper = Paper::new("power-up", "First power-up", document);
    let card = power_up(document);
    cautions(&mut paper, document, &card);
    if card.steps.is_empty() {
        paper.text("No battery is drawn that feeds a breaker or fuse: there is no line to give.");
        return paper;
    }
    steps(&mut paper, document, &card);
    paper.heading("Live with the master on and every breaker and fuse out");
    paper.table(live(document, &card));
    paper.heading("Lines");
    paper.table(table(document, &card));
    paper
}

fn cautions(paper: &mut Paper, document: &Document, card: &PowerUp) {
    paper.caution(
        "Ring out everything first. A short that the ohmmeter shows harmlessly burns wire here.",
    );
    let cable = match cables(document, card).as_slice() {
        [] => "No starter is drawn: if the aircraft has one, take its cable off and insulate it"
            .into(),
        all => format!(
            "Take the starter cable off and insulate its end: {}",
            all.join(", ")
        ),
    };
    paper.caution(format!(
        "{cable}. {} Turn the fuel off. Keep the propeller clear of people and things the whole time. \
         Otherwise one wrong wire can start the engine.",
        magnetos(document)
    ));
    paper.caution(format!(
        "Switch the supply off at once if: something gets warm or smells; the supply stays at its limit; a \
         breaker opens; a terminal is live that is not on this line and not in the list of what is live; \
         polarity is reversed; volts differ by more than {OFF_V} V from the line. Otherwise wire burns. Find \
         the cause before you go on.",
    ));
    paper.caution(
        "Keep hands and tools away from flaps, trim and pumps: a line names the motors that run. Run a fuel \
         pump dry only as long as its maker allows.",
    );
}

/// How each magneto is grounded at rest, action first.
fn magnetos(document: &Document) -> String {
    let netlist = Netlist::new(document);
    let returns = Returns::new(&netlist);
    let mut bare = Vec::new();
    let mut any = false;
    for (id, device) in &document.devices {
        let is_switch = |it: &crate::document::Element| matches!(it.is, ElementKind::Switch(_));
        if device.elements.iter().any(is_switch) {
            continue;
        }
        for terminal in device.terminals.iter().filter(|it| it.role == Role::PLead) {
            any = true;
            let grounded = netlist.terminal(id, &terminal.id).is_some_and(|node| {
                let reach = netlist.reach([node], Through::CLOSED, |_| AtNode::GoOn);
                reach.nodes.iter().any(|it| returns.has(*it))
            });
            if !grounded {
                bare.push(device.terminal_label(terminal));
            }
        }
    }
    match (any, bare.is_empty()) {
        (false, _) => "No magneto is drawn: if the engine has one, ground its P-lead.".into(),
        (true, true) => {
            "Leave the magneto switch OFF with its P-leads connected: that grounds the \
                         magnetos. Check each with the ohmmeter."
                .into()
        }
        (true, false) => format!(
            "Ground these P-leads with a clip lead, since no switch at rest does: {}.",
            bare.join(", ")
        ),
    }
}

fn steps(paper: &mut Paper, document: &Document, card: &PowerUp) {
    let first = &card.steps[0];
    let at: Vec<String> = card
        .batteries
        .iter()
        .map(|it| document.end_label(it))
        .collect();
    let mut rest: Vec<String> = Vec::new();
    for (id, device) in &document.devices {
        for element in &device.elements {
            if let ElementKind::Switch(switch) = &element.is {
                rest.push(position(
                    document,
                    &format!("{id}/{}", element.id),
                    switch.rest,
                ));
            }
        }
    }
    rest.sort_by(|a, b| natural_cmp(a, b));
    paper.text(format!(
        "1. Disconnect every battery ({}) and insulate its leads. Connect a bench supply in its place, plus to \
         plus ({}), minus to the battery\u{2019}s ground lead.",
        at.join(", "),
        document.end_label(&first.supply_at)
    ));
    paper.text(format!(
        "2. Open every breaker, take every fuse out (in-line fuses and limiters stay in), unplug every unit, \
         disconnect what is named under \u{201c}Off and insulated\u{201d}. Set every switch to rest: {}.",
        rest.join(", ")
    ));
    paper.text(
        "3. Set volts and limit of the supply as on the line, with its output off. A lamp or motor may reach \
         the limit for less than a second when it starts; longer is a reason to stop. The limit is 10 % and \
         0.1 A over the computed peak (common practice, no source); no limit is given where a load has no \
         current set: enter it first.",
    );
    paper.text(format!(
        "4. Master on alone: supply output on, then {}. Check that each terminal of the list below is live and \
         no other. Then back to rest, output off.",
        match positions(document, &card.master).as_slice() {
            [] => "no switch".into(),
            all => all.join(", "),
        }
    ));
    paper.text(
        "5. Each line, from rest: set the switches, close what is named, output on. Measure between the two \
         leads. Every terminal must be dead but for this circuit, the list below and \u{201c}live \
         too\u{201d}.",
    );
    paper.text(
        "6. Output off, connect the units of this line, output on: compare the current through the breaker. \
         The supply shows that of the contactors too.",
    );
    paper.text(
        "7. Output off, open what was closed, every switch to rest, unplug the units. Only then the next line.",
    );
}

/// "P14A2 at K2 STR".
fn cables(document: &Document, card: &PowerUp) -> Vec<String> {
    let cables = card.disconnect.iter();
    let label = |wire: &_, end: &_| {
        format!(
            "{} at {}",
            document.wire_label(wire),
            document.end_label(end)
        )
    };
    cables.map(|(wire, end)| label(wire, end)).collect()
}

fn live(document: &Document, card: &PowerUp) -> Table {
    let columns = &[
        ("lead", "Terminal", ""),
        ("expected_v", "Expected", "V"),
        ("always", "With the master off too", ""),
    ];
    let mut table = Table::new("live", "Live with the master on", columns);
    let mut rows: Vec<(String, Vec<Cell>)> = Vec::new();
    for it in &card.live {
        let label = document.end_label(&it.at);
        let cells = vec![
            Cell::text(&*label),
            Cell::Number(it.volts, 1),
            Cell::text(if it.always { "yes" } else { "no" }),
        ];
        rows.push((label, cells));
    }
    rows.sort_by(|a, b| natural_cmp(&a.0, &b.0));
    table.rows = rows.into_iter().map(|it| it.1).collect();
    table
}

fn table(document: &Document, card: &PowerUp) -> Table {
    let mut table = Table::new("power-up", "First power-up", COLUMNS).grouped();
    let netlist = Netlist::new(document);
    for protected in protectors(document, &netlist) {
        let is_it =
            |step: &&Step| step.device == *protected.device && step.element == *protected.element;
        for step in card.steps.iter().filter(is_it) {
            let head = [
                Cell::text(&protected.bus),
                Cell::text(&protected.label),
                Cell::text(circuit_name(document, &protected)),
            ];
            let amps = [
                amps(step.amps[0]),
                amps(step.amps[1]),
                entry(document, Test::Amps, &step.load_side),
            ];
            let none = [Cell::Empty, Cell::Empty, Cell::Empty];
            for (at, pin) in step.pins.iter().enumerate() {
                let mut row = head.to_vec();
                row.extend(line(document, card, step, pin));
                row.extend(if at == 0 { amps.clone() } else { none.clone() });
                table.rows.push(row);
            }
        }
    }
    table
}

/// From "Off and insulated" to "Live too".
fn line(document: &Document, card: &PowerUp, step: &Step, pin: &Pin) -> Vec<Cell> {
    let labels = |ends: &[End]| ends.iter().map(|end| document.end_label(end)).collect();
    let close = (step.close.iter())
        .map(|(device, element)| document.record_label("element", &format!("{device}/{element}")));
    let mut mind: Vec<String> = Vec::new();
    if step.cranks {
        mind.push("PROPELLER: the starter circuit is live".into());
    }
    let runs = step.runs.iter();
    mind.extend(runs.map(|it| format!("{} runs", document.record_label("device", it.as_str()))));
    vec![
        Cell::List(cables(document, card)),
        Cell::List(positions(document, &step.positions)),
        Cell::List(close.collect()),
        Cell::text(mind.join("; ")),
        match card.batteries.len() {
            0 | 1 => Cell::Empty,
            _ => Cell::text(document.end_label(&step.supply_at)),
        },
        Cell::Number(step.supply_v, 1),
        match step.supply_limit_a {
            Some(amps) => Cell::Number(amps, 1),
            None => Cell::text("not set"),
        },
        Cell::text(document.end_label(&pin.lead)),
        Cell::text(document.end_label(&pin.other)),
        Cell::Number(pin.volts, 1),
        entry(document, Test::Volts, &pin.lead),
        Cell::List(labels(&step.live_too)),
    ]
}

fn amps(amps: Option<f64>) -> Cell {
    match amps {
        Some(amps) if amps > 0.005 => Cell::Number(amps, 2),
        Some(_) => Cell::Empty,
        None => Cell::text("not set"),
    }
}

/// Each position, by the tag of its switch.
fn positions(document: &Document, positions: &[(String, usize)]) -> Vec<String> {
    let mut all: Vec<String> = (positions.iter())
        .map(|(key, at)| position(document, key, *at))
        .collect();
    all.sort_by(|a, b| natural_cmp(a, b));
    all
}

/// "S5: ON".
pub(super) fn position(document: &Document, key: &str, at: usize) -> String {
    let label = document.record_label("element", key);
    let position = document
        .element_at(key)
        .and_then(|(.., element)| match &element.is {
            ElementKind::Switch(switch) => switch.positions.get(at),
            _ => None,
        });
    match position.map(|it| it.label.as_str()) {
        None | Some("") => format!("{label}: position {}", at + 1),
        Some(named) => format!("{label}: {named}"),
    }
}

fn entry(document: &Document, test: Test, end: &End) -> Cell {
    let is_it = |it: &&Reading| it.test == test && it.from == *end && it.to == End::Open;
    let reading = document.readings.values().find(is_it);
    Cell::Entry {
        value: reading.map_or(String::new(), Reading::shown),
        key: Mark::Read(test, end.clone(), End::Open, None).key(),
    }
}
