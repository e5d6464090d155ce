//! The whole download stays small enough for a hangar's telephone link.

use std::fs;
use std::io::Write;
use std::path::{Path, PathBuf};

use crate::{browser::dist, measured};

/// What a first visit may load, compressed and without the samples. It was 1,100,000 until the cards for failures, the
/// pages of every paper, the jack cards and the layout of sheets came with 70 KB.
const BUDGET_BYTES: usize = 1_200_000;

/// Folders of the built app that no first visit loads: the samples, of which one is fetched when
/// the browser keeps no project, the README's pictures, and the schema of the file format.
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
    println!("{total:>8}  bytes of brotli in all, budget {BUDGET_BYTES}");
    measured::keep("download", &format!("{} KB", total / 1_000));
    let kept = measured::kept("download");
    let said: Option<usize> = kept.trim_end_matches(" KB").parse().ok();
    assert!(
        said.is_some_and(|it| (it * 1_000).abs_diff(total) < total / 50),
        "measured.md says {kept}, it is {total}: write it with LOOMWRIGHT_WRITE=1"
    );
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
