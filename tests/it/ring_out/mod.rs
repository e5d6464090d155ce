//! The ring-out sheet, carried out on a harness without a fault, and with each single fault. Every line must pass on
//! the first; on the others at least one must fail.

mod bench;
mod coverage;
mod faults;

use loomwright_core::{
    analysis::ring_out::{Expect, Line, RingOut},
    document::{Document, End, Reading},
    netlist::Netlist,
    reports::{self, Cell},
    rules::records::reading::{Outcome, judge},
    testing::{aircraft, asked, document},
};

use self::bench::Bench;
use crate::samples::{sorrel, teasel};

/// Lines that no limit can judge.
fn carry_out(document: &Document) -> (usize, usize) {
    let sheet = RingOut::new(document);
    let drawn = coverage::Drawn::new(document, &sheet);
    let mut unjudged = 0;
    for line in &sheet.lines {
        let bench = Bench::new(document, &sheet.netlist, line);
        let ohm = bench.read(line, drawn.on(line));
        let reading = reading_of(line, ohm);
        assert!(line.is_of(&reading));
        let outcome = judge(line, &reading);
        let label = |end| document.end_label(end);
        assert!(
            !matches!(outcome, Outcome::Wrong(_)),
            "{} to {}, {:?}, off {:?}: {ohm} ohm, {outcome:?}",
            label(&line.from),
            label(&line.to),
            line.position,
            line.off
        );
        unjudged += usize::from(outcome == Outcome::Unknown);
    }
    (sheet.lines.len(), unjudged)
}

#[test]
fn a_harness_without_a_fault_passes_every_line() {
    for document in [sorrel(), teasel(), aircraft(120)] {
        let (lines, unjudged) = carry_out(&document);
        assert!(lines > 100 && unjudged * 5 < lines, "{unjudged} of {lines}");
    }
}

/// A reading through a bench, of the line with these ends and position.
#[test]
fn every_strap_to_metal_has_its_line() {
    for document in [sorrel(), teasel()] {
        let sheet = RingOut::new(&document);
        let mut straps = 0;
        for wire in document.wires.values() {
            let ([terminal @ End::Terminal(..), metal @ End::Structure(_)]
            | [metal @ End::Structure(_), terminal @ End::Terminal(..)]) = [&wire.from, &wire.to]
            else {
                continue;
            };
            straps += 1;
            let is_it = |line: &&Line| line.from == *terminal && line.to == *metal;
            assert!(
                sheet.lines.iter().any(|line| is_it(&line)),
                "{} is not measured",
                wire.number
            );
        }
        assert!(straps > 0);
    }
}

fn judged(text: &str, wanted: &dyn Fn(&Line) -> bool, change: &dyn Fn(&mut Document)) -> Outcome {
    let drawn = document(text);
    let sheet = RingOut::new(&drawn);
    let line = sheet.lines.iter().find(|it| wanted(it)).expect("a line");
    let mut built = drawn.clone();
    change(&mut built);
    let netlist = Netlist::new(&built);
    let circuits = coverage::Drawn::new(&drawn, &sheet);
    let ohm = Bench::new(&built, &netlist, line).read(line, circuits.on(line));
    judge(line, &reading_of(line, ohm))
}

/// What a person enters for a line at which the meter shows these ohms.
fn reading_of(line: &Line, ohm: f64) -> Reading {
    Reading {
        test: line.test,
        from: line.from.clone(),
        to: line.to.clone(),
        before_wiring: false,
        position: line.position.clone(),
        value: Some(ohm).filter(|it| *it < 1e6),
        over_range: ohm >= 1e6,
        who: String::new(),
        date: String::new(),
        extra: loomwright_core::document::Extra::new(),
    }
}

const MAGNETO: &str = "
    place ENGINE metal
    ground GB1 T1 tied at=ENGINE
    unit MAG1 P:p_lead CASE:return at=ENGINE
    inside MAG1 tie CASE
    throw S10 OFF:L-GND BOTH: R:L-GND L:
    wire K1 MAG1.P S10.L 20 1m
    wire K2 S10.GND GB1.T1 20 1m";

