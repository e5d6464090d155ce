//! Settings of a state for switches, protectors and loads.

use petgraph::graph::EdgeIndex;

use crate::{
    document::{LoadLaw, LoadUse, State},
    netlist::{EdgeKind, LoadFigures, Netlist},
    solve::Law,
};

/// Which load figures are used.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, serde::Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Figures {
    /// The use of each load as set in the state.
    Continuous,
    /// Every load that is on takes its peak current.
    Peak,
}

/// Overrides of a state.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Overrides {
    /// Use of these loads.
    pub loads: Vec<(EdgeIndex, LoadUse)>,
    /// Position of these edges (switch paths, protectors).
    pub closed: Vec<(EdgeIndex, bool)>,
    /// Current of these loads at their own voltage, A, whatever their use.
    pub amps: Vec<(EdgeIndex, f64)>,
    /// Charge state of these batteries.
    pub batteries: Vec<BatteryStands>,
    /// True to let loads run below their cut-off voltage.
    pub run_below_cutoff: bool,
    /// Edges that failed open and carry no current.
    pub failed: Vec<EdgeIndex>,
}

/// A partly discharged battery.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BatteryStands {
    /// Its edge.
    pub edge: EdgeIndex,
    /// Open-circuit voltage, V.
    pub emf_v: f64,
    /// Internal resistance, ohm.
    pub ohm: f64,
    /// True if it is empty.
    pub empty: bool,
}

/// By load edge: its use. Loads not named take their continuous current.
pub(crate) fn load_uses(netlist: &Netlist, state: &State, overrides: &Overrides) -> Vec<LoadUse> {
    let mut uses = vec![LoadUse::Continuous; netlist.graph.edge_count()];
    for (key, used) in &state.loads {
        for edge in netlist.edges_of_key(key) {
            uses[edge.index()] = *used;
        }
    }
    for (edge, used) in &overrides.loads {
        uses[edge.index()] = *used;
    }
    uses
}

/// Every edge before any coil pulls in.
pub(super) fn standing(netlist: &Netlist, state: &State, overrides: &Overrides) -> Vec<bool> {
    let mut closed = netlist.standing(state);
    for (edge, stands) in &overrides.closed {
        closed[edge.index()] = *stands;
    }
    closed
}

/// Current of a load at its own voltage, A; 0 if it is off.
///
/// A load without a figure for its use takes the nearest one: peak for intermittent current and
/// vice versa, then its continuous current.
pub fn load_amps(load: &LoadFigures, used: LoadUse, figures: Figures) -> f64 {
    let working = load.intermittent_a.or(load.peak_a).or(load.continuous_a);
    let amps = match used {
        LoadUse::Off => None,
        LoadUse::Continuous => load.continuous_a,
        LoadUse::Intermittent => working,
        LoadUse::Peak => load.peak_a.or(working),
    }
    .unwrap_or(0.0);
    match figures {
        Figures::Peak if amps > 0.0 => [load.intermittent_a, load.peak_a]
            .into_iter()
            .flatten()
            .fold(amps, f64::max),
        _ => amps,
    }
}

/// The branch law of a load that takes `amps` at its own voltage.
pub(super) fn load_law(load: &LoadFigures, amps: f64) -> Law {
    let v_cut = load.cutoff_v.unwrap_or(0.0);
    match load.law {
        LoadLaw::ConstantPower => Law::LoadPower {
            watt: amps * load.at_v,
            v_cut,
        },
        LoadLaw::ConstantCurrent => Law::LoadCurrent { amp: amps, v_cut },
        LoadLaw::Resistance => Law::LoadResistance {
            ohm: load.at_v / amps,
        },
    }
}

/// An impossible figure of an element: its field's name and value.
pub(super) fn unsound(netlist: &Netlist, edge: EdgeIndex) -> Option<(&'static str, f64)> {
    // The limit of the network solver; far beyond any aircraft.
    let amount = |name, value: f64| (!(0.0..=1e9).contains(&value)).then_some((name, value));
    match netlist.graph[edge].kind {
        EdgeKind::Coil { ohm, .. } => amount("ohm", ohm),
        EdgeKind::Diode { vf_v, ohm } => amount("vf_v", vf_v).or(amount("ohm", ohm)),
        EdgeKind::Battery {
            emf_v,
            ohm,
            charge_ohm,
        } => amount("emf_v", emf_v)
            .or(amount("ohm", ohm))
            .or(amount("charge_ohm", charge_ohm)),
        EdgeKind::Alternator {
            set_v,
            ohm,
            limit_a,
            ..
        } => amount("set_v", set_v)
            .or(amount("ohm", ohm))
            .or(amount("limit_a", limit_a)),
        EdgeKind::Load => {
            let load = netlist.load(edge)?;
            let figures = [
                ("continuous_a", load.continuous_a),
                ("intermittent_a", load.intermittent_a),
                ("peak_a", load.peak_a),
                ("cutoff_v", load.cutoff_v),
            ];
            let wrong = figures
                .into_iter()
                .find_map(|(name, value)| amount(name, value?));
            wrong
                .or((load.at_v <= 0.0).then_some(("at_v", load.at_v)))
                .or(amount("at_v", load.at_v))
        }
        _ => None,
    }
}
