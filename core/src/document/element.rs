//! Elements: the parts inside a device, between its terminals.

use serde::{Deserialize, Serialize};

use super::{Extra, Origins, Reserve};
use crate::ids::{ElementId, TerminalId};

/// One part inside a device.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "cli", derive(schemars::JsonSchema))]
pub struct Element {
    /// Key within the device.
    pub id: ElementId,
    /// Its label, e.g. "CB13"; may be empty.
    #[serde(default)]
    pub label: String,
    /// Its kind and figures.
    pub is: ElementKind,
    /// Unknown fields.
    #[serde(flatten)]
    pub extra: Extra,
}

/// Kind of element.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "cli", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum ElementKind {
    /// Load.
    Load(Load),
    /// Battery.
    Battery(Battery),
    /// Alternator with its regulator.
    Alternator(Alternator),
    /// Breaker, fuse or limiter.
    Protector(Protector),
    /// Switch, any poles and positions.
    Switch(Switch),
    /// Coil of a relay or contactor.
    Coil(Coil),
    /// Contact operated by a coil of the same device.
    Contact(Contact),
    /// Diode.
    Diode(Diode),
    /// Metal that joins terminals: bus bar, ground block, internal joint.
    Bar(Bar),
    /// Shunt.
    Shunt(Shunt),
    /// Resistor, such as a data-bus terminator.
    Resistor(Resistor),
    /// Jack.
    Jack(Jack),
    /// A mated pair of pins of an in-line connector.
    Mate(Mate),
    /// Link from a terminal to the metal of the device's place.
    StructureTie(StructureTie),
    /// Over-voltage module that shorts its own supply, so that the breaker of that supply opens.
    OverVoltage(OverVoltage),
}

/// Source of a figure.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[cfg_attr(feature = "cli", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum Origin {
    /// Estimated.
    Estimate,
    /// From the maker's manual.
    Manual,
    /// From the data plate.
    DataPlate,
    /// Measured on this unit.
    Measured,
}

/// A current with its source.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "cli", derive(schemars::JsonSchema))]
pub struct Figure {
    /// Current, A.
    pub amps: f64,
    /// Its source.
    pub origin: Origin,
    /// Unknown fields.
    #[serde(flatten)]
    pub extra: Extra,
}

/// How a load's current depends on its voltage.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "cli", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum LoadLaw {
    /// Takes constant power: avionics, switching supplies, LED drivers.
    ConstantPower,
    /// Takes constant current.
    ConstantCurrent,
    /// A resistance: heaters, filament lamps.
    Resistance,
}

/// Load type, for switch rating factors (AC 43.13-1B Table 11-4).
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "cli", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum LoadSort {
    /// Electronics.
    #[default]
    Electronic,
    /// Filament lamp.
    Lamp,
    /// Motor.
    Motor,
    /// Coil or solenoid.
    Inductive,
    /// Heater.
    Resistive,
}

/// Noise type of a load, for the noise review.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "cli", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum Pulses {
    /// It flashes: strobe, beacon.
    Flashes,
    /// It charges something through a switching supply.
    Charges,
    /// It transmits.
    Transmits,
    /// It is steady.
    Steady,
}

/// A load between two terminals. Its figures are for `at_v`.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "cli", derive(schemars::JsonSchema))]
pub struct Load {
    /// The side that takes power.
    pub plus: TerminalId,
    /// The return side.
    pub minus: TerminalId,
    /// How current depends on voltage.
    pub law: LoadLaw,
    /// Its load type.
    #[serde(default)]
    pub sort: LoadSort,
    /// Continuous current.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub continuous_a: Option<Figure>,
    /// Intermittent current.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub intermittent_a: Option<Figure>,
    /// Duty cycle of the intermittent current, such as transmitting: 0 to 1. Used in endurance
    /// only; 0 if not set.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub duty: Option<f64>,
    /// Highest current, for seconds.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub peak_a: Option<Figure>,
    /// Voltage of these figures, V.
    pub at_v: f64,
    /// Voltage below which it stops working, V.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub cutoff_v: Option<f64>,
    /// Noise type; found from the device's name and pins if not set.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub pulses: Option<Pulses>,
    /// True if it works in either polarity (lamp, heater, reversing motor).
    #[serde(default)]
    pub either_way: bool,
    /// Unknown fields.
    #[serde(flatten)]
    pub extra: Extra,
}

/// Chemistry of a battery.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "cli", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum Chemistry {
    /// Lead-acid.
    #[default]
    LeadAcid,
    /// Lithium iron phosphate, with electronics of its own.
    LithiumIronPhosphate,
}

