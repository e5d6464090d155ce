//! From what the person hears to suspects in this drawing, each with the next test, what each result
//! would exclude, and where to put the meter.
//!
//! The order of the tests is common practice, no source: first what parts the audio from everything
//! else, then the supply, then pickup.

use petgraph::graph::EdgeIndex;

use super::{
    graph::role,
    loops::LoopKind,
    names::{name, way},
    results::{Outcome, result},
    review::{Effect, LoopNoise, Noise},
    ripple::DriveKind,
    shared::SharedReturn,
};
use crate::{
    document::{DeviceKind, Document, Role},
    ids::DeviceId,
    netlist::{EdgeKind, EdgeOf, Point},
    order::{Sorted, sort_by},
};

/// What stands over every list of suspects.
pub const CAUTION: &str = "Test on the ground. Engine stopped and master off before any wire, jack or \
                           breaker is touched; one change at a time, each undone before the next.";

/// What the person hears.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Hear {
    /// A whine that follows the engine's speed.
    Whine,
    /// A tick with the strobe.
    Strobe,
    /// A hash while something charges.
    Charging,
    /// Any noise, in one seat only.
    OneSeat,
    /// Any noise, only while transmitting.
    Transmit,
}

impl Hear {
    /// Everything there is to hear.
    pub const ALL: [Self; 5] = [
        Self::Whine,
        Self::Strobe,
        Self::Charging,
        Self::OneSeat,
        Self::Transmit,
    ];

    /// In words.
    pub fn words(self) -> &'static str {
        match self {
            Self::Whine => "a whine that follows the engine's speed",
            Self::Strobe => "a tick with the strobe",
            Self::Charging => "a hash while something charges",
            Self::OneSeat => "noise in one seat only",
            Self::Transmit => "noise only while transmitting",
        }
    }

    /// What drives it; for one seat, the alternator stands for any drive.
    fn drive(self) -> DriveKind {
        match self {
            Self::Whine | Self::OneSeat => DriveKind::Ripple,
            Self::Strobe => DriveKind::Strobe,
            Self::Charging => DriveKind::Charging,
            Self::Transmit => DriveKind::Transmit,
        }
    }
}

/// Where a suspect puts its volts.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Onto {
    /// In series with the audio.
    Audio,
    /// On the ground of a unit; how much of it is heard depends on how its audio is connected.
    Ground,
    /// On the supply of a unit; how much of it is heard depends on the unit.
    Supply,
}

impl Onto {
    /// In words.
    pub fn words(self) -> &'static str {
        match self {
            Self::Audio => "in the audio",
            Self::Ground => {
                "on its ground; how much is heard depends on how its audio is connected"
            }
            Self::Supply => "on its supply; how much is heard depends on the unit",
        }
    }
}

/// One place that the noise may come in by.
#[derive(Clone, Debug, PartialEq)]
pub struct Suspect {
    /// What it is, in words.
    pub what: String,
    /// The records it is made of, for the drawing.
    pub at: Vec<EdgeOf>,
    /// Volts it puts there, V; none if only a test can tell.
    pub volts: Option<f64>,
    /// Where it puts them.
    pub into: Onto,
    /// True if inductance is left out of that figure.
    pub resistive_only: bool,
    /// The next test to make.
    pub test: String,
    /// What it means if the noise changes.
    pub if_changed: String,
    /// What it means if it stays the same.
    pub if_same: String,
    /// Where to put the meter, and what to expect.
    pub meter: String,
    /// What its test showed, if it was made.
    pub outcome: Option<Outcome>,
}

