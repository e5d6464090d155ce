//! Endurance after the alternator stops: minutes for three cases and for each device, and the battery capacity
//! they are computed from.

use crate::order::InOrder;
use serde_json::{Value, json};

use super::{Cell, Column, Table};
use crate::{
    analysis::endurance::{Case, DeviceEnd, Ended, Endurance, Stop, endurance, whole_min},
    document::{AfterAlternator, Document, natural_cmp},
};

/// The cases, by how much is switched off.
const CASES: [AfterAlternator; 3] = [
    AfterAlternator::NothingDone,
    AfterAlternator::MainBusShed,
    AfterAlternator::EssentialOnly,
];

/// A case in words.
pub fn words(case: AfterAlternator) -> &'static str {
    match case {
        AfterAlternator::NothingDone => "no pilot action",
        AfterAlternator::MainBusShed => "main bus off",
        AfterAlternator::EssentialOnly => "essential loads only",
    }
}

/// How a case ends, in words.
pub fn ended(ended: Ended) -> &'static str {
    match ended {
        Ended::Empty => "battery empty",
        Ended::BatteryCutOff => "battery at cut-off voltage",
        Ended::LoadsStopped => "all loads stopped",
        Ended::RunsOn => "keeps running",
    }
}

/// Minutes in a table, if there are any.
pub fn minutes(minutes: Option<f64>) -> Cell {
    Cell::number(minutes.map(whole_min), 0)
}

/// Why a load stops, in words.
pub fn stop(stop: Stop) -> &'static str {
    match stop {
        Stop::CutOff => "voltage below its cut-off",
        Stop::SupplyCannotCarry => "battery cannot supply it",
        Stop::NoSupply => "a relay in its supply opens",
        Stop::Battery => "battery exhausted",
        Stop::Shed => "switched off",
        Stop::RunsOn => "keeps running",
    }
}

type Say = fn(&Endurance, &Case) -> Cell;

const COLUMNS: &[(&str, &str, &str, Say)] = &[
    ("case", "Case", "", |_, it| Cell::text(words(it.case))),
    ("states", "Phase", "", |_, it| {
        let taken = if it.is_marked { "" } else { " (assumed)" };
        Cell::text(format!("{}{taken}", it.states.join(", then ")))
    }),
    ("plain_a", "Stated total", "A", |_, it| {
        Cell::Number(it.plain_a, 2)
    }),
    ("plain_min", "From stated total", "min", |_, it| {
        minutes(it.plain_min)
    }),
    ("start_a", "Solved at start", "A", |_, it| {
        Cell::Number(it.start_a, 2)
    }),
    ("minutes", "Solved", "min", |_, it| minutes(it.minutes)),
    ("first_stop_min", "First load lost", "min", |_, it| {
        minutes(it.first_stop_min)
    }),
    ("ended", "Ends with", "", |_, it| {
        Cell::text(ended(it.ended))
    }),
    ("target_min", "Target", "min", |all, _| {
        minutes(all.target_min)
    }),
];

/// The cases of a document.
pub fn table(document: &Document) -> Table {
    by_case(document, &endurance(document))
}

/// The cases, one a row.
pub fn by_case(document: &Document, all: &Endurance) -> Table {
    let row = |case: &Case| COLUMNS.iter().map(|(.., say)| say(all, case)).collect();
    Table {
        name: "endurance",
        title: format!("Endurance without alternator, {}", document.project.title),
        grouped: false,
        columns: (COLUMNS.iter())
            .map(|&(key, title, unit, _)| Column { key, title, unit })
            .collect(),
        rows: all.cases.iter().map(row).collect(),
    }
}

