//! The equivalent pin for the next seat: where the far end of a duplicated wire goes. Pins are compared word by
//! word by their names, never by their order in a connector.

use crate::order::InOrder;
use std::fmt;

use super::connect::has_room;
use crate::{
    document::{
        BarUse, Device, DeviceKind, Document, ElementKind, End, Protector, Role, Terminal, folded,
    },
    ids::{DeviceId, TerminalId},
    order::{Map, Sorted},
};

/// Why the far end of a duplicated wire or shield is left open.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum WhyOpen {
    /// No pin has a name that differs in the seat or number only.
    NoCounterpart,
    /// There are such pins, but a wire is on one of them already.
    Taken,
    /// It is a splice of the first circuit.
    Splice,
}

impl fmt::Display for WhyOpen {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::NoCounterpart => "no pin there has the same use for another one",
            Self::Taken => "the pins with the same use are taken",
            Self::Splice => "that splice belongs to the first circuit",
        })
    }
}

/// Far ends of duplicated wires, by the ends of their originals at devices that are not duplicated.
pub(super) struct Counterparts {
    goes: Map<End, Result<End, WhyOpen>>,
}

impl Counterparts {
    /// Finds the pins of the next seat. All pins of one seat at a device move together, or none does: half a seat
    /// is wrong.
    pub(super) fn of(document: &Document, far_ends: &[&End]) -> Self {
        let mut by_device: Map<DeviceId, Sorted<TerminalId>> = Map::new();
        for end in far_ends {
            if let End::Terminal(device, terminal) = end {
                by_device
                    .or_default(device.clone())
                    .insert(terminal.clone());
            }
        }
        let used = used(document);
        let mut goes = Map::new();
        for (id, sources) in &by_device {
            if let Some(device) = document.devices.get(id) {
                let seats = Seats {
                    device,
                    is_free: &|terminal: &Terminal| {
                        !used.contains(&End::Terminal(id.clone(), terminal.id.clone()))
                    },
                };
                for (source, to) in seats.all(sources) {
                    let end = |terminal| End::Terminal(id.clone(), terminal);
                    goes.insert(end(source), to.map(end));
                }
            }
        }
        Self { goes }
    }

    /// The end of a duplicated wire. A point that many circuits share, a ground block or a bar, gives another of
    /// its tabs.
    pub(super) fn of_wire(&self, copy: &Document, end: &End) -> Result<End, WhyOpen> {
        match end {
            End::Terminal(..) => self.of_terminal(copy, end),
            End::Splice(_) => Err(WhyOpen::Splice),
            End::Structure(_) | End::Open => Ok(end.clone()),
        }
    }

    /// Where a duplicated shield is grounded: next to the first one, unless its pin belongs to one seat.
    pub(super) fn of_shield(&self, copy: &Document, end: &End) -> Result<End, WhyOpen> {
        match self.of_wire(copy, end) {
            Err(WhyOpen::NoCounterpart) if role(copy, end) == Some(Role::ShieldTie) => {
                Ok(end.clone())
            }
            other => other,
        }
    }

    fn of_terminal(&self, copy: &Document, end: &End) -> Result<End, WhyOpen> {
        match self.goes.get(end) {
            Some(Ok(to)) if has_room(copy, to) => Ok(to.clone()),
            Some(Ok(_)) => Err(WhyOpen::Taken),
            Some(Err(WhyOpen::NoCounterpart)) | None => another_tab(copy, end),
            Some(Err(why)) => Err(*why),
        }
    }
}

/// Ends that have a wire or a shield.
fn used(document: &Document) -> Sorted<End> {
    let wires = document.wires.values().flat_map(|it| [&it.from, &it.to]);
    let shields = document.cables.values().filter_map(|it| it.shield.as_ref());
    let shields = shields.flat_map(|it| [it.from.at(), it.to.at()]).flatten();
    wires.chain(shields).cloned().collect()
}

