//! What the person looks at: room, sheet, selection, state. Never saved in a project.

use leptos::prelude::*;
use loomwright_core::order::{Map, Sorted};
use loomwright_core::{
    document::{Document, End, Sheet, Shown, State},
    edit::Key,
    ids::{DeviceId, SheetId, StateId},
};

use crate::{surface::camera::Camera, tools::ToolKind};

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

/// Switches and breakers operated by hand since a state was chosen.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Moves {
    /// Switch positions by `DEVICE/ELEMENT`.
    pub switches: Map<String, usize>,
    /// True for a breaker pulled, false for one pushed back in.
    pub pulled: Map<String, bool>,
}

impl Moves {
    /// True if everything stands as the state says.
    pub fn is_empty(&self) -> bool {
        self.switches.is_empty() && self.pulled.is_empty()
    }

    /// How many things were operated.
    pub fn len(&self) -> usize {
        self.switches.len() + self.pulled.len()
    }

    /// The state with these moves made.
    pub fn applied(&self, state: &State) -> State {
        let mut state = state.clone();
        state
            .switches
            .extend(self.switches.iter().map(|(key, at)| (key.clone(), *at)));
        for (key, pulled) in &self.pulled {
            state.pulled.retain(|there| there != key);
            if *pulled {
                state.pulled.push(key.clone());
            }
        }
        state
    }
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

/// The sheets, by number.
pub fn sheets_in_order(document: &Document) -> Vec<(SheetId, u32, String)> {
    let mut sheets: Vec<_> = document
        .sheets
        .iter()
        .map(|(id, sheet)| (id.clone(), sheet.number, sheet.title.clone()))
        .collect();
    sheets.sort_by_key(|(_, number, _)| *number);
    sheets
}

/// The sheet that shows most of these records; the open one if it is as good as any.
pub fn sheet_showing(document: &Document, keys: &[Key], open: Option<&SheetId>) -> Option<SheetId> {
    let shown = |id: &SheetId| {
        let Some(sheet) = document.sheets.get(id) else {
            return 0;
        };
        keys.iter()
            .filter(|key| shows(document, sheet, key))
            .count()
    };
    let mut best = open.map(|id| (shown(id), id.clone()));
    for (id, ..) in sheets_in_order(document) {
        let n = shown(&id);
        if best.as_ref().is_none_or(|(most, _)| n > *most) {
            best = Some((n, id));
        }
    }
    best.map(|(_, id)| id)
}

fn shows(document: &Document, sheet: &Sheet, key: &Key) -> bool {
    match key {
        Key::Device(id) => sheet
            .items
            .values()
            .any(|item| matches!(&item.shows, Shown::Device { device, .. } if device == id)),
        Key::Splice(id) => sheet.shows(&End::Splice(id.clone())),
        Key::Place(id) => sheet.shows(&End::Structure(id.clone())),
        Key::Wire(id) => {
            let wire = document.wires.get(id);
            wire.is_some_and(|wire| sheet.shows(&wire.from) && sheet.shows(&wire.to))
        }
        Key::Cable(id) => {
            let first = document
                .cables
                .get(id)
                .and_then(|cable| cable.wires.first());
            first.is_some_and(|wire| shows(document, sheet, &Key::Wire(wire.clone())))
        }
        _ => false,
    }
}

/// The states, in their order.
pub fn states_in_order(document: &Document) -> Vec<(StateId, String)> {
    let mut states: Vec<_> = document.states.iter().collect();
    states.sort_by_key(|(_, state)| state.order);
    states
        .into_iter()
        .map(|(id, state)| (id.clone(), state.title.clone()))
        .collect()
}

/// The first sheet.
pub fn first_sheet(document: &Document) -> Option<SheetId> {
    sheets_in_order(document)
        .into_iter()
        .next()
        .map(|(id, ..)| id)
}

fn first_state(document: &Document) -> Option<StateId> {
    // The state that most of a flight is spent in, if it goes by its usual name.
    let states = states_in_order(document);
    states
        .iter()
        .find(|(_, title)| title.to_ascii_lowercase().contains("cruise"))
        .or(states.first())
        .map(|(id, _)| id.clone())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn moves_stand_over_the_state_and_leave_the_rest() {
        let state = State {
            pulled: vec!["bus/cb1".into(), "bus/cb2".into()],
            switches: Map::from([("s1/s".into(), 0), ("s2/s".into(), 1)]),
            ..State::default()
        };
        let moves = Moves {
            switches: Map::from([("s1/s".into(), 2)]),
            pulled: Map::from([("bus/cb1".into(), false), ("bus/cb3".into(), true)]),
        };
        let now = moves.applied(&state);
        assert_eq!(now.switches["s1/s"], 2);
        assert_eq!(now.switches["s2/s"], 1);
        assert_eq!(now.pulled, ["bus/cb2", "bus/cb3"]);
        assert_eq!(Moves::default().applied(&state), state);
    }
}
