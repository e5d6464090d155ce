//! Sheet to scene: device outlines, wire paths around them, labels; what is under a finger; the
//! sheet as SVG. Geometry only: no rules, no solved figures. What the rules or the solver say
//! comes in as an [`overlay`].

pub mod geometry;
mod item;
mod outlines;
mod pen;
pub mod scene;
mod size;
mod text;

use std::{collections::BTreeMap, sync::Arc};

use self::item::Placed;
pub use self::{
    item::item_scene,
    scene::{Group, GroupKey, PinSpot, Scene, Shape},
    size::item_size,
};
use crate::{
    document::{Document, End, Sheet, SheetItem, Shown, State},
    ids::{ItemId, SheetId, TerminalId},
};

/// The scene of a sheet with every switch at rest. Empty if there is no such sheet.
pub fn scene(document: &Document, sheet: &SheetId) -> Scene {
    scene_in(document, sheet, None)
}

/// The scene of a sheet with switches and breakers as they stand in a state.
pub fn scene_in(document: &Document, sheet: &SheetId, state: Option<&State>) -> Scene {
    let Some(sheet) = document.sheets.get(sheet) else {
        return Scene::default();
    };
    let placed = place_items(document, sheet, state);
    let (width_mm, height_mm) = sheet.size.size_mm();
    let mut scene = Scene {
        width_mm,
        height_mm,
        ..Scene::default()
    };
    for (id, item) in &placed {
        let record = &sheet.items[id];
        for (terminal, at, facing) in &item.outline.pins {
            let end = pin_end(record, terminal);
            let spot = PinSpot {
                at: *at,
                facing: *facing,
                end,
            };
            scene.pins.insert((id.clone(), terminal.clone()), spot);
        }
        let group = Group::new(item.outline.shapes.clone(), item::label(document, record));
        scene.boxes.insert(id.clone(), item.rect);
        scene
            .groups
            .insert(GroupKey::Item(id.clone()), Arc::new(group));
    }
    scene
}

fn place_items(
    document: &Document,
    sheet: &Sheet,
    state: Option<&State>,
) -> BTreeMap<ItemId, Placed> {
    let placed = sheet
        .items
        .iter()
        .filter_map(|(id, item)| Some((id.clone(), item::place(document, sheet, item, state)?)));
    placed.collect()
}

fn pin_end(item: &SheetItem, terminal: &TerminalId) -> End {
    match &item.shows {
        Shown::Device { device, .. } => End::Terminal(device.clone(), terminal.clone()),
        Shown::Splice(splice) => End::Splice(splice.clone()),
        Shown::Structure(place) => End::Structure(place.clone()),
    }
}
