//! Every single fault of an aircraft, made on its document or by what touches.

use std::collections::BTreeMap;

use loomwright_core::{
    document::{
        Device, Document, Element, ElementKind, End, Role, ShieldEnd, Terminal, WireEnd,
        natural_cmp,
    },
    ids::CableId,
    netlist::Netlist,
};

use super::bench::metal_at;

/// A fault: in words, the document as it is built, the points that touch.
pub struct Fault {
    pub label: String,
    pub built: Document,
    pub touches: Vec<(Spot, Spot)>,
    /// The terminals where the touching parts end: lifted from there they touch no more.
    pub lugs: Vec<End>,
    /// The end of a shield whose pigtail is broken.
    pub pigtail: Option<(CableId, WireEnd)>,
}

/// A point that touches another.
#[derive(Clone)]
pub enum Spot {
    At(End),
    Braid(CableId, WireEnd),
    /// The metal that something with these ends can touch.
    Metal(Vec<End>),
}

impl Spot {
    pub fn node(&self, document: &Document, netlist: &Netlist) -> Option<usize> {
        match self {
            Self::At(end) => Some(netlist.end_node(end)?.index()),
            Self::Braid(cable, which) => {
                let ends = netlist.shield(cable)?;
                Some(ends[usize::from(*which == WireEnd::To)].index())
            }
            Self::Metal(ends) => metal_at(document, netlist, &ends.iter().collect::<Vec<_>>()),
        }
    }
}

/// All of them; `is_one` says if two points of the sound aircraft are one conductor.
pub fn all(sound: &Document, is_one: &dyn Fn(&Spot, &Spot) -> bool) -> Vec<Fault> {
    let mut all = Vec::new();
    let mut built = |label: String, pigtail, change: &dyn Fn(&mut Document)| {
        let mut built = sound.clone();
        change(&mut built);
        all.push(Fault {
            label,
            built,
            touches: Vec::new(),
            lugs: Vec::new(),
            pigtail,
        });
    };
    for (id, _) in &sound.wires {
        built(
            format!("{} open", sound.wire_label(id)),
            None,
            &|document| {
                document.wires.get_mut(id).expect("drawn").to = End::Open;
            },
        );
    }
    for (id, device) in &sound.devices {
        for (_, [a, b]) in neighbors(sound, id.as_str(), device)
            .into_iter()
            .filter(|it| it.0)
        {
            if is_one(&Spot::At(a.clone()), &Spot::At(b.clone())) {
                continue;
            }
            let label = format!(
                "{} and {} swapped",
                sound.end_label(&a),
                sound.end_label(&b)
            );
            built(label, None, &|document| swap(document, &a, &b));
        }
    }
    for (id, cable) in &sound.cables {
        let Some(shield) = &cable.shield else {
            continue;
        };
        for (which, end) in [(WireEnd::From, &shield.from), (WireEnd::To, &shield.to)] {
            let Some(at) = end.at() else { continue };
            let label = format!("{} shield open at {}", cable.label, sound.end_label(at));
            built(label, Some((id.clone(), which)), &|document| {
                let cable = document.cables.get_mut(id).expect("drawn");
                let shield = cable.shield.as_mut().expect("drawn");
                match which {
                    WireEnd::From => shield.from = ShieldEnd::Floating,
                    WireEnd::To => shield.to = ShieldEnd::Floating,
                }
            });
        }
    }
    all.extend(touching(sound, is_one));
    all
}

fn touching(sound: &Document, is_one: &dyn Fn(&Spot, &Spot) -> bool) -> Vec<Fault> {
    let mut all = Vec::new();
    let mut touch = |label: String, a: Spot, b: Spot, lugs: Vec<End>| {
        all.push(Fault {
            label,
            built: sound.clone(),
            touches: vec![(a, b)],
            lugs,
            pigtail: None,
        });
    };
    for (id, wire) in &sound.wires {
        let (at, metal) = (
            Spot::At(wire.from.clone()),
            Spot::Metal(vec![wire.from.clone(), wire.to.clone()]),
        );
        if !is_one(&at, &metal) {
            touch(
                format!("{} touching metal", sound.wire_label(id)),
                at,
                metal,
                Vec::new(),
            );
        }
    }
    for (id, device) in &sound.devices {
        for (is_connector, [a, b]) in neighbors(sound, id.as_str(), device) {
            if !is_connector && is_one_part(device, &a, &b) {
                continue;
            }
            let label = format!("{} touching {}", sound.end_label(&a), sound.end_label(&b));
            let lugs = vec![a.clone(), b.clone()];
            let (a, b) = (Spot::At(a), Spot::At(b));
            if !is_one(&a, &b) {
                touch(label, a, b, lugs);
            }
        }
    }
    for (id, cable) in &sound.cables {
        let Some(shield) = &cable.shield else {
            continue;
        };
        let first = &sound.wires[&cable.wires[0]];
        let near = vec![first.from.clone(), first.to.clone()];
        let far = vec![first.to.clone(), first.from.clone()];
        let ends = [
            (WireEnd::From, &shield.from, &shield.to, near),
            (WireEnd::To, &shield.to, &shield.from, far),
        ];
        for (which, here, other, ends) in ends {
            if here.at().is_none() && other.at().is_some() {
                let label = format!("{} shield grounded at both ends", cable.label);
                touch(
                    label,
                    Spot::Braid(id.clone(), which),
                    Spot::Metal(ends),
                    Vec::new(),
                );
            }
        }
        for wire in &cable.wires {
            let core = Spot::At(sound.wires[wire].from.clone());
            let braid = Spot::Braid(id.clone(), WireEnd::From);
            if !is_one(&core, &braid) {
                let label = format!("{} shield touching {}", cable.label, sound.wire_label(wire));
                touch(label, braid, core, Vec::new());
            }
        }
    }
    for (id, device) in &sound.devices {
        for element in &device.elements {
            let (ElementKind::Jack(jack), Some(place)) = (&element.is, &device.place) else {
                continue;
            };
            let body = Spot::At(End::Terminal(id.clone(), jack.sleeve.clone()));
            let metal = Spot::At(End::Structure(place.clone()));
            if jack.isolated != Some(false)
                && sound.places[place].is_metal()
                && !is_one(&body, &metal)
            {
                touch(
                    format!("{} body touching metal", device.tag),
                    body,
                    metal,
                    Vec::new(),
                );
            }
        }
    }
    all
}

