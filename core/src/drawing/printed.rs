//! A sheet as it is printed: what is drawn on it is enlarged to the paper, inside a border with a filing margin
//! (20 mm at the left, 10 mm elsewhere, after ISO 5457) and a title block along the bottom, to be signed. Zones keep
//! their letters and numbers, so that references lead to the same place as on screen.

use std::fmt::Write;

use super::{
    frame::{self, line, row_letter, write, zone_counts},
    geometry::{Point, Rect, pt},
    phase::Phase,
    scene::{Anchor, GroupKey, Scene, Shape},
    svg::{self, Mm},
    text,
    theme::Theme,
};
use crate::{
    document::{Document, Sheet, SheetSize},
    ids::SheetId,
};

/// What no printer of a page reaches, and the line with aircraft, version and page above the sheet, mm.
const LOST_MM: (f64, f64) = (11.0, 16.0);
/// The filing margin beyond what the printer leaves, mm.
const FILING_MM: f64 = 15.0;
/// Band for the zones around the border, mm.
const BAND_MM: f64 = 5.0;
/// Height of the title block, mm.
const BLOCK_MM: f64 = 16.0;
/// Free space inside the border, mm.
const FREE_MM: f64 = 3.0;
/// Type with capitals of 2.5 mm (ISO 3098), mm.
const TYPE_MM: f64 = 3.5;
/// A sheet with little on it is enlarged by this much and no more.
const MOST: f64 = 2.0;

/// Where a sheet is printed.
struct Page {
    wide_mm: f64,
    high_mm: f64,
    border: Rect,
    block: Rect,
}

impl Page {
    fn of(size: SheetSize) -> Self {
        let (w, h) = size.size_mm();
        let (wide_mm, high_mm) = (w - LOST_MM.0, h - LOST_MM.1);
        let border = Rect::new(
            FILING_MM,
            BAND_MM,
            wide_mm - FILING_MM - BAND_MM,
            high_mm - 2.0 * BAND_MM,
        );
        let block = Rect::new(border.x, border.bottom() - BLOCK_MM, border.w, BLOCK_MM);
        Self {
            wide_mm,
            high_mm,
            border,
            block,
        }
    }

    /// Where the drawing goes.
    fn room(&self) -> Rect {
        let border = self.border;
        Rect::new(border.x, border.y, border.w, border.h - BLOCK_MM).grown(-FREE_MM)
    }
}

/// Everything on the sheet but its frame.
fn drawn(scene: &Scene) -> Option<Rect> {
    let groups = scene.groups.iter();
    let groups = groups.filter(|(key, group)| **key != GroupKey::Frame && !group.shapes.is_empty());
    groups.map(|(_, group)| group.bounds).reduce(Rect::union)
}

/// By how much the drawing is enlarged on paper of the sheet's own size; 1 if nothing is drawn.
pub fn enlarged(scene: &Scene, size: SheetSize) -> f64 {
    let Some(drawn) = drawn(scene) else {
        return 1.0;
    };
    let room = Page::of(size).room();
    (room.w / drawn.w).min(room.h / drawn.h).min(MOST)
}

/// A sheet at rest in black and white as it is printed, as markup inside a page.
pub fn printed(document: &Document, id: &SheetId) -> String {
    printed_scene(document, id, &super::scene(document, id))
}

/// The same of a sheet whose scene is at hand.
pub fn printed_scene(document: &Document, id: &SheetId, scene: &Scene) -> String {
    let Some(sheet) = document.sheets.get(id) else {
        return String::new();
    };
    let page = Page::of(sheet.size);
    let by = enlarged(scene, sheet.size);
    let middle = drawn(scene).unwrap_or(page.room()).centre();
    let at = page.room().centre();
    let shift = pt(at.x - by * middle.x, at.y - by * middle.y);

    let (w, h) = sheet.size.size_mm();
    let mut out = svg::begin(
        (w, h),
        Rect::new(0.0, 0.0, page.wide_mm, page.high_mm),
        Theme::BlackAndWhite,
    );
    for shape in frame(document, sheet, &page, (by, shift)) {
        svg::write_shape(&mut out, &shape);
    }
    let _ = writeln!(
        out,
        "<g transform=\"translate({} {}) scale({by:.4})\">",
        Mm(shift.x),
        Mm(shift.y)
    );
    let groups = scene.groups.iter();
    for (key, group) in groups.filter(|(key, _)| **key != GroupKey::Frame) {
        svg::write_group(&mut out, key, group);
    }
    out.push_str("</g>\n</svg>\n");
    svg::inside(&out)
}

fn frame(document: &Document, sheet: &Sheet, page: &Page, (by, shift): (f64, Point)) -> Vec<Shape> {
    let mut shapes = vec![
        frame::bordered(page.border, 0.7),
        frame::bordered(page.block, 0.35),
    ];
    zones(&mut shapes, sheet.size, page, (by, shift));
    title_block(&mut shapes, document, sheet, page.block);
    shapes
}

