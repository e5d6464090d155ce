//! The one owner of the document and its history. Every edit goes through [`Session::run`]: it is
//! applied, put on the history and saved before anything is derived from it.

mod editing;
pub mod file;
mod handle;
mod opening;
mod project;
mod saving;
pub mod settings;
mod window_line;
mod windows;

pub use handle::{Role, Session};
