//! Random edits of any document, the same for the same seed.

use crate::{
    document::{
        Accepted, Cable, CableKind, Device, Document, Element, ElementKind, End, Extra, LoadUse,
        LogEntry, LogKind, Origins, Place, Reading, Resistor, Route, Shield, ShieldEnd, Shown,
        State, Terminal, Test, WireEnd,
    },
    edit::{self, Change, EditError, Key, Record, SheetPoint},
    ids::{DeviceId, ItemId, SheetId, StateId, TerminalId, WireId},
    units::Gauge,
};

/// A small source of numbers that look random (splitmix64; Steele, Lea and Flood 2014).
#[derive(Clone, Debug)]
pub struct Dice(u64);

impl Dice {
    /// The source with this seed.
    pub fn new(seed: u64) -> Self {
        Self(seed)
    }

    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// A number from 0 to `n` - 1; 0 if `n` is 0.
    pub fn below(&mut self, n: usize) -> usize {
        usize::try_from(self.next() % (n.max(1) as u64)).unwrap_or(0)
    }

    /// A number from `low` to `high`.
    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * (self.below(10_001) as f64 / 10_000.0)
    }

    /// One of the list, if it holds any.
    pub fn pick<T>(&mut self, all: impl IntoIterator<Item = T>) -> Option<T> {
        let mut all: Vec<T> = all.into_iter().collect();
        if all.is_empty() {
            None
        } else {
            Some(all.swap_remove(self.below(all.len())))
        }
    }

    /// Any end that the document has.
    pub fn end(&mut self, document: &Document) -> End {
        let end = match self.below(10) {
            0 => None,
            1 => self
                .pick(document.places.keys())
                .cloned()
                .map(End::Structure),
            2 => self.pick(document.splices.keys()).cloned().map(End::Splice),
            _ => self.pick(document.devices.iter()).and_then(|(id, device)| {
                let terminal = self.pick(&device.terminals)?;
                Some(End::Terminal(id.clone(), terminal.id.clone()))
            }),
        };
        end.unwrap_or(End::Open)
    }
}

type Made = Result<Change, EditError>;

/// The names of all random edits.
pub const EDITS: usize = 31;

/// One random edit: what the edit functions say to it, `None` if the document holds nothing that it
/// could act on. `which` is the edit, below [`EDITS`].
pub fn edit(document: &Document, which: usize, dice: &mut Dice) -> Option<Made> {
    let wire = dice.pick(document.wires.keys()).cloned();
    let device = dice.pick(document.devices.keys()).cloned();
    let state = dice.pick(document.states.keys()).cloned();
    let sheet = dice.pick(document.sheets.keys()).cloned();
    Some(match which {
        0 => edit::connect(document, dice.end(document), dice.end(document)),
        1 => {
            let which = dice.pick([WireEnd::From, WireEnd::To])?;
            edit::set_end(document, &wire?, which, &dice.end(document))
        }
        2 => {
            let spot = spot(dice, sheet).filter(|spot| spot.x_mm > 100.0);
            edit::splice_into(document, &wire?, dice.between(-0.2, 1.2), spot.as_ref())
        }
        3 => make_cable(document, dice),
        4 => edit::remove_cable(document, dice.pick(document.cables.keys())?),
        5 | 6 => {
            let keys = document.keys();
            let keys = (0..=dice.below(2)).filter_map(|_| dice.pick(&keys).cloned());
            edit::delete(document, &keys.collect::<Vec<_>>())
        }
        7 => {
            let like = document.devices[&device?].clone();
            edit::add_device(document, like, spot(dice, sheet).as_ref())
        }
        8..=10 => on_sheet(document, which, &sheet?, dice),
        11 => edit::place_on_sheet(document, &spot(dice, sheet)?, shown(document, dice)?),
        12..=15 => operate(document, which, &state?, dice)?,
        16 => update_wire(document, &wire?, dice),
        17 => {
            let key = dice.pick(document.keys())?;
            edit::rename(document, &key, &format!("N{}", dice.below(50)))
        }
        18 => edit::add_sheet(document, "More", crate::document::SheetSize::A4),
        19..=23 => edit::add_record(document, record(document, which, dice)?),
        24 => edit::accept(document, acceptance(dice)),
        25 => edit::reopen(document, dice.pick(document.accepted.keys())?),
        26..=30 => inside(document, which, &device?, dice)?,
        _ => return None,
    })
}

