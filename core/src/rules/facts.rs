//! What rules may know: the document, its circuit, its operating points, and look-ups between them.
//! Made once a run.

use crate::order;
use std::{
    cell::{OnceCell, RefCell},
    sync::Arc,
};

use petgraph::graph::{EdgeIndex, NodeIndex};
use rustc_hash::FxHashMap;

use super::{
    At,
    signal::joined::{self, Conductor},
};
use crate::{
    document::{Device, Document, ElementKind, End, LoadSort, Terminal, Wire, WireEnd},
    edit::{Change, Key, Record},
    ids::{
        AcceptedId, CableId, DeviceId, ElementId, PlaceId, SpliceId, StateId, TerminalId, WireId,
    },
    netlist::{
        EdgeKind, EdgeOf, Netlist, Point,
        trace::{Feed, Feeds, Returns},
    },
    solve::{
        LoadAnalysis, OperatingPoint, Operator, Ways,
        endurance::{Endurance, Extent},
        loads::Work,
    },
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

/// Current while working from which a motor with no continuous current is a starter, A (our own
/// choice: larger than any motor that a breaker feeds, smaller than any starter).
const STARTER_A: f64 = 50.0;

/// What rules may know.
#[derive(Debug)]
pub struct Facts<'d> {
    /// The document.
    pub document: &'d Document,
    // Looked up only, never walked: its order never reaches a result.
    touches: FxHashMap<&'d End, Vec<Touch<'d>>>,
    cable_of: FxHashMap<&'d WireId, &'d CableId>,
    points: OnceCell<Vec<OperatingPoint>>,
    operator: OnceCell<RefCell<Operator>>,
    ways: OnceCell<Arc<Ways>>,
    conductors: OnceCell<Conductors<'d>>,
    loads: OnceCell<LoadAnalysis>,
    starters: OnceCell<Vec<EdgeIndex>>,
    endurance: OnceCell<Endurance>,
}

/// Conductors, and which one each wire belongs to.
type Conductors<'d> = (Vec<Conductor<'d>>, FxHashMap<&'d WireId, usize>);

