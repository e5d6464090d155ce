//! Drives the tools without a browser: press, move and release by name, as a hand would.

use loomwright_core::order::Sorted;
use loomwright_core::{
    catalogue,
    document::{Document, End, Sheet, invariants},
    drawing::{
        self,
        geometry::{Point, pt},
        scene::Scene,
    },
    edit::{self, Change, History, Key},
    ids::SheetId,
};

use super::{
    hit::{self},
    machine::machine,
    tool::{At, Input, Reply, Tool, World},
};
use crate::{
    commands::edits,
    view::{Addition, InkHand, ToolKind, items_of},
};

/// A hand over one sheet.
struct Driver {
    document: Document,
    history: History,
    sheet: SheetId,
    selection: Sorted<Key>,
    tool: Box<dyn Tool>,
    operated: Vec<String>,
    /// Shown, not made.
    draft: Option<Change>,
    extend: bool,
    pen: bool,
    ink: Option<InkHand>,
}

impl Driver {
    /// An empty sheet with these parts of the catalogue side by side.
    fn with(parts: &[&str]) -> Self {
        let sheet = SheetId::new("s1");
        let mut document = Document::default();
        document.sheets.insert(
            sheet.clone(),
            Sheet {
                number: 1,
                ..Sheet::default()
            },
        );
        let mut history = History::default();
        for (n, part) in parts.iter().enumerate() {
            let device = catalogue::get(part).expect("the catalogue has it").device();
            let at = pt(40.0 + 90.0 * n as f64, 60.0);
            let (change, _) = edits::add(&document, &sheet, &Addition::New(Box::new(device)), at)
                .expect("a part can be added");
            history
                .run(&mut document, "add", change)
                .expect("the change fits");
        }
        Self {
            document,
            history,
            sheet,
            selection: Sorted::new(),
            tool: machine(ToolKind::Select, None),
            operated: Vec::new(),
            draft: None,
            extend: false,
            pen: false,
            ink: None,
        }
    }

    fn take(&mut self, tool: ToolKind) {
        self.tool = machine(tool, None);
    }

    fn scene(&self) -> Scene {
        drawing::scene(&self.document, &self.sheet)
    }

    /// The nth pin of the nth device of the sheet.
    fn pin(&self, device: usize, pin: usize) -> Point {
        let id = self
            .document
            .devices
            .keys()
            .nth(device)
            .expect("there is such a device");
        let terminal = &self.document.devices[id].terminals[pin];
        let end = End::Terminal(id.clone(), terminal.id.clone());
        let scene = self.scene();
        let spot = scene.pins.values().find(|spot| spot.end == end);
        spot.expect("the pin is drawn").at
    }

    fn body(&self, device: usize) -> Point {
        let id = self
            .document
            .devices
            .keys()
            .nth(device)
            .expect("there is such a device")
            .clone();
        let items = items_of(&self.document, &self.sheet, |key| {
            *key == Key::Device(id.clone())
        });
        self.scene().boxes[&items[0]].centre()
    }

    fn tell(&mut self, input: &Input) -> Reply {
        if let Some(draft) = self.draft.take() {
            let taken_back = draft.invert().apply(&mut self.document);
            taken_back.expect("the draft was shown here");
        }
        let scene = self.scene();
        let world = World {
            document: &self.document,
            sheet: &self.sheet,
            scene: &scene,
            selection: &self.selection,
        };
        let mut reply = self.tool.on(input, &world);
        if let Some((label, change)) = reply.commit.take() {
            let change = change.expect("the edit can be made");
            self.history
                .run(&mut self.document, label, change)
                .expect("the change fits");
        } else if let Some(Some(draft)) = reply.draft.take() {
            draft.apply(&mut self.document).expect("the draft fits");
            self.draft = Some(draft);
        }
        if let Some(selection) = reply.select.take() {
            self.selection = selection;
        }
        self.operated.extend(reply.operate.take());
        assert_eq!(invariants::broken(&self.document), [], "after {input:?}");
        reply
    }

    fn at(&self, point: Point) -> At {
        let hit = hit::find(&self.scene(), point, 2.5);
        At {
            point,
            hit,
            extend: self.extend,
            pen: self.pen,
            pressure: 0.5,
            ink: self.ink,
            slop_mm: 1.5,
        }
    }

