//! A technician in an aircraft with known faults. From the faults alone, with a graph of its own, it answers each
//! test; it uses nothing of the hunt but the names of its steps and answers.

use std::collections::{BTreeMap, BTreeSet};

use loomwright_core::{
    document::{BarUse, DeviceKind, Document, ElementKind, JackUse, Role, ShieldEnd, WireEnd},
    netlist::EdgeOf,
    noise::{Answer, Step},
};

/// What is really wrong.
#[derive(Clone, Debug, PartialEq)]
pub enum Fault {
    /// This jack's body touches the metal of its place.
    Jack(String),
    /// The shield of this cable touches metal at this end.
    Shield(String, WireEnd),
    /// This joint, an end as in files, is loose.
    Loose(String),
    /// These two share a return wire; noise gets into the first.
    Shared(String, String),
    /// Noise comes in with the supply of this unit.
    Supply(String),
    /// The audio low of this jack is open.
    Low(String),
    /// The headset at this jack.
    Headset(String),
    /// This radio picks it up through its antenna.
    Air(String),
    /// The shield of this magneto's P-lead is open.
    PLead(String),
}

/// A fault and the device that drives it.
#[derive(Clone, Debug)]
pub struct Cause {
    pub fault: Fault,
    pub source: String,
}

/// What joins two points.
#[derive(Clone, Debug, PartialEq)]
enum Link {
    Wire(String),
    Mate(String),
    Metal,
    Ground,
    Inside,
    Shield,
    Touch(usize),
}

type Point = String;

pub struct Technician<'a> {
    document: &'a Document,
    causes: &'a [Cause],
    links: Vec<(Point, Point, Link)>,
    everyone: BTreeSet<String>,
}

fn is_switched_off(unit: &str, step: Option<&Step>) -> bool {
    matches!(step, Some(Step::Off(ids)) if ids.iter().any(|it| it.as_str() == unit))
}

fn terminal(device: &str, id: &str) -> Point {
    format!("terminal:{device}/{id}")
}

impl<'a> Technician<'a> {
    pub fn new(document: &'a Document, causes: &'a [Cause]) -> Self {
        let mut it = Self {
            document,
            causes,
            links: Vec::new(),
            everyone: BTreeSet::new(),
        };
        it.connect();
        it.touch();
        it.everyone = it.jacks(JackUse::Phones);
        it
    }

    fn connect(&mut self) {
        let document = self.document;
        for (id, wire) in &document.wires {
            self.link(
                wire.from.to_string(),
                wire.to.to_string(),
                Link::Wire(id.to_string()),
            );
        }
        for (id, place) in &document.places {
            if let Some(to) = &place.bonded_to {
                self.link(
                    format!("structure:{id}"),
                    format!("structure:{to}"),
                    Link::Metal,
                );
            }
        }
        for (id, cable) in &document.cables {
            let Some(shield) = &cable.shield else {
                continue;
            };
            self.link(
                format!("shield:{id}:from"),
                format!("shield:{id}:to"),
                Link::Shield,
            );
            for (end, word) in [(&shield.from, "from"), (&shield.to, "to")] {
                if let ShieldEnd::Tied { at, .. } | ShieldEnd::Carried { at, .. } = end {
                    self.link(format!("shield:{id}:{word}"), at.to_string(), Link::Shield);
                }
            }
        }
        for (id, device) in &document.devices {
            let at = |terminal_id: &dyn std::fmt::Display| {
                terminal(id.as_str(), &terminal_id.to_string())
            };
            for element in &device.elements {
                match &element.is {
                    ElementKind::Mate(mate) => {
                        self.link(at(&mate.a), at(&mate.b), Link::Mate(id.to_string()));
                    }
                    ElementKind::Bar(bar) => {
                        let kind = match bar.used_as {
                            BarUse::Ground => Link::Ground,
                            _ => Link::Inside,
                        };
                        for bolted in &bar.terminals {
                            let metal = format!("bar:{id}/{}", element.id);
                            self.link(at(bolted), metal, kind.clone());
                        }
                    }
                    ElementKind::Shunt(shunt) => {
                        self.link(at(&shunt.a), at(&shunt.b), Link::Ground);
                    }
                    ElementKind::StructureTie(tie) => {
                        if let Some(place) = &device.place {
                            self.link(at(&tie.terminal), format!("structure:{place}"), Link::Metal);
                        }
                    }
                    _ => {}
                }
            }
        }
    }

