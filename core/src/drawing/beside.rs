//! Two states of a project side by side on the drawing: the same piece of each sheet, with what differs
//! flagged by the numbers of a list.

use super::{
    compose::scene,
    geometry::Rect,
    overlay::{Flag, FlagAt, FlagLevel, Overlay},
    scene::{GroupKey, Scene},
    svg,
};
use crate::order::InOrder;
use crate::{
    document::{Document, End, Sheet, Shown},
    ids::{DeviceId, SheetId, WireId},
    order::Sorted,
};

/// A sheet before and after.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SheetComparison {
    /// Number and title of the sheet.
    pub title: String,
    /// The sheet before, as markup inside a page; empty if there was no such sheet.
    pub before: String,
    /// The sheet after; empty if there is no such sheet.
    pub after: String,
}

/// Room around what differs, mm.
const MARGIN_MM: f64 = 20.0;
/// Smallest piece of a sheet that is shown, mm: enough around it to know the place again.
const LEAST_MM: (f64, f64) = (150.0, 100.0);

/// The sheets that show something of what differs, in order; each mark with the number of its flag.
pub fn beside(
    before: &Document,
    after: &Document,
    marks: &[(usize, FlagAt)],
) -> Vec<SheetComparison> {
    let flags = marks.iter().map(|(number, at)| Flag {
        at: at.clone(),
        level: FlagLevel::Note,
        number: *number,
    });
    let overlay = Overlay {
        flags: flags.collect(),
        ..Overlay::default()
    };
    let ids: Sorted<&SheetId> = before.sheets.keys().chain(after.sheets.keys()).collect();
    let mut all: Vec<(u32, SheetComparison)> = Vec::new();
    for id in ids {
        // Laying a sheet out costs: only those that show a mark are.
        let shows = |document: &Document| {
            let sheet = document.sheets.get(id)?;
            let mut marks = marks.iter();
            marks.find(|(_, at)| is_on(document, sheet, at))
        };
        if shows(before).or_else(|| shows(after)).is_none() {
            continue;
        }
        let sheet = |document: &Document| document.sheets.get(id).map(|_| scene(document, id));
        let scenes = [sheet(before), sheet(after)];
        let shown = scenes.iter().flatten();
        let Some(window) = shown
            .filter_map(|it| window(it, &overlay))
            .reduce(Rect::union)
        else {
            continue;
        };
        let window = grown(window);
        let figure = |scene: &Option<Scene>| {
            let scene = scene.as_ref()?;
            Some(svg::piece_in_page(scene, &overlay, window))
        };
        let [was, is] = scenes.each_ref().map(|it| figure(it).unwrap_or_default());
        let found = after.sheets.get(id).or_else(|| before.sheets.get(id));
        let (number, title) = found.map_or((0, String::new()), |it: &Sheet| {
            (it.number, format!("{} · {}", it.number, it.title))
        });
        all.push((
            number,
            SheetComparison {
                title,
                before: was,
                after: is,
            },
        ));
    }
    all.order_by_key(|it| it.0);
    all.into_iter().map(|(_, it)| it).collect()
}

/// True if a sheet may show a record.
fn is_on(document: &Document, sheet: &Sheet, at: &FlagAt) -> bool {
    let wire = |id: &WireId| {
        let ends = document.wires.get(id).map(|it| [&it.from, &it.to]);
        ends.into_iter().flatten().any(|end| sheet.shows(end))
    };
    let device = |id: &DeviceId| {
        let mut items = sheet.items.values();
        items.any(|item| matches!(&item.shows, Shown::Device { device, .. } if device == id))
    };
    match at {
        FlagAt::Wire(id) => wire(id),
        FlagAt::Cable(id) => document
            .cables
            .get(id)
            .is_some_and(|it| it.wires.iter().any(wire)),
        FlagAt::Device(id) | FlagAt::Terminal(id, _) => device(id),
        FlagAt::Splice(id) => sheet.shows(&End::Splice(id.clone())),
        FlagAt::Place(id) => sheet.shows(&End::Structure(id.clone())),
    }
}

/// The box around everything of a sheet that is flagged; none if nothing is.
fn window(scene: &Scene, overlay: &Overlay) -> Option<Rect> {
    let flags = overlay.placed_flags(scene);
    let around = |at: &FlagAt| match at {
        FlagAt::Wire(id) => Some(scene.groups.get(&GroupKey::Wire(id.clone()))?.bounds),
        FlagAt::Cable(id) => Some(scene.groups.get(&GroupKey::Cable(id.clone()))?.bounds),
        FlagAt::Device(id) => {
            let pins = scene
                .pins
                .iter()
                .filter(|(_, pin)| pin.end.device() == Some(id));
            let boxes = pins.filter_map(|((item, _), _)| scene.boxes.get(item).copied());
            boxes.reduce(Rect::union)
        }
        _ => None,
    };
    let marks = flags.iter().map(|flag| &overlay.flags[flag.index].at);
    let boxes = marks.filter_map(around);
    let points = flags.iter().map(|flag| Rect::around([flag.at]));
    boxes.chain(points).reduce(Rect::union)
}

fn grown(window: Rect) -> Rect {
    let window = window.grown(MARGIN_MM);
    let (more_w, more_h) = (
        (LEAST_MM.0 - window.w).max(0.0),
        (LEAST_MM.1 - window.h).max(0.0),
    );
    Rect::new(
        window.x - more_w / 2.0,
        window.y - more_h / 2.0,
        window.w + more_w,
        window.h + more_h,
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::aircraft;

    #[test]
    fn a_wire_that_differs_is_flagged_in_the_same_piece_of_both() {
        let before = aircraft(60);
        let shown = |id: &SheetId| scene(&before, id).paths.keys().next().cloned();
        let wire = before
            .sheets
            .keys()
            .find_map(shown)
            .expect("a wire on a sheet");
        let mut after = before.clone();
        after.wires.remove(&wire);
        let marks = [(7, FlagAt::Wire(wire.clone()))];
        let all = beside(&before, &after, &marks);
        assert!(!all.is_empty());
        let key = format!("data-key=\"wire:{wire}\"");
        let view = |svg: &str| {
            let rest = svg.split_once("viewBox=\"").expect("a view").1;
            rest.split_once('"').expect("its end").0.to_owned()
        };
        for it in &all {
            assert!(
                it.before.contains(&key) && !it.after.contains(&key),
                "{}",
                it.title
            );
            assert_eq!(view(&it.before), view(&it.after));
            let flags = |svg: &str| svg.matches("f-note").count();
            assert!(flags(&it.before) > flags(&it.after));
        }
        assert_eq!(beside(&before, &before, &[]), []);
    }

    #[test]
    fn a_sheet_that_only_one_has_stands_alone() {
        let before = aircraft(60);
        let mut after = before.clone();
        let id = before.sheets.keys().next().expect("a sheet").clone();
        let device = scene(&before, &id)
            .pins
            .values()
            .find_map(|pin| pin.end.device().cloned());
        after.sheets.remove(&id);
        let all = beside(
            &before,
            &after,
            &[(1, FlagAt::Device(device.expect("one")))],
        );
        assert!(
            all.iter()
                .any(|it| it.after.is_empty() && !it.before.is_empty())
        );
    }
}
