//! The first check of a file: is it complete, is it ours, is it within the limits, is every key
//! unique. Builds nothing.

use std::{collections::BTreeSet, fmt};

use serde::de::{DeserializeSeed, Deserializer, Error, MapAccess, SeqAccess, Visitor};

use super::{FORMAT, OpenError};
use crate::document::{invariants::FieldPath, limits};

/// The objects of a file that hold records, keyed by id.
const RECORDS: [&str; 12] = [
    "places",
    "devices",
    "wires",
    "cables",
    "splices",
    "routes",
    "states",
    "sheets",
    "log",
    "accepted",
    "readings",
    "revisions",
];

/// Checks a file and returns its version.
pub(super) fn header(bytes: &[u8]) -> Result<u64, OpenError> {
    let mut scan = Scan::default();
    scan.run(bytes).map_err(|error| {
        let path = scan.fault.take().unwrap_or_else(|| ".".into());
        OpenError::from_json(&error, path)
    })?;
    match scan.format.as_deref() {
        Some(format) if format == FORMAT => {}
        format => {
            return Err(OpenError::NotOurs {
                line: line_of(bytes, "format"),
                found: format.map_or("nothing there".into(), |f| format!("found {f:?}")),
            });
        }
    }
    let line = line_of(bytes, "version");
    match scan.version {
        Some(version) if version > 0 => Ok(version),
        _ => Err(OpenError::Field {
            line,
            path: "version".into(),
            why: "expected a whole number, 1 or more".into(),
            more: 0,
        }),
    }
}

/// The line, from 1, of a field; if it is missing, that of the object it belongs in.
pub(super) fn line_of(bytes: &[u8], path: &str) -> usize {
    let mut goal = path;
    loop {
        let mut scan = Scan {
            goal: Some(goal),
            ..Scan::default()
        };
        match scan.run(bytes) {
            Err(error) if scan.fault.as_deref() == Some(goal) => return error.line(),
            _ => match goal.rfind(['.', '[']) {
                Some(end) if end > 0 => goal = &goal[..end],
                _ => return 1,
            },
        }
    }
}

#[derive(Default)]
struct Scan<'g> {
    format: Option<String>,
    version: Option<u64>,
    records: usize,
    /// The place of the first error.
    fault: Option<String>,
    /// The place to stop at, as if it were an error.
    goal: Option<&'g str>,
}

impl Scan<'_> {
    fn run(&mut self, bytes: &[u8]) -> Result<(), serde_json::Error> {
        let mut deserializer = serde_json::Deserializer::from_slice(bytes);
        let top = Value {
            scan: self,
            at: FieldPath::TOP,
        };
        top.deserialize(&mut deserializer)?;
        deserializer.end()
    }

    fn wrong<E: Error>(&mut self, at: &FieldPath, why: impl fmt::Display) -> E {
        self.fault = Some(at.to_string());
        E::custom(why)
    }
}

/// One value during the scan.
struct Value<'a, 's, 'g> {
    scan: &'s mut Scan<'g>,
    at: FieldPath<'a>,
}

/// Stops here if this is the wanted place.
fn arrive<E: Error>(scan: &mut Scan, at: &FieldPath) -> Result<(), E> {
    match scan.goal {
        Some(goal) if at.to_string() == goal => Err(scan.wrong(at, "here")),
        _ => Ok(()),
    }
}

impl Value<'_, '_, '_> {
    fn arrive<E: Error>(&mut self) -> Result<(), E> {
        arrive(self.scan, &self.at)
    }

    fn enter<E: Error>(&mut self) -> Result<usize, E> {
        self.arrive()?;
        let depth = self.at.depth();
        if depth >= limits::MAX_DEPTH {
            let most = limits::MAX_DEPTH;
            return Err(self.scan.wrong(
                &self.at,
                format_args!("nested more than {most} levels deep, expected less"),
            ));
        }
        Ok(depth)
    }
}

impl<'de> DeserializeSeed<'de> for Value<'_, '_, '_> {
    type Value = ();

    fn deserialize<D: Deserializer<'de>>(self, deserializer: D) -> Result<(), D::Error> {
        deserializer.deserialize_any(self)
    }
}

impl<'de> Visitor<'de> for Value<'_, '_, '_> {
    type Value = ();

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("JSON")
    }

    fn visit_bool<E: Error>(mut self, _: bool) -> Result<(), E> {
        self.arrive()
    }

    fn visit_unit<E: Error>(mut self) -> Result<(), E> {
        self.arrive()
    }

    fn visit_i64<E: Error>(mut self, _: i64) -> Result<(), E> {
        self.arrive()
    }

    fn visit_u64<E: Error>(mut self, number: u64) -> Result<(), E> {
        self.arrive()?;
        if self.at.depth() == 1 && self.at.name() == Some("version") {
            self.scan.version = Some(number);
        }
        Ok(())
    }

    fn visit_f64<E: Error>(mut self, _: f64) -> Result<(), E> {
        self.arrive()
    }

    fn visit_str<E: Error>(mut self, text: &str) -> Result<(), E> {
        self.arrive()?;
        if !limits::text_fits(text) {
            let (found, most) = (text.chars().count(), limits::MAX_TEXT);
            return Err(self.scan.wrong(
                &self.at,
                format_args!("found a text of {found} characters, expected at most {most}"),
            ));
        }
        if self.at.depth() == 1 && self.at.name() == Some("format") {
            self.scan.format = Some(text.chars().take(80).collect());
        }
        Ok(())
    }

    fn visit_seq<A: SeqAccess<'de>>(mut self, mut seq: A) -> Result<(), A::Error> {
        self.enter()?;
        let mut index = 0;
        while let Some(()) = seq.next_element_seed(Value {
            at: self.at.index(index),
            scan: &mut *self.scan,
        })? {
            index += 1;
        }
        Ok(())
    }

    fn visit_map<A: MapAccess<'de>>(mut self, mut map: A) -> Result<(), A::Error> {
        let depth = self.enter()?;
        let holds_records = depth == 1 && self.at.name().is_some_and(|n| RECORDS.contains(&n));
        let mut seen = BTreeSet::new();
        while let Some(key) = map.next_key::<String>()? {
            let at = self.at.field(&key);
            if !limits::text_fits(&key) {
                return Err(self.scan.wrong(&self.at, "a field's name is too long"));
            }
            // Here, before the value, the parser is still on the line of the key.
            arrive(self.scan, &at)?;
            if seen.contains(&key) {
                return Err(self.scan.wrong(&at, "appears twice, expected once"));
            }
            if holds_records {
                self.scan.records += 1;
                if self.scan.records > limits::MAX_RECORDS {
                    let most = limits::MAX_RECORDS;
                    return Err(self.scan.wrong(
                        &at,
                        format_args!("more than {most} records, expected fewer"),
                    ));
                }
            }
            map.next_value_seed(Value {
                at,
                scan: &mut *self.scan,
            })?;
            seen.insert(key);
        }
        Ok(())
    }
}