/// The suspects of a drawing for what is heard, the likeliest first: loops through structure by
/// millivolts, shared returns by millivolts, the supply, local loops, and what no drawing shows. A
/// suspect whose test changed the noise comes before all, one that was cleared after all.
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
    sort_by(&mut all, |a: &Suspect, b: &Suspect| {
        let rank = |suspect: &Suspect| match suspect.outcome {
            Some(Outcome::Changed) => 0,
            None => 1,
            Some(Outcome::Same) => 2,
        };
        rank(a).cmp(&rank(b))
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

    /// Loops that the drive puts something through; for one seat, those with one jack only.
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
        sort_by(&mut all, |a: &Suspect, b: &Suspect| {
            b.volts.unwrap_or(0.0).total_cmp(&a.volts.unwrap_or(0.0))
        });
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
            if_changed: "current of others came round this loop: keep it open there (shoulder \
                         washers on a jack, one end only of a shield)"
                .into(),
            if_same: "this loop is not the way in; close it as it was and go to the next suspect"
                .into(),
            meter: format!(
                "master off, {} undone at the audio unit: ohm meter from its open end to bare airframe; \
                 expect open. {:.2} ohm or thereabouts means the touch is real",
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
                "loosen {part} from the metal so that it hangs free, or slip a sheet of paper between, \
                 and listen again"
            ),
            Some(_) => format!("undo {part} and listen again"),
            None => format!("take {part} off at one end and listen again"),
        }
    }

    /// Shared returns: of units with audio, and those that the drive itself goes back by.
    fn shared(&self) -> Vec<Suspect> {
        let drives = || (self.noise.drives.iter()).filter(|it| it.kind == self.hear.drive());
        let suspect = |shared: &SharedReturn| {
            let here = drives().filter(|it| shared.loads.contains(&it.edge));
            let pulse_a: f64 = here.map(|it| it.amps).sum();
            // Steady current of others makes no noise; only what the drive itself puts in counts.
            if pulse_a == 0.0 {
                return None;
            }
            let names: Vec<_> = shared.loads.iter().map(|it| self.name(*it)).collect();
            let disturbed = self.name(shared.disturbed);
            Some((
                shared.audio,
                Suspect {
                    what: format!(
                        "shared return: {} go back together through {}",
                        names.join(", "),
                        self.name(shared.wire)
                    ),
                    at: vec![self.of(shared.wire).clone()],
                    volts: Some(pulse_a * shared.ohm),
                    into: Onto::Ground,
                    resistive_only: true,
                    test: format!(
                        "run a temporary wire from the return of {disturbed} to the ground block and \
                         lift it off {}",
                        self.name(shared.wire)
                    ),
                    if_changed: "the shared wire carried it: give each its own return".into(),
                    if_same: "the shared wire is not the way in; take the temporary wire off again"
                        .into(),
                    meter: format!(
                        "millivolt meter along {} from end to end while it is heard: it moves by about \
                         {:.1} mV with the noise if this drawing is right",
                        self.name(shared.wire),
                        pulse_a * shared.ohm * 1e3
                    ),
                    outcome: None,
                },
            ))
        };
        let mut all: Vec<_> = self.noise.shared.iter().filter_map(suspect).collect();
        sort_by(&mut all, |a: &(bool, Suspect), b: &(bool, Suspect)| {
            (b.0.cmp(&a.0)).then(
                b.1.volts
                    .unwrap_or(0.0)
                    .total_cmp(&a.1.volts.unwrap_or(0.0)),
            )
        });
        all.into_iter().map(|it| it.1).collect()
    }

    /// What the drive puts on the supply of units with audio.
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
                    "pull the breaker of {unit} and run it from a small separate battery, its \
                     return left as it is"
                ),
                if_changed: "it comes in with the supply: a filter at the unit, or at the source"
                    .into(),
                if_same: "it does not come in with the supply: look at the returns again".into(),
                meter: format!("AC millivolts between power and return pin of {unit}"),
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
        sort_by(&mut all, |a: &Suspect, b: &Suspect| {
            b.volts.unwrap_or(0.0).total_cmp(&a.volts.unwrap_or(0.0))
        });
        all
    }

    /// Loops without structure: only a field can come in.
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
                    "the loop picks up a field: leave it open, or route it apart from power \
                             wires"
                        .into(),
                if_same: "the loop picks up nothing; close it as it was".into(),
                meter: format!(
                    "master off: ohm meter across what was undone; expect open, {:.2} ohm or \
                     thereabouts before",
                    found.finding.series_ohm
                ),
                outcome: None,
            })
        };
        self.noise.found.iter().filter_map(suspect).collect()
    }

    /// Each jack that is in no loop, the one with most joints in its low first.
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
                    if_changed: "the noise stays with the seat: its low or shield is open somewhere on \
                                 the way"
                        .into(),
                    if_same: "the noise goes with the headset: it is in its plug or cord".into(),
                    meter: format!(
                        "master off: ohm meter from the sleeve of {tag} to the low at the audio unit; \
                         expect well under 1 ohm, and steady while the wire is moved"
                    ),
                    outcome: None,
                },
            ));
        }
        sort_by(&mut all, |a: &(usize, Suspect), b: &(usize, Suspect)| {
            b.0.cmp(&a.0)
        });
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
            "it comes through the air or the coaxial shield: look at the antenna's ground and \
                     at shields of mic cables"
                .into(),
        if_same:
            "it comes by the wires: the current of the transmitter in a shared return or supply"
                .into(),
        meter: "ohm meter from the antenna's base to bare airframe: expect under 2.5 mΩ (bonding; \
                AC 43.13-1B par 11-188f)"
            .into(),
        outcome: None,
    }
}
