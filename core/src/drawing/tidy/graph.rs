//! The items of a sheet as a graph: what is wired to what, by which pin, and how far the texts of wires that leave the
//! sheet reach.

use super::trial::Trial;
use crate::{
    document::{DeviceKind, Document, End, SheetItem, Shown, WireEnd, folded},
    drawing::{
        geometry::{Facing, Point},
        names::{self, Continuation},
        outlines, text,
    },
    ids::{CableId, TerminalId, WireId},
    order::{InOrder, Map},
};

/// A pin of an item: its terminal, its place in the item, not mirrored, and the direction a wire leaves it.
#[derive(Clone, Debug)]
pub(super) struct Pin {
    pub terminal: TerminalId,
    pub at: Point,
    pub facing: Facing,
    /// Length of the stub and its text, if a wire leaves the sheet here: with the full text, and with the short one,
    /// mm.
    pub stub_mm: [f64; 2],
    /// The cable of the wire that ends here, if it is in one.
    pub cable: Option<CableId>,
}

/// A wire between two items: own pin, the other node, its pin.
#[derive(Clone, Copy, Debug)]
pub(super) struct Tie {
    pub own: usize,
    pub other: usize,
    pub pin: usize,
}

/// An item that is being placed.
#[derive(Clone, Debug)]
pub(super) struct Node {
    pub w_mm: f64,
    pub h_mm: f64,
    pub pins: Vec<Pin>,
    pub kind: Option<DeviceKind>,
    pub is_ground: bool,
    pub label: String,
    pub ties: Vec<Tie>,
}

impl Node {
    /// True if it gives power to everything else.
    pub fn is_source(&self) -> bool {
        matches!(
            self.kind,
            Some(DeviceKind::Battery | DeviceKind::Alternator)
        )
    }

    /// True if circuits begin at it.
    pub fn protects(&self) -> bool {
        matches!(
            self.kind,
            Some(DeviceKind::Bus | DeviceKind::Breaker | DeviceKind::Fuse)
        ) || (self.kind == Some(DeviceKind::Unit) && folded(&self.label).contains("bus"))
    }

    /// How far texts of its stubs reach to the left and to the right, mm: all of them written in full, or short.
    pub fn reach_mm(&self, mirrored: bool, is_short: bool) -> [f64; 2] {
        let side = |wanted: Facing| {
            let wanted = if mirrored { wanted.mirrored() } else { wanted };
            let pins = self.pins.iter().filter(|pin| pin.facing == wanted);
            pins.map(|pin| pin.stub_mm[usize::from(is_short)])
                .fold(0.0, f64::max)
        };
        [side(Facing::Left), side(Facing::Right)]
    }
}

/// The items of a sheet that are placed, in the order given.
pub(super) fn nodes(trial: &Trial, items: &[SheetItem]) -> Vec<Node> {
    let document = &trial.document;
    let mut pins: Map<End, (usize, usize)> = Map::new();
    let mut nodes: Vec<Node> = Vec::new();
    for (at, item) in items.iter().enumerate() {
        let node = node(document, item);
        for (n, pin) in node.pins.iter().enumerate() {
            pins.or_insert(end_of(&item.shows, &pin.terminal), (at, n));
        }
        nodes.push(node);
    }
    let cables = cables(document);
    for (id, wire) in &document.wires {
        let ends = [&wire.from, &wire.to].map(|end| pins.get(end).copied());
        if let [Some((a, own)), Some((b, pin))] = ends
            && a != b
        {
            nodes[a].ties.push(Tie { own, other: b, pin });
            nodes[b].ties.push(Tie {
                own: pin,
                other: a,
                pin: own,
            });
        }
        for (at, near, far) in [
            (ends[0], &wire.from, &wire.to),
            (ends[1], &wire.to, &wire.from),
        ] {
            let Some((node, pin)) = at else { continue };
            let pin = &mut nodes[node].pins[pin];
            pin.cable = pin.cable.clone().or_else(|| cables.get(id).cloned());
            let sheet = document.sheets.get(&trial.sheet);
            if !sheet.is_some_and(|sheet| sheet.shows(far)) {
                let stub = stub_mm(trial, &wire.number, (near, far));
                for (mm, stub) in pin.stub_mm.iter_mut().zip(stub) {
                    *mm = mm.max(stub);
                }
            }
        }
    }
    tie_shields(document, &pins, &mut nodes);
    nodes
}

