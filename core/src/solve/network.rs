//! The element model: what each two-terminal part does between its two nodes.
//!
//! Nodes are plain numbers; the document's netlist and the bare JSON form both map to them.

use thiserror::Error;

/// A resistance below this counts as zero: its two nodes are merged, and its share in a loop is
/// undetermined.
///
/// 10 µΩ: 1 mV at 100 A. The range of conductances then fits double precision (reasoned, not
/// published).
pub const IDEAL_BELOW_OHM: f64 = 1e-5;

/// A resistance above this counts as open: it carries less than the leak of every nonlinear part.
pub const OPEN_ABOVE_OHM: f64 = 1e9;

/// Largest accepted voltage, current or power; far beyond any aircraft, and far from overflow.
const LARGEST: f64 = 1e9;

/// A network of two-terminal elements between numbered nodes.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Network {
    /// Number of nodes; nodes are `0..node_count`.
    pub node_count: usize,
    /// The node at 0 V, normally the airframe.
    pub reference: usize,
    /// The elements; an element is identified by its index.
    pub elements: Vec<Element>,
}

/// One two-terminal element.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Element {
    /// Its law.
    pub law: Law,
    /// First terminal; the positive one of a source, the anode of a diode.
    pub a: usize,
    /// Second terminal; the negative one of a source, the cathode of a diode.
    pub b: usize,
    /// Open or removed in this state: the element is inactive but keeps its index.
    pub off: bool,
}

/// Branch laws. V is the voltage from `a` to `b`; the current is positive from `a` through the
/// element to `b`, except for batteries and alternators, where it is positive out of `a`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Law {
    /// Wire, contact, breaker, shield, structure: V / `ohm`.
    Resistor {
        /// Resistance in ohm; under [`IDEAL_BELOW_OHM`] it counts as [`Law::Ideal`].
        ohm: f64,
    },
    /// A joint without resistance: its two nodes are merged.
    Ideal,
    /// Load of constant resistance: V / `ohm`.
    LoadResistance {
        /// Resistance in ohm, above 0.
        ohm: f64,
    },
    /// Load of constant current; off under its cut-off.
    LoadCurrent {
        /// Current in ampere.
        amp: f64,
        /// Lowest voltage in volt at which it runs.
        v_cut: f64,
    },
    /// Load of constant power, `watt` / V, on its upper (stable) voltage; off under its cut-off.
    LoadPower {
        /// Power in watt.
        watt: f64,
        /// Lowest voltage in volt at which it runs.
        v_cut: f64,
    },
    /// Battery: (`emf_v` - V) / `ohm` out of `a`.
    Battery {
        /// Open-circuit voltage in volt.
        emf_v: f64,
        /// Internal resistance in ohm while discharging.
        ohm: f64,
        /// Internal resistance in ohm while taking charge, if it differs.
        charge_ohm: Option<f64>,
    },
    /// Alternator with regulator: (`v_set` - V) / `ohm_reg` out of `a`, never under 0 nor over `i_max`.
    Alternator {
        /// Regulated voltage in volt.
        v_set: f64,
        /// Droop of the regulator in ohm.
        ohm_reg: f64,
        /// Largest output in ampere.
        i_max: f64,
    },
    /// Diode from `a` to `b`: (V - `vf_v`) / `ohm`, never negative.
    Diode {
        /// Forward voltage in volt at which it starts to conduct.
        vf_v: f64,
        /// Resistance in ohm above that.
        ohm: f64,
    },
    /// Ideal current from `a` through the element to `b`; used for injected ripple.
    CurrentSource {
        /// Current in ampere; the sign is its direction.
        amp: f64,
    },
}

/// Why a network cannot be computed: a figure or a node in it is invalid.
#[derive(Clone, Copy, Debug, Error, PartialEq)]
pub enum NetworkError {
    /// The reference node does not exist.
    #[error(
        "reference: node {reference} does not exist, the network has {node_count} nodes; name one \
         of them"
    )]
    Reference {
        /// The given reference.
        reference: usize,
        /// Number of nodes.
        node_count: usize,
    },
    /// The node of a terminal does not exist.
    #[error("element {element}: node {node} does not exist, the network has {node_count} nodes")]
    Node {
        /// The element.
        element: usize,
        /// The given node.
        node: usize,
        /// Number of nodes.
        node_count: usize,
    },
    /// An impossible figure.
    #[error("element {element}: \"{field}\" is {value}, expected {wanted}")]
    Value {
        /// The element.
        element: usize,
        /// The field of [`Law`].
        field: &'static str,
        /// Its value.
        value: f64,
        /// The expected value, in words.
        wanted: &'static str,
    },
    /// Too many nodes or elements for the memory.
    #[error("the network is too large for the memory of this machine; split it")]
    TooLarge,
}

