//! What a new device of a list is, from its tag and the names of its terminals: class letters of IEEE 315 clause 22
//! (from memory) and words of the trade (common practice, no source). Only what follows from that is put inside: no
//! current, rating or resistance is made up.

use crate::{
    document::{
        Bar, BarUse, Connector, Device, DeviceKind, Element, ElementKind, Extra, Jack, JackUse,
        Load, LoadLaw, LoadSort, Mate, Origins, Protector, ProtectorStyle, Switch, SwitchPosition,
        Terminal, folded,
    },
    edit::free,
    ids::TerminalId,
    order::Map,
};

/// The letters of a tag, lower case, without its number: "k" of K1, "mbus" of MBUS.
fn letters(tag: &str) -> String {
    let folded = folded(tag);
    let end = folded.find(|c: char| !c.is_alphabetic());
    folded[..end.unwrap_or(folded.len())].to_owned()
}

/// The kind that a tag and the labels of terminals speak for; a unit if they say nothing.
pub(super) fn proposed(device: &Device) -> DeviceKind {
    let letters = letters(&device.tag);
    let has = |label: &str| device.terminals.iter().any(|it| folded(&it.label) == label);
    let is_bus = has("cb1")
        || device
            .terminals
            .iter()
            .filter(|it| style(&it.label).is_some())
            .count()
            > 1;
    match letters.as_str() {
        "bt" | "bat" | "batt" | "battery" => DeviceKind::Battery,
        "g" | "alt" | "gen" | "alternator" | "generator" => DeviceKind::Alternator,
        "gb" | "gnd" | "gnb" | "ground" => DeviceKind::GroundBlock,
        it if it.contains("ground") => DeviceKind::GroundBlock,
        "k" | "rly" | "relay" | "ry" => DeviceKind::Relay,
        "s" | "sw" | "switch" => DeviceKind::Switch,
        "f" | "fu" | "fl" | "fuse" => DeviceKind::Fuse,
        "cb" | "breaker" => DeviceKind::Breaker,
        "d" | "cr" | "diode" => DeviceKind::Diode,
        "r" | "sh" | "shunt" => DeviceKind::Resistor,
        "m" | "mot" | "motor" => DeviceKind::Motor,
        "ds" | "lt" | "lamp" | "light" => DeviceKind::Lamp,
        "ant" | "antenna" => DeviceKind::Antenna,
        "jk" | "jack" => DeviceKind::Jack,
        it if it.starts_with("jk") => DeviceKind::Jack,
        it if it.ends_with("bus") => DeviceKind::Bus,
        _ if has("sleeve") && (has("tip") || has("ring")) => DeviceKind::Jack,
        _ if is_bus => DeviceKind::Bus,
        _ => DeviceKind::Unit,
    }
}

/// How a terminal protects, if its label is that of a breaker, fuse or limiter: CB4, F2, FL1.
fn style(label: &str) -> Option<ProtectorStyle> {
    if !label.ends_with(|c: char| c.is_ascii_digit()) {
        return None;
    }
    match letters(label).as_str() {
        "cb" => Some(ProtectorStyle::Breaker),
        "f" => Some(ProtectorStyle::Fuse),
        "fl" => Some(ProtectorStyle::Limiter),
        _ => None,
    }
}

fn element(id: &str, label: &str, is: ElementKind) -> Element {
    Element {
        id: id.into(),
        label: label.into(),
        is,
        extra: Extra::new(),
    }
}

/// Puts inside what the kind and the terminals say. `says` is all that the list says of its wires.
pub(super) fn fill(device: &mut Device, nominal_v: f64, says: &str) {
    let ids: Vec<TerminalId> = device.terminals.iter().map(|it| it.id.clone()).collect();
    let called = |names: &[&str]| {
        let mut all = device.terminals.iter();
        let found = all.find(|it| names.contains(&folded(&it.label).as_str()));
        found.map(|it| it.id.clone())
    };
    device.elements = match device.kind {
        DeviceKind::GroundBlock => vec![bar(ids, BarUse::Ground)],
        DeviceKind::Bus => {
            bus(device);
            return;
        }
        DeviceKind::Breaker | DeviceKind::Fuse => match (&ids[..], letters(&device.tag).as_str()) {
            ([line, load], of) => {
                let style = match of {
                    "fl" => ProtectorStyle::Limiter,
                    _ if device.kind == DeviceKind::Fuse => ProtectorStyle::Fuse,
                    _ => ProtectorStyle::Breaker,
                };
                vec![element("p1", &device.tag, protector(line, load, style))]
            }
            _ => Vec::new(),
        },
        DeviceKind::Switch => match &ids[..] {
            [a, b] => vec![element("switch", "", switch(a, b))],
            _ => Vec::new(),
        },
        DeviceKind::Jack => match called(&["sleeve", "s", "slv"]) {
            Some(sleeve) => vec![element(
                "jack",
                "",
                jack(called(&["tip", "t"]), called(&["ring", "r"]), sleeve, says),
            )],
            None => Vec::new(),
        },
        DeviceKind::Motor | DeviceKind::Lamp => {
            let sort = match device.kind {
                DeviceKind::Motor => LoadSort::Motor,
                _ => LoadSort::Lamp,
            };
            match (
                called(&["+", "pos", "plus"]),
                called(&["-", "\u{2013}", "neg", "gnd"]),
            ) {
                (Some(plus), Some(minus)) => {
                    vec![element("load", "", load(plus, minus, sort, nominal_v))]
                }
                _ => Vec::new(),
            }
        }
        _ => Vec::new(),
    };
}

