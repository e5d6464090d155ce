//! States: phases of flight and of tests.

use serde::{Deserialize, Serialize};

use super::{
    Element, ElementKind, Extra,
    invariants::{Check, FieldPath},
    kind::Kind,
    others::Others,
};
use crate::order::Map;

/// A phase of flight or of a test: the position of every control that a person can move.
///
/// Keys name an element as `DEVICE/ELEMENT`.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "cli", derive(schemars::JsonSchema))]
pub struct State {
    /// Its name.
    pub title: String,
    /// Sort order, low first.
    #[serde(default)]
    pub order: i64,
    /// True if the engine turns the alternators.
    #[serde(default)]
    pub alternators_on: bool,
    /// The alternator-out case that it represents, if any.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub after_alternator: Option<AfterAlternator>,
    /// Switch positions by index; a switch not named is in its rest position.
    #[serde(default)]
    pub switches: Map<String, usize>,
    /// Breakers pulled, fuses removed.
    #[serde(default)]
    pub pulled: Vec<String>,
    /// Use of loads that do not take their continuous current. A load not named takes it (or
    /// nothing, if it has no continuous figure).
    #[serde(default)]
    pub loads: Map<String, LoadUse>,
    /// Unknown fields.
    #[serde(flatten)]
    pub extra: Extra,
}

/// Use of a load in a state.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "cli", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum LoadUse {
    /// Nothing, switched off at the unit.
    Off,
    /// Its continuous current.
    Continuous,
    /// Its intermittent current.
    Intermittent,
    /// Its peak current.
    Peak,
}

/// What the pilot has done after the alternator stopped.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[cfg_attr(feature = "cli", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum AfterAlternator {
    /// Nothing: everything stays on.
    NothingDone,
    /// The main bus is off, nothing else changed.
    MainBusShed,
    /// Only essential loads are on.
    EssentialOnly,
}

impl State {
    /// Index of the position of a switch, by its key; `rest` unless the state sets another.
    pub fn position(&self, key: &str, rest: usize) -> usize {
        self.switches.get(key).copied().unwrap_or(rest)
    }
}

impl Kind for State {
    fn name_mut(&mut self) -> Option<&mut String> {
        Some(&mut self.title)
    }

    fn label(&self, _: &dyn Others) -> String {
        self.title.clone()
    }

    // Nothing on screen to lead to.
    fn search(&self, _: &dyn Others, _: &mut dyn FnMut(&str, String)) {}

    fn check(&self, check: &mut Check<'_>, at: &FieldPath<'_>, _: &str) {
        check.text(at, "title", &self.title);
        let switches = at.field("switches");
        for (key, position) in &self.switches {
            let at = switches.field(key);
            let is_switch = |it: &Element| matches!(it.is, ElementKind::Switch(_));
            let Some(element) = state_key(check, &at, key, "switch", is_switch) else {
                continue;
            };
            if let ElementKind::Switch(switch) = &element.is
                && *position >= switch.positions.len()
            {
                let n = switch.positions.len();
                check.say(
                    &at,
                    format!("found position {position}, but the switch has {n}, counted from 0"),
                );
            }
        }
        let pulled = at.field("pulled");
        for (index, key) in self.pulled.iter().enumerate() {
            let is_protector = |it: &Element| matches!(it.is, ElementKind::Protector(_));
            state_key(
                check,
                &pulled.index(index),
                key,
                "breaker or fuse",
                is_protector,
            );
        }
        let loads = at.field("loads");
        for key in self.loads.keys() {
            let is_load = |it: &Element| matches!(it.is, ElementKind::Load(_));
            state_key(check, &loads.field(key), key, "load", is_load);
        }
    }
}

/// The element that a key of a state names, if it is of the expected kind.
fn state_key<'d>(
    check: &mut Check<'d>,
    at: &FieldPath<'_>,
    key: &str,
    kind: &str,
    fits: impl Fn(&Element) -> bool,
) -> Option<&'d Element> {
    let found = check.others.element(key).filter(|element| fits(element));
    check.mention(at, kind, key, found.is_some());
    found
}