/// Ties what the shield of a cable is grounded on to the first core at that end.
fn tie_shields(document: &Document, pins: &Map<End, (usize, usize)>, nodes: &mut [Node]) {
    for cable in document.cables.values() {
        let Some(core) = cable.wires.first().and_then(|id| document.wires.get(id)) else {
            continue;
        };
        for end in [WireEnd::From, WireEnd::To] {
            let ends = [Some(core.end(end)), cable.shield_at(end)];
            let ends = ends.map(|end| pins.get(end?).copied());
            if let [Some((a, own)), Some((b, pin))] = ends
                && a != b
            {
                nodes[b].ties.push(Tie {
                    own: pin,
                    other: a,
                    pin: own,
                });
            }
        }
    }
}

fn node(document: &Document, item: &SheetItem) -> Node {
    let outline = outlines::outline(document, item, None).unwrap_or_default();
    let (kind, label) = match &item.shows {
        Shown::Device { device, .. } => {
            let device = document.devices.get(device);
            (device.map(|it| it.kind), device.map_or("", |it| &it.tag))
        }
        Shown::Splice(id) => (None, id.as_str()),
        Shown::Structure(id) => (None, id.as_str()),
    };
    let pin = |(terminal, at, facing): (TerminalId, Point, Facing)| Pin {
        terminal,
        at,
        facing,
        stub_mm: [0.0; 2],
        cable: None,
    };
    Node {
        w_mm: outline.w_mm,
        h_mm: outline.h_mm,
        pins: outline.pins.into_iter().map(pin).collect(),
        kind,
        is_ground: kind == Some(DeviceKind::GroundBlock)
            || matches!(item.shows, Shown::Structure(_)),
        label: label.to_owned(),
        ties: Vec::new(),
    }
}

fn cables(document: &Document) -> Map<WireId, CableId> {
    let cables = document.cables.iter();
    let wires = cables.flat_map(|(id, cable)| {
        let wires = cable.wires.iter();
        wires.map(move |wire| (wire.clone(), id.clone()))
    });
    wires.collect()
}

/// Length of a stub with its number and the text of where it goes on, written in full and short, mm.
fn stub_mm(trial: &Trial, number: &str, ends: (&End, &End)) -> [f64; 2] {
    let number_mm = text::width(number, text::SMALL_MM, false).max(6.0) + 4.0;
    let Continuation::To(texts) = names::onward(&trial.document, &trial.sheet, ends) else {
        return [number_mm; 2];
    };
    let widths = || {
        texts
            .iter()
            .map(|it| text::width(it, text::SMALL_MM, false) + 5.0)
    };
    let long = widths().fold(0.0, f64::max);
    [long, widths().fold(long, f64::min)].map(|mm| number_mm + mm)
}

pub(super) fn end_of(shows: &Shown, terminal: &TerminalId) -> End {
    match shows {
        Shown::Device { device, .. } => End::Terminal(device.clone(), terminal.clone()),
        Shown::Splice(id) => End::Splice(id.clone()),
        Shown::Structure(id) => End::Structure(id.clone()),
    }
}

