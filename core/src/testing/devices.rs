//! The lines of a fixture that make a device, or put something inside one.

use super::words::{Key, Words};
use crate::{
    document::{
        Alternator, Bar, BarUse, Battery, Chemistry, Closed, Coil, Connector, Contact, Device,
        DeviceKind, Diode, Document, Element, ElementKind, Extra, Figure, Jack, JackUse, Load,
        LoadLaw, LoadSort, Mate, Origin, Origins, OverVoltage, Protector, ProtectorStyle, Reserve,
        Resistor, Role, Shunt, StructureTie, Switch, SwitchPosition, Terminal, TerminalForm,
    },
    ids::TerminalId,
};

/// Puts something inside a device.
pub(super) fn inside(document: &mut Document, words: &Words<'_>) -> Key {
    let device = document
        .devices
        .get_mut(words.name)
        .unwrap_or_else(|| words.wrong("no such device"));
    let terminals: Vec<TerminalId> = words.plain[1..]
        .iter()
        .filter(|word| device.terminal(&TerminalId::new(word)).is_some())
        .map(|&word| word.into())
        .collect();
    let is = match words.at(0) {
        "bar" => bar(terminals, BarUse::Joint),
        "bus" => bar(terminals, BarUse::Bus),
        "ground" => bar(terminals, BarUse::Ground),
        "tie" => tie(words.at(1)),
        "load" => ElementKind::Load(load(words, words.at(1), words.at(2), words.plain.get(3))),
        "resistor" => ElementKind::Resistor(Resistor {
            a: words.at(1).into(),
            b: words.at(2).into(),
            ohm: words.parse(words.at(3)),
            extra: Extra::new(),
        }),
        "diode" => diode(words, words.at(1), words.at(2)),
        other => words.wrong(&format!("nothing inside is called {other}")),
    };
    let id = words.get("id").map_or_else(
        || match words.at(0) {
            kind if device
                .elements
                .iter()
                .any(|element| element.id.as_str() == kind) =>
            {
                format!("{kind}{}", device.elements.len())
            }
            kind => kind.to_string(),
        },
        ToString::to_string,
    );
    device.elements.push(element(&id, is));
    ("element", format!("{}/{id}", words.name))
}

fn element(id: &str, is: ElementKind) -> Element {
    Element {
        id: id.into(),
        label: String::new(),
        is,
        extra: Extra::new(),
    }
}

fn bar(terminals: Vec<TerminalId>, used_as: BarUse) -> ElementKind {
    ElementKind::Bar(Bar {
        terminals,
        used_as,
        extra: Extra::new(),
    })
}

fn tie(terminal: &str) -> ElementKind {
    ElementKind::StructureTie(StructureTie {
        terminal: terminal.into(),
        ohm: None,
        extra: Extra::new(),
    })
}

fn diode(words: &Words<'_>, anode: &str, cathode: &str) -> ElementKind {
    ElementKind::Diode(Diode {
        rating_a: words.number("rating"),
        anode: anode.into(),
        cathode: cathode.into(),
        vf_v: 0.7,
        ohm: 0.01,
        origins: Origins::default(),
        extra: Extra::new(),
    })
}

fn protector(words: &Words<'_>, line: &str, load: &str, rating: &str) -> ElementKind {
    let (rating, style) = match (rating.strip_suffix('f'), rating.strip_suffix('l')) {
        (Some(rating), _) => (rating, ProtectorStyle::Fuse),
        (_, Some(rating)) => (rating, ProtectorStyle::Limiter),
        _ => (
            rating,
            match words.what {
                "fuse" => ProtectorStyle::Fuse,
                "limiter" => ProtectorStyle::Limiter,
                _ => ProtectorStyle::Breaker,
            },
        ),
    };
    ElementKind::Protector(Protector {
        line: line.into(),
        load: load.into(),
        rating_a: words.maybe(rating),
        style,
        ohm: None,
        trip_s: words.number("trip"),
        origins: Origins::default(),
        extra: Extra::new(),
    })
}

fn load(words: &Words<'_>, plus: &str, minus: &str, amps: Option<&&str>) -> Load {
    let figure = |amps| Figure {
        amps,
        origin: match words.has("estimate") {
            true => Origin::Estimate,
            false => Origin::Manual,
        },
        extra: Extra::new(),
    };
    Load {
        plus: plus.into(),
        minus: minus.into(),
        law: match words.get("law") {
            Some("resistance") => LoadLaw::Resistance,
            Some("current") => LoadLaw::ConstantCurrent,
            _ => LoadLaw::ConstantPower,
        },
        sort: match words.get("sort") {
            Some("motor") => LoadSort::Motor,
            Some("lamp") => LoadSort::Lamp,
            Some("inductive") => LoadSort::Inductive,
            Some("resistive") => LoadSort::Resistive,
            _ => LoadSort::Electronic,
        },
        continuous_a: amps
            .filter(|amps| **amps != "-")
            .map(|amps| figure(words.parse(amps))),
        intermittent_a: words.number("intermittent").map(figure),
        duty: words.number("duty"),
        peak_a: words.number("peak").map(figure),
        at_v: words.number("at_v").unwrap_or(13.8),
        cutoff_v: words.number("cutoff"),
        pulses: words.get("pulses").map(|word| {
            serde_json::from_value(word.into())
                .unwrap_or_else(|_| words.wrong(&format!("no load {word}")))
        }),
        either_way: words.has("either"),
        extra: Extra::new(),
    }
}

