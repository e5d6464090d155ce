//! States, sheets, the log and accepted findings.

use super::{Check, FieldPath};
use crate::{
    document::{
        Accepted, Element, ElementKind, LogEntry, Reading, Revision, Sheet, Shown, State, limits,
        parts::Bound,
    },
    ids::{AcceptedId, LogId, ReadingId, RevisionId, SheetId, StateId},
};

impl Check<'_> {
    pub(super) fn state(&mut self, at: &FieldPath, _: &StateId, state: &State) {
        self.text(at, "title", &state.title);
        let switches = at.field("switches");
        for (key, position) in &state.switches {
            let at = switches.field(key);
            let is_switch = |it: &Element| matches!(it.is, ElementKind::Switch(_));
            let Some(element) = self.state_key(&at, key, "switch", is_switch) else {
                continue;
            };
            if let ElementKind::Switch(switch) = &element.is
                && *position >= switch.positions.len()
            {
                let n = switch.positions.len();
                self.say(
                    &at,
                    format!("found position {position}, but the switch has {n}, counted from 0"),
                );
            }
        }
        let pulled = at.field("pulled");
        for (index, key) in state.pulled.iter().enumerate() {
            let is_protector = |it: &Element| matches!(it.is, ElementKind::Protector(_));
            self.state_key(&pulled.index(index), key, "breaker or fuse", is_protector);
        }
        let loads = at.field("loads");
        for key in state.loads.keys() {
            let is_load = |it: &Element| matches!(it.is, ElementKind::Load(_));
            self.state_key(&loads.field(key), key, "load", is_load);
        }
    }

    /// The element that a key of a state names, if it is of the expected kind.
    fn state_key<'s>(
        &mut self,
        at: &FieldPath,
        key: &str,
        kind: &str,
        fits: impl Fn(&Element) -> bool,
    ) -> Option<&'s Element>
    where
        Self: 's,
    {
        let document = self.document;
        let found = document.element_at(key).map(|(_, _, element)| element);
        let found = found.filter(|element| fits(element));
        self.mention(at, kind, key, found.is_some());
        found
    }

    pub(super) fn sheet(&mut self, at: &FieldPath, _: &SheetId, sheet: &Sheet) {
        self.text(at, "title", &sheet.title);
        let items = at.field("items");
        for (id, item) in &sheet.items {
            let at = items.field(id.as_str());
            self.id(&at, id.as_str());
            self.position(&at, item.x_mm, item.y_mm);
            self.shown(&at.field("shows"), &item.shows);
        }
        let held = at.field("held");
        for (wire, stretch) in &sheet.held {
            let at = held.field(wire.as_str());
            let exists = self.document.wires.contains_key(wire);
            self.mention(&at, "wire", wire.as_str(), exists);
            self.position(&at, stretch.x_mm, stretch.y_mm);
        }
        let notes = at.field("notes");
        for (index, note) in sheet.notes.iter().enumerate() {
            let at = notes.index(index);
            self.position(&at, note.x_mm, note.y_mm);
            self.text(&at, "text", &note.text);
        }
    }

    fn position(&mut self, at: &FieldPath, x_mm: f64, y_mm: f64) {
        for (field, value) in [("x_mm", x_mm), ("y_mm", y_mm)] {
            let most = limits::MAX_SHEET_MM;
            if !Bound::Finite.holds(value) || value.abs() > most {
                self.say(
                    &at.field(field),
                    format!("found {value}, expected a number from -{most} to {most}"),
                );
            }
        }
    }

    fn shown(&mut self, at: &FieldPath, shows: &Shown) {
        let document = self.document;
        match shows {
            Shown::Device {
                device, terminals, ..
            } => {
                let at = at.field("device");
                let Some(found) = document.devices.get(device) else {
                    return self.mention(&at.field("device"), "device", device.as_str(), false);
                };
                let all = at.field("terminals");
                for (index, terminal) in terminals.iter().enumerate() {
                    let exists = found.terminal(terminal).is_some();
                    self.mention(&all.index(index), "terminal", terminal.as_str(), exists);
                }
            }
            Shown::Splice(id) => {
                let exists = document.splices.contains_key(id);
                self.mention(&at.field("splice"), "splice", id.as_str(), exists);
            }
            Shown::Structure(id) => self.place_mention(&at.field("structure"), id),
        }
    }

    pub(super) fn log_entry(&mut self, at: &FieldPath, _: &LogId, entry: &LogEntry) {
        self.text(at, "date", &entry.date);
        self.text(at, "who", &entry.who);
        self.text(at, "text", &entry.text);
        self.number(at, "hours", entry.hours, Bound::NotNegative);
        let results = at.field("results");
        for (index, result) in entry.results.iter().enumerate() {
            let at = results.index(index);
            self.text(&at, "what", &result.what);
            self.text(&at, "expected", &result.expected);
            self.text(&at, "measured", &result.measured);
        }
    }

    pub(super) fn reading(&mut self, at: &FieldPath, _: &ReadingId, reading: &Reading) {
        self.end(&at.field("from"), &reading.from);
        self.end(&at.field("to"), &reading.to);
        self.number(at, "value", reading.value, Bound::Finite);
        self.text(at, "who", &reading.who);
        self.text(at, "date", &reading.date);
    }

    pub(super) fn revision(&mut self, at: &FieldPath, _: &RevisionId, revision: &Revision) {
        self.text(at, "date", &revision.date);
        self.text(at, "who", &revision.who);
        self.text(at, "reason", &revision.reason);
        self.text(at, "name", &revision.name);
        let content = at.field("content");
        for (index, piece) in revision.content.iter().enumerate() {
            self.text(&content, &index.to_string(), piece);
        }
    }

    pub(super) fn accepted(&mut self, at: &FieldPath, _: &AcceptedId, accepted: &Accepted) {
        self.text(at, "rule", &accepted.rule);
        self.text(at, "reason", &accepted.reason);
        self.text(at, "who", &accepted.who);
        self.text(at, "date", &accepted.date);
        self.number(at, "measured", accepted.measured, Bound::Finite);
        self.number(at, "limit", accepted.limit, Bound::Finite);
        if accepted.reason.trim().is_empty() {
            self.say(&at.field("reason"), "expected a reason");
        }
    }
}
