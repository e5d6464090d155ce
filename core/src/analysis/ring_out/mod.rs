//! What an ohmmeter shows on the finished wiring before any power: every way that must be there with
//! its ohms, every circuit that must be open to the others, buses, jack bodies and data buses.
//!
//! It holds with the battery out, units unplugged, in-line connectors mated, breakers pulled and fuses
//! out, limiters in, switches as they rest. What has no connector (lamps, motors, coils) stays joined.

use petgraph::{
    graph::{EdgeIndex, NodeIndex},
    unionfind::UnionFind,
};

mod circuits;
mod contacts;
mod coverage;
mod faults;
mod least;
mod line;
mod meter;
mod pairs;
mod sheet;
mod shields;
mod special;
mod stays;

pub use coverage::Coverage;
pub use faults::Fault;
pub use line::{Expect, Line, OPEN_OHM};

use self::sheet::Sheet;
pub(super) use self::stays::unplugs;
use crate::{
    document::{Document, End, Reading},
    netlist::Netlist,
    order::Map,
};

/// The whole sheet.
#[derive(Clone, Debug)]
pub struct RingOut {
    /// The graph its paths are in.
    pub netlist: Netlist,
    /// The measurements: by connector or device, ways first.
    pub lines: Vec<Line>,
    group: Vec<usize>,
    /// By edge: true if it conducts with the units unplugged.
    stays: Vec<bool>,
    /// Parts that stay joined.
    joined: Vec<EdgeIndex>,
}

impl RingOut {
    /// What is to be measured on a document's wiring.
    pub fn new(document: &Document) -> Self {
        let netlist = Netlist::new(document);
        let stays: Vec<bool> = (netlist.graph.edge_indices())
            .map(|edge| stays::stays(document, &netlist, edge))
            .collect();
        let mut sets = UnionFind::<usize>::new(netlist.graph.node_count());
        for edge in netlist.graph.edge_indices().filter(|it| stays[it.index()]) {
            let (a, b) = netlist.ends(edge);
            sets.union(a.index(), b.index());
        }
        let group = sets.into_labeling();
        let joined = stays::joined(document, &netlist);
        let mut joined_at: Map<usize, Vec<EdgeIndex>> = Map::new();
        for &edge in &joined {
            let (a, b) = netlist.ends(edge);
            let (a, b) = (group[a.index()], group[b.index()]);
            if a != b {
                joined_at.or_default(a).push(edge);
                joined_at.or_default(b).push(edge);
            }
        }
        let mut sheet = Sheet {
            document,
            points: stays::points(document, &netlist),
            first: stays::first_wires(document),
            joined,
            joined_at,
            low: special::low(document, &netlist, &group),
            netlist: &netlist,
            stays: &stays,
            group: &group,
            lines: Vec::new(),
        };
        sheet.buses();
        sheet.circuits();
        sheet.straps();
        sheet.pairs();
        sheet.jacks();
        sheet.data_buses();
        sheet.take_off();
        sheet.probes();
        sheet.magnetos();
        sheet.shields();
        sheet.joined_at_rest();
        let Sheet { lines, joined, .. } = sheet;
        Self {
            netlist,
            lines,
            group,
            stays,
            joined,
        }
    }

    /// The line that a reading is of.
    pub fn line_of(&self, reading: &Reading) -> Option<&Line> {
        self.lines.iter().find(|line| line.is_of(reading))
    }

    /// True if both ends are one circuit here.
    pub fn joined(&self, a: &End, b: &End) -> bool {
        let group = |end| self.netlist.end_node(end).map(|it| self.group[it.index()]);
        group(a).is_some() && group(a) == group(b)
    }

    /// The terminals and structure of the circuit of an end.
    pub fn circuit(&self, end: &End) -> Vec<NodeIndex> {
        let Some(node) = self.netlist.end_node(end) else {
            return Vec::new();
        };
        let all = self.netlist.graph.node_indices();
        let same = |it: &NodeIndex| self.group[it.index()] == self.group[node.index()];
        all.filter(same).collect()
    }
}
