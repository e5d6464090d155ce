//! A wire on a pin that is not used.

use crate::rules::{facts::wires_of, prelude::*};

/// A wire on a pin that is not used.
pub const RULE: Rule = Rule {
    slug: "wire-on-spare",
    title: "Wire on a spare pin",
    level: Level::Caution,
    why: "The pin table says that the unit uses nothing there: what the wire carries does not arrive, and \
          a pin that the maker reserves can be damaged.",
    sources: &[cite(
        COMMON_PRACTICE,
        "pins that the pin table does not name stay empty",
    )],
    reads: Reads::JOINS,
    check,
};

fn check(facts: &Facts<'_>, out: &mut Findings<'_, '_>) {
    for at in facts.terminals() {
        // A free pair of an in-line connector is there to be used.
        if at.terminal.role != Role::Spare || at.device.kind == DeviceKind::InlineConnector {
            continue;
        }
        let here = (at.id, &at.terminal.id);
        let Some((first, _)) = wires_of(facts.touches_at(at.node)).next() else {
            out.clear(here);
            continue;
        };
        out.finding(here)
            .says(format!(
                "{} ends at {}, a spare pin",
                facts.label(first),
                facts.label(here)
            ))
            .help("move it to the pin that the maker's manual names; if it is this pin, set the pin's role")
            .also_wires(at.node);
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::testing::check_rule;

    #[test]
    fn finds_a_wire_on_a_spare_pin() {
        let verdict = check_rule(
            &RULE,
            "
            bus MBUS CB1=5
            unit COM1 1:power_in 2:spare #! wire-on-spare
            wire A MBUS.CB1 COM1.2
            ",
        );
        assert_eq!(verdict.findings[0].message, "A ends at COM1 2, a spare pin");
    }

    #[test]
    fn accepts_a_spare_pin_without_a_wire() {
        check_rule(
            &RULE,
            "
            bus MBUS CB1=5
            unit COM1 1:power_in 2:spare
            wire A MBUS.CB1 COM1.1
            ",
        );
    }
}
