//! A document's circuit, prepared for solving in any state: the graph, its reduction, and the
//! network that gets its values from each state.

use std::sync::{Arc, OnceLock};

use crate::order::{Grouped, Map};

use petgraph::{
    graph::{EdgeIndex, NodeIndex},
    unionfind::UnionFind,
    visit::EdgeRef,
};

use super::{
    Element, Law, Network,
    reduce::{Chain, Reduced, points},
    resistance::{LEAST_OHM, edge_ohm},
    states::unsound,
};
use crate::{
    document::{BarUse, Document},
    ids::{DeviceId, WireId},
    netlist::{
        Edge, EdgeKind, EdgeOf, LoadFigures, Netlist, Point, Through,
        trace::{Feeds, Returns, SUPPLY},
    },
};

bitflags::bitflags! {
    /// What a point is where the path to or from a load may end.
    #[derive(Clone, Copy, Debug)]
    pub(crate) struct WayEnd: u8 {
        const PLUS = 1;
        const MINUS = 1 << 1;
        const BUS = 1 << 2;
        const GROUND = 1 << 3;
        const REFERENCE = 1 << 4;
    }
}

/// A part of the network other than a chain of conductors.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Part {
    /// Its edge in the netlist.
    pub(crate) edge: EdgeIndex,
    /// Its element in the network.
    pub(crate) element: usize,
    /// For a load that works in either polarity, the reversed element.
    pub(super) reversed: Option<usize>,
}

/// A coil and its figures.
#[derive(Clone, Debug)]
pub(crate) struct Coil {
    pub(crate) part: Part,
    pub(super) pull_in_v: f64,
    pub(super) drop_out_v: f64,
}

/// Paths to and from loads, in any switch position.
#[derive(Debug)]
pub struct Ways {
    /// The return side.
    pub returns: Returns,
    /// The feeds of every node from every source.
    pub feeds: Feeds,
}

impl Ways {
    fn new(netlist: &Netlist) -> Self {
        let returns = Returns::new(netlist);
        let feeds = Feeds::new(netlist, &returns, SUPPLY);
        Self { returns, feeds }
    }
}

/// A document's circuit. Made once for all states.
#[derive(Clone, Debug)]
pub struct Circuit {
    /// The graph it was built from, everything at rest.
    pub netlist: Arc<Netlist>,
    /// The node at 0 V; `None` without a source.
    pub reference: Option<NodeIndex>,
    /// By edge: resistance of a conductor, ohm.
    pub(super) ohm: Vec<Option<f64>>,
    pub(super) reduced: Reduced,
    /// By point: its node in the network; `None` if it was reduced away or no source can reach it.
    pub(super) node_of: Vec<Option<usize>>,
    /// By chain: its element in the network, if current can flow.
    pub(super) chain_element: Vec<Option<usize>>,
    pub(crate) loads: Vec<(Part, LoadFigures)>,
    pub(super) alternators: Vec<(Part, Option<NodeIndex>)>,
    /// Batteries, alternators, diodes, coils: edge, element.
    pub(crate) sources_and_others: Vec<(EdgeIndex, usize)>,
    pub(crate) coils: Vec<Coil>,
    /// Contacts: edge, its coil's index in `coils`, whether it is closed while that coil is
    /// energized.
    pub(super) contacts: Vec<(EdgeIndex, Option<usize>, bool)>,
    pub(crate) network: Network,
    /// Impossible figures, in words; those parts are left out.
    pub(super) unsound: Vec<String>,
    /// Labels of parts that switch with voltage, by edge.
    names: Map<EdgeIndex, String>,
    nodes_of: Grouped<NodeIndex>,
    /// By point: what of that it is.
    pub(crate) way_ends: Vec<WayEnd>,
    ways: OnceLock<Arc<Ways>>,
}

impl Circuit {
    /// The circuit of a document.
    pub fn new(document: &Document) -> Self {
        Self::of(document, Netlist::new(document))
    }

