//! Boxes over the room.

use leptos::prelude::*;

/// A box over the room.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub enum Over {
    /// None.
    #[default]
    Nothing,
    /// Projects and files.
    Projects,
    /// Find anything.
    Find,
    /// A wire list from a spreadsheet.
    PasteList,
    /// Settings of this browser.
    Settings,
    /// About, with the safety notice.
    About,
    /// Where projects are kept, and what may delete them.
    Keeping,
    /// A file that was refused, and why.
    Refused(String),
}

/// The box that is open over the room.
#[derive(Clone, Copy)]
pub struct Overlaid(pub RwSignal<Over>);