    fn touch(&mut self) {
        for (n, cause) in self.causes.iter().enumerate() {
            match &cause.fault {
                Fault::Jack(id) => {
                    let place = self.document.devices[id.as_str()].place.clone();
                    let metal = format!("structure:{}", place.expect("a jack has a place"));
                    self.link(self.sleeve(id), metal, Link::Touch(n));
                }
                Fault::Shield(id, end) => {
                    let word = match end {
                        WireEnd::From => "from",
                        WireEnd::To => "to",
                    };
                    let metal = "structure:touched".to_string();
                    self.link(format!("shield:{id}:{word}"), metal, Link::Touch(n));
                }
                _ => {}
            }
        }
    }

    fn link(&mut self, a: Point, b: Point, link: Link) {
        self.links.push((a, b, link));
    }

    /// Jacks with this use.
    pub fn jacks(&self, used_for: JackUse) -> BTreeSet<String> {
        let is_it = |id: &&loomwright_core::ids::DeviceId| {
            let elements = &self.document.devices[id.as_str()].elements;
            (elements.iter())
                .any(|it| matches!(&it.is, ElementKind::Jack(jack) if jack.used_for == used_for))
        };
        self.document
            .devices
            .keys()
            .filter(is_it)
            .map(ToString::to_string)
            .collect()
    }

    fn sleeve(&self, jack: &str) -> Point {
        let elements = &self.document.devices[jack].elements;
        let sleeve = elements.iter().find_map(|it| match &it.is {
            ElementKind::Jack(jack) => Some(jack.sleeve.to_string()),
            _ => None,
        });
        terminal(jack, &sleeve.expect("a jack"))
    }

    fn pins(&self, unit: &str, role: Role) -> Vec<Point> {
        let terminals = self.document.devices[unit].terminals.iter();
        let those = terminals.filter(|it| it.role == role);
        those.map(|it| terminal(unit, it.id.as_str())).collect()
    }

    fn reach(
        &self,
        from: &[Point],
        passes: &dyn Fn(&(Point, Point, Link)) -> bool,
    ) -> BTreeSet<Point> {
        let mut near: BTreeMap<&str, Vec<&str>> = BTreeMap::new();
        for link in self.links.iter().filter(|it| passes(it)) {
            near.entry(&link.0).or_default().push(&link.1);
            near.entry(&link.1).or_default().push(&link.0);
        }
        let mut seen: BTreeSet<Point> = from.iter().cloned().collect();
        let mut open: Vec<Point> = from.to_vec();
        while let Some(at) = open.pop() {
            for next in near.get(at.as_str()).into_iter().flatten() {
                if seen.insert((*next).to_string()) {
                    open.push((*next).to_string());
                }
            }
        }
        seen
    }

    /// True if a test takes this link away.
    fn is_off(&self, step: Option<&Step>, (a, b, link): &(Point, Point, Link)) -> bool {
        let at = |unit: &str, roles: &[Role]| {
            let mut pins = roles.iter().flat_map(|role| self.pins(unit, *role));
            matches!(link, Link::Wire(_)) && pins.any(|pin| pin == *a || pin == *b)
        };
        let touches = |fault: &Fault| match link {
            Link::Touch(n) => self.causes[*n].fault == *fault,
            _ => false,
        };
        match step {
            Some(Step::Unplug(id)) => *link == Link::Mate(id.to_string()),
            Some(Step::OwnBattery(id)) => at(id.as_str(), &[Role::PowerIn, Role::Return]),
            Some(Step::OwnReturn(id)) => at(id.as_str(), &[Role::Return]),
            Some(Step::OwnSupply(id)) => at(id.as_str(), &[Role::PowerIn]),
            Some(Step::Clear(ids)) => ids.iter().any(|id| touches(&Fault::Jack(id.to_string()))),
            Some(Step::Part(EdgeOf::ShieldEnd(id, end))) => {
                touches(&Fault::Shield(id.to_string(), *end))
            }
            Some(Step::Part(EdgeOf::Wire(id))) => *link == Link::Wire(id.to_string()),
            // The plugs are pulled: nothing of these units is joined to its wires.
            Some(Step::Ohms) => {
                let of = |point: &str| {
                    let device = point.strip_prefix("terminal:")?.split('/').next()?;
                    Some(self.units_with_audio().iter().any(|it| it == device))
                };
                of(a) == Some(true) || of(b) == Some(true)
            }
            _ => false,
        }
    }