fn role(document: &Document, end: &End) -> Option<Role> {
    let End::Terminal(device, terminal) = end else {
        return None;
    };
    Some(document.devices.get(device)?.terminal(terminal)?.role)
}

/// The pins of one device, by the seat or number at the start or end of their names or inside.
struct Seats<'d> {
    device: &'d Device,
    is_free: &'d dyn Fn(&Terminal) -> bool,
}

impl<'d> Seats<'d> {
    fn all(&self, sources: &Sorted<TerminalId>) -> Vec<(TerminalId, Result<TerminalId, WhyOpen>)> {
        let terminals = sources.iter().filter_map(|id| self.device.terminal(id));
        let mut open: Vec<(&Terminal, Vec<Reading>)> = terminals
            .map(|it| (it, readings(self.device, it)))
            .collect();
        // The seat that most of the pins have is the seat; "1" in "COM 1 PILOT MIC" is not.
        let mut seats: Vec<Vec<String>> = Vec::new();
        for (_, readings) in &open {
            seats.extend(readings.iter().map(|it| it.seat.clone()));
        }
        let count = |seat: &Vec<String>| seats.iter().filter(|it| *it == seat).count();
        let mut in_order: Vec<Vec<String>> = Sorted::from_iter(seats.clone()).into_iter().collect();
        in_order.order_by_key(|seat| usize::MAX - count(seat));
        let mut all = Vec::new();
        let mut given: Sorted<TerminalId> = Sorted::new();
        for seat in in_order {
            let has = |readings: &[Reading]| readings.iter().any(|it| it.seat == seat);
            let (mine, rest): (Vec<_>, Vec<_>) =
                open.into_iter().partition(|(_, readings)| has(readings));
            open = rest;
            if mine.is_empty() {
                continue;
            }
            let moved = self.next_seat(&seat, &mine, &given);
            if let Ok(moved) = &moved {
                given.extend(moved.iter().cloned());
            }
            for (at, (source, _)) in mine.iter().enumerate() {
                let to = moved.as_ref().map(|moved| moved[at].clone());
                all.push((source.id.clone(), to.map_err(|why| *why)));
            }
        }
        all
    }

    /// The pins of the first other seat that has one free pin for each of these.
    fn next_seat(
        &self,
        seat: &[String],
        mine: &[(&Terminal, Vec<Reading>)],
        given: &Sorted<TerminalId>,
    ) -> Result<Vec<TerminalId>, WhyOpen> {
        let position = |id: &TerminalId| self.device.terminals.iter().position(|it| it.id == *id);
        let begins = position(&mine[0].0.id);
        let mut others: Vec<(Vec<String>, Vec<&Terminal>)> = Vec::new();
        let found: Vec<Vec<(Vec<String>, &Terminal)>> = mine
            .iter()
            .map(|(source, readings)| self.alike(source, readings, seat))
            .collect();
        for (other, _) in found.first().into_iter().flatten() {
            let pins = found.iter().zip(mine);
            let pins = pins.map(|(pins, (source, _))| only(pins, other, source));
            let pins: Option<Vec<&Terminal>> = pins.collect();
            if let Some(pins) = pins {
                others.push((other.clone(), pins));
            }
        }
        if others.is_empty() {
            return Err(WhyOpen::NoCounterpart);
        }
        others.order_by_key(|(other, pins)| {
            let next = number_after(seat, other);
            let at = position(&pins[0].id);
            (next.is_none(), next, at < begins, at)
        });
        let is_free = |it: &&Terminal| (self.is_free)(it) && !given.contains(&it.id);
        let free = others.iter().find(|(_, pins)| pins.iter().all(&is_free));
        let (_, pins) = free.ok_or(WhyOpen::Taken)?;
        Ok(pins.iter().map(|it| it.id.clone()).collect())
    }

