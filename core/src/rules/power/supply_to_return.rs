//! Power wired to ground with nothing in between.

use std::collections::VecDeque;

use petgraph::graph::{EdgeIndex, NodeIndex};

use crate::{
    netlist::{EdgeKind, EdgeOf, Netlist, Through},
    order::{Map, Sorted},
    rules::{facts::Facts as Known, prelude::*},
};

/// Power wired to ground with nothing in between.
pub const RULE: Rule = Rule {
    slug: "supply-to-return",
    title: "Short circuit: power wired to ground",
    level: Level::Hazard,
    why: "Only the wire limits the current of a short circuit. Where no breaker or fuse opens, its \
          insulation burns, and that of its neighbors with it.",
    sources: &[
        cite(AC_43_13_1B_1998, "par 11-47 to 11-49, circuit protection"),
        cite(CFR_14_23, "23.1357, circuit protective devices"),
    ],
    reads: Reads::ALL,
    check,
};

/// What a short can go through: anything that can be closed, diodes forward.
const SHORT: Through = Through::CLOSABLE.and(Through::DIODES);

fn check(facts: &Facts<'_>, out: &mut Findings<'_, '_>) {
    let netlist = facts.netlist();
    let mut told = Sorted::new();
    for source in netlist.sources() {
        let EdgeOf::Element(device, element, _) = netlist.of(source) else {
            continue;
        };
        out.clear((device, element));
    }
    for edge in netlist.graph.edge_indices() {
        let (a, b) = netlist.ends(edge);
        for (near, far, forward) in [(a, b, true), (b, a, false)] {
            let crosses = facts.returns().has(far)
                && !facts.returns().has(near)
                && facts.feeds().reach(near)
                && SHORT.passes(&netlist.graph[edge], forward);
            if !crosses {
                continue;
            }
            let Some(fed_by) = feeding_path(facts, edge, near, &Positions::default(), 0) else {
                continue;
            };
            let home = netlist
                .return_path(facts.returns(), far)
                .unwrap_or_default();
            let primary = primary(netlist, &fed_by, edge, &home);
            if told.insert(primary) {
                report(facts, out, &fed_by, edge, &home, primary);
            }
        }
    }
}

/// The edge that looks wrong: the last wire before returns meet; without one, the last wire of the
/// feed; without that, the part that makes the connection.
fn primary(
    netlist: &Netlist,
    fed_by: &[EdgeIndex],
    edge: EdgeIndex,
    home: &[EdgeIndex],
) -> EdgeIndex {
    let is_wire = |edge: &&EdgeIndex| matches!(netlist.of(**edge), EdgeOf::Wire(_));
    let across: Vec<EdgeIndex> = std::iter::once(edge).chain(home.iter().copied()).collect();
    *across
        .iter()
        .rfind(is_wire)
        .or_else(|| fed_by.iter().rfind(is_wire))
        .unwrap_or(&edge)
}

fn report(
    facts: &Facts<'_>,
    out: &mut Findings<'_, '_>,
    fed_by: &[EdgeIndex],
    edge: EdgeIndex,
    home: &[EdgeIndex],
    primary: EdgeIndex,
) {
    let netlist = facts.netlist();
    let mut path = fed_by.to_vec();
    path.push(edge);
    path.extend_from_slice(home);
    let subject = |edge: EdgeIndex| Known::subject_of(netlist.of(edge));
    let mut names: Vec<String> = path
        .iter()
        .map(|&edge| facts.label(subject(edge)))
        .collect();
    names.dedup();
    let protector = path
        .iter()
        .rev()
        .find_map(|&edge| match netlist.graph[edge].kind {
            EdgeKind::Protector { rating_a, .. } => Some((edge, rating_a)),
            _ => None,
        });
    let held_by = match protector {
        Some((edge, rating_a)) => {
            format!("only {} ({})", facts.label(subject(edge)), rating(rating_a))
        }
        None => "no breaker or fuse".into(),
    };
    let mut report = out
        .finding(subject(primary))
        .says(format!(
            "{} connects power to ground with no load between; {held_by} protects it",
            facts.label(subject(primary))
        ))
        .working(format!("path: {}", names.join(", ")))
        .help("disconnect it from the return side, or wire it through the load it was meant for");
    for &edge in &path {
        report = report.also(subject(edge));
    }
    if let EdgeOf::Wire(wire) = netlist.of(primary) {
        let record = &facts.document.wires[wire];
        let anchored = |end: &End| {
            netlist
                .end_node(end)
                .is_some_and(|node| facts.returns().is_anchor(node))
        };
        let (end, which) = match anchored(&record.to) {
            true => (&record.to, WireEnd::To),
            false => (&record.from, WireEnd::From),
        };
        let change = facts.change_wire(wire, |wire| match which {
            WireEnd::From => wire.from = End::Open,
            WireEnd::To => wire.to = End::Open,
        });
        report.mend(
            format!(
                "Disconnect {} from {}",
                facts.label(wire),
                facts.end_label(end)
            ),
            MendKind::Ask,
            change,
        );
    }
}

