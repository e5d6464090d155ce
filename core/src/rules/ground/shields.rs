//! Shields that are continuous through connectors and splices, and where they are grounded.

use std::collections::VecDeque;

use petgraph::graph::NodeIndex;

use crate::{
    document::{DeviceKind, End, Role, WireEnd},
    ids::CableId,
    netlist::{EdgeKind, EdgeOf, Netlist, Point},
    order::Sorted,
    rules::Facts,
};

/// Where a run of shields is grounded.
#[derive(Clone, Debug)]
pub struct Tie<'d> {
    /// The cable whose shield comes to it.
    pub cable: &'d CableId,
    /// Which of its ends.
    pub end: WireEnd,
    /// What it is grounded to.
    pub at: End,
}

/// Shields carried on from one to the next.
#[derive(Clone, Debug)]
pub struct Run<'d> {
    /// The cables, by id.
    pub cables: Vec<&'d CableId>,
    /// Where it is grounded, each place once.
    pub ties: Vec<Tie<'d>>,
}

/// What the cores under a shield carry.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Carries {
    /// Audio.
    Audio,
    /// Small signals of sensors.
    Sensors,
    /// Anything else: data, power, ignition.
    Other,
    /// The pins at its ends do not say.
    Unknown,
}

/// Every run of shields, in order of its first cable.
pub fn runs<'d>(facts: &Facts<'d>) -> Vec<Run<'d>> {
    let netlist = facts.netlist();
    let mut seen: Sorted<&CableId> = Sorted::new();
    let mut runs = Vec::new();
    for id in facts.document.cables.keys() {
        if let Some(ends) = netlist.shield(id)
            && !seen.contains(id)
        {
            let run = follow(facts, netlist, id, ends);
            seen.extend(run.cables.iter().copied());
            runs.push(run);
        }
    }
    runs
}

fn follow<'d>(
    facts: &Facts<'d>,
    netlist: &Netlist,
    first: &'d CableId,
    ends: [NodeIndex; 2],
) -> Run<'d> {
    let mut cables = Sorted::from([first]);
    let mut ties: Vec<(NodeIndex, Tie<'d>)> = Vec::new();
    let mut seen: Sorted<NodeIndex> = ends.into();
    // With each node, the end of a shield that led to it.
    let mut queue: VecDeque<(NodeIndex, (&'d CableId, WireEnd))> = VecDeque::from([
        (ends[0], (first, WireEnd::From)),
        (ends[1], (first, WireEnd::To)),
    ]);
    while let Some((node, by)) = queue.pop_front() {
        for edge in netlist.edges_at(node) {
            let weight = &netlist.graph[edge];
            let next = netlist.other(edge, node);
            let passes = match weight.kind {
                EdgeKind::Shield { .. } | EdgeKind::ShieldEnd { .. } | EdgeKind::Mate { .. } => {
                    true
                }
                // A drain wire continues from a splice or a pin.
                EdgeKind::Wire { .. } => is_joint(facts, netlist, node),
                _ => false,
            };
            if !passes || seen.contains(&next) {
                continue;
            }
            seen.insert(next);
            let by = match netlist.of(edge) {
                EdgeOf::ShieldEnd(cable, end) => facts
                    .document
                    .cables
                    .get_key_value(cable)
                    .map_or(by, |(cable, _)| (cable, *end)),
                _ => by,
            };
            match netlist.point(next) {
                Point::Shield(cable, _) => {
                    cables.extend(facts.document.cables.get_key_value(cable).map(|(id, _)| id));
                    queue.push_back((next, by));
                }
                Point::WireOpen(..) => {}
                _ if is_joint(facts, netlist, next) => queue.push_back((next, by)),
                point => {
                    if let Some(at) = end_of(point) {
                        ties.push((
                            next,
                            Tie {
                                cable: by.0,
                                end: by.1,
                                at,
                            },
                        ));
                    }
                }
            }
        }
    }
    Run {
        cables: cables.into_iter().collect(),
        ties: ties.into_iter().map(|(_, tie)| tie).collect(),
    }
}

/// True at a splice and at a pin of an in-line connector: the conductor continues there.
fn is_joint(facts: &Facts<'_>, netlist: &Netlist, node: NodeIndex) -> bool {
    match netlist.point(node) {
        Point::Splice(_) | Point::InFuse(_) => true,
        Point::Terminal(..) => facts
            .terminal_at(node)
            .is_some_and(|at| at.device.kind == DeviceKind::InlineConnector),
        _ => false,
    }
}

fn end_of(point: &Point) -> Option<End> {
    match point {
        Point::Terminal(device, terminal) => Some(End::Terminal(device.clone(), terminal.clone())),
        Point::Structure(place) => Some(End::Structure(place.clone())),
        _ => None,
    }
}

/// What the cores of a run's cables carry, by the roles at their ends.
pub fn carries(facts: &Facts<'_>, run: &Run<'_>) -> Carries {
    let mut found = Carries::Unknown;
    let cores = run
        .cables
        .iter()
        .filter_map(|cable| facts.document.cables.get(*cable))
        .flat_map(|cable| &cable.wires);
    for (_, terminal) in cores
        .filter_map(|wire| facts.conductor_of(wire))
        .flat_map(|it| &it.ends)
    {
        match terminal.role {
            Role::AudioHigh | Role::AudioLow => return Carries::Audio,
            Role::SensorPlus
            | Role::SensorMinus
            | Role::ThermocouplePlus
            | Role::ThermocoupleMinus => found = Carries::Sensors,
            _ if found == Carries::Unknown => found = Carries::Other,
            _ => {}
        }
    }
    found
}