/// Allowed range of a figure.
#[derive(Clone, Copy)]
enum Range {
    /// Volt, ampere, watt: 0 up to [`LARGEST`].
    Amount,
    /// Either sign.
    Signed,
    /// Ohm, 0 allowed.
    Resistance,
    /// Ohm, above 0.
    SomeResistance,
}

impl Range {
    fn holds(self, value: f64) -> bool {
        match self {
            Self::Amount => (0.0..=LARGEST).contains(&value),
            Self::Signed => value.abs() <= LARGEST,
            Self::Resistance => value >= 0.0 && value.is_finite(),
            Self::SomeResistance => value >= IDEAL_BELOW_OHM && value.is_finite(),
        }
    }

    fn words(self) -> &'static str {
        match self {
            Self::Amount => "a number from 0 to 1e9",
            Self::Signed => "a number from -1e9 to 1e9",
            Self::Resistance => "a number of ohms, 0 or more",
            Self::SomeResistance => "a number of ohms, 0.00001 or more",
        }
    }
}

impl Law {
    /// True if the two terminals are one node.
    pub fn is_ideal(&self) -> bool {
        match *self {
            Self::Ideal => true,
            Self::Resistor { ohm } => ohm < IDEAL_BELOW_OHM,
            _ => false,
        }
    }

    /// True if the element connects its terminals by a conductance, so that it can hold a node's
    /// potential.
    pub fn conducts(&self) -> bool {
        match *self {
            Self::Resistor { ohm } | Self::LoadResistance { ohm } => ohm <= OPEN_ABOVE_OHM,
            Self::LoadCurrent { .. } | Self::LoadPower { .. } | Self::CurrentSource { .. } => false,
            Self::Ideal | Self::Battery { .. } | Self::Alternator { .. } | Self::Diode { .. } => {
                true
            }
        }
    }

    /// Every figure of the law with its name and range.
    fn figures(&self) -> [Option<(&'static str, f64, Range)>; 3] {
        use Range::{Amount, Resistance, Signed, SomeResistance};
        match *self {
            Self::Ideal => [None; 3],
            Self::Resistor { ohm } => [Some(("ohm", ohm, Resistance)), None, None],
            Self::LoadResistance { ohm } => [Some(("ohm", ohm, SomeResistance)), None, None],
            Self::LoadCurrent { amp, v_cut } => [
                Some(("amp", amp, Amount)),
                Some(("v_cut", v_cut, Amount)),
                None,
            ],
            Self::LoadPower { watt, v_cut } => [
                Some(("watt", watt, Amount)),
                Some(("v_cut", v_cut, Amount)),
                None,
            ],
            Self::Battery {
                emf_v,
                ohm,
                charge_ohm,
            } => [
                Some(("emf_v", emf_v, Amount)),
                Some(("ohm", ohm, SomeResistance)),
                charge_ohm.map(|ohm| ("charge_ohm", ohm, SomeResistance)),
            ],
            Self::Alternator {
                v_set,
                ohm_reg,
                i_max,
            } => [
                Some(("v_set", v_set, Amount)),
                Some(("ohm_reg", ohm_reg, SomeResistance)),
                Some(("i_max", i_max, Amount)),
            ],
            Self::Diode { vf_v, ohm } => [
                Some(("vf_v", vf_v, Amount)),
                Some(("ohm", ohm, SomeResistance)),
                None,
            ],
            Self::CurrentSource { amp } => [Some(("amp", amp, Signed)), None, None],
        }
    }
}

impl Network {
    /// Checks that every node exists and every figure is possible.
    pub fn check(&self) -> Result<(), NetworkError> {
        let node_count = self.node_count;
        if self.reference >= node_count {
            return Err(NetworkError::Reference {
                reference: self.reference,
                node_count,
            });
        }
        for (element, e) in self.elements.iter().enumerate() {
            for node in [e.a, e.b] {
                if node >= node_count {
                    return Err(NetworkError::Node {
                        element,
                        node,
                        node_count,
                    });
                }
            }
            for (field, value, range) in e.law.figures().into_iter().flatten() {
                if !range.holds(value) {
                    return Err(NetworkError::Value {
                        element,
                        field,
                        value,
                        wanted: range.words(),
                    });
                }
            }
        }
        Ok(())
    }
}
