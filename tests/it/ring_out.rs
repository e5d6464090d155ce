//! The ring-out sheet, carried out on a harness without a fault: the drawing's own circuit as the sheet says to
//! set it up, with what no drawing shows taken at its worst (points closed, probes grounded, antennas grounded
//! for direct current). Every line must pass.

use std::collections::BTreeMap;

use loomwright_core::{
    analysis::ring_out::{Expect, Line, RingOut},
    document::{
        Device, DeviceKind, Document, ElementKind, End, LoadLaw, ProtectorStyle, Reading, Role,
        Test,
    },
    netlist::{EdgeKind, EdgeOf, Netlist},
    reports::{self, Cell},
    rules::records::reading::{Outcome, judge},
    solve::resistance::edge_ohm,
    testing::{aircraft, asked, document},
};

use crate::samples::{sorrel, teasel};

/// A part whose ohms nobody gave reads low, ohm.
const LOW_OHM: f64 = 0.5;
/// What is closed inside a magneto, a grounded antenna or probe, ohm.
const CLOSED_OHM: f64 = 0.01;
/// A probe's own leads, ohm.
const PROBE_OHM: f64 = 4.0;

type Part = (usize, usize, f64);

/// The aircraft as a line sets it up: metal, and what stays wired.
struct Bench {
    metal: Vec<Part>,
    parts: Vec<Part>,
    nodes: usize,
}

fn unplugs(device: &Device) -> bool {
    !device.connectors.is_empty() && device.kind != DeviceKind::InlineConnector
}

impl Bench {
    fn new(document: &Document, netlist: &Netlist, line: &Line) -> Self {
        let mut bench = Self {
            metal: Vec::new(),
            parts: Vec::new(),
            nodes: netlist.graph.node_count(),
        };
        for edge in netlist.graph.edge_indices() {
            let (a, b) = netlist.ends(edge);
            let it = &netlist.graph[edge];
            let off_board = match netlist.of(edge) {
                EdgeOf::Element(id, ..) => document.devices.get(id).is_some_and(unplugs),
                _ => false,
            };
            let ohm = edge_ohm(&it.kind, 20.0).unwrap_or(0.0);
            let closed = match &it.kind {
                EdgeKind::Switch {
                    made_in,
                    made_at_rest,
                    ..
                } => match &line.position {
                    Some((key, at)) if netlist.edges_of_key(key).any(|it| it == edge) => {
                        (made_in >> at) & 1 == 1
                    }
                    _ => *made_at_rest,
                },
                EdgeKind::Contact { made_energised, .. } => !made_energised,
                EdgeKind::Protector { .. } => match netlist.of(edge) {
                    EdgeOf::Element(id, element, _) => {
                        let element = document.devices[id].element(element).expect("drawn");
                        matches!(&element.is, ElementKind::Protector(it) if it.style == ProtectorStyle::Limiter)
                    }
                    _ => true,
                },
                _ => true,
            };
            let part = |ohm| (a.index(), b.index(), ohm);
            match &it.kind {
                EdgeKind::Resistor { ohm } => bench.parts.push(part(*ohm)),
                EdgeKind::Mate { .. } => bench.metal.push(part(ohm)),
                _ if off_board || !closed => {}
                EdgeKind::Battery { .. } => {}
                EdgeKind::Coil { ohm, .. } => bench.parts.push(part(*ohm)),
                EdgeKind::Diode { .. } | EdgeKind::Alternator { .. } => {
                    bench.parts.push(part(LOW_OHM));
                }
                EdgeKind::Load => {
                    let load = netlist.load(edge).expect("a load");
                    let amps = load.continuous_a.or(load.intermittent_a).or(load.peak_a);
                    let ohm = match (load.law, amps) {
                        (LoadLaw::Resistance, Some(amps)) => load.at_v / amps,
                        _ => LOW_OHM,
                    };
                    bench.parts.push(part(ohm));
                }
                _ => bench.metal.push(part(ohm)),
            }
        }
        bench.inside(document, netlist, line);
        bench
    }

    /// What no drawing shows, unless it is taken off.
    fn inside(&mut self, document: &Document, netlist: &Netlist, line: &Line) {
        for (id, device) in document.devices.iter().filter(|it| !unplugs(it.1)) {
            let is_switch = device
                .elements
                .iter()
                .any(|it| matches!(it.is, ElementKind::Switch(_)));
            let node = |role: Role| {
                let terminal = device.terminals.iter().find(|it| it.role == role)?;
                let end = End::Terminal(id.clone(), terminal.id.clone());
                let is_off = line.off.contains(&end);
                Some(netlist.end_node(&end).filter(|_| !is_off)?.index())
            };
            let metal = || {
                let place = device.place.as_ref()?;
                Some(netlist.end_node(&End::Structure(place.clone()))?.index())
            };
            let case = || {
                node(Role::Return)
                    .or_else(|| node(Role::ShieldTie))
                    .or_else(metal)
            };
            if let (Some(lead), Some(case), false) = (node(Role::PLead), case(), is_switch) {
                self.parts.push((lead, case, CLOSED_OHM));
            }
            if device.kind == DeviceKind::Antenna
                && let (Some(center), Some(base)) = (node(Role::Rf), case())
            {
                self.parts.push((center, base, CLOSED_OHM));
            }
            let takes_power = device.terminals.iter().any(|it| it.role == Role::PowerIn);
            let legs = (node(Role::ThermocouplePlus), node(Role::ThermocoupleMinus));
            if let ((Some(plus), Some(minus)), false) = (legs, takes_power) {
                self.parts.push((plus, minus, PROBE_OHM));
                if let Some(engine) = metal() {
                    self.parts.push((plus, engine, CLOSED_OHM));
                }
            }
        }
    }

