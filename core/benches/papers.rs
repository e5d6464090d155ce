//! How long the papers of an aircraft of 600 wires take, sheets included.

#![allow(missing_docs, reason = "criterion's macros make public items")]

use std::hint::black_box;

use criterion::{Criterion, criterion_group, criterion_main};
use loomwright_core::{
    document::{Document, SheetSize},
    drawing::spread,
    edit,
    reports::{PAPERS, html},
    testing::{aircraft, asked},
};

/// 600 wires, drawn on sheets as those of a pasted list are.
fn drawn() -> Document {
    let mut document = aircraft(600);
    document.sheets.clear();
    let devices: Vec<_> = document.devices.keys().cloned().collect();
    for items in spread::sheets(&document, &devices, SheetSize::A3) {
        let sheet = edit::add_drawn_sheet(&document, "Wiring", SheetSize::A3, items);
        let sheet = sheet.expect("a sheet can be added");
        sheet.apply(&mut document).expect("made for it");
    }
    document
}

fn papers(c: &mut Criterion) {
    let document = drawn();
    for (name, _, make) in PAPERS {
        c.bench_function(&format!("papers/600/{name}"), |b| {
            b.iter(|| html::body(&make(&asked(black_box(&document))), html::Form::Print));
        });
    }
}

criterion_group!(benches, papers);
criterion_main!(benches);
