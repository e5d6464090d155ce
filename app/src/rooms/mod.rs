//! The rooms, one a file.

pub mod analysis;
pub mod build;
pub mod check;
pub mod compare;
mod differences;
pub mod draw;
mod entry;
pub mod log;
pub mod noise;
pub mod papers;
mod picker;
pub mod plan;
pub mod revisions;
pub mod swap;
pub mod test;
