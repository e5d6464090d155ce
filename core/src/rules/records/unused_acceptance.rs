//! An acceptance that no longer covers a finding.

use crate::{ids::AcceptedId, rules::prelude::*};

/// An acceptance that matches no finding.
pub const RULE: Rule = Rule {
    slug: "unused-acceptance",
    title: "Accepted finding no longer applies",
    level: Level::Caution,
    why: "Somebody decided that this could stay, and gave a reason. If the drawing no longer shows it, the \
          decision may rest on something that has changed since.",
    sources: &[cite(
        COMMON_PRACTICE,
        "a record of a decision is kept current or withdrawn",
    )],
    // Which acceptances are used is known only after all other rules have run; `accept` then calls
    // `judge` for each.
    reads: Reads::ALL,
    check: |_, _| {},
};

/// What became of an acceptance.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(in crate::rules) enum Use {
    /// Its rule did not run.
    Unknown,
    /// It matches nothing.
    Nothing,
    /// Its place could not be judged.
    NotChecked,
    /// Its finding is there with another value; it is open again.
    Reopened,
    /// It covers a finding.
    Covers,
}

/// Reports whether one acceptance still applies.
pub(in crate::rules) fn judge(
    facts: &Facts<'_>,
    out: &mut Findings<'_, '_>,
    id: &AcceptedId,
    record: &Accepted,
    used: Use,
) {
    match used {
        Use::Covers | Use::Reopened => out.clear(id),
        Use::NotChecked => out.not_checked(
            id,
            format!("the rule {} could not check its place", record.rule),
        ),
        Use::Unknown => out.not_checked(id, format!("the rule {} did not run", record.rule)),
        Use::Nothing => {
            let place = record.at.first().map_or("nowhere", String::as_str);
            let mend = Change::set(facts.document, Key::Accepted(id.clone()), None);
            out.finding(id)
                .says(format!(
                    "{} at {place} is no longer found; accepted on {} by {}",
                    record.rule, record.date, record.who
                ))
                .working(format!("reason given: \"{}\"", record.reason))
                .help("check what changed; if the cause was fixed, withdraw the acceptance")
                .mend("Withdraw the acceptance", MendKind::Safe, mend);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::{
        rules::check,
        testing::{check_mend, document},
    };

    const TWICE: &str = "
        load LT1 1
        wire W1 LT1.+ open number=L1A22
        wire W2 LT1.- open number=L1A22
    ";

    fn open_and_accepted(text: &str, slug: &str) -> (usize, usize) {
        let verdict = check(&document(text));
        let of = |accepted| {
            verdict
                .findings
                .iter()
                .filter(|it| it.rule == slug && it.accepted.is_some() == accepted)
                .count()
        };
        (of(false), of(true))
    }

    #[test]
    fn finds_an_acceptance_that_covers_nothing() {
        let text = format!("{TWICE} accept - - duplicate-wire-number wire:W1 wire:W2");
        assert_eq!(open_and_accepted(&text, RULE.slug), (1, 0));
        let after = check_mend(&RULE, &text);
        assert!(after.accepted.is_empty());
    }

    #[test]
    fn accepts_one_that_covers_a_finding() {
        let text = format!("{TWICE} accept - - duplicate-wire-number wire:W2 wire:W1");
        assert_eq!(open_and_accepted(&text, RULE.slug), (0, 0));
        assert_eq!(open_and_accepted(&text, "duplicate-wire-number"), (0, 1));
    }

    #[test]
    fn not_checked_while_its_place_cannot_be_judged() {
        let text = "
            load LT1 1
            wire W1 LT1.+ open number=
            accept - - duplicate-wire-number wire:W1 wire:W2
        ";
        assert_eq!(open_and_accepted(text, RULE.slug), (0, 0));
        let verdict = check(&document(text));
        assert!(verdict.not_checked.iter().any(|it| it.rule == RULE.slug));
    }
}
