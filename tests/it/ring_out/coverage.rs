//! What the sheet is worth: every single fault is made, the lines are carried out on it, and at least one must fail.
//! The paper prints the same figure, which the core computes by itself.

use std::collections::{BTreeMap, BTreeSet};

use loomwright_core::{
    analysis::ring_out::{Line, RingOut},
    document::Document,
    netlist::Netlist,
    reports,
    testing::{aircraft, asked},
};

use super::{
    bench::{Bench, conductors},
    faults::{Fault, Spot, all},
};
use crate::{
    measured,
    samples::{sorrel, teasel},
};

/// By how lines set it up: the circuits that the drawing has, by node.
pub struct Drawn(BTreeMap<String, Vec<usize>>);

impl Drawn {
    pub fn new(document: &Document, sheet: &RingOut) -> Self {
        let mut all = BTreeMap::new();
        for line in &sheet.lines {
            let new = || {
                Bench::new(document, &sheet.netlist, line)
                    .circuit()
                    .to_vec()
            };
            all.entry(setup(line)).or_insert_with(new);
        }
        Self(all)
    }

    pub fn on(&self, line: &Line) -> &[usize] {
        &self.0[&setup(line)]
    }
}

/// How a line sets up the aircraft.
fn setup(line: &Line) -> String {
    format!("{:?} {:?} {:?}", line.position, line.off, line.shields)
}

/// A line that sets and takes off nothing.
fn at_rest(sheet: &RingOut) -> Line {
    let mut line = sheet.lines[0].clone();
    (line.position, line.off, line.shields) = (None, Vec::new(), Vec::new());
    line
}

/// The number of single faults, and those that no line finds.
fn carry_out(document: &Document) -> (usize, BTreeSet<String>) {
    let sheet = RingOut::new(document);
    let drawn = Drawn::new(document, &sheet);
    let conductor = conductors(document, &sheet.netlist, &at_rest(&sheet));
    let is_one = |a: &Spot, b: &Spot| {
        let node = |it: &Spot| it.node(document, &sheet.netlist);
        match (node(a), node(b)) {
            (Some(a), Some(b)) => conductor[a] == conductor[b],
            _ => true,
        }
    };
    let faults = all(document, &is_one);
    let missed = faults.iter().filter(|it| !finds(&sheet, &drawn, it));
    (faults.len(), missed.map(|it| it.label.clone()).collect())
}

/// True if a line fails on an aircraft with this fault.
fn finds(sheet: &RingOut, drawn: &Drawn, fault: &Fault) -> bool {
    let netlist = Netlist::new(&fault.built);
    // Lines that set up the aircraft alike share a bench.
    let mut benches: BTreeMap<String, Bench<'_>> = BTreeMap::new();
    sheet.lines.iter().any(|line| {
        let new = || Bench::new(&fault.built, &netlist, line).with(fault, line);
        let bench = benches.entry(setup(line)).or_insert_with(new);
        line.fails(bench.read(line, drawn.on(line)))
    })
}

#[test]
fn the_sheet_finds_what_it_says_it_finds() {
    let mut text =
        String::from("| aircraft | lines | single faults | found | % |\n|---|---|---|---|---|\n");
    let mut short = false;
    for (name, document, least) in [
        ("Sorrel", sorrel(), 0.99),
        ("Teasel", teasel(), 0.99),
        ("generated, 60 wires", aircraft(60), 0.95),
    ] {
        let (faults, missed) = carry_out(&document);
        let sheet = RingOut::new(&document);
        let coverage = sheet.coverage(&document);
        let said: BTreeSet<String> = (coverage.missed.iter())
            .map(|it| it.label(&document))
            .collect();
        println!(
            "{name}: {} lines, {faults} faults, missed {missed:#?}",
            sheet.lines.len()
        );
        assert_eq!(said, missed, "{name}");
        assert_eq!(coverage.faults, faults, "{name}");
        let found = faults - missed.len();
        let share = found as f64 / faults as f64;
        short |= share < least;
        let paper = reports::paper(&asked(&document), "ring-out").expect("listed");
        let said = format!(
            "finds {} of {} single faults",
            with_commas(found),
            with_commas(faults)
        );
        assert!(paper.to_text().contains(&said), "{name}: {said}");
        text += &format!(
            "| {name} | {} | {faults} | {found} | {:.1} |\n",
            sheet.lines.len(),
            100.0 * share
        );
    }
    assert!(!short, "{text}");
    measured::hold("ring-out", &text);
}

fn with_commas(count: usize) -> String {
    match count {
        0..1000 => count.to_string(),
        _ => format!("{},{:03}", count / 1000, count % 1000),
    }
}
