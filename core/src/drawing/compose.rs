//! Puts a sheet together: frame, items, wires, cables, notes.

use crate::order::InOrder;
use crate::order::{Map, Sorted};
use std::sync::Arc;

use super::{
    cables, frame,
    geometry::{LATTICE_MM, Point, Rect},
    ink, inline,
    item::{self, Placed},
    names, outlines,
    paths::{self, Pace, RoutedPaths, grid::Grid},
    pen,
    phase::Phase,
    scene::{Anchor, Group, GroupKey, Ink, PinSpot, Scene, Shape},
    text,
    wires::{self, Course, Crossings, LaidStub},
};
use crate::{
    document::{Document, End, Sheet, SheetItem, Shown, Wire},
    ids::{ItemId, SheetId, TerminalId, WireId},
};

/// The scene of a sheet with every switch at rest. Empty if there is no such sheet.
pub fn scene(document: &Document, sheet: &SheetId) -> Scene {
    scene_in(document, sheet, None)
}

/// The current scene of a sheet. Groups that did not change are reused from an earlier scene: such a group is the
/// same `Arc` in both.
pub fn rescene(
    document: &Document,
    sheet: &SheetId,
    phase: Option<&Phase>,
    previous: &Scene,
    pace: Pace,
) -> Scene {
    let mut scene = compose(document, sheet, phase, (Some(previous), pace));
    for (key, group) in scene.groups.iter_mut() {
        if let Some(same) = previous.groups.get(key)
            && (Arc::ptr_eq(same, group) || same == group)
        {
            *group = Arc::clone(same);
        }
    }
    scene
}

/// The scene of a sheet in a phase; at rest if none is given.
pub fn scene_in(document: &Document, id: &SheetId, phase: Option<&Phase>) -> Scene {
    compose(document, id, phase, (None, Pace::Settled))
}

fn compose(
    document: &Document,
    id: &SheetId,
    phase: Option<&Phase>,
    earlier: (Option<&Scene>, Pace),
) -> Scene {
    let Some(sheet) = document.sheets.get(id) else {
        return Scene::default();
    };
    let (width_mm, height_mm) = sheet.size.size_mm();
    let mut scene = Scene {
        width_mm,
        height_mm,
        ..Scene::default()
    };
    let mut add = |key, group| scene.groups.insert(key, Arc::new(group));
    add(GroupKey::Frame, frame::draw(document, sheet, phase));
    for (i, note) in sheet.notes.iter().enumerate() {
        let shape = Shape::Text {
            at: item::within(sheet, note.x_mm, note.y_mm),
            text: note.text.clone(),
            size_mm: text::PLAIN_MM,
            anchor: Anchor::Start,
            ink: Ink::Label,
            bold: false,
            upward: false,
        };
        add(
            GroupKey::Note(i),
            Group::new(vec![shape], note.text.clone()),
        );
    }
    if let Some(ink) = ink::group(sheet) {
        add(GroupKey::Ink, ink);
    }
    let placed = place_items(document, sheet, phase);
    add_pins(sheet, &placed, &mut scene);
    if sheet.legend {
        let group = legend(document, sheet, &placed);
        scene.groups.insert(GroupKey::Legend, Arc::new(group));
    }
    let shared = shared_pins(document, &scene);
    for (item, drawn) in &placed {
        let record = &sheet.items[item];
        let mut shapes = drawn.outline.shapes.clone();
        let pins = drawn.outline.pins.iter();
        let pins = pins.filter(|(id, ..)| shared.contains(&pin_end(record, id)));
        shapes.extend(pins.map(|(_, at, _)| pen::shared_pin(*at)));
        let group = Group::new(shapes, item::label(document, record));
        scene
            .groups
            .insert(GroupKey::Item(item.clone()), Arc::new(group));
        scene.boxes.insert(item.clone(), drawn.rect);
    }
    let mut grid = grid(sheet, &placed, &scene);
    lay_wires(document, id, &mut grid, &mut scene, earlier);
    scene
}

/// Terminals shown here in which two wires or more end.
fn shared_pins(document: &Document, scene: &Scene) -> Sorted<End> {
    let mut counts: Map<&End, u32> = scene.pins.values().map(|pin| (&pin.end, 0)).collect();
    for end in document.wires.values().flat_map(|it| [&it.from, &it.to]) {
        if let Some(count) = counts.get_mut(end) {
            *count += 1;
        }
    }
    let shared = counts.into_iter().filter(|(end, count)| {
        // A splice is drawn as a dot, and a point on the structure is metal.
        *count > 1 && matches!(end, End::Terminal(..))
    });
    shared.map(|(end, _)| end.clone()).collect()
}

