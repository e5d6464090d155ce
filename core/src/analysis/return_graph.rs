//! The graph of return conductors: audio lows, shields, power grounds, structure, and the contacts
//! and ground links between them. Feeds, signal highs and loads are not in it.

use petgraph::{
    graph::{EdgeIndex, NodeIndex},
    visit::EdgeRef,
};

use crate::{
    document::{BarUse, Document, Role},
    netlist::{Edge, EdgeKind, Groups, Netlist, Point, trace::Returns},
    order::Sorted,
    solve::resistance::edge_ohm,
};

/// What a return conductor is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Class {
    /// Reference side of an audio signal.
    AudioLow,
    /// A shield along its cable.
    Shield,
    /// Power return: wires, ground blocks.
    Ground,
    /// Metal of the airframe.
    Structure,
    /// Contact with metal: the body of a jack, a case, the end of a shield.
    Contact,
    /// Joined inside a device.
    Tie,
}

impl Class {
    /// True if other equipment's current must not flow in it.
    pub fn is_sensitive(self) -> bool {
        matches!(self, Self::AudioLow | Self::Shield)
    }

    /// Its cost in the search for a path around a loop: paths through structure explain a loop
    /// best.
    pub(super) fn cost(self) -> u32 {
        match self {
            Self::Structure => 1,
            Self::Ground | Self::Contact | Self::Tie => 10,
            Self::AudioLow | Self::Shield => 100,
        }
    }
}

/// A return conductor.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Link {
    /// The nodes it runs between.
    pub ends: [usize; 2],
    /// What it is for.
    pub class: Class,
    /// Resistance, ohm; 0 for metal without resistance worth counting.
    pub ohm: f64,
    /// Its edge in the netlist.
    pub edge: EdgeIndex,
}

impl Link {
    /// The other end.
    pub fn other(&self, node: usize) -> usize {
        self.ends[usize::from(self.ends[0] == node)]
    }
}

/// The return conductors of a netlist. Nodes have the numbers they have there.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct ReturnGraph {
    /// Number of nodes.
    pub node_count: usize,
    /// The conductors, in the order of the netlist's edges.
    pub links: Vec<Link>,
}

impl ReturnGraph {
    /// The return conductors of a document's netlist, in any switch position.
    pub fn new(document: &Document, netlist: &Netlist) -> Self {
        let sorting = Sorting::new(document, netlist);
        let link = |edge: EdgeIndex| {
            let (a, b) = netlist.ends(edge);
            let weight = &netlist.graph[edge];
            Some(Link {
                ends: [a.index(), b.index()],
                class: sorting.class(weight, a, b)?,
                ohm: edge_ohm(&weight.kind, document.project.conductor_c).unwrap_or(0.0),
                edge,
            })
        };
        Self {
            node_count: netlist.graph.node_count(),
            links: netlist.graph.edge_indices().filter_map(link).collect(),
        }
    }

    /// By node: the links at it.
    pub(super) fn beside(&self) -> Vec<Vec<usize>> {
        let mut beside = vec![Vec::new(); self.node_count];
        for (at, link) in self.links.iter().enumerate() {
            beside[link.ends[0]].push(at);
            beside[link.ends[1]].push(at);
        }
        beside
    }
}

/// What it takes to classify a conductor.
struct Sorting {
    returns: Returns,
    /// Groups of nodes that wires, mated pins and splices join end to end.
    conductors: Groups,
    /// Conductors with an audio low on them.
    low: Sorted<u32>,
    /// Terminals of audio lows and shields.
    quiet: Vec<bool>,
}

impl Sorting {
    fn new(document: &Document, netlist: &Netlist) -> Self {
        let conductors = netlist.end_to_end();
        let mut low = Sorted::new();
        let mut quiet = vec![false; netlist.graph.node_count()];
        for node in netlist.graph.node_indices() {
            match role(document, netlist, node) {
                Some(Role::AudioLow) => {
                    low.insert(conductors.of(node));
                    quiet[node.index()] = true;
                }
                Some(Role::ShieldTie) => quiet[node.index()] = true,
                _ => {}
            }
        }
        for edge in netlist.graph.edge_references() {
            if matches!(edge.weight().kind, EdgeKind::ShieldEnd { .. }) {
                quiet[edge.target().index()] = true;
            }
        }
        Self {
            returns: Returns::new(netlist),
            conductors,
            low,
            quiet,
        }
    }

    fn class(&self, edge: &Edge, a: NodeIndex, b: NodeIndex) -> Option<Class> {
        let returns = self.returns.has(a) && self.returns.has(b);
        match edge.kind {
            EdgeKind::Shield { .. } => Some(Class::Shield),
            EdgeKind::ShieldEnd { .. } | EdgeKind::JackTie(_) | EdgeKind::Tie { .. } => {
                Some(Class::Contact)
            }
            EdgeKind::Bond { .. } => Some(Class::Structure),
            EdgeKind::Wire { .. } | EdgeKind::Mate { .. }
                if self.low.contains(&self.conductors.of(a)) =>
            {
                Some(Class::AudioLow)
            }
            // A shield carried through a connector is not a power return.
            EdgeKind::Mate { .. } if self.quiet[a.index()] || self.quiet[b.index()] => {
                Some(Class::Tie)
            }
            EdgeKind::Bar(BarUse::Joint)
                if returns || self.quiet[a.index()] || self.quiet[b.index()] =>
            {
                Some(Class::Tie)
            }
            EdgeKind::Wire { .. }
            | EdgeKind::Mate { .. }
            | EdgeKind::Shunt { .. }
            | EdgeKind::Bar(BarUse::Ground)
                if returns =>
            {
                Some(Class::Ground)
            }
            _ => None,
        }
    }
}

/// The role of the terminal at a node.
pub(crate) fn role(document: &Document, netlist: &Netlist, node: NodeIndex) -> Option<Role> {
    let Point::Terminal(device, terminal) = netlist.point(node) else {
        return None;
    };
    Some(document.devices.get(device)?.terminal(terminal)?.role)
}

/// Conductors, by their group, with an audio terminal on them.
pub(crate) fn with_audio(
    document: &Document,
    netlist: &Netlist,
    conductors: &Groups,
) -> Sorted<u32> {
    let is_audio = |node: &NodeIndex| {
        matches!(
            role(document, netlist, *node),
            Some(Role::AudioHigh | Role::AudioLow)
        )
    };
    let nodes = netlist.graph.node_indices().filter(is_audio);
    nodes.map(|node| conductors.of(node)).collect()
}
