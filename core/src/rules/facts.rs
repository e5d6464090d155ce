//! What rules may know: the document, its circuit, its operating points, and look-ups between them.
//! Made once a run.

use std::{cell::OnceCell, collections::HashMap};

use petgraph::graph::{EdgeIndex, NodeIndex};

use super::At;
use crate::{
    document::{Device, Document, ElementKind, End, LoadSort, Terminal, Wire, WireEnd},
    edit::{Change, Key, Record},
    ids::{
        AcceptedId, CableId, DeviceId, ElementId, PlaceId, SpliceId, StateId, TerminalId, WireId,
    },
    netlist::{
        EdgeKind, EdgeOf, Netlist, Point,
        trace::{Feeds, Returns, SUPPLY},
    },
    solve::{OperatingPoint, operate_all},
};

/// A place a rule can speak about, by its keys.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Spot<'a> {
    /// A device.
    Device(&'a DeviceId),
    /// A terminal of a device.
    Terminal(&'a DeviceId, &'a TerminalId),
    /// An element of a device.
    Element(&'a DeviceId, &'a ElementId),
    /// A wire.
    Wire(&'a WireId),
    /// A cable.
    Cable(&'a CableId),
    /// A splice.
    Splice(&'a SpliceId),
    /// A place in the aircraft.
    Place(&'a PlaceId),
    /// A state.
    State(&'a StateId),
    /// An acceptance.
    Accepted(&'a AcceptedId),
}

macro_rules! spot_from {
    ($($id:ident $spot:ident),* $(,)?) => {$(
        impl<'a> From<&'a $id> for Spot<'a> {
            fn from(id: &'a $id) -> Self {
                Self::$spot(id)
            }
        }
    )*};
}

spot_from!(
    DeviceId Device, WireId Wire, CableId Cable, SpliceId Splice, PlaceId Place, StateId State,
    AcceptedId Accepted,
);

impl<'a> From<(&'a DeviceId, &'a TerminalId)> for Spot<'a> {
    fn from((device, terminal): (&'a DeviceId, &'a TerminalId)) -> Self {
        Self::Terminal(device, terminal)
    }
}

impl<'a> From<(&'a DeviceId, &'a ElementId)> for Spot<'a> {
    fn from((device, element): (&'a DeviceId, &'a ElementId)) -> Self {
        Self::Element(device, element)
    }
}

/// A conductor that ends somewhere.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Touch<'a> {
    /// This end of a wire.
    Wire(&'a WireId, WireEnd),
    /// This end of a cable's shield, tied or carried.
    Shield(&'a CableId, WireEnd),
}

/// What rules may know.
#[derive(Debug)]
pub struct Facts<'d> {
    /// The document.
    pub document: &'d Document,
    // Looked up only, never walked: its order never reaches a result.
    touches: HashMap<&'d End, Vec<Touch<'d>>>,
    cable_of: HashMap<&'d WireId, &'d CableId>,
    points: OnceCell<Vec<OperatingPoint>>,
    feeds: OnceCell<(Returns, Feeds)>,
}

impl<'d> Facts<'d> {
    /// Gathers the facts of a document.
    pub fn new(document: &'d Document) -> Self {
        let mut touches: HashMap<&End, Vec<Touch<'_>>> = HashMap::new();
        for (id, wire) in &document.wires {
            for (end, which) in [(&wire.from, WireEnd::From), (&wire.to, WireEnd::To)] {
                touches.entry(end).or_default().push(Touch::Wire(id, which));
            }
        }
        let mut cable_of = HashMap::new();
        for (id, cable) in &document.cables {
            for wire in &cable.wires {
                cable_of.entry(wire).or_insert(id);
            }
            let Some(shield) = &cable.shield else {
                continue;
            };
            for (end, which) in [(&shield.from, WireEnd::From), (&shield.to, WireEnd::To)] {
                if let Some(at) = end.at() {
                    touches
                        .entry(at)
                        .or_default()
                        .push(Touch::Shield(id, which));
                }
            }
        }
        Self {
            document,
            touches,
            cable_of,
            points: OnceCell::new(),
            feeds: OnceCell::new(),
        }
    }

    /// The operating points of every state: with continuous, then with peak figures. Solved when
    /// first asked for; there is always at least one.
    pub fn points(&self) -> &[OperatingPoint] {
        self.points.get_or_init(|| operate_all(self.document))
    }

    /// The document's circuit.
    pub fn netlist(&self) -> &Netlist {
        self.points()[0].netlist()
    }

    /// The return side of the circuit.
    pub fn returns(&self) -> &Returns {
        &self.walked().0
    }

    /// How every source can feed every place.
    pub fn feeds(&self) -> &Feeds {
        &self.walked().1
    }

    fn walked(&self) -> &(Returns, Feeds) {
        self.feeds.get_or_init(|| {
            let netlist = self.netlist();
            let returns = Returns::new(netlist);
            let feeds = Feeds::new(netlist, &returns, SUPPLY);
            (returns, feeds)
        })
    }

    /// Starter motors: motors that a battery feeds through a contact and no protector.
    /// 14 CFR 23.1357(a) exempts their main circuits from protection.
    pub fn starters(&self) -> Vec<EdgeIndex> {
        let netlist = self.netlist();
        let is_starter = |load: &EdgeIndex| {
            let EdgeOf::Element(device, element, _) = &netlist.graph[*load].of else {
                return false;
            };
            let is_motor = self
                .document
                .devices
                .get(device)
                .and_then(|device| device.element(element))
                .is_some_and(
                    |it| matches!(&it.is, ElementKind::Load(load) if load.sort == LoadSort::Motor),
                );
            let through_contact = |path: &[EdgeIndex]| {
                path.iter()
                    .any(|edge| matches!(netlist.graph[*edge].kind, EdgeKind::Contact { .. }))
            };
            is_motor
                && self
                    .feeds()
                    .of_node(netlist, netlist.ends(*load).0)
                    .iter()
                    .any(|feed| feed.protectors.is_empty() && through_contact(&feed.path))
        };
        netlist
            .graph
            .edge_indices()
            .filter(|edge| matches!(netlist.graph[*edge].kind, EdgeKind::Load(_)))
            .filter(is_starter)
            .collect()
    }

    /// What a person calls a node of the circuit.
    pub fn node_label(&self, node: NodeIndex) -> String {
        match self.netlist().point(node) {
            Point::Terminal(device, terminal) => self.label((device, terminal)),
            Point::Splice(splice) => self.label(splice),
            Point::Structure(place) => format!("the metal of {}", self.label(place)),
            Point::Shield(cable, _) => format!("the shield of {}", self.label(cable)),
            Point::WireOpen(wire, _) | Point::InFuse(wire) => self.label(wire),
        }
    }

    /// Conductors that end here: wires in order of their ids, then shields.
    pub fn touches(&self, end: &End) -> &[Touch<'d>] {
        self.touches.get(end).map_or(&[], Vec::as_slice)
    }

    /// Wires that end here.
    pub fn wires_at<'s>(&'s self, end: &End) -> impl Iterator<Item = (&'d WireId, WireEnd)> + 's {
        self.touches(end).iter().filter_map(|touch| match touch {
            Touch::Wire(id, end) => Some((*id, *end)),
            Touch::Shield(..) => None,
        })
    }

    /// The cable this wire is a core of.
    pub fn cable_of(&self, wire: &WireId) -> Option<&'d CableId> {
        self.cable_of.get(wire).copied()
    }

    /// The terminal, if both it and its device are there.
    pub fn terminal(
        &self,
        device: &DeviceId,
        terminal: &TerminalId,
    ) -> Option<(&'d Device, &'d Terminal)> {
        let device = self.document.devices.get(device)?;
        Some((device, device.terminal(terminal)?))
    }

    /// True if what this end names is there; an open end names nothing.
    pub fn exists(&self, end: &End) -> bool {
        match end {
            End::Terminal(device, terminal) => self.terminal(device, terminal).is_some(),
            End::Splice(splice) => self.document.splices.contains_key(splice),
            End::Structure(place) => self.document.places.contains_key(place),
            End::Open => false,
        }
    }

    /// The pin that mates with this one, in an in-line connector.
    pub fn mate(&self, device: &DeviceId, terminal: &TerminalId) -> Option<&'d TerminalId> {
        let device = self.document.devices.get(device)?;
        device
            .elements
            .iter()
            .find_map(|element| match &element.is {
                ElementKind::Mate(mate) if mate.a == *terminal => Some(&mate.b),
                ElementKind::Mate(mate) if mate.b == *terminal => Some(&mate.a),
                _ => None,
            })
    }

    /// True if this place is there and is metal.
    pub fn is_metal(&self, place: Option<&PlaceId>) -> bool {
        place
            .and_then(|place| self.document.places.get(place))
            .is_some_and(|place| place.conductive)
    }

    /// The first name made of this stem and a number that is not taken.
    pub fn free_name(&self, stem: &str, taken: impl Fn(&str) -> bool) -> String {
        (1..)
            .map(|n| format!("{stem}{n}"))
            .find(|name| !taken(name))
            .expect("there are fewer records than numbers")
    }

    /// The change that does this to a device.
    pub fn change_device(&self, id: &DeviceId, edit: impl FnOnce(&mut Device)) -> Change {
        let after = self.document.devices.get(id).map(|device| {
            let mut device = device.clone();
            edit(&mut device);
            Record::Device(device)
        });
        Change::set(self.document, Key::Device(id.clone()), after)
    }

    /// The change that does this to an element of a device.
    pub fn change_element(
        &self,
        id: &DeviceId,
        element: &ElementId,
        edit: impl FnOnce(&mut ElementKind),
    ) -> Change {
        self.change_device(id, |device| {
            if let Some(element) = device.elements.iter_mut().find(|it| it.id == *element) {
                edit(&mut element.is);
            }
        })
    }

    /// The change that does this to a wire.
    pub fn change_wire(&self, id: &WireId, edit: impl FnOnce(&mut Wire)) -> Change {
        let after = self.document.wires.get(id).map(|wire| {
            let mut wire = wire.clone();
            edit(&mut wire);
            Record::Wire(wire)
        });
        Change::set(self.document, Key::Wire(id.clone()), after)
    }

    /// The place with its label, as findings carry it.
    pub fn at<'a>(&self, spot: impl Into<Spot<'a>>) -> At {
        let spot = spot.into();
        let (kind, id) = match spot {
            Spot::Device(id) => ("device", id.to_string()),
            Spot::Terminal(device, terminal) => ("terminal", format!("{device}/{terminal}")),
            Spot::Element(device, element) => ("element", format!("{device}/{element}")),
            Spot::Wire(id) => ("wire", id.to_string()),
            Spot::Cable(id) => ("cable", id.to_string()),
            Spot::Splice(id) => ("splice", id.to_string()),
            Spot::Place(id) => ("place", id.to_string()),
            Spot::State(id) => ("state", id.to_string()),
            Spot::Accepted(id) => ("accepted", id.to_string()),
        };
        let label = self.label(spot);
        At { kind, id, label }
    }

    /// What a person calls it. A record that isn't there goes by its key.
    pub fn label<'a>(&self, spot: impl Into<Spot<'a>>) -> String {
        let spot = spot.into();
        let document = self.document;
        let named = match spot {
            Spot::Device(id) => document.devices.get(id).map(|device| device.tag.clone()),
            Spot::Terminal(device, terminal) => self
                .terminal(device, terminal)
                .map(|(device, terminal)| terminal_label(device, terminal)),
            Spot::Element(device, element) => document.devices.get(device).and_then(|device| {
                let label = &device.element(element)?.label;
                if label.is_empty() || *label == device.tag {
                    Some(device.tag.clone())
                } else {
                    Some(format!("{} {label}", device.tag))
                }
            }),
            Spot::Wire(id) => document.wires.get(id).map(|wire| wire.number.clone()),
            Spot::Cable(id) => document.cables.get(id).map(|cable| cable.label.clone()),
            Spot::Splice(id) => document.splices.get(id).map(|splice| splice.label.clone()),
            Spot::Place(id) => document.places.get(id).map(|place| place.title.clone()),
            Spot::State(id) => document.states.get(id).map(|state| state.title.clone()),
            Spot::Accepted(id) => document.accepted.get(id).map(|it| it.rule.clone()),
        };
        named
            .filter(|name| !name.is_empty())
            .unwrap_or_else(|| match spot {
                Spot::Device(id) => id.to_string(),
                Spot::Terminal(device, terminal) => format!("{device} {terminal}"),
                Spot::Element(device, element) => format!("{device} {element}"),
                Spot::Wire(id) => id.to_string(),
                Spot::Cable(id) => id.to_string(),
                Spot::Splice(id) => id.to_string(),
                Spot::Place(id) => id.to_string(),
                Spot::State(id) => id.to_string(),
                Spot::Accepted(id) => id.to_string(),
            })
    }

    /// What a person calls this end: "COM1 J105-1", "SP1", "the metal of the firewall", "an open end".
    pub fn end_label(&self, end: &End) -> String {
        match end {
            End::Terminal(device, terminal) => self.label((device, terminal)),
            End::Splice(splice) => self.label(splice),
            End::Structure(place) => format!("the metal of {}", self.label(place)),
            End::Open => "an open end".into(),
        }
    }

    /// A wire by its ends: "the wire from COM1 J105-1 to MBUS CB22".
    pub fn run(&self, wire: &WireId) -> String {
        match self.document.wires.get(wire) {
            Some(wire) => format!(
                "the wire from {} to {}",
                self.end_label(&wire.from),
                self.end_label(&wire.to)
            ),
            None => format!("the wire {wire}"),
        }
    }
}

/// "COM1 J105-1" for a contact in a connector, "K1 BAT" for a loose stud or tab.
fn terminal_label(device: &Device, terminal: &Terminal) -> String {
    let connector = terminal
        .connector
        .as_ref()
        .and_then(|connector| device.connector(connector));
    match connector {
        Some(connector) => format!("{} {}-{}", device.tag, connector.label, terminal.label),
        None => format!("{} {}", device.tag, terminal.label),
    }
}
