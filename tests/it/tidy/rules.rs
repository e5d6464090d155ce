//! Every rule is listed, has a source, and a test on either side of its limit.

use std::collections::BTreeSet;

use super::{SourceFile, assert_none, files_below, rust_files_below};

#[test]
fn every_rule_is_listed_sourced_and_tested() {
    let list = rule_list();
    let mut slugs = BTreeSet::new();
    let mut offences = Vec::new();
    for file in rule_files() {
        let name = file
            .path
            .rsplit('/')
            .next()
            .unwrap_or_default()
            .trim_end_matches(".rs");
        let mut want = |is_so: bool, what: &str| {
            if !is_so {
                offences.push(format!("{}: {what}", file.path));
            }
        };
        let slug = name.replace('_', "-");
        want(
            list.contains(name),
            "is not in rule_list!, so it never runs",
        );
        want(
            file.text.contains(&format!("slug: \"{slug}\"")),
            "its slug is not the file's name",
        );
        want(!file.text.contains("sources: &[]"), "cites no source");
        want(
            file.text.contains("fn finds_"),
            "no test `finds_…` shows that it fires",
        );
        want(
            file.text.contains("fn accepts_"),
            "no test `accepts_…` shows a near miss",
        );
        want(slugs.insert(slug), "another rule has the same slug");
    }
    assert_none(
        "a rule is one file with its source and its tests",
        &offences,
    );
}

/// The files in `core/src/rules/FAMILY/` that hold a rule.
fn rule_files() -> Vec<SourceFile> {
    let mut files = rust_files_below("core/src/rules");
    files.retain(|file| {
        file.path.split('/').count() == 5 && file.text.contains("pub const RULE: Rule")
    });
    files
}

/// The names in the macro call that lists the rules.
fn rule_list() -> BTreeSet<String> {
    let files = files_below("core/src/rules/mod.rs");
    let text = files
        .first()
        .map(|file| file.text.as_str())
        .unwrap_or_default();
    let call = text.split("\nrule_list! {").nth(1).unwrap_or_default();
    let call = call.split("\n}").next().unwrap_or_default();
    let names = call.split(|letter: char| !letter.is_alphanumeric() && letter != '_');
    names.map(str::to_owned).collect()
}

#[test]
fn the_list_of_rules_is_read() {
    let has_rules = !rule_files().is_empty();
    assert_eq!(has_rules, rule_list().iter().any(|name| name.contains('_')));
}