/// The legend in the first corner where no item is: bottom left, top left, top right, above the title block.
fn legend(document: &Document, sheet: &Sheet, placed: &Map<ItemId, Placed>) -> Group {
    let (w, h) = sheet.size.size_mm();
    let outline = outlines::legend::draw(document, sheet);
    let inside = frame::inside(w, h);
    let (right, bottom) = (
        inside.right() - outline.w_mm,
        inside.bottom() - outline.h_mm,
    );
    let above = frame::block(w, h).y - LATTICE_MM - outline.h_mm;
    let corners = [
        (inside.x, bottom),
        (inside.x, inside.y),
        (right, inside.y),
        (right, above),
    ];
    let is_free = |(x, y): &&(f64, f64)| {
        let rect = Rect::new(*x, *y, outline.w_mm, outline.h_mm).grown(LATTICE_MM);
        !placed.values().any(|it| it.rect.overlaps(rect))
    };
    let (x, y) = corners.iter().find(is_free).copied().unwrap_or(corners[0]);
    Group::new(outline.moved(x, y).shapes, "Legend")
}

fn add_pins(sheet: &Sheet, placed: &Map<ItemId, Placed>, scene: &mut Scene) {
    for (item, drawn) in placed {
        for (terminal, at, facing) in &drawn.outline.pins {
            let spot = PinSpot {
                at: *at,
                facing: *facing,
                end: pin_end(&sheet.items[item], terminal),
            };
            scene.pins.insert((item.clone(), terminal.clone()), spot);
        }
    }
}

pub(super) fn place_items(
    document: &Document,
    sheet: &Sheet,
    phase: Option<&Phase>,
) -> Map<ItemId, Placed> {
    let place = |(id, item): (&ItemId, &SheetItem)| {
        Some((id.clone(), item::place(document, sheet, item, phase)?))
    };
    sheet.items.iter().filter_map(place).collect()
}

fn pin_end(item: &SheetItem, terminal: &TerminalId) -> End {
    match &item.shows {
        Shown::Device { device, .. } => End::Terminal(device.clone(), terminal.clone()),
        Shown::Splice(splice) => End::Splice(splice.clone()),
        Shown::Structure(place) => End::Structure(place.clone()),
    }
}

/// The lattice with everything on it that wires go around.
fn grid(sheet: &Sheet, placed: &Map<ItemId, Placed>, scene: &Scene) -> Grid {
    let (w, h) = sheet.size.size_mm();
    let paper = Rect::new(0.0, 0.0, w, h);
    let all = placed
        .values()
        .map(|item| item.rect.grown(20.0))
        .fold(paper, Rect::union);
    let mut grid = Grid::new(all.right(), all.bottom(), frame::inside(w, h));
    grid.build(frame::block(w, h));
    for (id, item) in placed {
        if !matches!(sheet.items[id].shows, Shown::Splice(_)) {
            grid.build(item.rect);
            continue;
        }
        for shape in &item.outline.shapes {
            if let Shape::Text { .. } = shape {
                grid.write(shape.bounds());
            }
        }
    }
    for pin in scene.pins.values() {
        if let End::Splice(_) = pin.end {
            grid.occupy(pin.at);
        }
    }
    for (key, group) in &scene.groups {
        match key {
            GroupKey::Note(_) => grid.write(group.bounds),
            GroupKey::Legend => grid.build(group.bounds),
            _ => {}
        }
    }
    grid
}

/// What the wires of a sheet cost where its items are.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Rough {
    /// Length and bends, in the units of the router; a wire on another wire or through a device costs a fortune.
    pub paths: u64,
    /// How often a wire crosses another.
    pub crossings: u64,
    /// References that have no room.
    pub unclear: u64,
}

/// What wires would cost if each were laid in a moment, none making way for another: to compare arrangements.
pub(super) fn rough(document: &Document, id: &SheetId) -> Rough {
    let mut scene = Scene::default();
    let Some(sheet) = document.sheets.get(id) else {
        return Rough {
            paths: 0,
            crossings: 0,
            unclear: 0,
        };
    };
    let placed = place_items(document, sheet, None);
    add_pins(sheet, &placed, &mut scene);
    let mut grid = grid(sheet, &placed, &scene);
    let straight = cables::straight(document);
    let (courses, mut jobs) = wires::courses(document, id, &scene.pins, &straight);
    cables::ends(document, &scene.pins, &mut grid, &mut jobs);
    paths::reserve(&mut grid, &jobs);
    let stubs = lay_stubs(document, &mut grid, &courses, jobs.len());
    let unclear = stubs.values().flatten().filter(|stub| !stub.is_clear);
    let unclear = unclear.count() as u64;
    let stubs = stubs.values().flatten().map(|stub| stub.path.clone());
    let (paths, crossings) = paths::rough(&mut grid, &jobs, stubs.collect());
    Rough {
        paths,
        crossings,
        unclear,
    }
}

