//! Our paths of wires beside those of a general router of orthogonal connectors (libavoid-js, from the
//! registry) on the same generated sheets: length, bends, crossings, time.

use std::process::Command;
use std::time::Instant;

use loomwright_core::{
    drawing::{
        geometry::{Facing, Point, Rect, pt},
        route::route,
    },
    testing::arbitrary::Dice,
};
use loomwright_tests::{npm::LIBAVOID, top, under_target};
use serde::{Deserialize, Serialize};
use serde_json::{Value, json};

/// Lattice of a sheet, mm.
const STEP: f64 = 2.5;

/// A sheet without names: boxes in rows, pins on their left and right sides, wires between pins.
struct Sheet {
    size: (f64, f64),
    boxes: Vec<Rect>,
    wires: Vec<[(Point, Facing); 2]>,
}

/// A sheet of so many wires. Most lead to a box nearby, some across the sheet.
fn sheet(wires: usize) -> Sheet {
    let mut dice = Dice::new(wires as u64);
    let count = (wires / 4).clamp(6, 100);
    let columns = (count as f64 * 1.4).sqrt().ceil() as usize;
    let mut boxes = Vec::new();
    let mut pins: Vec<Vec<(Point, Facing)>> = Vec::new();
    let each = 2 * wires / count + 4;
    let (cell_w, cell_h) = (
        75.0 + 2.5 * (wires as f64 / 10.0).floor(),
        30.0 + 2.5 * each as f64 + 20.0,
    );
    for n in 0..count {
        let (row, column) = (n / columns, n % columns);
        let rows = each.div_ceil(2) + dice.below(3);
        let snap = |mm: f64| (mm / STEP).round() * STEP;
        let x = snap(20.0 + cell_w * column as f64 + dice.between(0.0, 12.0));
        let y = snap(20.0 + cell_h * row as f64 + dice.between(0.0, 10.0));
        let rect = Rect::new(x, y, 25.0, 5.0 * rows as f64 + 5.0);
        let sides = [(x, Facing::Left), (rect.right(), Facing::Right)];
        let own = sides.into_iter().flat_map(|(x, facing)| {
            (0..rows).map(move |row| (pt(x, y + 5.0 + 5.0 * row as f64), facing))
        });
        pins.push(own.collect());
        boxes.push(rect);
    }
    let mut made = Vec::new();
    while made.len() < wires {
        let a = dice.below(count);
        let b = match dice.below(5) {
            0 => dice.below(count),
            _ => (a + [1, columns, columns + 1][dice.below(3)]) % count,
        };
        if a == b || pins[a].is_empty() || pins[b].is_empty() {
            continue;
        }
        let mut take = |of: usize| {
            let at = dice.below(pins[of].len());
            pins[of].swap_remove(at)
        };
        made.push([take(a), take(b)]);
    }
    let right = boxes.iter().map(|it| it.right()).fold(0.0, f64::max);
    let bottom = boxes.iter().map(|it| it.bottom()).fold(0.0, f64::max);
    Sheet {
        size: (right + 40.0, bottom + 40.0),
        boxes,
        wires: made,
    }
}

/// How the other router is set.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
enum Set {
    /// As it comes, but for the distances and the price of a bend.
    AsItComes,
    /// Without the step that takes it most of its time on large sheets.
    Quick,
}

fn as_json((sheet, set): &(&Sheet, Set)) -> Value {
    let pin =
        |(at, facing): &(Point, Facing)| json!([at.x, at.y, format!("{facing:?}").to_lowercase()]);
    let boxes = sheet.boxes.iter().map(|it| json!([it.x, it.y, it.w, it.h]));
    let wires = sheet.wires.iter().map(|[a, b]| json!([pin(a), pin(b)]));
    json!({ "boxes": boxes.collect::<Vec<_>>(), "wires": wires.collect::<Vec<_>>(), "set": set })
}

/// What a reader pays for on a sheet.
#[derive(Clone, Copy, Debug, Default)]
struct Cost {
    length_mm: f64,
    bends: usize,
    crossings: usize,
    /// Length that two wires share on one line, mm: one wire hides another there.
    shared_mm: f64,
    /// Length that runs through boxes, mm.
    through_mm: f64,
}

