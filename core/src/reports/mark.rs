//! What a check box or a field of a paper records, as a key that the page carries and returns.

use serde_json::{Value, json};

use crate::{
    document::{BuildStatus, CableStep, End, Test},
    ids::{CableId, WireId},
};

/// What a person checks off or enters.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Mark {
    /// A step of a wire is done.
    Step(WireId, BuildStatus),
    /// The amount in stock, for a line of the order list.
    Stock(String),
    /// A meter reading, and the switch that is moved from rest for it.
    Read(Test, End, End, Option<(String, usize)>),
    /// The ohms from the barrel of a jack to the panel, before it is wired.
    BeforeWiring(End, End),
    /// A step of a cable is done.
    Cable(CableId, CableStep),
}

impl Mark {
    /// The key.
    pub fn key(&self) -> String {
        let value = match self {
            Self::Step(wire, status) => json!(["step", wire.as_str(), status.words()]),
            Self::Stock(item) => json!(["stock", item]),
            Self::BeforeWiring(from, to) => {
                json!(["before_wiring", from.to_string(), to.to_string()])
            }
            Self::Cable(cable, step) => {
                let named = CableStep::ALL.iter().find(|(it, _)| it == step);
                json!(["cable", cable.as_str(), named.map_or("", |(_, name)| *name)])
            }
            Self::Read(test, from, to, position) => {
                let (switch, at) = position.clone().unwrap_or_default();
                json!([
                    "read",
                    test.name(),
                    from.to_string(),
                    to.to_string(),
                    switch,
                    at.to_string()
                ])
            }
        };
        value.to_string()
    }

    /// The mark of a key; none if the key is not one of ours.
    pub fn of(key: &str) -> Option<Self> {
        let value: Value = serde_json::from_slice(key.as_bytes()).ok()?;
        let parts: Vec<&str> = value.as_array()?.iter().filter_map(Value::as_str).collect();
        match parts.as_slice() {
            ["step", wire, step] => {
                let mut all = BuildStatus::ALL.into_iter();
                Some(Self::Step(
                    (*wire).into(),
                    all.find(|it| it.words() == *step)?,
                ))
            }
            ["stock", item] => Some(Self::Stock((*item).to_owned())),
            ["before_wiring", from, to] => {
                Some(Self::BeforeWiring(from.parse().ok()?, to.parse().ok()?))
            }
            ["cable", cable, step] => {
                let (step, _) = CableStep::ALL.iter().find(|(_, name)| name == step)?;
                Some(Self::Cable((*cable).into(), *step))
            }
            ["read", test, from, to, switch, at] => Some(Self::Read(
                Test::named(test)?,
                from.parse().ok()?,
                to.parse().ok()?,
                match *switch {
                    "" => None,
                    switch => Some((switch.to_owned(), at.parse().ok()?)),
                },
            )),
            _ => None,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_key_gives_back_the_mark_it_was_made_from() {
        let end = |text: &str| text.parse().expect("an end");
        for mark in [
            Mark::Step("w 1\"x".into(), BuildStatus::EndA),
            Mark::Stock("Wire: 22 AWG <white>".into()),
            Mark::BeforeWiring(end("terminal:jk5/s"), end("structure:panel")),
            Mark::Cable("c 1".into(), CableStep::ShieldTo),
            Mark::Read(Test::Isolation, end("terminal:a b/1"), End::Open, None),
            Mark::Read(
                Test::Continuity,
                end("splice:s"),
                End::Open,
                Some(("s10/switch".into(), 3)),
            ),
        ] {
            assert_eq!(Mark::of(&mark.key()), Some(mark));
        }
        for wrong in ["", "[]", "[\"read\",\"x\",\"open\",\"open\"]", "{}"] {
            assert_eq!(Mark::of(wrong), None, "{wrong}");
        }
    }
}