fn lay_wires(
    document: &Document,
    sheet: &SheetId,
    grid: &mut Grid,
    scene: &mut Scene,
    (earlier, pace): (Option<&Scene>, Pace),
) {
    let straight = cables::straight(document);
    let (courses, mut jobs) = wires::courses(document, sheet, &scene.pins, &straight);
    let cable_ends = cables::ends(document, &scene.pins, grid, &mut jobs);
    paths::reserve(grid, &jobs);
    let stubs = lay_stubs(document, grid, &courses, jobs.len());
    let lay = RoutedPaths::new(grid, jobs, earlier.and_then(|it| it.lay.as_ref()), pace);
    // A wire that a drag does not change keeps its text too, as long as nothing is placed on it.
    let still = earlier.filter(|_| pace == Pace::Quick);
    let laid = &lay.paths;
    let mut crossings = Crossings::default();

    for (cable, (group, sleeves)) in cables::draw(document, &cable_ends, laid, grid, &mut crossings)
    {
        scene.sleeves.insert(cable.clone(), sleeves);
        scene.groups.insert(GroupKey::Cable(cable), Arc::new(group));
    }
    for (id, course) in &courses {
        let wire = &document.wires[id];
        let empty = Vec::new();
        let stubs = stubs.get(id).unwrap_or(&empty);
        let pieces: Vec<&[Point]> = match course {
            Course::Whole(job) => vec![&laid[*job]],
            Course::Stubs(_) => stubs.iter().map(|stub| stub.path.as_slice()).collect(),
        };
        let mut shapes = Vec::new();
        for piece in &pieces {
            shapes.extend(wires::gaps(piece, &crossings));
        }
        for piece in &pieces {
            crossings.add(piece);
        }
        let key = GroupKey::Wire(id.clone());
        let pieces: Vec<Vec<Point>> = pieces.iter().map(|piece| piece.to_vec()).collect();
        let there = still.filter(|it| it.paths.get(id) == Some(&pieces));
        let there = there.and_then(|it| it.groups.get(&key));
        let kept = there.and_then(|it| wires::keep_label(grid, &it.shapes));
        if let (Some(there), Some(_), Course::Whole(_)) = (there, kept, course)
            && wires::has_gaps(&there.shapes, &shapes)
        {
            scene.groups.insert(key, Arc::clone(there));
            scene.paths.insert(id.clone(), pieces);
            continue;
        }
        for piece in &pieces {
            shapes.extend(wires::strokes(wire, piece));
        }
        shapes.extend(stubs.iter().flat_map(|stub| stub.tail.iter().cloned()));
        shapes.extend(inline::fuse(grid, wire, course, &pieces));
        match kept {
            Some(kept) => shapes.extend_from_slice(kept),
            None => shapes.extend(wires::label(grid, wire, &pieces)),
        }
        let group = Group::new(shapes, spoken(document, wire));
        scene.groups.insert(key, Arc::new(group));
        scene.paths.insert(id.clone(), pieces);
    }
    scene.lay = Some(lay);
}

/// Places all stubs. Those alone at their pin come first, so that a second stub gives way to them.
fn lay_stubs(
    document: &Document,
    grid: &mut Grid,
    courses: &Map<WireId, Course>,
    jobs: usize,
) -> Map<WireId, Vec<LaidStub>> {
    let mut order = Vec::new();
    let mut seen = Sorted::new();
    for (id, course) in courses {
        if let Course::Stubs(list) = course {
            for stub in list {
                let is_second = !seen.insert(&stub.pin.end);
                order.push((is_second, id, stub));
            }
        }
    }
    order.order_by_key(|(is_second, id, _)| (*is_second, *id));
    let mut laid: Map<WireId, Vec<LaidStub>> = Map::new();
    for (i, (_, id, stub)) in order.into_iter().enumerate() {
        let wire = &document.wires[id];
        let number_mm = text::width(&wire.number, text::SMALL_MM, false);
        let long_mm = number_mm + inline::room_mm(wire, &stub.pin.end);
        let mark = (jobs + i + 1) as u32;
        laid.or_default(id.clone())
            .push(wires::lay_stub(grid, stub, long_mm, mark));
    }
    laid
}

/// The description of a wire for screen readers.
fn spoken(document: &Document, wire: &Wire) -> String {
    let fuse = wire.fuse.as_ref();
    let fuse = fuse.map_or(String::new(), |it| match it.rating_a {
        Some(rating_a) => format!(", with a {rating_a} A fuse"),
        None => ", with a fuse, rating not set".into(),
    });
    format!(
        "Wire {}, {} {}, from {} to {}{fuse}",
        wire.number,
        wire.size(),
        wire.colour,
        names::end(document, &wire.from),
        names::end(document, &wire.to)
    )
}