fn cost(sheet: &Sheet, paths: &[Vec<Point>]) -> Cost {
    let near = |a: f64, b: f64| (a - b).abs() < 1e-3;
    // Pieces: level or upright, the line they lie on, from where to where, whose they are.
    let mut pieces: Vec<(bool, f64, f64, f64, usize)> = Vec::new();
    let mut cost = Cost::default();
    for (wire, path) in paths.iter().enumerate() {
        let mut before = None;
        for ends in path.windows(2) {
            let (a, b) = (ends[0], ends[1]);
            let level = near(a.y, b.y);
            if near(a.x, b.x) && level {
                continue;
            }
            cost.length_mm += a.distance(b);
            cost.bends += usize::from(before.is_some_and(|it| it != level));
            before = Some(level);
            let (line, from, to) = match level {
                true => (a.y, a.x.min(b.x), a.x.max(b.x)),
                false => (a.x, a.y.min(b.y), a.y.max(b.y)),
            };
            pieces.push((level, line, from, to, wire));
            for it in &sheet.boxes {
                let inner = it.grown(-0.1);
                let (low, high, start, end) = match level {
                    true => (inner.y, inner.bottom(), inner.x, inner.right()),
                    false => (inner.x, inner.right(), inner.y, inner.bottom()),
                };
                if line > low && line < high {
                    cost.through_mm += (to.min(end) - from.max(start)).max(0.0);
                }
            }
        }
    }
    for (n, one) in pieces.iter().enumerate() {
        for other in &pieces[n + 1..] {
            if one.4 == other.4 {
                continue;
            }
            match one.0 == other.0 {
                true if near(one.1, other.1) => {
                    cost.shared_mm += (one.3.min(other.3) - one.2.max(other.2)).max(0.0);
                }
                true => {}
                false => {
                    let inside = |line: f64, of: &(bool, f64, f64, f64, usize)| {
                        line > of.2 + 1e-3 && line < of.3 - 1e-3
                    };
                    cost.crossings += usize::from(inside(one.1, other) && inside(other.1, one));
                }
            }
        }
    }
    cost
}

/// Asks the other router for its paths of these sheets.
fn peer(sheets: &[(&Sheet, Set)]) -> Vec<(Vec<Vec<Point>>, f64)> {
    let folder = LIBAVOID
        .ensure()
        .unwrap_or_else(|missing| panic!("{missing}"));
    let home = under_target("peer-paths");
    std::fs::create_dir_all(&home).expect("target can be written");
    let (asked, answered) = (home.join("sheets.json"), home.join("result.json"));
    let text = Value::from(sheets.iter().map(as_json).collect::<Vec<_>>()).to_string();
    std::fs::write(&asked, text).expect("target can be written");
    let status = Command::new("node")
        .arg(top().join("tests/peers/paths.mjs"))
        .args([&folder, &asked, &answered])
        .status()
        .expect("node starts");
    assert!(status.success(), "the other router failed");
    let results = std::fs::read(&answered).expect("an answer");
    let results: Value = serde_json::from_slice(&results).expect("the answer is JSON");
    let point = |it: &Value| pt(it[0].as_f64().expect("x"), it[1].as_f64().expect("y"));
    let path = |it: &Value| it.as_array().expect("points").iter().map(point).collect();
    let paths = |it: &Value| it.as_array().expect("paths").iter().map(path).collect();
    let results = results.as_array().expect("a list").iter();
    results
        .map(|it| (paths(&it["paths"]), it["took_ms"].as_f64().expect("a time")))
        .collect()
}

/// What the other router needs and how long it took, as kept in `tests/data/peer-paths.json`.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
struct Kept {
    set: Set,
    wires: usize,
    boxes: usize,
    length_mm: f64,
    bends: usize,
    crossings: usize,
    shared_mm: f64,
    took_ms: f64,
}

fn kept((sheet, set): (&Sheet, Set), (paths, took_ms): &(Vec<Vec<Point>>, f64)) -> Kept {
    let cost = cost(sheet, paths);
    Kept {
        set,
        wires: sheet.wires.len(),
        boxes: sheet.boxes.len(),
        length_mm: cost.length_mm.round(),
        bends: cost.bends,
        crossings: cost.crossings,
        shared_mm: cost.shared_mm.round(),
        took_ms: took_ms.round(),
    }
}

/// Wires of the sheets that the other router lays in every run; the larger ones would take minutes.
const LIVE: usize = 80;
/// Wires up to which it is done within minutes as it comes.
const AS_IT_COMES: usize = 260;