/// A battery: open-circuit voltage in series with a resistance.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "cli", derive(schemars::JsonSchema))]
pub struct Battery {
    /// Positive post.
    pub plus: TerminalId,
    /// Negative post.
    pub minus: TerminalId,
    /// Open-circuit voltage, V.
    pub emf_v: f64,
    /// Internal resistance, ohm.
    pub ohm: f64,
    /// Resistance while charging, ohm; much higher than `ohm`. 0.3 if not set (assumed).
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub charge_ohm: Option<f64>,
    /// Capacity, Ah.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub capacity_ah: Option<f64>,
    /// Its chemistry; lead-acid if not set.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub chemistry: Option<Chemistry>,
    /// Current at which its electronics disconnect it at once, A; not set if nobody gave it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub opens_above_a: Option<f64>,
    /// Current at which its electronics disconnect it after seconds, A; not set if nobody gave it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub opens_slowly_above_a: Option<f64>,
    /// Voltage at its posts below which its electronics disconnect it, V; not set if nobody gave it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub opens_below_v: Option<f64>,
    /// Voltage at its posts above which its electronics disconnect it, V; not set if nobody gave it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub opens_above_v: Option<f64>,
    /// Highest charging current that its maker allows, A; not set if nobody gave it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub charge_limit_a: Option<f64>,
    /// Its reserve after the alternator stops.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub reserve: Option<Reserve>,
    /// Unknown fields.
    #[serde(flatten)]
    pub extra: Extra,
}

/// An alternator with its regulator.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "cli", derive(schemars::JsonSchema))]
pub struct Alternator {
    /// Output.
    pub plus: TerminalId,
    /// Return, usually its case.
    pub minus: TerminalId,
    /// Field or enable terminal: without voltage here there is no output.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub field: Option<TerminalId>,
    /// Set point of the regulator, V.
    pub set_v: f64,
    /// Resistance of the regulated output, ohm.
    pub ohm: f64,
    /// Highest current, A.
    pub limit_a: f64,
    /// True if something takes it off line when its voltage is too high; not set if nobody said.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub over_voltage_trip: Option<bool>,
    /// True if something in the cockpit warns that it gives nothing, or of low volts; not set if nobody said.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub failure_warning: Option<bool>,
    /// Unknown fields.
    #[serde(flatten)]
    pub extra: Extra,
}

/// Kind of protection.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "cli", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum ProtectorStyle {
    /// Breaker.
    Breaker,
    /// Fuse.
    Fuse,
    /// Current limiter: a slow, heavy fuse.
    Limiter,
}

/// Breaker, fuse or limiter.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "cli", derive(schemars::JsonSchema))]
pub struct Protector {
    /// Supply side.
    pub line: TerminalId,
    /// Protected side.
    pub load: TerminalId,
    /// Rating, A; not set if nobody gave it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub rating_a: Option<f64>,
    /// Its kind: breaker, fuse or limiter.
    pub style: ProtectorStyle,
    /// Resistance when closed, ohm; 0.002 if not set (assumed, no published single value).
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub ohm: Option<f64>,
    /// Trip time at twice its rating, s, from the maker's data sheet.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub trip_s: Option<f64>,
    /// Origins of its values that were not typed.
    #[serde(default, skip_serializing_if = "Origins::is_empty")]
    pub origins: Origins,
    /// Unknown fields.
    #[serde(flatten)]
    pub extra: Extra,
}

/// A rating in words: "7.5 A", "rating not set".
pub fn rating(rating_a: Option<f64>) -> String {
    rating_a.map_or("rating not set".into(), |a| format!("{a} A"))
}

/// One position of a switch.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "cli", derive(schemars::JsonSchema))]
pub struct SwitchPosition {
    /// Its name: "ON", "OFF", "UP".
    pub label: String,
    /// Pairs of terminals connected in this position.
    #[serde(default)]
    pub joins: Vec<[TerminalId; 2]>,
    /// True if the lever or button goes back to rest when it is let go.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub springs_back: bool,
    /// Unknown fields.
    #[serde(flatten)]
    pub extra: Extra,
}

/// A switch with any poles and positions; all poles move together.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "cli", derive(schemars::JsonSchema))]
pub struct Switch {
    /// Positions in order.
    pub positions: Vec<SwitchPosition>,
    /// Index of the position it has unless a state sets another.
    #[serde(default)]
    pub rest: usize,
    /// Contact resistance, ohm; 0.002 if not set (assumed, no published single value).
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub ohm: Option<f64>,
    /// Nominal rating, A.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub rating_a: Option<f64>,
    /// Origins of its values that were not typed.
    #[serde(default, skip_serializing_if = "Origins::is_empty")]
    pub origins: Origins,
    /// Unknown fields.
    #[serde(flatten)]
    pub extra: Extra,
}

/// Coil of a relay or contactor.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "cli", derive(schemars::JsonSchema))]
pub struct Coil {
    /// One end.
    pub a: TerminalId,
    /// The other end.
    pub b: TerminalId,
    /// Resistance, ohm.
    pub ohm: f64,
    /// Voltage at which it pulls in, V.
    pub pull_in_v: f64,
    /// Voltage below which it drops out, V.
    pub drop_out_v: f64,
    /// True if it has a suppressor inside; not set if nobody said.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub suppressed: Option<bool>,
    /// True if its maker allows it to be on for hours, false for seconds; not set if nobody said.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub continuous_duty: Option<bool>,
    /// Unknown fields.
    #[serde(flatten)]
    pub extra: Extra,
}

/// When a contact is closed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "cli", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum Closed {
    /// While the coil is energized.
    Energised,
    /// While the coil is not energized.
    Released,
}

