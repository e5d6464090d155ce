//! The result of a solve.

/// The operating point of a network.
#[derive(Clone, Debug, PartialEq)]
pub struct Solution {
    /// True if the supply carries everything switched on. If not, [`Solution::no_point`] gives the
    /// reason, and the figures are those after dropping the loads in [`Solution::dropped`].
    pub converged: bool,
    /// Why there is no operating point with every load on.
    pub no_point: Option<NoPoint>,
    /// Voltage of each node in volt, relative to the reference of its island.
    pub node_volts: Vec<f64>,
    /// Current of each element in ampere, signed as [`super::network::Law`] says; 0 for an element
    /// off or dropped; `None` where elements without resistance share a current and the split is
    /// undetermined.
    pub currents: Vec<Option<f64>>,
    /// State of each diode and alternator that is not off.
    pub states: Vec<Option<PartState>>,
    /// Loads that cannot run, in drop order.
    pub dropped: Vec<Dropped>,
    /// The parts of the network not connected by conductance; the one with the reference first.
    pub islands: Vec<Island>,
    /// Island of each node, an index in [`Solution::islands`].
    pub node_island: Vec<usize>,
    /// Groups of elements without resistance whose split is undetermined.
    pub undetermined: Vec<Undetermined>,
    /// Share of the demanded power that the supply can carry, if it cannot carry all of it.
    pub margin: Option<f64>,
}

/// State of a part with several operating modes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PartState {
    /// Diode blocking, or alternator without output.
    Off,
    /// Diode conducting.
    On,
    /// Alternator holding its voltage.
    Regulating,
    /// Alternator at its current limit.
    Limit,
}

/// Why no operating point was found.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NoPoint {
    /// The constant-power loads need more than the supply and its wires can carry.
    SupplyCannotCarry,
    /// The currents do not balance to the required accuracy; the figures must not be used.
    Numerical,
}

/// A dropped load, and why.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Dropped {
    /// The element.
    pub element: usize,
    /// Why.
    pub reason: DropReason,
}

/// Why a load cannot run.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum DropReason {
    /// No supply or no return path.
    NoPath,
    /// Its voltage is below its cut-off even with no constant-power load running.
    NoLoadUnderCutOff,
    /// Its voltage is below its cut-off while running.
    UnderCutOff,
    /// The supply cannot carry all loads, and this one reaches its cut-off first.
    SupplyCannotCarry,
}

impl DropReason {
    /// The reason in words, lower case.
    pub fn words(self) -> &'static str {
        match self {
            Self::NoPath => "no path",
            Self::NoLoadUnderCutOff => "no-load voltage under cut-off",
            Self::UnderCutOff => "voltage under cut-off",
            Self::SupplyCannotCarry => "supply cannot carry the load",
        }
    }
}

/// A part of the network not connected to the rest by conductance.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Island {
    /// Its node at 0 V: the network's reference, else the negative of its first source, else its first node.
    pub reference: usize,
    /// What its voltages mean.
    pub status: IslandStatus,
}

/// What the voltages of an island mean.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum IslandStatus {
    /// Holds the reference of the network.
    Referenced,
    /// Has a source but no connection to the reference: its voltages are relative to its own node.
    FloatingSourced,
    /// Has neither: no voltage, no current.
    FloatingUnsourced,
}

impl IslandStatus {
    /// The status in words, lower case.
    pub fn words(self) -> &'static str {
        match self {
            Self::Referenced => "referenced",
            Self::FloatingSourced => "floating, sourced",
            Self::FloatingUnsourced => "floating, unsourced",
        }
    }
}

/// Elements without resistance whose shares of a current are undetermined.
#[derive(Clone, Debug, PartialEq)]
pub struct Undetermined {
    /// The elements, in order.
    pub elements: Vec<usize>,
    /// Their sum in ampere in the direction of the first, where they all join the same two nodes and
    /// that sum is determined.
    pub sum_amp: Option<f64>,
}

impl Solution {
    /// One sentence for a person if there is no operating point with every load on.
    pub fn sentence(&self) -> Option<String> {
        match (self.no_point?, self.margin) {
            (NoPoint::SupplyCannotCarry, Some(margin)) => {
                // Rounded down: never promise more than there is.
                let percent = (margin * 1000.0).floor() / 10.0;
                Some(format!(
                    "supply can carry {percent:.1} % of the demanded power"
                ))
            }
            (NoPoint::SupplyCannotCarry, None) => {
                Some("supply cannot carry the demanded power".into())
            }
            (NoPoint::Numerical, _) => Some(
                "no result: the currents of this circuit do not balance; look for an extreme \
                      resistance"
                    .into(),
            ),
        }
    }
}
