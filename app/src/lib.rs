//! The app: one session that owns the document, a chain derived from it, rooms that show it.
//!
//! ```text
//! input ─► tools ─► Change ─► session ─► storage
//!                               │ revision
//!                               ▼
//!                            derived ─► rooms, drawing surface
//! ```

pub mod commands;
pub mod derived;
pub mod details;
pub mod findings;
pub mod grid;
pub mod platform;
pub mod rooms;
pub mod session;
pub mod shell;
pub mod storage;
pub mod strings;
pub mod surface;
pub mod tools;
pub mod view;
pub mod widgets;

pub use derived::{App, app};
