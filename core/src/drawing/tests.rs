//! Laws of a scene: paths are on the lattice, go around devices and never run on each other; hit tests agree with
//! the drawing; markup is well-formed whatever a person types.

use std::{fmt::Write, sync::Arc};

use proptest::prelude::*;

use super::{
    geometry::{LATTICE_MM, Point, Rect, pt},
    overlay::{Flag, FlagAt, FlagLevel},
    *,
};
use crate::{
    document::{Document, End, Sheet, SheetItem, Shown},
    edit,
    ids::{ItemId, SheetId, TerminalId},
    testing::{aircraft, document},
};

fn item(device: &str, x_mm: f64, y_mm: f64) -> (ItemId, SheetItem) {
    let id = device.to_lowercase();
    let shows = serde_json::from_value(serde_json::json!({ "device": { "device": device } }));
    let shows: Shown = shows.expect("a device is shown");
    (
        id.as_str().into(),
        SheetItem {
            shows,
            x_mm,
            y_mm,
            mirrored: false,
            extra: crate::document::Extra::new(),
        },
    )
}

fn on_sheet(mut document: Document, items: &[(&str, f64, f64)]) -> (Document, SheetId) {
    let items = items
        .iter()
        .map(|(device, x, y)| item(device, *x, *y))
        .collect();
    let sheet = Sheet {
        number: 1,
        title: "All".into(),
        items,
        ..Sheet::default()
    };
    document.sheets.insert("s1".into(), sheet);
    (document, "s1".into())
}

fn pieces(scene: &Scene) -> Vec<(String, Point, Point)> {
    let paths = scene
        .paths
        .iter()
        .flat_map(|(id, paths)| paths.iter().map(move |path| (id, path)));
    paths
        .flat_map(|(id, path)| path.windows(2).map(move |w| (id.to_string(), w[0], w[1])))
        .collect()
}

/// Length that two pieces have in common, mm.
fn common(a: (Point, Point), b: (Point, Point)) -> f64 {
    let span = |p: f64, q: f64, r: f64, s: f64| p.max(q).min(r.max(s)) - p.min(q).max(r.min(s));
    let (ra, rb) = (Rect::around([a.0, a.1]), Rect::around([b.0, b.1]));
    if ra.w == 0.0 && rb.w == 0.0 && ra.x == rb.x {
        span(a.0.y, a.1.y, b.0.y, b.1.y)
    } else if ra.h == 0.0 && rb.h == 0.0 && ra.y == rb.y {
        span(a.0.x, a.1.x, b.0.x, b.1.x)
    } else {
        0.0
    }
}

fn check_paths(document: &Document, scene: &Scene) {
    let pieces = pieces(scene);
    for (id, a, b) in &pieces {
        assert!(a.x == b.x || a.y == b.y, "{id} slants from {a:?} to {b:?}");
        // Wires meet in the middle of a splice, so its box is none they go around.
        let is_splice = |item: &ItemId| {
            let key = (item.clone(), TerminalId::new(""));
            matches!(scene.pins.get(&key), Some(pin) if matches!(pin.end, End::Splice(_)))
        };
        for (item, rect) in scene.boxes.iter().filter(|(item, _)| !is_splice(item)) {
            let inner = rect.grown(-0.1);
            let through = inner.w > 0.0 && inner.overlaps(Rect::around([*a, *b]).grown(0.01));
            assert!(!through, "{id} runs through {item} from {a:?} to {b:?}");
        }
    }
    for (i, (one, a, b)) in pieces.iter().enumerate() {
        for (other, c, d) in &pieces[i + 1..] {
            let [w, v] = [one, other].map(|id| &document.wires[id.as_str()]);
            let share = [&w.from, &w.to]
                .into_iter()
                .any(|end| *end == v.from || *end == v.to);
            let along = common((*a, *b), (*c, *d));
            assert!(
                share || along <= 1e-9,
                "{one} and {other} lie on one line for {along} mm"
            );
        }
    }
}

