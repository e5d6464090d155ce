//! The sheet that somebody asks about.

use loomwright_core::{document::Document, ids::SheetId};

/// The sheet with this number or id.
pub fn sheet_of<'d>(document: &'d Document, wanted: &str) -> Result<&'d SheetId, String> {
    let is_wanted =
        |id: &SheetId, number: u32| number.to_string() == wanted || id.as_str() == wanted;
    let mut sheets = document.sheets.iter();
    let found = sheets.find(|(id, sheet)| is_wanted(id, sheet.number));
    found.map(|(id, _)| id).ok_or_else(|| {
        let numbers = document.sheets.values();
        let numbers: Vec<String> = numbers.map(|sheet| sheet.number.to_string()).collect();
        let numbers = numbers.join(", ");
        format!("there is no sheet {wanted:?}; expected one of: {numbers}")
    })
}
