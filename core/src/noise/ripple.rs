//! Currents that alternator ripple and pulsed loads drive through loops, and what they add to the
//! audio.
//!
//! Ripple is solved with the resistance and inductance of every conductor; mutual inductance is
//! ignored. Pulses are solved with resistance only. A battery is its internal resistance, a running
//! load its resistance at the operating point, a conducting diode its slope resistance.

use std::f64::consts::TAU;

use petgraph::graph::{EdgeIndex, NodeIndex};

use crate::{
    analysis::phasors::{Branch, Phasors},
    document::{Device, DeviceKind, Document, ElementKind, Project, Pulses, Role},
    netlist::{EdgeKind, EdgeOf},
    solve::{
        OperatingPoint,
        resistance::{UNKNOWN_LENGTH_M, edge_ohm},
    },
};

/// Permeability of free space over 2π, H/m.
const MU0_OVER_TAU: f64 = 2e-7;
/// Currents below this count as zero, A.
const NO_AMPS: f64 = 1e-6;

/// Figures that are not in the drawing. Every default except the headphone level is assumed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Settings {
    /// Speed of the engine, 1/min.
    pub engine_rpm: f64,
    /// Alternator turns per engine turn.
    pub pulley_ratio: f64,
    /// Pairs of poles of the alternator.
    pub pole_pairs: f64,
    /// Ripple current of each alternator, A rms.
    pub ripple_a: f64,
    /// Inductance of wires and shields, H/m.
    pub wire_h_per_m: f64,
    /// Inductance of the structure path at each bond, H.
    pub bond_h: f64,
    /// Level of a microphone, V rms.
    pub mic_v: f64,
    /// Level of headphones, V rms: 50 mW in 600 ohm.
    pub phones_v: f64,
    /// Distance from a wire with ripple to the nearer and farther side of a loop, m.
    pub apart_m: [f64; 2],
}

impl Default for Settings {
    fn default() -> Self {
        Self {
            engine_rpm: 2400.0,
            pulley_ratio: 2.5,
            pole_pairs: 6.0,
            ripple_a: 1.0,
            wire_h_per_m: 0.8e-6,
            bond_h: 0.25e-6,
            mic_v: 0.150,
            phones_v: (0.05f64 * 600.0).sqrt(),
            apart_m: [0.020, 0.050],
        }
    }
}

impl Settings {
    /// The project's own figures, or the assumed ones where they are not set.
    pub fn of(project: &Project) -> Self {
        let figures = project.noise.clone().unwrap_or_default();
        // No real part exceeds these, and larger figures would overflow the sums.
        let or = |figure: Option<f64>, assumed: f64, unit: f64| {
            figure.map_or(assumed, |it| it.clamp(1e-6, 1e6) * unit)
        };
        let assumed = Self::default();
        Self {
            engine_rpm: or(figures.engine_rpm, assumed.engine_rpm, 1.0),
            pulley_ratio: or(figures.pulley_ratio, assumed.pulley_ratio, 1.0),
            pole_pairs: or(figures.pole_pairs, assumed.pole_pairs, 1.0),
            ripple_a: or(figures.ripple_a, assumed.ripple_a, 1.0),
            wire_h_per_m: or(figures.wire_uh_per_m, assumed.wire_h_per_m, 1e-6),
            bond_h: or(figures.bond_uh, assumed.bond_h, 1e-6),
            mic_v: or(figures.mic_mv, assumed.mic_v, 1e-3),
            phones_v: or(figures.phones_mv, assumed.phones_v, 1e-3),
            apart_m: assumed.apart_m,
        }
    }

    /// Frequency of the ripple, Hz.
    pub fn ripple_hz(&self) -> f64 {
        frequency_hz(self.pole_pairs, self.engine_rpm * self.pulley_ratio)
    }
}

/// Frequency of the ripple of a six-pulse rectifier, Hz: six pulses per pole pair and turn.
pub fn frequency_hz(pole_pairs: f64, alternator_rpm: f64) -> f64 {
    6.0 * pole_pairs * alternator_rpm / 60.0
}

/// Decibels of a voltage over a level, negative if below it; `None` if there is no voltage.
pub fn below_db(volts: f64, level_v: f64) -> Option<f64> {
    (volts > 0.0).then(|| 20.0 * (volts / level_v).log10())
}

/// Mutual inductance of a wire and a loop along it, H: the loop's sides `near_m` and `far_m` from it
/// (flux integral of MIL-HDBK-419A eqs 6-4 and 6-5).
pub fn mutual_h(length_m: f64, near_m: f64, far_m: f64) -> f64 {
    MU0_OVER_TAU * length_m * (far_m / near_m).ln()
}

