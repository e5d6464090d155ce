//! What each test does to each suspect: what the noise does then, and what a meter shows.

use petgraph::graph::EdgeIndex;

use super::{
    guide::Guide,
    step::{Answer, Step, part_words},
    suspect::{Cause, Fault, Suspect},
};
use crate::{
    document::{DeviceKind, Role},
    ids::DeviceId,
    netlist::{EdgeKind, EdgeOf},
    order::InOrder,
};

/// The answer "the same", as a number.
const SAME: u64 = 0;
/// The answer "gone".
const GONE: u64 = 1;
/// The answer "weaker".
const PARTLY: u64 = 2;
/// Gone at some seats: their bits from here up.
const AT: u64 = 3;

/// How often an ear is wrong: a person listens, or something else changed. A judgment, no source.
pub(super) const WRONG: f64 = 0.05;
/// A wrong answer may be any of about so many. A judgment, no source.
const WRONG_ANSWERS: f64 = 8.0;
/// How often a meter is misread: far less. A judgment, no source.
pub(super) const WRONG_READING: f64 = 0.001;
/// The most that one list of measurements holds.
const MOST_ITEMS: usize = 60;

/// The suspects, and what tests do to them.
pub(super) struct Effects<'a> {
    pub guide: &'a Guide<'a>,
    pub suspects: &'a [Suspect],
    /// For each suspect that is a joint: the units whose ground path has it.
    units_of: Vec<Vec<&'a DeviceId>>,
    /// For each seat: the conductor of its audio low.
    lows: Vec<Vec<EdgeIndex>>,
}

/// What one test does.
pub(super) struct Predicted<'a> {
    kind: Answers,
    /// Seats at which nothing is heard during the test.
    deaf: u64,
    /// Sources that it stops.
    sources: u64,
    /// By suspect: true if it takes it away.
    removes: Vec<bool>,
    /// What it measures, by suspect.
    items: Vec<usize>,
    guide: &'a Guide<'a>,
}

#[derive(PartialEq)]
enum Answers {
    Seats,
    Items,
    Change,
}

impl Predicted<'_> {
    /// True if its answer is a list, not a change of the noise.
    pub fn lists(&self) -> bool {
        self.kind != Answers::Change
    }

    /// True if an answer speaks against a suspect itself, not only against what drives it.
    pub fn implicates(&self, suspect: usize, answer: u64) -> bool {
        let at = self.items.iter().position(|it| *it == suspect);
        at.is_some_and(|at| answer >> at & 1 == 1) || self.removes[suspect] && answer != SAME
    }

    /// The answer if these are the causes.
    pub fn code(&self, causes: &[Cause; 2]) -> u64 {
        match self.kind {
            Answers::Seats => causes[0].seats | causes[1].seats,
            Answers::Items => causes.iter().fold(0, |bits, cause| {
                let at = self.items.iter().position(|it| *it == cause.suspect);
                bits | at.map_or(0, |at| 1 << at)
            }),
            Answers::Change => {
                let (mut before, mut after, mut touched) = (0, 0, false);
                for cause in causes {
                    let heard = cause.seats & !self.deaf;
                    let gone = self.removes[cause.suspect] || self.sources >> cause.source & 1 == 1;
                    before |= heard;
                    touched |= gone && heard != 0;
                    after |= if gone { 0 } else { heard };
                }
                match (touched, after) {
                    (false, _) => SAME,
                    (_, 0) => GONE,
                    _ if before == after => PARTLY,
                    _ => AT | (before & !after) << 2,
                }
            }
        }
    }

    /// How likely this answer is if these are the causes, and whether it fits them.
    pub fn likelihood(&self, causes: &[Cause; 2], answer: u64) -> (f64, bool) {
        let code = self.code(causes);
        let wrong = (code ^ answer).count_ones().cast_signed();
        match self.kind {
            Answers::Items => (WRONG_READING.powi(wrong), wrong == 0),
            Answers::Seats => (WRONG.powi(wrong), wrong == 0),
            Answers::Change if code == answer => (1.0 - WRONG, true),
            // Now and then a person does not say at which seats.
            Answers::Change if answer == PARTLY && code & AT == AT => (2.0 * WRONG, true),
            Answers::Change => (WRONG / WRONG_ANSWERS, false),
        }
    }
}

