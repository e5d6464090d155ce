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
#[derive(Clone, Debug, Default, PartialEq)]
struct Followed {
    cells: Cells,
    times: u64,
    /// The wire that alone is selected.
    wire: Option<WireId>,
}

impl Followed {
    /// What follows after another choice or another selection; `row` is the row of that wire.
    fn next(before: Option<&Self>, own: Choice, wire: Option<WireId>, row: Option<usize>) -> Self {
        let known = before.filter(|it| it.times == own.times);
        let mut cells = known.map_or(own.cells, |it| it.cells);
        let is_new = before.is_none_or(|it| it.wire != wire);
        if let Some(row) = row.filter(|_| is_new)
            && !cells.rows().contains(&row)
        {
            cells = Cells::one(row, cells.at[1]);
        }
        Self {
            cells,
            times: own.times,
            wire,
        }
    }
}

/// The cells chosen. A wire selected on the drawing is the row chosen here.
pub fn chosen(
    app: App,
    own: RwSignal<Choice>,
    places: Memo<Arc<Map<WireId, usize>>>,
) -> Memo<Cells> {
    let followed = Memo::new(move |before: Option<&Followed>| {
        let wire = selected_wire(app);
        let place = |id: &WireId| places.with_untracked(|it| it.get(id).copied());
        let row = wire.as_ref().and_then(place);
        Followed::next(before, own.get(), wire, row)
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

#[cfg(test)]
mod tests {
    use super::*;

    fn selected(before: Option<&Followed>, own: Choice, wire: &str, row: usize) -> Followed {
        Followed::next(before, own, Some(wire.into()), Some(row))
    }

    #[test]
    fn a_wire_selected_on_the_drawing_is_the_row_chosen_in_the_same_column() {
        let mut own = Choice::default();
        own.choose(Cells::one(4, 2));
        let first = Followed::next(None, own, None, None);
        assert_eq!(first.cells, Cells::one(4, 2));
        let second = selected(Some(&first), own, "w1", 7);
        assert_eq!(second.cells, Cells::one(7, 2));
        // Nothing selected leaves the choice where it is.
        let third = Followed::next(Some(&second), own, None, None);
        assert_eq!(third.cells, Cells::one(7, 2));
    }

    #[test]
    fn what_is_chosen_in_the_grid_lasts_until_another_wire_is_selected() {
        let mut own = Choice::default();
        let first = selected(None, own, "w1", 7);
        assert_eq!(first.cells, Cells::one(7, 0));
        // The row of a new wire, while the wire selected is still the one before.
        own.choose(Cells::one(9, 1));
        let second = selected(Some(&first), own, "w1", 7);
        assert_eq!(second.cells, Cells::one(9, 1));
        assert_eq!(
            selected(Some(&second), own, "w2", 3).cells,
            Cells::one(3, 1)
        );
        // Several rows chosen stay so if the wire is one of them.
        own.choose(Cells::one(2, 1).up_to(4, 1));
        let several = selected(Some(&second), own, "w3", 3);
        assert_eq!(several.cells.rows(), 2..5);
    }
}
