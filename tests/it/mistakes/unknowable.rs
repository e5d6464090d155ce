//! What a drawing cannot know: mistakes that leave a sound circuit, of another kind than was meant.

use loomwright_core::{
    document::{Document, ElementKind, End, LoadSort, Role, Wire, WireEnd},
    edit::{Key, Record},
    ids::{DeviceId, ElementId, TerminalId, WireId},
    netlist::{Netlist, Through},
    solve::{OperatingPoint, operate_all},
    standards::protection_chart::breaker_a,
};

use super::{
    judge::Sound,
    walk::{Mistake, Wiring, end_of, is_touching, protector},
};

/// A kind of mistake that a drawing cannot know, and why.
pub struct Unknowable {
    pub operator: &'static str,
    pub why: &'static str,
    is: fn(&Sound, &Mistake) -> bool,
}

/// Every such kind.
pub const UNKNOWABLE: &[Unknowable] = &[
    Unknowable {
        operator: "big protector",
        why: "the wires of its circuit bear the larger rating (AC 43.13-1B table 11-3), so the circuit is sound",
        is: wires_bear_it,
    },
    Unknowable {
        operator: "small protector",
        why: "the smaller rating is over what its circuit takes in every phase, so the circuit is sound",
        is: carries_its_load,
    },
    Unknowable {
        operator: "exchanged",
        why: "nothing marks which lead of a reversing motor is which: the other way round is another direction",
        is: leads_of_a_motor,
    },
    Unknowable {
        operator: "labels",
        why: "neither breaker has a name that says what it feeds",
        is: nameless,
    },
];

/// Why a drawing cannot know of this mistake, if it cannot.
pub fn why(operator: &str, sound: &Sound, mistake: &Mistake) -> Option<&'static str> {
    let mut all = UNKNOWABLE.iter().filter(|it| it.operator == operator);
    all.find(|it| (it.is)(sound, mistake)).map(|it| it.why)
}

/// A breaker or fuse whose rating a mistake changes: the device and element, or the wire that it is in.
enum Rerated<'m> {
    Element(&'m DeviceId, &'m ElementId, &'m TerminalId),
    InWire(&'m WireId),
}

/// Each, with its new rating, A.
fn rerated<'m>(sound: &'m Document, mistake: &'m Mistake) -> Vec<(Rerated<'m>, f64)> {
    let mut all = Vec::new();
    for (key, step) in mistake.change.steps() {
        match (key, &step.after) {
            (
                Key::Wire(id),
                Some(Record::Wire(Wire {
                    fuse: Some(fuse), ..
                })),
            ) => {
                all.extend(fuse.rating_a.map(|it| (Rerated::InWire(id), it)));
            }
            (Key::Device(id), Some(Record::Device(device))) => {
                let was = &sound.devices[id];
                for element in device
                    .elements
                    .iter()
                    .filter(|it| !was.elements.contains(it))
                {
                    if let ElementKind::Protector(it) = &element.is {
                        let which = Rerated::Element(id, &element.id, &it.load);
                        all.extend(it.rating_a.map(|rating_a| (which, rating_a)));
                    }
                }
            }
            _ => {}
        }
    }
    all
}

fn wires_bear_it(sound: &Sound, mistake: &Mistake) -> bool {
    let document = &sound.document;
    let netlist = Netlist::new(document);
    let through = Through::WIRES.and(Through::MATES);
    let groups = netlist.groups(through.and(Through::SWITCHES).and(Through::CONTACTS));
    let bears = |id: &WireId, rating_a: f64| {
        let most_a = document.wires[id].gauge_awg.and_then(breaker_a);
        most_a.is_some_and(|most_a| rating_a <= most_a)
    };
    rerated(document, mistake)
        .into_iter()
        .all(|(which, rating_a)| match which {
            Rerated::InWire(id) => bears(id, rating_a),
            Rerated::Element(id, _, load) => {
                let load = netlist
                    .terminal(id, load)
                    .expect("a terminal of the sound document");
                let mut wires = netlist.wires();
                wires.all(|(id, at)| {
                    !at.ends.iter().any(|end| groups.same(*end, load)) || bears(id, rating_a)
                })
            }
        })
}

fn carries_its_load(sound: &Sound, mistake: &Mistake) -> bool {
    let rerated = rerated(&sound.document, mistake);
    operate_all(&sound.document)
        .iter()
        .flat_map(OperatingPoint::judged)
        .all(|point| {
            rerated.iter().all(|(which, rating_a)| {
                let amps = match which {
                    Rerated::InWire(id) => point.wire_amps(id),
                    Rerated::Element(id, element, _) => point.element_amps(id, element),
                };
                amps.unwrap_or(0.0).abs() <= *rating_a
            })
        })
}

/// The ends that a mistake moves wires away from.
fn left(mistake: &Mistake) -> Vec<&End> {
    let mut all = Vec::new();
    for step in mistake.change.steps().values() {
        if let (Some(Record::Wire(was)), Some(Record::Wire(now))) = (&step.before, &step.after) {
            let ends =
                [WireEnd::From, WireEnd::To].map(|which| (end_of(was, which), end_of(now, which)));
            all.extend(
                ends.into_iter()
                    .filter(|(was, now)| was != now)
                    .map(|(was, _)| was),
            );
        }
    }
    all
}

fn leads_of_a_motor(sound: &Sound, mistake: &Mistake) -> bool {
    let wiring = Wiring::new(&sound.document);
    left(mistake).into_iter().all(|end| {
        wiring.terminal(end).is_some_and(|(_, device, terminal)| {
            let is_motor = |it: &ElementKind| matches!(it, ElementKind::Load(it) if it.either_way && it.sort == LoadSort::Motor);
            let mut here = device.elements.iter().filter(|it| is_touching(it, &terminal.id));
            terminal.role == Role::Passive && here.any(|it| is_motor(&it.is))
        })
    })
}

fn nameless(sound: &Sound, mistake: &Mistake) -> bool {
    let wiring = Wiring::new(&sound.document);
    left(mistake).into_iter().any(|end| {
        wiring.terminal(end).is_some_and(|(_, device, terminal)| {
            let mut elements = device.elements.iter();
            let element =
                elements.find(|it| protector(it).is_some_and(|(_, load)| *load == terminal.id));
            let label = element.map_or("", |it| &it.label);
            // The element's own number is no name of a load.
            terminal.name.is_empty()
                && (label.is_empty() || label.eq_ignore_ascii_case(&terminal.label))
        })
    })
}
