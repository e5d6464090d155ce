//! What comes next: one step of the job, found in the project itself. The steps follow the job: what must keep
//! working, sources, buses, grounds, units, wires, lengths, check, order, build, ring-out, power-up, log. The first that
//! is not done is the next one.

use super::Counts;
use crate::{
    document::{BuildStatus, Device, DeviceKind, Document, ElementKind, End, Role, Test, Wire},
    edit::Key,
    ids::{DeviceId, TerminalId},
    order::{InOrder, Map, Sorted},
};

/// The next step.
#[derive(Clone, Debug, PartialEq)]
pub struct NextStep {
    /// What is to be done, in words.
    pub text: String,
    /// Where it is done.
    pub at: NextAt,
}

/// Where a step is done.
#[derive(Clone, Debug, PartialEq)]
pub enum NextAt {
    /// With the project's own facts: equipment, loads, phases.
    Plan,
    /// On the drawing; at these records, if any.
    Drawing(Vec<Key>),
    /// In the list of findings.
    Findings,
    /// In the list of wires.
    Wires,
    /// On the paper with this name.
    Paper(&'static str),
    /// In the log.
    Log,
}

type Step = fn(&Document, Counts) -> Option<NextStep>;

/// In the order of the job.
const STEPS: [Step; 16] = [
    purpose, battery, field, bus, ground, units, supply, returns, open_ends, lengths, findings,
    order, build, ring_out, power_up, logged,
];

/// The first step that is not done; none if all are. `counts` are of the last check.
pub fn next(document: &Document, counts: Counts) -> Option<NextStep> {
    STEPS.iter().find_map(|step| step(document, counts))
}

#[expect(clippy::unnecessary_wraps, reason = "every step ends with it")]
fn at(text: impl Into<String>, at: NextAt) -> Option<NextStep> {
    let text = text.into();
    Some(NextStep { text, at })
}

fn drawing(text: &str) -> Option<NextStep> {
    at(text, NextAt::Drawing(Vec::new()))
}

/// `1 unit has`, `3 units have`.
fn counted(n: usize, one: &str, many: &str) -> String {
    let word = if n == 1 { one } else { many };
    format!("{n} {word}")
}

fn has(document: &Document, wanted: impl Fn(&ElementKind) -> bool) -> bool {
    let mut elements = document.devices.values().flat_map(|it| &it.elements);
    elements.any(|element| wanted(&element.is))
}

fn purpose(document: &Document, _: Counts) -> Option<NextStep> {
    let is_marked = || document.devices.values().any(|it| it.critical);
    let is_said = !document.project.statement.trim().is_empty() || is_marked();
    (!is_said).then_some(())?;
    at(
        "say what the aircraft is and what must keep working",
        NextAt::Plan,
    )
}

fn battery(document: &Document, _: Counts) -> Option<NextStep> {
    let has_source = has(document, |it| {
        matches!(it, ElementKind::Battery(_) | ElementKind::Alternator(_))
    });
    (!has_source).then(|| drawing("no battery yet: add it"))?
}

/// An alternator whose field is wired to no breaker or fuse, or not wired.
fn field(document: &Document, _: Counts) -> Option<NextStep> {
    let fields = document.devices.iter().flat_map(|(id, device)| {
        device
            .elements
            .iter()
            .filter_map(move |element| match &element.is {
                ElementKind::Alternator(it) => Some((id, it.field.as_ref()?)),
                _ => None,
            })
    });
    let bare = fields
        .filter(|(id, terminal)| !reaches_breaker(document, id, terminal))
        .map(|(id, _)| Key::Device(id.clone()));
    let bare: Vec<Key> = bare.collect();
    let text = match bare.as_slice() {
        [] => return None,
        [one] => format!("{} has no breaker for its field", label(document, one)),
        many => format!("{} alternators have no breaker for their field", many.len()),
    };
    at(text, NextAt::Drawing(bare))
}

fn label(document: &Document, key: &Key) -> String {
    document.record_label(key.kind(), key.id())
}

/// True if wires, and whatever carries what it is given, may lead from a terminal to a breaker or fuse. It says yes too
/// often rather than too rarely: the check knows better, and comes later.
fn reaches_breaker(document: &Document, device: &DeviceId, terminal: &TerminalId) -> bool {
    let mut by_end: Map<&End, Vec<&Wire>> = Map::new();
    for wire in document.wires.values() {
        by_end.or_default(&wire.from).push(wire);
        by_end.or_default(&wire.to).push(wire);
    }
    let mut seen = Sorted::new();
    let mut next = vec![End::Terminal(device.clone(), terminal.clone())];
    while let Some(end) = next.pop() {
        if !seen.insert(end.clone()) {
            continue;
        }
        for wire in by_end.get(&end).into_iter().flatten() {
            let far = if wire.from == end {
                &wire.to
            } else {
                &wire.from
            };
            if wire.fuse.is_some() {
                return true;
            }
            let End::Terminal(id, at) = far else {
                next.push(far.clone());
                continue;
            };
            let Some(found) = document.devices.get(id) else {
                continue;
            };
            if protects(found, at) {
                return true;
            }
            // On through a device that carries what it is given; a source is the end.
            let goes_on = !matches!(
                found.kind,
                DeviceKind::Battery | DeviceKind::Bus | DeviceKind::GroundBlock
            );
            let others = found.terminals.iter().filter(|_| goes_on);
            let others = others.filter(|it| id != device && it.role == Role::Passive);
            next.extend(others.map(|it| End::Terminal(id.clone(), it.id.clone())));
            next.push(far.clone());
        }
    }
    false
}

fn protects(device: &Device, terminal: &TerminalId) -> bool {
    device.elements.iter().any(|element| match &element.is {
        ElementKind::Protector(it) => it.load == *terminal || it.line == *terminal,
        _ => false,
    })
}

fn bus(document: &Document, _: Counts) -> Option<NextStep> {
    let has_bus = document
        .devices
        .values()
        .any(|it| it.kind == DeviceKind::Bus);
    (!has_bus).then(|| drawing("no bus yet: add one with its breakers or fuses"))?
}

fn ground(document: &Document, _: Counts) -> Option<NextStep> {
    let has_block = document
        .devices
        .values()
        .any(|it| it.kind == DeviceKind::GroundBlock);
    let mut ends = document.wires.values().flat_map(|it| [&it.from, &it.to]);
    let has_ground = has_block || ends.any(|end| matches!(end, End::Structure(_)));
    (!has_ground).then(|| drawing("no ground yet: add a ground block, or wire to the airframe"))?
}

fn is_unit(device: &Device) -> bool {
    let mut elements = device.elements.iter();
    elements.any(|it| matches!(it.is, ElementKind::Load(_)))
}

fn units(document: &Document, _: Counts) -> Option<NextStep> {
    let has_unit = document.devices.values().any(is_unit);
    (!has_unit).then(|| drawing("no unit yet: add what takes power"))?
}

/// The units with this side of a load not wired.
fn not_wired(document: &Document, is_plus: bool) -> Vec<Key> {
    let ends = document.wires.values().flat_map(|it| [&it.from, &it.to]);
    let wired: Sorted<&End> = ends.collect();
    let is_bare = |id: &DeviceId, device: &Device| {
        device.elements.iter().any(|element| match &element.is {
            ElementKind::Load(load) => {
                let terminal = if is_plus { &load.plus } else { &load.minus };
                let roles = [Role::PowerIn, Role::Return];
                let role = device.terminal(terminal).map(|it| it.role);
                let is_joined =
                    |it: &TerminalId| wired.contains(&End::Terminal(id.clone(), it.clone()));
                role.is_some_and(|role| roles.contains(&role))
                    && !is_joined(terminal)
                    && !is_on_metal(device, terminal, is_joined)
            }
            _ => false,
        })
    };
    let devices = document.devices.iter();
    let bare = devices.filter(|(id, device)| is_bare(id, device));
    bare.map(|(id, _)| Key::Device(id.clone())).collect()
}

/// True if a terminal needs no wire of its own: its case touches the structure, or it is one metal with a terminal
/// that is joined.
fn is_on_metal(
    device: &Device,
    terminal: &TerminalId,
    is_joined: impl Fn(&TerminalId) -> bool,
) -> bool {
    device.elements.iter().any(|element| match &element.is {
        ElementKind::StructureTie(tie) => tie.terminal == *terminal,
        ElementKind::Bar(bar) => {
            bar.terminals.contains(terminal) && bar.terminals.iter().any(&is_joined)
        }
        _ => false,
    })
}

fn supply(document: &Document, _: Counts) -> Option<NextStep> {
    let bare = not_wired(document, true);
    (!bare.is_empty()).then_some(())?;
    let text = counted(
        bare.len(),
        "unit has no supply yet",
        "units have no supply yet",
    );
    at(text, NextAt::Drawing(bare))
}

fn returns(document: &Document, _: Counts) -> Option<NextStep> {
    let bare = not_wired(document, false);
    (!bare.is_empty()).then_some(())?;
    let text = counted(
        bare.len(),
        "unit has no ground yet",
        "units have no ground yet",
    );
    at(text, NextAt::Drawing(bare))
}

fn wires(document: &Document, wanted: impl Fn(&Wire) -> bool) -> Vec<Key> {
    let found = document.wires.iter().filter(|(_, wire)| wanted(wire));
    found.map(|(id, _)| Key::Wire(id.clone())).collect()
}

fn open_ends(document: &Document, _: Counts) -> Option<NextStep> {
    let open = wires(document, |it| it.from == End::Open || it.to == End::Open);
    (!open.is_empty()).then_some(())?;
    let text = counted(open.len(), "wire has an open end", "wires have an open end");
    at(text, NextAt::Drawing(open))
}

fn lengths(document: &Document, _: Counts) -> Option<NextStep> {
    let text = match wires(document, |it| document.wire_length_m(it).is_none()).len() {
        0 => return None,
        1 => "the length of 1 wire is not set: measure it".to_owned(),
        n => format!("lengths of {n} wires are not set: measure them"),
    };
    at(text, NextAt::Wires)
}

fn findings(_: &Document, counts: Counts) -> Option<NextStep> {
    let n = counts.hazards + counts.faults;
    (n > 0).then_some(())?;
    at(
        counted(n, "hazard or fault is open", "hazards and faults are open"),
        NextAt::Findings,
    )
}

/// True if a wire has come so far.
fn is_at(wire: &Wire, status: BuildStatus) -> bool {
    let place = |it: BuildStatus| BuildStatus::ALL.iter().position(|one| *one == it);
    place(wire.status) >= place(status)
}

fn order(document: &Document, _: Counts) -> Option<NextStep> {
    let is_begun = document
        .wires
        .values()
        .any(|it| is_at(it, BuildStatus::Cut));
    (!is_begun).then_some(())?;
    at(
        "all is drawn: order wire, terminals and connectors",
        NextAt::Paper("order"),
    )
}

/// How many wires have not come so far, and where most of them begin.
fn left(document: &Document, status: BuildStatus) -> (usize, String) {
    let left = document.wires.values().filter(|it| !is_at(it, status));
    let places = left.map(|wire| {
        let device = document.devices.get(wire.from.device()?)?;
        let place = document.places.get(device.place.as_ref()?)?;
        Some(place.title.as_str())
    });
    let mut places: Vec<Option<&str>> = places.collect();
    places.order();
    let most = places.chunk_by(|a, b| a == b).max_by_key(|it| it.len());
    let place = most
        .and_then(|it| it[0])
        .map(|it| format!(", most in: {it}"));
    (places.len(), place.unwrap_or_default())
}

fn build(document: &Document, _: Counts) -> Option<NextStep> {
    let (n, place) = left(document, BuildStatus::Routed);
    (n > 0).then_some(())?;
    let text = counted(
        n,
        "wire is not installed yet",
        "wires are not installed yet",
    );
    at(text + &place, NextAt::Paper("cuts"))
}

fn ring_out(document: &Document, _: Counts) -> Option<NextStep> {
    let (n, place) = left(document, BuildStatus::Tested);
    (n > 0).then_some(())?;
    let text = format!("ring-out: {} left{place}", counted(n, "wire", "wires"));
    at(text, NextAt::Paper("ring-out"))
}

fn power_up(document: &Document, _: Counts) -> Option<NextStep> {
    let mut readings = document.readings.values();
    let is_done = readings.any(|it| matches!(it.test, Test::Volts | Test::Amps));
    (!is_done).then_some(())?;
    at(
        "first power-up: no volts or amps measured yet",
        NextAt::Paper("power-up"),
    )
}

fn logged(document: &Document, _: Counts) -> Option<NextStep> {
    document.log.is_empty().then_some(())?;
    at(
        "nothing is in the log yet: write down what was done",
        NextAt::Log,
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{
        document::{LogEntry, LogKind, Reading},
        exchange,
        testing::aircraft,
    };

    fn said(document: &Document, counts: Counts) -> String {
        next(document, counts).map_or(String::new(), |it| it.text)
    }

    fn sorrel() -> Document {
        let file = include_bytes!("../../../public/samples/sorrel.json");
        exchange::open(file).expect("the sample opens").document
    }

    #[test]
    fn an_empty_project_begins_with_its_purpose_and_then_a_battery() {
        let mut document = Document::default();
        let first = next(&document, Counts::default()).expect("there is a step");
        assert_eq!(first.at, NextAt::Plan);
        document.project.statement = "Two seats, by day; one radio must keep working".into();
        assert!(said(&document, Counts::default()).contains("battery"));
    }

    #[test]
    fn a_project_half_built_names_what_its_units_lack() {
        let document = sorrel();
        let cut = document.wires.keys().find_map(|id| {
            let mut without = document.clone();
            without.wires.remove(id);
            (not_wired(&without, true).len() == not_wired(&document, true).len() + 1)
                .then_some(without)
        });
        let cut = cut.expect("a unit is fed by one wire");
        let step = next(&cut, Counts::default()).expect("there is a step");
        assert!(step.text.contains("no supply yet"), "{}", step.text);
        assert!(matches!(step.at, NextAt::Drawing(keys) if !keys.is_empty()));
    }

    #[test]
    fn later_steps_follow_the_job_as_it_is_done() {
        let clean = Counts::default();
        let mut document = sorrel();
        document.readings.clear();
        document.log.clear();
        let bare = [not_wired(&document, true), not_wired(&document, false)].concat();
        for key in bare {
            document.put(&key, None);
        }
        document = crate::edit::settled(document);
        document
            .wires
            .retain(|_, it| it.from != End::Open && it.to != End::Open);
        document = crate::edit::settled(document);
        for wire in document.wires.values_mut() {
            wire.status = BuildStatus::Planned;
            wire.length_m = wire.length_m.or(Some(1.0));
        }
        let mut without = document.clone();
        for wire in without.wires.values_mut().take(2) {
            wire.length_m = None;
            wire.route.clear();
        }
        let text = "lengths of 2 wires are not set: measure them";
        assert_eq!(said(&without, clean), text);
        let faults = Counts { faults: 2, ..clean };
        assert_eq!(said(&document, faults), "2 hazards and faults are open");
        assert!(said(&document, clean).contains("order"));
        for (status, words) in [
            (BuildStatus::Cut, "not installed"),
            (BuildStatus::Routed, "ring-out: "),
            (BuildStatus::Tested, "first power-up"),
        ] {
            for wire in document.wires.values_mut() {
                wire.status = status;
            }
            let text = said(&document, clean);
            assert!(text.contains(words), "{status:?}: {text}");
        }
        let reading = Reading {
            test: Test::Volts,
            from: End::Open,
            to: End::Open,
            position: None,
            before_wiring: false,
            value: Some(12.6),
            over_range: false,
            who: String::new(),
            date: "2026-11-01".into(),
            extra: Map::new(),
        };
        document.readings.insert("r1".into(), reading);
        assert!(said(&document, clean).contains("log"));
        let entry = LogEntry {
            date: "2026-11-01".into(),
            who: String::new(),
            kind: LogKind::Note,
            text: "Wired".into(),
            hours: None,
            results: Vec::new(),
            extra: Map::new(),
        };
        document.log.insert("l1".into(), entry);
        assert_eq!(next(&document, clean), None, "nothing is left to say");
    }

    #[test]
    fn a_case_on_metal_needs_no_ground_wire() {
        let teasel = include_bytes!("../../../public/samples/teasel.json");
        let teasel = crate::exchange::open(teasel).expect("the sample opens");
        for document in [sorrel(), teasel.document] {
            assert_eq!(not_wired(&document, false), []);
            assert_eq!(not_wired(&document, true), []);
        }
    }

    #[test]
    fn a_field_without_a_breaker_is_named() {
        let mut document = sorrel();
        let fields = document.devices.iter().flat_map(|(id, device)| {
            let of = |element: &crate::document::Element| match &element.is {
                ElementKind::Alternator(it) => Some(End::Terminal(id.clone(), it.field.clone()?)),
                _ => None,
            };
            device.elements.iter().filter_map(of).collect::<Vec<_>>()
        });
        let fields: Vec<End> = fields.collect();
        assert!(
            !fields.is_empty(),
            "the sample has an alternator with a field"
        );
        assert_eq!(field(&document, Counts::default()), None);
        let ends_there = |wire: &Wire| fields.contains(&wire.from) || fields.contains(&wire.to);
        document.wires.retain(|_, wire| !ends_there(wire));
        let step = field(&document, Counts::default()).expect("it is bare");
        let words = "no breaker for its field";
        assert!(step.text.ends_with(words), "{}", step.text);
    }

    #[test]
    fn a_large_project_is_read_in_a_moment() {
        let document = aircraft(5_000);
        let begun = std::time::Instant::now();
        let step = next(&document, Counts::default());
        assert!(begun.elapsed().as_secs() < 2, "{step:?}");
    }
}
