//! The handles that every part of the app needs.

use leptos::prelude::*;

use super::chain::Derived;
use crate::{
    session::{Session, settings::Settings},
    view::View,
};

/// The handles every part of the app needs. Copy it freely.
#[derive(Clone, Copy)]
pub struct App {
    /// Document and history.
    pub session: Session,
    /// What follows from the document.
    pub derived: Derived,
    /// What the person looks at.
    pub view: View,
    /// Settings of this browser.
    pub settings: RwSignal<Settings>,
}

/// The app's handles, from anywhere under the shell.
pub fn app() -> App {
    expect_context::<App>()
}
