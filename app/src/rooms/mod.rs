//! The rooms, one a file.

pub mod analysis;
pub mod build;
pub mod check;
pub mod draw;
mod entry;
pub mod log;
pub mod noise;
pub mod plan;
pub mod revisions;
pub mod test;