fn reserve(words: &Words<'_>) -> Option<Reserve> {
    let curve = words.get("curve").into_iter().flat_map(|it| it.split(','));
    let curve = curve.filter_map(|pair| pair.split_once(':'));
    let reserve = Reserve {
        charge_factor: words.number("charge"),
        age_factor: words.number("age"),
        rate_factor: words.number("rate"),
        temperature_factor: words.number("temperature"),
        peukert: words.number("peukert"),
        rated_h: words.number("rated_h"),
        open_circuit_v: curve
            .map(|(left, volts)| [words.parse(left), words.parse(volts)])
            .collect(),
        empty_ohm: words.number("empty_ohm"),
        cutoff_v: words.number("cutoff"),
        extra: Extra::new(),
    };
    (reserve != Reserve::default()).then_some(reserve)
}

fn switch(words: &Words<'_>) -> Switch {
    let joins = |text: &str| -> Vec<[TerminalId; 2]> {
        text.split(',')
            .filter_map(|pair| pair.split_once('-'))
            .map(|(a, b)| [a.into(), b.into()])
            .collect()
    };
    let position = |label: &str, text: &str| SwitchPosition {
        label: label.into(),
        joins: joins(text),
        springs_back: false,
        extra: Extra::new(),
    };
    let positions = if words.what == "switch" {
        vec![position("OFF", ""), position("ON", words.at(0))]
    } else {
        words
            .plain
            .iter()
            .filter_map(|word| word.split_once(':'))
            .map(|(label, text)| position(label, text))
            .collect()
    };
    Switch {
        positions,
        rest: words.number("rest").map_or(0, |rest| rest as usize),
        ohm: None,
        rating_a: words.number("rating"),
        origins: Origins::default(),
        extra: Extra::new(),
    }
}

/// Terminals of a new device, as id and role, and its elements.
type Inside<'a> = (DeviceKind, Vec<(&'a str, Role)>, Vec<Element>);

/// A new device.
pub(super) fn device(words: &Words<'_>) -> Device {
    let (kind, terminals, elements) = match words.what {
        "unit" => return unit(words, DeviceKind::Unit),
        "sensor" => return unit(words, DeviceKind::Sensor),
        "mated" => return mated(words),
        _ => source_or_bus(words)
            .or_else(|| control(words))
            .unwrap_or_else(|| words.wrong(&format!("nothing is called {}", words.what))),
    };
    let mut device = bare(words, kind);
    device.elements = elements;
    for (id, role) in terminals {
        add_terminal(&mut device, id, role, "");
    }
    device
}

