//! The whole download stays small enough for a hangar's telephone link.

use std::fs;
use std::io::Write;
use std::path::{Path, PathBuf};

use crate::browser::dist;

/// What everything that a first visit loads should come to, compressed, without the samples.
const GOAL_BYTES: usize = 450 * 1024;

/// What it may come to until the goal is met. It was 702 KiB when first measured, and 521 KiB before the
/// noise room, shorts and sixteen rules more came, 592 before nine more rules, mends and forms came, 605
/// before the wire grid, lists, tidying, finding, following and copying came, 676 before the papers of the
/// bench, the test and the log room and the taking in of another file came, 760 before revisions, the browser's
/// database, several windows and updates came, 824 before swapping a unit and two states of a sheet side by side
/// came, 860 before the core was built for speed (62 KB), 928 before wires that cross were laid
/// anew, 936 before keys lay in place, for speed, and full sheets were shown before they are laid,
/// 942 before what a wire pushes aside pushed on in turn, and volts kept off everything, 946 before functions
/// were put in order, 940 before ends, elements and bars were listed by number, for speed, and 942 before the compiler
/// was told to inline less and leave loops as they are; raise it for what a builder gets, never for slack.
const BUDGET_BYTES: usize = 917 * 1024;

/// What lies beside the app and no first visit needs: the samples, one of which is fetched when
/// nothing is kept, the README's pictures and the schema of the format, which no page names.
const NOT_AT_FIRST: [&str; 3] = ["samples", "pictures", "format"];

#[test]
fn the_download_stays_in_its_budget() {
    let asked_for = NOT_AT_FIRST.map(|folder| dist().join(folder));
    let mut sizes: Vec<(usize, PathBuf)> = files_below(dist())
        .into_iter()
        .filter(|file| !asked_for.iter().any(|folder| file.starts_with(folder)))
        .map(|file| {
            (
                compressed_bytes(&fs::read(&file).expect("a built file")),
                file,
            )
        })
        .collect();
    sizes.sort_by(|a, b| b.cmp(a));
    for (bytes, file) in &sizes {
        println!(
            "{bytes:>8}  {}",
            file.strip_prefix(dist()).unwrap_or(file).display()
        );
    }
    let total: usize = sizes.iter().map(|(bytes, _)| bytes).sum();
    println!("{total:>8}  bytes of brotli in all, budget {BUDGET_BYTES}, goal {GOAL_BYTES}");
    assert!(total > 10_000, "{total} bytes are no app: was it built?");
    assert!(
        total <= BUDGET_BYTES,
        "{total} bytes of brotli, budget {BUDGET_BYTES}: {sizes:#?}"
    );
}

fn files_below(folder: &Path) -> Vec<PathBuf> {
    let entries = fs::read_dir(folder).expect("a built folder").flatten();
    let paths = entries.map(|entry| entry.path());
    paths
        .flat_map(|path| {
            if path.is_dir() {
                files_below(&path)
            } else {
                vec![path]
            }
        })
        .collect()
}

fn compressed_bytes(content: &[u8]) -> usize {
    // Quality 11, window 22: what static hosts store beside the file.
    let mut writer = brotli::CompressorWriter::new(Vec::new(), 4096, 11, 22);
    writer.write_all(content).expect("memory takes it");
    writer.into_inner().len()
}
