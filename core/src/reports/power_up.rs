//! The first power-up card: one circuit at a time with every switch at rest, what to set, what to expect, and when
//! to stop.

use super::{
    Cell, Paper, PaperInput, Table, functional,
    harness::position,
    mark::Mark,
    schedule::{circuit_name, protectors},
};
use crate::order::InOrder;
use crate::{
    analysis::power_up::{OFF_V, Pin, PowerUp, Step, power_up},
    document::{Document, ElementKind, End, Reading, Role, Test, natural_cmp},
    netlist::{AtNode, Netlist, Through, trace::Returns},
};

const COLUMNS: &[(&str, &str, &str)] = &[
    ("bus", "Bus", ""),
    ("protector", "Breaker or fuse", ""),
    ("circuit", "Circuit", ""),
    ("disconnect", "Disconnect and insulate", ""),
    ("positions", "Switches", ""),
    ("close", "Close breaker or fuse", ""),
    ("mind", "Keep clear", ""),
    ("supply_at", "Supply at", ""),
    ("supply_v", "Supply", "V"),
    ("supply_limit_a", "Current limit", "A"),
    ("lead", "Plus lead", ""),
    ("other_lead", "Minus lead", ""),
    ("rest_v", "At rest", "V"),
    ("expected_v", "Expected", "V"),
    ("read_v", "Read", "V"),
    ("live_too", "Also live", ""),
    ("continuous_a", "Current, unit connected", "A"),
    ("peak_a", "Maximum", "A"),
    ("read_a", "Read", "A"),
];

/// The paper.
pub fn paper(asked: &PaperInput<'_>) -> Paper {
    let document = asked.document;
    let mut paper = Paper::new("power-up", "First power-up", document);
    let card = power_up(document);
    cautions(&mut paper, document, &card);
    if card.steps.is_empty() {
        paper.text("No battery feeds a breaker or fuse in the drawing, so there is no circuit to power up.");
        return paper;
    }
    steps(&mut paper, document, &card);
    paper.heading("Live with master on, breakers open, fuses out");
    paper.table(live(document, &card));
    paper.heading("Circuits, one at a time");
    paper.table(table(document, &card));
    let functions = functional::table(document);
    if !functions.rows.is_empty() {
        paper.heading("Functional checks");
        paper.caution(
            "Clear the propeller and chock the wheels before you start the engine, and keep somebody at the controls. \
             Transmit only as your license allows, briefly, on a free channel. A magneto switch that does not stop the \
             engine leaves it live: stop with the mixture.",
        );
        paper.text(
            "Battery connected, every circuit passed alone. Common practice, no source; the limits are those of each \
             maker. If the aircraft has a magnetic compass, compare it on eight headings with everything off and \
             everything on, and write the deviations on its card.",
        );
        paper.table(functions);
    }
    paper
}

fn cautions(paper: &mut Paper, document: &Document, card: &PowerUp) {
    paper.caution(
        "Ring out every circuit first. A short that the ohmmeter finds without harm burns wire at power-up.",
    );
    let cable = match cables(document, card).as_slice() {
        [] => "No starter is drawn: if the aircraft has one, disconnect its cable and insulate the end"
            .into(),
        all => format!(
            "Disconnect the starter cable and insulate its end: {}",
            all.join(", ")
        ),
    };
    paper.caution(format!(
        "{cable}. If the cable is not there, stop and find out why. {} Turn the fuel off. Keep people and things clear of the propeller at all times. One \
         wrong wire can start the engine.",
        magnetos(document)
    ));
    paper.caution(format!(
        "Switch the supply off at once if: something gets warm or smells; the supply stays at its limit; a \
         breaker opens; a terminal is live that is neither on this line nor in the list of live terminals; \
         polarity is reversed; a voltage differs from the line by more than {OFF_V} V. Wire burns if you leave it \
         on. Find the cause before you go on.",
    ));
    paper.caution(
        "Keep hands and tools away from flaps, trim and pumps: each line names the motors that run. Run a fuel \
         pump dry only as long as its maker allows.",
    );
}