/// Voltage induced in a loop by a flux of this size and frequency, V (Faraday).
pub fn induced_v(hz: f64, flux_wb: f64) -> f64 {
    TAU * hz * flux_wb
}

/// Kind of noise source.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum DriveKind {
    /// Ripple of an alternator.
    Ripple,
    /// A light that flashes.
    Strobe,
    /// A charging port.
    Charging,
    /// A radio that transmits.
    Transmit,
}

/// One noise source.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Drive {
    /// What it is.
    pub kind: DriveKind,
    /// The alternator or load.
    pub edge: EdgeIndex,
    /// Its ripple or pulse current, A.
    pub amps: f64,
}

/// All noise sources in a state: running alternators, and running loads that flash, charge or
/// transmit. A load's own setting counts. If it is not set, the device's name and pins decide:
/// "strobe", "flash", "beacon", "charg" or "USB" in its name; a key line and an intermittent
/// current.
pub fn drives(document: &Document, point: &OperatingPoint, settings: &Settings) -> Vec<Drive> {
    let netlist = point.netlist();
    let graph = &netlist.graph;
    let drive = |edge: EdgeIndex| {
        let amps = point.edge_amps(edge).filter(|it| it.abs() > NO_AMPS)?;
        let EdgeOf::Element(device, ..) = netlist.of(edge) else {
            return None;
        };
        let (kind, amps) = match graph[edge].kind {
            EdgeKind::Alternator { .. } => (DriveKind::Ripple, settings.ripple_a),
            EdgeKind::Load => {
                let load = netlist.load(edge)?;
                let device = document.devices.get(device)?;
                let steady = load.continuous_a.unwrap_or(0.0);
                let over = |most: Option<f64>| most.map(|it| it - steady).filter(|it| *it > 0.0);
                match load_kind(device)? {
                    DriveKind::Strobe => (DriveKind::Strobe, over(load.peak_a).unwrap_or(steady)),
                    DriveKind::Transmit => (DriveKind::Transmit, over(load.intermittent_a)?),
                    kind => (kind, amps.abs()),
                }
            }
            _ => return None,
        };
        Some(Drive { kind, edge, amps })
    };
    graph.edge_indices().filter_map(drive).collect()
}

/// The kind of noise source a device is, from its loads' settings; if not set, from its name and
/// pins.
pub(crate) fn load_kind(device: &Device) -> Option<DriveKind> {
    let said = device
        .elements
        .iter()
        .find_map(|element| match &element.is {
            ElementKind::Load(load) => load.pulses,
            _ => None,
        });
    match said {
        Some(Pulses::Flashes) => return Some(DriveKind::Strobe),
        Some(Pulses::Charges) => return Some(DriveKind::Charging),
        Some(Pulses::Transmits) => return Some(DriveKind::Transmit),
        Some(Pulses::Steady) => return None,
        None => {}
    }
    let name = format!("{} {}", device.tag, device.title).to_lowercase();
    let named = |words: &[&str]| words.iter().any(|word| name.contains(word));
    let has = |role: Role| device.terminals.iter().any(|it| it.role == role);
    if named(&["strobe", "flash", "beacon"]) {
        Some(DriveKind::Strobe)
    } else if named(&["charg", "usb"]) {
        Some(DriveKind::Charging)
    } else if has(Role::KeyLine) && device.kind == DeviceKind::Unit {
        Some(DriveKind::Transmit)
    } else {
        None
    }
}

/// Volts of every node at a frequency.
pub(super) struct Volts {
    pub(super) of: Vec<faer::c64>,
    hz: f64,
}

/// What one source does.
pub(super) struct Driven {
    /// At the source's own frequency; `None` if it was solved by resistance only.
    at_hz: Option<Volts>,
    /// By resistance only.
    pub(super) resistive: Volts,
}

impl Driven {
    /// The more exact of the two.
    pub(super) fn best(&self) -> &Volts {
        self.at_hz.as_ref().unwrap_or(&self.resistive)
    }

    pub(super) fn is_resistive_only(&self) -> bool {
        self.at_hz.is_none()
    }
}

/// The operating point as a network of impedances, one for each frequency.
pub(super) struct Small {
    by_edge: Vec<Option<Branch>>,
    at_hz: Phasors,
    resistive: Phasors,
    hz: f64,
}

