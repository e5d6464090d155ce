//! Devices, their connectors and terminals.

use serde::{Deserialize, Serialize};

use super::{
    Element, Extra,
    invariants::{Check, FieldPath},
    kind::{Kind, joined},
    others::Others,
};
use crate::{
    ids::{ConnectorId, DeviceId, ElementId, PlaceId, TerminalId},
    units::Gauge,
};

/// Anything with terminals: a radio, a breaker, a bus, a ground block, a jack, an in-line connector.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "cli", derive(schemars::JsonSchema))]
pub struct Device {
    /// Reference designation, e.g. "COM1" (IEEE 315 class letters where one fits).
    pub tag: String,
    /// What it is, e.g. "Landing light".
    pub title: String,
    /// Its kind, which decides how it is drawn and grouped.
    pub kind: DeviceKind,
    /// Its place in the aircraft.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub place: Option<PlaceId>,
    /// True if it must survive any single failure.
    #[serde(default)]
    pub critical: bool,
    /// True if the pilot can reach it in flight, such as a breaker in the panel; false if not; not set if nobody said.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub in_reach: Option<bool>,
    /// Devices that must not fail together with this one in any single failure: its standby, its
    /// duplicate.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub independent_of: Vec<DeviceId>,
    /// Connectors that group terminals. An in-line connector has two, its halves.
    #[serde(default)]
    pub connectors: Vec<Connector>,
    /// Every point where a wire can end, in display order.
    #[serde(default)]
    pub terminals: Vec<Terminal>,
    /// The parts inside, between the terminals.
    #[serde(default)]
    pub elements: Vec<Element>,
    /// Weight, kg, mounting hardware included.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub weight_kg: Option<f64>,
    /// Source of its pin table and figures: manual, revision, page.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub source: String,
    /// Note.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub note: String,
    /// Unknown fields.
    #[serde(flatten)]
    pub extra: Extra,
}

impl Device {
    /// A box with this tag and title and nothing else set.
    pub fn plain(tag: &str, title: &str) -> Self {
        Self {
            tag: tag.trim().to_owned(),
            title: title.trim().to_owned(),
            kind: DeviceKind::Unit,
            place: None,
            critical: false,
            in_reach: None,
            independent_of: Vec::new(),
            connectors: Vec::new(),
            terminals: Vec::new(),
            elements: Vec::new(),
            weight_kg: None,
            source: String::new(),
            note: String::new(),
            extra: Extra::new(),
        }
    }

    /// Changes its tag; labels equal to the old tag follow.
    pub fn set_tag(&mut self, tag: String) {
        let labels = (self.connectors.iter_mut().map(|it| &mut it.label))
            .chain(self.elements.iter_mut().map(|it| &mut it.label));
        for label in labels.filter(|label| **label == self.tag) {
            label.clone_from(&tag);
        }
        self.tag = tag;
    }

    /// The terminal with this id.
    pub fn terminal(&self, id: &TerminalId) -> Option<&Terminal> {
        self.terminals.iter().find(|terminal| terminal.id == *id)
    }

    /// The connector with this id.
    pub fn connector(&self, id: &ConnectorId) -> Option<&Connector> {
        self.connectors.iter().find(|connector| connector.id == *id)
    }

    /// The connector of a terminal of this device; `None` for a loose terminal.
    pub fn connector_of(&self, terminal: &Terminal) -> Option<&Connector> {
        self.connector(terminal.connector.as_ref()?)
    }

    /// The element with this id.
    pub fn element(&self, id: &ElementId) -> Option<&Element> {
        self.elements.iter().find(|element| element.id == *id)
    }
}

/// Kind of device, which decides how it is drawn and grouped. Its elements say what it does.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[cfg_attr(feature = "cli", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum DeviceKind {
    /// Battery.
    Battery,
    /// Alternator or generator.
    Alternator,
    /// Motor, starter motor.
    Motor,
    /// Bus bar, with or without its breakers or fuses.
    Bus,
    /// Ground block.
    GroundBlock,
    /// Single breaker.
    Breaker,
    /// Single fuse or limiter.
    Fuse,
    /// Switch.
    Switch,
    /// Relay or contactor.
    Relay,
    /// Diode.
    Diode,
    /// Resistor, shunt, dimmer.
    Resistor,
    /// Lamp, light.
    Lamp,
    /// Headset or other jack.
    Jack,
    /// Two connector halves that mate.
    InlineConnector,
    /// Sensor, probe, sender.
    Sensor,
    /// Antenna.
    Antenna,
    /// Any other unit: radio, display, intercom, servo, port.
    Unit,
}

