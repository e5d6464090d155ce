//! For tests: documents from a few lines of text; checks of one rule or one fix.

mod aircraft;
pub mod arbitrary;
mod check;
mod devices;
mod fixture;
pub mod hostile;
mod parts;
mod words;

use crate::{document::Document, drawing, exchange, reports::PaperInput};

pub use self::{
    aircraft::aircraft,
    check::{assert_adds_up, check_mend, check_rule},
    fixture::{Fixture, document, fixture},
};

/// The input of papers for a document, with zones and sheets from the drawing.
pub fn asked(document: &Document) -> PaperInput<'_> {
    PaperInput {
        document,
        before: None,
        zone: drawing::zone_of,
        drawn: drawing::printed,
    }
}

/// A small document that holds every kind of record and of element, with unknown fields at every
/// level.
pub fn whole() -> Document {
    exchange::open(include_bytes!("whole.json"))
        .expect("the file is part of the program and tested")
        .document
}
