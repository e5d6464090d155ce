//! The connections of a document, with its switch positions, as a graph.
//!
//! One graph serves every state: each path a switch can make is an edge, and [`Edge::closed`] says
//! whether it is closed now. It holds the document's figures and uses no tables or rules.

mod assumed;
mod build;
mod ends;
mod inside;
mod standing;
pub mod trace;
mod walk;

use std::ops::Range;

use crate::order::Map;

use petgraph::graph::{EdgeIndex, NodeIndex, UnGraph};
use rustc_hash::FxHashMap;

pub use self::assumed::{BOND_OHM, PROTECTOR_OHM, SHIELD_GAUGE};
pub use self::ends::Ends;
pub use self::walk::{AtNode, Groups, Reach, Through};
use crate::{
    document::{BarUse, ConductorKind, End, JackUse, Load, LoadLaw, WireEnd},
    ids::{CableId, DeviceId, ElementId, PlaceId, SpliceId, TerminalId, WireId},
    units::Gauge,
};

/// A point where conductors meet.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Point {
    /// A terminal of a device.
    Terminal(DeviceId, TerminalId),
    /// A splice.
    Splice(SpliceId),
    /// The metal of a conductive place.
    Structure(PlaceId),
    /// One end of a shield.
    Shield(CableId, WireEnd),
    /// An end of a wire at nothing conductive.
    WireOpen(WireId, WireEnd),
    /// The joint between a wire and its in-line fuse.
    InFuse(WireId),
}

/// The record that an edge represents.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum EdgeOf {
    /// A wire.
    Wire(WireId),
    /// The in-line fuse of a wire.
    InlineFuse(WireId),
    /// A shield along its cable.
    Shield(CableId),
    /// The termination of a shield's end: a pigtail or a pin.
    ShieldEnd(CableId, WireEnd),
    /// An element of a device; a bar or switch has several parts.
    Element(DeviceId, ElementId, usize),
    /// The bond of one place's metal to another's.
    Bond(PlaceId),
}

impl EdgeKind {
    /// True for a wire whose length or gauge is not set: its resistance is not known.
    pub fn is_unknown_wire(&self) -> bool {
        matches!(
            self,
            Self::Wire { length_m: None, .. } | Self::Wire { gauge: None, .. }
        )
    }
}

/// The kind of an edge, with the document's figures. The first end of the edge is the positive, the
/// anode, or the line side.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum EdgeKind {
    /// A wire.
    Wire {
        /// Length, m, if known.
        length_m: Option<f64>,
        /// Size, if known.
        gauge: Option<Gauge>,
        /// Material.
        conductor: ConductorKind,
        /// Resistance of the splices at its ends, ohm.
        joint_ohm: f64,
    },
    /// A shield along its cable.
    Shield {
        /// Length of its longest core, m, if known.
        length_m: Option<f64>,
        /// Equivalent copper size of the braid.
        gauge: Gauge,
    },
    /// The termination of a shield's end.
    ShieldEnd {
        /// Length of the pigtail, m; 0 if not set.
        length_m: f64,
        /// Equivalent copper size.
        gauge: Gauge,
    },
    /// A mated pair of pins.
    Mate {
        /// Contact resistance, ohm.
        ohm: f64,
    },
    /// Metal with negligible resistance.
    Bar(BarUse),
    /// A shunt.
    Shunt {
        /// Resistance, ohm.
        ohm: f64,
    },
    /// A resistor.
    Resistor {
        /// Resistance, ohm.
        ohm: f64,
    },
    /// A ground link from a terminal to the metal of its place.
    Tie {
        /// Resistance, ohm.
        ohm: f64,
    },
    /// The body of a jack in contact with the metal it is mounted in.
    JackTie(JackUse),
    /// Metal of one place bonded to another's.
    Bond {
        /// Resistance, ohm.
        ohm: f64,
    },
    /// Breaker, fuse or limiter.
    Protector {
        /// Rating, A, if known.
        rating_a: Option<f64>,
        /// Resistance when closed, ohm.
        ohm: f64,
    },
    /// A path that a switch closes in some positions.
    Switch {
        /// Bit n: closed in position n. Positions from 64 on are ignored.
        made_in: u64,
        /// Closed in the rest position.
        made_at_rest: bool,
        /// Resistance when closed, ohm.
        ohm: f64,
    },
    /// A contact operated by a coil.
    Contact {
        /// The coil's edge, if the device has it.
        coil: Option<EdgeIndex>,
        /// True if it is closed while the coil is energized, false if while it is released.
        made_energised: bool,
        /// Resistance when closed, ohm.
        ohm: f64,
    },
    /// A coil.
    Coil {
        /// Resistance, ohm.
        ohm: f64,
        /// Voltage at which it pulls in, V.
        pull_in_v: f64,
        /// Voltage below which it drops out, V.
        drop_out_v: f64,
    },
    /// A diode, anode first.
    Diode {
        /// Forward voltage, V.
        vf_v: f64,
        /// Slope resistance, ohm.
        ohm: f64,
    },
    /// A load; its figures are in [`Netlist::load`].
    Load,
    /// A battery.
    Battery {
        /// Open-circuit voltage, V.
        emf_v: f64,
        /// Internal resistance, ohm.
        ohm: f64,
        /// Internal resistance while charging, ohm.
        charge_ohm: f64,
    },
    /// An alternator.
    Alternator {
        /// Set point, V.
        set_v: f64,
        /// Resistance of the regulated output, ohm.
        ohm: f64,
        /// Highest current, A.
        limit_a: f64,
        /// The node of its field terminal, if it has one.
        field: Option<NodeIndex>,
    },
}