fn source_or_bus<'a>(words: &Words<'a>) -> Option<Inside<'a>> {
    let parts: Inside<'a> = match words.what {
        "battery" => (
            DeviceKind::Battery,
            vec![("+", Role::PowerOut), ("-", Role::Return)],
            vec![element(
                "battery",
                ElementKind::Battery(Battery {
                    plus: "+".into(),
                    minus: "-".into(),
                    emf_v: words.number("emf").unwrap_or(12.8),
                    ohm: words.number("ohm").unwrap_or(0.01),
                    charge_ohm: words.number("charge_ohm"),
                    capacity_ah: words.number("ah"),
                    chemistry: words
                        .has("lithium")
                        .then_some(Chemistry::LithiumIronPhosphate),
                    opens_above_a: words.number("over_a"),
                    opens_slowly_above_a: words.number("slowly_a"),
                    opens_below_v: words.number("under_v"),
                    opens_above_v: words.number("over_v"),
                    charge_limit_a: words.number("charge_a"),
                    reserve: reserve(words),
                    extra: Extra::new(),
                }),
            )],
        ),
        "over-voltage" => (
            DeviceKind::Unit,
            vec![("+", Role::PowerIn), ("-", Role::Return)],
            vec![element(
                "trip",
                ElementKind::OverVoltage(OverVoltage {
                    plus: "+".into(),
                    minus: "-".into(),
                    trip_v: words.number("trip"),
                    extra: Extra::new(),
                }),
            )],
        ),
        "alternator" => {
            let field = words.has("field");
            let mut terminals = vec![("B", Role::PowerOut), ("CASE", Role::Return)];
            terminals.extend(field.then_some(("FLD", Role::PowerIn)));
            (
                DeviceKind::Alternator,
                terminals,
                vec![element(
                    "alternator",
                    ElementKind::Alternator(Alternator {
                        plus: "B".into(),
                        minus: "CASE".into(),
                        field: field.then(|| "FLD".into()),
                        set_v: words.number("set").unwrap_or(14.2),
                        ohm: words.number("ohm").unwrap_or(0.005),
                        limit_a: words.parse(words.at(0)),
                        over_voltage_trip: words.yes_no("trips"),
                        failure_warning: words.yes_no("warns"),
                        extra: Extra::new(),
                    }),
                )],
            )
        }
        "bus" => {
            let branches: Vec<_> = words
                .keyed()
                .iter()
                .filter(|(key, _)| *key != "at")
                .collect();
            let mut terminals = vec![("STUD", Role::Passive)];
            terminals.extend(branches.iter().map(|(branch, _)| (*branch, Role::PowerOut)));
            let mut elements = vec![element("bar", bar(vec!["STUD".into()], BarUse::Bus))];
            elements.extend(branches.iter().map(|(branch, rating)| Element {
                label: (*branch).to_string(),
                ..element(branch, protector(words, "STUD", branch, rating))
            }));
            (DeviceKind::Bus, terminals, elements)
        }
        "ground" => {
            let names: Vec<&str> = words
                .plain
                .iter()
                .copied()
                .filter(|word| *word != "tied")
                .collect();
            let ids = names.iter().map(|&name| name.into()).collect();
            let mut elements = vec![element("bar", bar(ids, BarUse::Ground))];
            if words.has("tied") {
                elements.push(element("tie", tie(names[0])));
            }
            let terminals = names
                .into_iter()
                .map(|name| (name, Role::Passive))
                .collect();
            (DeviceKind::GroundBlock, terminals, elements)
        }
        "load" => (
            DeviceKind::Unit,
            vec![("+", Role::PowerIn), ("-", Role::Return)],
            vec![element(
                "load",
                ElementKind::Load(load(words, "+", "-", words.plain.first())),
            )],
        ),
        _ => return None,
    };
    Some(parts)
}

fn control<'a>(words: &Words<'a>) -> Option<Inside<'a>> {
    let passive = |names: &[&'a str]| names.iter().map(|&name| (name, Role::Passive)).collect();
    let parts: Inside<'a> = match words.what {
        "breaker" | "fuse" | "limiter" => {
            let kind = if words.what == "breaker" {
                DeviceKind::Breaker
            } else {
                DeviceKind::Fuse
            };
            let inside = protector(words, "1", "2", words.at(0));
            (
                kind,
                passive(&["1", "2"]),
                vec![element("protector", inside)],
            )
        }
        "switch" | "throw" => {
            let switch = switch(words);
            let mut names: Vec<&str> = words
                .plain
                .iter()
                .filter_map(|word| word.rsplit(':').next())
                .flat_map(|joins| joins.split([',', '-']))
                .filter(|name| !name.is_empty())
                .collect();
            names.sort_unstable();
            names.dedup();
            (
                DeviceKind::Switch,
                passive(&names),
                vec![element("switch", ElementKind::Switch(switch))],
            )
        }
        "contactor" => (
            DeviceKind::Relay,
            passive(&words.plain[..4]),
            vec![
                element(
                    "contact",
                    ElementKind::Contact(Contact {
                        coil: "coil".into(),
                        a: words.at(0).into(),
                        b: words.at(1).into(),
                        closed: Closed::Energised,
                        ohm: None,
                        rating_a: words.number("rating"),
                        origins: Origins::default(),
                        extra: Extra::new(),
                    }),
                ),
                element(
                    "coil",
                    ElementKind::Coil(Coil {
                        a: words.at(2).into(),
                        b: words.at(3).into(),
                        ohm: 16.0,
                        pull_in_v: words.number("pull_in").unwrap_or(8.0),
                        drop_out_v: words.number("drop_out").unwrap_or(4.0),
                        suppressed: words.yes_no("suppressed"),
                        continuous_duty: words.yes_no("continuous"),
                        extra: Extra::new(),
                    }),
                ),
            ],
        ),
        "diode" => (
            DeviceKind::Diode,
            passive(&["A", "K"]),
            vec![element("diode", diode(words, "A", "K"))],
        ),
        "resistor" => (
            DeviceKind::Resistor,
            passive(&["1", "2"]),
            vec![element(
                "resistor",
                ElementKind::Resistor(Resistor {
                    a: "1".into(),
                    b: "2".into(),
                    ohm: words.parse(words.at(0)),
                    extra: Extra::new(),
                }),
            )],
        ),
        "shunt" => (
            DeviceKind::Resistor,
            passive(&["1", "2"]),
            vec![element(
                "shunt",
                ElementKind::Shunt(Shunt {
                    a: "1".into(),
                    b: "2".into(),
                    ohm: words.parse(words.at(0)),
                    extra: Extra::new(),
                }),
            )],
        ),
        "jack" => {
            let mic = words.has("mic");
            let tip = if mic { Role::KeyLine } else { Role::AudioHigh };
            let terminals = vec![
                ("tip", tip),
                ("ring", Role::AudioHigh),
                ("sleeve", Role::AudioLow),
            ];
            (
                DeviceKind::Jack,
                terminals,
                vec![element(
                    "jack",
                    ElementKind::Jack(Jack {
                        tip: Some("tip".into()),
                        ring: Some("ring".into()),
                        sleeve: "sleeve".into(),
                        used_for: if mic { JackUse::Mic } else { JackUse::Phones },
                        isolated: (!words.has("unsaid")).then(|| words.has("isolated")),
                        hole_mm: None,
                        origins: Origins::default(),
                        extra: Extra::new(),
                    }),
                )],
            )
        }
        _ => return None,
    };
    Some(parts)
}

