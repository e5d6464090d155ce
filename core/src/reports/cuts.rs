//! The cut list and build sheet: the wires of each harness in the order to build them, with length, both ends,
//! and a check box for each step.

use super::{
    Cell, Paper, PaperInput, Table,
    harness::harness,
    harness::in_order,
    mark::Mark,
    terminations::{Termination, cut_m, strip_and_tool},
};
use crate::order::InOrder;
use crate::{
    document::{BuildStatus, Cable, CableKind, Document, ShieldEnd, Wire, natural_cmp},
    ids::WireId,
    order::Map,
};

/// The build steps of a wire, and their headings.
const STEPS: [(BuildStatus, &str, &str); 6] = [
    (BuildStatus::Cut, "cut", "Cut"),
    (BuildStatus::Marked, "marked", "Marked"),
    (BuildStatus::EndA, "end_a", "End A"),
    (BuildStatus::EndB, "end_b", "End B"),
    (BuildStatus::Routed, "routed", "Routed"),
    (BuildStatus::Tested, "tested", "Tested"),
];

const COLUMNS: &[(&str, &str, &str)] = &[
    ("harness", "Harness", ""),
    ("number", "Wire", ""),
    ("gauge_awg", "Gauge", "AWG"),
    ("colour", "Color", ""),
    ("length_m", "Length", "m"),
    ("cut_m", "Cut to", "m"),
    ("from", "End A", ""),
    ("make_a", "Termination A", ""),
    ("strip_a_mm", "Strip A", "mm"),
    ("to", "End B", ""),
    ("make_b", "Termination B", ""),
    ("strip_b_mm", "Strip B", "mm"),
    ("tool", "Tool", ""),
    ("cable", "Cable and shield", ""),
    ("origin", "Origin", ""),
];

/// The paper.
pub fn paper(asked: &PaperInput<'_>) -> Paper {
    let document = asked.document;
    let mut paper = Paper::new("cuts", "Cut list and build sheet", document);
    paper.text(
        "Measure each route with a string before you cut its first wire. Cables come first within a harness, then \
         the longest wires. \u{201c}Cut to\u{201d} is the drawn length plus spare at each end for two new \
         terminations (AC 43.13-1B par 11-118; the amount is common practice, no source). Use clear sleeve over \
         joint and mark, so that the mark stays readable.",
    );
    paper.caution(
        "Do not cut a wire whose length is empty: measure the route and enter the length first. Strip lengths and \
         tools are the contact maker's; where none is listed, look in the maker's data sheet.",
    );
    let table = table(document);
    paper.table_with_origins(table);
    for line in preparations(document) {
        paper.text(line);
    }
    paper
}

/// The rows, by harness.
pub fn table(document: &Document) -> Table {
    let mut cables: Map<&WireId, &Cable> = Map::new();
    for cable in document.cables.values() {
        for wire in &cable.wires {
            cables.insert(wire, cable);
        }
    }
    let mut wires: Vec<(String, &WireId, &Wire)> = (in_order(document).into_iter())
        .map(|(id, wire)| (harness(document, wire), id, wire))
        .collect();
    let cable_of = |id: &WireId| cables.get(id).map_or("", |cable| &cable.label);
    wires.order_by(|a, b| {
        let by_cable = match (cable_of(a.1), cable_of(b.1)) {
            ("", "") => length(document, b.2).total_cmp(&length(document, a.2)),
            ("", _) => std::cmp::Ordering::Greater,
            (_, "") => std::cmp::Ordering::Less,
            (a, b) => natural_cmp(a, b),
        };
        natural_cmp(&a.0, &b.0).then(by_cable)
    });
    let mut columns = COLUMNS.to_vec();
    columns.extend(STEPS.iter().map(|&(_, key, title)| (key, title, "")));
    let mut table = Table::new("cuts", "Cut list", &columns)
        .grouped()
        .lengths_as_in(document);
    for (harness, id, wire) in wires {
        let [(strip_a, tool_a), (strip_b, tool_b)] =
            [&wire.from, &wire.to].map(|end| strip_and_tool(document, end));
        let tools: Vec<String> = match tool_a == tool_b {
            true => vec![tool_a],
            false => vec![tool_a, tool_b],
        };
        let make = |end| Termination::of(document, wire, end).words(&wire.size());
        let mut row = vec![
            Cell::text(harness),
            Cell::text(document.wire_label(id)),
            Cell::text(wire.gauge_text()),
            Cell::text(&wire.colour),
            Cell::length(document, document.wire_length_m(wire), 2),
            Cell::length(document, cut_m(document, wire), 2),
            Cell::text(document.end_label(&wire.from)),
            Cell::text(make(&wire.from)),
            Cell::number(strip_a, 1),
            Cell::text(document.end_label(&wire.to)),
            Cell::text(make(&wire.to)),
            Cell::number(strip_b, 1),
            Cell::text(tools.join(" / ").trim_matches([' ', '/'])),
            Cell::text(cable_of(id)),
            Cell::text(document.origins_of(wire, false)),
        ];
        row.extend(STEPS.iter().map(|(step, ..)| Cell::Tick {
            done: wire.status >= *step,
            key: Mark::Step(id.clone(), *step).key(),
        }));
        table.rows.push(row);
    }
    table.without_empty("origin")
}