fn spot(dice: &mut Dice, sheet: Option<SheetId>) -> Option<SheetPoint> {
    Some(SheetPoint {
        sheet: sheet?,
        x_mm: dice.between(-50.0, 500.0),
        y_mm: dice.between(-50.0, 500.0),
    })
}

fn make_cable(document: &Document, dice: &mut Dice) -> Made {
    let n = dice.below(4);
    let wires = (0..n).filter_map(|_| dice.pick(document.wires.keys()).cloned());
    let mut wires: Vec<WireId> = wires.collect();
    wires.dedup();
    let tied = ShieldEnd::Tied {
        at: dice.end(document),
        pigtail_mm: Some(40.0),
        extra: Extra::new(),
    };
    let shield = Shield {
        from: tied,
        to: ShieldEnd::Floating,
        gauge_awg: None,
        extra: Extra::new(),
    };
    edit::make_cable(
        document,
        Cable {
            label: String::new(),
            kind: CableKind::Shielded,
            wires,
            shield: Some(shield),
            impedance_ohm: None,
            done: Vec::new(),
            note: String::new(),
            extra: Extra::new(),
        },
    )
}

fn on_sheet(document: &Document, which: usize, id: &SheetId, dice: &mut Dice) -> Made {
    let items = &document.sheets[id].items;
    let mut items: Vec<ItemId> = (0..=dice.below(3))
        .filter_map(|_| dice.pick(items.keys()).cloned())
        .collect();
    items.sort();
    items.dedup();
    match which {
        8 => {
            let by_mm = (dice.between(-200.0, 200.0), dice.between(-200.0, 200.0));
            edit::move_items(document, id, &items, by_mm)
        }
        9 => edit::mirror_items(document, id, &items),
        _ => edit::remove_from_sheet(document, id, &items),
    }
}

fn shown(document: &Document, dice: &mut Dice) -> Option<Shown> {
    match dice.below(3) {
        0 => dice
            .pick(document.places.keys())
            .cloned()
            .map(Shown::Structure),
        1 => dice
            .pick(document.splices.keys())
            .cloned()
            .map(Shown::Splice),
        _ => {
            let (id, device) = dice.pick(document.devices.iter())?;
            let some = dice.pick(&device.terminals).map(|t| t.id.clone());
            Some(Shown::Device {
                device: id.clone(),
                terminals: dice.pick([Vec::new(), some.into_iter().collect()])?,
                extra: Extra::new(),
            })
        }
    }
}

fn operate(document: &Document, which: usize, state: &StateId, dice: &mut Dice) -> Option<Made> {
    let all = document.devices.iter().flat_map(|(id, device)| {
        let key = move |element: &Element| format!("{id}/{}", element.id);
        device.elements.iter().map(move |e| (key(e), &e.is))
    });
    let of = |wanted: &str| -> Vec<String> {
        let wanted = all.clone().filter(|(_, is)| is.name() == wanted);
        wanted.map(|(key, _)| key).collect()
    };
    Some(match which {
        12 => edit::set_switch(document, state, &dice.pick(of("switch"))?, dice.below(4)),
        13 => edit::pull_breaker(document, state, &dice.pick(of("protector"))?),
        14 => edit::push_breaker(document, state, &dice.pick(of("protector"))?),
        _ => {
            let load = dice.pick([None, Some(LoadUse::Off), Some(LoadUse::Peak)])?;
            edit::set_load_use(document, state, &dice.pick(of("load"))?, load)
        }
    })
}

