//! Builds the graph from the records.

use crate::order::Map;

use petgraph::graph::{EdgeIndex, NodeIndex};

use super::{
    DeviceAt, Edge, EdgeKind, EdgeOf, Ends, Netlist, Point, WireAt,
    assumed::{BOND_OHM, PROTECTOR_OHM, SHIELD_GAUGE},
    ends::{Listed, longest_core_m},
    inside::Inside,
};
use crate::{
    document::{
        BarUse, Device, Document, End, InlineFuse, Shield, ShieldEnd, State, Wire, WireEnd,
    },
    ids::{CableId, DeviceId, WireId},
};

impl Netlist {
    /// The graph of a document with every switch at rest, every protector closed and every coil
    /// released.
    ///
    /// A terminal or splice that a wire names without a record is still a point. A place that does
    /// not conduct is not.
    pub fn new(document: &Document) -> Self {
        let ends = Ends::of(document);
        Self::with_ends(document, &|| &ends)
    }

    /// The same, with the conductor ends found by the caller; `ends` is called once the devices are
    /// added.
    pub fn with_ends<'e>(document: &Document, ends: &dyn Fn() -> &'e Ends) -> Self {
        let mut netlist = Self::default();
        netlist.reserve(document);
        netlist.add_places(document);
        let mut first_nodes = Vec::with_capacity(document.devices.len());
        for (id, device) in &document.devices {
            first_nodes.push(netlist.points.len());
            netlist.add_device(id, device);
        }
        let mut joints = Map::new();
        for (id, splice) in &document.splices {
            let node = netlist.add_node(Point::Splice(id.clone()));
            netlist.splices.insert(id.clone(), node);
            if let Some(ohm) = splice.ohm.filter(|ohm| *ohm > 0.0) {
                // Half of the joint counts with each conductor that meets there.
                joints.insert(node, ohm / 2.0);
            }
        }
        let ends = ends();
        let node =
            |at: Listed| NodeIndex::new(first_nodes[at.device as usize] + at.terminal as usize);
        for ((id, wire), ends) in document.wires.iter().zip(&ends.wires) {
            let ends = ends.map(|end| end.map(node));
            netlist.add_wire(document, &joints, id, wire, ends);
        }
        for ((id, cable), length_m) in document.cables.iter().zip(&ends.longest_core_m) {
            if let Some(shield) = &cable.shield {
                netlist.add_shield(id, shield, *length_m);
            }
        }
        netlist
    }

    /// The graph of a document with switches and protectors as set in a state.
    pub fn build(document: &Document, state: &State) -> Self {
        let mut netlist = Self::new(document);
        let closed = netlist.standing(state);
        netlist.set_closed(&closed);
        netlist
    }

    /// Updates the figures (edge kinds) of these wires and devices, if no connection changed.
    /// Returns the edges that changed, or `None` if a device has different edges now.
    pub fn refit(
        &mut self,
        document: &Document,
        wires: &[WireId],
        devices: &[DeviceId],
    ) -> Option<Vec<EdgeIndex>> {
        let mut changed = Vec::new();
        for id in wires {
            let (wire, at) = (document.wires.get(id)?, self.wires.get(id).copied()?);
            if let EdgeKind::Wire { joint_ohm, .. } = self.graph[at.edge].kind {
                let kind = wire_kind(document, wire, joint_ohm);
                put_anew(&mut self.graph[at.edge].kind, kind, at.edge, &mut changed);
            }
            if let (Some(edge), Some(fuse)) = (at.fuse, &wire.fuse) {
                let kind = fuse_kind(fuse);
                put_anew(&mut self.graph[edge].kind, kind, edge, &mut changed);
            }
        }
        for (id, cable) in &document.cables {
            let touched = cable.shield.is_some() && wires.iter().any(|it| cable.wires.contains(it));
            if let (true, Some([from, to])) = (touched, self.shields.get(id).copied()) {
                let edge = self.graph.find_edge(from, to)?;
                if let EdgeKind::Shield { gauge, .. } = self.graph[edge].kind {
                    let length_m = longest_core_m(document, cable);
                    let kind = EdgeKind::Shield { length_m, gauge };
                    put_anew(&mut self.graph[edge].kind, kind, edge, &mut changed);
                }
            }
        }
        for id in devices {
            let device = document.devices.get(id)?;
            let mut alone = Self::default();
            alone.add_device(id, device);
            for element in &device.elements {
                let edges = |of: &Self| of.element_edge(id, &element.id);
                let (Some(from), Some(to)) = (edges(&alone), edges(self)) else {
                    continue;
                };
                let mut kind = alone.graph[from].kind;
                match (&mut kind, &self.graph[to].kind) {
                    (
                        EdgeKind::Alternator { field, .. },
                        EdgeKind::Alternator { field: was, .. },
                    ) => {
                        *field = *was;
                    }
                    (new, old) if std::mem::discriminant(new) != std::mem::discriminant(old) => {
                        return None;
                    }
                    _ => {}
                }
                put_anew(&mut self.graph[to].kind, kind, to, &mut changed);
                if let (Some(now), Some(at)) = (alone.load(from), self.load_at(to)) {
                    put_anew(&mut self.loads[at].1, *now, to, &mut changed);
                }
            }
        }
        Some(changed)
    }

    /// Reserves room for at least what the records need: a growing list is moved each time.
    fn reserve(&mut self, document: &Document) {
        let devices = document.devices.values();
        let nodes: usize = devices.map(|it| it.terminals.len()).sum();
        let edges = document.wires.len() + nodes / 2;
        self.graph.reserve_nodes(nodes);
        self.graph.reserve_edges(edges);
        self.points.reserve(nodes);
        self.of.reserve(edges);
        self.devices.reserve(document.devices.len());
    }

    fn add_places(&mut self, document: &Document) {
        for (id, _) in document.places.iter().filter(|(_, place)| place.is_metal()) {
            let node = self.add_node(Point::Structure(id.clone()));
            self.places.insert(id.clone(), node);
        }
        for (id, place) in &document.places {
            let other = place
                .bonded_to
                .as_ref()
                .and_then(|other| self.places.get(other));
            if let (Some(&a), Some(&b)) = (self.places.get(id), other) {
                let ohm = place.bond_ohm.unwrap_or(BOND_OHM);
                self.add_edge(a, b, EdgeOf::Bond(id.clone()), EdgeKind::Bond { ohm });
            }
        }
    }

    pub(super) fn add_node(&mut self, point: Point) -> NodeIndex {
        self.points.push(point);
        self.graph.add_node(())
    }

    pub(super) fn set_bar(&mut self, node: NodeIndex, used_as: BarUse) {
        let least = node.index() + 1;
        if self.bars.len() < least {
            self.bars.resize(least, None);
        }
        self.bars[node.index()] = Some(used_as);
    }

    /// Adds an edge in its rest position.
    pub(crate) fn add_edge(
        &mut self,
        a: NodeIndex,
        b: NodeIndex,
        of: EdgeOf,
        kind: EdgeKind,
    ) -> EdgeIndex {
        let closed = match kind {
            EdgeKind::Switch { made_at_rest, .. } => made_at_rest,
            EdgeKind::Contact { made_energised, .. } => !made_energised,
            _ => true,
        };
        self.of.push(of);
        self.graph.add_edge(a, b, Edge { kind, closed })
    }

    fn add_device(&mut self, id: &DeviceId, device: &Device) {
        let mut at = DeviceAt::default();
        let (node, element) = (self.points.len(), self.elements.len());
        (at.nodes, at.elements) = (node..node, element..element);
        for terminal in &device.terminals {
            self.add_node(Point::Terminal(id.clone(), terminal.id.clone()));
        }
        at.nodes.end = self.points.len();
        let structure = device
            .place
            .as_ref()
            .and_then(|place| self.places.get(place))
            .copied();
        let mut inside = Inside {
            netlist: self,
            id,
            at,
            structure,
            next: 0,
        };
        for element in &device.elements {
            let first = inside.netlist.graph.edge_count();
            inside.add(&element.id, &element.is);
            let count = inside.netlist.graph.edge_count() - first;
            let elements = &mut inside.netlist.elements;
            elements.push((element.id.clone(), first, count));
            inside.at.elements.end = elements.len();
        }
        inside.resolve_coils(device);
        let at = inside.at;
        self.devices.insert(id.clone(), at);
    }

    /// The node of a conductor's end; `None` for an open end or metal that does not conduct.
    fn node_of_end(&mut self, end: &End) -> Option<NodeIndex> {
        match end {
            End::Terminal(device, terminal) => {
                Some(self.terminal(device, terminal).unwrap_or_else(|| {
                    let point = Point::Terminal(device.clone(), terminal.clone());
                    let node = self.add_node(point);
                    let at = self.devices.entry(device.clone()).or_default();
                    at.more.push(node);
                    node
                }))
            }
            End::Splice(splice) => Some(self.splices.get(splice).copied().unwrap_or_else(|| {
                let node = self.add_node(Point::Splice(splice.clone()));
                self.splices.insert(splice.clone(), node);
                node
            })),
            End::Structure(place) => self.places.get(place).copied(),
            End::Open => None,
        }
    }

    fn node_of_wire_end(&mut self, id: &WireId, end: &End, which: WireEnd) -> NodeIndex {
        self.node_of_end(end).unwrap_or_else(|| {
            let node = self.add_node(Point::WireOpen(id.clone(), which));
            self.open.insert((id.clone(), which), node);
            node
        })
    }

    fn add_wire(
        &mut self,
        document: &Document,
        joints: &Map<NodeIndex, f64>,
        id: &WireId,
        wire: &Wire,
        [from, to]: [Option<NodeIndex>; 2],
    ) {
        let mut node = |known: Option<_>, end, which| {
            known.unwrap_or_else(|| self.node_of_wire_end(id, end, which))
        };
        let from = node(from, &wire.from, WireEnd::From);
        let to = node(to, &wire.to, WireEnd::To);
        let joint = |node| joints.get(node).copied().unwrap_or(0.0);
        let kind = wire_kind(document, wire, joint(&from) + joint(&to));
        let (mut a, mut b, mut fuse) = (from, to, None);
        if let Some(inline) = &wire.fuse {
            let middle = self.add_node(Point::InFuse(id.clone()));
            let (outer, inner) = match inline.at {
                WireEnd::From => (from, &mut a),
                WireEnd::To => (to, &mut b),
            };
            *inner = middle;
            let of = EdgeOf::InlineFuse(id.clone());
            fuse = Some(self.add_edge(outer, middle, of, fuse_kind(inline)));
        }
        let edge = self.add_edge(a, b, EdgeOf::Wire(id.clone()), kind);
        self.wires.insert(
            id.clone(),
            WireAt {
                edge,
                fuse,
                ends: [from, to],
            },
        );
    }

    fn add_shield(&mut self, id: &CableId, shield: &Shield, length_m: Option<f64>) {
        let gauge = shield.gauge_awg.unwrap_or(SHIELD_GAUGE);
        let [from, to] =
            [WireEnd::From, WireEnd::To].map(|end| self.add_node(Point::Shield(id.clone(), end)));
        self.shields.insert(id.clone(), [from, to]);
        let of = EdgeOf::Shield(id.clone());
        self.add_edge(from, to, of, EdgeKind::Shield { length_m, gauge });
        for (node, end, state) in [
            (from, WireEnd::From, &shield.from),
            (to, WireEnd::To, &shield.to),
        ] {
            let Some(at) = state.at().and_then(|at| self.node_of_end(at)) else {
                continue;
            };
            let length_m = match state {
                ShieldEnd::Tied { pigtail_mm, .. } => pigtail_mm.unwrap_or(0.0) / 1000.0,
                ShieldEnd::Carried { .. } | ShieldEnd::Floating => 0.0,
            };
            let of = EdgeOf::ShieldEnd(id.clone(), end);
            self.add_edge(node, at, of, EdgeKind::ShieldEnd { length_m, gauge });
        }
    }
}

