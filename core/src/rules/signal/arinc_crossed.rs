//! ARINC 429 A meets B on a conductor.

use crate::rules::{prelude::*, signal::joined};

/// ARINC 429 A meets B on a conductor.
pub const RULE: Rule = Rule {
    slug: "arinc-crossed",
    title: "ARINC 429 A wired to B",
    level: Level::Fault,
    why: "A receiver with A and B swapped sees every bit inverted and accepts no data.",
    sources: &[cite(ARINC_429, "two-wire transmission: A to A, B to B")],
    reads: Reads::JOINS,
    check,
};

fn check(facts: &Facts<'_>, out: &mut Findings<'_, '_>) {
    joined::check_pair(
        facts,
        out,
        [
            (Role::Arinc429A, "ARINC 429 A"),
            (Role::Arinc429B, "ARINC 429 B"),
        ],
        "wire A to A and B to B",
    );
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::testing::{check_mend, check_rule};

    const UNITS: &str = "
        unit FD1 J101-5:arinc429_a J101-6:arinc429_b
        unit MD1 J102-5:arinc429_a J102-6:arinc429_b
        unit EM1 J103-18:arinc429_a J103-19:arinc429_b
        wire DB1C MD1.J102-5 EM1.J103-18
        wire DB1D MD1.J102-6 EM1.J103-19
    ";

    #[test]
    fn finds_one_crossed_pair_once() {
        let verdict = check_rule(
            &RULE,
            &format!(
                "{UNITS}
                wire DB1A FD1.J101-5 MD1.J102-6 #! arinc-crossed
                wire DB1B FD1.J101-6 MD1.J102-5
                "
            ),
        );
        assert!(verdict.findings[0].at.iter().any(|at| at.id == "DB1B"));
    }

    #[test]
    fn accepts_like_to_like() {
        check_rule(
            &RULE,
            &format!(
                "{UNITS}
                wire DB1A FD1.J101-5 MD1.J102-5
                wire DB1B FD1.J101-6 MD1.J102-6
                "
            ),
        );
    }

    #[test]
    fn the_fix_swaps_the_pair() {
        check_mend(
            &RULE,
            &format!(
                "{UNITS}
                wire DB1A FD1.J101-5 MD1.J102-6
                wire DB1B FD1.J101-6 MD1.J102-5"
            ),
        );
    }
}