/// The letters and numbers of the sheet's zones where these come to be.
fn zones(shapes: &mut Vec<Shape>, size: SheetSize, page: &Page, (by, shift): (f64, Point)) {
    let (w, h) = size.size_mm();
    let (counts, steps) = zone_counts(w, h);
    let border = page.border;
    let along = |axis: usize| {
        let (from, to, shift) = match axis {
            0 => (border.x, border.right(), shift.x),
            _ => (border.y, border.bottom(), shift.y),
        };
        let at = move |n: u32| shift + by * (frame::MARGIN_MM + steps[axis] * f64::from(n));
        let within = (0..counts[axis]).filter_map(move |n| {
            let (begin, end) = (at(n).max(from), at(n + 1).min(to));
            (end - begin > TYPE_MM).then_some((n, begin, end))
        });
        within.collect::<Vec<_>>()
    };
    for (n, begin, end) in along(0) {
        let middle = begin.midpoint(end);
        for y in [border.y - 1.2, border.bottom() + TYPE_MM] {
            shapes.push(say(pt(middle, y), &(n + 1).to_string(), Anchor::Middle));
        }
        for (y, out) in [(border.y, -BAND_MM), (border.bottom(), BAND_MM)] {
            if begin > border.x {
                shapes.push(line(&[pt(begin, y), pt(begin, y + out)]));
            }
        }
    }
    for (n, begin, end) in along(1) {
        let middle = begin.midpoint(end) + TYPE_MM / 3.0;
        for x in [border.x - BAND_MM / 2.0, border.right() + BAND_MM / 2.0] {
            shapes.push(say(
                pt(x, middle),
                &row_letter(n).to_string(),
                Anchor::Middle,
            ));
        }
        for (x, out) in [(border.x, -BAND_MM), (border.right(), BAND_MM)] {
            if begin > border.y {
                shapes.push(line(&[pt(x, begin), pt(x + out, begin)]));
            }
        }
    }
}

/// Title, aircraft, phase, who drew and checked it, number; below it the caution.
fn title_block(shapes: &mut Vec<Shape>, document: &Document, sheet: &Sheet, block: Rect) {
    let of = document.sheets.len();
    let project = &document.project;
    let aircraft = [project.title.as_str(), project.registration.as_str()].join(" ");
    let (upper, lower) = (block.y + 6.4, block.bottom() - 2.2);
    shapes.push(line(&[
        pt(block.x, block.y + 9.5),
        pt(block.right(), block.y + 9.5),
    ]));
    // Shares of the width, and what is there: blanks are filled in by hand.
    let cells = [
        (0.34, sheet.title.clone(), true),
        (0.2, aircraft.trim().to_owned(), false),
        (0.14, "drawn".into(), false),
        (0.14, "checked".into(), false),
        (0.18, format!("sheet {} of {of}", sheet.number), true),
    ];
    let mut x = block.x;
    for (share, what, bold) in cells {
        let wide = share * block.w;
        let what = text::fit(&what, TYPE_MM, bold, wide - 4.0);
        shapes.push(write(
            pt(x + 2.0, upper),
            &what,
            TYPE_MM,
            Anchor::Start,
            bold,
        ));
        x += wide;
        if x < block.right() - 1.0 {
            shapes.push(line(&[pt(x, block.y), pt(x, block.y + 9.5)]));
        }
    }
    let volts = format!("{}, {} V system", Phase::title(None), project.nominal_v);
    let volts_mm = text::width(&volts, TYPE_MM, false);
    shapes.push(say(pt(block.right() - 2.0, lower), &volts, Anchor::End));
    let room = block.w - volts_mm - 8.0;
    // On small paper the caution is set smaller, not cut.
    let size = TYPE_MM.min(TYPE_MM * room / text::width(frame::SAFETY, TYPE_MM, false));
    let at = pt(block.x + 2.0, lower);
    shapes.push(write(at, frame::SAFETY, size, Anchor::Start, false));
}

fn say(at: Point, what: &str, anchor: Anchor) -> Shape {
    write(at, what, TYPE_MM, anchor, false)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::exchange;

    /// On every sheet of both samples: all that is drawn is inside the border and clear of the title block, and no
    /// smaller than on the sheet itself but by the line above it.
    #[test]
    fn a_printed_sheet_is_whole_inside_its_border() {
        for file in [
            &include_bytes!("../../../public/samples/sorrel.json")[..],
            &include_bytes!("../../../public/samples/teasel.json")[..],
        ] {
            let document = exchange::open(file).expect("the sample opens").document;
            for (id, sheet) in &document.sheets {
                let scene = crate::drawing::scene(&document, id);
                let drawn = drawn(&scene).expect("it is not empty");
                let page = Page::of(sheet.size);
                let by = enlarged(&scene, sheet.size);
                let room = page.room();
                assert!(drawn.w * by <= room.w + 1e-9, "{id}");
                assert!(drawn.h * by <= room.h + 1e-9, "{id}");
                assert!((0.9..=MOST).contains(&by), "{id}: {by}");
                assert!(room.bottom() < page.block.y, "{id}");
            }
        }
    }

    /// A reference names a zone: its letter and number are printed next to what is in it.
    #[test]
    fn a_zone_is_printed_where_its_things_are() {
        let size = SheetSize::A3;
        let page = Page::of(size);
        let (by, shift) = (1.25, pt(-40.0, -20.0));
        let mut shapes = Vec::new();
        zones(&mut shapes, size, &page, (by, shift));
        let number = |x_mm: f64| {
            let texts = shapes.iter().filter_map(|shape| match shape {
                Shape::Text { at, text, .. } if at.y < page.border.y => Some((at.x, text)),
                _ => None,
            });
            let nearest =
                |a: &(f64, _), b: &(f64, _)| (a.0 - x_mm).abs().total_cmp(&(b.0 - x_mm).abs());
            texts.min_by(nearest).map(|(_, text)| text.clone())
        };
        for x in [110.0, 215.0, 250.0] {
            let zone = frame::zone(size, pt(x, 150.0));
            assert_eq!(number(by * x + shift.x), Some(zone[1..].to_owned()), "{x}");
        }
    }
}
