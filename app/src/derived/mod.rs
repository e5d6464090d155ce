//! What follows from the document and from where the person is. Nothing here is ever written by an effect.

mod app;
pub mod boxes;
mod chain;
pub mod flags;
mod layout;
pub mod sight;
mod solved;
mod worker_check;
pub mod worker_review;

pub use app::{App, app};
pub use chain::Derived;