    /// The circuit of a document's netlist, including anything added to it.
    pub(crate) fn of(document: &Document, netlist: impl Into<Arc<Netlist>>) -> Self {
        let netlist = netlist.into();
        let conductor_c = document.project.conductor_c;
        let ohm: Vec<_> = netlist
            .graph
            .edge_weights()
            .map(|edge| edge_ohm(&edge.kind, conductor_c))
            .collect();
        let reference = reference(&netlist);
        let (point_of, count) = points(&netlist);
        let fields = netlist
            .graph
            .edge_weights()
            .filter_map(|edge| match edge.kind {
                EdgeKind::Alternator { field, .. } => field,
                _ => None,
            });
        let keep: Vec<_> = fields
            .chain(reference)
            .map(|node: NodeIndex| point_of[node.index()])
            .collect();
        let reduced = Reduced::new(&netlist, (point_of, count), &ohm, keep);
        let by_point = reduced.point_of.iter().enumerate();
        let by_point = by_point.map(|(node, point)| (*point, NodeIndex::new(node)));
        let nodes_of = Grouped::new(reduced.points, by_point);
        let way_ends = way_ends(&netlist, reference, &reduced);
        let mut circuit = Self {
            way_ends,
            node_of: vec![None; reduced.points],
            chain_element: Vec::with_capacity(reduced.chains.len()),
            names: Map::new(),
            netlist,
            reference,
            ohm,
            reduced,
            loads: Vec::new(),
            alternators: Vec::new(),
            sources_and_others: Vec::new(),
            coils: Vec::new(),
            contacts: Vec::new(),
            network: Network::default(),
            unsound: Vec::new(),
            nodes_of,
            ways: OnceLock::new(),
        };
        circuit.lay_out(document);
        circuit.name_parts(document);
        circuit
    }

    /// The paths to and from loads, found on first use.
    pub fn ways(&self) -> &Ways {
        (self.ways).get_or_init(|| Arc::new(Ways::new(&self.netlist)))
    }

    /// Updates the figures of these wires and devices, if no connection changed. Returns whether
    /// any figure of the circuit changed, or `None` if the circuit must be rebuilt.
    pub(super) fn refit(
        &mut self,
        document: &Document,
        wires: &[WireId],
        devices: &[DeviceId],
    ) -> Option<bool> {
        let edges = Arc::make_mut(&mut self.netlist).refit(document, wires, devices)?;
        let conductor_c = document.project.conductor_c;
        for &edge in &edges {
            // Parts with impossible figures are left out of the network, so its shape differs.
            if !self.unsound.is_empty() || unsound(&self.netlist, edge).is_some() {
                return None;
            }
            let kind = &self.netlist.graph[edge].kind;
            self.ohm[edge.index()] = edge_ohm(kind, conductor_c);
        }
        if edges.is_empty() {
            return Some(false);
        }
        for (chain, element) in self.reduced.chains.iter_mut().zip(&self.chain_element) {
            let ohms = chain.links.iter().map(|(edge, _)| self.ohm[edge.index()]);
            chain.ohm = ohms.flatten().sum();
            if let Some(element) = *element {
                self.network.elements[element].law = Law::Resistor { ohm: chain.ohm };
            }
        }
        for &(edge, element) in &self.sources_and_others {
            if let Some(law) = part_law(&self.netlist.graph[edge].kind) {
                self.network.elements[element].law = law;
            }
        }
        for (part, figures) in &mut self.loads {
            if let Some(now) = self.netlist.load(part.edge) {
                *figures = *now;
            }
        }
        for coil in &mut self.coils {
            let edge = &self.netlist.graph[coil.part.edge];
            if let EdgeKind::Coil {
                pull_in_v,
                drop_out_v,
                ..
            } = edge.kind
            {
                (coil.pull_in_v, coil.drop_out_v) = (pull_in_v, drop_out_v);
            }
        }
        Some(true)
    }

    /// The point of a node.
    pub(crate) fn point(&self, node: NodeIndex) -> usize {
        self.reduced.point_of[node.index()]
    }

    /// The nodes of a point.
    pub(crate) fn nodes(&self, point: usize) -> &[NodeIndex] {
        self.nodes_of.of(point)
    }

    /// The label of a part that switches with voltage.
    pub(super) fn name(&self, edge: EdgeIndex) -> &str {
        self.names.get(&edge).map_or("a part", String::as_str)
    }

