//! The log and the kept versions: who did what and when.

use super::{Cell, Paper, PaperInput, Table};
use crate::document::{Document, LogKind, RevisionMark, natural_cmp};
use crate::order::InOrder;

/// The paper.
pub fn paper(asked: &PaperInput<'_>) -> Paper {
    let mut paper = Paper::new("log", "Log and versions", asked.document);
    put(&mut paper, asked.document);
    paper
}

/// Adds the log and the versions to a paper.
pub(super) fn put(paper: &mut Paper, document: &Document) {
    entries(paper, document);
    kept_revisions(paper, document);
}

fn entries(paper: &mut Paper, document: &Document) {
    paper.heading("Log");
    let columns = &[
        ("date", "Date", ""),
        ("who", "Who", ""),
        ("kind", "What", ""),
        ("text", "Entry", ""),
        ("hours", "Work", "h"),
    ];
    let mut table = Table::new("log", "Log", columns);
    let mut entries: Vec<_> = document.log.iter().collect();
    entries.order_by(|a, b| {
        a.1.date
            .cmp(&b.1.date)
            .then_with(|| natural_cmp(a.0.as_str(), b.0.as_str()))
    });
    for (_, entry) in entries {
        let results = entry.results.iter().map(|it| {
            let passed = if it.passed { "passed" } else { "FAILED" };
            format!(
                " {}: {} expected, {} read, {passed}.",
                it.what, it.expected, it.measured
            )
        });
        table.rows.push(vec![
            Cell::text(&entry.date),
            Cell::text(&entry.who),
            Cell::text(kind(entry.kind)),
            Cell::text(entry.text.clone() + &results.collect::<String>()),
            Cell::number(entry.hours, 1),
        ]);
    }
    paper.table(table);
}

/// Kept versions, oldest first; nothing if there is none.
fn kept_revisions(paper: &mut Paper, document: &Document) {
    if document.revisions.is_empty() {
        return;
    }
    paper.heading("Versions");
    let columns = &[
        ("date", "Date", ""),
        ("who", "Who", ""),
        ("name", "Name", ""),
        ("stands_for", "Kept as", ""),
        ("reason", "Reason", ""),
        ("key", "Key", ""),
    ];
    let mut table = Table::new("revisions", "Versions", columns);
    let mut kept: Vec<_> = document.revisions.iter().collect();
    kept.order_by(|a, b| a.1.date.cmp(&b.1.date).then(a.0.cmp(b.0)));
    for (id, it) in kept {
        let mark = match it.mark {
            Some(RevisionMark::AsBuilt) => "as built",
            Some(RevisionMark::Inspected) => "shown for inspection",
            None => "",
        };
        // The first letters of a key identify a version on paper.
        let key: String = id.as_str().chars().take(12).collect();
        let cells = [&*it.date, &*it.who, &*it.name, mark, &*it.reason, &*key];
        table.rows.push(cells.map(Cell::text).to_vec());
    }
    paper.table(table);
}

/// A kind of log entry, in words.
pub fn kind(kind: LogKind) -> &'static str {
    match kind {
        LogKind::Note => "remark",
        LogKind::Change => "change",
        LogKind::Test => "test",
        LogKind::AsBuilt => "as built",
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::{asked, whole};

    #[test]
    fn kept_versions_are_listed_with_their_reasons() {
        let document = whole();
        let paper = paper(&asked(&document));
        let table = paper
            .tables()
            .find(|it| it.name == "revisions")
            .expect("it has kept versions");
        assert_eq!(table.rows.len(), document.revisions.len());
        let text = table.to_text();
        for it in document.revisions.values() {
            assert!(text.contains(&it.reason), "{text}");
        }
        let mut bare = document.clone();
        bare.revisions.clear();
        let paper = super::paper(&asked(&bare));
        assert!(paper.tables().all(|it| it.name != "revisions"));
    }
}