/// A unit with any terminals: `J105-1:power_in`, or `J105-11:serial_tx:TXD_1`.
fn unit(words: &Words<'_>, kind: DeviceKind) -> Device {
    let mut device = bare(words, kind);
    for word in words.plain.iter().filter(|word| **word != "critical") {
        let (word, bias_v) = word
            .split_once('~')
            .map_or((*word, None), |(word, volts)| (word, Some(volts)));
        let (word, figure) = word
            .split_once('@')
            .map_or((word, None), |(word, it)| (word, Some(it)));
        let mut parts = word.split(':');
        let id = parts.next().unwrap_or_default();
        let role = parts.next().unwrap_or("passive");
        let name = parts.next().unwrap_or_default().replace('_', " ");
        let role = serde_json::from_value(role.into())
            .unwrap_or_else(|_| words.wrong(&format!("no terminal is for {role}")));
        add_terminal(&mut device, id, role, &name);
        if let Some(terminal) = device.terminals.last_mut() {
            let figure = figure.map(|it| words.parse(it));
            terminal.bias_v = bias_v.map(|it| words.parse(it));
            match role {
                Role::AudioHigh => terminal.level_v = figure,
                _ => terminal.bit_per_s = figure,
            }
        }
    }
    device
}

fn mated(words: &Words<'_>) -> Device {
    let (a, b) = words
        .name
        .split_once('/')
        .unwrap_or_else(|| words.wrong("expected FIRST/SECOND"));
    let mut device = bare(words, DeviceKind::InlineConnector);
    for half in [a, b] {
        for pin in &words.plain {
            add_terminal(&mut device, &format!("{half}-{pin}"), Role::Passive, "");
        }
    }
    device.elements = words
        .plain
        .iter()
        .map(|pin| {
            element(
                &format!("mate{pin}"),
                ElementKind::Mate(Mate {
                    a: format!("{a}-{pin}").into(),
                    b: format!("{b}-{pin}").into(),
                    ohm: None,
                    extra: Extra::new(),
                }),
            )
        })
        .collect();
    device
}

fn bare(words: &Words<'_>, kind: DeviceKind) -> Device {
    Device {
        kind,
        place: words.get("at").map(Into::into),
        critical: words.has("critical"),
        in_reach: words.yes_no("reach"),
        independent_of: words
            .get("apart")
            .map(|ids| ids.split(',').map(Into::into).collect())
            .unwrap_or_default(),
        ..Device::plain(words.name, words.name)
    }
}

/// Adds a terminal; "J105-1" belongs to the connector J105, "-" and "COIL-" are loose.
fn add_terminal(device: &mut Device, id: &str, role: Role, name: &str) {
    let connector = id
        .split_once('-')
        .filter(|(connector, pin)| !connector.is_empty() && !pin.is_empty());
    if let Some((connector, _)) = connector
        && device.connector(&connector.into()).is_none()
    {
        let called = Connector::called(connector.into(), connector);
        device.connectors.push(called);
    }
    device.terminals.push(Terminal {
        name: name.into(),
        connector: connector.map(|(connector, _)| connector.into()),
        role,
        form: match device.kind {
            DeviceKind::Battery | DeviceKind::Alternator => TerminalForm::Stud,
            _ if id == "STUD" => TerminalForm::Stud,
            DeviceKind::GroundBlock | DeviceKind::Bus => TerminalForm::Tab,
            DeviceKind::Relay | DeviceKind::Switch | DeviceKind::Breaker | DeviceKind::Fuse => {
                TerminalForm::Screw
            }
            _ => TerminalForm::Pin,
        },
        ..Terminal::plain(id, connector.map_or(id, |(_, pin)| pin))
    });
}
