//! Reversing motors: the switches and relays between a motor and its supply, and what the motor then does.

use petgraph::{
    graph::{EdgeIndex, NodeIndex},
    unionfind::UnionFind,
};

use crate::{
    document::{BarUse, ElementKind},
    ids::{DeviceId, ElementId},
    netlist::{AtNode, EdgeKind, EdgeOf, Netlist, Through},
    order::Sorted,
    rules::Facts,
};

/// How many layers of switches and relays are traced from the motor.
const MOST_LAYERS: usize = 4;

/// Motors that run in both directions, each with its device and element.
pub(super) fn motors<'f>(facts: &'f Facts<'_>) -> Vec<(EdgeIndex, (&'f DeviceId, &'f ElementId))> {
    let netlist = facts.netlist();
    let motors = netlist.loads().filter(|(_, load)| load.either_way);
    let placed = |(edge, _)| match netlist.of(edge) {
        EdgeOf::Element(device, element, _) => Some((edge, (device, element))),
        _ => None,
    };
    motors.filter_map(placed).collect()
}

/// A switch, or the coil of contacts, between a motor and its supply.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Setter {
    pub(super) name: String,
    pub(super) settings: usize,
    /// The labels of a switch's positions.
    pub(super) labels: Vec<String>,
    /// Each edge with the settings that close it, one bit each.
    pub(super) edges: Vec<(EdgeIndex, u64)>,
}

/// The state of a motor in one combination of its setters.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum MotorState {
    Rests,
    Forwards,
    Backwards,
}

/// The switches and relays between a motor and its supply, nearest first.
pub(super) fn setters(facts: &Facts<'_>, metal: &[u32], leads: [usize; 2]) -> Vec<Setter> {
    let netlist = facts.netlist();
    let mut setters: Vec<Setter> = Vec::new();
    // The metal on the motor's side of the setters. Where supply and return are not yet separate, there
    // are more setters beyond.
    let mut near: Sorted<u32> = leads.iter().map(|it| metal[*it]).collect();
    for _ in 0..MOST_LAYERS {
        let sides = Sides::new(facts, metal, &setters);
        let mut more = Vec::new();
        for edge in netlist.graph.edge_indices() {
            let (a, b) = netlist.ends(edge);
            let touches = [a, b].into_iter().any(|node| {
                let group = metal[node.index()];
                near.contains(&group) && !sides.is_pure(group)
            });
            if touches
                && let Some(setter) = setter_of(facts, edge)
                && !setters.iter().chain(&more).any(|it: &Setter| *it == setter)
            {
                more.push(setter);
            }
        }
        if more.is_empty() {
            break;
        }
        for (edge, _) in more.iter().flat_map(|it| &it.edges) {
            let (a, b) = netlist.ends(*edge);
            near.insert(metal[a.index()]);
            near.insert(metal[b.index()]);
        }
        setters.extend(more);
    }
    setters
}

/// The group that each node belongs to, connected by metal, breakers and fuses.
pub(super) fn metal(netlist: &Netlist) -> Vec<u32> {
    let groups = netlist.groups(Through::METAL.and(Through::PROTECTORS));
    netlist
        .graph
        .node_indices()
        .map(|node| groups.of(node))
        .collect()
}

fn setter_of(facts: &Facts<'_>, edge: EdgeIndex) -> Option<Setter> {
    let netlist = facts.netlist();
    let EdgeOf::Element(device, element, _) = netlist.of(edge) else {
        return None;
    };
    let name = facts.label((device, element));
    match netlist.graph[edge].kind {
        EdgeKind::Switch { .. } => {
            let record = facts.device(device)?.element(element)?;
            let ElementKind::Switch(switch) = &record.is else {
                return None;
            };
            let edges = netlist.element_edges(device.as_str(), element.as_str());
            let edges = edges.filter_map(|edge| match netlist.graph[edge].kind {
                EdgeKind::Switch { made_in, .. } => Some((edge, made_in)),
                _ => None,
            });
            Some(Setter {
                name,
                settings: switch.positions.len().clamp(1, 64),
                labels: switch.positions.iter().map(|it| it.label.clone()).collect(),
                edges: edges.collect(),
            })
        }
        EdgeKind::Contact {
            coil: Some(coil), ..
        } => {
            let contacts =
                netlist
                    .graph
                    .edge_indices()
                    .filter_map(|other| match netlist.graph[other].kind {
                        EdgeKind::Contact {
                            coil: Some(own),
                            made_energised,
                            ..
                        } if own == coil => Some((other, if made_energised { 0b10 } else { 0b01 })),
                        _ => None,
                    });
            let EdgeOf::Element(device, element, _) = netlist.of(coil) else {
                return None;
            };
            Some(Setter {
                name: facts.label((device, element)),
                settings: 2,
                labels: Vec::new(),
                edges: contacts.collect(),
            })
        }
        _ => None,
    }
}

