//! How long the core needs for a whole aircraft: opening, saving, solving, checking, one edit.

#![allow(missing_docs, reason = "criterion's macros make public items")]

use std::{hint::black_box, sync::Arc};

use criterion::{Criterion, criterion_group, criterion_main};
use loomwright_core::{
    analysis::{
        endurance::{Endurance, Extent},
        failures::{Review, usual_state},
        load_analysis,
        shorts::Shorts,
    },
    document::Document,
    edit::{self, Change, Key, Record},
    exchange,
    rules::{self, Checker},
    solve::{Simulator, operate_all},
    testing::aircraft,
};

fn sorrel() -> Document {
    let file = include_bytes!("../../public/samples/sorrel.json");
    exchange::open(file).expect("the sample opens").document
}

/// Makes one wire a hundred millimetres longer.
fn longer(document: &Document) -> Change {
    let (id, wire) = (document.wires.iter().next()).expect("there are wires");
    let mut wire = wire.clone();
    wire.length_m = wire.length_m.map(|length| length + 0.1);
    edit::update_record(document, &Key::Wire(id.clone()), Record::Wire(wire))
        .expect("a longer wire is sound")
}

/// Draws a wire beside another, between the same ends.
fn another(document: &Document) -> Change {
    let mut wires = document.wires.values();
    let beside = wires.nth(document.wires.len() / 2).expect("a wire");
    edit::connect(document, beside.from.clone(), beside.to.clone()).expect("two ends")
}

/// Makes an edit, checks the result as the app does.
fn edit_and_check(
    checker: &mut Checker,
    document: &mut Document,
    change: &Change,
) -> Arc<rules::Verdict> {
    change
        .apply(document)
        .expect("nothing was edited meanwhile");
    checker.check(document, Some(change)).verdict
}

fn benches(c: &mut Criterion) {
    let (sorrel, some, many) = (sorrel(), aircraft(600), aircraft(5000));
    for (name, document) in [
        ("sorrel", &sorrel),
        ("600 wires", &some),
        ("5000 wires", &many),
    ] {
        let file = exchange::save(document);
        let mut group = c.benchmark_group(name);
        group.sample_size(20);
        group.bench_function("check", |b| b.iter(|| rules::check(black_box(document))));
        let (mut edited, mut checker) = (document.clone(), Checker::default());
        checker.check(&edited, None);
        group.bench_function("one edit and check", |b| {
            b.iter(|| {
                let change = longer(&edited);
                edit_and_check(&mut checker, black_box(&mut edited), &change)
            });
        });
        group.bench_function("a wire drawn and undone, each checked", |b| {
            b.iter(|| {
                let change = another(&edited);
                edit_and_check(&mut checker, black_box(&mut edited), &change);
                edit_and_check(&mut checker, black_box(&mut edited), &change.invert())
            });
        });
        group.bench_function("solve all states", |b| {
            b.iter(|| operate_all(black_box(document)));
        });
        group.bench_function("loads by phase", |b| {
            b.iter(|| load_analysis(black_box(document)));
        });
        group.bench_function("endurance, three cases", |b| {
            b.iter(|| {
                let mut simulator = Simulator::new(document);
                Endurance::new(black_box(document), &mut simulator, Extent::Drawn)
            });
        });
        // A thousand failures of a large aircraft take minutes: this is for one person's aircraft.
        if name == "sorrel" {
            group.bench_function("what stops, one state", |b| {
                b.iter(|| {
                    let state = usual_state(document).expect("a state");
                    let opened = Review::new(black_box(document), state).count();
                    opened + Shorts::new(document, state).count()
                });
            });
        }
        group.bench_function("open", |b| b.iter(|| exchange::open(black_box(&file))));
        group.bench_function("save", |b| b.iter(|| exchange::save(black_box(document))));
        group.finish();
    }
}

/// How the time of a check grows with the aircraft; 5,000 wires are measured above.
fn growth(c: &mut Criterion) {
    let mut group = c.benchmark_group("growth");
    group.sample_size(10);
    for wires in [500, 50_000] {
        let document = aircraft(wires);
        group.bench_function(format!("check of {wires} wires"), |b| {
            b.iter(|| rules::check(black_box(&document)));
        });
    }
    group.finish();
}

criterion_group!(all, benches, growth);
criterion_main!(all);
