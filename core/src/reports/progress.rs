//! Progress: how far each harness is built, which steps are ready, what the others wait for, and hours of work.

use super::{
    Cell, Paper, PaperInput, Table,
    harness::in_order,
    harness::{harness, place},
    order_list::{shown, wire_item},
};
use crate::order::InOrder;
use crate::{
    document::{BuildStatus, Document, End, Wire, natural_cmp},
    ids::WireId,
    order::{Map, Sorted},
};

/// The paper.
pub fn paper(asked: &PaperInput<'_>) -> Paper {
    let document = asked.document;
    let mut paper = Paper::new("progress", "Progress", document);
    let all = document.wires.len();
    let past = |step| {
        let there = document.wires.values().filter(|wire| wire.status >= step);
        there.count()
    };
    let (done, steps) = steps(document.wires.values());
    let hours: f64 = document.log.values().filter_map(|entry| entry.hours).sum();
    let hours = match hours > 0.0 {
        true => format!(" {hours:.1} h of work logged."),
        false => String::new(),
    };
    let places: Vec<&str> = (document.places.values())
        .filter(|place| place.closed)
        .map(|place| place.title.as_str())
        .collect();
    paper.text(format!(
        "Of {all} wires {} are cut or further, {} installed, {} tested. {done} of {steps} steps done: six for each wire, \
         from cut to tested.{hours}",
        past(BuildStatus::Cut),
        past(BuildStatus::Routed),
        past(BuildStatus::Tested),
    ));
    let untested = document.wires.values();
    let untested = untested
        .filter(|it| it.status == BuildStatus::Routed)
        .count();
    if untested > 0 {
        let wires = match untested {
            1 => "One wire is".into(),
            n => format!("{n} wires are"),
        };
        paper.text(format!(
            "{wires} installed and not tested: ring out before the places are closed up."
        ));
    }
    if !places.is_empty() {
        paper.text(format!("Closed up: {}.", places.join(", ")));
    }
    paper.table(by_harness(document));
    paper.heading("Next steps");
    paper.table(next(document));
    paper
}

/// Steps that are done, and all steps.
fn steps<'w>(wires: impl Iterator<Item = &'w Wire>) -> (usize, usize) {
    let last = BuildStatus::ALL.len() - 1;
    wires.fold((0, 0), |(done, all), wire| {
        (done + at(wire.status), all + last)
    })
}

fn at(status: BuildStatus) -> usize {
    BuildStatus::ALL
        .iter()
        .position(|it| *it == status)
        .unwrap_or(0)
}

/// A row for each harness.
pub fn by_harness(document: &Document) -> Table {
    let mut by_harness: Map<String, Vec<&Wire>> = Map::new();
    for wire in document.wires.values() {
        by_harness.or_default(harness(document, wire)).push(wire);
    }
    let columns = &[
        ("harness", "Harness", ""),
        ("wires", "Wires", ""),
        ("cut", "Cut", ""),
        ("marked", "Marked", ""),
        ("end_a", "End A done", ""),
        ("end_b", "End B done", ""),
        ("routed", "Routed", ""),
        ("tested", "Tested", ""),
        ("steps_done", "Steps done", ""),
        ("steps", "Of", ""),
    ];
    let mut table = Table::new("progress", "Progress by harness", columns);
    let mut rows: Vec<(&String, &Vec<&Wire>)> = by_harness.iter().collect();
    rows.order_by(|a, b| natural_cmp(a.0, b.0));
    for (name, wires) in rows {
        let mut row = vec![Cell::text(name), Cell::Number(wires.len() as f64, 0)];
        // A wire that is installed has been cut too: each column counts what has come at least so far.
        for step in &BuildStatus::ALL[1..] {
            let n = wires.iter().filter(|wire| wire.status >= *step).count();
            row.push(Cell::Number(n as f64, 0));
        }
        let (done, all) = steps(wires.iter().copied());
        row.push(Cell::Number(done as f64, 0));
        row.push(Cell::Number(all as f64, 0));
        table.rows.push(row);
    }
    table
}

/// A row for each wire that is not finished.
pub fn next(document: &Document) -> Table {
    let columns = &[
        ("now", "", ""),
        ("number", "Wire", ""),
        ("harness", "Harness", ""),
        ("step", "Next step", ""),
        ("because", "Waiting for", ""),
    ];
    let mut table = Table::new("next", "Next steps", columns).grouped();
    let cored: Sorted<&WireId> = (document.cables.values())
        .flat_map(|cable| &cable.wires)
        .collect();
    let (mut now, mut later) = (Vec::new(), Vec::new());
    for (id, wire) in in_order(document) {
        let Some(step) = BuildStatus::ALL.get(at(wire.status) + 1) else {
            continue;
        };
        let held = held_up(document, wire, *step, cored.contains(id));
        let rows = if held.is_empty() {
            &mut now
        } else {
            &mut later
        };
        rows.push(vec![
            Cell::text(if held.is_empty() { "Ready" } else { "Waiting" }),
            Cell::text(document.wire_label(id)),
            Cell::text(harness(document, wire)),
            Cell::text(to_do(*step)),
            Cell::text(held.join("; ")),
        ]);
    }
    now.append(&mut later);
    table.rows = now;
    table
}

