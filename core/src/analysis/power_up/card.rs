//! The card of a first power-up: its lines, and what is live.

use crate::{
    document::End,
    ids::{DeviceId, ElementId, WireId},
    netlist::{Netlist, Point},
};

/// The card.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct PowerUp {
    /// Its lines, in the order of devices and elements; empty without a battery.
    pub steps: Vec<Step>,
    /// Terminals that are live with the master on and every breaker and fuse out.
    pub live: Vec<Live>,
    /// The switches that turn the master on, as in [`Step::positions`].
    pub master: Vec<(String, usize)>,
    /// Wires to disconnect, and at which end: those of a starter.
    pub disconnect: Vec<(WireId, End)>,
    /// Batteries that stay disconnected while the supply is at another: their positive terminals.
    pub batteries: Vec<End>,
}

/// One line: a breaker or fuse, and switches that must be moved from rest.
#[derive(Clone, Debug, PartialEq)]
pub struct Step {
    /// The breaker or fuse that this line is for.
    pub device: DeviceId,
    /// Its element.
    pub element: ElementId,
    /// Its protected side; on an alternate feed the side of the bus that it feeds.
    pub load_side: End,
    /// Everything to close: itself, and the parts upstream of it.
    pub close: Vec<(DeviceId, ElementId)>,
    /// Switches to move from rest: `DEVICE/ELEMENT` and position.
    pub positions: Vec<(String, usize)>,
    /// The voltages to measure.
    pub pins: Vec<Pin>,
    /// Current through the breaker with its units plugged in, A: continuous, and at most. None if a load has no
    /// figure.
    pub amps: [Option<f64>; 2],
    /// Where the supply is connected in place of the battery.
    pub supply_at: End,
    /// Voltage setting of the supply, V.
    pub supply_v: f64,
    /// Current limit of the supply, A; none if a load has no figure.
    pub supply_limit_a: Option<f64>,
    /// Terminals that are also live, beyond those downstream of this breaker, and those of [`PowerUp::live`]: all of
    /// them with the master on, else those that are always live. On an alternate feed, all that are not always live.
    pub live_too: Vec<End>,
    /// Motors that run, by the labels of their devices.
    pub runs: Vec<DeviceId>,
    /// True if a starter would turn with its cable connected.
    pub cranks: bool,
    /// The number of parts and wires from the battery to the breaker.
    pub upstream: usize,
    /// True if the breaker is fed from its other end than on its first line.
    pub is_alternate: bool,
}

/// A voltage to measure with the units unplugged.
#[derive(Clone, Debug, PartialEq)]
pub struct Pin {
    /// One lead of the meter.
    pub lead: End,
    /// The other.
    pub other: End,
    /// The voltage between them, V.
    pub volts: f64,
    /// The same before any switch is moved but those that turn the master on; none if no other is moved.
    pub rest_v: Option<f64>,
}

/// A terminal that is live with every breaker and fuse out.
#[derive(Clone, Debug, PartialEq)]
pub struct Live {
    /// The terminal.
    pub at: End,
    /// Its voltage, V.
    pub volts: f64,
    /// True if it is live with every switch at rest too.
    pub always: bool,
}

/// The end of a wire at a node; open where no wire can end.
pub(super) fn end(netlist: &Netlist, node: petgraph::graph::NodeIndex) -> End {
    match netlist.point(node) {
        Point::Terminal(device, terminal) => End::Terminal(device.clone(), terminal.clone()),
        Point::Structure(place) => End::Structure(place.clone()),
        _ => End::Open,
    }
}