/// A contact operated by a coil of the same device.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "cli", derive(schemars::JsonSchema))]
pub struct Contact {
    /// The coil.
    pub coil: ElementId,
    /// One side.
    pub a: TerminalId,
    /// The other side.
    pub b: TerminalId,
    /// When it is closed.
    pub closed: Closed,
    /// Resistance when closed, ohm; 0.0005 if not set (assumed, no published single value).
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub ohm: Option<f64>,
    /// Nominal rating, A.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub rating_a: Option<f64>,
    /// Origins of its values that were not typed.
    #[serde(default, skip_serializing_if = "Origins::is_empty")]
    pub origins: Origins,
    /// Unknown fields.
    #[serde(flatten)]
    pub extra: Extra,
}

/// A diode.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "cli", derive(schemars::JsonSchema))]
pub struct Diode {
    /// Anode.
    pub anode: TerminalId,
    /// Cathode.
    pub cathode: TerminalId,
    /// Forward voltage at which it starts to conduct, V.
    pub vf_v: f64,
    /// Slope resistance, ohm.
    pub ohm: f64,
    /// Continuous current rating as mounted, A, from the maker's data sheet.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub rating_a: Option<f64>,
    /// Origins of its values that were not typed.
    #[serde(default, skip_serializing_if = "Origins::is_empty")]
    pub origins: Origins,
    /// Unknown fields.
    #[serde(flatten)]
    pub extra: Extra,
}

/// Use of a bar.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "cli", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum BarUse {
    /// Power bus.
    Bus,
    /// Ground block.
    Ground,
    /// Joint inside a unit or backshell.
    Joint,
}

/// Metal that connects terminals with negligible resistance.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "cli", derive(schemars::JsonSchema))]
pub struct Bar {
    /// The terminals it connects.
    pub terminals: Vec<TerminalId>,
    /// Its use.
    pub used_as: BarUse,
    /// Unknown fields.
    #[serde(flatten)]
    pub extra: Extra,
}

/// A shunt for measuring current.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "cli", derive(schemars::JsonSchema))]
pub struct Shunt {
    /// One side.
    pub a: TerminalId,
    /// The other side.
    pub b: TerminalId,
    /// Resistance, ohm.
    pub ohm: f64,
    /// Unknown fields.
    #[serde(flatten)]
    pub extra: Extra,
}

/// A resistor.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "cli", derive(schemars::JsonSchema))]
pub struct Resistor {
    /// One side.
    pub a: TerminalId,
    /// The other side.
    pub b: TerminalId,
    /// Resistance, ohm.
    pub ohm: f64,
    /// Unknown fields.
    #[serde(flatten)]
    pub extra: Extra,
}

/// Use of a jack.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "cli", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum JackUse {
    /// Headphones.
    Phones,
    /// Microphone.
    Mic,
    /// Something else.
    Other,
}

/// A jack. Its bushing, the metal body, is connected to the sleeve.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "cli", derive(schemars::JsonSchema))]
pub struct Jack {
    /// Tip.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub tip: Option<TerminalId>,
    /// Ring.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub ring: Option<TerminalId>,
    /// Sleeve and body.
    pub sleeve: TerminalId,
    /// Its use.
    pub used_for: JackUse,
    /// True if insulating washers separate the body from the metal it is mounted in, false if it touches
    /// that metal; not set if nobody said.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub isolated: Option<bool>,
    /// Hole in the panel for its insulating washers, mm, as their kit says.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub hole_mm: Option<f64>,
    /// Origins of its values that were not typed.
    #[serde(default, skip_serializing_if = "Origins::is_empty")]
    pub origins: Origins,
    /// Unknown fields.
    #[serde(flatten)]
    pub extra: Extra,
}

/// A mated pair of pins.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "cli", derive(schemars::JsonSchema))]
pub struct Mate {
    /// Pin of the first half.
    pub a: TerminalId,
    /// Pin of the second half.
    pub b: TerminalId,
    /// Contact resistance, ohm; 0.001 if not set (assumed, no published single value).
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub ohm: Option<f64>,
    /// Unknown fields.
    #[serde(flatten)]
    pub extra: Extra,
}

/// An over-voltage module: no current below its trip voltage; above it a short, until the breaker upstream opens.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "cli", derive(schemars::JsonSchema))]
pub struct OverVoltage {
    /// The side on the supply that it takes down.
    pub plus: TerminalId,
    /// The return side.
    pub minus: TerminalId,
    /// Voltage at which it trips, V; not set if nobody gave it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub trip_v: Option<f64>,
    /// Unknown fields.
    #[serde(flatten)]
    pub extra: Extra,
}

/// A ground link from a terminal to the metal of its device's place.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "cli", derive(schemars::JsonSchema))]
pub struct StructureTie {
    /// The terminal.
    pub terminal: TerminalId,
    /// Resistance, ohm; 0.0025 if not set (AC 43.13-1B par 11-188f: under 2.5 mΩ).
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub ohm: Option<f64>,
    /// Unknown fields.
    #[serde(flatten)]
    pub extra: Extra,
}
