//! The plan of grounds: which returns are those of avionics and audio, where each return ends, and at
//! which point they belong.

use petgraph::graph::NodeIndex;

use crate::{
    document::{BarUse, Device, DeviceKind, ElementKind, End, LoadSort, Role},
    ids::{DeviceId, PlaceId, TerminalId},
    netlist::{EdgeKind, Point},
    noise::ripple::{DriveKind, load_kind},
    order::{Map, Sorted},
    rules::{Facts, Subject, facts::TerminalAt},
};

/// Returns that must meet at a point before it counts as a plan (our own choice: two may be chance).
const FEWEST: usize = 3;

/// Where returns end: a ground block, a local stud, the post of a source, or the metal of a place.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Ground<'d> {
    /// A device with terminals for returns.
    Device(&'d DeviceId),
    /// The metal of a place.
    Metal(&'d PlaceId),
}

impl<'d> Ground<'d> {
    /// As rules point at it.
    pub fn subject(self) -> Subject<'d> {
        match self {
            Self::Device(id) => Subject::Device(id),
            Self::Metal(id) => Subject::Place(id),
        }
    }

    /// Its label.
    pub fn label(self, facts: &Facts<'_>) -> String {
        match self {
            Self::Device(id) => facts.label(id),
            Self::Metal(id) => format!("the metal of {}", facts.label(id)),
        }
    }

    /// Where it is in the circuit.
    pub fn node(self, facts: &Facts<'_>) -> Option<NodeIndex> {
        match self {
            Self::Device(id) => facts.netlist().terminals(id).next(),
            Self::Metal(id) => facts.netlist().end_node(&End::Structure(id.clone())),
        }
    }
}

/// A return of avionics or audio, and where it ends.
#[derive(Clone, Debug)]
pub struct QuietReturn<'d> {
    /// Its device and terminal.
    pub at: (&'d DeviceId, &'d TerminalId),
    /// The place of its device.
    pub place: Option<&'d PlaceId>,
    /// Where it ends; empty if it is not wired to any ground.
    pub ends: Vec<Ground<'d>>,
}

/// The plan of grounds.
#[derive(Clone, Debug, Default)]
pub struct Plan<'d> {
    /// Every return of avionics and audio that is wired to a ground, in order of the records.
    pub returns: Vec<QuietReturn<'d>>,
    /// Every return of a unit of which its record does not say whether it is avionics.
    pub unsure: Vec<QuietReturn<'d>>,
    /// The points at which they belong; empty if the drawing shows none.
    pub points: Vec<Ground<'d>>,
    /// True if the title of the points says so, false if the plan is derived from most returns.
    pub stated: bool,
}

impl<'d> Plan<'d> {
    /// The plan of a document.
    pub fn of(facts: &Facts<'d>) -> Self {
        let (mut returns, mut unsure) = (Vec::new(), Vec::new());
        // By ground: returns of avionics and audio, and all.
        let mut n: Map<Ground<'d>, (usize, usize)> = Map::new();
        // Of a unit with many returns it is asked once.
        let mut last: Option<(&DeviceId, Option<bool>)> = None;
        for at in facts.terminals() {
            if !may_return(&at) {
                continue;
            }
            let avionics = match last {
                Some((id, known)) if id == at.id => known,
                _ => is_avionics(at.device),
            };
            last = Some((at.id, avionics));
            let quiet = is_quiet(&at, avionics);
            if !quiet && !is_load_return(&at) {
                continue;
            }
            let ends = ends_at(facts, at.node);
            for end in &ends {
                let n = n.or_default(*end);
                n.0 += usize::from(quiet);
                n.1 += 1;
            }
            let is_unsure = at.device.kind == DeviceKind::Unit
                && at.terminal.role == Role::Return
                && avionics.is_none();
            if (quiet || is_unsure) && !ends.is_empty() {
                let list = if quiet { &mut returns } else { &mut unsure };
                list.push(QuietReturn {
                    at: (at.id, &at.terminal.id),
                    place: at.device.place.as_ref(),
                    ends,
                });
            }
        }
        let stated = stated(facts);
        let points = match stated.is_empty() {
            true => derived(&n),
            false => stated.clone(),
        };
        Self {
            returns,
            unsure,
            points,
            stated: !stated.is_empty(),
        }
    }

