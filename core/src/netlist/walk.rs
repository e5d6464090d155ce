//! Walks over the graph: which edges pass, which nodes are connected, and the path between them.

use std::collections::VecDeque;

use petgraph::{
    graph::{EdgeIndex, NodeIndex},
    unionfind::UnionFind,
    visit::EdgeRef,
};

use super::{Edge, EdgeKind, EdgeOf, Netlist};
use crate::document::BarUse;

/// The edges that a walk passes. Start from a constant and add or remove kinds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Through(u16);

impl Through {
    /// Nothing.
    pub const NOTHING: Self = Self(0);
    /// Wires, shunts and bars used as power bus or joint.
    pub const WIRES: Self = Self(1);
    /// Mated pins of in-line connectors.
    pub const MATES: Self = Self(1 << 1);
    /// Shields and their pigtails.
    pub const SHIELDS: Self = Self(1 << 2);
    /// Bars used as ground.
    pub const GROUND_BARS: Self = Self(1 << 3);
    /// Structure: ground links, jack bodies, bonds.
    pub const STRUCTURE: Self = Self(1 << 4);
    /// Breakers, fuses, limiters.
    pub const PROTECTORS: Self = Self(1 << 5);
    /// Every path that a switch can close.
    pub const SWITCHES: Self = Self(1 << 6);
    /// Every contact.
    pub const CONTACTS: Self = Self(1 << 7);
    /// Diodes from anode to cathode.
    pub const DIODES: Self = Self(1 << 8);
    /// Diodes from cathode to anode.
    pub const DIODES_BACK: Self = Self(1 << 9);
    /// Resistors.
    pub const RESISTORS: Self = Self(1 << 10);
    /// Coils.
    pub const COILS: Self = Self(1 << 11);
    /// Only edges that are closed now; open ones are skipped.
    pub const AS_SET: Self = Self(1 << 15);

    /// Metal that always connects.
    pub const METAL: Self = Self::WIRES
        .and(Self::MATES)
        .and(Self::SHIELDS)
        .and(Self::GROUND_BARS)
        .and(Self::STRUCTURE);
    /// Metal, and anything that can be closed: protectors, switches in any position, contacts.
    pub const CLOSABLE: Self = Self::METAL
        .and(Self::PROTECTORS)
        .and(Self::SWITCHES)
        .and(Self::CONTACTS);
    /// Metal, and anything that is closed now.
    pub const CLOSED: Self = Self::CLOSABLE.and(Self::AS_SET);

    /// Union of both.
    #[must_use]
    pub const fn and(self, other: Self) -> Self {
        Self(self.0 | other.0)
    }

    /// Difference of both.
    #[must_use]
    pub const fn without(self, other: Self) -> Self {
        Self(self.0 & !other.0)
    }

    const fn has(self, other: Self) -> bool {
        self.0 & other.0 == other.0
    }

    /// True if a walk may pass the edge; `forward` from its first end to its second.
    pub fn passes(self, edge: &Edge, forward: bool) -> bool {
        if !edge.closed && self.has(Self::AS_SET) {
            return false;
        }
        self.has(match edge.kind {
            EdgeKind::Wire { .. }
            | EdgeKind::Shunt { .. }
            | EdgeKind::Bar(BarUse::Bus | BarUse::Joint) => Self::WIRES,
            EdgeKind::Mate { .. } => Self::MATES,
            EdgeKind::Shield { .. } | EdgeKind::ShieldEnd { .. } => Self::SHIELDS,
            EdgeKind::Bar(BarUse::Ground) => Self::GROUND_BARS,
            EdgeKind::Tie { .. } | EdgeKind::JackTie(_) | EdgeKind::Bond { .. } => Self::STRUCTURE,
            EdgeKind::Protector { .. } => Self::PROTECTORS,
            EdgeKind::Switch { .. } => Self::SWITCHES,
            EdgeKind::Contact { .. } => Self::CONTACTS,
            EdgeKind::Diode { .. } if forward => Self::DIODES,
            EdgeKind::Diode { .. } => Self::DIODES_BACK,
            EdgeKind::Resistor { .. } => Self::RESISTORS,
            EdgeKind::Coil { .. } => Self::COILS,
            EdgeKind::Load | EdgeKind::Battery { .. } | EdgeKind::Alternator { .. } => {
                return false;
            }
        })
    }
}

/// Groups of connected nodes.
#[derive(Clone, Debug)]
pub struct Groups(Vec<u32>);

impl Groups {
    /// The number of a node's group: the lowest index of its nodes.
    pub fn of(&self, node: NodeIndex) -> u32 {
        self.0[node.index()]
    }

    /// True if both nodes are connected.
    pub fn same(&self, a: NodeIndex, b: NodeIndex) -> bool {
        self.of(a) == self.of(b)
    }
}

