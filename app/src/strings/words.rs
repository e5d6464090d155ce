//! Words for the choices in the details, made from the names that files use.

use loomwright_core::{
    document::{Origin, Role, read::read},
    units::Gauge,
};
use serde::{Serialize, de::DeserializeOwned};

/// A choice's value as written in a file.
pub fn key_of<T: Serialize>(value: &T) -> String {
    match serde_json::to_value(value) {
        Ok(serde_json::Value::String(text)) => text,
        _ => String::new(),
    }
}

/// The choice with this value.
pub fn value_of<T: DeserializeOwned>(key: &str) -> Option<T> {
    let value = serde_json::Value::String(key.to_owned());
    read(&value).ok()
}

/// A value in words: "audio_high" is "audio high".
pub fn words(key: &str) -> String {
    if let Some(role) = value_of::<Role>(key) {
        return role.words().into();
    }
    match key {
        "" => "from its name".into(),
        "type_k_positive" => "type K positive".into(),
        "type_k_negative" => "type K negative".into(),
        "type_j_positive" => "type J positive".into(),
        "type_j_negative" => "type J negative".into(),
        "protector" => "breaker or fuse".into(),
        "bar" => "internal joint".into(),
        "tied" => "grounded".into(),
        "carried" => "carried through".into(),
        "a4" => "A4".into(),
        "a3" => "A3".into(),
        "end_a" => "first end done".into(),
        "end_b" => "both ends done".into(),
        key => key.replace('_', " "),
    }
}

/// Where a figure comes from, in words.
pub fn origin(origin: Origin) -> String {
    words(&key_of(&origin))
}

/// Choices with their words.
pub fn choices(keys: &[&str]) -> Vec<(String, String)> {
    keys.iter()
        .map(|key| ((*key).to_owned(), words(key)))
        .collect()
}

/// Sizes of wire with their words.
pub fn gauges() -> Vec<(String, String)> {
    let known = Gauge::ALL.iter();
    known
        .map(|gauge| (gauge.0.to_string(), format!("{gauge} AWG")))
        .collect()
}

/// Roles of a terminal.
pub const ROLES: &[&str] = &[
    "passive",
    "power_in",
    "power_out",
    "return",
    "signal_return",
    "audio_high",
    "audio_low",
    "key_line",
    "serial_tx",
    "serial_rx",
    "can_high",
    "can_low",
    "arinc429_a",
    "arinc429_b",
    "discrete",
    "input_ground",
    "input_power",
    "output_ground",
    "output_power",
    "sync",
    "sensor_plus",
    "sensor_minus",
    "thermocouple_plus",
    "thermocouple_minus",
    "rf",
    "shield_tie",
    "p_lead",
    "spare",
];
/// Kinds of device.
pub const DEVICE_KINDS: &[&str] = &[
    "battery",
    "alternator",
    "motor",
    "bus",
    "ground_block",
    "breaker",
    "fuse",
    "switch",
    "relay",
    "diode",
    "resistor",
    "lamp",
    "jack",
    "inline_connector",
    "sensor",
    "antenna",
    "unit",
];
/// Kinds of cable.
pub const CABLE_KINDS: &[&str] = &[
    "jacketed",
    "twisted",
    "shielded",
    "twisted_shielded",
    "coaxial",
    "thermocouple",
];
/// How far a wire is built.
pub const STATUS: &[&str] = &[
    "planned", "cut", "marked", "end_a", "end_b", "routed", "tested",
];
/// What a conductor is made of.
pub const CONDUCTORS: &[&str] = &[
    "copper",
    "type_k_positive",
    "type_k_negative",
    "type_j_positive",
    "type_j_negative",
    "coax",
];
/// Where a figure comes from.
pub const ORIGINS: &[&str] = &["estimate", "manual", "data_plate", "measured"];
/// How a load's current follows its voltage.
pub const LAWS: &[&str] = &["constant_power", "constant_current", "resistance"];
/// What can be put between two terminals.
pub const ELEMENTS: &[&str] = &["load", "switch", "protector", "resistor", "diode", "bar"];
/// What sort of load it is.
pub const SORTS: &[&str] = &["electronic", "lamp", "motor", "inductive", "resistive"];
/// What a load's current does to the audio; the first says nothing.
pub const PULSES: &[&str] = &["", "steady", "flashes", "charges", "transmits"];
/// Plain colors of insulation.
pub const COLOURS: &[&str] = &[
    "white",
    "black",
    "red",
    "blue",
    "orange",
    "yellow",
    "green",
    "brown",
    "violet",
    "gray",
    "white/blue",
    "white/orange",
    "white/green",
    "white/black",
    "white/red",
];
/// Paper sizes.
pub const PAPERS: &[&str] = &["a4", "a3", "letter", "tabloid"];

#[cfg(test)]
mod tests {
    use loomwright_core::document::{
        BuildStatus, CableKind, ConductorKind, DeviceKind, LoadLaw, LoadSort, Origin, Pulses, Role,
        SheetSize,
    };

    use super::*;

    fn all_read<T: Serialize + DeserializeOwned>(keys: &[&str]) {
        for key in keys {
            let value: T = value_of(key).unwrap_or_else(|| panic!("{key} is no value"));
            assert_eq!(key_of(&value), *key);
        }
    }

    #[test]
    fn every_choice_is_a_value_of_the_format() {
        all_read::<Role>(ROLES);
        all_read::<DeviceKind>(DEVICE_KINDS);
        all_read::<CableKind>(CABLE_KINDS);
        all_read::<BuildStatus>(STATUS);
        all_read::<ConductorKind>(CONDUCTORS);
        all_read::<Origin>(ORIGINS);
        all_read::<LoadLaw>(LAWS);
        all_read::<LoadSort>(SORTS);
        all_read::<Pulses>(&PULSES[1..]);
        all_read::<SheetSize>(PAPERS);
    }

    #[test]
    fn a_role_has_one_name_here_and_on_paper() {
        for key in ROLES {
            let role: Role = value_of(key).expect("a role of the format");
            assert_eq!(words(key), role.words());
        }
    }
}