/// Gives the pins of a node the order in which they should be drawn, if it is free. Wires of one cable stay together. `wanted` is the
/// height at which each pin's wires arrive, if any are on this sheet, those from the left side of the item first.
pub(super) fn sort_pins(
    document: &Document,
    item: &mut SheetItem,
    node: &mut Node,
    wanted: &[Option<(bool, f64)>],
) {
    let Some(terminals) = free_order(item, node) else {
        return;
    };
    let of = |id: &TerminalId| node.pins.iter().position(|pin| pin.terminal == *id);
    let mean = |pins: &mut dyn Iterator<Item = usize>| {
        let found: Vec<(bool, f64)> = pins.filter_map(|pin| wanted[pin]).collect();
        let sum: f64 = found.iter().map(|it| it.1).sum();
        match found.first() {
            None => (true, f64::INFINITY),
            Some((side, _)) => (*side, sum / found.len() as f64),
        }
    };
    let key = |id: &TerminalId| {
        let Some(pin) = of(id) else {
            return (mean(&mut std::iter::empty()), f64::INFINITY);
        };
        let own = mean(&mut std::iter::once(pin));
        let group = match &node.pins[pin].cable {
            None => own,
            cable => {
                let same = node.pins.iter().enumerate();
                let same = same.filter(|(_, it)| it.cable == *cable);
                mean(&mut same.map(|(n, _)| n))
            }
        };
        (group, own.1)
    };
    let mut keyed: Vec<_> = terminals.iter().map(|id| (key(id), id.clone())).collect();
    keyed.order_by(|a, b| {
        let ((one, at), (other, there)) = (a.0, b.0);
        let side = one.0.cmp(&other.0);
        side.then(one.1.total_cmp(&other.1))
            .then(at.total_cmp(&there))
    });
    let sorted: Vec<TerminalId> = keyed.into_iter().map(|(_, id)| id).collect();
    if sorted != *terminals {
        *terminals = sorted;
        place_pins(document, item, node);
    }
}

/// The terminals that an item shows, if their order is free: some of the terminals of a bus, a ground block or a unit.
fn free_order<'i>(item: &'i mut SheetItem, node: &Node) -> Option<&'i mut Vec<TerminalId>> {
    let may = matches!(
        node.kind,
        Some(DeviceKind::Bus | DeviceKind::GroundBlock | DeviceKind::Unit)
    );
    match &mut item.shows {
        Shown::Device { terminals, .. } if may && terminals.len() > 1 => Some(terminals),
        _ => None,
    }
}

/// Exchanges a pin of a node with the next one; false if their order is not free.
pub(super) fn swap_pins(
    document: &Document,
    item: &mut SheetItem,
    node: &mut Node,
    pin: usize,
) -> bool {
    let Some(terminals) = free_order(item, node).filter(|it| pin + 1 < it.len()) else {
        return false;
    };
    terminals.swap(pin, pin + 1);
    place_pins(document, item, node);
    true
}

/// Takes over where the pins of a node are after its item changed.
fn place_pins(document: &Document, item: &SheetItem, node: &mut Node) {
    let outline = outlines::outline(document, item, None).unwrap_or_default();
    let spots: Map<&TerminalId, (Point, Facing)> = (outline.pins.iter())
        .map(|(id, at, facing)| (id, (*at, *facing)))
        .collect();
    for pin in &mut node.pins {
        if let Some((at, facing)) = spots.get(&pin.terminal) {
            (pin.at, pin.facing) = (*at, *facing);
        }
    }
    (node.w_mm, node.h_mm) = (outline.w_mm, outline.h_mm);
}

/// The nodes from which circuits are followed, the best first: sources, then what protects, then by number of wires;
/// a connector between two halves never before what it joins.
pub(super) fn roots(nodes: &[Node]) -> Vec<usize> {
    let joins = |at: usize| nodes[at].kind == Some(DeviceKind::InlineConnector);
    let class = |at: usize| {
        let node = &nodes[at];
        match () {
            () if node.is_ground => 4,
            () if joins(at) => 3,
            () if node.is_source() => 0,
            () if node.protects() => 1,
            () => 2,
        }
    };
    let mut all: Vec<usize> = (0..nodes.len()).collect();
    all.order_by(|&a, &b| {
        let more = class(a).cmp(&class(b));
        let more = more.then(nodes[b].ties.len().cmp(&nodes[a].ties.len()));
        more.then_with(|| crate::document::natural_cmp(&nodes[a].label, &nodes[b].label))
    });
    all
}