/// The figures of a load.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LoadFigures {
    /// How its current depends on voltage.
    pub law: LoadLaw,
    /// Continuous current, A.
    pub continuous_a: Option<f64>,
    /// Intermittent current, A.
    pub intermittent_a: Option<f64>,
    /// Highest current, A.
    pub peak_a: Option<f64>,
    /// Voltage of these figures, V.
    pub at_v: f64,
    /// Voltage below which it stops, V.
    pub cutoff_v: Option<f64>,
    /// Works in either polarity.
    pub either_way: bool,
}

impl From<&Load> for LoadFigures {
    fn from(load: &Load) -> Self {
        let amps = |figure: &Option<crate::document::Figure>| figure.as_ref().map(|f| f.amps);
        Self {
            law: load.law,
            continuous_a: amps(&load.continuous_a),
            intermittent_a: amps(&load.intermittent_a),
            peak_a: amps(&load.peak_a),
            at_v: load.at_v,
            cutoff_v: load.cutoff_v,
            either_way: load.either_way,
        }
    }
}

impl EdgeKind {
    /// Metal that always connects: anything except protectors, switches, contacts, diodes,
    /// resistors, loads and sources.
    pub fn is_metal(&self) -> bool {
        matches!(
            self,
            Self::Wire { .. }
                | Self::Shield { .. }
                | Self::ShieldEnd { .. }
                | Self::Mate { .. }
                | Self::Bar(_)
                | Self::Shunt { .. }
                | Self::Tie { .. }
                | Self::JackTie(_)
                | Self::Bond { .. }
        )
    }

    /// A battery or an alternator.
    pub fn is_source(&self) -> bool {
        matches!(self, Self::Battery { .. } | Self::Alternator { .. })
    }
}

/// An edge of the graph.
#[derive(Clone, Debug, PartialEq)]
pub struct Edge {
    /// What it is.
    pub kind: EdgeKind,
    /// False for an open switch path, a pulled protector or an open contact. After
    /// [`Netlist::build`] contacts are as with every coil released.
    pub closed: bool,
}

/// The place of a wire in the graph.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct WireAt {
    /// The wire's edge.
    pub edge: EdgeIndex,
    /// The edge of its in-line fuse.
    pub fuse: Option<EdgeIndex>,
    /// The nodes it runs between, fuse included: from, to.
    pub ends: [NodeIndex; 2],
}

