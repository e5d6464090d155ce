//! What a solve hands back.

/// The operating point of a network.
#[derive(Clone, Debug, PartialEq)]
pub struct Solution {
    /// Does the supply carry everything switched on? If not, [`Solution::no_point`] says why, and the
    /// figures are those left after the loads in [`Solution::dropped`] have gone off.
    pub converged: bool,
    /// Why there is no operating point with every load on.
    pub no_point: Option<NoPoint>,
    /// Voltage of each node in volt, against the reference of its island.
    pub node_volts: Vec<f64>,
    /// Current of each element in ampere, signed as [`super::network::Law`] says; 0 for an element off or
    /// dropped; `None` where elements without resistance share a current and the split is not determined.
    pub currents: Vec<Option<f64>>,
    /// State of each diode and alternator that is not off.
    pub states: Vec<Option<PartState>>,
    /// Loads that cannot run, in the order in which they went off.
    pub dropped: Vec<Dropped>,
    /// The parts of the network that no conductance joins; the one with the reference first.
    pub islands: Vec<Island>,
    /// Island of each node, a position in [`Solution::islands`].
    pub node_island: Vec<usize>,
    /// Groups of elements without resistance whose split is not determined.
    pub undetermined: Vec<Undetermined>,
    /// Part of the demanded power the supply can carry; given when it cannot carry all of it.
    pub margin: Option<f64>,
}

/// State of a part with more than one way to behave.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PartState {
    /// Diode blocking, or alternator without output.
    Off,
    /// Diode conducting.
    On,
    /// Alternator holding its voltage.
    Regulating,
    /// Alternator at its largest output.
    Limit,
}

/// Why no operating point was found.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NoPoint {
    /// The constant-power loads ask for more than the supply and its wires can carry.
    SupplyCannotCarry,
    /// The figures do not add up to the accuracy asked for; they must not be used.
    Numerical,
}

/// A load that went off, and why.
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
    /// Even with no constant-power load running its voltage is under its cut-off.
    NoLoadUnderCutOff,
    /// While running its voltage is under its cut-off.
    UnderCutOff,
    /// The supply cannot carry all loads, and this one gives way first.
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

/// A part of the network that no conductance joins to the rest.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Island {
    /// Its node at 0 V: the network's reference, else the negative of its first source, else its first node.
    pub reference: usize,
    /// What that means for its voltages.
    pub status: IslandStatus,
}

/// What the voltages of an island mean.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum IslandStatus {
    /// Holds the reference of the network.
    Referenced,
    /// Has a source, but nothing ties it to the reference: its voltages are relative to its own.
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

/// Elements without resistance that share a current in a way the network does not determine.
#[derive(Clone, Debug, PartialEq)]
pub struct Undetermined {
    /// The elements, in order.
    pub elements: Vec<usize>,
    /// Their sum in ampere in the direction of the first, where they all join the same two nodes and
    /// that sum is determined.
    pub sum_amp: Option<f64>,
}

impl Solution {
    /// One sentence for the reader when there is no operating point with every load on.
    pub fn sentence(&self) -> Option<String> {
        match (self.no_point?, self.margin) {
            (NoPoint::SupplyCannotCarry, Some(margin)) => {
                // Rounded down: never promise more than there is.
                let percent = (margin * 1000.0).floor() / 10.0;
                Some(format!("supply can carry {percent:.1} % of the demanded power"))
            }
            (NoPoint::SupplyCannotCarry, None) => Some("supply cannot carry the demanded power".into()),
            (NoPoint::Numerical, _) => {
                Some("no result: the figures of this network do not add up; look for an extreme resistance".into())
            }
        }
    }
}