    fn press(&mut self, point: Point) -> Reply {
        let at = self.at(point);
        self.tell(&Input::Press(at))
    }

    fn to(&mut self, point: Point) -> Reply {
        let at = self.at(point);
        self.tell(&Input::Move(at))
    }

    fn release(&mut self, point: Point) -> Reply {
        let at = self.at(point);
        self.tell(&Input::Release(at))
    }

    fn tap(&mut self, point: Point) -> Reply {
        self.press(point);
        self.release(point)
    }

    fn undo(&mut self) {
        self.history
            .undo(&mut self.document)
            .expect("nothing else edits here");
    }

    fn saved(&self) -> Vec<u8> {
        loomwright_core::exchange::save(&self.document)
    }
}

fn two() -> Driver {
    let ids: Vec<&str> = catalogue::all()
        .iter()
        .filter(|part| part.device().terminals.len() == 2)
        .map(|part| part.id.as_str())
        .take(2)
        .collect();
    Driver::with(&ids)
}

#[test]
fn a_wire_is_drawn_by_dragging_from_pin_to_pin() {
    let mut d = two();
    d.take(ToolKind::Wire);
    let (from, to) = (d.pin(0, 0), d.pin(1, 0));
    d.press(from);
    assert_eq!(d.to(pt(100.0, 100.0)).ghosts.len(), 2, "start and line");
    d.to(to);
    d.release(to);
    assert_eq!(d.document.wires.len(), 1);
    assert!(matches!(d.selection.first(), Some(Key::Wire(_))));
}

#[test]
fn a_wire_is_drawn_by_tapping_two_pins() {
    let mut d = two();
    d.take(ToolKind::Wire);
    d.tap(d.pin(0, 1));
    assert_eq!(d.document.wires.len(), 0);
    d.tap(d.pin(1, 1));
    assert_eq!(d.document.wires.len(), 1);
    d.undo();
    assert_eq!(d.document.wires.len(), 0);
}

#[test]
fn escape_cancels_a_wire_and_leaves_nothing() {
    let mut d = two();
    let before = d.saved();
    d.take(ToolKind::Wire);
    d.tap(d.pin(0, 0));
    assert!(!d.tell(&Input::Escape).done, "the first cancels the wire");
    assert!(d.tell(&Input::Escape).done, "the second puts the tool down");
    d.take(ToolKind::Wire);
    d.tap(d.pin(1, 0));
    assert_eq!(d.saved(), before);
}

#[test]
fn a_wire_that_ends_on_a_wire_splices_into_it() {
    let mut d = two();
    d.take(ToolKind::Wire);
    d.tap(d.pin(0, 0));
    d.tap(d.pin(1, 0));
    let wire = d.document.wires.keys().next().expect("the wire").clone();
    let path = d.scene().paths[&wire][0].clone();
    let longest = path
        .windows(2)
        .max_by(|a, b| a[0].distance(a[1]).total_cmp(&b[0].distance(b[1])))
        .expect("a path has pieces");
    let middle = pt(
        f64::midpoint(longest[0].x, longest[1].x),
        f64::midpoint(longest[0].y, longest[1].y),
    );
    d.tap(d.pin(1, 1));
    d.tap(middle);
    assert_eq!(d.document.splices.len(), 1);
    assert_eq!(d.document.wires.len(), 3);
    d.undo();
    assert_eq!(d.document.wires.len(), 1, "one step of undo");
}

#[test]
fn a_drag_is_one_step_and_escape_leaves_nothing() {
    let mut d = two();
    let before = d.saved();
    let body = d.body(0);
    d.press(body);
    for step in 1..10 {
        d.to(body.moved(f64::from(step) * 5.0, 0.0));
    }
    assert_ne!(d.saved(), before, "the draft is shown");
    d.tell(&Input::Escape);
    assert_eq!(d.saved(), before);

    d.press(body);
    d.to(body.moved(5.0, 0.0));
    d.to(body.moved(20.0, 10.0));
    d.release(body.moved(20.0, 10.0));
    let after = d.saved();
    assert_ne!(after, before);
    d.undo();
    assert_eq!(d.saved(), before);
}

