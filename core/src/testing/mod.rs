//! For tests: a few lines of text become a document; checks of one rule or one mend.

mod aircraft;
pub mod arbitrary;
mod check;
mod devices;
mod fixture;
pub mod hostile;
mod parts;
mod words;

use crate::{document::Document, drawing, exchange, reports::Asked};

pub use self::{
    aircraft::aircraft,
    check::{assert_adds_up, check_mend, check_rule},
    fixture::{Fixture, document, fixture},
};

/// Papers asked of a document, zones and sheets as the drawing has them.
pub fn asked(document: &Document) -> Asked<'_> {
    Asked {
        document,
        before: None,
        zone: drawing::zone_of,
        drawn: drawing::plain_svg,
    }
}

/// A small document that holds every kind of record and of element, with unknown fields at every
/// level.
pub fn whole() -> Document {
    exchange::open(include_bytes!("whole.json"))
        .expect("the file is part of the program and tested")
        .document
}
