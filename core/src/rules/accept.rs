//! Holds findings against what the person accepted, and counts.

use crate::order::InOrder;
use std::collections::{BTreeMap, BTreeSet};

use super::{
    Counts, Facts, Finding, Findings, Level, Rule, Verdict, follows,
    records::unused_acceptance::{self, Use},
    rule::Outcome,
};
use crate::{
    document::{Accepted, Document, End},
    ids::AcceptedId,
    order::Map,
    units::{in_length_unit, length_unit},
};

/// Matches what these rules said with acceptances, sorts and counts.
pub(super) fn settle(facts: &Facts<'_>, rules: &[&'static Rule], said: Vec<Outcome>) -> Verdict {
    let mut all = Outcome::default();
    for said in said {
        all.and(said);
    }
    let accepted = &facts.document.accepted;
    let mut uses: BTreeMap<&AcceptedId, Use> = BTreeMap::new();
    for finding in &mut all.found {
        match_one(facts.document, finding, accepted, &mut uses);
    }
    let has_run = |slug: &str| rules.iter().any(|rule| rule.slug == slug);
    if has_run(unused_acceptance::RULE.slug) {
        let unjudged: BTreeSet<(&str, String)> = all
            .not_checked
            .iter()
            .map(|not| (not.rule, not.at.key()))
            .collect();
        let mut out = Findings::of(facts, &unused_acceptance::RULE);
        for (id, record) in accepted {
            let mut used = uses.get(id).copied().unwrap_or(Use::Nothing);
            if used == Use::Nothing {
                let primary = record.at.first().cloned().unwrap_or_default();
                if unjudged.contains(&(record.rule.as_str(), primary)) {
                    used = Use::NotChecked;
                } else if super::rule(&record.rule).is_some_and(|rule| !has_run(rule.slug)) {
                    used = Use::Unknown;
                }
            }
            unused_acceptance::judge(facts, &mut out, id, record, used);
        }
        all.and(out.outcome());
    }
    let mut verdict = verdict(all);
    follows::fold(facts, &mut verdict.findings);
    let following = verdict.findings.iter().filter(|it| it.follows.is_some());
    verdict.counts.following = following.count();
    verdict
}

fn match_one<'a>(
    document: &Document,
    finding: &mut Finding,
    accepted: &'a Map<AcceptedId, Accepted>,
    uses: &mut BTreeMap<&'a AcceptedId, Use>,
) {
    let here: Vec<String> = finding.at.iter().map(super::Location::key).collect();
    for (id, record) in accepted {
        if record.rule != finding.rule || record.at.first() != here.first() {
            continue;
        }
        let change = changed(document, finding, &here, record);
        let used = uses.entry(id).or_insert(Use::Reopened);
        if let Some(change) = change {
            finding.working.push(format!(
                "accepted on {} by {} (\"{}\"), open again because {change}",
                record.date, record.who, record.reason
            ));
        } else {
            *used = Use::Covers;
            finding.accepted = Some(id.clone());
        }
    }
    if finding.accepted.is_some() {
        finding
            .working
            .retain(|line| !line.contains(", open again because "));
    }
}

/// What differs between a finding and what was accepted, if anything does.
fn changed(
    document: &Document,
    finding: &Finding,
    here: &[String],
    record: &Accepted,
) -> Option<String> {
    let now: BTreeSet<&String> = here.iter().collect();
    let then: BTreeSet<&String> = record.at.iter().collect();
    // Fewer records than were accepted are covered; one more is not.
    if !now.is_subset(&then) {
        return Some("it is at other records now".into());
    }
    if let Some(change) = drawn_otherwise(document, record) {
        return Some(change);
    }
    let in_feet = document.project.show_feet && finding.unit == "m";
    let unit = match in_feet {
        true => length_unit(true),
        false => &finding.unit,
    };
    let differs = |now, then| differs(now, then, in_feet);
    differs(finding.measured, record.measured)
        .map(|(now, then)| format!("{then} {unit} was measured then and {now} {unit} now"))
        .or_else(|| {
            differs(finding.limit, record.limit).map(|(now, then)| {
                format!("the limit was {then} {unit} then and is {now} {unit} now")
            })
        })
}

