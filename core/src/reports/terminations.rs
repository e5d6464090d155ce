//! How the end of a wire is terminated: contact, ring, tab, splice, solder; what is slid on before, and the spare.

use super::harness::device;
use crate::{
    document::{
        ConductorKind, Connector, Contacts, DeviceKind, Document, End, Marking, Role, TerminalForm,
        Wire,
    },
    units::Gauge,
};

/// The termination of a wire's end.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Termination {
    /// A contact in a connector of this style.
    Contact {
        /// Style of the connector, "15-way D-sub"; may be empty.
        style: String,
        /// "pin" or "socket", if it is set.
        sort: Option<&'static str>,
    },
    /// A ring terminal on a stud or under a screw.
    Ring,
    /// A push-on receptacle for a tab.
    Tab,
    /// Soldered to a lug, under clear sleeve.
    Solder,
    /// Spliced to the lead of a unit.
    LeadSplice,
    /// Spliced with other wires.
    Splice,
    /// A ring terminal on bare metal.
    Bond,
    /// A coax connector.
    Coax,
    /// A joint or terminal of the thermocouple wire's own alloy, because copper would falsify the reading.
    Alloy,
    /// A contact of that alloy in an in-line connector.
    AlloyContact,
    /// A contact of an instrument that takes thermocouple wire.
    Instrument,
    /// Not wired yet: the end is insulated.
    Open,
}

impl Termination {
    /// The termination of one end of a wire.
    pub fn of(document: &Document, wire: &Wire, end: &End) -> Self {
        let is_inline =
            || device(document, end).is_some_and(|it| it.kind == DeviceKind::InlineConnector);
        let copper = Self::of_copper(document, wire, end);
        if matches!(wire.conductor, ConductorKind::Copper | ConductorKind::Coax) {
            return copper;
        }
        match copper {
            Self::Open => Self::Open,
            Self::Contact { .. } if is_inline() => Self::AlloyContact,
            // The instrument measures the temperature of its own connector.
            Self::Contact { .. } => Self::Instrument,
            _ => Self::Alloy,
        }
    }

    fn of_copper(document: &Document, wire: &Wire, end: &End) -> Self {
        match end {
            End::Terminal(..) if wire.conductor == ConductorKind::Coax => Self::Coax,
            End::Splice(_) => Self::Splice,
            End::Structure(_) => Self::Bond,
            End::Open => Self::Open,
            End::Terminal(_, id) => {
                let found = device(document, end);
                let Some((device, terminal)) = found.and_then(|it| Some((it, it.terminal(id)?)))
                else {
                    return Self::Open;
                };
                match (device.connector_of(terminal), terminal.form) {
                    (Some(connector), _) => Self::Contact {
                        style: connector.style.clone(),
                        sort: connector.contacts.map(|sort| match sort {
                            Contacts::Pins => "pin",
                            Contacts::Sockets => "socket",
                        }),
                    },
                    (None, TerminalForm::Stud | TerminalForm::Screw | TerminalForm::Case) => {
                        Self::Ring
                    }
                    (None, TerminalForm::Tab) => Self::Tab,
                    (None, TerminalForm::Lead) => Self::LeadSplice,
                    (None, TerminalForm::Pin) if device.kind == DeviceKind::InlineConnector => {
                        Self::Contact {
                            style: String::new(),
                            sort: None,
                        }
                    }
                    (None, TerminalForm::Pin) => Self::Solder,
                }
            }
        }
    }

    /// In words.
    pub fn words(&self) -> &'static str {
        match self {
            Self::Contact { sort, .. } => match sort {
                Some("pin") => "crimp pin",
                Some(_) => "crimp socket",
                None => "crimp contact",
            },
            Self::Ring => "ring terminal",
            Self::Tab => "push-on receptacle",
            Self::Solder => "solder",
            Self::LeadSplice | Self::Splice => "splice",
            Self::Bond => "ring on bare metal",
            Self::Coax => "coax connector",
            Self::Alloy => "joint of the wire\u{2019}s own alloy, no copper",
            Self::AlloyContact => "contact of the wire\u{2019}s own alloy, no copper",
            Self::Instrument => "contact as the instrument\u{2019}s manual says",
            Self::Open => "not wired: insulate the end",
        }
    }
}

