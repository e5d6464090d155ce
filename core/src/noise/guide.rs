//! All suspects for what is heard, each fault once, and what the tests need to know of the wiring.

use petgraph::graph::{EdgeIndex, NodeIndex};

use super::{
    names::name,
    review::Noise,
    sources::{Source, jack, seats, sources},
    suspect::{Fault, Hear, Onto, Suspect},
};
use crate::{
    analysis::return_graph::role,
    document::{DeviceKind, Document, Jack, JackUse, Role},
    ids::DeviceId,
    netlist::{EdgeKind, EdgeOf, Groups, Point},
};

/// The caution printed above every list of suspects.
pub const CAUTION: &str = "Test on the ground. Stop the engine and turn the master off before you \
                           touch a wire, jack or breaker: a turning propeller kills, and a live \
                           wire can start a fire. Make one change at a time and undo it before \
                           the next.";

/// A drawing and what is heard in it.
pub(super) struct Guide<'a> {
    pub document: &'a Document,
    pub noise: &'a Noise,
    pub hear: Hear,
    /// Jacks of headphones.
    pub seats: Vec<DeviceId>,
    /// What may drive the noise.
    pub sources: Vec<Source>,
    /// Groups of nodes joined end to end.
    pub conductors: Groups,
}

impl<'a> Guide<'a> {
    pub fn new(document: &'a Document, noise: &'a Noise, hear: Hear) -> Self {
        Self {
            document,
            noise,
            hear,
            seats: seats(document),
            sources: sources(document, noise, hear),
            conductors: noise.point.netlist().end_to_end(),
        }
    }

    /// Every suspect, each fault once: as drawn before what no drawing shows.
    pub fn all(&self) -> Vec<Suspect> {
        if self.sources.is_empty() && self.hear != Hear::OneSeat {
            return Vec::new();
        }
        let mut all: Vec<Suspect> = Vec::new();
        for suspect in self.drawn().into_iter().chain(self.hidden()) {
            if !all.iter().any(|it| it.fault == suspect.fault) {
                all.push(suspect);
            }
        }
        all
    }

    /// A suspect without figures, heard everywhere and driven by any current.
    pub fn suspect(&self, fault: Fault, odds: f64, what: String) -> Suspect {
        Suspect {
            what,
            fault,
            at: Vec::new(),
            volts: None,
            into: Onto::Audio,
            resistive_only: true,
            test: String::new(),
            if_changed: String::new(),
            meter: String::new(),
            outcome: None,
            likely: 0.0,
            implicated: false,
            odds,
            path: Vec::new(),
            touches: None,
            seats: self.everyone(),
            sources: self.currents(),
        }
    }

    pub fn of(&self, edge: EdgeIndex) -> &EdgeOf {
        self.noise.point.netlist().of(edge)
    }

    pub fn name(&self, edge: EdgeIndex) -> String {
        name(self.document, self.of(edge))
    }

    pub fn tag(&self, device: &DeviceId) -> String {
        self.document.record_label("device", device.as_str())
    }

    /// Every seat.
    pub fn everyone(&self) -> u64 {
        (1 << self.seats.len().max(1)) - 1
    }

