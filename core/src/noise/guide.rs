//! From the noise a person hears to the suspects in this drawing. Each suspect has a next test,
//! what each result means, and where to put the meter.
//!
//! The order of the tests is common practice, no source: first what isolates the audio from
//! everything else, then the supply, then pickup.

use crate::order::InOrder;
use petgraph::graph::EdgeIndex;

use super::{
    names::{name, way},
    results::result,
    review::{Effect, LoopNoise, Noise},
    ripple::DriveKind,
    suspect::{Hear, Onto, Outcome, Suspect},
};
use crate::{
    analysis::{loops::LoopKind, return_graph::role, shared_returns::SharedReturn},
    document::{DeviceKind, Document, Role},
    ids::DeviceId,
    netlist::{EdgeKind, EdgeOf, Point},
    order::Sorted,
};

/// The caution printed above every list of suspects.
pub const CAUTION: &str = "Test on the ground. Stop the engine and turn the master off before you \
                           touch a wire, jack or breaker: a turning propeller kills, and a live \
                           wire can start a fire. Make one change at a time and undo it before \
                           the next.";

/// The suspects of a drawing for what is heard, the most likely first: loops through structure by
/// millivolts, shared returns by millivolts, the supply, local loops, and what no drawing shows. A
/// suspect whose test changed the noise comes first, a cleared one last.
pub fn suspects(document: &Document, noise: &Noise, hear: Hear) -> Vec<Suspect> {
    let mut all = Guide {
        document,
        noise,
        hear,
    }
    .all();
    for suspect in &mut all {
        suspect.outcome = result(document, hear, &suspect.what).map(|it| it.2);
    }
    all.order_by_key(|suspect| match suspect.outcome {
        Some(Outcome::Changed) => 0,
        None => 1,
        Some(Outcome::Same) => 2,
    });
    all
}

struct Guide<'a> {
    document: &'a Document,
    noise: &'a Noise,
    hear: Hear,
}

