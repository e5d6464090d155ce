//! Which cells of a grid are chosen, and where keys lead.

use std::ops::Range;

/// The cells from where the choice began to where it has come, by row and column.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Cells {
    /// The cell that keys move and typing goes to.
    pub at: [usize; 2],
    /// The cell where the choice began.
    pub from: [usize; 2],
}

impl Cells {
    /// One cell.
    pub fn one(row: usize, column: usize) -> Self {
        let at = [row, column];
        Self { at, from: at }
    }

    /// The choice with its moving end at this cell.
    pub fn up_to(self, row: usize, column: usize) -> Self {
        let at = [row, column];
        Self { at, ..self }
    }

    /// The rows chosen.
    pub fn rows(self) -> Range<usize> {
        let [a, b] = [self.at[0], self.from[0]];
        a.min(b)..a.max(b) + 1
    }

    /// The columns chosen.
    pub fn columns(self) -> Range<usize> {
        let [a, b] = [self.at[1], self.from[1]];
        a.min(b)..a.max(b) + 1
    }

    /// Where a key leads in a grid of so many rows and columns; none if it is no key that moves.
    pub fn moved(self, key: &str, shift: bool, rows: usize, columns: usize) -> Option<Self> {
        const PAGE: usize = 12;
        let [row, column] = self.at;
        let last = [rows.saturating_sub(1), columns.saturating_sub(1)];
        let at = match (key, shift) {
            ("ArrowUp", _) | ("Enter", true) => [row.saturating_sub(1), column],
            ("ArrowDown", _) | ("Enter", false) => [row + 1, column],
            ("ArrowLeft", _) | ("Tab", true) => [row, column.saturating_sub(1)],
            ("ArrowRight", _) | ("Tab", false) => [row, column + 1],
            ("PageUp", _) => [row.saturating_sub(PAGE), column],
            ("PageDown", _) => [row + PAGE, column],
            ("Home", _) => [row, 0],
            ("End", _) => [row, last[1]],
            _ => return None,
        };
        let at = [at[0].min(last[0]), at[1].min(last[1])];
        let stretches = shift && !matches!(key, "Tab" | "Enter");
        let from = if stretches { self.from } else { at };
        Some(Self { at, from })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn keys_lead_to_neighbours_and_not_out_of_the_grid() {
        let start = Cells::one(0, 8);
        let at = |key| start.moved(key, false, 3, 9).expect("a key that moves").at;
        assert_eq!(at("ArrowDown"), [1, 8]);
        assert_eq!(at("ArrowUp"), [0, 8]);
        assert_eq!(at("Tab"), [0, 8]);
        assert_eq!(at("PageDown"), [2, 8]);
        assert_eq!(at("Home"), [0, 0]);
        assert_eq!(start.moved("a", false, 3, 9), None);
        assert_eq!(start.moved("ArrowDown", false, 0, 9), Some(start));
    }

    #[test]
    fn shift_stretches_the_choice_from_where_it_began() {
        let cells = Cells::one(2, 1).moved("ArrowUp", true, 5, 9);
        let cells = cells.and_then(|cells| cells.moved("ArrowRight", true, 5, 9));
        let cells = cells.expect("keys that move");
        assert_eq!((cells.rows(), cells.columns()), (1..3, 1..3));
        assert_eq!(cells.moved("Tab", true, 5, 9), Some(Cells::one(1, 1)));
    }
}