    /// The points for a device in this place: those of its own place if there are any.
    pub fn points_for(&self, facts: &Facts<'d>, place: Option<&PlaceId>) -> Vec<Ground<'d>> {
        let near = |point: &Ground<'d>| match point {
            Ground::Device(id) => {
                place.is_some() && facts.device(id).and_then(|it| it.place.as_ref()) == place
            }
            Ground::Metal(_) => false,
        };
        let own: Vec<_> = self.points.iter().copied().filter(near).collect();
        match own.is_empty() {
            true => self.points.clone(),
            false => own,
        }
    }

    /// How many returns of avionics and audio end at this point.
    pub fn count(&self, point: Ground<'_>) -> usize {
        let here = |it: &&QuietReturn<'_>| it.ends.contains(&point);
        self.returns.iter().filter(here).count()
    }
}

/// Ground blocks that are titled as those of avionics or audio.
fn stated<'d>(facts: &Facts<'d>) -> Vec<Ground<'d>> {
    let is_titled = |device: &Device| {
        device.kind == DeviceKind::GroundBlock && is_called(device, &["avionic", "audio", "radio"])
    };
    let devices = facts.document.devices.iter();
    let titled = devices.filter(|(_, device)| is_titled(device));
    titled.map(|(id, _)| Ground::Device(id)).collect()
}

/// The blocks that hold little else than returns of avionics and audio; where there is none, the one that
/// holds most of them.
fn derived<'d>(n: &Map<Ground<'d>, (usize, usize)>) -> Vec<Ground<'d>> {
    let blocks = || {
        n.iter().filter_map(|(ground, (quiet, all))| {
            let is_block = matches!(ground, Ground::Device(_)) && *quiet >= FEWEST;
            is_block.then_some((*ground, *quiet, *all))
        })
    };
    // Two of three: a block that one or two other loads share is still that of the avionics.
    let own: Vec<_> = (blocks().filter(|(_, quiet, all)| quiet * 3 >= all * 2))
        .map(|it| it.0)
        .collect();
    if !own.is_empty() {
        return own;
    }
    let total: usize = n.iter().map(|(_, (quiet, _))| quiet).sum();
    let most = blocks().max_by_key(|it| it.1);
    most.filter(|it| 2 * it.1 > total)
        .map(|it| it.0)
        .into_iter()
        .collect()
}

/// True for the return of a load.
fn is_load_return(at: &TerminalAt<'_>) -> bool {
    at.device.elements.iter().any(
        |element| matches!(&element.is, ElementKind::Load(load) if load.minus == at.terminal.id),
    )
}

/// True for a terminal through which current may return.
fn may_return(at: &TerminalAt<'_>) -> bool {
    matches!(at.terminal.role, Role::Return | Role::SignalReturn) || is_load_return(at)
}

/// True for a power or signal return of a unit of avionics or audio, and for the return of a key line.
fn is_quiet(at: &TerminalAt<'_>, avionics: Option<bool>) -> bool {
    match at.device.kind {
        DeviceKind::Unit => avionics == Some(true),
        DeviceKind::Jack => is_load_return(at),
        DeviceKind::Switch => {
            let mut terminals = at.device.terminals.iter();
            at.terminal.role == Role::SignalReturn && terminals.any(|it| it.role == Role::KeyLine)
        }
        _ => false,
    }
}

/// Words for a power device: it belongs on a power ground though it may have data pins.
const POWER: &[&str] = &[
    "servo",
    "actuator",
    "coil",
    "motor",
    "pump",
    "heat",
    "fan",
    "light",
    "ignit",
    "inject",
    "engine comp",
    "engine control",
    "regulator",
    "charg",
    "usb",
    "outlet",
    "strobe",
    "flash",
    "beacon",
];
/// What an instrument is called that has no signal pin in its record.
const INSTRUMENT: &[&str] = &[
    "attitude",
    "display",
    "monitor",
    "radio",
    "receiver",
    "transponder",
    "encoder",
    "intercom",
    "audio",
    "avionic",
    "autopilot",
    "navig",
    "gps",
    "compass",
    "horizon",
    "altimeter",
];