#[test]
fn a_pen_drawn_from_pin_to_pin_in_select_draws_a_wire_and_moves_nothing() {
    let mut d = two();
    let before = d.document.sheets.clone();
    let (from, to) = (d.pin(0, 0), d.pin(1, 0));
    d.pen = true;
    d.press(from);
    d.to(pt(100.0, 100.0));
    d.to(to);
    d.release(to);
    assert_eq!(d.document.wires.len(), 1);
    assert_eq!(d.document.sheets, before);

    // One that is given up leaves nothing, and the next begins from nothing.
    d.press(d.pin(0, 1));
    d.to(pt(100.0, 100.0));
    d.tell(&Input::Escape);
    d.release(pt(100.0, 100.0));
    d.tap(d.pin(1, 1));
    assert_eq!(d.document.wires.len(), 1);
    assert_eq!(d.document.sheets, before);

    // A mouse or finger moves the device by its pin, as ever; so does a pen by its body.
    d.pen = false;
    let pin = d.pin(0, 0);
    for from in [pin, d.body(0)] {
        d.press(from);
        d.to(from.moved(10.0, 10.0));
        d.release(from.moved(20.0, 10.0));
        assert_ne!(d.document.sheets, before);
        d.undo();
        d.pen = true;
    }
    assert_eq!(d.document.wires.len(), 1);
}

#[test]
fn a_pen_draws_a_wire_in_any_tool_and_ends_it_where_it_goes_up() {
    for tool in ToolKind::ALL {
        let mut d = two();
        d.take(tool);
        d.pen = true;
        let stroke = |d: &mut Driver, from: Point, to: Point| {
            d.press(from);
            d.to(from.moved(4.0, 4.0));
            d.to(to);
            d.release(to)
        };
        // On empty paper: an open end that stays.
        let (from, far) = (d.pin(0, 0), pt(100.0, 150.0));
        stroke(&mut d, from, far);
        let wires: Vec<_> = d.document.wires.values().collect();
        assert_eq!(wires.len(), 1, "{tool:?}");
        assert_eq!(wires[0].to, End::Open);
        // On the body of a device: the person is asked, the nearest pin first.
        let (from, body) = (d.pin(0, 1), d.body(1));
        let reply = stroke(&mut d, from, body);
        assert_eq!(
            d.document.wires.len(),
            1,
            "{tool:?}: nothing without an answer"
        );
        let (_, item, near) = reply.ask_pin.expect("it asks");
        let scene = d.scene();
        let pins = super::pins_of(&scene, &item, near);
        let far = |end: &End| {
            let spot = scene.pins.values().find(|spot| spot.end == *end);
            spot.expect("it is drawn").at.distance(near)
        };
        assert!(pins.len() > 1 && far(&pins[0]) <= far(&pins[1]));
        // On a pin.
        let (from, to) = (d.pin(0, 1), d.pin(1, 1));
        stroke(&mut d, from, to);
        assert_eq!(d.document.wires.len(), 2, "{tool:?}");
        // On a wire: a splice.
        let path = d.scene().paths.values().find_map(|paths| {
            let path = paths.first().filter(|path| path.len() > 1)?;
            let (a, b) = path
                .windows(2)
                .map(|w| (w[0], w[1]))
                .max_by(|a, b| a.0.distance(a.1).total_cmp(&b.0.distance(b.1)))?;
            (a.distance(b) > 20.0).then(|| pt(f64::midpoint(a.x, b.x), f64::midpoint(a.y, b.y)))
        });
        let from = d.pin(1, 0);
        stroke(&mut d, from, path.expect("a wire is long enough"));
        assert_eq!(d.document.splices.len(), 1, "{tool:?}");
    }
}