fn update_wire(document: &Document, id: &WireId, dice: &mut Dice) -> Made {
    let mut wire = document.wires[id].clone();
    wire.gauge_awg = i8::try_from(dice.below(50)).ok().map(|it| Gauge(it - 5));
    wire.length_m = Some(dice.between(-0.1, 5.0));
    wire.route = dice
        .pick(document.routes.keys())
        .cloned()
        .into_iter()
        .collect();
    edit::update_record(document, &Key::Wire(id.clone()), Record::Wire(wire))
}

fn record(document: &Document, which: usize, dice: &mut Dice) -> Option<Record> {
    let place = dice.pick(document.places.keys()).cloned();
    Some(match which {
        19 => Record::Place(Place {
            title: "Rib".into(),
            conductive: Some(true),
            closed: false,
            bonded_to: place,
            bond_ohm: Some(dice.between(-0.001, 0.01)),
            origins: Origins::default(),
            extra: Extra::new(),
        }),
        20 => Record::Route(Route {
            title: "Duct".into(),
            from: place.clone()?,
            to: place?,
            length_m: [None, Some(dice.between(0.0, 3.0))][dice.below(4).min(1)],
            origins: Origins::default(),
            extra: Extra::new(),
        }),
        21 => Record::State(State {
            title: "Taxi".into(),
            ..State::default()
        }),
        22 => Record::Log(LogEntry {
            date: "2026-03-01".into(),
            who: "ME".into(),
            kind: LogKind::Note,
            text: "Looked".into(),
            hours: None,
            results: Vec::new(),
            extra: Extra::new(),
        }),
        23 if dice.below(2) == 0 => {
            let wire = dice.pick(document.wires.values())?;
            Record::Reading(Reading {
                test: Test::Continuity,
                from: wire.from.clone(),
                to: wire.to.clone(),
                position: None,
                before_wiring: dice.below(4) == 0,
                value: Some(dice.between(0.0, 1.0)),
                over_range: false,
                who: "ME".into(),
                date: "2026-03-01".into(),
                extra: Extra::new(),
            })
        }
        _ => Record::Device(dice.pick(document.devices.values())?.clone()),
    })
}

fn acceptance(dice: &mut Dice) -> Accepted {
    Accepted {
        rule: "unconnected-end".into(),
        at: Vec::new(),
        measured: None,
        limit: None,
        drawn: crate::order::Map::new(),
        reason: ["", "Spare."][dice.below(2)].into(),
        who: "ME".into(),
        date: "2026-03-01".into(),
        extra: Extra::new(),
    }
}

fn inside(document: &Document, which: usize, id: &DeviceId, dice: &mut Dice) -> Option<Made> {
    let device = &document.devices[id];
    let any_terminal = |dice: &mut Dice| -> Option<TerminalId> {
        dice.pick(&device.terminals).map(|t| t.id.clone())
    };
    Some(match which {
        26 => {
            let terminal = Terminal::plain("t1", "T");
            edit::add_terminal(document, id, terminal)
        }
        27 => edit::remove_terminal(document, id, &any_terminal(dice)?),
        28 => {
            let resistor = Resistor {
                a: any_terminal(dice)?,
                b: any_terminal(dice)?,
                ohm: dice.between(0.0, 100.0),
                extra: Extra::new(),
            };
            let element = Element {
                id: "r".into(),
                label: String::new(),
                is: ElementKind::Resistor(resistor),
                extra: Extra::new(),
            };
            edit::add_element(document, id, element)
        }
        29 => edit::remove_element(document, id, &dice.pick(&device.elements)?.id),
        // A device with new terminals: connections to the others were removed.
        _ => {
            let mut device: Device = device.clone();
            device.terminals.truncate(2);
            device.elements.clear();
            edit::update_record(document, &Key::Device(id.clone()), Record::Device(device))
        }
    })
}
