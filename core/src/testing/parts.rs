//! What each line of a fixture adds to the document.

use super::{
    devices::{device, inside},
    words::{Key, Words},
};
use crate::{
    document::{
        Accepted, AfterAlternator, BuildStatus, Cable, CableKind, ConductorKind, Document, Extra,
        InlineFuse, LoadUse, Origins, Place, Shield, ShieldEnd, Splice, State, TerminalForm, Wire,
        WireEnd,
    },
    units::Gauge,
};

/// Adds what a line says; tells which record it is about.
pub(super) fn add(document: &mut Document, words: &Words<'_>) -> Key {
    let name = words.name.to_string();
    match words.what {
        "system" => {
            document.project.nominal_v = words.parse(words.name);
            ("project", "project".into())
        }
        "target" => {
            document.project.target_min = Some(words.parse(words.name));
            document.project.shed_after_min = words.number("shed");
            document.project.recharge_h = words.number("recharge");
            ("project", "project".into())
        }
        "place" => {
            document.places.insert(words.name.into(), place(words));
            ("place", name)
        }
        "splice" => {
            document.splices.insert(words.name.into(), splice(words));
            ("splice", name)
        }
        "wire" => {
            let wire = wire(document, words);
            document.wires.insert(words.name.into(), wire);
            ("wire", name)
        }
        "cable" => {
            let cable = cable(document, words);
            document.cables.insert(words.name.into(), cable);
            ("cable", name)
        }
        "state" => {
            let state = state(document, words);
            document.states.insert(words.name.into(), state);
            ("state", name)
        }
        "accept" => accept(document, words),
        "inside" => inside(document, words),
        "covered" | "fits" | "stud" | "screw" | "tab" | "lead" | "case" => {
            of_terminal(document, words)
        }
        _ => {
            // An in-line connector has the name of its first half.
            let name = words.name.split('/').next().unwrap_or(words.name);
            document.devices.insert(name.into(), device(words));
            ("device", name.to_string())
        }
    }
}

fn place(words: &Words<'_>) -> Place {
    Place {
        title: words.name.into(),
        conductive: (!words.has("unsaid")).then(|| words.has("metal")),
        closed: false,
        bonded_to: words.get("bonded").map(Into::into),
        bond_ohm: words.number("bond"),
        origins: Origins::default(),
        extra: Extra::new(),
    }
}

fn splice(words: &Words<'_>) -> Splice {
    Splice {
        label: words.name.into(),
        place: words.get("at").map(Into::into),
        ohm: words.number("ohm"),
        extra: Extra::new(),
    }
}

fn wire(document: &Document, words: &Words<'_>) -> Wire {
    let mut gauge = 22;
    let mut length_m = None;
    for word in words.plain.iter().skip(2) {
        match word.strip_suffix('m') {
            Some(length) => length_m = Some(words.parse(length)),
            None => gauge = words.parse(word) as i8,
        }
    }
    let fuse = words.get("fuse").map(|text| {
        let (rating, end) = text.split_once('@').unwrap_or((text, "from"));
        InlineFuse {
            at: if end == "to" {
                WireEnd::To
            } else {
                WireEnd::From
            },
            rating_a: words.maybe(rating),
            origins: Origins::default(),
            extra: Extra::new(),
        }
    });
    Wire {
        number: words.get("number").unwrap_or(words.name).into(),
        from: words.end(document, words.at(0)),
        to: words.end(document, words.at(1)),
        gauge_awg: Some(Gauge(gauge)),
        insulation_c: words.number("rated"),
        colour: "white".into(),
        length_m,
        function: String::new(),
        status: BuildStatus::Planned,
        conductor: match words.get("material") {
            Some("k+") => ConductorKind::TypeKPositive,
            Some("k-") => ConductorKind::TypeKNegative,
            Some("j+") => ConductorKind::TypeJPositive,
            Some("coax") => ConductorKind::Coax,
            _ => ConductorKind::Copper,
        },
        fuse,
        route: Vec::new(),
        via: Vec::new(),
        note: String::new(),
        origins: Origins::default(),
        extra: Extra::new(),
    }
}