#[test]
fn a_pen_writes_on_empty_paper_and_what_it_wrote_is_moved_and_erased() {
    let mut d = two();
    let strokes = |d: &Driver| d.document.sheets[&d.sheet].ink.strokes.len();
    let line = |d: &mut Driver, y: f64| {
        d.press(pt(60.0, y));
        d.to(pt(70.0, y));
        d.release(pt(80.0, y));
    };
    // With no pen, a hand that writes draws the brush.
    d.ink = Some(InkHand::Write);
    line(&mut d, 150.0);
    assert_eq!(strokes(&d), 0, "a finger never leaves ink");
    d.pen = true;
    d.tap(pt(60.0, 150.0));
    assert_eq!(strokes(&d), 0, "nor does a tap");
    line(&mut d, 150.0);
    line(&mut d, 152.0);
    d.tap(pt(82.0, 150.0));
    assert_eq!(strokes(&d), 3, "a dot next to what was written");
    line(&mut d, 200.0);
    // A stroke that begins on a device or a pin is no ink.
    d.press(d.body(0));
    d.to(pt(80.0, 90.0));
    d.tell(&Input::Escape);
    assert_eq!(strokes(&d), 4);

    // Moved by a finger: all that was written together, in one step.
    d.pen = false;
    d.ink = Some(InkHand::Move);
    d.press(pt(65.0, 150.0));
    d.to(pt(65.0, 160.0));
    d.release(pt(65.0, 170.0));
    let at = |d: &Driver, y: f64| edit::ink_at(&d.document, &d.sheet, (65.0, y), 0.5).len();
    assert_eq!(
        [150.0, 152.0, 170.0, 172.0, 200.0].map(|y| at(&d, y)),
        [0, 0, 1, 1, 1]
    );
    d.undo();
    assert_eq!([150.0, 170.0].map(|y| at(&d, y)), [1, 0]);

    d.ink = Some(InkHand::Erase);
    d.press(pt(65.0, 145.0));
    d.to(pt(65.0, 150.0));
    d.to(pt(65.0, 152.0));
    d.release(pt(65.0, 160.0));
    assert_eq!(strokes(&d), 2);
    d.undo();
    assert_eq!(strokes(&d), 4, "one step of undo");
}

#[test]
fn what_is_dragged_rests_where_its_wire_is_straight() {
    let mut d = two();
    d.take(ToolKind::Wire);
    let (a, b) = (d.pin(0, 1), d.pin(1, 0));
    d.tap(a);
    d.tap(b);
    assert_eq!(d.document.wires.len(), 1);
    d.take(ToolKind::Select);
    let body = d.body(1);
    let straight = d.pin(0, 1).y - d.pin(1, 0).y;
    for (beside, off) in [(1.9, 0.0), (-1.9, 0.0), (2.4, 2.5)] {
        d.press(body);
        d.to(body.moved(5.0, 0.0));
        d.to(body.moved(10.0, straight + beside));
        d.release(body.moved(10.0, straight + beside));
        assert_eq!(d.pin(1, 0).y - d.pin(0, 1).y, off, "{beside}");
        d.undo();
    }
}

#[test]
fn a_brush_selects_what_is_inside_and_moves_it_together() {
    let mut d = two();
    d.press(pt(15.0, 15.0));
    d.to(pt(390.0, 250.0));
    d.release(pt(390.0, 250.0));
    assert_eq!(d.selection.len(), 2);
    let before: Vec<f64> = d.document.sheets[&d.sheet]
        .items
        .values()
        .map(|i| i.x_mm)
        .collect();
    let body = d.body(1);
    d.press(body);
    d.to(body.moved(3.0, 0.0));
    d.to(body.moved(10.0, 0.0));
    d.release(body.moved(10.0, 0.0));
    let after: Vec<f64> = d.document.sheets[&d.sheet]
        .items
        .values()
        .map(|i| i.x_mm)
        .collect();
    assert!(
        before.iter().zip(&after).all(|(a, b)| b - a == 10.0),
        "{before:?} {after:?}"
    );
}

#[test]
fn the_first_tap_selects_and_the_second_operates() {
    let switch = catalogue::search("switch");
    let part = switch.first().expect("there are switches");
    let mut d = Driver::with(&[part.id.as_str()]);
    let body = d.body(0);
    d.tap(body);
    assert_eq!(d.selection.len(), 1);
    assert_eq!(d.operated.len(), 0);
    d.tap(body);
    assert_eq!(d.operated.len(), 1);
    d.tap(pt(200.0, 200.0));
    assert!(d.selection.is_empty(), "a tap on paper selects nothing");
}