/// The place of a device in the graph: its terminals and elements are consecutive.
#[derive(Clone, Debug, Default)]
struct DeviceAt {
    nodes: Range<usize>,
    /// Nodes of terminals that only a wire names.
    more: Vec<NodeIndex>,
    /// Its range in the list of elements.
    elements: Range<usize>,
}

impl DeviceAt {
    fn nodes(&self) -> impl Iterator<Item = NodeIndex> + Clone {
        let more = self.more.iter().copied();
        self.nodes.clone().map(NodeIndex::new).chain(more)
    }
}

/// The graph of a document, with lookups from records to nodes and edges.
#[derive(Clone, Debug, Default)]
pub struct Netlist {
    /// The graph. Edge ends are in order: `edge_endpoints` gives the positive or `from` end first.
    pub graph: UnGraph<(), Edge>,
    // Kept outside the graph, by index: walks then touch far less memory.
    points: Vec<Point>,
    of: Vec<EdgeOf>,
    // In edge order.
    loads: Vec<(EdgeIndex, LoadFigures)>,
    // Only for lookups, never iterated: its order never reaches a result.
    devices: FxHashMap<DeviceId, DeviceAt>,
    /// Element, its first edge, how many.
    elements: Vec<(ElementId, usize, usize)>,
    splices: Map<SpliceId, NodeIndex>,
    places: Map<PlaceId, NodeIndex>,
    wires: Map<WireId, WireAt>,
    shields: Map<CableId, [NodeIndex; 2]>,
    open: Map<(WireId, WireEnd), NodeIndex>,
    /// By node, up to the last node on a bar.
    bars: Vec<Option<BarUse>>,
}

impl Netlist {
    /// The point of a node.
    pub fn point(&self, node: NodeIndex) -> &Point {
        &self.points[node.index()]
    }

    /// The record that an edge represents.
    pub fn of(&self, edge: EdgeIndex) -> &EdgeOf {
        &self.of[edge.index()]
    }

    /// The node of a point.
    pub fn node(&self, point: &Point) -> Option<NodeIndex> {
        match point {
            Point::Terminal(device, terminal) => self.terminal(device, terminal),
            Point::Splice(splice) => self.splices.get(splice).copied(),
            Point::Structure(place) => self.places.get(place).copied(),
            Point::Shield(cable, end) => self.shield_end(cable, *end),
            Point::WireOpen(wire, end) => self.open.get(&(wire.clone(), *end)).copied(),
            Point::InFuse(wire) => {
                let fuse = self.wires.get(wire)?.fuse?;
                let (a, b) = self.ends(fuse);
                Some(if matches!(self.point(a), Point::InFuse(_)) {
                    a
                } else {
                    b
                })
            }
        }
    }

    /// The node of a terminal.
    pub fn terminal(&self, device: &DeviceId, terminal: &TerminalId) -> Option<NodeIndex> {
        let at = self.devices.get(device)?;
        let is_it = |node: &NodeIndex| matches!(self.point(*node), Point::Terminal(_, id) if id == terminal);
        at.nodes().find(is_it)
    }

    /// The nodes of a device's terminals: first those that its record lists, in its order.
    pub fn terminals(&self, device: &DeviceId) -> impl Iterator<Item = NodeIndex> + Clone {
        let at = self.devices.get(device);
        at.into_iter().flat_map(DeviceAt::nodes)
    }

    /// The node of an end, if it is connected to anything.
    pub fn end_node(&self, end: &End) -> Option<NodeIndex> {
        match end {
            End::Terminal(device, terminal) => self.terminal(device, terminal),
            End::Splice(splice) => self.splices.get(splice).copied(),
            End::Structure(place) => self.places.get(place).copied(),
            End::Open => None,
        }
    }

    /// The use of the bar at a terminal, if it is on one.
    pub fn bar_at(&self, node: NodeIndex) -> Option<BarUse> {
        self.bars.get(node.index()).copied().flatten()
    }

