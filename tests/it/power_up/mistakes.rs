//! The card of the sound drawing, carried out on aircraft with one wiring mistake each: a line shows it, and nothing
//! is hurt.

use std::collections::BTreeSet;

use loomwright_core::{
    analysis::power_up::{OFF_V, is_off_a},
    document::{Document, ElementKind},
    edit::Key,
    netlist::{EdgeOf, Point},
    standards::free_air,
    testing::{aircraft, arbitrary::Dice},
};
use serde_json::Value;

use super::bench::{Card, Found, card, carry_out, text};
use crate::{
    measured,
    mistakes::{OPERATORS, Wiring},
    samples::{sorrel, teasel},
};

/// Mistakes on each aircraft.
const MISTAKES: usize = 30;
/// A wire that carries so much on some line is part of a power circuit, A.
const CARRIES_A: f64 = 0.001;
/// A motor that takes so much is a starter, A.
const STARTER_A: f64 = 50.0;

/// Why a person stops at a line; none if all is as printed.
fn why(line: &Value, found: &Found) -> Option<String> {
    if found.astray {
        return Some("the cable to disconnect is not there".into());
    }
    if let Some([read, expected]) = found.rest.filter(|[read, it]| (read - it).abs() > OFF_V) {
        return Some(format!("{read:.1} V for {expected} at rest"));
    }
    if !found.rest_runs.is_empty() {
        return Some("a motor runs at rest".into());
    }
    let [read, expected] = found.volts;
    if (read - expected).abs() > OFF_V {
        return Some(format!("{read:.1} V for {expected}"));
    }
    let named = [
        ("live", &found.live),
        ("dead", &found.dead),
        ("runs", &found.runs),
    ];
    if let Some((what, all)) = named.iter().find(|it| !it.1.is_empty()) {
        return Some(format!("{what}: {}", all.join(", ")));
    }
    if line["supply_limit_a"]
        .as_f64()
        .is_some_and(|it| found.supply_a > it)
    {
        return Some("the supply is at its limit".into());
    }
    let off = found
        .amps
        .iter()
        .find(|[read, printed]| is_off_a(*read, *printed));
    off.map(|[read, printed]| format!("{read:.2} A for {printed}"))
}

/// What carries current, or is live, on any line of a sound aircraft.
#[derive(Default)]
struct Power {
    keys: BTreeSet<String>,
    ends: BTreeSet<String>,
}

impl Power {
    fn of(document: &Document, card: &Card) -> Self {
        let mut power = Self::default();
        for line in &card.lines {
            for point in carry_out(document, document, card, line).points {
                let netlist = point.netlist();
                for edge in netlist.graph.edge_indices() {
                    if point.edge_amps(edge).is_none_or(|it| it.abs() < CARRIES_A) {
                        continue;
                    }
                    match netlist.of(edge) {
                        EdgeOf::Wire(id) | EdgeOf::InlineFuse(id) => {
                            power.keys.insert(Key::Wire(id.clone()).to_string());
                        }
                        EdgeOf::Element(id, ..) => {
                            power.keys.insert(Key::Device(id.clone()).to_string());
                        }
                        _ => {}
                    }
                }
                for node in netlist.graph.node_indices() {
                    if let Point::Terminal(id, terminal) = netlist.point(node)
                        && point.node_volts(node).is_some_and(|it| it.abs() > 1.0)
                    {
                        power.ends.insert(format!("terminal:{id}/{terminal}"));
                    }
                }
            }
        }
        power
    }

    /// True if a mistake changes a conductor or device of a power circuit, or puts another conductor on one.
    fn is_touched(&self, built: &Document, changed: &BTreeSet<Key>) -> bool {
        changed.iter().any(|key| {
            let on_it = match key {
                Key::Wire(id) => built.wires.get(id).is_some_and(|wire| {
                    let mut ends = [&wire.from, &wire.to].into_iter();
                    ends.any(|it| self.ends.contains(&it.to_string()))
                }),
                _ => false,
            };
            on_it || self.keys.contains(&key.to_string())
        })
    }
}