/// A connector of a device, or one half of an in-line connector.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "cli", derive(schemars::JsonSchema))]
pub struct Connector {
    /// Key within the device.
    pub id: ConnectorId,
    /// Its label, e.g. "J112".
    pub label: String,
    /// Its type, e.g. "15-way D-sub".
    #[serde(default)]
    pub style: String,
    /// Continuous current rating of a contact, A, from its data sheet.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub contact_a: Option<f64>,
    /// Thickest conductor that its contacts accept, from the maker's data sheet.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub thickest_awg: Option<Gauge>,
    /// Thinnest conductor that its contacts accept, from the maker's data sheet.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub thinnest_awg: Option<Gauge>,
    /// Whether the half on the wires holds pins or sockets.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub contacts: Option<Contacts>,
    /// How it is keyed, so that it mates only with its own half: position of the key, color, polarizing posts.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub keying: String,
    /// Crimp contact that its cavities take: part number, from the maker's data sheet.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub contact_part: String,
    /// Strip length of its contacts, mm, from the maker's data sheet.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub strip_mm: Option<f64>,
    /// Crimp tool for its contacts.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub tool: String,
    /// Setting of that tool: selector, positioner or die.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub tool_setting: String,
    /// Unknown fields.
    #[serde(flatten)]
    pub extra: Extra,
}

impl Connector {
    /// A connector with this key and label and nothing else set.
    pub fn called(id: ConnectorId, label: impl Into<String>) -> Self {
        Self {
            id,
            label: label.into(),
            style: String::new(),
            contact_a: None,
            thickest_awg: None,
            thinnest_awg: None,
            contacts: None,
            keying: String::new(),
            contact_part: String::new(),
            strip_mm: None,
            tool: String::new(),
            tool_setting: String::new(),
            extra: Extra::new(),
        }
    }

    /// Whether a conductor fits its contacts; `None` if their sizes are not set.
    pub fn takes(&self, gauge: Gauge) -> Option<bool> {
        if self.thickest_awg.is_none() && self.thinnest_awg.is_none() {
            return None;
        }
        let is_thick = self
            .thickest_awg
            .is_some_and(|it| it.is_thinner_than(gauge));
        let is_thin = self
            .thinnest_awg
            .is_some_and(|it| gauge.is_thinner_than(it));
        Some(!is_thick && !is_thin)
    }

    /// Conductor sizes of its contacts in words: "20 to 24 AWG"; empty if not set.
    pub fn taken(&self) -> String {
        match (self.thickest_awg, self.thinnest_awg) {
            (Some(thick), Some(thin)) if thick != thin => format!("{thick} to {thin} AWG"),
            (Some(only), Some(_)) => format!("{only} AWG"),
            (Some(thick), None) => format!("{thick} AWG or thinner"),
            (None, Some(thin)) => format!("{thin} AWG or thicker"),
            (None, None) => String::new(),
        }
    }
}

/// Contacts of a connector.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "cli", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum Contacts {
    /// Pins.
    Pins,
    /// Sockets.
    Sockets,
}

/// A pin, stud, tab, screw or lead where wires end.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "cli", derive(schemars::JsonSchema))]
pub struct Terminal {
    /// Key within the device.
    pub id: TerminalId,
    /// Its marking: "1", "+", "STUD".
    pub label: String,
    /// Its function, from the pin table: "RL PHN L".
    #[serde(default)]
    pub name: String,
    /// Its connector; not set for a loose stud or tab.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub connector: Option<ConnectorId>,
    /// Its role.
    pub role: Role,
    /// Its form.
    #[serde(default)]
    pub form: TerminalForm,
    /// How many wires fit; if not set, by its form.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub fits: Option<u32>,
    /// Thread of its stud or screw, which sets the hole of a ring: "#10", "1/4", "M6".
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub stud: String,
    /// True if it is unused by intent and insulated.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub covered: bool,
    /// Bit rate of a data line, bit/s.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub bit_per_s: Option<f64>,
    /// Full level that an audio line sends or needs, V rms.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub level_v: Option<f64>,
    /// Supply that a microphone input feeds to its line, V.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub bias_v: Option<f64>,
    /// Unknown fields.
    #[serde(flatten)]
    pub extra: Extra,
}

impl Terminal {
    /// A loose pin with nothing else set.
    pub fn plain(id: impl Into<TerminalId>, label: impl Into<String>) -> Self {
        Self {
            id: id.into(),
            label: label.into(),
            name: String::new(),
            connector: None,
            role: Role::default(),
            form: TerminalForm::default(),
            fits: None,
            stud: String::new(),
            covered: false,
            bit_per_s: None,
            level_v: None,
            bias_v: None,
            extra: Extra::new(),
        }
    }

