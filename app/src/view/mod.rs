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
pub use tool::{Addition, Ghost, ToolKind};

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
    /// The tool in hand.
    pub tool: RwSignal<ToolKind>,
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
    /// The records that the drawing is to bring into view; taken by the drawing.
    pub centre: RwSignal<Vec<Key>>,
    /// Where each sheet stood when it was last left, by project and sheet.
    pub looked: StoredValue<Map<String, Camera>>,
}

impl View {
    /// A fresh view: draw room, nothing selected.
    pub fn new() -> Self {
        Self {
            room: RwSignal::new(Room::default()),
            sheet: RwSignal::new(None),
            selection: RwSignal::new(Sorted::new()),
            tool: RwSignal::new(ToolKind::Select),
            panel: RwSignal::new(Panel::Closed),
            state: RwSignal::new(None),
            moves: RwSignal::new(Moves::default()),
            marked: RwSignal::new(None),
            paper: RwSignal::new(""),
            papers: PaperChoice::new(),
            swap: RwSignal::new(None),
            print_all: RwSignal::new(false),
            centre: RwSignal::new(Vec::new()),
            looked: StoredValue::new(Map::new()),
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
        self.tool.set(ToolKind::Select);
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

    /// Asks the drawing to bring records into view.
    pub fn bring(self, keys: Vec<Key>) {
        self.centre.set(keys);
    }
}
