//! Ink on a sheet: written, erased, moved, hidden.

use super::{Change, EditError, Key, Record, copy::put_one};
use crate::{
    document::{Document, InkPoint, InkStroke, SheetInk, limits},
    ids::{InkId, SheetId},
};

/// The change that `edit` makes to the ink of a sheet.
fn on_ink(
    document: &Document,
    id: &SheetId,
    edit: impl FnOnce(&mut SheetInk) -> Result<(), EditError>,
) -> Result<Change, EditError> {
    let sheet = document.sheets.get(id).cloned();
    let mut sheet = sheet.ok_or_else(|| EditError::not_there("sheet", id))?;
    edit(&mut sheet.ink)?;
    put_one(document, Key::Sheet(id.clone()), Record::Sheet(sheet))
}

/// Adds a stroke to a sheet.
///
/// # Errors
/// [`EditError::Cannot`] if the sheet has as many strokes as it may have.
pub fn add_ink(
    document: &Document,
    sheet: &SheetId,
    stroke: InkStroke,
) -> Result<Change, EditError> {
    on_ink(document, sheet, |ink| {
        if ink.strokes.len() >= limits::MAX_INK_STROKES {
            return Err(EditError::cannot(
                format!("this sheet has {} strokes of ink", ink.strokes.len()),
                "erase some, or continue on another sheet",
            ));
        }
        // The same stroke again leaves no other mark.
        if ink.strokes.iter().all(|it| it.id != stroke.id) {
            ink.strokes.push(stroke);
        }
        Ok(())
    })
}

/// Erases strokes of a sheet.
///
/// # Errors
/// [`EditError::NotThere`] if there is no such sheet.
pub fn erase_ink(document: &Document, sheet: &SheetId, ids: &[InkId]) -> Result<Change, EditError> {
    on_ink(document, sheet, |ink| {
        ink.strokes.retain(|stroke| !ids.contains(&stroke.id));
        Ok(())
    })
}

/// Moves strokes of a sheet by a step, mm.
///
/// # Errors
/// [`EditError::NotThere`] if there is no such sheet; [`EditError::Breaks`] if they would be too far away.
pub fn move_ink(
    document: &Document,
    sheet: &SheetId,
    ids: &[InkId],
    (right_mm, down_mm): (f64, f64),
) -> Result<Change, EditError> {
    on_ink(document, sheet, |ink| {
        let moving = ink.strokes.iter_mut().filter(|it| ids.contains(&it.id));
        for stroke in moving {
            let moved = |p: InkPoint| InkPoint {
                x_mm: p.x_mm + right_mm,
                y_mm: p.y_mm + down_mm,
                ..p
            };
            let points: Vec<InkPoint> = stroke.points().into_iter().flatten().map(moved).collect();
            stroke.path = InkStroke::new(stroke.width_mm, &points).path;
        }
        Ok(())
    })
}

/// Hides the ink of a sheet, on the screen and on paper, or shows it again.
///
/// # Errors
/// [`EditError::NotThere`] if there is no such sheet.
pub fn hide_ink(document: &Document, sheet: &SheetId, hidden: bool) -> Result<Change, EditError> {
    on_ink(document, sheet, |ink| {
        ink.hidden = hidden;
        Ok(())
    })
}

/// The strokes that pass within reach of a point, mm.
pub fn ink_at(
    document: &Document,
    sheet: &SheetId,
    (x_mm, y_mm): (f64, f64),
    reach_mm: f64,
) -> Vec<InkId> {
    let Some(sheet) = document.sheets.get(sheet).filter(|it| !it.ink.hidden) else {
        return Vec::new();
    };
    let near = |stroke: &InkStroke| {
        let points = stroke.points().unwrap_or_default();
        let first = points.first().copied();
        let pieces = points.windows(2).map(|pair| (pair[0], pair[1]));
        (first.map(|p| (p, p)).into_iter().chain(pieces))
            .any(|(a, b)| off_mm((x_mm, y_mm), a, b) <= reach_mm + stroke.width_mm / 2.0)
    };
    let strokes = sheet.ink.strokes.iter();
    let strokes = strokes.filter(|stroke| near(stroke));
    strokes.map(|stroke| stroke.id.clone()).collect()
}

/// From a point to a straight piece, mm.
fn off_mm((x, y): (f64, f64), a: InkPoint, b: InkPoint) -> f64 {
    let (dx, dy) = (b.x_mm - a.x_mm, b.y_mm - a.y_mm);
    let long = dx * dx + dy * dy;
    let share = match long > 0.0 {
        true => (((x - a.x_mm) * dx + (y - a.y_mm) * dy) / long).clamp(0.0, 1.0),
        false => 0.0,
    };
    (x - a.x_mm - share * dx).hypot(y - a.y_mm - share * dy)
}

