//! How long a sheet takes: from the document to the scene, and what is under a finger.

use std::{fmt::Write, hint::black_box, time::Instant};

use criterion::{Criterion, criterion_group, criterion_main};
use loomwright_core::{
    document::{Document, Sheet, SheetItem},
    drawing::{self, Pace, Theme, geometry::pt},
    ids::SheetId,
    testing::document,
};

/// Units in a grid of so many columns and such cells, each pin wired to a pin of the next unit but two.
fn sheet_of(
    (units, pins): (usize, usize),
    (columns, cell_mm): (usize, [f64; 2]),
) -> (Document, SheetId) {
    let mut text = String::new();
    for unit in 0..units {
        let _ = write!(text, "unit U{unit}");
        for pin in 0..pins {
            let _ = write!(text, " J-{pin}");
        }
        text.push('\n');
    }
    for unit in 0..units - 1 {
        for pin in 0..pins / 2 {
            let far = (unit + 3) % units;
            let _ = writeln!(
                text,
                "wire W{unit}x{pin} U{unit}.J-{pin} U{far}.J-{} 22 1m",
                pins - 1 - pin
            );
        }
    }
    let mut document = document(&text);
    let items = (0..units).map(|unit| {
        let shows = serde_json::json!({ "device": { "device": format!("U{unit}") } });
        let item = SheetItem {
            shows: serde_json::from_value(shows).expect("a device is shown"),
            x_mm: 20.0 + cell_mm[0] * (unit % columns) as f64,
            y_mm: 20.0 + cell_mm[1] * (unit / columns) as f64,
            mirrored: false,
            extra: loomwright_core::document::Extra::new(),
        };
        (format!("i{unit}").into(), item)
    });
    let sheet = Sheet {
        number: 1,
        items: items.collect(),
        ..Sheet::default()
    };
    document.sheets.insert("s1".into(), sheet);
    (document, "s1".into())
}

/// Every unit of a sheet dragged some steps on, one after the other.
fn drags(document: &Document, sheet: &SheetId) -> Vec<Vec<Document>> {
    let items = document.sheets[sheet].items.len();
    let moved = |nth: usize, steps: u32| {
        let mut moved = document.clone();
        let sheet = moved.sheets.get_mut(sheet).expect("the sheet");
        let item = sheet.items.values_mut().nth(nth).expect("a unit");
        item.x_mm += 2.5 * f64::from(steps);
        item.y_mm += 2.5 * f64::from(steps / 2);
        moved
    };
    let drag = |nth: usize| (1..=6).map(|steps| moved(nth, steps)).collect();
    (0..items).map(drag).collect()
}

/// How long each update took while every unit was dragged, ms, in ascending order.
fn updates_ms(document: &Document, sheet: &SheetId) -> Vec<f64> {
    let at_rest = drawing::scene(document, sheet);
    let mut took = Vec::new();
    for drag in drags(document, sheet) {
        let mut scene = at_rest.clone();
        for moved in drag {
            let began = Instant::now();
            let next = drawing::rescene(&moved, sheet, None, &scene, Pace::Quick);
            took.push(began.elapsed().as_secs_f64() * 1e3);
            scene = next;
        }
    }
    took.sort_by(f64::total_cmp);
    took
}

fn drawing(c: &mut Criterion) {
    for (name, units, cells) in [
        ("20 wires", (6, 8), (6, [65.0, 65.0])),
        ("100 wires", (12, 18), (6, [65.0, 65.0])),
        ("600 wires, 150 units", (150, 8), (15, [26.0, 26.0])),
        ("600 wires, 50 units", (50, 24), (10, [40.0, 52.0])),
        // More than an A3 sheet holds: the units stand on each other.
        ("600 wires, 24 units", (24, 52), (6, [65.0, 65.0])),
    ] {
        let (document, sheet) = sheet_of(units, cells);
        c.bench_function(&format!("scene, {name}"), |b| {
            b.iter(|| drawing::scene(black_box(&document), &sheet));
        });
        let took = updates_ms(&document, &sheet);
        let (median, p95) = (took[took.len() / 2], took[took.len() * 95 / 100]);
        println!("every unit dragged, {name}: median {median:.1} ms, p95 {p95:.1} ms");
        let scene = drawing::scene(&document, &sheet);
        c.bench_function(&format!("hit, {name}"), |b| {
            b.iter(|| drawing::hit(black_box(&scene), pt(200.0, 100.0), 3.0));
        });
        c.bench_function(&format!("svg, {name}"), |b| {
            b.iter(|| drawing::svg(black_box(&scene), Theme::Light, None));
        });
    }
}

criterion_group!(benches, drawing);
criterion_main!(benches);