    fn name_parts(&mut self, document: &Document) {
        let coils = self.coils.iter().map(|coil| coil.part.edge);
        let alternators = self.alternators.iter().map(|(part, _)| part.edge);
        let turned = self
            .loads
            .iter()
            .filter(|(part, _)| part.reversed.is_some());
        let turned = turned.map(|(part, _)| part.edge);
        self.names = coils
            .chain(alternators)
            .chain(turned)
            .map(|edge| (edge, part_name(document, self.netlist.of(edge))))
            .collect();
    }

    /// Fills the network: chains first, then every other part that a source can reach.
    fn lay_out(&mut self, document: &Document) {
        let Some(reference) = self.reference else {
            return;
        };
        let near = self.near_a_source();
        let reference = self.point(reference);
        self.network.reference = self.network_node(reference);
        let chains = std::mem::take(&mut self.reduced.chains);
        for Chain { from, to, ohm, .. } in &chains {
            let element = (from != to && near[*from])
                .then(|| self.add(Law::Resistor { ohm: *ohm }, *from, *to));
            self.chain_element.push(element);
        }
        self.reduced.chains = chains;
        for edge in self.netlist.graph.edge_indices() {
            let (a, b) = self.netlist.ends(edge);
            let (a, b) = (self.point(a), self.point(b));
            let kind = self.netlist.graph[edge].kind;
            if let EdgeKind::Contact { made_energised, .. } = kind {
                self.contacts.push((edge, None, made_energised));
            } else if near[a] && self.ohm[edge.index()].is_none() {
                self.add_part(document, edge, kind, a, b);
            }
        }
        for at in 0..self.contacts.len() {
            if let EdgeKind::Contact { coil, .. } = self.netlist.graph[self.contacts[at].0].kind {
                self.contacts[at].1 = self
                    .coils
                    .iter()
                    .position(|known| Some(known.part.edge) == coil);
            }
        }
    }

    fn add_part(
        &mut self,
        document: &Document,
        edge: EdgeIndex,
        kind: EdgeKind,
        a: usize,
        b: usize,
    ) {
        if let Some((field, value)) = unsound(&self.netlist, edge) {
            let name = part_name(document, self.netlist.of(edge));
            self.unsound
                .push(format!("{name}: {field} is {value}, an impossible value"));
            return;
        }
        let Some(law) = part_law(&kind) else { return };
        let element = self.add(law, a, b);
        let mut part = Part {
            edge,
            element,
            reversed: None,
        };
        if kind != EdgeKind::Load {
            self.sources_and_others.push((edge, element));
        }
        match kind {
            EdgeKind::Load => {
                let Some(&figures) = self.netlist.load(edge) else {
                    return;
                };
                part.reversed = figures.either_way.then(|| self.add(law, b, a));
                self.loads.push((part, figures));
            }
            EdgeKind::Alternator { field, .. } => self.alternators.push((part, field)),
            EdgeKind::Coil {
                pull_in_v,
                drop_out_v,
                ..
            } => {
                self.coils.push(Coil {
                    part,
                    pull_in_v,
                    drop_out_v,
                });
            }
            _ => {}
        }
    }

    fn add(&mut self, law: Law, a: usize, b: usize) -> usize {
        let (a, b) = (self.network_node(a), self.network_node(b));
        self.network.elements.push(Element {
            law,
            a,
            b,
            off: false,
        });
        self.network.elements.len() - 1
    }

    fn network_node(&mut self, point: usize) -> usize {
        *self.node_of[point].get_or_insert_with(|| {
            self.network.node_count += 1;
            self.network.node_count - 1
        })
    }

    /// By point: whether a source can reach it in any switch position.
    fn near_a_source(&self) -> Vec<bool> {
        let mut sets = UnionFind::<usize>::new(self.reduced.points);
        for edge in self.netlist.graph.edge_references() {
            sets.union(self.point(edge.source()), self.point(edge.target()));
        }
        let group = sets.into_labeling();
        let mut sourced = vec![false; self.reduced.points];
        for source in self.netlist.sources() {
            sourced[group[self.point(self.netlist.ends(source).0)]] = true;
        }
        group.iter().map(|&group| sourced[group]).collect()
    }

