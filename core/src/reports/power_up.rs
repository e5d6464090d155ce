//! The first power-up card: one circuit at a time in the order of the buses, what to expect, when to stop.

use super::{
    Asked, Cell, Paper, Table,
    mark::Mark,
    schedule::{circuit_name, protectors},
};
use crate::{
    document::{Document, ElementKind, End, Reading, Test},
    netlist::Netlist,
    solve::power_up::{Step, power_up},
};

const COLUMNS: &[(&str, &str, &str)] = &[
    ("bus", "Bus", ""),
    ("protector", "Put in", ""),
    ("circuit", "Circuit", ""),
    ("set", "Set", ""),
    ("pin", "Measure at", ""),
    ("expected_v", "Expected", "V"),
    ("read_v", "Read", "V"),
    ("continuous_a", "Plugged in", "A"),
    ("peak_a", "At most", "A"),
    ("read_a", "Read", "A"),
];

/// The paper.
pub fn paper(asked: &Asked<'_>) -> Paper {
    let document = asked.document;
    let mut paper = Paper::new("power-up", "First power-up", document);
    paper.caution(
        "Ring out everything first. Propeller clear, fuel off, a fire extinguisher at hand, one person at the \
         master switch. Begin on a supply limited to 2 A in place of the battery (common practice, no \
         source).",
    );
    paper.caution(
        "Stop, and switch the master off, at once if: something gets warm or smells; the supply goes to its \
         limit; a breaker opens; a pin shows volts that should be dead, or the other way round; volts differ \
         by more than half a volt from the card.",
    );
    paper.text(
        "1. All breakers out, fuses out, all units unplugged, all switches off. 2. Master on: the contactor \
         pulls in; measure each bus. 3. For each line: put in this breaker alone (and what is named with it), \
         set the switches named, measure at the pin of the unplugged connector against its ground pin; every \
         other pin of the aircraft stays dead but for what is always live. 4. Switch off, plug the unit in, \
         switch on, compare the amperes. 5. Take the breaker out again before the next line.",
    );
    let steps = power_up(document);
    let always = always_live(&steps);
    if !always.is_empty() {
        let labels: Vec<String> = always.iter().map(|end| document.end_label(end)).collect();
        paper.text(format!(
            "Live all the time, master on and every breaker out: {}.",
            labels.join(", ")
        ));
    }
    paper.table(table(document, &steps, &always));
    paper
}

/// Terminals that are live whichever circuit is on.
fn always_live<'s>(steps: &'s [Step]) -> Vec<&'s End> {
    let Some((first, others)) = steps.split_first() else {
        return Vec::new();
    };
    let in_all = |end: &&'s End| others.iter().all(|step| step.live_too.contains(end));
    first.live_too.iter().filter(in_all).collect()
}

fn table(document: &Document, steps: &[Step], always: &[&End]) -> Table {
    let mut table = Table::new("power-up", "First power-up", COLUMNS).grouped();
    let netlist = Netlist::new(document);
    for protected in protectors(document, &netlist) {
        let is_it =
            |step: &&Step| step.device == *protected.device && step.element == *protected.element;
        let Some(step) = steps.iter().find(is_it) else {
            continue;
        };
        let mut set: Vec<String> = (step.with.iter())
            .map(|(device, element)| {
                let label = document.record_label("element", &format!("{device}/{element}"));
                format!("{label} in too")
            })
            .collect();
        set.extend(
            step.switches
                .iter()
                .map(|(key, at)| switch(document, key, *at)),
        );
        let also = step.live_too.iter().filter(|end| !always.contains(end));
        let also: Vec<String> = also.map(|end| document.end_label(end)).collect();
        if !also.is_empty() {
            set.push(format!("live then too: {}", also.join(", ")));
        }
        let set = set.join(", ");
        let circuit = circuit_name(document, &protected);
        let head = |set: &str| {
            vec![
                Cell::text(&protected.bus),
                Cell::text(&protected.label),
                Cell::text(&circuit),
                Cell::text(set),
            ]
        };
        let amps = |n: usize| Cell::number(step.amps[n].filter(|it| *it > 0.005), 2);
        let amps_row = || {
            [
                amps(0),
                amps(1),
                entry(document, Test::Amps, &step.load_side),
            ]
        };
        let mut first = true;
        for (end, volts) in &step.pins {
            let mut row = head(if first { &set } else { "" });
            row.push(Cell::text(document.end_label(end)));
            row.push(Cell::Number(*volts, 1));
            row.push(entry(document, Test::Volts, end));
            match first {
                true => row.extend(amps_row()),
                false => row.extend([Cell::Empty, Cell::Empty, Cell::Empty]),
            }
            first = false;
            table.rows.push(row);
        }
        if step.pins.is_empty() {
            let mut row = head(&set);
            row.push(Cell::text("its own terminal"));
            row.push(Cell::Empty);
            row.push(entry(document, Test::Volts, &step.load_side));
            row.extend(amps_row());
            table.rows.push(row);
        }
    }
    table
}

/// "S5 ON".
fn switch(document: &Document, key: &str, at: usize) -> String {
    let label = document.record_label("element", key);
    let position = document
        .element_at(key)
        .and_then(|(.., element)| match &element.is {
            ElementKind::Switch(switch) => switch.positions.get(at),
            _ => None,
        });
    format!("{label} {}", position.map_or("", |it| &it.label))
}

fn entry(document: &Document, test: Test, end: &End) -> Cell {
    let is_it = |it: &&Reading| it.test == test && it.from == *end && it.to == End::Open;
    let reading = document.readings.values().find(is_it);
    Cell::Entry {
        value: reading.map_or(String::new(), Reading::shown),
        key: Mark::Read(test, end.clone(), End::Open).key(),
    }
}