impl Guide<'_> {
    fn all(&self) -> Vec<Suspect> {
        let mut all = self.structure_loops();
        if self.hear == Hear::OneSeat {
            all.extend(self.local_loops());
            all.extend(self.seats());
            return all;
        }
        all.extend(self.shared());
        all.extend(self.supplies());
        all.extend(self.local_loops());
        if self.hear == Hear::Transmit {
            all.push(radio_frequency());
        }
        all
    }

    fn of(&self, edge: EdgeIndex) -> &EdgeOf {
        self.noise.point.netlist().of(edge)
    }

    fn name(&self, edge: EdgeIndex) -> String {
        name(self.document, self.of(edge))
    }

    /// Loops in which the source drives a current; for one seat, loops with one jack only.
    fn structure_loops(&self) -> Vec<Suspect> {
        let suspect = |found: &LoopNoise| {
            let worst = found.worst(self.hear.drive(), &self.noise.drives);
            let one_seat = self.hear == Hear::OneSeat;
            let fits = match one_seat {
                true => found.jacks.len() == 1,
                false => worst.is_some(),
            };
            (found.finding.kind == LoopKind::Structure && found.audio && fits)
                .then(|| self.structure_loop(found, worst))
        };
        let mut all: Vec<_> = self.noise.found.iter().filter_map(suspect).collect();
        all.order_by(|a, b| b.volts.unwrap_or(0.0).total_cmp(&a.volts.unwrap_or(0.0)));
        all
    }

    fn structure_loop(&self, found: &LoopNoise, worst: Option<Effect>) -> Suspect {
        let links = found
            .finding
            .way
            .iter()
            .map(|at| &self.noise.graph.links[*at]);
        let opened = self.opened(found);
        let is_wire =
            |edge: &EdgeIndex| matches!(self.of(*edge), EdgeOf::Wire(_) | EdgeOf::Shield(_));
        let mut sensitive = links.clone().filter(|link| link.class.is_sensitive());
        let low = sensitive.find(|link| is_wire(&link.edge));
        let low = low.map_or(self.noise.graph.links[found.finding.link].edge, |it| {
            it.edge
        });
        Suspect {
            what: format!("loop: {}", way(self.document, self.noise, found)),
            at: links.map(|link| self.of(link.edge).clone()).collect(),
            volts: worst.map(|it| it.volts),
            into: Onto::Audio,
            resistive_only: worst.is_none_or(|it| it.resistive_only),
            test: self.test_opened(opened, low),
            if_changed: "other equipment's current flows in this loop: keep it open there \
                         (insulating washers on a jack, one end only of a shield)"
                .into(),
            if_same: "this loop is not the cause: close it as it was and go to the next suspect"
                .into(),
            meter: format!(
                "turn the master off and disconnect {} at the audio unit. Measure ohms from its \
                 open end to bare airframe: expect open. About {:.2} ohm means it touches the \
                 airframe",
                self.name(low),
                found.finding.series_ohm
            ),
            outcome: None,
        }
    }

    /// The contact of a loop that is easiest to open: a jack's body, a shield's end at a jack, any
    /// shield's end, a case.
    fn opened(&self, found: &LoopNoise) -> Option<EdgeIndex> {
        let netlist = self.noise.point.netlist();
        let at_jack = |edge: EdgeIndex| match netlist.point(netlist.ends(edge).1) {
            Point::Terminal(id, _) => found.jacks.contains(id),
            _ => false,
        };
        let rank = |edge: EdgeIndex| match netlist.graph[edge].kind {
            EdgeKind::JackTie(_) => Some(0),
            EdgeKind::ShieldEnd { .. } if at_jack(edge) => Some(1),
            EdgeKind::ShieldEnd { .. } => Some(2),
            EdgeKind::Tie { .. } => Some(3),
            _ => None,
        };
        let links = found
            .finding
            .way
            .iter()
            .map(|at| &self.noise.graph.links[*at]);
        let ranked = links.filter_map(|link| Some((rank(link.edge)?, link.edge)));
        ranked.min().map(|it| it.1)
    }

    fn test_opened(&self, opened: Option<EdgeIndex>, low: EdgeIndex) -> String {
        let part = self.name(opened.unwrap_or(low));
        match opened.map(|edge| self.noise.point.netlist().graph[edge].kind) {
            Some(EdgeKind::JackTie(_)) => format!(
                "loosen {part} so that it hangs clear of the metal, or slip a sheet of paper \
                 between, and listen again"
            ),
            Some(_) => format!("disconnect {part} and listen again"),
            None => format!("disconnect {part} at one end and listen again"),
        }
    }

    /// Shared returns: those of units with audio, and those that carry the source's own return
    /// current.
    fn shared(&self) -> Vec<Suspect> {
        let drives = || (self.noise.drives.iter()).filter(|it| it.kind == self.hear.drive());
        let suspect = |shared: &SharedReturn| {
            let here = drives().filter(|it| shared.loads.contains(&it.edge));
            let pulse_a: f64 = here.map(|it| it.amps).sum();
            // Steady current makes no noise; only the source's own current counts.
            if pulse_a == 0.0 {
                return None;
            }
            let names: Vec<_> = shared.loads.iter().map(|it| self.name(*it)).collect();
            let disturbed = self.name(shared.disturbed);
            Some((
                shared.audio,
                Suspect {
                    what: format!(
                        "shared return: {} share {}",
                        names.join(", "),
                        self.name(shared.wire)
                    ),
                    at: vec![self.of(shared.wire).clone()],
                    volts: Some(pulse_a * shared.ohm),
                    into: Onto::Ground,
                    resistive_only: true,
                    test: format!(
                        "run a temporary wire from the return of {disturbed} to the ground block, \
                         disconnect that return from {}, and listen again",
                        self.name(shared.wire)
                    ),
                    if_changed: "the shared wire is the cause: give each unit its own return"
                        .into(),
                    if_same: "the shared wire is not the cause: remove the temporary wire and \
                              reconnect the return"
                        .into(),
                    meter: format!(
                        "measure millivolts from end to end of {} while you hear the noise: the \
                         reading moves with it by about {:.1} mV (computed from this drawing)",
                        self.name(shared.wire),
                        pulse_a * shared.ohm * 1e3
                    ),
                    outcome: None,
                },
            ))
        };
        let mut all: Vec<_> = self.noise.shared.iter().filter_map(suspect).collect();
        all.order_by(|a, b| {
            (b.0.cmp(&a.0)).then(
                b.1.volts
                    .unwrap_or(0.0)
                    .total_cmp(&a.1.volts.unwrap_or(0.0)),
            )
        });
        all.into_iter().map(|it| it.1).collect()
    }

    /// What the source puts on the supply of units with audio.
    fn supplies(&self) -> Vec<Suspect> {
        let suspect = |load: EdgeIndex, worst: Effect| {
            let unit = self.name(load);
            Suspect {
                what: format!("supply of {unit}"),
                at: vec![self.of(load).clone()],
                volts: Some(worst.volts),
                into: Onto::Supply,
                resistive_only: worst.resistive_only,
                test: format!(
                    "pull the breaker of {unit}, disconnect its supply wire, and run it through a \
                     fuse from a small separate battery; leave its return as it is"
                ),
                if_changed:
                    "the noise comes in with the supply: fit a filter at the unit or at the source"
                        .into(),
                if_same: "the noise does not come in with the supply: check the returns again"
                    .into(),
                meter: format!("measure AC millivolts between the power and return pins of {unit}"),
                outcome: None,
            }
        };
        let mut all: Vec<_> = (self.noise.supplies.iter())
            .filter_map(|supply| {
                let mut effects = supply.effects.iter();
                let kind = |it: &&Effect| self.noise.drives[it.drive].kind == self.hear.drive();
                Some(suspect(supply.load, *effects.find(kind)?))
            })
            .collect();
        all.order_by(|a, b| b.volts.unwrap_or(0.0).total_cmp(&a.volts.unwrap_or(0.0)));
        all
    }

    /// Loops without structure: they can only pick up a field.
    fn local_loops(&self) -> Vec<Suspect> {
        let suspect = |found: &LoopNoise| {
            let fits = self.hear != Hear::OneSeat || found.jacks.len() == 1;
            if found.finding.kind != LoopKind::Local || !found.audio || !fits {
                return None;
            }
            let links = found
                .finding
                .way
                .iter()
                .map(|at| &self.noise.graph.links[*at]);
            let low = self.noise.graph.links[found.finding.link].edge;
            let pickup = found
                .pickup_v
                .filter(|_| self.hear.drive() == DriveKind::Ripple);
            Some(Suspect {
                what: format!(
                    "local loop, pickup only: {}",
                    way(self.document, self.noise, found)
                ),
                at: links.map(|link| self.of(link.edge).clone()).collect(),
                volts: pickup,
                into: Onto::Audio,
                resistive_only: false,
                test: format!(
                    "{}; or move the cable a hand's width from power wires",
                    self.test_opened(self.opened(found), low)
                ),
                if_changed:
                    "the loop picks up a field: leave it open, or route it away from power wires"
                        .into(),
                if_same: "the loop picks up nothing: close it as it was".into(),
                meter: format!(
                    "turn the master off. Measure ohms across what you disconnected: expect open; \
                     before it was about {:.2} ohm",
                    found.finding.series_ohm
                ),
                outcome: None,
            })
        };
        self.noise.found.iter().filter_map(suspect).collect()
    }

    /// Each jack that is in no loop, the one with the most joints in its audio low first.
    fn seats(&self) -> Vec<Suspect> {
        let netlist = self.noise.point.netlist();
        let in_loops: Sorted<&DeviceId> = (self.noise.found.iter())
            .flat_map(|found| &found.jacks)
            .collect();
        let conductors = netlist.end_to_end();
        let mut all: Vec<(usize, Suspect)> = Vec::new();
        for node in netlist.graph.node_indices() {
            let Point::Terminal(id, _) = netlist.point(node) else {
                continue;
            };
            let is_jack = (self.document.devices.get(id))
                .is_some_and(|device| device.kind == DeviceKind::Jack);
            let low = role(self.document, netlist, node) == Some(Role::AudioLow);
            if !is_jack || !low || in_loops.contains(id) {
                continue;
            }
            let edges = netlist.graph.edge_indices();
            let low: Vec<EdgeIndex> = edges
                .filter(|edge| conductors.same(netlist.ends(*edge).0, node))
                .filter(|edge| conductors.same(netlist.ends(*edge).1, node))
                .collect();
            let tag = self.document.record_label("device", id.as_str());
            let names: Vec<_> = low.iter().map(|edge| self.name(*edge)).collect();
            all.push((
                low.len(),
                Suspect {
                    what: format!("audio low of {tag}: {}", names.join(", ")),
                    at: low.iter().map(|edge| self.of(*edge).clone()).collect(),
                    volts: None,
                    into: Onto::Audio,
                    resistive_only: true,
                    test: format!("plug the headset of {tag} into another seat"),
                    if_changed: "the noise stays with the seat: its audio low or shield is open \
                                 between the jack and the audio unit"
                        .into(),
                    if_same: "the noise moves with the headset: check its plug and cord".into(),
                    meter: format!(
                        "turn the master off. Measure ohms from the sleeve of {tag} to the audio \
                         low at the audio unit: expect well under 1 ohm, and steady while you \
                         move the wire"
                    ),
                    outcome: None,
                },
            ));
        }
        all.order_by_key(|it| std::cmp::Reverse(it.0));
        all.into_iter().map(|it| it.1).collect()
    }
}

fn radio_frequency() -> Suspect {
    Suspect {
        what: "the transmitted signal itself, picked up by a wire".into(),
        at: Vec::new(),
        volts: None,
        into: Onto::Audio,
        resistive_only: true,
        test: "transmit into a dummy load instead of the antenna".into(),
        if_changed:
            "the noise comes through the air or the coaxial shield: check the antenna's ground \
             and the shields of the mic cables"
                .into(),
        if_same:
            "the noise comes through the wires: the transmitter's current in a shared return or \
             supply"
                .into(),
        meter: "turn the master off. Measure ohms from the antenna's base to bare airframe: \
                expect under 2.5 mΩ (bonding; AC 43.13-1B par 11-188f)"
            .into(),
        outcome: None,
    }
}
