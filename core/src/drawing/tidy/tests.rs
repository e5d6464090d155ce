//! Laws of tidying: inside the border, on nothing, still when tidy.

use std::sync::LazyLock;

use super::tidy;
use crate::{
    document::{DeviceKind, Document, Sheet, SheetItem, Shown},
    drawing::{frame, geometry::Rect},
    edit, exchange,
    ids::{ItemId, SheetId},
    testing::aircraft,
};

fn sample(name: &str) -> Document {
    let path = format!(
        "{}/../public/samples/{name}.json",
        env!("CARGO_MANIFEST_DIR")
    );
    let file = std::fs::read(path).expect("the sample is there");
    exchange::open(&file).expect("the sample opens").document
}

/// Every sheet of both samples and of a made aircraft, tidied: once for all tests.
static TIDIED: LazyLock<Vec<(Document, SheetId)>> = LazyLock::new(|| {
    let mut all = Vec::new();
    for document in [sample("sorrel"), sample("teasel"), aircraft(60)] {
        for (id, sheet) in &document.sheets {
            let items: Vec<ItemId> = sheet.items.keys().cloned().collect();
            let Some(stands) = tidy(&document, id, &items) else {
                continue;
            };
            let mut after = document.clone();
            let change = edit::put_items(&after, id, &stands).expect("the sheet is there");
            change.apply(&mut after).expect("made for this");
            all.push((after, id.clone()));
        }
    }
    all
});

fn rects(document: &Document, sheet: &Sheet) -> Vec<Rect> {
    let items = sheet.items.values();
    let placed = items.filter_map(|item| crate::drawing::item::place(document, sheet, item, None));
    placed.map(|it| it.rect).collect()
}

#[test]
fn tidied_items_lie_inside_the_border_and_on_nothing() {
    let all = &*TIDIED;
    assert!(all.len() >= 24, "only {} sheets had room", all.len());
    for (document, id) in all {
        let sheet = &document.sheets[id];
        let (w, h) = sheet.size.size_mm();
        let (inside, block) = (frame::inside(w, h).grown(0.1), frame::block(w, h));
        let rects = rects(document, sheet);
        for (n, rect) in rects.iter().enumerate() {
            assert_eq!(inside.union(*rect), inside, "{id}: {rect:?}");
            assert!(!rect.overlaps(block), "{id}: {rect:?} on the title block");
            for other in &rects[n + 1..] {
                assert!(!rect.overlaps(*other), "{id}: {rect:?} on {other:?}");
            }
        }
    }
}

#[test]
fn what_is_tidy_stays() {
    for (document, id) in TIDIED.iter() {
        let sheet = &document.sheets[id];
        let items: Vec<ItemId> = sheet.items.keys().cloned().collect();
        let again = tidy(document, id, &items).expect("there was room");
        assert_eq!(again, sheet.items, "{id}");
    }
}

#[test]
fn no_ground_lies_above_a_source() {
    for (document, id) in TIDIED.iter() {
        let sheet = &document.sheets[id];
        let rects = |wanted: fn(DeviceKind) -> bool| -> Vec<Rect> {
            let of = |item: &&SheetItem| match &item.shows {
                Shown::Device { device, .. } => wanted(document.devices[device].kind),
                _ => false,
            };
            let placed = sheet.items.values().filter(of);
            let placed =
                placed.filter_map(|item| crate::drawing::item::place(document, sheet, item, None));
            placed.map(|it| it.rect).collect()
        };
        let sources = rects(|kind| matches!(kind, DeviceKind::Battery | DeviceKind::Alternator));
        for ground in rects(|kind| kind == DeviceKind::GroundBlock) {
            let is_above = |source: &Rect| {
                let beside = source.x < ground.right() && ground.x < source.right();
                beside && ground.bottom() < source.y
            };
            assert!(!sources.iter().any(is_above), "{id}");
        }
    }
}

#[test]
fn a_selection_is_tidied_beside_what_stays() {
    let document = sample("teasel");
    let (id, sheet) = document.sheets.iter().next().expect("a sheet");
    let some: Vec<ItemId> = sheet.items.keys().take(2).cloned().collect();
    let stands = tidy(&document, id, &some).expect("two fit where they were");
    assert_eq!(stands.len(), 2);
    let mut after = sheet.clone();
    for (id, item) in stands {
        after.items.insert(id, item);
    }
    let rects = rects(&document, &after);
    for (n, rect) in rects.iter().enumerate() {
        assert!(!rects[n + 1..].iter().any(|other| rect.overlaps(*other)));
    }
}