/// The result of a walk, with the paths back.
#[derive(Clone, Debug)]
pub struct Reach {
    /// By node: how it was reached.
    from: Vec<From>,
    /// Nodes in the order reached.
    pub nodes: Vec<NodeIndex>,
    /// Edges passed or touched, each once, in order of first touch.
    pub edges: Vec<EdgeIndex>,
}

/// How a walk reached a node.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum From {
    Nowhere,
    Start,
    Edge(EdgeIndex),
}

impl Reach {
    /// True if the node was reached.
    pub fn has(&self, node: NodeIndex) -> bool {
        self.from[node.index()] != From::Nowhere
    }

    /// The edges from a start to this node; `None` if it was not reached.
    pub fn path(&self, netlist: &Netlist, node: NodeIndex) -> Option<Vec<EdgeIndex>> {
        let mut path = Vec::new();
        let mut at = node;
        loop {
            match self.from[at.index()] {
                From::Nowhere => return None,
                From::Start => break,
                From::Edge(edge) => {
                    path.push(edge);
                    at = netlist.other(edge, at);
                }
            }
        }
        path.reverse();
        Some(path)
    }
}

/// What a walk does at a reached node.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum AtNode {
    /// Continues from it.
    GoOn,
    /// Includes it and does not continue from it.
    Stop,
}

impl AtNode {
    /// Stops where `stops` is true.
    pub fn stop_if(stops: bool) -> Self {
        if stops { Self::Stop } else { Self::GoOn }
    }
}

impl Netlist {
    /// Groups of nodes connected through `through`, in either direction. O(nodes + edges).
    pub fn groups(&self, through: Through) -> Groups {
        self.groups_by(|_, edge| through.passes(edge, true) || through.passes(edge, false))
    }

    /// Groups of nodes that wires, mated pins and splices connect end to end: the conductor of a
    /// signal, without connections inside devices.
    pub fn end_to_end(&self) -> Groups {
        self.groups_by(|index, edge| {
            matches!(edge.kind, EdgeKind::Wire { .. } | EdgeKind::Mate { .. })
                || matches!(self.of(index), EdgeOf::InlineFuse(_))
        })
    }

    fn groups_by(&self, joins: impl Fn(EdgeIndex, &Edge) -> bool) -> Groups {
        let mut groups = UnionFind::<u32>::new(self.graph.node_count());
        for edge in self.graph.edge_indices() {
            if joins(edge, &self.graph[edge]) {
                let (a, b) = self.ends(edge);
                groups.union(a.index() as u32, b.index() as u32);
            }
        }
        let mut lowest = vec![u32::MAX; self.graph.node_count()];
        let labels = groups.into_labeling();
        for (node, &label) in labels.iter().enumerate() {
            let low = &mut lowest[label as usize];
            *low = (*low).min(node as u32);
        }
        Groups(
            labels
                .into_iter()
                .map(|label| lowest[label as usize])
                .collect(),
        )
    }

    /// Breadth first from `starts`, through edges that `through` passes. `at_node` decides at each
    /// reached node, except at the starts.
    pub fn reach(
        &self,
        starts: impl IntoIterator<Item = NodeIndex>,
        through: Through,
        at_node: impl Fn(NodeIndex) -> AtNode,
    ) -> Reach {
        self.reach_by(
            starts,
            |edge, forward| through.passes(&self.graph[edge], forward),
            at_node,
        )
    }

    /// The same with any choice of edges; `passes` gets true for the forward direction.
    pub fn reach_by(
        &self,
        starts: impl IntoIterator<Item = NodeIndex>,
        passes: impl Fn(EdgeIndex, bool) -> bool,
        at_node: impl Fn(NodeIndex) -> AtNode,
    ) -> Reach {
        let mut reach = Reach {
            from: vec![From::Nowhere; self.graph.node_count()],
            nodes: Vec::new(),
            edges: Vec::new(),
        };
        let mut touched = vec![false; self.graph.edge_count()];
        let mut queue = VecDeque::new();
        for start in starts {
            if !reach.has(start) {
                reach.from[start.index()] = From::Start;
                reach.nodes.push(start);
                queue.push_back(start);
            }
        }
        while let Some(node) = queue.pop_front() {
            for edge in self.edges_at(node) {
                let (a, _) = self.ends(edge);
                if !passes(edge, a == node) {
                    continue;
                }
                if !std::mem::replace(&mut touched[edge.index()], true) {
                    reach.edges.push(edge);
                }
                let next = self.other(edge, node);
                if !reach.has(next) {
                    reach.from[next.index()] = From::Edge(edge);
                    reach.nodes.push(next);
                    if at_node(next) == AtNode::GoOn {
                        queue.push_back(next);
                    }
                }
            }
        }
        reach
    }

    /// The edges at a node.
    pub fn edges_at(&self, node: NodeIndex) -> impl Iterator<Item = EdgeIndex> {
        self.graph.edges(node).map(|edge| edge.id())
    }
}
