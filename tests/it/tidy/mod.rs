//! The habits of the house, held by tests instead of by memory. Each check reads the project's own
//! files; what it wants and why stands beside it.

mod arrows;
mod crates;
mod effects;
mod files;
mod floors;
mod paths;
mod rules;
mod text;
mod words;

use std::fs;
use std::path::{Path, PathBuf};

/// A file of the project: its path from the top, with slashes, and its text.
pub struct SourceFile {
    pub path: String,
    pub text: String,
}

/// Every text file below one of our folders, in order; folders that are not there yet are empty.
pub fn files_below(folder: &str) -> Vec<SourceFile> {
    let mut files = Vec::new();
    collect(&loomwright_tests::top().join(folder), &mut files);
    files.sort_by(|a, b| a.path.cmp(&b.path));
    files
}

/// The Rust files below one of our folders.
pub fn rust_files_below(folder: &str) -> Vec<SourceFile> {
    let mut files = files_below(folder);
    files.retain(|file| {
        Path::new(&file.path)
            .extension()
            .is_some_and(|end| end == "rs")
    });
    files
}

/// Every text file of the project.
pub fn all_files() -> Vec<SourceFile> {
    let names = top_names()
        .into_iter()
        .filter(|name| !matches!(name.as_str(), "target" | ".git"));
    let mut files: Vec<_> = names.flat_map(|name| files_below(&name)).collect();
    files.sort_by(|a, b| a.path.cmp(&b.path));
    files
}

/// What lies at the top of the project.
pub fn top_names() -> Vec<String> {
    let entries = fs::read_dir(loomwright_tests::top())
        .expect("the project is there")
        .flatten();
    let mut names: Vec<String> = entries
        .map(|entry| entry.file_name().to_string_lossy().into_owned())
        .collect();
    names.sort();
    names
}

fn collect(path: &Path, files: &mut Vec<SourceFile>) {
    if path.is_dir() {
        let entries = fs::read_dir(path).expect("a folder can be read").flatten();
        for entry in entries.map(|entry| entry.path()) {
            collect(&entry, files);
        }
    } else if let Ok(text) = fs::read_to_string(path) {
        files.push(SourceFile {
            path: from_top(path),
            text,
        });
    }
}

fn from_top(path: &Path) -> String {
    let path = path.strip_prefix(loomwright_tests::top()).unwrap_or(path);
    let parts: Vec<_> = PathBuf::from(path)
        .components()
        .map(|part| part.as_os_str().to_string_lossy().into_owned())
        .collect();
    parts.join("/")
}

/// Fails with every line of `offences`, under a heading that says what the house wants.
#[track_caller]
pub fn assert_none(wanted: &str, offences: &[String]) {
    assert!(offences.is_empty(), "{wanted}\n  {}", offences.join("\n  "));
}