    fn runs(&self, source: &str, step: Option<&Step>) -> bool {
        let device = &self.document.devices[source];
        let alternator = device.kind == DeviceKind::Alternator;
        let magneto = device.terminals.iter().any(|it| it.role == Role::PLead);
        match step {
            Some(Step::EngineOff) => !alternator && !magneto,
            Some(Step::FieldOff) => !alternator,
            Some(Step::Off(ids)) => !ids.iter().any(|it| it.as_str() == source),
            Some(Step::Magneto(id)) => id.as_str() != source,
            _ => true,
        }
    }

    /// True if the conductor of a jack's audio low still reaches its unit.
    fn is_wired(&self, jack: &str, step: Option<&Step>) -> bool {
        let reached = self.reach(&[self.sleeve(jack)], &|it| {
            matches!(it.2, Link::Wire(_) | Link::Mate(_)) && !self.is_off(step, it)
        });
        reached.iter().any(|point| {
            let device = point
                .strip_prefix("terminal:")
                .and_then(|it| it.split('/').next());
            device.is_some_and(|id| self.document.devices[id].kind == DeviceKind::Unit)
        })
    }

    /// Joints and wires of a unit's return that everything of it goes through.
    fn needs(
        &self,
        unit: &str,
        cut: &dyn Fn(&(Point, Point, Link)) -> bool,
        step: Option<&Step>,
    ) -> bool {
        let negative = |reached: &BTreeSet<Point>| {
            self.document.devices.iter().any(|(id, device)| {
                device.elements.iter().any(|it| match &it.is {
                    ElementKind::Battery(battery) => {
                        reached.contains(&terminal(id.as_str(), battery.minus.as_str()))
                    }
                    _ => false,
                })
            })
        };
        let ground = |it: &(Point, Point, Link)| {
            matches!(
                it.2,
                Link::Wire(_) | Link::Mate(_) | Link::Ground | Link::Metal
            ) && !self.is_off(step, it)
        };
        let pins = self.pins(unit, Role::Return);
        negative(&self.reach(&pins, &ground))
            && !negative(&self.reach(&pins, &|it| ground(it) && !cut(it)))
    }

    /// The joints of the ground paths of units with audio, without which one of them has no return.
    pub fn joints(&self) -> BTreeSet<String> {
        let units = self.units_with_audio();
        let ends = self
            .document
            .wires
            .values()
            .flat_map(|it| [&it.from, &it.to]);
        let ends: BTreeSet<String> = ends.map(ToString::to_string).collect();
        let is_joint = |end: &String| {
            let own = |unit: &String| end.starts_with(&format!("terminal:{unit}/"));
            let cut = |it: &(Point, Point, Link)| it.0 == *end || it.1 == *end;
            !units.iter().any(own) && units.iter().any(|unit| self.needs(unit, &cut, None))
        };
        ends.into_iter().filter(is_joint).collect()
    }

    /// Units that send, mix or receive audio.
    pub fn units_with_audio(&self) -> Vec<String> {
        let devices = self.document.devices.iter();
        let audio = devices.filter(|(_, it)| {
            it.kind == DeviceKind::Unit
                && it.terminals.iter().any(|it| it.role == Role::AudioHigh)
                && it
                    .elements
                    .iter()
                    .any(|it| matches!(it.is, ElementKind::Load(_)))
        });
        audio.map(|it| it.0.to_string()).collect()
    }

    fn is_alive(&self, n: usize, step: Option<&Step>) -> bool {
        let cause = &self.causes[n];
        if !self.runs(&cause.source, step) {
            return false;
        }
        // A temporary return grounds the unit as its own did.
        let way = step.filter(|it| !matches!(it, Step::OwnReturn(_)));
        let grounded = |from: Point| {
            let there = self
                .links
                .iter()
                .any(|it| it.2 == Link::Touch(n) && !self.is_off(step, it));
            let reached = self.reach(&[from], &|it| {
                it.2 != Link::Touch(n) && !self.is_off(way, it)
            });
            there && reached.iter().any(|it| it.starts_with("structure:"))
        };
        match &cause.fault {
            Fault::Jack(id) => grounded(self.sleeve(id)),
            Fault::Shield(id, WireEnd::From) => grounded(format!("shield:{id}:from")),
            Fault::Shield(id, WireEnd::To) => grounded(format!("shield:{id}:to")),
            Fault::Loose(end) => {
                let jumped = matches!(step, Some(Step::Jumper(at)) if at.to_string() == *end);
                let cut = |it: &(Point, Point, Link)| it.0 == *end || it.1 == *end;
                let units = self.units_with_audio();
                let on = |unit: &&String| !is_switched_off(unit, step);
                !jumped
                    && units
                        .iter()
                        .filter(on)
                        .any(|unit| self.needs(unit, &cut, step))
            }
            Fault::Shared(unit, other) => self.document.wires.keys().any(|id| {
                let cut = |it: &(Point, Point, Link)| it.2 == Link::Wire(id.to_string());
                !is_switched_off(unit, step)
                    && self.needs(unit, &cut, step)
                    && self.needs(other, &cut, step)
            }),
            Fault::Supply(unit) if is_switched_off(unit, step) => false,
            Fault::Air(radio) if is_switched_off(radio, step) => false,
            Fault::Supply(unit) => {
                !matches!(step, Some(Step::OwnBattery(id) | Step::OwnSupply(id)) if id.as_str() == unit)
            }
            Fault::Low(jack) => {
                !matches!(step, Some(Step::Repair(id)) if id.as_str() == jack)
                    && self.is_wired(jack, step)
            }
            Fault::Headset(jack) => !matches!(step, Some(Step::Swap(id)) if id.as_str() == jack),
            Fault::Air(radio) => !matches!(step, Some(Step::DummyLoad(id)) if id.as_str() == radio),
            Fault::PLead(_) => true,
        }
    }

