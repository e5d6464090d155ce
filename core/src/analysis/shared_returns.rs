//! Return wires shared by several loads, and the voltage that the others add.

use crate::order::InOrder;
use petgraph::graph::EdgeIndex;

use crate::{
    document::{Device, DeviceKind, Document, Role},
    netlist::EdgeOf,
    order::Map,
    solve::OperatingPoint,
};

/// A return wire that more than one load uses.
#[derive(Clone, Debug, PartialEq)]
pub struct SharedReturn {
    /// The wire's edge.
    pub wire: EdgeIndex,
    /// Its resistance as solved, ohm.
    pub ohm: f64,
    /// The loads whose return goes through it, by edge.
    pub loads: Vec<EdgeIndex>,
    /// The load that the others disturb most: a unit with audio, if there is one.
    pub disturbed: EdgeIndex,
    /// True if that load is a unit with audio.
    pub audio: bool,
    /// Ground shift that the other loads' current causes, V.
    pub other_v: f64,
}

/// True for a unit that sends, mixes or receives audio.
pub fn has_audio(device: &Device) -> bool {
    device.kind == DeviceKind::Unit
        && (device.terminals.iter()).any(|terminal| terminal.role == Role::AudioHigh)
}

/// Every shared return wire in a state: those of units with audio first, then the largest volts.
pub fn shared_returns(document: &Document, point: &OperatingPoint) -> Vec<SharedReturn> {
    let netlist = point.netlist();
    // By wire: load, the volts of others there, resistance.
    let mut by_wire: Map<EdgeIndex, Vec<(EdgeIndex, f64, f64)>> = Map::new();
    for (edge, _) in netlist.loads() {
        let Some((amps, back)) = point.way_back(edge) else {
            continue;
        };
        for leg in back {
            if matches!(netlist.of(leg.edge), EdgeOf::Wire(_)) {
                let other_v = leg.other_v(amps);
                let users = by_wire.or_default(leg.edge);
                users.push((edge, other_v, leg.drop_v / leg.amps));
            }
        }
    }
    let is_audio = |load: EdgeIndex| match netlist.of(load) {
        EdgeOf::Element(device, ..) => document.devices.get(device).is_some_and(has_audio),
        _ => false,
    };
    let shared = |(wire, users): (EdgeIndex, Vec<(EdgeIndex, f64, f64)>)| {
        if users.len() < 2 {
            return None;
        }
        let worst = |audio: bool| {
            let those = users.iter().filter(|it| !audio || is_audio(it.0));
            those.copied().max_by(|a, b| a.1.total_cmp(&b.1))
        };
        let (disturbed, other_v, ohm) = worst(true).or_else(|| worst(false))?;
        Some(SharedReturn {
            wire,
            ohm,
            loads: users.iter().map(|it| it.0).collect(),
            disturbed,
            audio: is_audio(disturbed),
            other_v,
        })
    };
    let mut all: Vec<_> = by_wire.into_iter().filter_map(shared).collect();
    all.order_by(|a, b| (b.audio.cmp(&a.audio)).then(b.other_v.total_cmp(&a.other_v)));
    all
}
