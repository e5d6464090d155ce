//! Every sentence and label of the app, by where it is read.

#![allow(missing_docs, reason = "the text is its own meaning")]

mod check;
mod count;
mod details;
mod drawing;
mod findings;
mod frame;
mod log;
mod papers;
mod plan;
mod wires;
pub mod words;

pub use self::{
    check::*, count::*, details::*, drawing::*, findings::*, frame::*, log::*, papers::*, plan::*,
    wires::*,
};
