//! CAN high meets CAN low on a conductor.

use crate::rules::{prelude::*, signal::joined};

/// CAN high meets CAN low on a conductor.
pub const RULE: Rule = Rule {
    slug: "can-crossed",
    title: "CAN high wired to low",
    level: Level::Fault,
    why: "One swapped pair stops the whole data bus, or units drop off it intermittently.",
    sources: &[cite(ISO_11898, "two-wire bus: high to high, low to low")],
    reads: Reads::JOINS,
    check,
};

fn check(facts: &Facts<'_>, out: &mut Findings<'_, '_>) {
    joined::check_pair(
        facts,
        out,
        [(Role::CanHigh, "CAN high"), (Role::CanLow, "CAN low")],
        "wire high to high and low to low at every unit of the data bus",
    );
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::testing::check_rule;

    const UNITS: &str = "
        unit FD1 J101-5:can_high J101-6:can_low
        unit MD1 J102-5:can_high J102-6:can_low
        unit EM1 J103-18:can_high J103-19:can_low
        wire DB1C MD1.J102-5 EM1.J103-18
        wire DB1D MD1.J102-6 EM1.J103-19
    ";

    #[test]
    fn finds_one_crossed_pair_once() {
        let verdict = check_rule(
            &RULE,
            &format!(
                "{UNITS}
                wire DB1A FD1.J101-5 MD1.J102-6 #! can-crossed
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
}