/// The connector of an end.
pub fn connector<'d>(document: &'d Document, end: &End) -> Option<&'d Connector> {
    let End::Terminal(_, id) = end else {
        return None;
    };
    let device = device(document, end)?;
    device.connector_of(device.terminal(id)?)
}

/// Spare at one end of a wire for two new terminations, m: as the project sets it, else by kind and gauge (AC 43.13-1B
/// par 11-118 requires two; the lengths are common practice, no source). `None` if the gauge is not set.
fn spare_m(document: &Document, wire: &Wire, end: &End) -> Option<f64> {
    if let Some(set) = document.project.service_loop_m {
        return Some(set);
    }
    let of = Termination::of(document, wire, end);
    if of == Termination::Coax || wire.conductor == ConductorKind::Coax {
        return Some(0.1);
    }
    let size = wire.gauge_awg?;
    let is_ring = matches!(of, Termination::Ring | Termination::Bond);
    // Twice the barrel of the lug, the strip and a clean cut.
    let sizes = [
        (Gauge(16), 0.05, 0.05),
        (Gauge(10), 0.06, 0.08),
        (Gauge(6), 0.1, 0.12),
        (Gauge(2), 0.15, 0.18),
    ];
    let fits = sizes
        .iter()
        .find(|(thickest, ..)| !thickest.is_thinner_than(size));
    let (_, other, ring) = fits.copied().unwrap_or((size, 0.2, 0.25));
    Some(if is_ring { ring } else { other })
}

/// Spare of both ends together, m.
pub fn spares_m(document: &Document, wire: &Wire) -> Option<f64> {
    Some(spare_m(document, wire, &wire.from)? + spare_m(document, wire, &wire.to)?)
}

/// The length to cut a wire to, m: its length plus the spare at each end, rounded up to the next centimeter.
pub fn cut_m(document: &Document, wire: &Wire) -> Option<f64> {
    let length_m = document.wire_length_m(wire)? + spares_m(document, wire)?;
    // 0.8 + 0.1 is 0.9000000000000000222: the rounding error must not add a centimeter.
    Some((length_m * 100.0 - 1e-6).ceil() / 100.0)
}

/// True if a ring terminal has a boot over it: a wire of 10 AWG or thicker on a stud that is no ground (common practice,
/// no source).
pub fn has_boot(document: &Document, wire: &Wire, end: &End) -> bool {
    let End::Terminal(_, id) = end else {
        return false;
    };
    let is_thick = wire
        .gauge_awg
        .is_some_and(|it| !it.is_thinner_than(Gauge(10)));
    let found = device(document, end).and_then(|it| Some((it, it.terminal(id)?)));
    found.is_some_and(|(device, terminal)| {
        is_thick
            && terminal.form == TerminalForm::Stud
            && terminal.role != Role::Return
            && device.kind != DeviceKind::GroundBlock
            && !is_negative_post(device, id)
    })
}

fn is_negative_post(device: &crate::document::Device, id: &crate::ids::TerminalId) -> bool {
    use crate::document::ElementKind;
    device.elements.iter().any(|it| match &it.is {
        ElementKind::Battery(battery) => battery.minus == *id,
        ElementKind::Alternator(alternator) => alternator.minus == *id,
        ElementKind::Load(load) => load.minus == *id,
        _ => false,
    })
}

/// What is slid on a wire before this end is terminated, because it does not pass over the lug afterwards.
pub fn slid_on_first(document: &Document, wire: &Wire, end: &End) -> Vec<&'static str> {
    let mut all = Vec::new();
    if document.project.marking != Some(Marking::Insulation)
        && super::labels::is_marked(document, wire)
    {
        all.push("label");
    }
    match Termination::of(document, wire, end) {
        Termination::Solder | Termination::LeadSplice | Termination::Splice => {
            all.push("clear sleeve");
        }
        Termination::Alloy => all.push("clear sleeve"),
        Termination::Coax => all.push("coax connector"),
        Termination::Ring if has_boot(document, wire, end) => all.push("boot"),
        Termination::Open => all.clear(),
        _ => {}
    }
    all
}