#[test]
fn the_cable_tool_gathers_wires() {
    let mut d = two();
    d.take(ToolKind::Wire);
    for pin in 0..2 {
        d.tap(d.pin(0, pin));
        d.tap(d.pin(1, pin));
    }
    let wires: Vec<_> = d.document.wires.keys().cloned().collect();
    let (change, _) = edits::make_cable(&d.document, &wires, true).expect("two free wires");
    d.history
        .run(&mut d.document, "cable", change)
        .expect("the change fits");
    assert_eq!(d.document.cables.len(), 1);
    d.undo();
    assert_eq!(d.document.cables.len(), 0);
}

#[test]
fn several_pins_are_wired_by_one_drag_along_both_devices() {
    let mut driver = Driver::with(&["com", "com"]);
    driver.extend = true;
    driver.take(ToolKind::Wire);
    let pins = |device: usize| [0, 1, 2].map(|n| driver.pin(device, n));
    let (from, to) = (pins(0), pins(1));
    driver.press(from[0]);
    for at in from[1..].iter().chain(&to) {
        driver.to(*at);
    }
    driver.release(to[2]);
    assert_eq!(driver.document.wires.len(), 3);
    for (n, wire) in driver.document.wires.values().enumerate() {
        let device = |end: &End| end.device().cloned();
        assert_ne!(device(&wire.from), device(&wire.to), "wire {n}");
    }
    driver.undo();
    assert!(driver.document.wires.is_empty(), "it is one step");
}

#[test]
fn several_pins_are_wired_in_order_from_the_pin_tapped() {
    let mut driver = two();
    driver.extend = true;
    driver.take(ToolKind::Wire);
    let (a, b, target) = (driver.pin(0, 0), driver.pin(0, 1), driver.pin(1, 0));
    driver.press(a);
    driver.to(b);
    driver.release(b);
    assert!(driver.document.wires.is_empty(), "they wait for their ends");
    driver.tap(target);
    assert_eq!(driver.document.wires.len(), 2);
}

#[test]
fn a_drag_over_pins_on_the_way_draws_one_wire_unless_several_are_meant() {
    let mut driver = two();
    driver.take(ToolKind::Wire);
    let (a, b, target) = (driver.pin(0, 0), driver.pin(0, 1), driver.pin(1, 0));
    driver.press(a);
    driver.to(b);
    driver.to(target);
    driver.release(target);
    assert_eq!(driver.document.wires.len(), 1);
}

/// A stretch of a selected wire goes where it is dragged, stays there when something else moves, and goes
/// along when both its ends do.
#[test]
fn a_stretch_stays_where_it_was_put() {
    let mut driver = two();
    driver.take(ToolKind::Wire);
    driver.tap(driver.pin(0, 0));
    driver.tap(driver.pin(1, 1));
    let wire = driver.document.wires.keys().next().expect("a wire").clone();
    let path = |driver: &Driver| driver.scene().paths[&wire][0].clone();
    // The longest piece of it, and where to take hold of it.
    let longest = |path: &[Point]| {
        let pieces = path.windows(2);
        let longest = pieces.max_by(|a, b| a[0].distance(a[1]).total_cmp(&b[0].distance(b[1])));
        let [a, b] = longest.expect("a piece") else {
            unreachable!("windows of two")
        };
        (*a, *b)
    };
    let (a, b) = longest(&path(&driver));
    let middle = pt(f64::midpoint(a.x, b.x), f64::midpoint(a.y, b.y));
    let upright = a.x == b.x;
    driver.take(ToolKind::Select);
    driver.tap(middle);
    let target = match upright {
        true => middle.moved(-20.0, 0.0),
        false => middle.moved(0.0, -20.0),
    };
    driver.press(middle);
    driver.to(middle.moved(-5.0, -5.0));
    driver.to(target);
    driver.release(target);
    let on_it = |path: &[Point], at: Point| {
        path.windows(2)
            .any(|it| at.distance_to_line(it[0], it[1]) < 1.3)
    };
    assert!(on_it(&path(&driver), target), "{:?}", path(&driver));
    // One end moves: the stretch stays.
    let body = driver.body(0);
    driver.tap(body);
    driver.press(body);
    driver.to(body.moved(0.0, 10.0));
    driver.release(body.moved(0.0, 10.0));
    assert!(on_it(&path(&driver), target), "{:?}", path(&driver));
    // It finds its own way again.
    let sheet = driver.sheet.clone();
    let change = edit::hold_stretch(&driver.document, &sheet, &wire, None).expect("it is there");
    driver
        .history
        .run(&mut driver.document, "let go", change)
        .expect("made for it");
    assert!(!on_it(&path(&driver), target));
}