/// What was written together with some strokes: those within reach of them, mm, and those within reach of those.
pub fn ink_together(
    document: &Document,
    sheet: &SheetId,
    mut found: Vec<InkId>,
    reach_mm: f64,
) -> Vec<InkId> {
    let strokes = document.sheets.get(sheet).map(|it| &it.ink.strokes);
    let mut next = 0;
    while let Some(id) = found.get(next) {
        next += 1;
        let points = strokes.and_then(|all| all.iter().find(|it| it.id == *id)?.points());
        for p in points.into_iter().flatten() {
            for other in ink_at(document, sheet, (p.x_mm, p.y_mm), reach_mm) {
                if !found.contains(&other) {
                    found.push(other);
                }
            }
        }
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{document::Sheet, exchange};

    fn stroke(from: (f64, f64), to: (f64, f64)) -> InkStroke {
        let point = |(x_mm, y_mm)| InkPoint {
            x_mm,
            y_mm,
            pressure: 0.5,
        };
        InkStroke::new(0.6, &[point(from), point(to)])
    }

    fn with(strokes: &[InkStroke]) -> (Document, SheetId) {
        let sheet = SheetId::new("s1");
        let mut document = Document::default();
        document.sheets.insert(sheet.clone(), Sheet::default());
        for stroke in strokes {
            let change = add_ink(&document, &sheet, stroke.clone()).expect("there is room");
            change.apply(&mut document).expect("made for this");
        }
        (document, sheet)
    }

    #[test]
    fn ink_is_found_moved_hidden_and_erased_and_each_is_undone() {
        let near = [
            stroke((10.0, 10.0), (20.0, 10.0)),
            stroke((21.0, 10.0), (21.0, 30.0)),
        ];
        let far = stroke((100.0, 100.0), (120.0, 100.0));
        let (document, sheet) = with(&[near[0].clone(), near[1].clone(), far]);
        let found = ink_at(&document, &sheet, (15.0, 11.0), 1.5);
        assert_eq!(found.len(), 1);
        assert!(ink_at(&document, &sheet, (15.0, 14.0), 1.5).is_empty());
        let word = ink_together(&document, &sheet, found, 3.0);
        assert_eq!(word.len(), 2, "what touches it, not what is far away");

        let moved = move_ink(&document, &sheet, &word, (5.0, -2.5)).expect("it is there");
        let after = moved.applied(&document).expect("made for this");
        assert_eq!(ink_at(&after, &sheet, (20.0, 7.5), 0.1).len(), 1);
        assert_eq!(moved.invert().applied(&after).as_ref(), Ok(&document));

        let erased = erase_ink(&document, &sheet, &word).expect("it is there");
        let after = erased.applied(&document).expect("made for this");
        assert_eq!(after.sheets[&sheet].ink.strokes.len(), 1);

        let hidden = hide_ink(&document, &sheet, true).expect("it is there");
        let after = hidden.applied(&document).expect("made for this");
        assert!(ink_at(&after, &sheet, (15.0, 10.0), 1.5).is_empty());
        let drawn =
            |it: &Document| crate::drawing::printed(it, &sheet).contains("data-key=\"ink\"");
        assert!(drawn(&document), "ink is on paper");
        assert!(!drawn(&after), "hidden ink is not");
    }

    #[test]
    fn a_file_keeps_ink_and_one_without_is_written_as_before() {
        let (document, sheet) = with(&[stroke((10.0, 10.0), (20.005, 10.0))]);
        let text = exchange::save(&document);
        assert_eq!(exchange::open(&text).expect("it opens").document, document);
        let erased = erase_ink(
            &document,
            &sheet,
            &ink_at(&document, &sheet, (10.0, 10.0), 1.0),
        );
        let after = erased.and_then(|it| it.applied(&document).map_err(|_| unreachable!()));
        let text = exchange::save(&after.expect("made for this"));
        assert!(!String::from_utf8_lossy(&text).contains("\"ink\""));
    }

    #[test]
    fn ink_that_no_sheet_can_hold_is_refused() {
        let bad = |path: &str, width_mm: f64| {
            let (document, sheet) = with(&[]);
            let stroke = InkStroke {
                path: path.into(),
                ..stroke((0.0, 0.0), (1.0, 1.0))
            };
            let stroke = InkStroke { width_mm, ..stroke };
            add_ink(&document, &sheet, stroke).is_err()
        };
        assert!(!bad("1 2 0.5", 0.5), "a dot");
        for path in [
            "",
            "1 2",
            "1 2 x",
            "1 2 0.5 3",
            "1 2 1.5",
            "99999 2 0.5",
            "NaN 1 0.5",
        ] {
            assert!(bad(path, 0.5), "{path:?}");
        }
        assert!(bad("1 2 0.5", 0.0) && bad("1 2 0.5", f64::INFINITY));
        let many: Vec<InkStroke> = (0..limits::MAX_INK_STROKES)
            .map(|n| stroke((n as f64, 0.0), (1.0, 1.0)))
            .collect();
        let (mut document, sheet) = with(&many[..1]);
        let ink = &mut document.sheets.get_mut(&sheet).expect("it is there").ink;
        ink.strokes = many;
        assert!(add_ink(&document, &sheet, stroke((0.0, 9.0), (1.0, 1.0))).is_err());
    }

    #[test]
    fn the_strokes_of_two_builders_are_merged() {
        let (common, sheet) = with(&[]);
        let add = |it: InkStroke| {
            let change = add_ink(&common, &sheet, it).expect("there is room");
            change.applied(&common).expect("made for this")
        };
        let mine = add(stroke((10.0, 10.0), (20.0, 10.0)));
        let other = add(stroke((50.0, 10.0), (60.0, 10.0)));
        let merged = exchange::merge::merge(&common, &mine, &other).expect("it is valid");
        assert!(merged.conflicts.is_empty());
        assert_eq!(merged.document.sheets[&sheet].ink.strokes.len(), 2);
    }
}