    /// How many conductors fit: as set, else four on a stud (AC 43.13-1B par 11-174b), two under a
    /// screw, one in a contact, tab or lead (common practice, no source).
    pub fn fits(&self) -> u32 {
        self.fits.unwrap_or(match self.form {
            TerminalForm::Stud => 4,
            TerminalForm::Screw => 2,
            TerminalForm::Pin | TerminalForm::Tab | TerminalForm::Lead | TerminalForm::Case => 1,
        })
    }
}

/// Form of a terminal.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "cli", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum TerminalForm {
    /// Contact in a connector, or a soldered lug.
    #[default]
    Pin,
    /// Threaded stud.
    Stud,
    /// Screw terminal.
    Screw,
    /// Tab.
    Tab,
    /// Free lead.
    Lead,
    /// The metal case.
    Case,
}

/// Role of a terminal.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[cfg_attr(feature = "cli", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum Role {
    /// Plain: carries whatever is wired to it. Connectors, switches, buses.
    #[default]
    Passive,
    /// Takes power.
    PowerIn,
    /// Gives power.
    PowerOut,
    /// Power return.
    Return,
    /// Signal return.
    SignalReturn,
    /// Audio high.
    AudioHigh,
    /// Audio low.
    AudioLow,
    /// Push-to-talk or other key line.
    KeyLine,
    /// Serial data out.
    SerialTx,
    /// Serial data in.
    SerialRx,
    /// CAN high.
    CanHigh,
    /// CAN low.
    CanLow,
    /// ARINC 429 A.
    #[serde(rename = "arinc429_a")]
    Arinc429A,
    /// ARINC 429 B.
    #[serde(rename = "arinc429_b")]
    Arinc429B,
    /// Discrete input or output with an unspecified action.
    Discrete,
    /// Input that is active when grounded.
    InputGround,
    /// Input that is active when powered.
    InputPower,
    /// Output that switches to ground.
    OutputGround,
    /// Output that supplies power.
    OutputPower,
    /// Sync lead of a flashing light.
    Sync,
    /// Sensor supply or signal.
    SensorPlus,
    /// Sensor return.
    SensorMinus,
    /// Thermocouple positive.
    ThermocouplePlus,
    /// Thermocouple negative.
    ThermocoupleMinus,
    /// Radio frequency.
    Rf,
    /// Shields are grounded here.
    ShieldTie,
    /// Magneto P-lead.
    PLead,
    /// Not used.
    Spare,
}

impl Role {
    /// In words.
    pub fn words(self) -> &'static str {
        match self {
            Self::Passive => "plain",
            Self::PowerIn => "takes power",
            Self::PowerOut => "gives power",
            Self::Return => "return",
            Self::SignalReturn => "signal return",
            Self::AudioHigh => "audio high",
            Self::AudioLow => "audio low",
            Self::KeyLine => "key line",
            Self::SerialTx => "serial TX",
            Self::SerialRx => "serial RX",
            Self::CanHigh => "CAN high",
            Self::CanLow => "CAN low",
            Self::Arinc429A => "ARINC 429 A",
            Self::Arinc429B => "ARINC 429 B",
            Self::Discrete => "discrete",
            Self::InputGround => "input, active when grounded",
            Self::InputPower => "input, active when powered",
            Self::OutputGround => "output, switches to ground",
            Self::OutputPower => "output, supplies power",
            Self::Sync => "sync",
            Self::SensorPlus => "sensor +",
            Self::SensorMinus => "sensor -",
            Self::ThermocouplePlus => "thermocouple +",
            Self::ThermocoupleMinus => "thermocouple -",
            Self::Rf => "radio frequency",
            Self::ShieldTie => "shield ground",
            Self::PLead => "P-lead",
            Self::Spare => "spare",
        }
    }
}

impl Kind for Device {
    fn name_mut(&mut self) -> Option<&mut String> {
        Some(&mut self.tag)
    }

    fn label(&self, _: &dyn Others) -> String {
        self.tag.clone()
    }

    fn search(&self, others: &dyn Others, tell: &mut dyn FnMut(&str, String)) {
        let place = self.place.as_ref().map_or("", |id| others.place_title(id));
        tell(&self.tag, joined([&self.title, place, &self.note]));
        for terminal in self.terminals.iter().filter(|it| !it.name.is_empty()) {
            tell(&self.terminal_label(terminal), terminal.name.clone());
        }
        let own_name = |label: &str| !label.is_empty() && label != self.tag;
        for element in self.elements.iter().filter(|it| own_name(&it.label)) {
            tell(&self.element_label(element), self.title.clone());
        }
    }

    fn check(&self, check: &mut Check<'_>, at: &FieldPath<'_>, id: &str) {
        check.device(at, id, self);
    }
}
