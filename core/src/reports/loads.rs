//! Loads by phase and bus: stated totals and solved currents, why they differ, the alternator load, what is spare
//! for charging, and how much of it is estimated.

use serde_json::{Value, json};

use super::{Cell, Column, Table};
use crate::{
    analysis::loads::{Amps, LoadAnalysis, LoadLine, PhaseLoads, Sums, load_analysis},
    document::{Document, LoadLaw, LoadSort, Origin},
    units::signed,
};

/// A row of the table by phase.
struct Row<'a> {
    phase: &'a PhaseLoads,
    bus: &'a str,
    volts: Option<f64>,
    sums: Sums,
    /// True for the row of all buses, which has the alternator's figures.
    is_total: bool,
}

type SayRow = fn(&Row<'_>) -> Cell;

/// The columns of the table by phase.
const BY_PHASE: &[(&str, &str, &str, SayRow)] = &[
    ("phase", "Phase", "", |row| Cell::text(&row.phase.title)),
    ("bus", "Bus", "", |row| Cell::text(row.bus)),
    ("bus_v", "Bus voltage", "V", |row| {
        Cell::number(row.volts, 2)
    }),
    ("plain_a", "Stated total", "A", |row| {
        Cell::Number(row.sums.continuous.plain_a, 2)
    }),
    ("continuous_a", "Continuous", "A", |row| {
        Cell::Number(row.sums.continuous.solved_a, 2)
    }),
    ("difference_a", "Difference", "A", |row| {
        let amps = row.sums.continuous;
        Cell::Number(amps.solved_a - amps.plain_a, 2)
    }),
    ("intermittent_a", "Intermittent", "A", |row| {
        Cell::Number(row.sums.intermittent.solved_a, 2)
    }),
    ("peak_a", "Peak", "A", |row| {
        Cell::Number(row.sums.peak.solved_a, 2)
    }),
    ("alternator_percent", "Alternator load", "%", |row| {
        let percent = row.phase.percent(row.sums.continuous.asked_a);
        Cell::number(percent.filter(|_| row.is_total), 0)
    }),
    ("headroom_a", "Spare for charging", "A", |row| {
        Cell::number(row.phase.headroom_a().filter(|_| row.is_total), 1)
    }),
    ("estimated_percent", "Estimated", "%", |row| {
        Cell::number(row.sums.estimated_percent(), 0)
    }),
];

/// The table by phase and bus of a document.
pub fn table(document: &Document) -> Table {
    by_phase(document, &load_analysis(document))
}

/// A row for each phase and bus, and one for all buses of the phase.
pub fn by_phase(document: &Document, analysis: &LoadAnalysis) -> Table {
    let mut rows = Vec::new();
    for phase in &analysis.phases {
        let buses = phase.buses.iter().map(|loads| Row {
            phase,
            bus: bus_label(analysis, loads.bus),
            volts: loads.volts,
            sums: loads.sums,
            is_total: false,
        });
        let total = Row {
            phase,
            bus: "all buses",
            volts: None,
            sums: phase.total,
            is_total: true,
        };
        for row in buses.chain([total]) {
            rows.push(BY_PHASE.iter().map(|(.., say)| say(&row)).collect());
        }
    }
    Table {
        name: "loads",
        title: format!("Loads by phase, {}", document.project.title),
        grouped: false,
        columns: (BY_PHASE.iter())
            .map(|&(key, title, unit, _)| Column { key, title, unit })
            .collect(),
        rows,
    }
}

fn bus_label(analysis: &LoadAnalysis, bus: Option<usize>) -> &str {
    bus.map_or("no bus", |bus| &analysis.buses[bus].label)
}

type SayLoad = fn(&LoadLine) -> Cell;

/// The columns of the table of single loads, after the bus.
const EACH: &[(&str, &str, &str, SayLoad)] = &[
    ("load", "Load", "", |it| Cell::text(&*it.label)),
    ("what", "What", "", |it| Cell::text(&*it.title)),
    ("origin", "Source of figure", "", |it| {
        Cell::text(origin(it.origin))
    }),
    ("plain_a", "Stated", "A", |it| {
        Cell::Number(it.sums.continuous.plain_a, 2)
    }),
    ("at_v", "Stated at", "V", |it| Cell::Number(it.at_v, 1)),
    ("terminal_v", "At its terminals", "V", |it| {
        Cell::number(it.terminal_v, 2)
    }),
    ("continuous_a", "Solved", "A", |it| {
        solved(it, it.sums.continuous)
    }),
    ("intermittent_a", "Intermittent", "A", |it| {
        solved(it, it.sums.intermittent)
    }),
    ("duty_percent", "Of the time", "%", duty),
    ("peak_a", "Peak", "A", |it| solved(it, it.sums.peak)),
    ("why", "Why it differs", "", |it| Cell::text(why(it))),
];

/// The solved current of a load; empty for one that cannot run, because 0 A would look like a load that is off.
fn solved(line: &LoadLine, amps: Amps) -> Cell {
    let runs = line.dropped.is_none() || amps.solved_a > 0.0;
    Cell::number(runs.then_some(amps.solved_a), 2)
}

/// The share of time at the intermittent current, of a load that runs at less otherwise.
fn duty(line: &LoadLine) -> Cell {
    let [steady, at_work] = [line.sums.continuous, line.sums.intermittent];
    match line.duty {
        _ if steady.plain_a <= 0.0 || at_work.plain_a <= steady.plain_a => Cell::Empty,
        Some(duty) => Cell::Number(100.0 * duty, 0),
        None => Cell::text("not set"),
    }
}

/// Every load that is on in a phase.
pub fn each(analysis: &LoadAnalysis, phase: &PhaseLoads) -> Table {
    let bus = Column {
        key: "bus",
        title: "Bus",
        unit: "",
    };
    let others = EACH.iter();
    let others = others.map(|&(key, title, unit, _)| Column { key, title, unit });
    let row = |line: &LoadLine| {
        let bus = Cell::text(bus_label(analysis, line.bus));
        let others = EACH.iter().map(|(.., say)| say(line));
        std::iter::once(bus).chain(others).collect()
    };
    Table {
        name: "each-load",
        title: format!("Loads in {}", phase.title),
        grouped: false,
        columns: std::iter::once(bus).chain(others).collect(),
        rows: phase.loads.iter().map(row).collect(),
    }
}

/// The source of a figure, in words.
pub fn origin(origin: Option<Origin>) -> &'static str {
    match origin {
        Some(Origin::Estimate) => "estimate",
        Some(Origin::Manual) => "manual",
        Some(Origin::DataPlate) => "data plate",
        Some(Origin::Measured) => "measured",
        None => "",
    }
}