/// Minutes of each device in each case, and why it stops.
pub fn by_device(all: &Endurance) -> Table {
    let column = |key, title, unit| Column { key, title, unit };
    let mut columns = vec![column("load", "Load", ""), column("what", "What", "")];
    columns.extend([
        column("nothing_done_min", "No pilot action", "min"),
        column("nothing_done_stop", "Reason", ""),
        column("main_bus_shed_min", "Main bus off", "min"),
        column("main_bus_shed_stop", "Reason", ""),
        column("essential_only_min", "Essential loads only", "min"),
        column("essential_only_stop", "Reason", ""),
    ]);
    let mut devices: Vec<&DeviceEnd> = Vec::new();
    for device in all.cases.iter().flat_map(|case| &case.devices) {
        let is_same = |it: &&&DeviceEnd| it.device == device.device && it.element == device.element;
        if !devices.iter().any(|it| is_same(&it)) {
            devices.push(device);
        }
    }
    devices.order_by(|a, b| natural_cmp(&a.label, &b.label));
    let row = |device: &&DeviceEnd| {
        let mut row = vec![Cell::text(&device.label), Cell::text(&device.title)];
        for case in CASES {
            let mut ends = all.case(case).into_iter().flat_map(|case| &case.devices);
            let end = ends.find(|it| it.device == device.device && it.element == device.element);
            let ends = end.filter(|it| it.stop != Stop::RunsOn);
            row.push(minutes(ends.map(|it| it.minutes)));
            row.push(Cell::text(end.map_or("off", |it| stop(it.stop))));
        }
        row
    };
    Table {
        name: "endurance-devices",
        title: "Minutes by device".into(),
        grouped: false,
        columns,
        rows: devices.iter().map(row).collect(),
    }
}

/// The usable capacity of each battery, with every factor: "BT1: 16 Ah x age 0.80 (assumed) … = 9.6 Ah".
pub fn batteries(all: &Endurance) -> Vec<String> {
    let battery = |cell: &crate::analysis::endurance::Cell| {
        let factors = cell.factors.iter().map(|factor| {
            let assumed = if factor.is_set { "" } else { " (assumed)" };
            format!(" x {} {:.2}{assumed}", factor.what, factor.value)
        });
        let factors: String = factors.collect();
        let peukert = cell.peukert.map_or(String::new(), |exponent| {
            format!(
                ", Peukert's exponent {exponent} at the {} h rate",
                cell.rated_h
            )
        });
        format!(
            "{}: {} Ah{factors} = {:.1} Ah usable{peukert}, to {:.1} V at its posts",
            cell.label, cell.capacity_ah, cell.usable_ah, cell.cutoff_v
        )
    };
    all.batteries.iter().map(battery).collect()
}

/// Why solved minutes differ from those by the stated total.
pub const DIFFERENCE: &str = "From stated total: usable Ah divided by the stated amps. Solved: constant-power loads \
    draw more as the voltage falls, and a load stops when the voltage is below its cut-off.";

/// Endurance as plain data, for programs.
pub fn to_json(all: &Endurance) -> Value {
    json!(all)
}

/// Endurance as plain text.
pub fn to_text(document: &Document, all: &Endurance) -> String {
    let mut text = format!("{}\n\n", by_case(document, all).title);
    for line in batteries(all) {
        text += &format!("{line}\n");
    }
    if !all.cases.is_empty() {
        text += &format!(
            "\n{}\n{}\n",
            by_case(document, all).to_text(),
            by_device(all).to_text()
        );
        text += &format!("{DIFFERENCE}\n");
    }
    for missing in &all.missing {
        text += &format!("Not computed: {missing}\n");
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::document;

    #[test]
    fn a_paper_shows_the_capacity_it_is_computed_from() {
        let document = document(
            "target 60
             battery BT1 ah=16 age=0.8
             load X 3 law=current
             wire A BT1.+ X.+ 2 1m
             wire N X.- BT1.- 2 1m
             state OUT after=essential",
        );
        let all = endurance(&document);
        assert_eq!(
            batteries(&all),
            [
                "BT1: 16 Ah x charge 1.00 (assumed) x age 0.80 x rate and cut-off 0.75 (assumed) \
              x temperature 1.00 (assumed) = 9.6 Ah usable, to 10.0 V at its posts"
            ]
        );
        let text = to_text(&document, &all);
        for words in ["essential loads only", "192", "battery empty"] {
            assert!(text.contains(words), "no {words:?} in {text}");
        }
        let csv = by_device(&all).to_csv();
        assert!(csv.contains("X,X,,off,,off,192,battery exhausted"), "{csv}");
    }
}
