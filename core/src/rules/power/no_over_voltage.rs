//! Nothing trips an alternator of too high voltage.

use super::over_voltage::takes_down;
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
    let modules: Vec<_> = facts.over_voltage_modules().collect();
    for part in facts.alternators() {
        let (id, element, alternator, _) = part;
        let at = (id, element);
        if modules.iter().any(|it| takes_down(facts, it, part)) {
            out.clear(at);
            continue;
        }
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
    fn accepts_one_with_a_module_at_its_field() {
        let module = |to: &str| {
            format!(
                "battery BT1
                 bus MBUS CB1=5 CB3=1
                 over-voltage OV1
                 alternator G1 40 field
                 wire B BT1.+ MBUS.STUD 8 0.5m
                 wire F MBUS.CB1 G1.FLD 20 1m
                 wire OP {to} OV1.+ 20 1m
                 wire ON OV1.- BT1.- 20 1m
                 wire N BT1.- G1.CASE 2 0.5m"
            )
        };
        check_rule(&RULE, &module("G1.FLD"));
        let elsewhere = module("MBUS.CB3").replace("40 field", "40 field #? no-over-voltage");
        check_rule(&RULE, &elsewhere);
    }

    #[test]
    fn does_not_check_while_nobody_said() {
        check_rule(&RULE, "alternator G1 40 #? no-over-voltage");
    }
}
