//! The frame: rooms, projects and files, settings, phases, safety, and messages about saving.

pub const NAME: &str = "Loomwright";

// Rooms
pub const PLAN: &str = "Plan";
pub const DRAW: &str = "Draw";
pub const CHECK: &str = "Check";
pub const BUILD: &str = "Build";
pub const TEST_ROOM: &str = "Test";
pub const LOG: &str = "Log";
pub const ROOMS: &str = "Rooms";

// Projects and files
pub const PROJECT_MENU: &str = "Project";
pub const PROJECTS_HERE: &str = "Projects in this browser";
pub const NEW_PROJECT: &str = "New project";
pub const OPEN_SORREL: &str = "Sample: Sorrel (complete aircraft)";
pub const OPEN_TEASEL: &str = "Sample: Teasel (overhead panel)";
pub const OPEN_BRYONY: &str = "Sample: Bryony (electric-dependent engine)";
pub const OPEN_FILE: &str = "Open a file…";
pub const SAVE_FILE: &str = "Save as a file";
pub const PRINT_SHEET: &str = "Print this sheet";
pub const PRINT_ALL: &str = "Print every sheet";
pub const FORGET: &str = "Remove from this browser";
pub const FORGET_ASK: &str =
    "Remove this project from the browser? Save it as a file first if you want to keep it.";
pub const ABOUT: &str = "About and safety";
pub const CLOSE: &str = "Close";
pub const UNTITLED: &str = "Untitled";
pub const FILE_TOO_LARGE: &str = "The file is larger than 32 MiB, or the browser cannot read it";
pub const NOT_OPENED: &str = "This file was not opened. Your open project has not changed.";
pub const STORAGE_FULL: &str = "Not saved: the browser's storage is full or switched off. Save the project as a file now, or remove a project from this browser.";
pub const SAMPLE_MISSING: &str = "The sample could not be read";
pub const KEEPING: &str = "Where projects are kept";
pub const KEPT_WHERE: &str = "Your projects are kept in this browser on this device, and nowhere else. Another browser \
                              or device does not see them.";
pub const KEPT_PROMISED: &str =
    "The browser promises not to delete them when the device runs out of room.";
pub const KEPT_COPY: &str = "Save the project as a file at the end of an evening's work, and keep the file on \
                             another device.";
pub const RISK_NO_PROMISE: &str = "The browser does not promise to keep them: it may delete them when the device runs \
                                   out of room.";
pub const RISK_SEVEN_DAYS: &str = "Add this page to the home screen and open it from there. Otherwise this browser may \
                                   delete your projects when you do not open the page for 7 days.";
pub const RISK_PLAIN_HTTP: &str = "This address begins with http, not https: the app does not work without a network, \
                                   and does not warn you when a second window has the same project open. For the \
                                   hangar, open it from an https address, or on the computer that serves it.";
pub const NEW_SHEET: &str = "First sheet";

// Settings
pub const SETTINGS: &str = "Settings";
pub const THEME: &str = "Colors";
pub const THEME_DEVICE: &str = "Match device";
pub const THEME_LIGHT: &str = "Paper";
pub const THEME_DARK: &str = "Dark";
pub const THEME_SUN: &str = "Bright sun";
pub const HAND: &str = "Tool side";
pub const HAND_LEFT: &str = "Left edge";
pub const HAND_RIGHT: &str = "Right edge";
pub const FINGERS: &str = "Fingers while a pen is in use";
pub const FINGERS_MOVE: &str = "Move the sheet";
pub const FINGERS_DRAW: &str = "Draw as well";
pub const NEXT: &str = "Next:";
pub const SHOW_NEXT: &str = "Show what comes next";
pub const HIDE_NEXT: &str = "Hide what comes next";
pub const NEXT_HIDDEN: &str = "The line is off. Switch it on in the settings.";
pub const YOUR_NAME: &str = "Your name (for the log)";

// Editing
pub const UNDO: &str = "Undo";
pub const REDO: &str = "Redo";
pub const UNDONE: &str = "Undone";
pub const REDONE: &str = "Redone";

// Phases
pub const STATE: &str = "Phase";
pub const STATE_NONE: &str = "All at rest";
pub const PUT_BACK: &str = "Reset switches";
pub const KEEP_IN_STATE: &str = "Save to this phase";

// Safety
pub const NOTICE_TITLE: &str = "Before you wire";
pub const NOTICE: [&str; 3] = [
    "Loomwright is an aid for drawing and checking. It can be wrong, and it knows only what you enter.",
    "Local regulation, the equipment maker's manual and the judgment of a licensed person always come first.",
    "Disconnect the battery before you work. Have every new circuit inspected before it flies.",
];
pub const NOTICE_OK: &str = "I understand";
pub const NOTICE_PRINT: &str = "An aid only: local regulation, the maker's manual and a licensed person's judgment come first.";
pub const BUILDER: &str = "the builder";
pub const FIND: &str = "Find";
pub const FIND_HELP: &str = "A tag, a number, a function, a pin…";
pub const FOUND_NOTHING: &str = "No match";
pub const MOVED: [&str; 2] = ["item moved", "items moved"];
pub const ELSEWHERE: &str = "This project was changed in another window. Reload the page to continue with it, or save this one as a file.";
pub const STORAGE_OFF: &str = "Not saved: this browser stores nothing for this page, as in a private window. Save the project as a file before you close it.";
pub const FOLLOWS: &str =
    "This project is open for editing in another window. This window shows its changes.";
pub const EDIT_HERE: &str = "Edit here";
pub const NEWER_FILE: &str = "A newer Loomwright wrote this file. You can look at it and save it unchanged, not edit it. What this program does not know is neither shown nor checked.";
pub const NEWER_PROGRAM: &str = "A newer Loomwright is ready.";
pub const USE_IT: &str = "Update now";
pub const SHARE_FILE: &str = "Share the file\u{2026}";
pub const COPY_LINK: &str = "Copy a project link";
pub const LINK_COPIED: &str = "The link is copied. It holds the project as it is now.";
pub const LINK_TOO_LONG: &str = "This project is too large for a link. Send the file.";
pub const NO_CLIPBOARD: &str = "The browser blocks the clipboard. Send the file.";
pub const LINK_DAMAGED: &str = "The project in this link is damaged and was not opened.";