/// The switch positions and coil states that a path needs.
#[derive(Clone, Default)]
struct Positions {
    /// By switch element: the positions still possible, one bit each.
    switches: Map<(DeviceKey, ElementKey), u64>,
    /// By coil: energized or not.
    coils: Map<EdgeIndex, bool>,
}

type DeviceKey = crate::ids::DeviceId;
type ElementKey = crate::ids::ElementId;

/// How many switches of one path are tried one position at a time, at most: a path on which more of them
/// contradict each other is not reported as a short.
const SWITCHES_MAX: usize = 6;

/// A path from a breaker, fuse or source to `near` and across `last`, on which no switch has to be in two positions
/// at once and no coil both on and off. The breaker or fuse is fed (from `Feeds`).
fn feeding_path(
    facts: &Facts<'_>,
    last: EdgeIndex,
    near: NodeIndex,
    stand: &Positions,
    depth: usize,
) -> Option<Vec<EdgeIndex>> {
    let netlist = facts.netlist();
    if !stand.allows(netlist, last) {
        return None;
    }
    let mut path = search(facts, last, near, stand)?;
    path.push(last);
    let choices = stand.conflict(netlist, &path);
    path.pop();
    match choices {
        None => Some(path),
        Some(_) if depth == SWITCHES_MAX => None,
        Some(choices) => choices
            .iter()
            .find_map(|stand| feeding_path(facts, last, near, stand, depth + 1)),
    }
}

/// Breadth first, against the current, as far as the nearest fed breaker, fuse or source.
fn search(
    facts: &Facts<'_>,
    last: EdgeIndex,
    near: NodeIndex,
    stand: &Positions,
) -> Option<Vec<EdgeIndex>> {
    let netlist = facts.netlist();
    let mut by: Map<NodeIndex, Option<EdgeIndex>> = Map::from([(near, None)]);
    let mut queue = VecDeque::from([near]);
    let path = |by: &Map<NodeIndex, Option<EdgeIndex>>, from: NodeIndex| {
        let mut path = Vec::new();
        let mut at = from;
        while let Some(edge) = by.get(&at).copied().flatten() {
            path.push(edge);
            at = netlist.other(edge, at);
        }
        path
    };
    while let Some(node) = queue.pop_front() {
        for edge in netlist.edges_at(node) {
            let weight = &netlist.graph[edge];
            let next = netlist.other(edge, node);
            if weight.kind.is_source() && netlist.ends(edge).0 == node {
                return Some(path(&by, node));
            }
            let forward = netlist.ends(edge).0 == next;
            if edge == last
                || facts.returns().has(next)
                || by.contains_key(&next)
                || !SHORT.passes(weight, forward)
                || !stand.allows(netlist, edge)
            {
                continue;
            }
            by.insert(next, Some(edge));
            if matches!(weight.kind, EdgeKind::Protector { .. }) && facts.feeds().reach(next) {
                return Some(path(&by, next));
            }
            queue.push_back(next);
        }
    }
    None
}

impl Positions {
    fn allows(&self, netlist: &Netlist, edge: EdgeIndex) -> bool {
        match (&netlist.graph[edge].kind, netlist.of(edge)) {
            (EdgeKind::Switch { made_in, .. }, EdgeOf::Element(device, element, _)) => self
                .switches
                .get(&(device.clone(), element.clone()))
                .is_none_or(|mask| mask & made_in != 0),
            (
                EdgeKind::Contact {
                    coil: Some(coil),
                    made_energised,
                    ..
                },
                _,
            ) => self
                .coils
                .get(coil)
                .is_none_or(|energised| energised == made_energised),
            _ => true,
        }
    }

