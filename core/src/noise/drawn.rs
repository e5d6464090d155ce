//! Suspects that the drawing shows: loops through the airframe, shared returns, supplies, loops
//! that only pick up a field.

use petgraph::graph::EdgeIndex;

use super::{
    guide::Guide,
    names::way,
    review::{Effect, LoopNoise},
    ripple::DriveKind,
    suspect::{Fault, Hear, Onto, Suspect, hang_clear},
};
use crate::{
    analysis::{loops::LoopKind, shared_returns::SharedReturn},
    document::Role,
    ids::DeviceId,
    netlist::{EdgeKind, EdgeOf, Point},
    order::InOrder,
};

/// Volts in the audio below which a drawn path is hardly heard, V: about 60 dB under headphones at
/// their level. A judgment, no source.
const FAINT_V: f64 = 1e-3;

impl Guide<'_> {
    /// What the drawing shows, the most likely first: loops through the airframe by millivolts,
    /// shared returns by millivolts, supplies, local loops.
    pub fn drawn(&self) -> Vec<Suspect> {
        let mut all = self.loops(LoopKind::Structure);
        all.extend(self.shared());
        all.extend(self.supplies());
        all.extend(self.loops(LoopKind::Local));
        all
    }

    fn loops(&self, kind: LoopKind) -> Vec<Suspect> {
        // A squelch is opened by what the antenna or the supply brings.
        if self.hear == Hear::Squelch {
            return Vec::new();
        }
        let found = self.noise.found.iter();
        let found = found.filter(|it| it.finding.kind == kind && it.audio);
        let mut all: Vec<_> = found.filter_map(|it| self.a_loop(it)).collect();
        by_volts(&mut all);
        all
    }

    fn a_loop(&self, found: &LoopNoise) -> Option<Suspect> {
        let worst = self.worst(&found.effects);
        let local = found.finding.kind == LoopKind::Local;
        if !local && self.hear.drive().is_some() && worst.is_none() {
            return None;
        }
        let pickup = found
            .pickup_v
            .filter(|_| local && self.hear.fits(DriveKind::Ripple));
        let volts = worst.map(|it| it.volts).or(pickup);
        let links = found.finding.way.iter();
        let path: Vec<EdgeIndex> = links.map(|at| self.noise.graph.links[*at].edge).collect();
        let low = self.noise.graph.links[found.finding.link].edge;
        let opened = self.opened(found).unwrap_or(low);
        let part = self.name(opened);
        let (fault, test) = match (
            self.noise.point.netlist().graph[opened].kind,
            self.of(opened),
        ) {
            (EdgeKind::JackTie(_), EdgeOf::Element(jack, ..)) => {
                (Fault::Jack(jack.clone()), hang_clear(&part))
            }
            (_, of) => (
                Fault::Part(of.clone()),
                format!("disconnect {part} at one end and listen again"),
            ),
        };
        let title = match local {
            true => "local loop, pickup only",
            false => "loop",
        };
        let odds = match (local, volts) {
            (true, _) => 0.3,
            (false, Some(volts)) if volts < FAINT_V => 0.4,
            _ => 0.5,
        };
        let what = format!("{title}: {}", way(self.document, self.noise, found));
        Some(Suspect {
            at: path.iter().map(|edge| self.of(*edge).clone()).collect(),
            volts,
            resistive_only: worst.is_some_and(|it| it.resistive_only),
            test,
            if_changed: match local {
                true => "it picks up a field: leave it open, or route it away from power wires",
                false => {
                    "other equipment's current flows here: keep it open (insulating washers on a \
                     jack, one end only of a shield)"
                }
            }
            .into(),
            meter: format!(
                "turn the master off and disconnect {part} at one end. Measure ohms across the \
                 gap: expect open. About {:.2} ohm means that a second contact closes it",
                found.finding.series_ohm
            ),
            path,
            seats: self.heard_at(found.jacks.iter()),
            ..self.suspect(fault, odds, what)
        })
    }

    /// The strongest effect of a source that may drive what is heard; effects are in order.
    fn worst(&self, effects: &[Effect]) -> Option<Effect> {
        let fits = |it: &&Effect| self.hear.fits(self.noise.drives[it.drive].kind);
        effects.iter().find(fits).copied()
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
        let edges = found.finding.way.iter();
        let edges = edges.map(|at| self.noise.graph.links[*at].edge);
        edges
            .filter_map(|it| Some((rank(it)?, it)))
            .min()
            .map(|it| it.1)
    }

    /// Returns that units share with a source.
    fn shared(&self) -> Vec<Suspect> {
        let mut all: Vec<_> = (self.noise.shared.iter())
            .filter_map(|it| self.a_shared_return(it))
            .collect();
        by_volts(&mut all);
        all
    }

    fn a_shared_return(&self, shared: &SharedReturn) -> Option<Suspect> {
        let device = |edge: EdgeIndex| match self.of(edge) {
            EdgeOf::Element(device, ..) => Some(device),
            _ => None,
        };
        let unit = device(shared.disturbed)?.clone();
        let others: Vec<&DeviceId> = shared.loads.iter().filter_map(|it| device(*it)).collect();
        let known = self.hear.drive();
        let is_source = |it: &DeviceId| others.contains(&it) && (known.is_some() || *it != unit);
        let sources = self.those(|it| is_source(&it.device));
        if sources == 0 {
            return None;
        }
        let here = self.noise.drives.iter();
        let here = here.filter(|it| shared.loads.contains(&it.edge));
        let pulse_a: f64 = here
            .filter(|it| self.hear.fits(it.kind))
            .map(|it| it.amps)
            .sum();
        // Steady current makes no noise, but a motor's or a converter's is not steady: at most all of it.
        let volts = match pulse_a {
            0.0 => shared.other_v,
            amps => amps * shared.ohm,
        };
        let names: Vec<_> = shared.loads.iter().map(|it| self.name(*it)).collect();
        let wire = self.name(shared.wire);
        let disturbed = self.name(shared.disturbed);
        let odds = if shared.audio { 0.5 } else { 0.3 };
        let what = format!("shared return: {} share {wire}", names.join(", "));
        Some(Suspect {
            at: vec![self.of(shared.wire).clone()],
            volts: Some(volts),
            into: Onto::Ground,
            test: format!(
                "run a temporary wire from the return of {disturbed} to the ground block, \
                 disconnect that return from {wire}, and listen again"
            ),
            if_changed: "the shared wire is a cause: give each unit its own return".into(),
            meter: format!(
                "measure millivolts from end to end of {wire} while you hear the noise: the \
                 reading moves with it by up to about {:.1} mV (computed from this drawing)",
                volts * 1e3
            ),
            path: vec![shared.wire],
            sources,
            ..self.suspect(Fault::Shared(unit), odds, what)
        })
    }

    /// What the source puts on the supply of units with audio.
    fn supplies(&self) -> Vec<Suspect> {
        let suspect = |load: EdgeIndex, effects: &[Effect]| {
            let EdgeOf::Element(device, ..) = self.of(load) else {
                return None;
            };
            let worst = self.worst(effects);
            if self.hear.drive().is_some() && worst.is_none() {
                return None;
            }
            let unit = self.name(load);
            let fault = Fault::Supply(device.clone());
            Some(Suspect {
                at: vec![self.of(load).clone()],
                volts: worst.map(|it| it.volts),
                into: Onto::Supply,
                resistive_only: worst.is_some_and(|it| it.resistive_only),
                test: format!(
                    "pull the breaker of {unit}, disconnect its supply wire, and run it through \
                     a fuse from a small separate battery; leave its return as it is"
                ),
                if_changed:
                    "it comes in with the supply: fit a filter at the unit or at the source".into(),
                meter: format!("measure AC millivolts between the power and return pins of {unit}"),
                path: self.wires_at(device, &[Role::PowerIn]),
                sources: self.currents() & self.those(|it| it.device != *device),
                ..self.suspect(fault, 0.15, format!("supply of {unit}"))
            })
        };
        let mut all: Vec<_> = (self.noise.supplies.iter())
            .filter(|_| self.hear != Hear::OneSeat)
            .filter_map(|it| suspect(it.load, &it.effects))
            .collect();
        by_volts(&mut all);
        all
    }
}

fn by_volts(all: &mut [Suspect]) {
    all.order_by(|a, b| {
        let volts = |it: &Suspect| it.volts.unwrap_or(0.0);
        volts(b).total_cmp(&volts(a))
    });
}
