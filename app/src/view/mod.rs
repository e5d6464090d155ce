//! What the person looks at: room, sheet, selection, state. Never saved in a project.

pub mod camera;
mod moves;
pub mod paper;
mod records;
mod tool;

use leptos::prelude::*;
use loomwright_core::order::{Map, Sorted};
use loomwright_core::{
    document::Document,
    edit::Key,
    ids::{DeviceId, SheetId, StateId},
};

pub use moves::Moves;
pub use records::{
    first_sheet, first_state, item_key, items_of, place_choices, sheet_showing, sheets_in_order,
    states_in_order,
};
pub use tool::{Addition, Ghost, InkHand, ToolKind};

use camera::Camera;
use paper::PaperChoice;

/// The rooms that hold something.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Room {
    /// Equipment, loads, buses, states.
    Plan,
    /// The sheets.
    #[default]
    Draw,
    /// Findings.
    Check,
    /// Wire list, and papers for the bench.
    Build,
    /// Ringing out and first power-up.
    Test,
    /// The log, and papers for the inspector.
    Log,
}

/// What the side panel of the draw room shows.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Panel {
    /// Nothing: the sheet has the room.
    #[default]
    Closed,
    /// The selected records.
    Details,
    /// Findings.
    Findings,
    /// Devices to add.
    Devices,
    /// The wires of the sheet as a grid.
    Wires,
}

/// Where the person is.
#[derive(Clone, Copy)]
pub struct View {
    /// The room.
    pub room: RwSignal<Room>,
    /// The sheet.
    pub sheet: RwSignal<Option<SheetId>>,
    /// Selected records.
    pub selection: RwSignal<Sorted<Key>>,
    /// The current tool.
    pub tool: RwSignal<ToolKind>,
    /// What a hand does with ink.
    pub ink: RwSignal<InkHand>,
    /// How often a tool was chosen; each time it begins at rest.
    pub taken: StoredValue<u64>,
    /// The device that the device tool adds.
    pub adding: RwSignal<Option<Addition>>,
    /// What the tool shows over the drawing.
    pub ghosts: RwSignal<Vec<Ghost>>,
    /// The side panel.
    pub panel: RwSignal<Panel>,
    /// The chosen state.
    pub state: RwSignal<Option<StateId>>,
    /// What was operated by hand.
    pub moves: RwSignal<Moves>,
    /// The finding shown on the drawing, by its place in the list.
    pub marked: RwSignal<Option<usize>>,
    /// The paper that is looked at; empty for what the room shows without one.
    pub paper: RwSignal<&'static str>,
    /// How papers are made.
    pub papers: PaperChoice,
    /// The device that is thought of being swapped for another unit.
    pub swap: RwSignal<Option<DeviceId>>,
    /// True while every sheet is to be printed and not the open one alone.
    pub print_all: RwSignal<bool>,
    /// Width and height of the drawing on the page, pixels; nothing while another room is open.
    pub size: RwSignal<(f64, f64)>,
    /// Where the person moved each sheet, by project and sheet.
    pub looked: RwSignal<Map<String, Camera>>,
    /// The records to bring into view once the drawing is on the page.
    pub awaited: StoredValue<Vec<Key>>,
}

impl View {
    /// A fresh view: draw room, nothing selected.
    pub fn new() -> Self {
        Self {
            room: RwSignal::new(Room::default()),
            sheet: RwSignal::new(None),
            selection: RwSignal::new(Sorted::new()),
            tool: RwSignal::new(ToolKind::Select),
            ink: RwSignal::new(InkHand::default()),
            taken: StoredValue::new(0),
            adding: RwSignal::new(None),
            ghosts: RwSignal::new(Vec::new()),
            panel: RwSignal::new(Panel::Closed),
            state: RwSignal::new(None),
            moves: RwSignal::new(Moves::default()),
            marked: RwSignal::new(None),
            paper: RwSignal::new(""),
            papers: PaperChoice::new(),
            swap: RwSignal::new(None),
            print_all: RwSignal::new(false),
            size: RwSignal::new((0.0, 0.0)),
            looked: RwSignal::new(Map::new()),
            awaited: StoredValue::new(Vec::new()),
        }
    }

    /// Selects one record alone and shows its details.
    pub fn select(self, key: Key) {
        let is_wire = matches!(key, Key::Wire(_));
        self.selection.set(Sorted::from([key]));
        // Wires have their details in the grid, as long as that is open.
        if !(is_wire && self.panel.get_untracked() == Panel::Wires) {
            self.panel.set(Panel::Details);
        }
    }

    /// Selects nothing.
    pub fn select_none(self) {
        self.selection.set(Sorted::new());
        if self.panel.get_untracked() == Panel::Details {
            self.panel.set(Panel::Closed);
        }
    }

    /// Starts over for another document: its first sheet and its first state.
    pub fn reset(self, document: &Document) {
        self.sheet.set(first_sheet(document));
        self.state.set(first_state(document));
        self.moves.set(Moves::default());
        self.marked.set(None);
        self.select_none();
        self.panel.set(Panel::Closed);
        self.adding.set(None);
        self.ink.set(InkHand::default());
        self.take(ToolKind::Select);
    }

    /// Makes a tool the current one, at rest.
    pub fn take(self, tool: ToolKind) {
        self.drop_ghosts();
        self.taken.update_value(|times| *times += 1);
        self.tool.set(tool);
    }

    /// Takes away what the tool shows.
    pub fn drop_ghosts(self) {
        if self.ghosts.with_untracked(|ghosts| !ghosts.is_empty()) {
            self.ghosts.set(Vec::new());
        }
    }

    /// Goes to the first sheet if the open one is no longer there.
    pub fn leave_lost_sheet(self, document: &Document) {
        let is_lost = |id: &SheetId| !document.sheets.contains_key(id);
        if self
            .sheet
            .with_untracked(|id| id.as_ref().is_some_and(is_lost))
        {
            self.sheet.set(first_sheet(document));
        }
    }
}