    /// Pins of the same use and role whose names differ only in the seat, with their seat.
    fn alike(
        &self,
        source: &Terminal,
        of_source: &[Reading],
        seat: &[String],
    ) -> Vec<(Vec<String>, &'d Terminal)> {
        let mine: Vec<&Reading> = of_source.iter().filter(|it| it.seat == seat).collect();
        let halves = self.device.kind == DeviceKind::InlineConnector;
        let mut all = Vec::new();
        for terminal in &self.device.terminals {
            let is_other_half = halves && terminal.connector != source.connector;
            if terminal.role != source.role || is_other_half {
                continue;
            }
            for reading in readings(self.device, terminal) {
                let is_alike = mine.iter().any(|it| it.is_alike(&reading));
                if is_alike && reading.seat != seat {
                    all.push((reading.seat, terminal));
                }
            }
        }
        all
    }
}

/// The only matching pin of a seat, in the connector of the first one or else in any; two matches would be a guess.
fn only<'t>(
    pins: &[(Vec<String>, &'t Terminal)],
    seat: &[String],
    source: &Terminal,
) -> Option<&'t Terminal> {
    let pins = pins.iter().filter(|(it, _)| it == seat).map(|(_, it)| *it);
    let beside = pins.clone().filter(|it| it.connector == source.connector);
    let one = |mut pins: Vec<&'t Terminal>| pins.pop().filter(|_| pins.is_empty());
    match beside.clone().next() {
        Some(_) => one(beside.collect()),
        None => one(pins.collect()),
    }
}

/// The difference between two numbers, if the names differ only in the number.
fn number_after(seat: &[String], other: &[String]) -> Option<u32> {
    let (last, words) = seat.split_last()?;
    let (other_last, other_words) = other.split_last()?;
    let [from, to] = [last, other_last].map(|it| it.parse::<u32>().ok());
    (words == other_words).then_some(())?;
    to?.checked_sub(from?)
}

/// One reading of a name: a seat or number, and the remaining words.
struct Reading {
    seat: Vec<String>,
    before: Vec<String>,
    after: Vec<String>,
}

impl Reading {
    fn is_number(&self) -> bool {
        is_number(&self.seat[0])
    }

    fn is_alike(&self, other: &Self) -> bool {
        (&self.before, &self.after, self.is_number())
            == (&other.before, &other.after, other.is_number())
    }
}

/// Every reading of a pin's name.
fn readings(device: &Device, terminal: &Terminal) -> Vec<Reading> {
    // A marking such as CB1 or T2 names the hole, not its use. One of several words may name the seat.
    let name = match terminal.name.trim() {
        "" if terminal.label.trim().contains(' ') => &terminal.label,
        name => name,
    };
    // A number on a lead identifies leads of one device: MOTOR 1, MOTOR 2.
    let numbers = terminal.role != Role::Passive || device.kind == DeviceKind::InlineConnector;
    let words = words(name);
    let mut all = Vec::new();
    let mut at = 0;
    while at < words.len() {
        let length = seat_at(&words[at..]);
        if length == 0 {
            at += 1;
            continue;
        }
        let reading = Reading {
            seat: words[at..at + length].to_vec(),
            before: words[..at].to_vec(),
            after: words[at + length..].to_vec(),
        };
        let says_more = length < words.len();
        if says_more && (numbers || !reading.is_number()) {
            all.push(reading);
        }
        at += length;
    }
    all
}