    /// The edge of an element of a device.
    pub(super) fn edge(&self, edge: EdgeIndex) -> &Edge {
        &self.netlist.graph[edge]
    }
}

/// The law of a part; `None` for a conductor. The state sets a load's law.
fn part_law(kind: &EdgeKind) -> Option<Law> {
    let some = |ohm: f64| ohm.max(LEAST_OHM);
    Some(match *kind {
        EdgeKind::Coil { ohm, .. } => Law::Resistor { ohm: some(ohm) },
        EdgeKind::Diode { vf_v, ohm } => Law::Diode {
            vf_v,
            ohm: some(ohm),
        },
        EdgeKind::Battery {
            emf_v,
            ohm,
            charge_ohm,
        } => Law::Battery {
            emf_v,
            ohm: some(ohm),
            charge_ohm: Some(some(charge_ohm)),
        },
        EdgeKind::Alternator {
            set_v,
            ohm,
            limit_a,
            ..
        } => Law::Alternator {
            v_set: set_v,
            ohm_reg: some(ohm),
            i_max: limit_a,
        },
        // The state sets it.
        EdgeKind::Load => Law::LoadPower {
            watt: 0.0,
            v_cut: 0.0,
        },
        _ => return None,
    })
}

/// A part's label for a sentence.
fn part_name(document: &Document, of: &EdgeOf) -> String {
    match of {
        EdgeOf::Element(device, element, _) => match document.devices.get(device) {
            Some(device) => format!("{} ({element})", device.tag),
            None => element.to_string(),
        },
        EdgeOf::Wire(id) | EdgeOf::InlineFuse(id) => format!("wire {id}"),
        EdgeOf::Shield(id) | EdgeOf::ShieldEnd(id, _) => format!("the shield of {id}"),
        EdgeOf::Bond(place) => format!("the bond of {place}"),
    }
}

/// The node at 0 V: the metal nearest the first battery's negative, else that negative, else the first
/// alternator's.
pub(crate) fn reference(netlist: &Netlist) -> Option<NodeIndex> {
    let source = (netlist.batteries().next()).or_else(|| netlist.sources().next())?;
    let (_, minus) = netlist.ends(source);
    Some(nearest_metal(netlist, minus).unwrap_or(minus))
}

/// The metal that the fewest conductors part from a node; of several, the first by record, whichever way the
/// conductors are drawn.
fn nearest_metal(netlist: &Netlist, from: NodeIndex) -> Option<NodeIndex> {
    let mut seen = vec![false; netlist.graph.node_count()];
    seen[from.index()] = true;
    let mut level = vec![from];
    while !level.is_empty() {
        let is_structure = |node: &&NodeIndex| matches!(netlist.point(**node), Point::Structure(_));
        if let Some(metal) = level.iter().filter(is_structure).min() {
            return Some(*metal);
        }
        let mut next = Vec::new();
        for &node in &level {
            for edge in netlist.edges_at(node) {
                let forward = netlist.ends(edge).0 == node;
                let other = netlist.other(edge, node);
                if Through::METAL.passes(&netlist.graph[edge], forward) && !seen[other.index()] {
                    seen[other.index()] = true;
                    next.push(other);
                }
            }
        }
        level = next;
    }
    None
}

fn way_ends(netlist: &Netlist, reference: Option<NodeIndex>, reduced: &Reduced) -> Vec<WayEnd> {
    let mut flags = vec![WayEnd::empty(); reduced.points];
    let mut mark = |node: NodeIndex, flag: WayEnd| flags[reduced.point_of[node.index()]] |= flag;
    for source in netlist.sources() {
        let (plus, minus) = netlist.ends(source);
        mark(plus, WayEnd::PLUS);
        mark(minus, WayEnd::MINUS);
    }
    for (node, used_as) in netlist.bars() {
        match used_as {
            BarUse::Bus => mark(node, WayEnd::BUS),
            BarUse::Ground => mark(node, WayEnd::GROUND),
            BarUse::Joint => {}
        }
    }
    if let Some(node) = reference {
        mark(node, WayEnd::REFERENCE);
    }
    flags
}