fn starters(document: &Document) -> BTreeSet<String> {
    let is_starter = |it: &ElementKind| match it {
        ElementKind::Load(load) => {
            let figures = [&load.continuous_a, &load.intermittent_a, &load.peak_a];
            let mut amps = figures.into_iter().flatten();
            amps.any(|it| it.amps >= STARTER_A)
        }
        _ => false,
    };
    let devices = document.devices.values();
    let all = devices.filter(|it| it.elements.iter().any(|it| is_starter(&it.is)));
    all.map(|it| it.tag.clone()).collect()
}

/// No starter turns unless its line says so, and what the supply gives at most, no wire takes amiss.
fn hurts(
    built: &Document,
    line: &Value,
    found: &Found,
    starters: &BTreeSet<String>,
) -> Option<String> {
    let mind = line["mind"].as_str().unwrap_or_default();
    let mut running = found.running.union(&found.rest_runs);
    if let Some(motor) = running.find(|it| starters.contains(*it))
        && !mind.contains("PROPELLER")
    {
        return Some(format!("{motor} turns"));
    }
    let limit_a = line["supply_limit_a"].as_f64()?;
    for point in &found.points {
        let netlist = point.netlist();
        for (id, at) in netlist.wires() {
            let Some(wire) = built.wires.get(id) else {
                continue;
            };
            let amps = point.edge_amps(at.edge).unwrap_or(0.0).abs().min(limit_a);
            let most = wire.gauge_awg.and_then(|it| free_air::amps_max(it, 150.0));
            if most.is_some_and(|most| amps > most) {
                return Some(format!("{} carries {amps:.1} A", built.wire_label(id)));
            }
        }
    }
    None
}

#[test]
fn a_mistake_in_a_power_circuit_shows_and_hurts_nothing() {
    let mut table = String::from(
        "| aircraft | mistakes | in a power circuit | shown by a line |\n|---|---|---|---|\n",
    );
    let aircraft = [
        ("Sorrel", sorrel()),
        ("Teasel", teasel()),
        ("generated, 60 wires", aircraft(60)),
    ];
    for (n, (name, document)) in aircraft.into_iter().enumerate() {
        let card = card(&document);
        let power = Power::of(&document, &card);
        let starters = starters(&document);
        let wiring = Wiring::new(&document);
        let by_operator: Vec<_> = OPERATORS
            .iter()
            .map(|it| (it.name, it.mistakes(&wiring)))
            .collect();
        let mut dice = Dice::new(n as u64 + 1);
        let (mut touching, mut shown, mut silent) = (0, 0, Vec::new());
        let mut seen = BTreeSet::new();
        while seen.len() < MISTAKES {
            let (operator, mistakes) = dice.pick(&by_operator).expect("operators");
            let Some(mistake) = dice.pick(mistakes) else {
                continue;
            };
            if !seen.insert(format!("{operator}: {}", mistake.what)) {
                continue;
            }
            let built = mistake.change.applied(&document).expect("it fits");
            let changed: BTreeSet<Key> = mistake.change.steps().keys().cloned().collect();
            let mut shows = None;
            for line in &card.lines {
                let found = carry_out(&document, &built, &card, line);
                if let Some(harm) = hurts(&built, line, &found, &starters) {
                    panic!("{name}, {operator}, {}: {harm} on {line}", mistake.what);
                }
                shows = shows
                    .or(why(line, &found).map(|it| format!("{}: {it}", text(&line["protector"]))));
            }
            let is_touched = power.is_touched(&built, &changed);
            touching += usize::from(is_touched);
            shown += usize::from(is_touched && shows.is_some());
            let what = format!("{operator}: {} -> {shows:?}", mistake.what);
            if is_touched && shows.is_none() {
                silent.push(what);
            } else {
                println!("{name}: {what}");
            }
        }
        println!("{name}: {shown} of {touching} in power circuits are shown; not: {silent:#?}");
        table += &format!("| {name} | {MISTAKES} | {touching} | {shown} |\n");
    }
    measured::hold("power-up", &table);
}