/// Set to have all sheets laid by the other router and the record written anew.
const ANEW: &str = "LOOMWRIGHT_PEER_PATHS";

#[test]
fn paths_are_as_good_as_those_of_a_general_router() {
    let sheets: Vec<Sheet> = (1..=20).map(|n| sheet(20 * n)).collect();
    let each = |set| sheets.iter().map(move |sheet| (sheet, set));
    let as_it_comes = each(Set::AsItComes).filter(|(sheet, _)| sheet.wires.len() <= AS_IT_COMES);
    let all: Vec<_> = as_it_comes.chain(each(Set::Quick)).collect();
    let file = top().join("tests/data/peer-paths.json");
    if std::env::var_os(ANEW).is_some() {
        let laid = all.iter().zip(peer(&all));
        let laid: Vec<Kept> = laid.map(|(asked, laid)| kept(*asked, &laid)).collect();
        let text = serde_json::to_string_pretty(&laid).expect("numbers") + "\n";
        std::fs::write(&file, text).expect("the record can be written");
    }
    let record = std::fs::read(&file).expect("the record is there");
    let record: Vec<Kept> = serde_json::from_slice(&record).expect("the record is one");
    assert_eq!(record.len(), all.len());
    let is_live = |(sheet, _): &(&Sheet, Set)| sheet.wires.len() <= LIVE;
    let live: Vec<_> = all.iter().copied().filter(is_live).collect();
    for (asked, laid) in live.iter().zip(peer(&live)) {
        let same = |it: &&Kept| it.set == asked.1 && it.wires == asked.0.wires.len();
        let record = record.iter().find(same).expect("it is in the record");
        let now = Kept {
            took_ms: record.took_ms,
            ..kept(*asked, &laid)
        };
        assert_eq!(
            now, *record,
            "the record is no longer what the other router says"
        );
    }

    let ours: Vec<(Cost, f64)> = (sheets.iter())
        .map(|sheet| {
            let began = Instant::now();
            let paths = route(sheet.size, &sheet.boxes, &sheet.wires);
            (cost(sheet, &paths), began.elapsed().as_secs_f64() * 1e3)
        })
        .collect();
    for set in [Set::AsItComes, Set::Quick] {
        let theirs: Vec<_> = record.iter().filter(|it| it.set == set).collect();
        hold(set, &ours, &theirs);
    }
}

/// Holds our paths against those of the other router, sheet by sheet and together.
fn hold(set: Set, ours: &[(Cost, f64)], theirs: &[&Kept]) {
    println!(
        "{set:?}\nwires boxes |  length, m    |   bends    |  crossings  | on one line, mm |    ms"
    );
    let (mut sum, mut their_sum) = (Cost::default(), Cost::default());
    let (mut ms, mut their_ms) = (0.0, 0.0);
    for ((cost, took_ms), peer) in ours.iter().zip(theirs) {
        println!(
            "{:5} {:5} | {:6.2} {:6.2} | {:4} {:5} | {:5} {:5} | {:7.0} {:7.0} | {took_ms:5.1} {:5.0}",
            peer.wires,
            peer.boxes,
            cost.length_mm / 1e3,
            peer.length_mm / 1e3,
            cost.bends,
            peer.bends,
            cost.crossings,
            peer.crossings,
            cost.shared_mm,
            peer.shared_mm,
            peer.took_ms,
        );
        assert_eq!(cost.through_mm, 0.0, "a wire of ours runs through a box");
        assert!(cost.bends <= peer.bends);
        sum.length_mm += cost.length_mm;
        sum.bends += cost.bends;
        sum.crossings += cost.crossings;
        sum.shared_mm += cost.shared_mm;
        their_sum.length_mm += peer.length_mm;
        their_sum.bends += peer.bends;
        their_sum.crossings += peer.crossings;
        their_sum.shared_mm += peer.shared_mm;
        ms += took_ms;
        their_ms += peer.took_ms;
    }
    println!("ours   {sum:?} {ms:.0} ms\ntheirs {their_sum:?} {their_ms:.0} ms");
    assert!(sum.length_mm <= 1.03 * their_sum.length_mm);
    assert!(sum.crossings <= their_sum.crossings);
    assert!(sum.shared_mm < 0.01 * their_sum.shared_mm);
}
