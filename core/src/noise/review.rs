//! The noise of a drawing in one state: its loops with what each source adds to the audio, its
//! shared returns, and what comes in with the supply.

use crate::order::InOrder;
use faer::c64;
use petgraph::graph::{EdgeIndex, NodeIndex};

use super::ripple::{Drive, Driven, Settings, Small, Volts, drives, induced_v, mutual_h};
use crate::{
    analysis::{
        loops::{Finding, LoopKind, Loops, loops},
        return_graph::{Class, ReturnGraph, with_audio},
        shared_returns::{SharedReturn, has_audio, shared_returns},
    },
    document::{DeviceKind, Document},
    ids::DeviceId,
    netlist::{EdgeKind, EdgeOf, Groups, Netlist, Point},
    order::{Map, Sorted},
    solve::OperatingPoint,
};

/// What one source does in one place.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Effect {
    /// The source: its index in [`Noise::drives`].
    pub drive: usize,
    /// Its current in the loop, A; 0 where only volts are known.
    pub loop_a: f64,
    /// Volts it adds to the audio (to the supply of the unit, for a supply), V.
    pub volts: f64,
    /// The same with inductance left out; equal to `volts` for a source solved by resistance only.
    pub resistive_v: f64,
    /// True if the figures leave out inductance.
    pub resistive_only: bool,
}

/// A loop with an audio low or a shield in it, and the currents driven through it.
#[derive(Clone, Debug, PartialEq)]
pub struct LoopNoise {
    /// The loop.
    pub finding: Finding,
    /// True if audio is in it: an audio low, or the shield of a cable with audio.
    pub audio: bool,
    /// Jacks in it.
    pub jacks: Vec<DeviceId>,
    /// Length of its wires and shields, m, if all lengths are known.
    pub length_m: Option<f64>,
    /// What each source does, strongest first. Empty for a loop without an audio low.
    pub effects: Vec<Effect>,
    /// Volts induced by a parallel wire that carries the ripple current, V: an upper estimate.
    pub pickup_v: Option<f64>,
}

impl LoopNoise {
    /// The most that any source adds, V.
    pub fn most_v(&self) -> f64 {
        self.effects.first().map_or(0.0, |it| it.volts)
    }
}

/// What the sources put on the supply of a unit with audio.
#[derive(Clone, Debug, PartialEq)]
pub struct SupplyNoise {
    /// The unit's load.
    pub load: EdgeIndex,
    /// What each source does, strongest first.
    pub effects: Vec<Effect>,
}

/// The noise of a drawing in one state.
#[derive(Clone, Debug)]
pub struct Noise {
    /// The figures it was computed with.
    pub settings: Settings,
    /// The operating point.
    pub point: OperatingPoint,
    /// The returns.
    pub graph: ReturnGraph,
    /// Their loops.
    pub loops: Loops,
    /// What drives current.
    pub drives: Vec<Drive>,
    /// Loops, series conductors merged: audio first, then structure, then the strongest.
    pub found: Vec<LoopNoise>,
    /// Shared return wires, starting with those of units with audio.
    pub shared: Vec<SharedReturn>,
    /// Supplies of units with audio.
    pub supplies: Vec<SupplyNoise>,
}

impl Noise {
    /// Finds and solves the noise of a document at one of its operating points.
    pub fn new(document: &Document, point: OperatingPoint, settings: Settings) -> Self {
        let netlist = point.netlist();
        let graph = ReturnGraph::new(document, netlist);
        let loops = loops(&graph);
        let drives = drives(document, &point, &settings);
        let small = Small::new(document, &point, &settings);
        let driven: Vec<_> = drives.iter().map(|it| small.driven(&point, it)).collect();
        let conductors = netlist.end_to_end();
        let solved = Solved {
            document,
            netlist,
            graph: &graph,
            audio: with_audio(document, netlist, &conductors),
            conductors,
            settings: &settings,
            small: &small,
            driven: &driven,
        };
        let mut found: Vec<_> = (loops.merged().into_iter())
            .map(|finding| solved.loop_noise(finding))
            .collect();
        found.order_by(|a, b| {
            (b.audio.cmp(&a.audio))
                .then(a.finding.kind.cmp(&b.finding.kind))
                .then(b.most_v().total_cmp(&a.most_v()))
        });
        let supplies = solved.supplies(&point);
        let shared = shared_returns(document, &point);
        Self {
            settings,
            point,
            graph,
            loops,
            drives,
            found,
            shared,
            supplies,
        }
    }
}

struct Solved<'a> {
    document: &'a Document,
    netlist: &'a Netlist,
    graph: &'a ReturnGraph,
    /// Groups of nodes joined end to end, and which of them have an audio terminal.
    conductors: Groups,
    audio: Sorted<u32>,
    settings: &'a Settings,
    small: &'a Small,
    driven: &'a [Driven],
}