fn six_units() -> String {
    let unit = |unit| format!("unit U{unit} J-0:power_in J-1:return J-2:serial_tx J-3:serial_rx\n");
    (0..6).map(unit).collect()
}

/// Six units in a row of places, wires between their pins at random.
fn crowd() -> impl Strategy<Value = (Document, SheetId)> {
    let wires = prop::collection::vec((0..6usize, 0..4usize, 0..6usize, 0..4usize), 1..16);
    let shifts = prop::collection::vec((0..8i32, 0..6i32), 6);
    (wires, shifts).prop_map(|(wires, shifts)| {
        let mut text = six_units();
        let mut used = std::collections::BTreeSet::new();
        for (i, (a, p, b, q)) in wires.into_iter().enumerate() {
            if used.insert((a, p)) & used.insert((b, q)) {
                writeln!(text, "wire W{i} U{a}.J-{p} U{b}.J-{q} 22 1m").unwrap();
            }
        }
        let document = document(&text);
        let tags: Vec<String> = (0..6).map(|unit| format!("U{unit}")).collect();
        let place = |(i, (dx, dy)): (usize, &(i32, i32))| {
            let (col, row) = (i % 3, i / 3);
            let x = 50.0 + 120.0 * col as f64 + f64::from(*dx) * 2.5;
            (
                tags[i].as_str(),
                x,
                60.0 + 100.0 * row as f64 + f64::from(*dy) * 2.5,
            )
        };
        let items: Vec<_> = shifts.iter().enumerate().map(place).collect();
        on_sheet(document, &items)
    })
}

/// Checks the paths of wires between six units in two rows at these places, mm.
fn check_six_units(wires: &[[&str; 2]], rows: [[(f64, f64); 3]; 2]) {
    let mut text = six_units();
    for (i, [from, to]) in wires.iter().enumerate() {
        writeln!(text, "wire W{i} {from} {to} 22 1m").unwrap();
    }
    let tags = ["U0", "U1", "U2", "U3", "U4", "U5"];
    let items: Vec<_> = (tags.into_iter().zip(rows.concat()))
        .map(|(tag, (x, y))| (tag, x, y))
        .collect();
    let (document, sheet) = on_sheet(document(&text), &items);
    check_paths(&document, &scene(&document, &sheet));
}

/// A wire that met another circuit in a corner and was routed again came back over it.
#[test]
fn circuits_that_met_in_a_corner_keep_apart() {
    let wires = [
        ["U2.J-2", "U1.J-1"],
        ["U1.J-3", "U5.J-2"],
        ["U2.J-0", "U5.J-3"],
        ["U4.J-0", "U0.J-3"],
        ["U1.J-2", "U1.J-0"],
    ];
    let upper = [(50.0, 70.0), (170.0, 70.0), (290.0, 65.0)];
    let lower = [(50.0, 160.0), (170.0, 160.0), (290.0, 160.0)];
    check_six_units(&wires, [upper, lower]);
}