/// Why a load's solved current differs from its stated one.
pub fn why(line: &LoadLine) -> String {
    if let Some(reason) = line.dropped {
        let asks_a = line
            .sums
            .continuous
            .asked_a
            .max(line.sums.intermittent.asked_a);
        return format!("cannot run, demands {asks_a:.2} A: {reason}");
    }
    let Some(volts) = line.terminal_v else {
        return String::new();
    };
    let (side, over) = match volts > line.at_v {
        true => ("above", true),
        false => ("below", false),
    };
    let tells = |what: &str, more: bool| {
        let more = if more == over { "more" } else { "less" };
        format!(
            "{what}: draws {more} at {volts:.2} V, {side} {:.1} V",
            line.at_v
        )
    };
    match (line.law, line.sort) {
        (Some(LoadLaw::ConstantPower), _) => tells("constant power", false),
        (Some(LoadLaw::ConstantCurrent), _) => "constant current: the same at any voltage".into(),
        (Some(LoadLaw::Resistance), Some(LoadSort::Lamp)) => {
            tells("lamp, modeled as a resistance", true)
        }
        (Some(LoadLaw::Resistance), _) => tells("resistance", true),
        (None, _) => tells("coil", true),
    }
}

/// The difference between the stated and the solved total of a phase, in a sentence.
pub fn difference(phase: &PhaseLoads) -> String {
    let by_law = |wanted: fn(&LoadLine) -> bool| -> f64 {
        let lines = phase.loads.iter().filter(|line| wanted(line));
        lines
            .map(|line| line.sums.continuous.solved_a - line.sums.continuous.plain_a)
            .sum()
    };
    let parts = [
        (
            "constant-power loads",
            by_law(|line| line.dropped.is_none() && line.law == Some(LoadLaw::ConstantPower)),
        ),
        (
            "resistances and coils",
            by_law(|line| {
                line.dropped.is_none() && matches!(line.law, None | Some(LoadLaw::Resistance))
            }),
        ),
        (
            "loads that cannot run, not in the solved total",
            by_law(|line| line.dropped.is_some()),
        ),
    ];
    let parts = parts.into_iter().filter(|(_, amps)| amps.abs() >= 0.005);
    let parts: Vec<_> = parts
        .map(|(what, amps)| format!("{what} {} A", signed(amps, 2)))
        .collect();
    let amps = phase.total.continuous;
    let sum = amps.solved_a - amps.plain_a;
    let mut told = match parts.is_empty() {
        true => "stated total and solved current agree".into(),
        false => format!(
            "{} A at actual terminal voltages: {}",
            signed(sum, 2),
            parts.join(", ")
        ),
    };
    if amps.is_asked() {
        let asked_a = amps.asked_a;
        told += &format!(
            "; alternator load and spare for charging use {asked_a:.2} A, which includes the demand of loads that \
             cannot run"
        );
    }
    told
}