impl Small {
    pub(super) fn new(document: &Document, point: &OperatingPoint, settings: &Settings) -> Self {
        let netlist = point.netlist();
        let by_edge: Vec<_> = (netlist.graph.edge_indices())
            .map(|edge| branch(document, point, settings, edge))
            .collect();
        let branches: Vec<Branch> = by_edge.iter().copied().flatten().collect();
        let reference = point.reference().map(NodeIndex::index);
        let hz = settings.ripple_hz();
        let count = netlist.graph.node_count();
        let network = |hz: f64| Phasors::new(count, reference, &branches, hz);
        Self {
            at_hz: network(hz),
            resistive: network(0.0),
            by_edge,
            hz,
        }
    }

    pub(super) fn driven(&self, point: &OperatingPoint, drive: &Drive) -> Driven {
        let (plus, minus) = point.netlist().ends(drive.edge);
        let is_ripple = drive.kind == DriveKind::Ripple;
        // Out of an alternator's positive and into its negative; a load the other way around.
        let (out_of, into) = if is_ripple {
            (minus, plus)
        } else {
            (plus, minus)
        };
        let volts = |network: &Phasors, hz: f64| Volts {
            of: network.volts(drive.amps, out_of.index(), into.index()),
            hz,
        };
        Driven {
            at_hz: is_ripple.then(|| volts(&self.at_hz, self.hz)),
            resistive: volts(&self.resistive, 0.0),
        }
    }

    /// Current of an edge between its two ends, in the order given, A.
    pub(super) fn amps(&self, edge: EdgeIndex, [a, b]: [usize; 2], volts: &Volts) -> faer::c64 {
        match self.by_edge[edge.index()] {
            Some(branch) => (volts.of[a] - volts.of[b]) / branch.impedance(volts.hz),
            None => faer::c64::new(0.0, 0.0),
        }
    }
}

fn branch(
    document: &Document,
    point: &OperatingPoint,
    settings: &Settings,
    edge: EdgeIndex,
) -> Option<Branch> {
    if !point.closed[edge.index()] {
        return None;
    }
    let netlist = point.netlist();
    let kind = &netlist.graph[edge].kind;
    let amps = || {
        point
            .edge_amps(edge)
            .map(f64::abs)
            .filter(|it| *it > NO_AMPS)
    };
    let (ohm, henry) = match *kind {
        EdgeKind::Bar(_) => (0.0, 0.0),
        EdgeKind::Load => (point.across_v(edge)?.abs() / amps()?, 0.0),
        EdgeKind::Coil { ohm, .. } | EdgeKind::Battery { ohm, .. } => (ohm, 0.0),
        EdgeKind::Diode { ohm, .. } => amps().map(|_| (ohm, 0.0))?,
        EdgeKind::Alternator { .. } => return None,
        _ => {
            let henry = match *kind {
                EdgeKind::Wire { length_m, .. } | EdgeKind::Shield { length_m, .. } => {
                    settings.wire_h_per_m * length_m.unwrap_or(UNKNOWN_LENGTH_M)
                }
                EdgeKind::ShieldEnd { length_m, .. } => settings.wire_h_per_m * length_m,
                EdgeKind::Bond { .. } => settings.bond_h,
                _ => 0.0,
            };
            (edge_ohm(kind, document.project.conductor_c)?, henry)
        }
    };
    // As in the solver, a part with an impossible figure is left out.
    if !ohm.is_finite() || !henry.is_finite() {
        return None;
    }
    let (a, b) = netlist.ends(edge);
    Some(Branch {
        ends: [a.index(), b.index()],
        ohm: ohm.max(0.0),
        henry,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::document;

    #[test]
    fn a_load_that_says_what_it_does_needs_no_name() {
        let kind = |text: &str| load_kind(&document(text).devices["LT1"]);
        assert_eq!(kind("load LT1 2 pulses=flashes"), Some(DriveKind::Strobe));
        assert_eq!(kind("load LT1 2 pulses=charges"), Some(DriveKind::Charging));
        assert_eq!(
            kind("load LT1 2 pulses=transmits"),
            Some(DriveKind::Transmit)
        );
        assert_eq!(kind("load LT1 2"), None);
        let mut named = document("load LT1 2 pulses=steady");
        let device = named.devices.get_mut("LT1").expect("the light");
        device.title = "Strobe".into();
        assert_eq!(
            load_kind(device),
            None,
            "the setting counts before the name"
        );
        device.elements.clear();
        assert_eq!(load_kind(device), Some(DriveKind::Strobe));
    }
}