/// The boxes of the sheet's items, by their devices' order.
fn boxes(d: &Driver) -> Vec<drawing::geometry::Rect> {
    let ids = d.document.devices.keys();
    let item = |id: &loomwright_core::ids::DeviceId| {
        let items = items_of(&d.document, &d.sheet, |key| *key == Key::Device(id.clone()));
        d.scene().boxes[&items[0]]
    };
    ids.map(item).collect()
}

#[test]
fn a_device_dropped_on_another_stands_beside_it() {
    let mut d = two();
    let (from, to) = (d.body(0), d.body(1));
    d.press(from);
    d.to(to);
    d.release(to);
    let stands = boxes(&d);
    assert!(!stands[0].grown(-0.1).overlaps(stands[1]), "{stands:?}");
    assert!(
        d.body(0).distance(to) < 60.0,
        "close to where it was dropped"
    );
    d.undo();
    assert_eq!(d.body(0), from, "one step");
}

#[test]
fn a_device_is_stopped_at_the_edge_of_the_paper() {
    for to in [pt(-300.0, 60.0), pt(900.0, 900.0), pt(100.0, -300.0)] {
        let mut d = two();
        let from = d.body(0);
        d.press(from);
        d.to(to);
        d.release(to);
        let scene = d.scene();
        let paper = drawing::geometry::Rect::new(0.0, 0.0, scene.width_mm, scene.height_mm);
        let stands = boxes(&d);
        assert_eq!(stands[0].union(paper), paper, "{to:?}");
        assert!(!stands[0].grown(-0.1).overlaps(stands[1]));
    }
}

#[test]
fn a_new_device_is_put_beside_what_is_there() {
    let d = two();
    let device = d.document.devices.values().next().expect("there").clone();
    let addition = Addition::New(Box::new(device));
    for at in [d.body(0), pt(-50.0, 20.0), pt(5000.0, 5000.0)] {
        let (change, key) = edits::add(&d.document, &d.sheet, &addition, at).expect("added");
        let after = change.applied(&d.document).expect("made for this");
        let items = items_of(&after, &d.sheet, |it| *it == key);
        let all = drawing::boxes(&after, &d.sheet);
        let new = all[&items[0]];
        let paper = drawing::scene(&after, &d.sheet);
        let paper = drawing::geometry::Rect::new(0.0, 0.0, paper.width_mm, paper.height_mm);
        assert_eq!(new.union(paper), paper, "{at:?}");
        let mut others = all.iter().filter(|(id, _)| **id != items[0]);
        assert!(
            others.all(|(_, rect)| !new.grown(-0.1).overlaps(*rect)),
            "{at:?}"
        );
    }
}

#[test]
fn a_step_with_an_arrow_key_ends_on_no_other_device_and_on_the_paper() {
    let mut d = two();
    let first = d.document.devices.keys().next().expect("there").clone();
    let key = Key::Device(first);
    let moving = items_of(&d.document, &d.sheet, |it| *it == key);
    for by in [(2.5, 0.0), (0.0, 2.5), (-2.5, 0.0), (0.0, -2.5)] {
        let before = d.document.clone();
        let mut steps = 0;
        while let Some(change) = edits::step(&d.document, &d.sheet, &moving, by) {
            let change = change.expect("a step that is free");
            d.document = change.applied(&d.document).expect("made for this");
            let scene = d.scene();
            let paper = drawing::geometry::Rect::new(0.0, 0.0, scene.width_mm, scene.height_mm);
            let stands = boxes(&d);
            assert_eq!(stands[0].union(paper), paper, "{by:?}");
            assert!(!stands[0].grown(-0.1).overlaps(stands[1]), "{by:?}");
            steps += 1;
            assert!(steps < 1000, "the paper has an edge");
        }
        d.document = before;
    }
}
