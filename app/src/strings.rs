//! Every sentence and label of the app, in one place.

#![allow(missing_docs, reason = "the text is its own meaning")]

pub const NAME: &str = "Loomwright";

// Rooms
pub const PLAN: &str = "Plan";
pub const DRAW: &str = "Draw";
pub const CHECK: &str = "Check";
pub const BUILD: &str = "Build";
pub const ROOMS: &str = "Rooms";

// Projects and files
pub const PROJECT_MENU: &str = "Project";
pub const PROJECTS_HERE: &str = "Projects in this browser";
pub const NEW_PROJECT: &str = "New project";
pub const OPEN_SORREL: &str = "Sample aircraft: Sorrel (whole aircraft)";
pub const OPEN_TEASEL: &str = "Sample: Teasel (overhead panel)";
pub const OPEN_FILE: &str = "Open a file…";
pub const SAVE_FILE: &str = "Save as a file";
pub const PRINT_SHEET: &str = "Print this sheet";
pub const FORGET: &str = "Remove from this browser";
pub const FORGET_ASK: &str =
    "Remove this project from the browser? Save it as a file first if you want to keep it.";
pub const ABOUT: &str = "About, and what to mind";
pub const CLOSE: &str = "Close";
pub const CANCEL: &str = "Cancel";
pub const UNTITLED: &str = "Untitled";
pub const FILE_TOO_LARGE: &str = "The file is larger than 32 MiB, or the browser cannot read it";
pub const NOT_OPENED: &str = "This file was not opened. Your open project is as it was.";
pub const STORAGE_FULL: &str = "Not saved: the browser's storage is full or switched off. Save the \
                                project as a file now, or remove a project from this browser.";
pub const SAMPLE_MISSING: &str = "The sample could not be read";

pub const NEW_SHEET: &str = "First sheet";

// Settings
pub const SETTINGS: &str = "Settings";
pub const THEME: &str = "Inks";
pub const THEME_DEVICE: &str = "As the device";
pub const THEME_LIGHT: &str = "Paper";
pub const THEME_DARK: &str = "Dark";
pub const THEME_SUN: &str = "Bright sun";
pub const HAND: &str = "Tools at the";
pub const HAND_LEFT: &str = "Left edge";
pub const HAND_RIGHT: &str = "Right edge";
pub const YOUR_NAME: &str = "Your name (for the log)";

// Editing
pub const UNDO: &str = "Undo";
pub const REDO: &str = "Redo";
pub const UNDONE: &str = "Undone";
pub const REDONE: &str = "Done again";
pub const DELETE: &str = "Delete";

// States
pub const STATE: &str = "State";
pub const STATE_NONE: &str = "All at rest";
pub const PUT_BACK: &str = "Put back";
pub const KEEP_IN_STATE: &str = "Keep in this state";

// Levels
pub const HAZARDS: &str = "hazards";
pub const FAULTS: &str = "faults";
pub const CAUTIONS: &str = "cautions";
pub const NOTES: &str = "notes";
pub const UNCHECKED: &str = "not checked";
pub const NOTHING_FOUND: &str = "Nothing found";

// Safety
pub const NOTICE_TITLE: &str = "Before you wire";
pub const NOTICE: [&str; 3] = [
    "Loomwright is an aid for drawing and checking. It can be wrong, and it knows only what you tell it.",
    "Local regulation, the equipment maker's manual and the judgement of a licensed person come first, always.",
    "Disconnect the battery before you work. Have every new circuit inspected before it flies.",
];
pub const NOTICE_OK: &str = "I understand";
pub const NOTICE_PRINT: &str = "An aid only: local regulation, the maker's manual and a licensed person's judgement come first.";

/// "1 hazard", "2 hazards".
pub fn count(n: usize, one: &str, many: &str) -> String {
    format!("{n} {}", if n == 1 { one } else { many })
}