/// The analysis as plain data, for programs.
pub fn to_json(analysis: &LoadAnalysis) -> Value {
    let phase = |phase: &PhaseLoads| {
        let mut value = json!(phase);
        let amps = phase.total.continuous;
        value["difference"] = json!(difference(phase));
        value["alternator_percent"] = json!({
            "plain": phase.percent(amps.plain_a),
            "solved": phase.percent(amps.solved_a),
            "asked": phase.percent(amps.asked_a),
        });
        value["headroom_a"] = json!(phase.headroom_a());
        value["estimated_percent"] = json!(phase.total.estimated_percent());
        for (line, told) in phase
            .loads
            .iter()
            .zip(value["loads"].as_array_mut().into_iter().flatten())
        {
            told["why"] = json!(why(line));
        }
        value
    };
    json!({
        "buses": analysis.buses,
        "phases": analysis.phases.iter().map(phase).collect::<Vec<_>>(),
        "recharge_a": analysis.recharge_a,
    })
}

/// The analysis as plain text: the table, then each phase's difference and loads.
pub fn to_text(document: &Document, analysis: &LoadAnalysis) -> String {
    let mut text = format!("{}\n\n", by_phase(document, analysis).title);
    text += &by_phase(document, analysis).to_text();
    for phase in &analysis.phases {
        text += &format!("\n{}: {}\n", phase.title, difference(phase));
        if let Some(problem) = &phase.problem {
            text += &format!("Figures unreliable: {problem}\n");
        }
        text += &each(analysis, phase).to_text();
    }
    if let Some(amps) = analysis.recharge_a {
        text += &format!("\nTo recharge the battery in the target time: {amps:.1} A\n");
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::document;

    /// 7.2 A through 24 m of 22 AWG leave less than the 9 V that the port needs.
    #[test]
    fn a_load_that_cannot_run_counts_with_its_demand() {
        let document = document(
            "battery BT1
             alternator G1 40
             bus MBUS CB1=10
             ground GB1 STUD T1
             load USB2 7.2 cutoff=9
             wire A BT1.+ MBUS.STUD 8 0.2m
             wire B G1.B MBUS.STUD 8 0.5m
             wire C MBUS.CB1 USB2.+ 22 12m
             wire D USB2.- GB1.T1 22 12m
             wire E GB1.STUD BT1.- 8 0.2m
             wire F G1.CASE GB1.STUD 8 0.2m
             state CRUISE running",
        );
        let analysis = load_analysis(&document);
        let phase = &analysis.phases[0];
        let cell = |table: &Table, key: &str| {
            let at = table.columns.iter().position(|it| it.key == key);
            let row = table.rows.last().expect("a row");
            row[at.expect("a column")].show()
        };
        let load = each(&analysis, phase);
        assert_eq!(cell(&load, "continuous_a"), "", "nothing, not 0.00 A");
        let why = cell(&load, "why");
        assert!(why.starts_with("cannot run, demands 7.20 A"), "{why}");
        // 7.2 A of 40 A.
        let all = by_phase(&document, &analysis);
        assert_eq!(cell(&all, "alternator_percent"), "18");
        assert_eq!(cell(&all, "headroom_a"), "32.8");
        let told = difference(phase);
        assert!(told.contains("use 7.20 A"), "{told}");
    }
}
