//! What a state says about switches, protectors and loads.

use petgraph::graph::EdgeIndex;

use crate::{
    document::{LoadLaw, LoadUse, State},
    netlist::{EdgeKind, LoadFigures, Netlist},
    solve::Law,
};

/// Which of a load's figures count.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, serde::Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Figures {
    /// What the state says each load takes.
    Continuous,
    /// Every load that takes anything takes the most it ever does.
    Peak,
}

/// What to have otherwise than the state says.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Overrides {
    /// What these loads take.
    pub loads: Vec<(EdgeIndex, LoadUse)>,
    /// How these edges (switch paths, protectors) stand.
    pub closed: Vec<(EdgeIndex, bool)>,
    /// What these loads take at their own voltage, A, whatever their use.
    pub amps: Vec<(EdgeIndex, f64)>,
    /// How these batteries stand.
    pub batteries: Vec<BatteryStands>,
    /// Loads run on below their cut-off voltage.
    pub run_below_cutoff: bool,
    /// What failed open: nothing goes through these edges, whatever they are.
    pub failed: Vec<EdgeIndex>,
}

/// A battery that is not as full as it is drawn.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BatteryStands {
    /// Its edge.
    pub edge: EdgeIndex,
    /// Open-circuit voltage, V.
    pub emf_v: f64,
    /// Internal resistance, ohm.
    pub ohm: f64,
    /// It gives nothing any more.
    pub empty: bool,
}

/// By load edge: what it takes. Loads not named take their continuous current.
pub(super) fn load_uses(netlist: &Netlist, state: &State, overrides: &Overrides) -> Vec<LoadUse> {
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

/// How every edge stands before any coil pulls in.
pub(super) fn standing(netlist: &Netlist, state: &State, overrides: &Overrides) -> Vec<bool> {
    let mut closed = netlist.standing(state);
    for (edge, stands) in &overrides.closed {
        closed[edge.index()] = *stands;
    }
    closed
}

/// Current of a load at its own voltage, A; 0 if it takes nothing.
///
/// A load used in a way it has no figure for takes the nearest it has: its peak for its
/// intermittent current, and the other way round, and its continuous current last.
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

/// The figure of an element that no real part can have: its field's name and value.
pub(super) fn unsound(netlist: &Netlist, edge: EdgeIndex) -> Option<(&'static str, f64)> {
    // As far as the network engine goes; far beyond any aircraft.
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
