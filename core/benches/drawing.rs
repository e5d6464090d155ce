//! How long a sheet takes: from the document to the scene, and what is under a finger.

use std::{fmt::Write, hint::black_box};

use criterion::{Criterion, criterion_group, criterion_main};
use loomwright_core::{
    document::{Document, Sheet, SheetItem},
    drawing::{self, Pace, Theme, geometry::pt},
    ids::SheetId,
    testing::document,
};

/// Units in a grid, each pin wired to a pin of the next unit but two.
fn sheet_of(units: usize, pins: usize) -> (Document, SheetId) {
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
            x_mm: 20.0 + 65.0 * (unit % 6) as f64,
            y_mm: 20.0 + 65.0 * (unit / 6) as f64,
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

fn drawing(c: &mut Criterion) {
    for (name, units, pins) in [
        ("20 wires", 6, 8),
        ("100 wires", 12, 18),
        ("600 wires", 24, 52),
    ] {
        let (document, sheet) = sheet_of(units, pins);
        c.bench_function(&format!("scene, {name}"), |b| {
            b.iter(|| drawing::scene(black_box(&document), &sheet));
        });
        let scene = drawing::scene(&document, &sheet);
        // A device a little further on, as a finger drags it.
        let mut moved = document.clone();
        if let Some(sheet) = moved.sheets.get_mut(&sheet)
            && let Some(item) = sheet.items.values_mut().nth(units / 2)
        {
            item.x_mm += 5.0;
        }
        c.bench_function(&format!("a device dragged, {name}"), |b| {
            b.iter(|| drawing::rescene(black_box(&moved), &sheet, None, &scene, Pace::Dragging));
        });
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