/// Which metal is on the supply and which on the return, with any position of all but some setters.
pub(super) struct Sides {
    pub(super) supply: Sorted<u32>,
    home: Sorted<u32>,
}

impl Sides {
    pub(super) fn new(facts: &Facts<'_>, metal: &[u32], setters: &[Setter]) -> Self {
        let netlist = facts.netlist();
        let returns = facts.returns();
        // A change-over contact has the supply on one side and the return on the other: neither trace
        // may go through it to the other side.
        let supplies = netlist.graph.edge_indices().filter_map(|edge| {
            let (a, _) = netlist.ends(edge);
            let kind = &netlist.graph[edge].kind;
            let begins = matches!(
                kind,
                EdgeKind::Protector { .. } | EdgeKind::Bar(BarUse::Bus)
            );
            (begins || kind.is_source()).then_some(metal[a.index()])
        });
        let supplies: Sorted<u32> = supplies.collect();
        let begins =
            |node: NodeIndex| !returns.has(node) && supplies.contains(&metal[node.index()]);
        let passes = |edge: EdgeIndex, forward: bool| {
            let is_set = setters
                .iter()
                .any(|it| it.edges.iter().any(|(own, _)| *own == edge));
            let through = Through::CLOSABLE.and(Through::DIODES);
            !is_set && through.passes(&netlist.graph[edge], forward)
        };
        let plus = netlist.sources().map(|source| netlist.ends(source).0);
        let fed = netlist.reach_by(plus, passes, |node| AtNode::stop_if(returns.has(node)));
        let all_home = netlist
            .graph
            .node_indices()
            .filter(|node| returns.has(*node));
        let drained = netlist.reach_by(all_home, passes, |node| AtNode::stop_if(begins(node)));
        let of = |node: &NodeIndex| metal[node.index()];
        let supply = fed.nodes.iter().filter(|node| !returns.has(**node)).map(of);
        let home = drained.nodes.iter().filter(|node| !begins(**node)).map(of);
        Self {
            supply: supply.collect(),
            home: home.collect(),
        }
    }

    /// True if the group is on one side and not on the other.
    fn is_pure(&self, group: u32) -> bool {
        self.supply.contains(&group) != self.home.contains(&group)
    }

    /// What the motor does with its setters in one combination.
    pub(super) fn does(
        &self,
        netlist: &Netlist,
        metal: &[u32],
        setters: &[Setter],
        leads: [usize; 2],
        mut way: usize,
    ) -> MotorState {
        let mut together = UnionFind::<u32>::new(metal.len());
        for setter in setters {
            let setting = way % setter.settings;
            way /= setter.settings;
            for (edge, closed) in &setter.edges {
                if (closed >> setting) & 1 == 1 {
                    let (a, b) = netlist.ends(*edge);
                    together.union(metal[a.index()], metal[b.index()]);
                }
            }
        }
        let on = |side: &Sorted<u32>, lead: usize| {
            side.iter().any(|group| together.equiv(*group, metal[lead]))
        };
        let [a, b] = leads.map(|lead| (on(&self.supply, lead), on(&self.home, lead)));
        match (a, b) {
            ((true, false), (false, true)) => MotorState::Forwards,
            ((false, true), (true, false)) => MotorState::Backwards,
            _ => MotorState::Rests,
        }
    }
}