    /// By node: the circuit that metal makes.
    fn circuits(&self) -> Vec<usize> {
        let mut of: Vec<usize> = (0..self.nodes).collect();
        fn root(of: &mut [usize], mut at: usize) -> usize {
            while of[at] != at {
                of[at] = of[of[at]];
                at = of[at];
            }
            at
        }
        for (a, b, _) in &self.metal {
            let (a, b) = (root(&mut of, *a), root(&mut of, *b));
            of[a] = b;
        }
        (0..self.nodes).map(|at| root(&mut of, at)).collect()
    }

    /// What the meter shows.
    fn read(&self, line: &Line, netlist: &Netlist) -> f64 {
        let node = |end: &End| netlist.end_node(end).expect("it is drawn").index();
        let circuit = self.circuits();
        let joined = || {
            self.parts
                .iter()
                .map(|(a, b, ohm)| (circuit[*a], circuit[*b], *ohm))
        };
        let from = node(&line.from);
        match (&line.to, line.test) {
            (End::Open, _) => {
                let own = circuit[from];
                let siemens: f64 = joined()
                    .filter(|(a, b, _)| (*a == own) != (*b == own))
                    .map(|(.., ohm)| 1.0 / ohm)
                    .fold(0.0, |sum, one| sum + one);
                1.0 / siemens
            }
            (to, Test::Continuity) => ohms(self.metal.iter().copied(), from, node(to)),
            (to, _) if matches!(line.expect, Expect::Probe(_)) => {
                let all = self.metal.iter().chain(&self.parts).copied();
                let own = [circuit[from], circuit[node(to)]];
                let here =
                    all.filter(|(a, b, _)| [a, b].iter().all(|it| own.contains(&circuit[**it])));
                ohms(here, from, node(to))
            }
            (to, _) => ohms(joined(), circuit[from], circuit[node(to)]),
        }
    }
}

/// Ohms between two nodes: nodal equations of what hangs together, solved by elimination.
fn ohms(parts: impl Iterator<Item = Part>, from: usize, to: usize) -> f64 {
    let parts: Vec<Part> = parts.collect();
    let mut at: BTreeMap<usize, Vec<(usize, f64)>> = BTreeMap::new();
    for (a, b, ohm) in &parts {
        let siemens = 1.0 / ohm.max(1e-6);
        at.entry(*a).or_default().push((*b, siemens));
        at.entry(*b).or_default().push((*a, siemens));
    }
    let mut place = BTreeMap::from([(from, 0)]);
    let mut order = vec![from];
    let mut next = 0;
    while next < order.len() {
        for (other, _) in at.get(&order[next]).into_iter().flatten() {
            if !place.contains_key(other) {
                place.insert(*other, order.len());
                order.push(*other);
            }
        }
        next += 1;
    }
    let Some(&to) = place.get(&to) else {
        return f64::INFINITY;
    };
    // One ampere into `from`, out of `to`, which is at 0 V.
    let n = order.len();
    let mut rows = vec![vec![0.0; n + 1]; n];
    for (row, node) in order.iter().enumerate() {
        for (other, siemens) in at.get(node).into_iter().flatten() {
            rows[row][row] += siemens;
            rows[row][place[other]] -= siemens;
        }
    }
    rows[0][n] = 1.0;
    rows[to] = vec![0.0; n + 1];
    rows[to][to] = 1.0;
    for pivot in 0..n {
        let line = rows[pivot].clone();
        for row in rows
            .iter_mut()
            .skip(pivot + 1)
            .filter(|row| row[pivot] != 0.0)
        {
            let times = row[pivot] / line[pivot];
            for (cell, by) in row[pivot..].iter_mut().zip(&line[pivot..]) {
                *cell -= times * by;
            }
        }
    }
    let mut volts = vec![0.0; n];
    for row in (0..n).rev() {
        let known: f64 = (row + 1..n).map(|it| rows[row][it] * volts[it]).sum();
        volts[row] = (rows[row][n] - known) / rows[row][row];
    }
    volts[0]
}

/// Lines that no limit can judge.
fn carry_out(document: &Document) -> (usize, usize) {
    let sheet = RingOut::new(document);
    let mut unjudged = 0;
    for line in &sheet.lines {
        let bench = Bench::new(document, &sheet.netlist, line);
        let ohm = bench.read(line, &sheet.netlist);
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
    let ohm = Bench::new(&built, &netlist, line).read(line, &netlist);
    judge(line, &reading_of(line, ohm))
}

/// What a person enters for a line at which the meter shows these ohms.
fn reading_of(line: &Line, ohm: f64) -> Reading {
    Reading {
        test: line.test,
        from: line.from.clone(),
        to: line.to.clone(),
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
