//! The drawn sheets, each on a page of its own size.

use super::{Paper, PaperInput, Part};
use crate::{document::Sheet, ids::SheetId, order::InOrder};

/// Every sheet, or only one, for printing.
pub fn paper(asked: &PaperInput<'_>, only: Option<&SheetId>) -> Paper {
    let mut paper = Paper::new("sheets", "Sheets", asked.document);
    for (at, (id, _)) in by_number(asked).into_iter().enumerate() {
        if only.is_none_or(|only| only == id) {
            put(&mut paper, asked, at);
        }
    }
    paper
}

/// Adds a sheet to a paper, by its place among all of them.
pub(super) fn put(paper: &mut Paper, asked: &PaperInput<'_>, at: usize) {
    let Some((id, sheet)) = by_number(asked).get(at).copied() else {
        return;
    };
    // Its title block says that the switches are at rest: the drawing is made without a phase.
    paper.parts.push(Part::Begin(format!(
        "Sheet {}, {}",
        sheet.number, sheet.title
    )));
    paper.parts.push(Part::Drawing {
        svg: (asked.drawn)(asked.document, id),
        told: format!("sheet {}, {}", sheet.number, sheet.title),
    });
}

fn by_number<'d>(asked: &PaperInput<'d>) -> Vec<(&'d SheetId, &'d Sheet)> {
    let mut sheets: Vec<_> = asked.document.sheets.iter().collect();
    sheets.order_by_key(|(_, sheet)| sheet.number);
    sheets
}