/// The first wire turned where the other had to come straight into its pin, and on a sheet of two neither was routed
/// again.
#[test]
fn a_wire_gives_way_to_the_only_other_one() {
    let wires = [["U4.J-2", "U2.J-0"], ["U5.J-0", "U1.J-2"]];
    let upper = [(50.0, 60.0), (170.0, 62.5), (290.0, 62.5)];
    let lower = [(50.0, 160.0), (170.0, 160.0), (290.0, 160.0)];
    check_six_units(&wires, [upper, lower]);
    let wires = [["U4.J-3", "U2.J-1"], ["U2.J-3", "U1.J-3"]];
    let upper = [(50.0, 60.0), (112.5, 62.5), (170.0, 62.5)];
    let lower = [(52.5, 110.0), (112.5, 110.0), (170.0, 112.5)];
    check_six_units(&wires, [upper, lower]);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]

    #[test]
    fn paths_are_square_go_around_devices_and_never_lie_on_each_other((document, sheet) in crowd()) {
        let scene = scene(&document, &sheet);
        check_paths(&document, &scene);
        for (id, paths) in &scene.paths {
            let wire = &document.wires[id];
            if wire.from == wire.to {
                continue;
            }
            let at = |end: &End| scene.pins.values().find(|pin| pin.end == *end).unwrap().at;
            prop_assert_eq!(paths[0][0], at(&wire.from));
            prop_assert_eq!(*paths[0].last().unwrap(), at(&wire.to));
        }
    }

    #[test]
    fn what_is_hit_is_what_is_drawn_there((document, sheet) in crowd()) {
        let scene = scene(&document, &sheet);
        for ((item, terminal), pin) in &scene.pins {
            let found = hit(&scene, pin.at, 1.0);
            prop_assert_eq!(found, Some(Hit::Pin(item.clone(), terminal.clone())));
        }
        for (item, rect) in &scene.boxes {
            prop_assert_eq!(hit(&scene, rect.centre(), 1.0), Some(Hit::Item(item.clone())));
        }
        for (id, a, b) in pieces(&scene).into_iter().filter(|(_, a, b)| a.distance(*b) > 12.0) {
            let middle = pt((a.x + b.x) / 2.0 + 0.3, (a.y + b.y) / 2.0 + 0.2);
            match hit(&scene, middle, 1.0) {
                Some(Hit::Wire(found)) => {
                    let close = scene.paths[&found].iter().flat_map(|p| p.windows(2))
                        .any(|w| middle.distance_to_line(w[0], w[1]) <= 1.0);
                    prop_assert!(close, "{} for {}", found, id);
                }
                other => prop_assert!(matches!(other, Some(Hit::Pin(..))), "{other:?} for {id}"),
            }
        }
    }

    #[test]
    fn any_place_and_any_text_give_a_scene_and_sound_markup(
        x in prop::num::f64::ANY, y in prop::num::f64::ANY, text in "\\PC{0,20}", raw in any::<String>(),
    ) {
        let mut document = document("unit U1 J-0 J-1\nsplice SP1\nwire W1 U1.J-0 SP1 22 1m");
        document.wires.values_mut().for_each(|wire| wire.number.clone_from(&text));
        document.devices.values_mut().for_each(|device| device.title.clone_from(&raw));
        let (document, sheet) = on_sheet(document, &[("U1", x, y), ("NONE", 10.0, 10.0)]);
        let scene = scene(&document, &sheet);
        prop_assert_eq!(scene.boxes.len(), 1);
        let paper = Rect::new(0.0, 0.0, scene.width_mm, scene.height_mm);
        prop_assert!(scene.boxes.values().all(|rect| paper.contains(pt(rect.x, rect.y))));
        check_markup(&svg(&scene, Theme::Light, None));
    }
}

/// A small reader of markup: every tag closes, every `&` begins an entity.
fn check_markup(markup: &str) {
    let mut open = Vec::new();
    let body = markup
        .split_once("?>")
        .expect("begins with a declaration")
        .1;
    for piece in body.split('<').skip(1) {
        let (tag, rest) = piece.split_once('>').expect("a tag that ends");
        assert!(!rest.contains('>'), "a bare > in {rest:?}");
        let name = tag
            .split([' ', '/'])
            .find(|word| !word.is_empty())
            .unwrap_or_default();
        assert!(
            [
                "svg", "style", "rect", "g", "title", "path", "circle", "text"
            ]
            .contains(&name),
            "found a tag of nobody's: {tag:?}"
        );
        if tag.starts_with('/') {
            assert_eq!(open.pop(), Some(name.to_owned()));
        } else if !tag.ends_with('/') {
            open.push(name.to_owned());
        }
        for entity in piece.split('&').skip(1) {
            let known = ["amp;", "lt;", "gt;", "quot;", "#39;"];
            assert!(
                known.iter().any(|k| entity.starts_with(k)),
                "a bare & before {entity:?}"
            );
        }
    }
    assert!(open.is_empty(), "left open: {open:?}");
}