/// True if a load, coil, diode, resistor or source has these two terminals, or an antenna, probe or magneto, which may
/// be closed inside.
fn is_one_part(device: &Device, a: &End, b: &End) -> bool {
    let role = |end: &End| match end {
        End::Terminal(_, it) => device.terminal(it).map(|it| it.role),
        _ => None,
    };
    let is_switch = |it: &Element| matches!(it.is, ElementKind::Switch(_));
    let low = [Role::PLead, Role::Rf, Role::ThermocouplePlus];
    let is_low = [a, b]
        .into_iter()
        .any(|it| role(it).is_some_and(|it| low.contains(&it)));
    if is_low && device.connectors.is_empty() && !device.elements.iter().any(is_switch) {
        return true;
    }
    let is_at = |terminal, end: &End| matches!(end, End::Terminal(_, it) if it == terminal);
    device.elements.iter().any(|element| {
        let ends = match &element.is {
            ElementKind::Load(it) => [&it.plus, &it.minus],
            ElementKind::Coil(it) => [&it.a, &it.b],
            ElementKind::Diode(it) => [&it.anode, &it.cathode],
            ElementKind::Resistor(it) => [&it.a, &it.b],
            ElementKind::Battery(it) => [&it.plus, &it.minus],
            ElementKind::Alternator(it) => [&it.plus, &it.minus],
            _ => return false,
        };
        let [x, y] = ends;
        (is_at(x, a) && is_at(y, b)) || (is_at(x, b) && is_at(y, a))
    })
}

fn swap(document: &mut Document, a: &End, b: &End) {
    let turn = |end: &mut End| {
        if *end == *a {
            *end = b.clone();
        } else if *end == *b {
            *end = a.clone();
        }
    };
    for wire in document.wires.values_mut() {
        turn(&mut wire.from);
        turn(&mut wire.to);
    }
    for cable in document.cables.values_mut() {
        let Some(shield) = &mut cable.shield else {
            continue;
        };
        for end in [&mut shield.from, &mut shield.to] {
            if let Some(at) = end.at_mut() {
                turn(at);
            }
        }
    }
}

/// Wired terminals next to each other: true if they are pins of a connector.
fn neighbors(document: &Document, id: &str, device: &Device) -> Vec<(bool, [End; 2])> {
    let mut rows: BTreeMap<Option<String>, Vec<&Terminal>> = BTreeMap::new();
    for terminal in &device.terminals {
        let connector = terminal.connector.as_ref().map(ToString::to_string);
        rows.entry(connector).or_default().push(terminal);
    }
    let mut all = Vec::new();
    for (connector, mut row) in rows {
        if connector.is_some() {
            row.sort_by(|a, b| natural_cmp(&a.label, &b.label));
        }
        let ends: Vec<End> = row
            .iter()
            .map(|it| End::Terminal(id.into(), it.id.clone()))
            .collect();
        for pair in ends.windows(2) {
            if pair.iter().all(|end| is_wired(document, end)) {
                all.push((connector.is_some(), [pair[0].clone(), pair[1].clone()]));
            }
        }
    }
    all
}

fn is_wired(document: &Document, end: &End) -> bool {
    let mut wires = document.wires.values();
    let mut shields = document.cables.values().filter_map(|it| it.shield.as_ref());
    wires.any(|it| it.from == *end || it.to == *end)
        || shields.any(|it| [&it.from, &it.to].iter().any(|it| it.at() == Some(end)))
}
