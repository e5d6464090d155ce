//! How the end of a wire is made off: contact, ring, tab, splice, solder; strip length and tool.

use super::harness::device;
use crate::document::{ConductorKind, Contacts, DeviceKind, Document, End, TerminalForm, Wire};

/// What an end of a wire gets.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Termination {
    /// A contact in a connector of this style.
    Contact {
        /// What the connector is, "15-way D-sub"; may be empty.
        style: String,
        /// Pins or sockets, if that is known.
        sort: Option<&'static str>,
    },
    /// A ring terminal on a stud or under a screw.
    Ring,
    /// A push-on receptacle for a tab.
    Tab,
    /// Soldered to a lug, under clear sleeve.
    Solder,
    /// Joined to the lead of a unit.
    LeadSplice,
    /// Joined with other wires in a splice.
    Splice,
    /// A ring terminal on bare metal.
    Bond,
    /// A connector of the coaxial cable's own.
    Coax,
    /// A joint or terminal of the thermocouple wire's own alloy: plain copper would falsify the reading.
    Alloy,
    /// Not wired yet: closed off.
    Open,
}

impl Termination {
    /// What one end of a wire gets.
    pub fn of(document: &Document, wire: &Wire, end: &End) -> Self {
        match Self::of_copper(document, wire, end) {
            // The instrument measures the temperature of its own connector.
            kept @ (Self::Contact { .. } | Self::Open) => kept,
            _ if !matches!(wire.conductor, ConductorKind::Copper | ConductorKind::Coax) => {
                Self::Alloy
            }
            other => other,
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

    /// In words, for a wire of this size.
    pub fn words(&self, size: &str) -> String {
        match self {
            Self::Contact { sort, .. } => format!("crimp {}", sort.unwrap_or("contact")),
            Self::Ring => format!("ring terminal, {size}"),
            Self::Tab => format!("push-on receptacle, {size}"),
            Self::Solder => "solder, clear sleeve".into(),
            Self::LeadSplice | Self::Splice => "splice, clear sleeve".into(),
            Self::Bond => format!("ring on bare metal, {size}"),
            Self::Coax => "coax connector".into(),
            Self::Alloy => "joint of the wire\u{2019}s own alloy, no copper".into(),
            Self::Open => "not wired: close off".into(),
        }
    }
}

/// Strip length, mm, and tool for an end, where its connector says so.
pub fn strip_and_tool(document: &Document, end: &End) -> (Option<f64>, String) {
    let End::Terminal(_, id) = end else {
        return (None, String::new());
    };
    let found = device(document, end).and_then(|device| {
        let connector = device.terminal(id)?.connector.as_ref()?;
        device.connector(connector)
    });
    found.map_or((None, String::new()), |it| (it.strip_mm, it.tool.clone()))
}

/// Added at each end of a wire for two new terminations, m, if the project does not say.
const SERVICE_LOOP_M: f64 = 0.05;

/// The length a wire is cut to, m: its length and the project's spare length at each end, up to the
/// next centimetre.
pub fn cut_m(document: &Document, wire: &Wire) -> Option<f64> {
    let spare = document.project.service_loop_m.unwrap_or(SERVICE_LOOP_M);
    let length_m = document.wire_length_m(wire)? + 2.0 * spare;
    // 0.8 + 0.1 is 0.9000000000000000222: no centimetre more for it.
    Some((length_m * 100.0 - 1e-6).ceil() / 100.0)
}
