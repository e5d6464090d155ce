//! `loomwright tidy`: lays out sheets again and says what that did.

use std::path::Path;

use loomwright_core::{
    document::Document,
    drawing::{
        self,
        measure::{SheetMeasure, measure},
    },
    edit, exchange,
    ids::{ItemId, SheetId},
};

use crate::{
    files::{open_to_write, print, write},
    sheet::sheet_of,
};

/// Lays out a sheet, or all, and writes the project. A sheet that has no room for its devices stays as it is.
///
/// # Errors
/// Says which file or sheet is wrong, and what was expected.
pub fn run(file: &Path, wanted: Option<&str>, output: &Path) -> Result<(), String> {
    let mut document = open_to_write(file)?;
    let sheets: Vec<SheetId> = match wanted {
        Some(wanted) => vec![sheet_of(&document, wanted)?.clone()],
        None => document.sheets.keys().cloned().collect(),
    };
    let mut said = String::new();
    for id in sheets {
        said += &tidied(&mut document, &id)?;
    }
    write(Some(output), &exchange::save(&document))?;
    print(&said)
}

fn tidied(document: &mut Document, id: &SheetId) -> Result<String, String> {
    let Some(sheet) = document.sheets.get(id) else {
        return Ok(String::new());
    };
    let name = format!("sheet {}, {}", sheet.number, sheet.title);
    let items: Vec<ItemId> = sheet.items.keys().cloned().collect();
    let costs = |document: &Document| measure(document, id, &drawing::scene(document, id));
    let before = costs(document);
    let Some(items) = drawing::tidy::tidy(document, id, &items) else {
        return Ok(format!(
            "{name}: no room for its devices; choose a larger paper or move some to another sheet\n"
        ));
    };
    let change = edit::put_items(document, id, &items).map_err(|error| error.to_string())?;
    change.apply(document).map_err(|error| error.to_string())?;
    let after = costs(document);
    let figure =
        |of: fn(&SheetMeasure) -> usize| format!("{} (before: {})", of(&after), of(&before));
    Ok(format!(
        "{name}: crossings {}, bends {}\n",
        figure(|it| it.crossings),
        figure(|it| it.bends),
    ))
}