fn to_do(step: BuildStatus) -> &'static str {
    match step {
        BuildStatus::Planned => "draw",
        BuildStatus::Cut => "cut",
        BuildStatus::Marked => "mark",
        BuildStatus::EndA => "terminate end A",
        BuildStatus::EndB => "terminate end B",
        BuildStatus::Routed => "install",
        BuildStatus::Tested => "ring out",
    }
}

/// What the next step waits for: a length, material, an open end, a closed-up place.
fn held_up(document: &Document, wire: &Wire, step: BuildStatus, is_core: bool) -> Vec<String> {
    let mut held = Vec::new();
    if step == BuildStatus::Cut {
        let length_m = document.wire_length_m(wire);
        if length_m.is_none() {
            held.push("length not set".into());
        }
        let key = format!("Wire: {}", wire_item(document, wire));
        let on_hand = document.project.stock.get(&*key).filter(|_| !is_core);
        if on_hand.is_some_and(|there| *there < length_m.unwrap_or(0.0)) {
            held.push(format!(
                "not enough in stock: {}",
                shown(&wire_item(document, wire))
            ));
        }
    }
    let ends: &[&End] = match step {
        BuildStatus::EndA => &[&wire.from],
        BuildStatus::EndB => &[&wire.to],
        BuildStatus::Routed | BuildStatus::Tested => &[&wire.from, &wire.to],
        _ => &[],
    };
    for end in ends {
        if **end == End::Open {
            held.push("an end is not wired yet".into());
        }
        if let Some(place) = place(document, end).filter(|place| place.closed) {
            held.push(format!("{} is closed up", place.title));
        }
    }
    held
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::document;

    #[test]
    fn steps_that_are_ready_are_listed_before_those_that_wait() {
        let mut document = document(
            "place WING metal
             ground GB1 A B C at=WING
             wire W1 GB1.A GB1.B 22 1m
             wire W2 GB1.A GB1.C 22
             wire W3 GB1.B GB1.C 22 1m",
        );
        let wire = |document: &mut Document, id: &str, status| {
            document.wires.get_mut(id).expect("a wire").status = status;
        };
        wire(&mut document, "W3", BuildStatus::EndB);
        let told = |document: &Document| -> Vec<[String; 3]> {
            let rows = next(document).rows;
            let tell = |row: &Vec<Cell>| [row[0].show(), row[1].show(), row[4].show()];
            rows.iter().map(tell).collect()
        };
        assert_eq!(
            told(&document),
            [
                ["Ready", "W1", ""],
                ["Ready", "W3", ""],
                ["Waiting", "W2", "length not set"],
            ]
        );
        document.places.get_mut("WING").expect("WING").closed = true;
        let key = format!("Wire: {}", wire_item(&document, &document.wires["W1"]));
        document.project.stock.insert(key, 0.5);
        let told = told(&document);
        assert!(told.iter().all(|row| row[0] == "Waiting"), "{told:?}");
        assert!(told[0][2].starts_with("not enough in stock"), "{told:?}");
        assert!(told[2][2].contains("is closed up"), "{told:?}");
        wire(&mut document, "W1", BuildStatus::Tested);
        assert_eq!(next(&document).rows.len(), 2);
    }

    /// No share of steps next to a count of wires, and an installed wire counts as cut.
    #[test]
    fn counts_agree_with_each_other() {
        let mut document = document(
            "ground GB1 A B C
             wire W1 GB1.A GB1.B 22 1m
             wire W2 GB1.A GB1.C 22 1m
             wire W3 GB1.B GB1.C 22 1m",
        );
        let set = |document: &mut Document, id: &str, status| {
            document.wires.get_mut(id).expect("a wire").status = status;
        };
        set(&mut document, "W1", BuildStatus::Routed);
        set(&mut document, "W2", BuildStatus::Cut);
        let text = paper(&crate::testing::asked(&document)).to_text();
        let first = "Of 3 wires 2 are cut or further, 1 installed, 0 tested. 6 of 18 steps done";
        assert!(text.contains(first) && !text.contains(" %"), "{text}");
        assert!(
            text.contains("One wire is installed and not tested"),
            "{text}"
        );
        let row: Vec<String> = by_harness(&document).rows[0]
            .iter()
            .map(Cell::show)
            .collect();
        assert_eq!(row[1..], ["3", "2", "1", "1", "1", "1", "0", "6", "18"]);
    }
}