    /// None if one set of positions serves the whole path; else the positions left to try for the first
    /// switch or coil that would have to be in two at once.
    fn conflict(&self, netlist: &Netlist, path: &[EdgeIndex]) -> Option<Vec<Self>> {
        let mut made: Map<(DeviceKey, ElementKey), (u64, u64)> = Map::new();
        let mut coils: Map<EdgeIndex, bool> = Map::new();
        for &edge in path {
            match (&netlist.graph[edge].kind, netlist.of(edge)) {
                (EdgeKind::Switch { made_in, .. }, EdgeOf::Element(device, element, _)) => {
                    let key = (device.clone(), element.clone());
                    let mask = self.switches.get(&key).copied().unwrap_or(u64::MAX);
                    let (all, any) = made.or_insert(key.clone(), (mask, 0));
                    *all &= made_in;
                    *any |= made_in & mask;
                    if *all == 0 {
                        let positions = (0..64).filter(|bit| *any >> bit & 1 == 1);
                        return Some(
                            positions
                                .map(|bit| {
                                    let mut stand = self.clone();
                                    stand.switches.insert(key.clone(), 1 << bit);
                                    stand
                                })
                                .collect(),
                        );
                    }
                }
                (
                    EdgeKind::Contact {
                        coil: Some(coil),
                        made_energised,
                        ..
                    },
                    _,
                ) if coils
                    .insert(*coil, *made_energised)
                    .is_some_and(|other| other != *made_energised) =>
                {
                    return Some(
                        [true, false]
                            .map(|energised| {
                                let mut stand = self.clone();
                                stand.coils.insert(*coil, energised);
                                stand
                            })
                            .to_vec(),
                    );
                }
                _ => {}
            }
        }
        None
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::testing::{check_mend, check_rule};

    const POWER: &str = "
        battery BT1
        ground GB1 STUD T1 T2 T3
        bus MBUS CB1=5 CB4=10
        load LT1 1
        switch S5 1-2
        wire P1 BT1.- GB1.STUD 2 0.3m
        wire P2 BT1.+ MBUS.STUD 8 0.1m fuse=50
        wire W1 MBUS.CB1 S5.1 22 1m
        wire W2 S5.2 LT1.+ 22 1m
        wire W3 LT1.- GB1.T1 22 1m
    ";

    #[test]
    fn finds_a_wire_from_supply_to_return() {
        let text = format!("{POWER} wire W4 S5.2 GB1.T2 22 1m #! supply-to-return");
        let verdict = check_rule(&RULE, &text);
        assert_eq!(
            verdict.findings[0].message,
            "W4 connects power to ground with no load between; only MBUS CB1 (5 A) protects it"
        );
        check_mend(&RULE, &text);
    }

    #[test]
    fn finds_a_bus_on_the_ground_block_and_a_reversed_diode() {
        check_rule(
            &RULE,
            &format!(
                "{POWER}
                diode D1
                wire W4 MBUS.STUD GB1.T2 #! supply-to-return
                "
            ),
        );
        check_rule(
            &RULE,
            &format!(
                "{POWER}
                diode D1
                wire W4 MBUS.CB4 D1.A
                wire W5 D1.K GB1.T3 #! supply-to-return
                "
            ),
        );
    }

    #[test]
    fn accepts_loads_resistors_coils_and_a_suppressor_diode() {
        check_rule(
            &RULE,
            &format!(
                "{POWER}
                diode D1
                resistor R1 100
                contactor K1 BAT LOAD C1 C2
                wire W4 MBUS.CB4 K1.C1
                wire W5 K1.C2 GB1.T2
                wire W6 MBUS.CB4 D1.K
                wire W7 D1.A GB1.T3
                wire W8 MBUS.CB4 R1.1
                wire W9 R1.2 GB1.T3
                "
            ),
        );
    }

    /// A reversing switch reaches from supply to return only by two positions at once.
    #[test]
    fn accepts_a_reversing_switch_with_its_jumpers() {
        let reversing = format!(
            "{POWER}
            throw S7 UP:2-1,5-4 OFF: DN:2-3,5-6
            load M3 7 either
            wire C1A MBUS.CB4 S7.2
            wire C1B S7.1 M3.+
            wire C1C S7.4 M3.-
            wire C1D S7.5 GB1.T2
            wire C1E S7.3 S7.4
            wire C1F S7.6 S7.1
            "
        );
        check_rule(&RULE, &reversing);
        // The same with a jumper on the wrong tab is a short in one position.
        check_rule(
            &RULE,
            &reversing
                .replace("wire C1F S7.6 S7.1", "wire C1F S7.4 S7.2")
                .replace(
                    "wire C1D S7.5 GB1.T2",
                    "wire C1D S7.5 GB1.T2 #! supply-to-return",
                ),
        );
    }
}
