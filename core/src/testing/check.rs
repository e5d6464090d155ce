//! Checks of one rule, and of one fix, on a fixture.

use super::fixture::{self, Fixture};
use crate::{
    document::Document,
    rules::{Facts, Rule, Verdict, check, run},
};

/// Runs one rule on a fixture: it must have a finding at each line marked `#! slug`, must report each line marked
/// `#? slug` as not checked, and must have no other finding. It must have examined something.
///
/// # Panics
/// If the rule reports anything else.
pub fn check_rule(rule: &'static Rule, text: &str) -> Verdict {
    let Fixture {
        document,
        found,
        not_checked,
    } = fixture::fixture(text);
    let verdict = run(&Facts::new(&document), &[rule]);
    let expected = |list: Vec<(String, (&'static str, String))>| -> Vec<(&'static str, String)> {
        let mut list: Vec<_> = list
            .into_iter()
            .filter(|(slug, _)| slug == rule.slug)
            .map(|(_, key)| key)
            .collect();
        list.sort();
        list
    };
    // A marked line about a device also covers its terminals and elements.
    let said = |places: Vec<(&'static str, String)>, wanted: &[(&'static str, String)]| {
        let mut places: Vec<_> = places
            .into_iter()
            .map(|(kind, id)| match id.split_once('/') {
                Some((device, _)) if !wanted.contains(&(kind, id.clone())) => {
                    ("device", device.to_string())
                }
                _ => (kind, id),
            })
            .collect();
        places.sort();
        places
    };
    let found = expected(found);
    let places = verdict
        .findings
        .iter()
        .map(|it| (it.at[0].kind, it.at[0].id.clone()));
    assert_eq!(
        said(places.collect(), &found),
        found,
        "found by {} (left) against marked (right); messages: {:#?}",
        rule.slug,
        verdict
            .findings
            .iter()
            .map(|it| &it.message)
            .collect::<Vec<_>>(),
    );
    let not_checked = expected(not_checked);
    let places = verdict
        .not_checked
        .iter()
        .map(|it| (it.at.kind, it.at.id.clone()));
    assert_eq!(
        said(places.collect(), &not_checked),
        not_checked,
        "not checked by {} (left) against marked (right): {:#?}",
        rule.slug,
        verdict.not_checked,
    );
    assert!(
        verdict.counts.examined > 0,
        "{} looked at nothing",
        rule.slug
    );
    assert_adds_up(&verdict);
    verdict
}

/// Makes the rule's first fix of a fixture and runs all rules again: the finding must be gone and nothing as bad
/// may be new.
///
/// # Panics
/// If there is no finding or no fix, or if the fix made it worse.
pub fn check_mend(rule: &'static Rule, text: &str) -> Document {
    let before = fixture::document(text);
    let all_before = check(&before);
    let finding = all_before
        .findings
        .iter()
        .find(|finding| finding.rule == rule.slug)
        .unwrap_or_else(|| panic!("{} finds nothing here", rule.slug));
    let mend = finding
        .mends
        .first()
        .unwrap_or_else(|| panic!("{} offers no fix", rule.slug));
    let mut after = before.clone();
    mend.change
        .apply(&mut after)
        .unwrap_or_else(|error| panic!("the fix {:?} cannot be made: {error}", mend.title));
    let all_after = check(&after);
    for new in &all_after.findings {
        let same = |old: &&crate::rules::Finding| old.rule == new.rule && old.at[0] == new.at[0];
        let known = all_before.findings.iter().find(same);
        assert!(
            !same(&finding),
            "{:?} does not fix it: {}",
            mend.title,
            new.message
        );
        assert!(
            known.is_some() || new.level > finding.level,
            "{:?} makes a new finding: {}",
            mend.title,
            new.message
        );
    }
    after
}

/// Asserts that examined = clear + found + accepted + not checked, and that the levels add up to the findings.
///
/// # Panics
/// If they don't.
pub fn assert_adds_up(verdict: &Verdict) {
    let counts = &verdict.counts;
    assert_eq!(
        counts.examined,
        counts.clear + counts.found + counts.accepted + counts.not_checked
    );
    assert_eq!(
        counts.found,
        counts.hazards + counts.faults + counts.cautions + counts.notes
    );
    assert_eq!(counts.found + counts.accepted, verdict.findings.len());
    assert_eq!(counts.not_checked, verdict.not_checked.len());
}