/// How to keep each magneto grounded, action first.
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
            "Ground these P-leads with a clip lead, because no switch grounds them at rest: {}.",
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
    rest.order_by(|a, b| natural_cmp(a, b));
    paper.text(format!(
        "1. Disconnect every battery ({}) and insulate its leads. Connect a bench supply in its place: plus to the \
         lead of {}, minus to the battery\u{2019}s ground lead.",
        at.join(", "),
        document.end_label(&first.supply_at)
    ));
    paper.text(format!(
        "2. Open every breaker and remove every fuse (in-line fuses and limiters stay in). Unplug every unit. \
         Disconnect and insulate what the lines name. Set every switch to rest: {}.",
        rest.join(", ")
    ));
    paper.text(
        "3. With the supply\u{2019}s output off, set its voltage and current limit as on the line. A lamp or motor \
         may reach the limit for less than a second when it starts; if it stays there longer, stop. The limit is \
         the computed peak plus 10 % and 0.1 A (common practice, no source). Where a load has no current set, no \
         limit is given: enter the current first.",
    );
    paper.text(format!(
        "4. Master alone: supply output on, then {}. Check that every terminal in the list below is live and no \
         other. Then set the switches to rest, output off.",
        match positions(document, &card.master).as_slice() {
            [] => "no switch".into(),
            all => all.join(", "),
        }
    ));
    paper.text(
        "5. Each line, starting with every switch at rest: close the breaker or fuse and set those switches of step 4 \
         that the line names, output on. Between the two leads read what is under \u{201c}At rest\u{201d}; no motor may \
         run. Set the other switches of the line and read what is expected. Outside this circuit every terminal must \
         be dead, except those in the list below (without step 4, only those that are always hot) and under \
         \u{201c}Also live\u{201d}.",
    );
    paper.text(
        "6. Output off, connect the units of this line, output on. Compare the current through the breaker or fuse \
         with the line: a difference of more than 20 % and 0.1 A (common practice, no source) needs its cause found \
         first. The supply\u{2019}s own meter includes the current of the contactors.",
    );
    paper.text(
        "7. Output off, open the breaker or remove the fuse, every switch to rest, unplug the units. Then start the \
         next line.",
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
        ("always", "Always hot", ""),
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
    rows.order_by(|a, b| natural_cmp(&a.0, &b.0));
    table.rows = rows.into_iter().map(|it| it.1).collect();
    table
}

fn table(document: &Document, card: &PowerUp) -> Table {
    let mut table = Table::new("power-up", "First power-up", COLUMNS).grouped();
    let netlist = Netlist::new(document);
    // Buses in the order in which the supply reaches them.
    let mut all = protectors(document, &netlist);
    let upstream = |device: &_| {
        let steps = card.steps.iter();
        let steps = steps.filter(|it| it.device == *device && !it.is_alternate);
        steps.map(|it| it.upstream).min()
    };
    all.order_by_key(|it| upstream(it.device).unwrap_or(usize::MAX));
    for protected in all {
        let is_it =
            |step: &&Step| step.device == *protected.device && step.element == *protected.element;
        for step in card.steps.iter().filter(is_it) {
            let head = [
                Cell::text(&protected.bus),
                Cell::text(&protected.label),
                Cell::text(match step.is_alternate {
                    true => format!("{}, feeding the bus", circuit_name(document, &protected)),
                    false => circuit_name(document, &protected),
                }),
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

/// From "Disconnect and insulate" to "Also live".
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
        Cell::number(pin.rest_v.map(shown), 1),
        Cell::Number(shown(pin.volts), 1),
        entry(document, Test::Volts, &pin.lead),
        Cell::List(labels(&step.live_too)),
    ]
}

/// Volts as shown: never "-0.0".
fn shown(volts: f64) -> f64 {
    if volts.abs() < 0.05 { 0.0 } else { volts }
}

fn amps(amps: Option<f64>) -> Cell {
    match amps {
        Some(amps) if amps > 0.005 => Cell::Number(amps, 2),
        Some(_) => Cell::Empty,
        None => Cell::text("not set"),
    }
}

/// Each switch position, by tag.
fn positions(document: &Document, positions: &[(String, usize)]) -> Vec<String> {
    let mut all: Vec<String> = (positions.iter())
        .map(|(key, at)| position(document, key, *at))
        .collect();
    all.order_by(|a, b| natural_cmp(a, b));
    all
}

fn entry(document: &Document, test: Test, end: &End) -> Cell {
    let is_it = |it: &&Reading| it.test == test && it.from == *end && it.to == End::Open;
    let reading = document.readings.values().find(is_it);
    Cell::Entry {
        value: reading.map_or(String::new(), Reading::shown),
        key: Mark::Read(test, end.clone(), End::Open, None).key(),
    }
}
