//! What rules may know: the document, its circuit, its operating points, and look-ups between them.
//! Made once a run.

mod conductors;
mod labels;
mod records;
mod solved;

use std::sync::{Arc, Mutex, OnceLock};

use petgraph::graph::{EdgeIndex, NodeIndex};
use rustc_hash::FxHashMap;

pub use self::records::{Module, Part};
use super::conductor::Conductors;
use crate::{
    analysis::{LoadAnalysis, endurance::Endurance},
    document::{Device, Document, ElementKind, Terminal, Wire, WireEnd},
    ids::{CableId, DeviceId, WireId},
    netlist::{Ends, Netlist, WireAt},
    order::Grouped,
    solve::{Circuit, OperatingPoint, Simulator},
};

/// A conductor that ends somewhere.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Touch<'a> {
    /// This end of a wire.
    Wire(&'a WireId, WireEnd),
    /// This end of a cable's shield, grounded or carried.
    Shield(&'a CableId, WireEnd),
}

/// The wires among conductors that end at one place.
pub fn wires_of<'s, 'd>(
    touches: &'s [Touch<'d>],
) -> impl Iterator<Item = (&'d WireId, WireEnd)> + use<'s, 'd> {
    touches.iter().filter_map(|touch| match touch {
        Touch::Wire(id, end) => Some((*id, *end)),
        Touch::Shield(..) => None,
    })
}

/// What rules may know.
#[derive(Debug)]
pub struct Facts<'d> {
    /// The document.
    pub document: &'d Document,
    // Looked up at every step: by hash, not in the order of the records.
    devices: OnceLock<FxHashMap<&'d DeviceId, &'d Device>>,
    wires: OnceLock<FxHashMap<&'d WireId, (&'d Wire, WireAt)>>,
    mates: OnceLock<Vec<Option<NodeIndex>>>,
    elements: OnceLock<Vec<Option<&'d ElementKind>>>,
    cable_of: OnceLock<FxHashMap<&'d WireId, &'d CableId>>,
    touches: OnceLock<Grouped<Touch<'d>>>,
    terminals: OnceLock<Vec<Option<TerminalAt<'d>>>>,
    points: OnceLock<Vec<OperatingPoint>>,
    most_steady: OnceLock<Vec<(f64, bool)>>,
    at_rest: OnceLock<OperatingPoint>,
    ends: OnceLock<Ends>,
    // The graph is made before the circuit, so that callers who need only the graph need not wait.
    netlist: OnceLock<Arc<Netlist>>,
    circuit: OnceLock<Arc<Circuit>>,
    simulator: OnceLock<Mutex<Simulator>>,
    conductors: OnceLock<Conductors<'d>>,
    loads: OnceLock<LoadAnalysis>,
    behind: OnceLock<FxHashMap<EdgeIndex, Vec<NodeIndex>>>,
    starters: OnceLock<Vec<EdgeIndex>>,
    endurance: OnceLock<Endurance>,
    working: Mutex<FxHashMap<EdgeIndex, Option<Arc<OperatingPoint>>>>,
}

/// A terminal with its device.
#[derive(Clone, Copy, Debug)]
pub struct TerminalAt<'d> {
    /// The device's id.
    pub id: &'d DeviceId,
    /// The device.
    pub device: &'d Device,
    /// The terminal.
    pub terminal: &'d Terminal,
    /// Its node in the circuit.
    pub node: NodeIndex,
}

impl<'d> Facts<'d> {
    /// Gathers the facts of a document.
    pub fn new(document: &'d Document) -> Self {
        Self {
            document,
            devices: OnceLock::new(),
            wires: OnceLock::new(),
            mates: OnceLock::new(),
            elements: OnceLock::new(),
            cable_of: OnceLock::new(),
            touches: OnceLock::new(),
            terminals: OnceLock::new(),
            points: OnceLock::new(),
            most_steady: OnceLock::new(),
            at_rest: OnceLock::new(),
            ends: OnceLock::new(),
            netlist: OnceLock::new(),
            circuit: OnceLock::new(),
            simulator: OnceLock::new(),
            conductors: OnceLock::new(),
            loads: OnceLock::new(),
            behind: OnceLock::new(),
            starters: OnceLock::new(),
            endurance: OnceLock::new(),
            working: Mutex::default(),
        }
    }

    /// The facts of a document whose circuit is there already, and its operating points if they are.
    pub(super) fn with_circuit(
        document: &'d Document,
        simulator: Simulator,
        points: Option<Vec<OperatingPoint>>,
    ) -> Self {
        let facts = Self::new(document);
        // Fresh cells take what they are given.
        let _ = facts.netlist.set(Arc::clone(&simulator.circuit().netlist));
        let _ = facts.circuit.set(Arc::clone(simulator.circuit()));
        let _ = facts.simulator.set(Mutex::new(simulator));
        if let Some(points) = points {
            let _ = facts.points.set(points);
        }
        facts
    }
}