impl<'a> Effects<'a> {
    pub fn new(guide: &'a Guide<'a>, suspects: &'a [Suspect]) -> Self {
        let paths: Vec<_> = (guide.units().into_iter())
            .map(|unit| (unit, guide.ground_path(unit)))
            .collect();
        let units_of = |suspect: &Suspect| match &suspect.fault {
            Fault::Joint(end) => (paths.iter())
                .filter(|(_, joints)| joints.iter().any(|it| it.0 == *end))
                .map(|it| it.0)
                .collect(),
            _ => Vec::new(),
        };
        let jacks = guide.jacks();
        let low = |seat: &DeviceId| {
            let sleeve = jacks.iter().find(|it| it.0 == seat)?.2;
            Some(guide.conductor(sleeve))
        };
        Self {
            guide,
            suspects,
            lows: (guide.seats.iter())
                .map(|it| low(it).unwrap_or_default())
                .collect(),
            units_of: suspects.iter().map(units_of).collect(),
        }
    }

    /// What a test does.
    pub fn of(&self, step: &Step) -> Predicted<'a> {
        let guide = self.guide;
        let by_fault = |fits: &dyn Fn(usize, &Fault) -> bool| -> Vec<bool> {
            let all = self.suspects.iter().enumerate();
            all.map(|(at, it)| fits(at, &it.fault)).collect()
        };
        let mut predicted = Predicted {
            kind: Answers::Change,
            deaf: 0,
            sources: 0,
            removes: vec![false; self.suspects.len()],
            items: Vec::new(),
            guide,
        };
        match step {
            Step::Listen => predicted.kind = Answers::Seats,
            Step::Ohms | Step::Drops => {
                predicted.kind = Answers::Items;
                predicted.items = self.items(step);
            }
            Step::EngineOff => predicted.sources = guide.those(|it| it.engine),
            Step::FieldOff => predicted.sources = guide.those(|it| it.alternator),
            Step::Off(all) => {
                predicted.sources = guide.those(|it| all.contains(&it.device));
                predicted.removes = by_fault(&|at, fault| match fault {
                    Fault::Supply(unit) | Fault::Air(unit) | Fault::Shared(unit) => {
                        all.contains(unit)
                    }
                    Fault::Joint(_) => self.units_of[at].iter().all(|it| all.contains(it)),
                    _ => false,
                });
            }
            Step::Magneto(id) => {
                predicted.sources = guide.those(|it| it.device == *id);
                predicted.removes = by_fault(&|_, it| *it == Fault::PLead(id.clone()));
            }
            Step::Unplug(id) => {
                let opened = self.mates(id);
                predicted.deaf = self.deaf(&opened);
                predicted.removes = self.opens(&opened);
            }
            Step::OwnBattery(unit) => {
                let opened = guide.wires_at(unit, &[Role::PowerIn, Role::Return]);
                let opens = self.opens(&opened);
                predicted.removes = by_fault(&|at, fault| {
                    opens[at]
                        || self.is_return_of(at, fault, unit)
                        || *fault == Fault::Supply(unit.clone())
                });
            }
            Step::OwnReturn(unit) => {
                predicted.removes = by_fault(&|at, fault| self.is_return_of(at, fault, unit));
            }
            Step::OwnSupply(unit) => {
                predicted.removes = by_fault(&|_, it| *it == Fault::Supply(unit.clone()));
            }
            Step::Clear(jacks) => {
                predicted.removes =
                    by_fault(&|_, it| matches!(it, Fault::Jack(jack) if jacks.contains(jack)));
            }
            Step::Part(of) => predicted.removes = by_fault(&|_, it| *it == Fault::Part(of.clone())),
            Step::Jumper(end) => {
                predicted.removes = by_fault(&|_, it| *it == Fault::Joint(end.clone()));
            }
            Step::DummyLoad(id) => {
                predicted.removes = by_fault(&|_, it| *it == Fault::Air(id.clone()));
            }
            Step::Repair(id) => {
                predicted.removes = by_fault(&|_, it| *it == Fault::Low(id.clone()));
            }
            Step::Swap(id) => {
                let seat = guide.seats.iter().position(|it| it == id);
                predicted.deaf = guide.everyone() & !seat.map_or(0, |at| 1 << at);
                predicted.removes = by_fault(&|_, it| *it == Fault::Headset(id.clone()));
            }
        }
        predicted
    }

    /// A person's answer as a number; `None` if it does not belong to the test.
    pub fn code(&self, predicted: &Predicted<'_>, answer: &Answer) -> Option<u64> {
        let guide = predicted.guide;
        let bits = |keys: &[String]| {
            let seat = |key: &String| guide.seats.iter().position(|it| it.as_str() == key);
            let item = |key: &String| {
                let mut items = predicted.items.iter();
                items.position(|it| fault_key(&self.suspects[*it].fault) == *key)
            };
            let at = |key| match predicted.kind {
                Answers::Items => item(key),
                _ => seat(key),
            };
            // An empty list of seats, in an aircraft without jacks, is the one seat it has.
            keys.iter()
                .filter_map(at)
                .fold(0, |bits, at| bits | 1 << at)
        };
        Some(match (answer, &predicted.kind) {
            (Answer::Same, Answers::Change) => SAME,
            (Answer::Gone, Answers::Change) => GONE,
            (Answer::Partly, Answers::Change) => PARTLY,
            (Answer::These(keys), Answers::Change) => match bits(keys) {
                0 => SAME,
                seats if seats == guide.everyone() & !predicted.deaf => GONE,
                seats => AT | seats << 2,
            },
            (Answer::These(keys), _) => bits(keys),
            _ => return None,
        })
    }

    /// A unit's own return or the joints of its ground path alone.
    fn is_return_of(&self, at: usize, fault: &Fault, unit: &DeviceId) -> bool {
        match fault {
            Fault::Shared(it) => it == unit,
            Fault::Joint(_) => self.units_of[at].iter().all(|it| *it == unit),
            _ => false,
        }
    }

    fn mates(&self, connector: &DeviceId) -> Vec<EdgeIndex> {
        let netlist = self.guide.noise.point.netlist();
        let edges = netlist.edges_in(connector).flatten().map(EdgeIndex::new);
        edges
            .filter(|it| matches!(netlist.graph[*it].kind, EdgeKind::Mate { .. }))
            .collect()
    }

    /// Seats whose jack is cut off.
    fn deaf(&self, opened: &[EdgeIndex]) -> u64 {
        let lows = self.lows.iter().enumerate();
        let cut = lows.filter(|(_, low)| low.iter().any(|it| opened.contains(it)));
        cut.fold(0, |bits, (at, _)| bits | 1 << at)
    }

    /// By suspect: true if nothing of it is left without these parts.
    fn opens(&self, opened: &[EdgeIndex]) -> Vec<bool> {
        let is_gone = |suspect: &Suspect| match suspect.touches {
            _ if !suspect.path.iter().any(|it| opened.contains(it)) => false,
            Some(node) => {
                let mut without = self.guide.contacts(&suspect.fault);
                without.extend_from_slice(opened);
                self.guide.way_to_metal(node, &without).is_none()
            }
            // Loose joints are judged by the units they serve, not by wires.
            None if matches!(suspect.fault, Fault::Joint(_)) => false,
            None => true,
        };
        self.suspects.iter().map(is_gone).collect()
    }

    /// The suspects that a measurement tells of.
    fn items(&self, step: &Step) -> Vec<usize> {
        let tells = |it: &Suspect| {
            matches!(
                (step, &it.fault),
                (
                    Step::Ohms,
                    Fault::Jack(_) | Fault::Low(_) | Fault::Part(EdgeOf::ShieldEnd(..))
                ) | (Step::Drops, Fault::Joint(_))
            )
        };
        let all = self.suspects.iter().enumerate();
        let all = all.filter(|it| tells(it.1)).map(|it| it.0);
        all.take(MOST_ITEMS).collect()
    }

    /// What can be marked in an answer: keys with labels.
    pub fn choices(&self, step: &Step) -> Vec<(String, String)> {
        if step.measures() {
            let item = |at: usize| {
                let suspect = &self.suspects[at];
                (fault_key(&suspect.fault), suspect.what.clone())
            };
            return self.items(step).into_iter().map(item).collect();
        }
        let deaf = self.of(step).deaf;
        let seats = self.guide.seats.iter().enumerate();
        seats
            .filter(|(at, _)| deaf >> at & 1 == 0)
            .map(|(_, id)| (id.to_string(), self.guide.tag(id)))
            .collect()
    }

    /// What to read, for each thing that is measured.
    pub fn readings(&self, step: &Step) -> Vec<String> {
        let items = self.items(step).into_iter();
        items.map(|at| self.suspects[at].meter.clone()).collect()
    }

    /// Units with audio that a person can do without while listening, and how likely the noise gets in there.
    fn entries(&self, likely: &[f64]) -> Vec<(&'a DeviceId, f64)> {
        let guide = self.guide;
        let jacks = guide.jacks();
        let hosts: Vec<_> = jacks.iter().filter_map(|it| guide.unit_at(it.2)).collect();
        let entry = |unit: &'a DeviceId| {
            let of = |it: &Fault| matches!(it, Fault::Supply(id) | Fault::Air(id) if id == unit);
            let all = self.suspects.iter().zip(likely);
            (
                unit,
                all.filter(|(it, _)| of(&it.fault)).map(|it| it.1).sum(),
            )
        };
        let units = guide.units().into_iter();
        units.filter(|it| !hosts.contains(it)).map(entry).collect()
    }

    /// Every test that may be made, with what it does. Groups are halved by how likely their members are.
    pub fn steps(
        &self,
        likely: &[f64],
        driven: &[f64],
    ) -> impl Iterator<Item = (Step, Predicted<'a>)> {
        let guide = self.guide;
        let mut all = vec![Step::EngineOff, Step::FieldOff, Step::Ohms, Step::Drops];
        let loads = guide.sources.iter().zip(driven);
        let loads = loads.filter(|(it, _)| !it.engine);
        let loads = loads.map(|(it, likely)| (&it.device, *likely)).collect();
        all.extend(halves(loads).into_iter().map(Step::Off));
        let in_line = guide.document.devices.iter();
        let in_line = in_line.filter(|(_, it)| it.kind == DeviceKind::InlineConnector);
        let in_line = in_line.filter(|(id, _)| {
            let mates = self.mates(id);
            let mut paths = self.suspects.iter().flat_map(|it| &it.path);
            paths.any(|it| mates.contains(it))
        });
        all.extend(in_line.map(|(id, _)| Step::Unplug(id.clone())));
        let entries = self.entries(likely);
        all.extend(halves(entries).into_iter().map(Step::Off));
        let units = guide.units().into_iter();
        all.extend(units.map(|it| Step::OwnBattery(it.clone())));
        let mut jacks = Vec::new();
        for (suspect, likely) in self.suspects.iter().zip(likely) {
            match &suspect.fault {
                Fault::Jack(jack) => jacks.push((jack, *likely)),
                fault => all.push(own(fault)),
            }
        }
        all.extend(halves(jacks).into_iter().map(Step::Clear));
        let predicted = all.into_iter().map(|step| {
            let predicted = self.of(&step);
            (step, predicted)
        });
        // With every seat cut off there is nothing to hear.
        predicted.filter(|it| it.1.deaf != guide.everyone())
    }
}

