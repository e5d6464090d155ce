//! The cells chosen: those that the person chose in the grid, or the row of a wire chosen on the drawing since.

use std::sync::Arc;

use leptos::prelude::*;
use loomwright_core::{edit::Key, ids::WireId, order::Map};

use super::cells::Cells;
use crate::App;

/// What the person chose in the grid.
#[derive(Clone, Copy, Default)]
pub struct Choice {
    cells: Cells,
    /// How often something was chosen there.
    times: u64,
}

impl Choice {
    /// Chooses these cells.
    pub fn choose(&mut self, cells: Cells) {
        self.cells = cells;
        self.times += 1;
    }
}

/// The cells chosen, and what they follow from.
#[derive(Clone, PartialEq)]
struct Followed {
    cells: Cells,
    times: u64,
    /// The wire that alone is selected.
    wire: Option<WireId>,
}

/// The cells chosen. A wire selected on the drawing is the row chosen here.
pub fn chosen(
    app: App,
    own: RwSignal<Choice>,
    places: Memo<Arc<Map<WireId, usize>>>,
) -> Memo<Cells> {
    let followed = Memo::new(move |before: Option<&Followed>| {
        let own = own.get();
        let wire = selected_wire(app);
        let known = before.filter(|it| it.times == own.times);
        let mut cells = known.map_or(own.cells, |it| it.cells);
        let is_new = before.is_none_or(|it| it.wire != wire);
        let selected = wire.as_ref().filter(|_| is_new);
        let row = selected.and_then(|id| places.with_untracked(|it| it.get(id).copied()));
        if let Some(row) = row
            && !cells.rows().contains(&row)
        {
            cells = Cells::one(row, cells.at[1]);
        }
        Followed {
            cells,
            times: own.times,
            wire,
        }
    });
    Memo::new(move |_| followed.with(|it| it.cells))
}

/// The wire that alone is selected.
fn selected_wire(app: App) -> Option<WireId> {
    app.view.selection.with(|keys| {
        let mut keys = keys.iter();
        match (keys.next(), keys.next()) {
            (Some(Key::Wire(id)), None) => Some(id.clone()),
            _ => None,
        }
    })
}