#[test]
fn script_in_a_text_stays_text() {
    let mut document = document("unit U1 J-0 J-1\nwire W1 U1.J-0 open 22 1m");
    let nasty = "\"><script>alert('1')</script><!-- \u{0} ]]>";
    document.project.title = nasty.into();
    let device = document.devices.values_mut().next().unwrap();
    (device.tag, device.title) = (nasty.into(), nasty.into());
    device.terminals[0].name = nasty.into();
    document.wires.values_mut().for_each(|wire| {
        wire.number = nasty.into();
        wire.colour = nasty.into();
    });
    let (mut document, sheet) = on_sheet(document, &[("U1", 50.0, 50.0)]);
    document
        .sheets
        .values_mut()
        .for_each(|sheet| sheet.title = nasty.into());
    let markup = svg(&scene(&document, &sheet), Theme::BlackAndWhite, None);
    check_markup(&markup);
    assert!(!markup.contains("<script") && !markup.contains('\u{0}'));
    assert!(markup.contains("&lt;script&gt;"));
}

fn lamp_circuit() -> (Document, SheetId) {
    let text = "bus MBUS CB1=5
                switch S1 1-2
                load LT1 3.6
                ground GB1 T1
                wire W1 MBUS.CB1 S1.1 18 1m
                wire W2 S1.2 LT1.+ 18 1m
                wire W3 LT1.- GB1.T1 18 1m
                wire W4 MBUS.STUD open 6 1m";
    let items = [
        ("MBUS", 50.0, 50.0),
        ("S1", 120.0, 52.0),
        ("LT1", 190.0, 50.0),
        ("GB1", 260.0, 90.0),
    ];
    on_sheet(document(text), &items)
}

#[test]
fn same_document_same_scene_and_unchanged_groups_are_shared() {
    let (mut document, sheet) = lamp_circuit();
    let first = scene(&document, &sheet);
    assert_eq!(first, scene(&document, &sheet));
    let items = &mut document.sheets.get_mut("s1").unwrap().items;
    items.get_mut("gb1").unwrap().y_mm += 40.0;
    let second = rescene(&document, &sheet, None, &first, Pace::Settled);
    let changed: Vec<_> = second
        .groups
        .iter()
        .filter(|(key, group)| {
            !first
                .groups
                .get(*key)
                .is_some_and(|old| Arc::ptr_eq(old, group))
        })
        .map(|(key, _)| svg::key_text(key))
        .collect();
    assert_eq!(
        changed,
        ["wire:W3", "item:gb1"],
        "only the device moved and its wire"
    );
}

#[test]
fn while_dragging_only_what_moved_is_laid_anew_and_at_rest_nothing_remembers_it() {
    let (mut document, sheet) = lamp_circuit();
    let first = scene(&document, &sheet);
    let items = &mut document.sheets.get_mut("s1").unwrap().items;
    items.get_mut("gb1").unwrap().y_mm += 40.0;
    let dragging = rescene(&document, &sheet, None, &first, Pace::Quick);
    let moved = |scene: &Scene| -> Vec<String> {
        let wires = first.paths.iter();
        wires
            .filter(|(wire, path)| scene.paths[*wire] != **path)
            .map(|(wire, _)| wire.to_string())
            .collect()
    };
    assert_eq!(moved(&dragging), ["W3"]);
    let dropped = rescene(&document, &sheet, None, &dragging, Pace::Settled);
    assert_eq!(dropped, scene(&document, &sheet));
}

/// An aircraft made by rule and a sheet of it, too full for every wire to have the path it likes best.
fn full_sheet() -> (Document, SheetId) {
    let document = aircraft(120);
    let sheet = document.sheets.keys().next().expect("a sheet").clone();
    (document, sheet)
}

