//! An instrument on a magneto's P-lead without a resistor between.

use crate::{netlist::Through, rules::prelude::*};

/// The rule.
pub const RULE: Rule = Rule {
    slug: "tach-on-p-lead",
    title: "Instrument on a P-lead without a resistor",
    level: Level::Fault,
    why: "A P-lead carries spikes of some hundred volts. A chafed instrument wire grounds it, and the magneto stops; \
          an instrument that fails can do the same.",
    sources: &[cite(
        COMMON_PRACTICE,
        "a resistor, as the instrument's manual says, at the magneto end of a tach wire",
    )],
    reads: Reads::JOINS,
    check,
};

fn check(facts: &Facts<'_>, out: &mut Findings<'_, '_>) {
    let groups = facts.netlist().groups(Through::METAL);
    let of_role = |role| facts.terminals().filter(move |it| it.terminal.role == role);
    for lead in of_role(Role::PLead) {
        let is_magneto = |it: &Device| !matches!(it.kind, DeviceKind::Switch);
        if !is_magneto(lead.device) || facts.touches_at(lead.node).is_empty() {
            continue;
        }
        let mut inputs = of_role(Role::SensorPlus);
        let input = inputs.find(|it| it.id != lead.id && groups.same(it.node, lead.node));
        match input {
            None => out.clear((lead.id, &lead.terminal.id)),
            Some(input) => {
                let (at, own) = ((input.id, &input.terminal.id), (lead.id, &lead.terminal.id));
                out.finding(own)
                    .says(format!(
                        "{} is on {}, a P-lead, without a resistor between",
                        facts.label(at),
                        facts.label(own)
                    ))
                    .help("fit the resistor of the instrument's manual at the magneto end of its wire")
                    .also(at);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::testing::check_rule;

    #[test]
    fn finds_a_tach_input_on_a_p_lead() {
        check_rule(
            &RULE,
            "unit MAG1 P:p_lead #! tach-on-p-lead
             unit EM1 9:sensor_plus:TACH
             wire A MAG1.P EM1.9 22 1m",
        );
    }

    #[test]
    fn accepts_a_resistor_between() {
        check_rule(
            &RULE,
            "unit MAG1 P:p_lead
             unit EM1 9:sensor_plus:TACH
             resistor R1 27000
             wire A MAG1.P R1.1 22 1m
             wire B R1.2 EM1.9 22 1m",
        );
    }
}
