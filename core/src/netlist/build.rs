//! From records to the graph.

use crate::order::Map;

use petgraph::graph::{EdgeIndex, NodeIndex, UnGraph};

use super::{DeviceAt, Edge, EdgeKind, EdgeOf, Netlist, Point, WireAt};
use crate::{
    document::{
        BarUse, Cable, Closed, Device, Document, ElementKind, End, InlineFuse, Shield, ShieldEnd,
        State, Switch, Wire, WireEnd,
    },
    ids::{CableId, DeviceId, ElementId, TerminalId, WireId},
    units::Gauge,
};

/// Resistance of a closed breaker or fuse, ohm, if not given (assumed, no published single value).
pub const PROTECTOR_OHM: f64 = 0.002;
/// Resistance of a closed switch, ohm, if not given (assumed, no published single value).
pub const SWITCH_OHM: f64 = 0.002;
/// Resistance of a closed contact, ohm, if not given (assumed, no published single value).
pub const CONTACT_OHM: f64 = 0.0005;
/// Resistance of a mated pair of pins, ohm, if not given (assumed, no published single value).
pub const MATE_OHM: f64 = 0.001;
/// Resistance of a bond to structure, ohm, if not given (AC 43.13-1B par 11-188f: under 2.5 mΩ).
pub const BOND_OHM: f64 = 0.0025;
/// Resistance of a battery while charging, ohm, if not given (assumed).
pub const CHARGE_OHM: f64 = 0.3;
/// Size a shield's braid is taken as if not given (assumed, common practice).
pub const SHIELD_GAUGE: Gauge = Gauge(20);

impl Netlist {
    /// The graph of a document with every switch at rest, every protector in and every coil released.
    ///
    /// A terminal or splice that a wire names but no record holds is a point all the same; metal of a
    /// place that does not conduct is none.
    pub fn new(document: &Document) -> Self {
        let mut netlist = Self::default();
        netlist.reserve(document);
        netlist.add_places(document);
        for (id, device) in &document.devices {
            netlist.add_device(id, device);
        }
        let mut joints = Map::new();
        for (id, splice) in &document.splices {
            let node = netlist.add_node(Point::Splice(id.clone()));
            netlist.splices.insert(id.clone(), node);
            if let Some(ohm) = splice.ohm.filter(|ohm| *ohm > 0.0) {
                // Half of the joint with each conductor that meets there.
                joints.insert(node, ohm / 2.0);
            }
        }
        for (id, wire) in &document.wires {
            netlist.add_wire(document, &joints, id, wire);
        }
        for (id, cable) in &document.cables {
            if let Some(shield) = &cable.shield {
                netlist.add_shield(id, shield, longest_core_m(document, cable));
            }
        }
        netlist
    }

    /// The graph of a document with switches and protectors as a state has them.
    pub fn build(document: &Document, state: &State) -> Self {
        let mut netlist = Self::new(document);
        let closed = netlist.standing(state);
        netlist.set_closed(&closed);
        netlist
    }