fn bar(terminals: Vec<TerminalId>, used_as: BarUse) -> Element {
    let bar = Bar {
        terminals,
        used_as,
        extra: Extra::new(),
    };
    element("bar", "", ElementKind::Bar(bar))
}

/// A bar with what is on it; without any stud, it gets one, for what feeds it.
fn bus(device: &mut Device) {
    let (on_it, mut studs): (Vec<&Terminal>, Vec<&Terminal>) = device
        .terminals
        .iter()
        .partition(|it| style(&it.label).is_some());
    let stud = Terminal::plain("stud", "STUD");
    let is_bare = studs.is_empty();
    if is_bare {
        studs.push(&stud);
    }
    let bar_ids: Vec<TerminalId> = studs.iter().map(|it| it.id.clone()).collect();
    let line = bar_ids[0].clone();
    let mut elements = vec![bar(bar_ids, BarUse::Bus)];
    elements.extend(on_it.iter().filter_map(|it| {
        let is = protector(&line, &it.id, style(&it.label)?);
        Some(element(it.id.as_str(), &it.label, is))
    }));
    device.elements = elements;
    if is_bare {
        device.terminals.insert(0, stud);
    }
}

fn protector(line: &TerminalId, load: &TerminalId, style: ProtectorStyle) -> ElementKind {
    ElementKind::Protector(Protector {
        line: line.clone(),
        load: load.clone(),
        rating_a: None,
        style,
        ohm: None,
        trip_s: None,
        origins: Origins::default(),
        extra: Extra::new(),
    })
}

fn switch(a: &TerminalId, b: &TerminalId) -> ElementKind {
    let position = |label: &str, joins: Vec<[TerminalId; 2]>| SwitchPosition {
        label: label.into(),
        joins,
        springs_back: false,
        extra: Extra::new(),
    };
    ElementKind::Switch(Switch {
        positions: vec![
            position("OFF", Vec::new()),
            position("ON", vec![[a.clone(), b.clone()]]),
        ],
        rest: 0,
        ohm: None,
        rating_a: None,
        origins: Origins::default(),
        extra: Extra::new(),
    })
}

fn jack(
    tip: Option<TerminalId>,
    ring: Option<TerminalId>,
    sleeve: TerminalId,
    says: &str,
) -> ElementKind {
    let says = folded(says);
    let is_mic = says.contains("mic");
    let is_phones = ["phn", "phone", "ear", "audio l", "audio r"]
        .iter()
        .any(|it| says.contains(it));
    let used_for = match (is_mic, is_phones) {
        (true, false) => JackUse::Mic,
        (false, true) => JackUse::Phones,
        _ => JackUse::Other,
    };
    ElementKind::Jack(Jack {
        tip,
        ring,
        sleeve,
        used_for,
        isolated: None,
        hole_mm: None,
        origins: Origins::default(),
        extra: Extra::new(),
    })
}

fn load(plus: TerminalId, minus: TerminalId, sort: LoadSort, nominal_v: f64) -> ElementKind {
    ElementKind::Load(Load {
        plus,
        minus,
        law: LoadLaw::ConstantPower,
        sort,
        continuous_a: None,
        intermittent_a: None,
        duty: None,
        peak_a: None,
        at_v: nominal_v,
        cutoff_v: None,
        pulses: None,
        either_way: false,
        extra: Extra::new(),
    })
}

/// True if two tags are those of facing halves: P4 and J4.
pub(super) fn are_facing(jack: &str, plug: &str) -> bool {
    let (jack, plug) = (folded(jack), folded(plug));
    let number = |tag: &str, letter: char| {
        let rest = tag.strip_prefix(letter)?;
        rest.starts_with(|c: char| c.is_ascii_digit())
            .then(|| rest.to_owned())
    };
    number(&jack, 'j').is_some_and(|it| number(&plug, 'p') == Some(it))
}

/// The plug put onto the jack it faces: one in-line connector with both halves. Returns which terminal of the plug is
/// which of the connector.
pub(super) fn mated(jack: &mut Device, plug: &Device) -> Map<TerminalId, TerminalId> {
    let mut moved = Map::new();
    let [j, p] =
        [&jack.tag, &plug.tag].map(|tag| Connector::called(free::slug(tag).as_str().into(), tag));
    for terminal in &mut jack.terminals {
        terminal.connector = Some(j.id.clone());
    }
    let mut mates = Vec::new();
    for terminal in &plug.terminals {
        let is_taken = |id: &str| jack.terminals.iter().any(|it| it.id.as_str() == id);
        let id: TerminalId = free::free(
            &free::slug(&format!("{} {}", plug.tag, terminal.id)),
            is_taken,
        );
        let faces = jack.terminals.iter().find(|it| {
            it.connector.as_ref() == Some(&j.id) && folded(&it.label) == folded(&terminal.label)
        });
        if let Some(faces) = faces {
            mates.push((faces.id.clone(), id.clone()));
        }
        moved.insert(terminal.id.clone(), id.clone());
        jack.terminals.push(Terminal {
            id,
            connector: Some(p.id.clone()),
            ..terminal.clone()
        });
    }
    jack.tag = format!("{}/{}", jack.tag, plug.tag);
    jack.kind = DeviceKind::InlineConnector;
    jack.connectors = vec![j, p];
    let mate = |(n, (a, b)): (usize, (TerminalId, TerminalId))| {
        let mate = Mate {
            a,
            b,
            ohm: None,
            extra: Extra::new(),
        };
        element(&format!("m{}", n + 1), "", ElementKind::Mate(mate))
    };
    jack.elements = mates.into_iter().enumerate().map(mate).collect();
    moved
}