    /// Who hears a fault at these jacks: a fault at headphones is heard there, any other everywhere.
    pub fn heard_at<'d>(&self, jacks: impl Iterator<Item = &'d DeviceId>) -> u64 {
        let bit = |jack| {
            let seat = self.seats.iter().position(|it| it == jack);
            seat.map_or(self.everyone(), |at| 1 << at)
        };
        match jacks.map(bit).fold(0, |all, it| all | it) {
            0 => self.everyone(),
            seats => seats,
        }
    }

    /// How well the seats that hear it fit what is said of them.
    pub fn fits(&self, seats: u64) -> f64 {
        let one = seats.is_power_of_two();
        if self.hear == Hear::OneSeat && !one && self.seats.len() > 1 {
            0.2
        } else {
            1.0
        }
    }

    /// The bits of sources that this accepts.
    pub fn those(&self, fits: impl Fn(&Source) -> bool) -> u64 {
        let all = self.sources.iter().enumerate();
        all.filter(|(_, it)| fits(it))
            .fold(0, |bits, (at, _)| bits | 1 << at)
    }

    /// Every source but magnetos.
    pub fn currents(&self) -> u64 {
        match self.sources.is_empty() {
            true => 1,
            false => self.those(|it| it.alternator || !it.engine),
        }
    }

    /// Every jack for a headset, with the node of its sleeve.
    pub fn jacks(&self) -> Vec<(&'a DeviceId, &'a Jack, NodeIndex)> {
        let sleeve = |id: &'a DeviceId| {
            let jack = jack(self.document, id)?;
            let node = self.noise.point.netlist().terminal(id, &jack.sleeve)?;
            (jack.used_for != JackUse::Other).then_some((id, jack, node))
        };
        self.document.devices.keys().filter_map(sleeve).collect()
    }

    /// The wires and mated pins of the conductor at a node.
    pub fn conductor(&self, node: NodeIndex) -> Vec<EdgeIndex> {
        let netlist = self.noise.point.netlist();
        let same = |edge: &EdgeIndex| {
            let (a, b) = netlist.ends(*edge);
            self.conductors.same(a, node) && self.conductors.same(b, node)
        };
        netlist.graph.edge_indices().filter(same).collect()
    }

    /// The unit at the other end of the conductor at a node.
    pub fn unit_at(&self, node: NodeIndex) -> Option<&'a DeviceId> {
        let netlist = self.noise.point.netlist();
        let mut nodes = netlist.graph.node_indices();
        nodes.find_map(|it| match netlist.point(it) {
            Point::Terminal(id, _) if self.conductors.same(it, node) => {
                let (id, device) = self.document.devices.get_key_value(id)?;
                (device.kind == DeviceKind::Unit).then_some(id)
            }
            _ => None,
        })
    }

    /// Wires at the pins of a unit with one of these roles.
    pub fn wires_at(&self, unit: &DeviceId, roles: &[Role]) -> Vec<EdgeIndex> {
        let netlist = self.noise.point.netlist();
        let fits = |node: &NodeIndex| {
            role(self.document, netlist, *node).is_some_and(|it| roles.contains(&it))
        };
        let edges = netlist.terminals(unit).filter(fits);
        let edges = edges.flat_map(|node| netlist.edges_at(node));
        edges
            .filter(|edge| matches!(netlist.graph[*edge].kind, EdgeKind::Wire { .. }))
            .collect()
    }

    /// The path through return conductors from a node to metal of the airframe, if there is one
    /// without these edges.
    pub fn way_to_metal(&self, from: NodeIndex, without: &[EdgeIndex]) -> Option<Vec<EdgeIndex>> {
        let netlist = self.noise.point.netlist();
        let is_return = |edge: EdgeIndex| {
            let links = &self.noise.graph.links;
            links.binary_search_by_key(&edge, |it| it.edge).is_ok()
        };
        let passes = |edge: EdgeIndex, _| !without.contains(&edge) && is_return(edge);
        let reach = netlist.reach_by([from], passes, |_| crate::netlist::AtNode::GoOn);
        let metal = |node: &&NodeIndex| matches!(netlist.point(**node), Point::Structure(_));
        reach.path(netlist, *reach.nodes.iter().find(metal)?)
    }

    /// The contacts that a fault is: left out when the second way to metal is sought.
    pub fn contacts(&self, fault: &Fault) -> Vec<EdgeIndex> {
        let netlist = self.noise.point.netlist();
        let is_it = |edge: &EdgeIndex| match (fault, netlist.of(*edge)) {
            (Fault::Jack(jack), EdgeOf::Element(device, ..)) => {
                device == jack && matches!(netlist.graph[*edge].kind, EdgeKind::JackTie(_))
            }
            (Fault::Part(part), of) => part == of,
            _ => false,
        };
        netlist.graph.edge_indices().filter(is_it).collect()
    }
}