fn length(document: &Document, wire: &Wire) -> f64 {
    document.wire_length_m(wire).unwrap_or(0.0)
}

/// The status of a wire after a step's box is checked or cleared: that step, or the one before.
pub fn ticked(step: BuildStatus, done: bool) -> BuildStatus {
    let at = BuildStatus::ALL
        .iter()
        .position(|it| *it == step)
        .unwrap_or(0);
    BuildStatus::ALL[if done { at } else { at.saturating_sub(1) }]
}

/// How each shield is terminated at its ends.
fn preparations(document: &Document) -> Vec<String> {
    let mut cables: Vec<&Cable> = document.cables.values().collect();
    cables.order_by(|a, b| natural_cmp(&a.label, &b.label));
    let end = |state: &ShieldEnd| match state {
        ShieldEnd::Tied { at, pigtail_mm, .. } => {
            let pigtail =
                pigtail_mm.map_or("as short as possible".into(), |mm| format!("{mm:.0} mm"));
            format!("pigtail {pigtail} to {}", document.end_label(at))
        }
        ShieldEnd::Carried { at, .. } => format!("through pin {}", document.end_label(at)),
        ShieldEnd::Floating => "cut back and covered with sleeve".into(),
    };
    let line = |cable: &&Cable| {
        let shield = cable.shield.as_ref()?;
        let what = match cable.kind {
            CableKind::Coaxial => "Coax",
            _ => "Shield of",
        };
        Some(format!(
            "{what} {}: end A {}; end B {}.",
            cable.label,
            end(&shield.from),
            end(&shield.to)
        ))
    };
    cables.iter().filter_map(line).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::document;

    #[test]
    fn a_wire_is_cut_longer_than_drawn_and_terminated_at_both_ends() {
        let document = document(
            "place PANEL metal
             unit COM1 J105-1:power_in J105-9:return at=PANEL
             ground GB1 STUD T1
             stud GB1.STUD
             tab GB1.T1
             wire W1 COM1.J105-9 GB1.T1 20 0.80m
             wire W2 COM1.J105-1 open 22",
        );
        let rows: Vec<Vec<String>> = (table(&document).rows.iter())
            .map(|row| row.iter().map(Cell::show).collect())
            .collect();
        assert_eq!(rows.len(), 2);
        let w1 = rows.iter().find(|row| row[1] == "W1").expect("W1");
        assert_eq!(
            [&*w1[4], &*w1[5], &*w1[7], &*w1[10]],
            [
                "0.80",
                "0.90",
                "crimp contact",
                "push-on receptacle, 20 AWG"
            ]
        );
        let w2 = rows.iter().find(|row| row[1] == "W2").expect("W2");
        assert_eq!([&*w2[5], &*w2[10]], ["", "not wired: insulate the end"]);
    }

    #[test]
    fn a_checked_box_is_its_step_and_a_cleared_one_the_step_before() {
        for (step, ..) in STEPS {
            assert_eq!(ticked(step, true), step);
            assert!(ticked(step, false) < step);
        }
    }
}