impl<'d> Facts<'d> {
    /// Gathers the facts of a document.
    pub fn new(document: &'d Document) -> Self {
        let mut touches: FxHashMap<&End, Vec<Touch<'_>>> = FxHashMap::default();
        for (id, wire) in &document.wires {
            for (end, which) in [(&wire.from, WireEnd::From), (&wire.to, WireEnd::To)] {
                touches.entry(end).or_default().push(Touch::Wire(id, which));
            }
        }
        let mut cable_of = FxHashMap::default();
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
            operator: OnceCell::new(),
            ways: OnceCell::new(),
            conductors: OnceCell::new(),
            loads: OnceCell::new(),
            starters: OnceCell::new(),
            endurance: OnceCell::new(),
        }
    }

    /// The operating points of every state: with continuous, then with peak figures. Solved when
    /// first asked for; there is always at least one.
    pub fn points(&self) -> &[OperatingPoint] {
        self.points
            .get_or_init(|| self.operator().borrow_mut().all(self.document))
    }

    /// The operating point while a load that no state has on does its work, in the first state in
    /// which the alternator turns and the load can be switched on; failing that, in any.
    pub fn while_working(&self, load: EdgeIndex) -> Option<OperatingPoint> {
        let mut states: Vec<_> = self.document.states.iter().collect();
        order::sort_by_key(&mut states, |(_, state)| {
            (!state.alternators_on, state.order)
        });
        let mut operator = self.operator().borrow_mut();
        states
            .into_iter()
            .find_map(|(id, state)| operator.with_load_working(id, state, load))
    }

    /// What each bus carries in each state.
    pub fn loads(&self) -> &LoadAnalysis {
        self.loads.get_or_init(|| {
            let points = self.points();
            let mut operator = self.operator().borrow_mut();
            LoadAnalysis::new(self.document, &mut operator, points, Work::AsItRuns)
        })
    }

    /// The circuit with its solver, and the operating points of every state, for further questions
    /// about the same document.
    pub fn into_solved(self) -> (Operator, Vec<OperatingPoint>) {
        self.points();
        let operator = self.operator.into_inner().map(RefCell::into_inner);
        (
            operator.unwrap_or_else(|| Operator::new(self.document)),
            self.points.into_inner().unwrap_or_default(),
        )
    }

    /// What stops first after the alternator has, if it does before the target.
    pub fn endurance(&self) -> &Endurance {
        self.endurance
            .get_or_init(|| self.endurance_to(Extent::Target))
    }

    /// What stops when after the alternator has. Solved anew each time: for the words of a finding.
    pub fn endurance_to(&self, extent: Extent) -> Endurance {
        let mut operator = self.operator().borrow_mut();
        Endurance::new(self.document, &mut operator, extent)
    }

    /// The circuit with its solver, made once for all that is asked of it.
    fn operator(&self) -> &RefCell<Operator> {
        self.operator
            .get_or_init(|| RefCell::new(Operator::new(self.document)))
    }

    /// The document's circuit.
    pub fn netlist(&self) -> &Netlist {
        self.points()[0].netlist()
    }

    /// The return side of the circuit.
    pub fn returns(&self) -> &Returns {
        &self.ways().returns
    }

    /// How every source can feed every place.
    pub fn feeds(&self) -> &Feeds {
        &self.ways().feeds
    }

    fn ways(&self) -> &Ways {
        self.ways.get_or_init(|| self.operator().borrow().ways())
    }

    /// Starter motors: motors that take a large current now and then and none continuously, fed by
    /// a battery through a contact and no protector. 14 CFR 23.1357(a) exempts their main circuits
    /// from protection.
    pub fn starters(&self) -> &[EdgeIndex] {
        self.starters.get_or_init(|| self.find_starters())
    }

    fn find_starters(&self) -> Vec<EdgeIndex> {
        let netlist = self.netlist();
        let mut starters = Vec::new();
        for (id, device) in &self.document.devices {
            for element in &device.elements {
                let ElementKind::Load(load) = &element.is else {
                    continue;
                };
                let working = [&load.intermittent_a, &load.peak_a];
                let starts = load.sort == LoadSort::Motor
                    && load.continuous_a.is_none()
                    && working
                        .into_iter()
                        .flatten()
                        .any(|figure| figure.amps >= STARTER_A);
                if starts
                    && let Some(edge) = netlist.element_edge(id, &element.id)
                    && !self.starter_feeds(edge).is_empty()
                {
                    starters.push(edge);
                }
            }
        }
        starters
    }

    /// How batteries feed a starter motor: through a contact and no protector.
    pub fn starter_feeds(&self, starter: EdgeIndex) -> Vec<Feed> {
        let netlist = self.netlist();
        let is_contact =
            |edge: &EdgeIndex| matches!(netlist.graph[*edge].kind, EdgeKind::Contact { .. });
        let mut feeds = self.feeds().of_node(netlist, netlist.ends(starter).0);
        feeds.retain(|feed| {
            matches!(netlist.graph[feed.source].kind, EdgeKind::Battery { .. })
                && feed.protectors.is_empty()
                && feed.path.iter().any(is_contact)
        });
        feeds
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

    /// What wires, mated pins and splices join end to end, in order of the first wire.
    pub fn conductors(&self) -> &[Conductor<'d>] {
        &self.conductors_and_wires().0
    }

    /// The conductor that a wire belongs to.
    pub fn conductor_of(&self, wire: &WireId) -> Option<&Conductor<'d>> {
        let (all, of) = self.conductors_and_wires();
        Some(&all[*of.get(wire)?])
    }

    fn conductors_and_wires(&self) -> &Conductors<'d> {
        self.conductors.get_or_init(|| {
            let all = joined::conductors(self, self.netlist());
            let wires = all.iter().enumerate();
            let of = wires
                .flat_map(|(index, it)| it.wires.iter().map(move |wire| (*wire, index)))
                .collect();
            (all, of)
        })
    }

    /// The record that an edge of the circuit stands for.
    pub fn spot_of(edge: &EdgeOf) -> Spot<'_> {
        match edge {
            EdgeOf::Wire(wire) | EdgeOf::InlineFuse(wire) => Spot::Wire(wire),
            EdgeOf::Shield(cable) | EdgeOf::ShieldEnd(cable, _) => Spot::Cable(cable),
            EdgeOf::Element(device, element, _) => Spot::Element(device, element),
            EdgeOf::Bond(place) => Spot::Place(place),
        }
    }

    /// Conductors that end here: wires in order of their ids, then shields.
    pub fn touches(&self, end: &End) -> &[Touch<'d>] {
        self.touches.get(end).map_or(&[], Vec::as_slice)
    }

    /// Wires that end here.
    pub fn wires_at<'s>(
        &'s self,
        end: &End,
    ) -> impl Iterator<Item = (&'d WireId, WireEnd)> + use<'s, 'd> {
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

    /// The change that exchanges whatever ends at two terminals of a device.
    pub fn exchange_wires(&self, id: &DeviceId, a: &TerminalId, b: &TerminalId) -> Change {
        let [a, b] = [a, b].map(|terminal| End::Terminal(id.clone(), terminal.clone()));
        let mut change = Change::default();
        let wires = self.wires_at(&a).chain(self.wires_at(&b));
        for (wire_id, _) in wires {
            let Some(wire) = self.document.wires.get(wire_id) else {
                continue;
            };
            let mut wire = wire.clone();
            for end in [&mut wire.from, &mut wire.to] {
                if *end == a {
                    *end = b.clone();
                } else if *end == b {
                    *end = a.clone();
                }
            }
            change.and_set(
                self.document,
                Key::Wire(wire_id.clone()),
                Some(Record::Wire(wire)),
            );
        }
        change
    }

    /// The change that turns a diode round: the wires at its ends change places.
    pub fn turn_diode(&self, device: &DeviceId, element: &ElementId) -> Change {
        let found = self
            .document
            .devices
            .get(device)
            .and_then(|it| it.element(element));
        match found.map(|element| &element.is) {
            Some(ElementKind::Diode(diode)) => {
                self.exchange_wires(device, &diode.anode, &diode.cathode)
            }
            _ => Change::default(),
        }
    }

    /// The place with its label, as findings carry it.
    pub fn at<'a>(&self, spot: impl Into<Spot<'a>>) -> At {
        let (kind, id) = match spot.into() {
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
        let label = self.document.record_label(kind, &id);
        At { kind, id, label }
    }

    /// What a person calls it.
    pub fn label<'a>(&self, spot: impl Into<Spot<'a>>) -> String {
        self.at(spot).label
    }

    /// What a person calls this end.
    pub fn end_label(&self, end: &End) -> String {
        self.document.end_label(end)
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