    /// Where a cause is heard: at a pair of phones its own fault, everything else at every seat.
    fn heard_at(&self, fault: &Fault) -> BTreeSet<String> {
        let jack = match fault {
            Fault::Jack(id) | Fault::Low(id) | Fault::Headset(id) => Some(id.clone()),
            Fault::Shield(id, end) => {
                let cable = &self.document.cables[id.as_str()];
                let wire = &self.document.wires[cable.wires[0].as_str()];
                let at = match end {
                    WireEnd::From => wire.from.to_string(),
                    WireEnd::To => wire.to.to_string(),
                };
                let device = at
                    .strip_prefix("terminal:")
                    .and_then(|it| it.split('/').next());
                device.map(ToString::to_string)
            }
            _ => None,
        };
        match jack.filter(|it| self.everyone.contains(it)) {
            Some(jack) => BTreeSet::from([jack]),
            None => self.everyone.clone(),
        }
    }

    fn hear(&self, step: Option<&Step>, seats: &BTreeSet<String>) -> (BTreeSet<String>, usize) {
        let alive = (0..self.causes.len()).filter(|n| self.is_alive(*n, step));
        let mut heard = BTreeSet::new();
        let mut count = 0;
        for n in alive {
            let here: Vec<String> = self
                .heard_at(&self.causes[n].fault)
                .intersection(seats)
                .cloned()
                .collect();
            count += usize::from(!here.is_empty());
            heard.extend(here);
        }
        (heard, count)
    }

    /// The answer to a test. `keys` are what a measurement lists.
    pub fn answer(&self, step: &Step, keys: &[String]) -> Answer {
        if step.measures() {
            let wrong = keys.iter().filter(|key| self.reads_wrong(step, key));
            return Answer::These(wrong.cloned().collect());
        }
        if *step == Step::Listen {
            let heard = self.hear(None, &self.everyone).0;
            return Answer::These(heard.into_iter().collect());
        }
        let seats: BTreeSet<String> = match step {
            Step::Swap(id) => BTreeSet::from([id.to_string()]),
            _ => {
                let on = |jack: &&String| self.is_wired(jack, Some(step));
                self.everyone.iter().filter(on).cloned().collect()
            }
        };
        let (before, was) = self.hear(None, &seats);
        let (after, is) = self.hear(Some(step), &seats);
        match (was == is, after.is_empty()) {
            (true, _) => Answer::Same,
            (false, true) => Answer::Gone,
            (false, false) if before == after => Answer::Partly,
            (false, false) => Answer::These(before.difference(&after).cloned().collect()),
        }
    }

    fn reads_wrong(&self, step: &Step, key: &str) -> bool {
        let touches = |from: Point| {
            let reached = self.reach(&[from], &|it| !self.is_off(Some(step), it));
            reached.iter().any(|it| it.starts_with("structure:"))
        };
        if matches!(step, Step::Drops) {
            return self
                .causes
                .iter()
                .any(|it| it.fault == Fault::Loose(key.into()));
        }
        match key.split(':').collect::<Vec<_>>()[..] {
            ["low", jack] => self
                .causes
                .iter()
                .any(|it| it.fault == Fault::Low(jack.into())),
            ["shield_end", cable, end] => touches(format!("shield:{cable}:{end}")),
            [jack] => touches(self.sleeve(jack)),
            _ => panic!("nobody can measure {key:?}"),
        }
    }
}