    /// Every terminal on a bar, and the use of the bar.
    pub fn bars(&self) -> impl Iterator<Item = (NodeIndex, BarUse)> {
        let all = self.bars.iter().enumerate();
        all.filter_map(|(node, used_as)| Some((NodeIndex::new(node), (*used_as)?)))
    }

    /// The place of a wire.
    pub fn wire(&self, wire: &WireId) -> Option<WireAt> {
        self.wires.get(wire).copied()
    }

    /// Every wire and its place, by id.
    pub fn wires(&self) -> impl Iterator<Item = (&WireId, WireAt)> {
        self.wires.iter().map(|(id, at)| (id, *at))
    }

    /// The two ends of a cable's shield: from, to.
    pub fn shield(&self, cable: &CableId) -> Option<[NodeIndex; 2]> {
        self.shields.get(cable).copied()
    }

    /// One end of a cable's shield.
    pub fn shield_end(&self, cable: &CableId, which: WireEnd) -> Option<NodeIndex> {
        Some(self.shield(cable)?[which as usize])
    }

    /// What connects a cable's shield at one end.
    pub fn pigtail(&self, cable: &CableId, which: WireEnd) -> Option<EdgeIndex> {
        let mut edges = self.edges_at(self.shield_end(cable, which)?);
        edges.find(
            |it| matches!(self.of(*it), EdgeOf::ShieldEnd(of, end) if of == cable && *end == which),
        )
    }

    /// The edges of an element, in the order of its parts; empty if it has none.
    pub fn element_edges(
        &self,
        device: &str,
        element: &str,
    ) -> impl Iterator<Item = EdgeIndex> + use<> {
        let at = self.devices.get(device).map(|at| at.elements.clone());
        let elements = &self.elements[at.unwrap_or_default()];
        let found = elements.iter().find(|(id, ..)| id.as_str() == element);
        let (first, count) = found.map_or((0, 0), |(_, first, count)| (*first, *count));
        (first..first + count).map(EdgeIndex::new)
    }

    /// The edges of each element of a device, in record order.
    pub fn edges_in(&self, device: &DeviceId) -> impl Iterator<Item = Range<usize>> {
        let at = self.devices.get(device).map(|at| at.elements.clone());
        let elements = self.elements[at.unwrap_or_default()].iter();
        elements.map(|(_, first, count)| *first..first + count)
    }

    /// The edge of an element with exactly one edge.
    pub fn element_edge(&self, device: &DeviceId, element: &ElementId) -> Option<EdgeIndex> {
        self.element_edges(device.as_str(), element.as_str()).next()
    }

    /// First and second end of an edge.
    pub fn ends(&self, edge: EdgeIndex) -> (NodeIndex, NodeIndex) {
        self.graph
            .edge_endpoints(edge)
            .expect("an edge of this graph")
    }

    /// The other end of an edge.
    pub fn other(&self, edge: EdgeIndex, node: NodeIndex) -> NodeIndex {
        let (a, b) = self.ends(edge);
        if a == node { b } else { a }
    }

    /// Every load, in edge order.
    pub fn loads(&self) -> impl Iterator<Item = (EdgeIndex, &LoadFigures)> {
        self.loads.iter().map(|(edge, figures)| (*edge, figures))
    }

    /// The figures of a load, if the edge is one.
    pub fn load(&self, edge: EdgeIndex) -> Option<&LoadFigures> {
        Some(&self.loads[self.load_at(edge)?].1)
    }

    fn load_at(&self, edge: EdgeIndex) -> Option<usize> {
        let at = self.loads.binary_search_by_key(&edge, |(edge, _)| *edge);
        at.ok()
    }

    /// Every battery and alternator.
    pub fn sources(&self) -> impl Iterator<Item = EdgeIndex> {
        self.graph
            .edge_indices()
            .filter(|&edge| self.graph[edge].kind.is_source())
    }

    /// Every battery.
    pub fn batteries(&self) -> impl Iterator<Item = EdgeIndex> {
        self.sources()
            .filter(|&edge| matches!(self.graph[edge].kind, EdgeKind::Battery { .. }))
    }
}