impl Solved<'_> {
    fn loop_noise(&self, finding: &Finding) -> LoopNoise {
        let links = finding.way.iter().map(|at| &self.graph.links[*at]);
        let audio = links.clone().any(|link| match link.class {
            Class::AudioLow => true,
            Class::Shield => self.carries_audio(link.edge),
            _ => false,
        });
        let mut jacks = Sorted::new();
        for node in links.clone().flat_map(|link| link.ends) {
            if let Point::Terminal(id, _) = self.netlist.point(NodeIndex::new(node)) {
                let device = self.document.devices.get(id);
                jacks.extend(device.filter(|it| it.kind == DeviceKind::Jack).map(|_| id));
            }
        }
        let length_m: Option<f64> = (links.clone())
            .filter_map(|link| match self.netlist.graph[link.edge].kind {
                EdgeKind::Wire { length_m, .. } | EdgeKind::Shield { length_m, .. } => {
                    Some(length_m)
                }
                _ => None,
            })
            .sum();
        let has_low = links.clone().any(|link| link.class == Class::AudioLow);
        let mut effects: Vec<_> = (self.driven.iter().enumerate())
            .filter(|_| has_low && finding.kind == LoopKind::Structure)
            .map(|(drive, driven)| self.effect(finding, drive, driven))
            .collect();
        strongest_first(&mut effects);
        let [near_m, far_m] = self.settings.apart_m;
        let pickup_v = length_m.filter(|_| audio).map(|length_m| {
            // The ripple wire runs along half of the loop: out, not back.
            let flux_wb = mutual_h(length_m / 2.0, near_m, far_m) * self.settings.ripple_a;
            induced_v(self.settings.ripple_hz(), flux_wb)
        });
        LoopNoise {
            finding: finding.clone(),
            audio,
            jacks: jacks.into_iter().cloned().collect(),
            length_m,
            effects,
            pickup_v,
        }
    }

    /// True if a core of a shield's cable carries audio.
    fn carries_audio(&self, shield: EdgeIndex) -> bool {
        let EdgeOf::Shield(cable) = self.netlist.of(shield) else {
            return false;
        };
        let cable = self.document.cables.get(cable);
        let cores = cable.into_iter().flat_map(|it| &it.wires);
        cores
            .filter_map(|wire| self.netlist.wire(wire))
            .any(|at| self.audio.contains(&self.conductors.of(at.ends[0])))
    }

    fn effect(&self, finding: &Finding, drive: usize, driven: &Driven) -> Effect {
        let (loop_a, volts) = self.over_lows(finding, driven.best());
        Effect {
            drive,
            loop_a,
            volts,
            resistive_v: self.over_lows(finding, &driven.resistive).1,
            resistive_only: driven.is_resistive_only(),
        }
    }

    /// Largest current in an audio low of a loop, A, and the sum of the volts across the resistance
    /// of the audio low, V; of several conductors, the largest. The inductive part is left out: the
    /// audio high next to the low has nearly the same voltage induced in it (common practice, no
    /// source).
    fn over_lows(&self, finding: &Finding, volts: &Volts) -> (f64, f64) {
        let mut by_conductor: Map<u32, c64> = Map::new();
        let mut most_a = 0.0_f64;
        // From the second end of the first link back to its first, then on along the path.
        let mut at = self.graph.links[finding.link].ends[1];
        for link in finding.way.iter().map(|it| &self.graph.links[*it]) {
            let next = link.other(at);
            if link.class == Class::AudioLow {
                let amps = self.small.amps(link.edge, [at, next], volts);
                most_a = most_a.max(amps.norm());
                let conductor = self.conductors.of(self.netlist.ends(link.edge).0);
                *by_conductor.or_default(conductor) += amps * link.ohm;
            }
            at = next;
        }
        let volts = by_conductor.values().map(|it| it.norm());
        (most_a, volts.fold(0.0, f64::max))
    }

    fn supplies(&self, point: &OperatingPoint) -> Vec<SupplyNoise> {
        let across = |volts: &Volts, edge: EdgeIndex| {
            let (plus, minus) = self.netlist.ends(edge);
            (volts.of[plus.index()] - volts.of[minus.index()]).norm()
        };
        let supply = |load: EdgeIndex| {
            let EdgeOf::Element(device, ..) = self.netlist.of(load) else {
                return None;
            };
            let runs = point.edge_amps(load).is_some_and(|it| it.abs() > 1e-6);
            if !runs || !self.document.devices.get(device).is_some_and(has_audio) {
                return None;
            }
            let effect = |(drive, driven): (usize, &Driven)| Effect {
                drive,
                loop_a: 0.0,
                volts: across(driven.best(), load),
                resistive_v: across(&driven.resistive, load),
                resistive_only: driven.is_resistive_only(),
            };
            let mut effects: Vec<_> = self.driven.iter().enumerate().map(effect).collect();
            strongest_first(&mut effects);
            Some(SupplyNoise { load, effects })
        };
        let loads = self.netlist.loads();
        loads.filter_map(|(load, _)| supply(load)).collect()
    }
}

fn strongest_first(effects: &mut [Effect]) {
    effects.order_by(|a, b| b.volts.total_cmp(&a.volts));
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{
        analysis::failures::usual_state,
        solve::{Figures, operate},
        testing::document,
    };

    fn noise(text: &str) -> Noise {
        let document = document(text);
        let (id, state) = usual_state(&document).expect("a state");
        let point = operate(&document, id, state, Figures::Continuous);
        Noise::new(&document, point, Settings::default())
    }

    #[test]
    fn an_empty_sheet_makes_no_noise() {
        let noise = noise("state T");
        assert!(noise.found.is_empty() && noise.drives.is_empty() && noise.supplies.is_empty());
    }

    /// Ripple of 1 A into a battery of 10 mΩ, with a unit of 1 A (about 14 ohm) in parallel: by
    /// hand 10 mV.
    #[test]
    fn ripple_goes_into_the_battery_and_shows_on_the_supply() {
        let noise = noise(
            "battery BT1 ohm=0.01
             alternator G1 40
             unit IC1 1 2:return 4:audio_high
             inside IC1 load 1 2 1
             wire A G1.B BT1.+ 8 1m
             wire B G1.CASE BT1.- 8 1m
             wire C BT1.+ IC1.1 20 1m
             wire D BT1.- IC1.2 20 1m
             state T running",
        );
        let effect = noise.supplies[0].effects[0];
        assert!((effect.volts - 0.010).abs() < 0.0002, "{effect:?}");
        assert!(!effect.resistive_only);
    }
}
