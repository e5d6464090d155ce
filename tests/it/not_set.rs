//! Values that nobody gave: no check invents them, and what needs them says so by name.

use std::collections::{BTreeMap, BTreeSet};

use loomwright_core::{
    document::{Document, ElementKind},
    exchange,
    order::Map,
    reports::{self, PAPERS},
    rules::{self, Verdict},
    testing::{arbitrary::Dice, asked},
};

use crate::samples::{sorrel, teasel};

/// Changes every rating of a breaker, a fuse or a limiter, those in wires included.
fn rate(document: &Document, mut rating: impl FnMut(Option<f64>) -> Option<f64>) -> Document {
    let mut document = document.clone();
    for device in document.devices.values_mut() {
        for element in &mut device.elements {
            if let ElementKind::Protector(it) = &mut element.is {
                it.rating_a = rating(it.rating_a);
            }
        }
    }
    for wire in document.wires.values_mut() {
        if let Some(fuse) = &mut wire.fuse {
            fuse.rating_a = rating(fuse.rating_a);
        }
    }
    document
}

/// By rule: what it finds, with its figures, and what it does not check.
fn by_rule(verdict: &Verdict) -> BTreeMap<&str, BTreeSet<String>> {
    let mut all: BTreeMap<&str, BTreeSet<String>> = BTreeMap::new();
    for it in &verdict.findings {
        let text = format!("{:?} {} {}", it.level, it.at[0].key(), it.message);
        all.entry(it.rule).or_default().insert(text);
    }
    for it in &verdict.not_checked {
        let text = format!("{} {}", it.at.key(), it.because);
        all.entry(it.rule).or_default().insert(text);
    }
    all
}

/// The rules that judge by a rating are those whose result changes when every rating is another one. Without ratings
/// each of them is silent and names what is missing; all others say what they said.
#[test]
fn rules_that_need_a_rating_name_it_and_find_nothing_without() {
    let mut need = BTreeSet::new();
    for mut document in [sorrel(), teasel()] {
        // What is accepted opens again with another figure, which is no judgment of a rating.
        document.accepted = Map::default();
        let sound = rules::check(&document);
        let without = rules::check(&rate(&document, |_| None));
        let (was, now) = (by_rule(&sound), by_rule(&without));
        // Every other rating far too small, the ones between far too large; and the other way round.
        let scaled = [[0.02, 50.0], [50.0, 0.02]].map(|times| {
            let mut times = times.iter().cycle();
            let mut scale = |a: f64| a * times.next().expect("a cycle does not end");
            rules::check(&rate(&document, |rating| rating.map(&mut scale)))
        });
        for rule in rules::RULES {
            let is_moved = |it: &Verdict| by_rule(it).get(rule.slug) != was.get(rule.slug);
            if !scaled.iter().any(is_moved) {
                assert_eq!(now.get(rule.slug), was.get(rule.slug), "{}", rule.slug);
                continue;
            }
            need.insert(rule.slug);
            let found = without.findings.iter().filter(|it| it.rule == rule.slug);
            let found: Vec<&str> = found.map(|it| it.message.as_str()).collect();
            assert!(found.is_empty(), "{} without ratings: {found:?}", rule.slug);
            let names = |it: &&rules::NotChecked| {
                it.rule == rule.slug && it.because.contains("the rating of")
            };
            let named = without.not_checked.iter().filter(names).count();
            assert!(named > 0, "{} names no missing rating", rule.slug);
        }
    }
    let known = [
        "always-hot",
        "not-selective",
        "protector-over-wire",
        "protector-under-load",
        "rating-not-made",
        "short-too-weak",
        "starting-current",
    ];
    assert_eq!(need, BTreeSet::from(known));
}

/// A file in which some ratings are not set opens, is checked, printed and saved as any other.
#[test]
fn random_ratings_that_are_not_set_stay_so() {
    let mut dice = Dice::new(7);
    for document in [sorrel(), teasel()] {
        let all = protectors(&document, |_| true);
        for share in [2, 5] {
            let some = rate(&document, |rating| rating.filter(|_| dice.below(share) > 0));
            let unset = protectors(&some, |rating| rating.is_none());
            assert!(unset > 0 && unset < all);
            let saved = exchange::save(&some);
            let opened = exchange::open(&saved).expect("it opens");
            assert!(opened.document == some && exchange::save(&opened.document) == saved);
            let verdict = rules::check(&some);
            assert!(
                by_rule(&verdict)["protector-under-load"]
                    .iter()
                    .any(|it| it.contains("the rating of"))
            );
            let text = |name| {
                reports::paper(&asked(&some), name)
                    .expect("it is listed")
                    .to_text()
            };
            for (name, ..) in PAPERS {
                let text = text(*name);
                assert!(!text.contains("NaN") && !text.contains("inf A"), "{name}");
            }
            let inline = some.wires.values().filter_map(|wire| wire.fuse.as_ref());
            let inline = inline.filter(|fuse| fuse.rating_a.is_none()).count();
            let said = text("placards").matches("rating not set").count();
            // Each is in the table, and once more among the legends to cut out.
            assert_eq!(said % (unset - inline), 0, "{said} of {unset}");
            assert!(said >= unset - inline);
            let schedule = reports::paper(&asked(&some), "schedule").expect("it is listed");
            let ratings = schedule.tables().flat_map(|table| {
                let at = table.columns.iter().position(|it| it.key == "rating_a");
                let cells = |at: usize| table.rows.iter().map(move |row| row[at].show());
                at.into_iter().flat_map(cells)
            });
            assert_eq!(ratings.filter(|it| it == "not set").count(), unset);
            assert!(text("order").contains("rating not set"));
        }
    }
}

fn protectors(document: &Document, is: impl Fn(Option<f64>) -> bool) -> usize {
    let mut count = 0;
    rate(document, |rating| {
        count += usize::from(is(rating));
        rating
    });
    count
}
