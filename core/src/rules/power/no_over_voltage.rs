//! Nothing trips an alternator of too high voltage.

use crate::rules::prelude::*;

/// The rule.
pub const RULE: Rule = Rule {
    slug: "no-over-voltage",
    title: "Nothing trips an alternator of too high voltage",
    level: Level::Caution,
    why: "A regulator that fails closed can take the bus to 18 V or, on a system for 14 V, to 60 V without a battery, \
          within a fraction of a second: faster than anybody reaches a switch.",
    sources: &[cite(
        CFR_14_23,
        "23.1351(c)(5): each alternator has an over-voltage control that prevents damage",
    )],
    reads: Reads::RATINGS,
    check,
};

fn check(facts: &Facts<'_>, out: &mut Findings<'_, '_>) {
    for (id, element, alternator, _) in facts.alternators() {
        let at = (id, element);
        let tag = facts.label(id);
        let missing = format!(
            "whether something takes {tag} off line when its voltage is too high is not set"
        );
        if let Some(report) = out.said(at, alternator.over_voltage_trip, missing) {
            report
                .says(format!("nothing takes {tag} off line when its voltage is too high"))
                .help("fit an over-voltage module in its field, or enter that its regulator has one inside");
        }
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::testing::check_rule;

    #[test]
    fn finds_one_of_which_it_is_said() {
        check_rule(&RULE, "alternator G1 40 trips=no #! no-over-voltage");
    }

    #[test]
    fn accepts_one_that_has_it() {
        check_rule(&RULE, "alternator G1 40 trips=yes");
    }

    #[test]
    fn does_not_check_while_nobody_said() {
        check_rule(&RULE, "alternator G1 40 #? no-over-voltage");
    }
}
