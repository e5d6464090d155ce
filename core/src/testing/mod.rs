//! For tests: a few lines of text become a document; checks of one rule or one mend.

mod check;
mod fixture;
mod parts;

pub use self::{
    check::{assert_adds_up, check_mend, check_rule},
    fixture::{Fixture, document, fixture},
};