/// How many words from here on name a seat, or are the number of one.
fn seat_at(words: &[String]) -> usize {
    const SEATS: [&str; 13] = [
        "pilot",
        "copilot",
        "pax",
        "pass",
        "passenger",
        "crew",
        "instructor",
        "student",
        "seat",
        "rl",
        "rr",
        "fl",
        "fr",
    ];
    const ROWS: [&str; 5] = ["front", "rear", "aft", "fwd", "forward"];
    /// After a number: then it is a figure.
    const UNITS: [&str; 8] = ["v", "vdc", "mv", "a", "ma", "ohm", "hz", "w"];
    let is = |at: usize, list: &[&str]| words.get(at).is_some_and(|it| list.contains(&it.as_str()));
    let number_at =
        |at: usize| words.get(at).is_some_and(|it| is_number(it)) && !is(at + 1, &UNITS);
    let mut length = 0;
    while is(length, &SEATS) || is(length, &ROWS) {
        length += 1;
    }
    if length > 0 && is(length - 1, &ROWS) && is(length, &["left", "right"]) {
        length += 1;
    }
    length + usize::from(number_at(length))
}

/// True for the number of a seat or unit, not for that of a standard.
fn is_number(word: &str) -> bool {
    (1..=2).contains(&word.len()) && word.bytes().all(|it| it.is_ascii_digit())
}

/// The words of a name: "MIC1 HI" is "mic 1 hi", "CO-PILOT" and "CO PILOT" are one word.
fn words(name: &str) -> Vec<String> {
    let mut words: Vec<String> = Vec::new();
    let parts = |c: char| !c.is_alphanumeric() && c != '+' && c != '.';
    for word in folded(name).split(parts).filter(|it| !it.is_empty()) {
        let stem = word.trim_end_matches(|c: char| c.is_ascii_digit());
        let is_stem = stem.len() > 1 && stem.chars().all(char::is_alphabetic);
        match words.last_mut() {
            Some(last) if last == "co" && stem == "pilot" => *last = "copilot".into(),
            _ if is_stem => words.push(stem.to_owned()),
            _ => words.push(word.to_owned()),
        }
        if is_stem && stem.len() < word.len() {
            words.push(word[stem.len()..].to_owned());
        }
    }
    words
}

/// Another free tab on the same metal, or a spare breaker of the same bus and rating.
fn another_tab(copy: &Document, end: &End) -> Result<End, WhyOpen> {
    let none = WhyOpen::NoCounterpart;
    let End::Terminal(id, terminal) = end else {
        return Err(none);
    };
    let device = copy.devices.get(id).ok_or(none)?;
    let source = device.terminal(terminal).ok_or(none)?;
    let tabs = device
        .elements
        .iter()
        .find_map(|element| match &element.is {
            ElementKind::Bar(bar) if bar.used_as != BarUse::Joint => bar
                .terminals
                .contains(terminal)
                .then(|| bar.terminals.clone()),
            ElementKind::Protector(it) if it.load == *terminal => Some(like_breakers(device, it)),
            _ => None,
        });
    let tabs = tabs.ok_or(none)?;
    let at = tabs
        .iter()
        .position(|it| it == terminal)
        .map_or(0, |it| it + 1);
    let in_order = tabs[at..].iter().chain(&tabs[..at]);
    let is_like = |it: &&Terminal| {
        let unnamed = it.name.trim().is_empty() || folded(it.name.trim()) == "spare";
        let is_tab = it.form == source.form && (unnamed || it.name == source.name);
        is_tab && (it.role == source.role || it.role == Role::Spare)
    };
    let like = in_order
        .filter_map(|id| device.terminal(id))
        .filter(is_like);
    let mut like = like.map(|it| End::Terminal(id.clone(), it.id.clone()));
    like.find(|end| has_room(copy, end)).ok_or(WhyOpen::Taken)
}

/// The load sides of breakers of the same make on the same bus, this one not among them.
fn like_breakers(device: &Device, like: &Protector) -> Vec<TerminalId> {
    let all = device.elements.iter().filter_map(|it| match &it.is {
        ElementKind::Protector(it) => Some(it),
        _ => None,
    });
    let same = all.filter(|it| {
        (&it.line, it.style) == (&like.line, like.style)
            && it.rating_a.map(f64::to_bits) == like.rating_a.map(f64::to_bits)
            && it.load != like.load
    });
    same.map(|it| it.load.clone()).collect()
}
