//! The floors of the app, and no circle of files anywhere. The same table stands in DEVELOPERS.md.

use std::collections::{BTreeMap, BTreeSet};

use super::paths::{Arrow, Crate};
use super::{SourceFile, assert_none, rust_files_below};

/// The floors of `app/src`, lowest first. A file may name its own floor and those below, never one above.
const FLOORS: [&[&str]; 7] = [
    // What knows nothing of wiring: the browser, fields and boxes, words.
    &["platform", "widgets", "strings"],
    // What is kept: projects in the browser, the open one, where the person is.
    &["storage", "view", "session"],
    // What follows from that. `lib` hands out the handles of all of it.
    &["derived", "lib"],
    // What a person can do.
    &["commands"],
    // What shows and takes input.
    &["surface", "tools", "details", "grid", "findings"],
    &["rooms"],
    &["shell", "main"],
];

#[test]
fn the_app_names_no_floor_above() {
    let files = rust_files_below("app/src");
    let mut offences: Vec<String> = files
        .iter()
        .filter(|file| floor_of(&file.path).is_none())
        .map(|file| format!("{}: is on no floor", file.path))
        .collect();
    for Arrow { from, to } in arrows_of_app(&files) {
        if floor_of(&from) < floor_of(&to) {
            offences.push(format!("{from} names {to}"));
        }
    }
    assert_none(
        "the app's files name their own floor and those below",
        &offences,
    );
}

/// The floor of a file, counted from below.
fn floor_of(path: &str) -> Option<usize> {
    let path = path.strip_prefix("app/src/")?;
    let part = path.split('/').next()?.trim_end_matches(".rs");
    FLOORS.iter().position(|floor| floor.contains(&part))
}

#[test]
fn no_files_name_each_other_in_a_circle() {
    let app = rust_files_below("app/src");
    let core = rust_files_below("core/src");
    let (command, core): (Vec<_>, Vec<_>) = core
        .into_iter()
        .partition(|file| file.path.starts_with("core/src/bin/"));
    let mut arrows = arrows_of_app(&app);
    arrows.extend(Crate::new("loomwright_core", "core/src", &core).arrows());
    arrows.extend(Crate::new("loomwright", "core/src/bin/loomwright", &command).arrows());
    assert!(arrows.len() > core.len(), "the files are read: {arrows:?}");
    assert_none(
        "files do not name each other in a circle",
        &Graph::new(&arrows).circles(),
    );
}

fn arrows_of_app(files: &[SourceFile]) -> BTreeSet<Arrow> {
    Crate::new("loomwright_app", "app/src", files).arrows()
}

/// Who names whom.
struct Graph(BTreeMap<String, BTreeSet<String>>);

impl Graph {
    fn new(arrows: &BTreeSet<Arrow>) -> Self {
        let mut graph: BTreeMap<String, BTreeSet<String>> = BTreeMap::new();
        for Arrow { from, to } in arrows {
            graph.entry(from.clone()).or_default().insert(to.clone());
        }
        Self(graph)
    }

    fn take_out(&mut self, from: &str, to: &str) {
        if let Some(all) = self.0.get_mut(from) {
            all.remove(to);
        }
    }

    /// The shortest way from one file to another, both ends included.
    fn way(&self, from: &str, to: &str) -> Option<Vec<String>> {
        let mut ways = vec![vec![from.to_owned()]];
        let mut seen: BTreeSet<String> = [from.to_owned()].into();
        while !ways.is_empty() {
            let mut next = Vec::new();
            for way in ways {
                let last = way.last().expect("a way has a beginning");
                if last == to {
                    return Some(way);
                }
                for file in self.0.get(last).into_iter().flatten() {
                    if seen.insert(file.clone()) {
                        next.push([&way[..], std::slice::from_ref(file)].concat());
                    }
                }
            }
            ways = next;
        }
        None
    }

    /// Circles, each once, until none is left: the shortest through the first arrow of each.
    fn circles(&self) -> Vec<String> {
        let mut rest = Self(self.0.clone());
        let mut found = Vec::new();
        for (from, all) in &self.0 {
            for to in all {
                if let Some(way) = rest.way(to, from) {
                    found.push(format!("{from} → {}", way.join(" → ")));
                    rest.take_out(from, to);
                }
            }
        }
        found
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn graph(arrows: &[(&str, &str)]) -> Graph {
        let arrow = |&(from, to): &(&str, &str)| Arrow {
            from: from.into(),
            to: to.into(),
        };
        Graph::new(&arrows.iter().map(arrow).collect())
    }

    #[test]
    fn a_circle_is_found_once_with_its_way() {
        assert_eq!(
            graph(&[("a", "b"), ("b", "c"), ("a", "c")]).circles(),
            [""; 0]
        );
        let found = graph(&[("a", "b"), ("b", "c"), ("c", "a"), ("c", "d")]).circles();
        assert_eq!(found, ["a → b → c → a"]);
        assert_eq!(graph(&[("a", "a")]).circles(), ["a → a"]);
    }

    #[test]
    fn floors_are_read_from_the_path() {
        assert!(floor_of("app/src/shell/mod.rs") > floor_of("app/src/lib.rs"));
        assert!(floor_of("app/src/widgets/field.rs") < floor_of("app/src/session/file.rs"));
        assert_eq!(floor_of("app/src/elsewhere.rs"), None);
    }
}