/// The first end or value of its records that was another one when it was accepted.
fn drawn_otherwise(document: &Document, record: &Accepted) -> Option<String> {
    record.drawn.iter().find_map(|(key, then)| {
        let now = document.as_drawn(key);
        let (kind, id) = key.split_once(':')?;
        then.iter().find_map(|(field, then)| {
            let now = now.get(field)?;
            let is_same = match (now.parse::<f64>(), then.parse::<f64>()) {
                (Ok(now), Ok(then)) => same(now, then),
                _ => now == then,
            };
            let shown = |value: &str| match value.parse::<End>() {
                Ok(end) => document.end_label(&end),
                Err(_) => value.to_owned(),
            };
            let what = match field.as_str() {
                "from" | "to" => "an end",
                "shield_from" | "shield_to" => "an end of its shield",
                "gauge_awg" => "the gauge",
                "length_m" => "the length",
                "fuse_a" => "the fuse",
                "rating_a" => "the rating",
                "isolated" => "the isolation",
                _ => "the current",
            };
            (!is_same).then(|| {
                format!(
                    "{what} of {} was {} then and is {} now",
                    document.record_label(kind, id),
                    shown(then),
                    shown(now)
                )
            })
        })
    })
}

fn differs(now: Option<f64>, then: Option<f64>, in_feet: bool) -> Option<(String, String)> {
    let figure = |value| figure(in_length_unit(value, in_feet));
    match (now, then) {
        (None, _) => None,
        (Some(now), None) => Some((figure(now), "no figure".into())),
        (Some(now), Some(then)) if same(now, then) => None,
        (Some(now), Some(then)) => Some((figure(now), figure(then))),
    }
}

/// True if two figures are the same within 1 %, or within the rounding of the accepted one as it
/// is written, if that is not coarser than 5 %. (Our own choice: fine enough that no change of
/// wire or load hides in it, coarse enough for a figure copied from a screen.)
fn same(now: f64, then: f64) -> bool {
    let text = format!("{then}");
    let half_last_place = text.split_once('.').map_or(0.0, |(_, decimals)| {
        0.5 * 10f64.powi(-i32::try_from(decimals.len()).unwrap_or(0))
    });
    let room = (0.01 * then.abs()).max(half_last_place.min(0.05 * then.abs()));
    (now - then).abs() <= room * (1.0 + 1e-9)
}

/// A figure as people write it: at most three decimals, no zeros at the end.
fn figure(value: f64) -> String {
    let text = format!("{value:.3}");
    text.trim_end_matches('0').trim_end_matches('.').to_string()
}

fn verdict(all: Outcome) -> Verdict {
    let Outcome {
        clear,
        found: mut findings,
        mut not_checked,
    } = all;
    findings.order_by(|a, b| {
        (a.accepted.is_some(), a.level, a.rule, &a.at)
            .cmp(&(b.accepted.is_some(), b.level, b.rule, &b.at))
            .then_with(|| a.message.cmp(&b.message))
    });
    not_checked.order_by(|a, b| (a.rule, &a.at, &a.because).cmp(&(b.rule, &b.at, &b.because)));
    let open = |level| {
        findings
            .iter()
            .filter(|finding| finding.accepted.is_none() && finding.level == level)
            .count()
    };
    let accepted = findings
        .iter()
        .filter(|finding| finding.accepted.is_some())
        .count();
    let counts = Counts {
        examined: clear + findings.len() + not_checked.len(),
        clear,
        found: findings.len() - accepted,
        accepted,
        not_checked: not_checked.len(),
        hazards: open(Level::Hazard),
        faults: open(Level::Fault),
        cautions: open(Level::Caution),
        notes: open(Level::Note),
        following: 0,
    };
    Verdict {
        findings,
        not_checked,
        counts,
    }
}

#[cfg(test)]
mod tests {
    use super::{differs, same};
    use crate::{
        rules::{Facts, Findings, Level, Reads, Rule, Source, Verdict, run},
        testing::{assert_adds_up, document},
    };
    use proptest::prelude::*;