/// True for a unit of avionics or audio: electronics with signal pins, or with the title of an instrument;
/// not what flashes, charges, turns or heats. None if its record says neither.
fn is_avionics(device: &Device) -> Option<bool> {
    let has = |test: fn(Role) -> bool| device.terminals.iter().any(|it| test(it.role));
    let is_audio = has(|it| matches!(it, Role::AudioHigh | Role::AudioLow));
    let is_power = device.elements.iter().any(|element| match &element.is {
        ElementKind::Load(load) => load.sort != LoadSort::Electronic,
        _ => false,
    });
    let pulses = matches!(
        load_kind(device),
        Some(DriveKind::Strobe | DriveKind::Charging)
    );
    if is_audio {
        return Some(true);
    }
    if is_power || pulses || is_called(device, POWER) || has(|it| it == Role::PLead) {
        return Some(false);
    }
    let signals = |it| {
        matches!(
            it,
            Role::KeyLine
                | Role::SerialTx
                | Role::SerialRx
                | Role::CanHigh
                | Role::CanLow
                | Role::Arinc429A
                | Role::Arinc429B
                | Role::SensorPlus
                | Role::SensorMinus
                | Role::ThermocouplePlus
                | Role::ThermocoupleMinus
                | Role::Rf
        )
    };
    (has(signals) || is_called(device, INSTRUMENT)).then_some(true)
}

/// True if words of the device's title begin with one of these: "flight" is not a light.
fn is_called(device: &Device, words: &[&str]) -> bool {
    let plain = |c: char| match c.is_alphanumeric() {
        true => c.to_ascii_lowercase(),
        false => ' ',
    };
    let title: String = std::iter::once(' ')
        .chain(device.title.chars().map(plain))
        .collect();
    let mut found = words
        .iter()
        .flat_map(|word| title.match_indices(word).map(|it| it.0));
    found.any(|at| title[..at].ends_with(' '))
}

/// The grounds that a node reaches without passing one. Metal inside a unit is passed only at a plain stud, such as
/// that of a terminal strip.
pub fn ends_at<'d>(facts: &Facts<'d>, from: NodeIndex) -> Vec<Ground<'d>> {
    let netlist = facts.netlist();
    let mut seen = Sorted::from([from]);
    let mut ends = Sorted::new();
    let mut open = vec![from];
    while let Some(node) = open.pop() {
        if let Some(ground) = ground_at(facts, node) {
            ends.insert(ground);
            continue;
        }
        let plain = (facts.terminal_at(node)).is_some_and(|it| it.terminal.role == Role::Passive);
        for edge in netlist.edges_at(node) {
            let passes = match netlist.graph[edge].kind {
                EdgeKind::Wire { .. }
                | EdgeKind::Mate { .. }
                | EdgeKind::Shunt { .. }
                | EdgeKind::Tie { .. } => true,
                EdgeKind::Bar(BarUse::Joint) => plain,
                _ => false,
            };
            let next = netlist.other(edge, node);
            if passes && seen.insert(next) {
                open.push(next);
            }
        }
    }
    ends.into_iter().collect()
}

/// The ground that a node belongs to.
pub fn ground_at<'d>(facts: &Facts<'d>, node: NodeIndex) -> Option<Ground<'d>> {
    let netlist = facts.netlist();
    if let Point::Structure(place) = netlist.point(node) {
        let (place, _) = facts.document.places.get_key_value(place)?;
        return Some(Ground::Metal(place));
    }
    let at = facts.terminal_at(node)?;
    let is_post = |element: &ElementKind| match element {
        ElementKind::Battery(it) => it.minus == at.terminal.id,
        ElementKind::Alternator(it) => it.minus == at.terminal.id,
        _ => false,
    };
    let is_ground = at.device.kind == DeviceKind::GroundBlock
        || netlist.bar_at(node) == Some(BarUse::Ground)
        || at.device.elements.iter().any(|it| is_post(&it.is));
    is_ground.then_some(Ground::Device(at.id))
}
