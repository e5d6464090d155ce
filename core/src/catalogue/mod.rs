//! The device catalog as data: one file per family, one entry per part.
//!
//! Pin numbers and figures are typical, invented values, and each figure's origin says so. The
//! builder replaces them with those of the unit's manual or data plate.

use crate::order::InOrder;
use std::sync::LazyLock;

use serde::Deserialize;
use serde_json::Value;

use crate::document::{Device, ValueOrigin, folded, read::read};

/// A kind of device, ready to add to an aircraft.
#[derive(Clone, Debug, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Part {
    /// Key within the catalog; never changes.
    pub id: String,
    /// What it is, in words.
    pub name: String,
    /// Other search words.
    pub words: String,
    /// The family it belongs to, in words.
    #[serde(skip)]
    pub family: &'static str,
    /// The device. Its tag holds the class letters only.
    device: Device,
}

impl Part {
    /// A device of this kind, tagged as the first of its class: IEEE 315 letters and a number, e.g.
    /// "CB1".
    pub fn device(&self) -> Device {
        let mut device = self.device.clone();
        device.set_tag(format!("{}1", device.tag));
        device
    }

    /// Where its pin table and figures come from.
    pub fn source(&self) -> &str {
        &self.device.source
    }
}

/// A family's file cannot be read.
#[derive(Debug, thiserror::Error)]
#[error("catalog file {family}.json: {why}")]
pub struct CatalogueError {
    /// The file, without its extension.
    pub family: &'static str,
    /// What is wrong, and where.
    pub why: String,
}

macro_rules! families {
    ($($family:literal: $words:literal),* $(,)?) => {
        /// Families with their titles and the text of their files, in display order.
        const FAMILIES: &[(&str, &str, &str)] = &[
            $(($family, $words, include_str!(concat!($family, ".json"))),)*
        ];
    };
}

families!(
    "sources": "Batteries, alternators, starter",
    "protection": "Breakers, fuses, buses, grounds",
    "switching": "Switches, relays, contactors",
    "audio": "Intercom, jacks, speaker",
    "avionics": "Radios, displays, charging ports",
    "lights": "Lights",
    "motors": "Motors, pumps, heaters",
    "sensors": "Engine sensors, ignition",
    "connectors": "Connectors, units of your own",
);

fn read_family(family: &'static str, text: &str) -> Result<Vec<Part>, CatalogueError> {
    let wrong = |why| CatalogueError { family, why };
    let tree: Value =
        serde_json::from_slice(text.as_bytes()).map_err(|error| wrong(error.to_string()))?;
    read(&tree).map_err(|fault| wrong(fault.to_string()))
}

fn read_all() -> Result<Vec<Part>, CatalogueError> {
    let mut parts = Vec::new();
    for (family, words, text) in FAMILIES {
        let read = read_family(family, text)?;
        for mut part in read {
            part.family = words;
            part.device.mark(ValueOrigin::Catalogue);
            parts.push(part);
        }
    }
    Ok(parts)
}

static PARTS: LazyLock<Vec<Part>> = LazyLock::new(|| {
    read_all().expect("the files are part of the program, and a test reads every one of them")
});

/// Every part, family by family. Read on first use.
pub fn all() -> &'static [Part] {
    &PARTS
}

/// The part with this key.
pub fn get(id: &str) -> Option<&'static Part> {
    all().iter().find(|part| part.id == id)
}

/// The parts with every word of `text` in their name, tag, search words or title. Those whose name
/// begins with it come first. All parts if there is no word.
pub fn search(text: &str) -> Vec<&'static Part> {
    let text = folded(text.trim());
    let wanted: Vec<&str> = text.split_whitespace().collect();
    let mut found: Vec<&Part> = all()
        .iter()
        .filter(|part| {
            let Part { name, words, .. } = part;
            let Device { tag, title, .. } = &part.device;
            let have = folded(&format!("{name} {words} {tag} {title}"));
            wanted.iter().all(|word| have.contains(word))
        })
        .collect();
    // Stable: catalog order within each of the two groups.
    found.order_by_key(|part| !folded(&part.name).starts_with(&text));
    found
}

#[cfg(test)]
mod tests;