#[test]
fn a_full_sheet_at_rest_forgets_how_it_was_shown_at_first() {
    let (mut document, sheet) = full_sheet();
    let first = scene(&document, &sheet);
    let items = &mut document.sheets.get_mut(&sheet).expect("it").items;
    items.values_mut().next().expect("an item").x_mm += 10.0;
    let at_first = rescene(&document, &sheet, None, &first, Pace::Quick);
    let again = rescene(&document, &sheet, None, &at_first, Pace::Quick);
    assert!(again.has_paths_of(&at_first));
    let at_rest = rescene(&document, &sheet, None, &at_first, Pace::Settled);
    assert_ne!(
        at_rest.paths, at_first.paths,
        "a sheet so plain shows nothing"
    );
    assert_eq!(at_rest, scene(&document, &sheet));
}

#[test]
fn a_wire_drawn_or_deleted_leaves_the_others_where_they_are_at_first() {
    let (before, sheet) = full_sheet();
    let first = scene(&before, &sheet);
    let wire = first.paths.iter().find(|(_, path)| path.len() == 1);
    let wire = wire.expect("a wire from pin to pin").0.clone();
    let mut after = before.clone();
    let change = edit::delete(&before, &[edit::Key::Wire(wire.clone())]).expect("it is there");
    change.apply(&mut after).expect("it was made for this");
    let without = rescene(&after, &sheet, None, &first, Pace::Quick);
    let with = rescene(&before, &sheet, None, &without, Pace::Quick);
    let others = |scene: &Scene| {
        let mut paths = scene.paths.clone();
        paths.retain(|it, _| *it != wire);
        paths
    };
    assert!(others(&first).len() > 20);
    assert_eq!(others(&without), others(&first));
    assert_eq!(others(&with), others(&first));
    assert!(with.paths.contains_key(&wire) && !without.paths.contains_key(&wire));
}

#[test]
fn a_unit_dragged_off_the_paper_moves_no_other_wires() {
    let (mut document, sheet) = full_sheet();
    let first = scene(&document, &sheet);
    let items = &mut document.sheets.get_mut(&sheet).expect("it").items;
    let last = items.keys().last().expect("an item").clone();
    let item = items.get_mut(&last).expect("it");
    let Shown::Device { device, .. } = item.shows.clone() else {
        panic!("a device is shown");
    };
    item.x_mm += 700.0;
    let far = rescene(&document, &sheet, None, &first, Pace::Quick);
    let moved: Vec<_> = first
        .paths
        .iter()
        .filter(|(id, path)| {
            let wire = &document.wires[*id];
            let ends = [&wire.from, &wire.to];
            let is_its = ends
                .iter()
                .any(|end| matches!(end, End::Terminal(it, _) if *it == device));
            !is_its && far.paths.get(*id) != Some(path)
        })
        .collect();
    assert!(moved.is_empty(), "{moved:?}");
    assert!(far.paths != first.paths);
}

#[test]
fn a_lamp_circuit_is_drawn_like_this() {
    let (document, sheet) = lamp_circuit();
    let scene = scene(&document, &sheet);
    let mut dump = String::new();
    for (wire, paths) in &scene.paths {
        for path in paths {
            let corners: Vec<String> = path.iter().map(|p| format!("{},{}", p.x, p.y)).collect();
            writeln!(dump, "{wire}: {}", corners.join(" ")).unwrap();
        }
    }
    assert_eq!(dump, GOLDEN, "\n{dump}");
}

const GOLDEN: &str = "\
W1: 85,62.5 120,62.5
W2: 140,62.5 145,62.5 145,60 190,60
W3: 190,65 187.5,65 187.5,100 260,100
W4: 50,60 40,60
";