/// The test of one fault alone.
pub(super) fn own(fault: &Fault) -> Step {
    match fault.clone() {
        Fault::Jack(jack) => Step::Clear(vec![jack]),
        Fault::Part(of) => Step::Part(of),
        Fault::Shared(unit) => Step::OwnReturn(unit),
        Fault::Supply(unit) => Step::OwnSupply(unit),
        Fault::Joint(end) => Step::Jumper(end),
        Fault::Low(jack) => Step::Repair(jack),
        Fault::Headset(jack) => Step::Swap(jack),
        Fault::Air(radio) => Step::DummyLoad(radio),
        Fault::PLead(magneto) => Step::Magneto(magneto),
    }
}

/// Each alone, the half that is most likely together, and all.
fn halves(mut all: Vec<(&DeviceId, f64)>) -> Vec<Vec<DeviceId>> {
    all.order_by(|a, b| b.1.total_cmp(&a.1));
    let mut steps: Vec<Vec<DeviceId>> = all.iter().map(|it| vec![it.0.clone()]).collect();
    let every: Vec<DeviceId> = all.iter().map(|it| it.0.clone()).collect();
    let total: f64 = all.iter().map(|it| it.1).sum();
    let (mut sum, mut half) = (0.0, Vec::new());
    for (id, likely) in all {
        if sum >= total / 2.0 {
            break;
        }
        sum += likely;
        half.push(id.clone());
    }
    for mut group in [half, every] {
        group.order();
        if group.len() > 1 && !steps.contains(&group) {
            steps.push(group);
        }
    }
    steps
}

/// The key of a fault in an answer.
pub(super) fn fault_key(fault: &Fault) -> String {
    match fault {
        Fault::Low(id) => format!("low:{id}"),
        Fault::Joint(end) => end.to_string(),
        Fault::Part(of) => part_words(of).join(":"),
        Fault::Jack(id)
        | Fault::Shared(id)
        | Fault::Supply(id)
        | Fault::Headset(id)
        | Fault::Air(id)
        | Fault::PLead(id) => id.to_string(),
    }
}
