//! What the sheets of both samples cost their reader, and what they cost after somebody threw everything about and had
//! them tidied. `LOOMWRIGHT_WRITE=1 cargo test sheets` writes the tables to `tests/measured.md`.

use std::fmt::Write;

use loomwright_core::{
    document::Document,
    drawing::{
        self,
        measure::{SheetMeasure, measure},
    },
    edit,
    ids::{ItemId, SheetId},
    testing::arbitrary::Dice,
};

use super::samples::{sorrel, teasel};

/// How often everything is thrown about.
const SEEDS: u64 = 3;
/// How many more bends a tidied aircraft may have than the sample. Our own figure.
const MORE: f64 = 1.15;

/// Both samples, with the most crossings that all their sheets may have, as drawn and tidied. Our own figures.
fn both() -> [(&'static str, Document, usize); 2] {
    [("Sorrel", sorrel(), 45), ("Teasel", teasel(), 25)]
}

fn cost(document: &Document, sheet: &SheetId) -> SheetMeasure {
    measure(document, sheet, &drawing::scene(document, sheet))
}

fn row(name: &str, it: &SheetMeasure, sheets: usize) -> String {
    format!(
        "| {name} | {} | {} | {} | {:.2} | {:.2} | {:.2} | {} | {} | {:.0} |\n",
        it.wires,
        it.crossings,
        it.bends,
        it.length_mm / 1e3,
        it.capital_mm,
        it.printed_mm,
        it.texts_on,
        it.close,
        100.0 * it.used / sheets as f64
    )
}

fn all(document: &Document) -> SheetMeasure {
    let sheets = document.sheets.keys().map(|id| cost(document, id));
    sheets.fold(SheetMeasure::default(), SheetMeasure::and)
}

#[test]
fn the_sheets_cost_no_more_than_the_table_says() {
    let mut table = String::from(
        "| sheet | wires | crossings | bends | length, m | smallest capitals, mm | as printed, mm | texts on something | pieces close to \
         a device | paper used, % |\n|---|---|---|---|---|---|---|---|---|---|\n",
    );
    for (name, document, most) in both() {
        for (id, sheet) in &document.sheets {
            let title = format!("{name} {}, {}", sheet.number, sheet.title);
            table += &row(&title, &cost(&document, id), 1);
        }
        let sum = all(&document);
        table += &row(&format!("{name}, all"), &sum, document.sheets.len());
        assert!(sum.crossings <= most, "{name}: {} crossings", sum.crossings);
    }
    crate::measured::hold("sheets", &table);
}

/// Everything anywhere on its sheet, either way around.
fn thrown(document: &Document, seed: u64) -> Document {
    let mut thrown = document.clone();
    let mut dice = Dice::new(seed);
    for sheet in thrown.sheets.values_mut() {
        let (w, h) = sheet.size.size_mm();
        for item in sheet.items.values_mut() {
            item.x_mm = dice.between(10.0, w - 60.0);
            item.y_mm = dice.between(10.0, h - 40.0);
            item.mirrored = dice.below(2) == 1;
        }
    }
    thrown
}

fn tidied(mut document: Document) -> Document {
    let sheets: Vec<SheetId> = document.sheets.keys().cloned().collect();
    for id in sheets {
        let items: Vec<ItemId> = document.sheets[&id].items.keys().cloned().collect();
        let items = drawing::tidy::tidy(&document, &id, &items).expect("what was drawn has room");
        let change = edit::put_items(&document, &id, &items).expect("the sheet is there");
        change.apply(&mut document).expect("made for this");
    }
    document
}

/// "12 to 15", or "12" if all are the same.
fn range(all: impl Iterator<Item = usize> + Clone) -> String {
    match (all.clone().min(), all.max()) {
        (Some(low), Some(high)) if low < high => format!("{low} to {high}"),
        (low, _) => low.unwrap_or(0).to_string(),
    }
}

/// References name zones of other sheets, so only a sheet whose others stay ends the same from anywhere.
#[test]
fn a_sheet_thrown_about_and_tidied_is_the_same_from_anywhere() {
    let document = teasel();
    for id in document.sheets.keys() {
        let from = |seed: u64| {
            let mut one = document.clone();
            let all = thrown(&document, seed);
            one.sheets.insert(id.clone(), all.sheets[id].clone());
            let items: Vec<ItemId> = one.sheets[id].items.keys().cloned().collect();
            drawing::tidy::tidy(&one, id, &items).expect("what was drawn has room")
        };
        assert_eq!(from(1), from(2), "{id}");
    }
}

#[test]
fn a_project_thrown_about_and_tidied_is_as_good_as_the_sample() {
    let mut table = String::from(
        "| aircraft | crossings thrown about | crossings tidied | of the sample | bends tidied | of the sample |\n\
         |---|---|---|---|---|---|\n",
    );
    for (name, document, most) in both() {
        let sample = all(&document);
        let (mut before, mut after) = (Vec::new(), Vec::new());
        for seed in 0..SEEDS {
            let thrown = thrown(&document, seed);
            before.push(all(&thrown));
            after.push(all(&tidied(thrown)));
        }
        let crossings = |all: &[SheetMeasure]| range(all.iter().map(|it| it.crossings));
        let bends = range(after.iter().map(|it| it.bends));
        let _ = writeln!(
            table,
            "| {name} | {} | {} | {} | {bends} | {} |",
            crossings(&before),
            crossings(&after),
            sample.crossings,
            sample.bends
        );
        for it in after {
            let most_bends = (sample.bends as f64 * MORE).ceil() as usize;
            assert!(it.bends <= most_bends, "{name}: {} bends", it.bends);
            assert!(it.crossings <= most, "{name}: {} crossings", it.crossings);
        }
    }
    crate::measured::hold("thrown about", &table);
}