#[test]
fn pins_stand_on_the_edge_two_steps_apart_and_mirroring_swaps_sides() {
    let (mut document, sheet) = lamp_circuit();
    let check = |scene: &Scene| {
        for ((item, _), pin) in &scene.pins {
            let rect = scene.boxes[item];
            assert!(pin.at.x == rect.x || pin.at.x == rect.right(), "{item}");
            for mm in [pin.at.x, pin.at.y, rect.w, rect.h] {
                assert_eq!(mm % LATTICE_MM, 0.0, "{item} is off the lattice");
            }
        }
    };
    let before = scene(&document, &sheet);
    check(&before);
    for item in document.sheets.get_mut("s1").unwrap().items.values_mut() {
        item.mirrored = true;
    }
    let after = scene(&document, &sheet);
    check(&after);
    for (key, pin) in &before.pins {
        assert_eq!(after.pins[key].facing, pin.facing.mirrored());
        let rect = before.boxes[&key.0];
        assert_eq!(
            after.pins[key].at,
            pt(rect.x + rect.right() - pin.at.x, pin.at.y)
        );
    }
}

#[test]
fn every_kind_of_device_can_be_placed_and_drawn() {
    use crate::{catalogue, edit};
    for part in catalogue::all() {
        let (mut document, sheet) = on_sheet(document("place PANEL metal"), &[]);
        let spot = edit::SheetPoint {
            sheet: sheet.clone(),
            x_mm: 100.0,
            y_mm: 100.0,
        };
        let added = edit::add_device(&document, part.device(), Some(&spot));
        let added = added.unwrap_or_else(|error| panic!("{}: {error}", part.id));
        added
            .apply(&mut document)
            .expect("it was made for this document");
        let scene = scene(&document, &sheet);
        assert_eq!(scene.boxes.len(), 1, "{}", part.id);
        let ends: std::collections::BTreeSet<String> =
            scene.pins.values().map(|pin| pin.end.to_string()).collect();
        assert_eq!(
            ends.len(),
            part.device().terminals.len(),
            "{}: every terminal has its pin",
            part.id
        );
        let mut places: Vec<Point> = scene.pins.values().map(|pin| pin.at).collect();
        let rect = scene.boxes.values().next().expect("its box");
        for at in &places {
            let inside = (rect.x..=rect.right()).contains(&at.x)
                && (rect.y..=rect.y + rect.h).contains(&at.y);
            assert!(inside, "{}: a pin at {at:?} outside of {rect:?}", part.id);
        }
        places.sort_by(|a, b| (a.x, a.y).partial_cmp(&(b.x, b.y)).expect("numbers"));
        places.dedup();
        assert_eq!(places.len(), scene.pins.len(), "{}: pins apart", part.id);
        check_markup(&svg(&scene, Theme::Light, None));
    }
}

#[test]
fn flags_tell_their_level_by_shape_and_stand_apart() {
    let (document, sheet) = lamp_circuit();
    let scene = scene(&document, &sheet);
    let levels = [
        FlagLevel::Hazard,
        FlagLevel::Fault,
        FlagLevel::Caution,
        FlagLevel::Note,
    ];
    let flag = |(i, level): (usize, &FlagLevel)| Flag {
        at: FlagAt::Wire("W1".into()),
        level: *level,
        number: i + 1,
    };
    let overlay = Overlay {
        flags: levels.iter().enumerate().map(flag).collect(),
        ..Overlay::default()
    };
    let placed = overlay.placed_flags(&scene);
    assert_eq!(placed.len(), 4);
    let sides: std::collections::BTreeSet<usize> = placed
        .iter()
        .map(|flag| match &flag.shapes[0] {
            Shape::Area { points, .. } => points.len(),
            _ => 0,
        })
        .collect();
    assert_eq!(sides.len(), 4, "four levels, four shapes");
    for (i, a) in placed.iter().enumerate() {
        assert!(placed[i + 1..].iter().all(|b| a.at.distance(b.at) > 4.0));
    }
    check_markup(&svg(&scene, Theme::Light, Some(&overlay)));
}
/// The two sample aircraft, as a person sees them first.
const SAMPLES: [(&str, &[u8]); 2] = [
    (
        "sorrel",
        include_bytes!("../../../public/samples/sorrel.json"),
    ),
    (
        "teasel",
        include_bytes!("../../../public/samples/teasel.json"),
    ),
];