/// Replaces the data of an edge, and records the edge if the data differ.
fn put_anew<T: PartialEq>(was: &mut T, now: T, edge: EdgeIndex, changed: &mut Vec<EdgeIndex>) {
    if *was != now {
        *was = now;
        changed.push(edge);
    }
}

fn wire_kind(document: &Document, wire: &Wire, joint_ohm: f64) -> EdgeKind {
    EdgeKind::Wire {
        length_m: document.wire_length_m(wire),
        gauge: wire.gauge_awg,
        conductor: wire.conductor,
        joint_ohm,
    }
}

fn fuse_kind(fuse: &InlineFuse) -> EdgeKind {
    EdgeKind::Protector {
        rating_a: fuse.rating_a,
        ohm: PROTECTOR_OHM,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{netlist::Through, testing::document};

    fn terminal(netlist: &Netlist, name: &str) -> NodeIndex {
        let (device, terminal) = name.split_once('.').expect("DEVICE.TERMINAL");
        netlist
            .terminal(&device.into(), &terminal.into())
            .expect("a terminal")
    }

    fn structure(netlist: &Netlist, place: &str) -> NodeIndex {
        netlist
            .node(&Point::Structure(place.into()))
            .expect("metal")
    }

    #[test]
    fn a_wire_with_a_fuse_runs_beyond_it() {
        let document = document(
            "battery BT1
             unit X 1
             wire W BT1.+ X.1 20 1m fuse=1@from",
        );
        let netlist = Netlist::new(&document);
        let at = netlist.wire(&"W".into()).expect("W");
        let fuse = at.fuse.expect("a fuse");
        let middle = netlist
            .node(&Point::InFuse("W".into()))
            .expect("a point in the fuse");
        assert_eq!(netlist.ends(fuse), (terminal(&netlist, "BT1.+"), middle));
        assert_eq!(netlist.ends(at.edge), (middle, terminal(&netlist, "X.1")));
    }

    #[test]
    fn metal_of_a_composite_place_joins_nothing() {
        let document = document(
            "place WING composite
             place FRAME metal
             unit X 1 2 3
             wire A X.1 @WING
             wire B X.2 @WING
             wire C X.3 @FRAME",
        );
        let netlist = Netlist::new(&document);
        let groups = netlist.groups(Through::METAL);
        assert!(!groups.same(terminal(&netlist, "X.1"), terminal(&netlist, "X.2")));
        let open = Point::WireOpen("A".into(), WireEnd::To);
        assert!(netlist.node(&open).is_some());
        assert!(groups.same(terminal(&netlist, "X.3"), structure(&netlist, "FRAME")));
    }

    #[test]
    fn a_jack_touches_the_metal_it_is_in_unless_isolated() {
        let joined = |jack: &str| {
            let netlist = Netlist::new(&document(&format!(
                "place FRAME metal
                 place PLATE metal bonded=FRAME
                 {jack}"
            )));
            let sleeve = terminal(&netlist, "JK8.sleeve");
            netlist
                .groups(Through::METAL)
                .same(sleeve, structure(&netlist, "FRAME"))
        };
        assert!(joined("jack JK8 mic bare at=PLATE"));
        assert!(!joined("jack JK8 mic isolated at=PLATE"));
    }

    #[test]
    fn a_switch_stands_as_the_state_says_else_at_rest() {
        let stands = |state: &str| {
            let document = document(&format!(
                "throw S1 OFF: A:1-2,3-4 B:2-1
                 breaker CB1 5
                 state T {state}"
            ));
            let netlist = Netlist::build(&document, &document.states["T"]);
            let flags = |device, element| {
                let edges = netlist.element_edges(device, element);
                edges.map(|edge| netlist.graph[edge].closed).collect()
            };
            let (switch, breaker): (Vec<bool>, Vec<bool>) =
                (flags("S1", "switch"), flags("CB1", "protector"));
            (switch, breaker)
        };
        assert_eq!(stands(""), (vec![false, false], vec![true]));
        assert_eq!(
            stands("on=S1:1 pulled=CB1"),
            (vec![true, true], vec![false])
        );
        assert_eq!(stands("on=S1:2").0, [true, false]);
        assert_eq!(stands("on=S1:99").0, [false, false]);
    }

    #[test]
    fn a_shield_is_joined_where_it_is_tied() {
        let document = document(
            "unit A 1 s
             unit B 1
             wire CORE A.1 B.1 22 2m
             cable C CORE shield A.s floating",
        );
        let netlist = Netlist::new(&document);
        let [from, to] = netlist.shield(&"C".into()).expect("a shield");
        let groups = netlist.groups(Through::METAL);
        assert!(groups.same(from, terminal(&netlist, "A.s")) && groups.same(from, to));
        assert!(!groups.same(from, terminal(&netlist, "A.1")));
        let without = netlist.groups(Through::METAL.without(Through::SHIELDS));
        assert!(!without.same(from, to));
        let length = netlist
            .graph
            .edge_weights()
            .find_map(|edge| match edge.kind {
                EdgeKind::Shield { length_m, .. } => length_m,
                _ => None,
            });
        assert_eq!(length, Some(2.0));
    }

    #[test]
    fn a_contact_knows_its_coil_and_rests_released() {
        let netlist = Netlist::new(&document("contactor K1 BAT LOAD COIL+ COIL-"));
        let edge = |id: &str| {
            netlist
                .element_edge(&"K1".into(), &id.into())
                .expect("an edge")
        };
        let contact = &netlist.graph[edge("contact")];
        assert!(!contact.closed);
        let EdgeKind::Contact { coil, .. } = contact.kind else {
            panic!("{contact:?} is no contact")
        };
        assert_eq!(coil, Some(edge("coil")));
    }
}
