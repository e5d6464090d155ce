//! The app: one session that owns the document, a chain derived from it, rooms that show it.
//!
//! ```text
//! input ─► tools ─► Change ─► session ─► storage
//!                               │ revision
//!                               ▼
//!                            derived ─► rooms, drawing surface
//! ```

pub mod apart;
pub mod compare;
pub mod derived;
pub mod details;
pub mod edits;
pub mod file;
pub mod grid;
pub mod length;
pub mod operate;
pub mod papers;
pub mod platform;
pub mod rest;
pub mod review;
pub mod rooms;
pub mod session;
pub mod settings;
pub mod shell;
pub mod solved;
pub mod storage;
pub mod strings;
pub mod surface;
pub mod swap;
pub mod tools;
pub mod typed;
pub mod view;
pub mod widgets;

use leptos::prelude::*;

/// The handles every part of the app needs. Copy it freely.
#[derive(Clone, Copy)]
pub struct App {
    /// Document and history.
    pub session: session::Session,
    /// What follows from the document.
    pub derived: derived::Derived,
    /// What the person looks at.
    pub view: view::View,
    /// Settings of this browser.
    pub settings: RwSignal<settings::Settings>,
    /// How papers are asked for.
    pub papers: papers::Look,
}

/// The app's handles, from anywhere under the shell.
pub fn app() -> App {
    expect_context::<App>()
}