/// A P-lead that is cut, or a switch that grounds nothing, does not pass: the lead is off the magneto, whose
/// closed points would hide it.
#[test]
fn a_magneto_that_stays_live_fails_its_line() {
    let off = |line: &Line| line.position == Some(("S10/switch".into(), 0));
    let both = |line: &Line| line.position == Some(("S10/switch".into(), 1));
    assert_eq!(judged(MAGNETO, &off, &|_| {}), Outcome::Right);
    assert_eq!(judged(MAGNETO, &both, &|_| {}), Outcome::Right);
    let cut = |wire: &'static str| {
        move |document: &mut Document| {
            document.wires.get_mut(wire).expect("drawn").to = End::Open;
        }
    };
    for wire in ["K1", "K2"] {
        assert!(
            matches!(judged(MAGNETO, &off, &cut(wire)), Outcome::Wrong(_)),
            "{wire}"
        );
    }
    // Wired past the switch: grounded in every position.
    let past = |document: &mut Document| {
        document.wires.get_mut("K1").expect("drawn").to = End::terminal("GB1", "T1");
    };
    assert!(matches!(judged(MAGNETO, &both, &past), Outcome::Wrong(_)));
    let all = RingOut::new(&document(MAGNETO));
    let positions = all.lines.iter().filter(|it| it.position.is_some());
    assert_eq!(positions.count(), 4, "each position has a line");
}

const PROBE: &str = "
    place ENGINE metal
    unit CHT1 +:thermocouple_plus -:thermocouple_minus at=ENGINE
    unit EM1 J1-1:thermocouple_plus J1-2:thermocouple_minus
    wire A CHT1.+ EM1.J1-1 24 2m material=k+
    wire B CHT1.- EM1.J1-2 24 2m material=k-";

#[test]
fn a_thermocouple_is_measured_through_its_junction() {
    let pair = |line: &Line| matches!(line.expect, Expect::Probe(Some(_)));
    assert_eq!(judged(PROBE, &pair, &|_| {}), Outcome::Right);
    let open = |document: &mut Document| {
        document.wires.get_mut("A").expect("drawn").from = End::Open;
    };
    assert!(matches!(judged(PROBE, &pair, &open), Outcome::Wrong(_)));
    let touching = |document: &mut Document| {
        let mut short = document.wires["A"].clone();
        short.conductor = loomwright_core::document::ConductorKind::Copper;
        short.length_m = Some(0.01);
        (short.from, short.to) = (End::terminal("EM1", "J1-1"), End::terminal("EM1", "J1-2"));
        document.wires.insert("SHORT".into(), short);
    };
    assert!(matches!(judged(PROBE, &pair, &touching), Outcome::Wrong(_)));
}

#[test]
fn the_sheet_says_what_comes_off_and_warns_of_the_propeller() {
    let document = sorrel();
    let paper = reports::paper(&asked(&document), "ring-out").expect("listed");
    let text = paper.to_text();
    assert!(text.contains("keep everyone clear of the propeller"));
    let table = paper.tables().next().expect("a table");
    let rows: Vec<Vec<String>> = table
        .rows
        .iter()
        .map(|row| row.iter().map(Cell::show).collect())
        .collect();
    let first = |from: &str, test: &str| {
        let row = rows.iter().find(|row| row[2] == from && row[1] == test);
        row.unwrap_or_else(|| panic!("{from} {test}"))[4].clone()
    };
    assert!(first("CHT1 +", "open").contains("CHT1 + off"));
    assert!(first("COM1 RF", "open").contains("AN1 RF off"));
    let leads: Vec<&str> = (rows
        .iter()
        .filter(|row| row[1] == "P-lead" && row[2] == "MAG1 P"))
    .map(|row| &*row[4])
    .collect();
    assert_eq!(leads.len(), 4, "{leads:?}");
    assert!(
        leads.iter().all(|it| it.starts_with("MAG1 P off, S10: ")),
        "{leads:?}"
    );
}