    /// Takes the figures of these wires and devices anew, where nothing is joined otherwise than
    /// before: the kinds of their edges. Gives the edges that changed; none if a device makes other
    /// edges now.
    pub fn refit(
        &mut self,
        document: &Document,
        wires: &[WireId],
        devices: &[DeviceId],
    ) -> Option<Vec<EdgeIndex>> {
        let mut changed = Vec::new();
        let mut changed_loads = Vec::new();
        let mut put = |graph: &mut UnGraph<(), Edge>, edge: EdgeIndex, kind: EdgeKind| {
            let old = &mut graph[edge].kind;
            if *old != kind {
                *old = kind;
                changed.push(edge);
            }
        };
        for id in wires {
            let (wire, at) = (document.wires.get(id)?, self.wires.get(id).copied()?);
            if let EdgeKind::Wire { joint_ohm, .. } = self.graph[at.edge].kind {
                let kind = wire_kind(document, wire, joint_ohm);
                put(&mut self.graph, at.edge, kind);
            }
            if let (Some(edge), Some(fuse)) = (at.fuse, &wire.fuse) {
                put(&mut self.graph, edge, fuse_kind(fuse));
            }
        }
        for (id, cable) in &document.cables {
            let touched = cable.shield.is_some() && wires.iter().any(|it| cable.wires.contains(it));
            if let (true, Some([from, to])) = (touched, self.shields.get(id).copied()) {
                let edge = self.graph.find_edge(from, to)?;
                if let EdgeKind::Shield { gauge, .. } = self.graph[edge].kind {
                    let length_m = longest_core_m(document, cable);
                    put(&mut self.graph, edge, EdgeKind::Shield { length_m, gauge });
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
                put(&mut self.graph, to, kind);
                let now = alone.load(from);
                if let Some(now) = now.filter(|now| self.load(to) != Some(*now)) {
                    let at = self.loads.iter_mut().find(|(edge, _)| *edge == to)?;
                    at.1 = *now;
                    changed_loads.push(to);
                }
            }
        }
        changed.extend(changed_loads);
        Some(changed)
    }

    /// Room for what the records make at least: lists that grow are moved again and again.
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
        for (id, _) in document.places.iter().filter(|(_, place)| place.conductive) {
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

    fn add_node(&mut self, point: Point) -> NodeIndex {
        self.points.push(point);
        self.graph.add_node(())
    }

    /// Adds an edge, at rest.
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

    /// The node a conductor's end is at; none for an open end or metal that does not conduct.
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
    ) {
        let from = self.node_of_wire_end(id, &wire.from, WireEnd::From);
        let to = self.node_of_wire_end(id, &wire.to, WireEnd::To);
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

fn longest_core_m(document: &Document, cable: &Cable) -> Option<f64> {
    let cores = cable.wires.iter().filter_map(|id| document.wires.get(id));
    cores
        .filter_map(|wire| document.wire_length_m(wire))
        .reduce(f64::max)
}

/// A device whose elements are being added.
struct Inside<'a> {
    netlist: &'a mut Netlist,
    id: &'a DeviceId,
    at: DeviceAt,
    structure: Option<NodeIndex>,
}

impl Inside<'_> {
    /// The node of a terminal an element names; made if the device does not list it.
    fn node(&mut self, terminal: &TerminalId) -> NodeIndex {
        let points = &self.netlist.points[self.at.nodes.clone()];
        let is_it = |point: &Point| matches!(point, Point::Terminal(_, id) if id == terminal);
        if let Some(at) = points.iter().position(is_it) {
            return NodeIndex::new(self.at.nodes.start + at);
        }
        let point = Point::Terminal(self.id.clone(), terminal.clone());
        let node = self.netlist.add_node(point);
        self.at.nodes.end = self.netlist.points.len();
        node
    }

    fn edge(
        &mut self,
        element: &ElementId,
        part: usize,
        ends: [&TerminalId; 2],
        kind: EdgeKind,
    ) -> EdgeIndex {
        let (a, b) = (self.node(ends[0]), self.node(ends[1]));
        let of = EdgeOf::Element(self.id.clone(), element.clone(), part);
        self.netlist.add_edge(a, b, of, kind)
    }

    fn tie(&mut self, element: &ElementId, terminal: &TerminalId, kind: EdgeKind) {
        let a = self.node(terminal);
        if let Some(structure) = self.structure {
            let of = EdgeOf::Element(self.id.clone(), element.clone(), 0);
            self.netlist.add_edge(a, structure, of, kind);
        }
    }

    fn add(&mut self, id: &ElementId, is: &ElementKind) {
        match is {
            ElementKind::Load(e) => {
                let edge = self.edge(id, 0, [&e.plus, &e.minus], EdgeKind::Load);
                self.netlist.loads.push((edge, e.into()));
            }
            ElementKind::Battery(e) => {
                let charge_ohm = e.charge_ohm.unwrap_or(CHARGE_OHM);
                let kind = EdgeKind::Battery {
                    emf_v: e.emf_v,
                    ohm: e.ohm,
                    charge_ohm,
                };
                self.edge(id, 0, [&e.plus, &e.minus], kind);
            }
            ElementKind::Alternator(e) => {
                let field = e.field.as_ref().map(|terminal| self.node(terminal));
                let (set_v, ohm, limit_a) = (e.set_v, e.ohm, e.limit_a);
                let kind = EdgeKind::Alternator {
                    set_v,
                    ohm,
                    limit_a,
                    field,
                };
                self.edge(id, 0, [&e.plus, &e.minus], kind);
            }
            ElementKind::Protector(e) => {
                let ohm = e.ohm.unwrap_or(PROTECTOR_OHM);
                let kind = EdgeKind::Protector {
                    rating_a: e.rating_a,
                    ohm,
                };
                self.edge(id, 0, [&e.line, &e.load], kind);
            }
            ElementKind::Switch(e) => self.add_switch(id, e),
            ElementKind::Coil(e) => {
                let (pull_in_v, drop_out_v) = (e.pull_in_v, e.drop_out_v);
                self.edge(
                    id,
                    0,
                    [&e.a, &e.b],
                    EdgeKind::Coil {
                        ohm: e.ohm,
                        pull_in_v,
                        drop_out_v,
                    },
                );
            }
            ElementKind::Contact(e) => {
                let made_energised = e.closed == Closed::Energised;
                let ohm = e.ohm.unwrap_or(CONTACT_OHM);
                let kind = EdgeKind::Contact {
                    coil: None,
                    made_energised,
                    ohm,
                };
                self.edge(id, 0, [&e.a, &e.b], kind);
            }
            ElementKind::Diode(e) => {
                let kind = EdgeKind::Diode {
                    vf_v: e.vf_v,
                    ohm: e.ohm,
                };
                self.edge(id, 0, [&e.anode, &e.cathode], kind);
            }
            ElementKind::Bar(e) => self.add_bar(id, &e.terminals, e.used_as),
            ElementKind::Shunt(e) => {
                self.edge(id, 0, [&e.a, &e.b], EdgeKind::Shunt { ohm: e.ohm });
            }
            ElementKind::Resistor(e) => {
                self.edge(id, 0, [&e.a, &e.b], EdgeKind::Resistor { ohm: e.ohm });
            }
            ElementKind::Mate(e) => {
                let ohm = e.ohm.unwrap_or(MATE_OHM);
                self.edge(id, 0, [&e.a, &e.b], EdgeKind::Mate { ohm });
            }
            ElementKind::Jack(e) => {
                for terminal in [&e.tip, &e.ring].into_iter().flatten() {
                    self.node(terminal);
                }
                self.node(&e.sleeve);
                if !e.isolated {
                    self.tie(id, &e.sleeve, EdgeKind::JackTie(e.used_for));
                }
            }
            ElementKind::StructureTie(e) => {
                let ohm = e.ohm.unwrap_or(BOND_OHM);
                self.tie(id, &e.terminal, EdgeKind::Tie { ohm });
            }
        }
    }

    /// A star from the bar's first terminal.
    fn add_bar(&mut self, id: &ElementId, terminals: &[TerminalId], used_as: BarUse) {
        let Some((hub, rest)) = terminals.split_first() else {
            return;
        };
        for (part, terminal) in rest.iter().enumerate() {
            self.edge(id, part, [hub, terminal], EdgeKind::Bar(used_as));
        }
        for terminal in terminals {
            let node = self.node(terminal);
            self.netlist.bars.insert(node, used_as);
        }
    }

    /// One edge for each pair of terminals that any position joins.
    fn add_switch(&mut self, id: &ElementId, switch: &Switch) {
        let mut paths: Vec<([&TerminalId; 2], u64, bool)> = Vec::new();
        for (position, made) in switch.positions.iter().enumerate() {
            for [a, b] in &made.joins {
                let same = |ends: &[&TerminalId; 2]| *ends == [a, b] || *ends == [b, a];
                let known = paths.iter().position(|(ends, ..)| same(ends));
                let at = known.unwrap_or(paths.len());
                if known.is_none() {
                    paths.push(([a, b], 0, false));
                }
                paths[at].1 |= if position < 64 { 1 << position } else { 0 };
                paths[at].2 |= position == switch.rest;
            }
        }
        let ohm = switch.ohm.unwrap_or(SWITCH_OHM);
        for (part, (ends, made_in, made_at_rest)) in paths.into_iter().enumerate() {
            self.edge(
                id,
                part,
                ends,
                EdgeKind::Switch {
                    made_in,
                    made_at_rest,
                    ohm,
                },
            );
        }
    }

    /// Tells each contact the edge of its coil.
    fn resolve_coils(&mut self, device: &Device) {
        for element in &device.elements {
            let ElementKind::Contact(contact) = &element.is else {
                continue;
            };
            let edge = |wanted: &ElementId| {
                let elements = self.netlist.elements[self.at.elements.clone()].iter();
                let mut found = elements.filter(|(_, _, count)| *count > 0);
                found
                    .find(|(id, ..)| id == wanted)
                    .map(|(_, first, _)| EdgeIndex::new(*first))
            };
            let (own, its_coil) = (edge(&element.id), edge(&contact.coil));
            let is_coil =
                |edge: &EdgeIndex| matches!(self.netlist.graph[*edge].kind, EdgeKind::Coil { .. });
            let its_coil = its_coil.filter(is_coil);
            if let Some(own) = own
                && let EdgeKind::Contact { coil, .. } = &mut self.netlist.graph[own].kind
            {
                *coil = its_coil;
            }
        }
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