    /// The same figures, another circuit: what was accepted is not what is there.
    #[test]
    fn an_acceptance_opens_again_if_an_end_or_a_gauge_changes() {
        let text = "battery BT1\n bus MBUS CB1=5\n switch S1 1-2
            wire W1 BT1.+ MBUS.STUD 20 2m\n accept 2 1 too-long wire:W1";
        let mut document = document(text);
        let record = document.accepted.values().next().expect("one").clone();
        let change = crate::edit::accept(&document, record).expect("it can be accepted");
        document.accepted.clear();
        change.apply(&mut document).expect("made for it");
        let judge = |document: &_| run(&Facts::new(document), &[&TOO_LONG]);
        assert_eq!(judge(&document).counts.accepted, 1);
        let mut thinner = document.clone();
        thinner.wires.get_mut("W1").expect("there").gauge_awg = Some(crate::units::Gauge(24));
        let verdict = judge(&thinner);
        assert_eq!(verdict.counts.accepted, 0);
        let working = &verdict.findings[0].working;
        assert!(
            working[0].ends_with("open again because the gauge of W1 was 20 then and is 24 now"),
            "{working:?}"
        );
        let mut moved = document.clone();
        moved.wires.get_mut("W1").expect("there").to = crate::document::End::terminal("S1", "1");
        let working = judge(&moved).findings[0].working[0].clone();
        assert!(
            working.contains("an end of W1 was MBUS STUD then and is S1 1 now"),
            "{working}"
        );
    }

    /// Measures the length of every wire that has one, against 1 m.
    static TOO_LONG: Rule = Rule {
        slug: "too-long",
        title: "Wire over one metre",
        level: Level::Fault,
        why: "",
        sources: &[Source {
            document: "a test's own rule",
            place: "",
        }],
        reads: Reads::ALL,
        check: |facts: &Facts<'_>, out: &mut Findings<'_, '_>| {
            for (id, wire) in &facts.document.wires {
                match wire.length_m {
                    None => out.not_checked(id, "its length is missing"),
                    Some(length) if length <= 1.0 => out.clear(id),
                    Some(length) => {
                        out.finding(id).limit(length, 1.0, "m");
                    }
                }
            }
        },
    };

    fn judge(text: &str) -> Verdict {
        run(&Facts::new(&document(text)), &[&TOO_LONG])
    }

    #[test]
    fn a_finding_accepted_as_it_is_counts_as_accepted() {
        let verdict = judge("wire W1 open open 2m\n accept 2 1 too-long wire:W1");
        assert_eq!((verdict.counts.found, verdict.counts.accepted), (0, 1));
    }

    #[test]
    fn a_changed_value_opens_it_again_and_says_so() {
        let verdict = judge("wire W1 open open 2.1m\n accept 2 1 too-long wire:W1");
        assert_eq!((verdict.counts.found, verdict.counts.accepted), (1, 0));
        assert_eq!(
            verdict.findings[0].working,
            [
                "accepted on 2026-01-01 by a test (\"a test's reason\"), open again because 2 m was \
              measured then and 2.1 m now"
            ]
        );
    }

    #[test]
    fn a_changed_limit_or_place_opens_it_again() {
        for accepted in [
            "accept 2 1.5 too-long wire:W1",
            "accept 2 1 too-long wire:W2 wire:W1",
        ] {
            let verdict = judge(&format!("wire W1 open open 2m\n {accepted}"));
            assert_eq!(verdict.counts.found, 1, "{accepted}");
        }
    }

    #[test]
    fn figures_agree_within_one_per_cent_or_the_rounding_they_are_written_with() {
        assert!(same(0.8123, 0.81) && same(100.9, 100.0) && same(0.0512, 0.05));
        assert!(!same(0.83, 0.81) && !same(102.0, 100.0) && !same(5.4, 5.0));
        assert!(
            differs(None, Some(1.0), false).is_none() && differs(Some(1.0), None, false).is_some()
        );
    }

    #[test]
    fn worst_comes_first_and_accepted_last() {
        let verdict =
            judge("wire W1 open open 2m\n wire W2 open open 3m\n accept 2 1 too-long wire:W1");
        assert_eq!(verdict.findings[0].at[0].id, "W2");
        assert_eq!(verdict.findings[1].at[0].id, "W1");
    }

    proptest! {
        #[test]
        fn counts_add_up_whatever_is_drawn(
            wires in prop::collection::vec((prop::option::of(0.1f64..3.0), any::<bool>()), 0..30)
        ) {
            let mut text = String::new();
            for (index, (length, accepted)) in wires.iter().enumerate() {
                let length_text = length.map_or(String::new(), |length| format!("{length}m"));
                text += &format!("wire W{index} open open {length_text}\n");
                if *accepted {
                    text += &format!("accept {} 1 too-long wire:W{index}\n", length.unwrap_or(1.0));
                }
            }
            let document = document(&text);
            let alone = run(&Facts::new(&document), &[&TOO_LONG]);
            assert_adds_up(&alone);
            prop_assert_eq!(alone.counts.examined, wires.len());
            assert_adds_up(&crate::rules::check(&document));
        }
    }
}
