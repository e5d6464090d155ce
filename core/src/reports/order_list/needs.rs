//! What the order list adds up: needs by kind and item.

use crate::order::Map;

/// One item of the list.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct Need {
    pub(super) amount: f64,
    pub(super) metres: bool,
    pub(super) weight_kg: f64,
    pub(super) note: String,
}

impl Need {
    /// Adds to the note what the item is for.
    pub(super) fn also(&mut self, what: &str) {
        if !self.note.is_empty() {
            self.note += ", ";
        }
        self.note += what;
    }

    /// Adds a remark to the note, once.
    pub(super) fn remark(&mut self, what: &str) {
        if !self.note.contains(what) {
            let after = if self.note.is_empty() { "" } else { "; " };
            self.note += &format!("{after}{what}");
        }
    }
}

/// Needs by kind and item.
pub(super) type Needs = Map<(String, String), Need>;

pub(super) const WIRE: &str = "Wire";
pub(super) const CABLE: &str = "Cable";
pub(super) const CONNECTORS: &str = "Connectors";
pub(super) const CONTACTS: &str = "Contacts";
pub(super) const TERMINALS: &str = "Terminals and splices";
pub(super) const SLEEVES: &str = "Sleeves";
pub(super) const JACKS: &str = "Jacks";
pub(super) const PROTECTORS: &str = "Breakers and fuses";
pub(super) const SUPPORTS: &str = "Clamps, ties and grommets";
pub(super) const DEVICES: &str = "Blocks, switches and other parts";
/// Kinds in the order of the paper.
pub(super) const KINDS: [&str; 10] = [
    WIRE, CABLE, CONNECTORS, CONTACTS, TERMINALS, SLEEVES, SUPPORTS, JACKS, PROTECTORS, DEVICES,
];

pub(super) fn put<'n>(
    needs: &'n mut Needs,
    kind: &str,
    item: impl Into<String>,
    amount: f64,
) -> &'n mut Need {
    let need = needs.or_default((kind.to_owned(), item.into()));
    need.amount += amount;
    need
}
