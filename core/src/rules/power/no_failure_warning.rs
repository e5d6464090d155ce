//! Nothing warns that an alternator has failed.

use crate::rules::prelude::*;

/// The rule.
pub const RULE: Rule = Rule {
    slug: "no-failure-warning",
    title: "Nothing warns that an alternator has failed",
    level: Level::Caution,
    why: "Without a warning the first sign is a radio that goes off, when most of the battery is gone already.",
    sources: &[cite(
        CFR_14_23,
        "23.1351(c)(4): immediate warning of the failure of any generator",
    )],
    reads: Reads::RATINGS,
    check,
};

fn check(facts: &Facts<'_>, out: &mut Findings<'_, '_>) {
    for (id, element, alternator, _) in facts.alternators() {
        let at = (id, element);
        let tag = facts.label(id);
        let missing = format!("whether something warns when {tag} gives nothing is not set");
        if let Some(report) = out.said(at, alternator.failure_warning, missing) {
            report
                .says(format!("nothing warns when {tag} gives nothing"))
                .help("fit a light or a message for low volts or for the alternator, and enter it");
        }
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::testing::check_rule;

    #[test]
    fn finds_one_of_which_it_is_said() {
        check_rule(&RULE, "alternator G1 40 warns=no #! no-failure-warning");
    }

    #[test]
    fn accepts_one_that_has_it() {
        check_rule(&RULE, "alternator G1 40 warns=yes");
    }

    #[test]
    fn does_not_check_while_nobody_said() {
        check_rule(&RULE, "alternator G1 40 #? no-failure-warning");
    }
}