#[test]
fn paths_of_the_sample_sheets_are_sound() {
    for (_, file) in SAMPLES {
        let document = crate::exchange::open(file)
            .expect("a sample opens")
            .document;
        for sheet in document.sheets.keys() {
            let scene = scene(&document, sheet);
            assert!(!scene.boxes.is_empty());
            check_paths(&document, &scene);
        }
    }
}

/// Texts of a scene with the group they belong to.
fn texts(scene: &Scene) -> Vec<(&GroupKey, String, Rect)> {
    let groups = scene.groups.iter();
    let all = groups.flat_map(|(key, group)| {
        let texts = group.shapes.iter().filter_map(move |shape| match shape {
            Shape::Text { text, .. } => Some((key, text.clone(), shape.bounds().grown(-0.25))),
            _ => None,
        });
        texts.collect::<Vec<_>>()
    });
    all.collect()
}

#[test]
fn no_text_of_a_sample_sheet_lies_on_another_or_on_a_wire() {
    let mut offences = Vec::new();
    for (name, file) in SAMPLES {
        let document = crate::exchange::open(file)
            .expect("the sample opens")
            .document;
        for (id, sheet) in &document.sheets {
            let scene = super::scene(&document, id);
            let texts = texts(&scene);
            for (n, (_, text, rect)) in texts.iter().enumerate() {
                for (_, other, on) in &texts[n + 1..] {
                    if rect.overlaps(*on) {
                        offences.push(format!(
                            "{name} {}: \"{text}\" on \"{other}\"",
                            sheet.number
                        ));
                    }
                }
            }
            let border = super::frame::inside(scene.width_mm, scene.height_mm).grown(2.0);
            for (key, text, rect) in &texts {
                let is_inside = border.contains(pt(rect.x, rect.y))
                    && border.contains(pt(rect.right(), rect.bottom()));
                if !is_inside && **key != GroupKey::Frame {
                    offences.push(format!("{name} {}: \"{text}\" outside", sheet.number));
                }
                let on = scene.boxes.iter().find(|(_, on)| rect.overlaps(**on));
                if let (GroupKey::Wire(_), Some((item, _))) = (key, on) {
                    let number = sheet.number;
                    offences.push(format!("{name} {number}: \"{text}\" on {item}"));
                }
            }
            for (wire, pieces) in &scene.paths {
                let half_mm = wires::weight_mm(document.wires[wire].gauge_awg) / 2.0;
                for ends in pieces.iter().flat_map(|path| path.windows(2)) {
                    let line = Rect::around([ends[0], ends[1]]);
                    for (key, text, rect) in &texts {
                        let own = **key == GroupKey::Wire(wire.clone());
                        if !own && rect.overlaps(line.grown(half_mm)) {
                            let number = &document.wires[wire].number;
                            offences.push(format!(
                                "{name} {}: {number} through \"{text}\" {line:?} {rect:?}",
                                sheet.number
                            ));
                        }
                    }
                }
            }
        }
    }
    assert!(offences.is_empty(), "{} {offences:#?}", offences.len());
}

#[test]
fn every_wire_and_cable_of_a_sample_is_named_on_some_sheet() {
    let mut nameless = Vec::new();
    for (name, file) in SAMPLES {
        let document = crate::exchange::open(file)
            .expect("the sample opens")
            .document;
        let mut named = crate::order::Sorted::new();
        for id in document.sheets.keys() {
            let scene = super::scene(&document, id);
            for (_, text, _) in texts(&scene) {
                named.extend(
                    text.split_whitespace()
                        .map(|word| word.trim_end_matches(',').to_owned()),
                );
            }
        }
        let numbers = document.wires.values().map(|wire| &wire.number);
        let labels = document.cables.values().map(|cable| &cable.label);
        for label in numbers.chain(labels).filter(|label| !label.is_empty()) {
            if !named.contains(label) {
                nameless.push(format!("{name} {label}"));
            }
        }
    }
    assert!(nameless.is_empty(), "{nameless:?}");
}
