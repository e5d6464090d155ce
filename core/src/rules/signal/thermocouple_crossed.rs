//! The two legs of a thermocouple swapped.

use crate::rules::{prelude::*, signal::joined};

/// The two legs of a thermocouple swapped.
pub const RULE: Rule = Rule {
    slug: "thermocouple-crossed",
    title: "Thermocouple legs swapped",
    level: Level::Fault,
    why: "With its legs swapped a thermocouple reads backwards: the hotter the probe, the lower the reading.",
    sources: &[cite(ASTM_E230, "positive and negative leg of each type")],
    reads: Reads::SIZES,
    check,
};

fn check(facts: &Facts<'_>, out: &mut Findings<'_, '_>) {
    joined::check_pair(
        facts,
        out,
        [
            (Role::ThermocouplePlus, "positive leg"),
            (Role::ThermocoupleMinus, "negative leg"),
        ],
        "wire positive to positive and negative to negative, from the probe to the instrument",
    );
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::testing::check_rule;

    const PROBE: &str = "
        unit CHT1 +:thermocouple_plus -:thermocouple_minus
        unit EM1 J104-1:thermocouple_plus J104-2:thermocouple_minus
    ";

    #[test]
    fn finds_an_exchanged_pair_once() {
        check_rule(
            &RULE,
            &format!(
                "{PROBE}
                wire TC1 CHT1.+ EM1.J104-2 #! thermocouple-crossed
                wire TC2 CHT1.- EM1.J104-1
                "
            ),
        );
    }

    #[test]
    fn accepts_like_to_like() {
        check_rule(
            &RULE,
            &format!(
                "{PROBE}
                wire TC1 CHT1.+ EM1.J104-1
                wire TC2 CHT1.- EM1.J104-2
                "
            ),
        );
    }
}