fn cable(document: &Document, words: &Words<'_>) -> Cable {
    let mut cores = words.plain.as_slice();
    let mut shield = None;
    if let Some(index) = words.plain.iter().position(|word| *word == "shield") {
        cores = &words.plain[..index];
        shield = Some(Shield {
            from: shield_end(document, words, words.at(index + 1)),
            to: shield_end(document, words, words.at(index + 2)),
            gauge_awg: None,
            extra: Extra::new(),
        });
    }
    let kind = match words.get("kind") {
        None | Some("shielded") if shield.is_some() => CableKind::Shielded,
        None | Some("jacketed") => CableKind::Jacketed,
        Some("twisted") if shield.is_some() => CableKind::TwistedShielded,
        Some("twisted") => CableKind::Twisted,
        Some("coax") => CableKind::Coaxial,
        Some("thermocouple") => CableKind::Thermocouple,
        Some(other) => words.wrong(&format!("no cable is made as {other}")),
    };
    Cable {
        label: words.name.into(),
        kind,
        wires: cores.iter().map(|&wire| wire.into()).collect(),
        shield,
        impedance_ohm: None,
        done: Vec::new(),
        note: String::new(),
        extra: Extra::new(),
    }
}

fn shield_end(document: &Document, words: &Words<'_>, text: &str) -> ShieldEnd {
    if text == "floating" {
        return ShieldEnd::Floating;
    }
    match text.strip_prefix("carried:") {
        Some(at) => ShieldEnd::Carried {
            at: words.end(document, at),
            extra: Extra::new(),
        },
        None => ShieldEnd::Tied {
            at: words.end(document, text),
            pigtail_mm: None,
            extra: Extra::new(),
        },
    }
}

/// `DEVICE` or `DEVICE/ELEMENT`; a device alone means its first element.
fn element_key(document: &Document, words: &Words<'_>, text: &str) -> String {
    if text.contains('/') {
        return text.into();
    }
    match document
        .devices
        .get(text)
        .and_then(|device| device.elements.first())
    {
        Some(element) => format!("{text}/{}", element.id),
        None => words.wrong(&format!("{text} is no device with something inside")),
    }
}

fn state(document: &Document, words: &Words<'_>) -> State {
    let list = |key| words.get(key).into_iter().flat_map(|text| text.split(','));
    let mut state = State {
        title: words.name.into(),
        order: i64::try_from(document.states.len()).unwrap_or(i64::MAX),
        alternators_on: words.has("running"),
        ..State::default()
    };
    state.after_alternator = words.get("after").map(|text| match text {
        "nothing" => AfterAlternator::NothingDone,
        "shed" => AfterAlternator::MainBusShed,
        "essential" => AfterAlternator::EssentialOnly,
        _ => words.wrong("nothing, shed or essential comes after an alternator"),
    });
    for text in list("on") {
        let (switch, position) = text.split_once(':').unwrap_or((text, "1"));
        state.switches.insert(
            element_key(document, words, switch),
            words.parse(position) as usize,
        );
    }
    state.pulled = list("pulled")
        .map(|text| element_key(document, words, text))
        .collect();
    for (key, load_use) in [
        ("off", LoadUse::Off),
        ("intermittent", LoadUse::Intermittent),
        ("peak", LoadUse::Peak),
        ("continuous", LoadUse::Continuous),
    ] {
        for text in list(key) {
            state
                .loads
                .insert(element_key(document, words, text), load_use);
        }
    }
    state
}

fn accept(document: &mut Document, words: &Words<'_>) -> Key {
    let figure = |text: &str| (text != "-").then(|| words.parse(text));
    let id = format!("A{}", document.accepted.len() + 1);
    let record = Accepted {
        rule: words.at(1).into(),
        at: words.plain[2..].iter().map(ToString::to_string).collect(),
        measured: figure(words.name),
        limit: figure(words.at(0)),
        drawn: crate::order::Map::new(),
        reason: "a test's reason".into(),
        who: "a test".into(),
        date: "2026-01-01".into(),
        extra: Extra::new(),
    };
    document.accepted.insert(id.as_str().into(), record);
    ("accepted", id)
}

fn of_terminal(document: &mut Document, words: &Words<'_>) -> Key {
    let (device, id) = words
        .name
        .split_once('.')
        .unwrap_or_else(|| words.wrong("expected DEVICE.TERMINAL"));
    let terminal = document
        .devices
        .get_mut(device)
        .and_then(|device| {
            device
                .terminals
                .iter_mut()
                .find(|terminal| terminal.id.as_str() == id)
        })
        .unwrap_or_else(|| words.wrong("no such terminal"));
    match words.what {
        "covered" => terminal.covered = true,
        "fits" => terminal.fits = Some(words.parse(words.at(0)) as u32),
        "stud" => terminal.form = TerminalForm::Stud,
        "screw" => terminal.form = TerminalForm::Screw,
        "tab" => terminal.form = TerminalForm::Tab,
        "lead" => terminal.form = TerminalForm::Lead,
        _ => terminal.form = TerminalForm::Case,
    }
    ("terminal", format!("{device}/{id}"))
}
