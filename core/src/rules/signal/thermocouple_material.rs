//! A thermocouple pair that changes to another metal away from the instrument.

use crate::order::InOrder;
use crate::{
    ids::WireId,
    rules::{Conductor, prelude::*},
};

/// A thermocouple pair that changes to another metal away from the instrument.
pub const RULE: Rule = Rule {
    slug: "thermocouple-material",
    title: "Wrong metal in a thermocouple pair",
    level: Level::Fault,
    why: "A thermocouple pair makes its voltage up to where its two metals end. Where copper or another \
          alloy takes over, the reading refers to that joint, not to the instrument's own cold end. It \
          is wrong by the temperature difference between the two, some tens of degrees at a firewall.",
    sources: &[
        cite(
            ASTM_E230,
            "types K and J: positive and negative leg, extension wire of the same type",
        ),
        cite(
            COMMON_PRACTICE,
            "thermocouple wire all the way to the instrument; joints only of the same alloy",
        ),
    ],
    reads: Reads::SIZES,
    check,
};

fn check(facts: &Facts<'_>, out: &mut Findings<'_, '_>) {
    for conductor in facts.conductors() {
        let [plus, minus] =
            [Role::ThermocouplePlus, Role::ThermocoupleMinus].map(|role| conductor.has(role));
        if plus || minus {
            one(facts, out, conductor, plus && !minus);
        }
    }
}

fn one(facts: &Facts<'_>, out: &mut Findings<'_, '_>, conductor: &Conductor<'_>, plus: bool) {
    let material = |wire: &WireId| facts.wire(wire).map(|it| it.conductor);
    let alloys = conductor.wires.iter().filter_map(|wire| material(wire));
    // The alloy of the pair is that of its first alloy wire; copper never is.
    let Some(right) = alloys.clone().find(|it| leg(*it).is_some()) else {
        if let Some(first) = conductor.wires.first() {
            report(
                facts,
                out,
                conductor,
                first,
                "thermocouple wire of the probe's type",
                "copper",
            );
        }
        return;
    };
    let wrong = (conductor.wires.iter()).find(|wire| material(wire).is_some_and(|it| it != right));
    if let Some(wrong) = wrong {
        let found = material(wrong).map_or("another metal", words);
        report(facts, out, conductor, wrong, words(right), found);
    } else if let Some(first) = conductor.wires.first() {
        match leg(right) == Some(plus) {
            true => {
                out.clear(*first);
                splices(facts, out, conductor);
            }
            false => report(
                facts,
                out,
                conductor,
                first,
                if plus {
                    "the positive leg"
                } else {
                    "the negative leg"
                },
                words(right),
            ),
        }
    }
}

/// Splices between wires of the right alloy: no record says what metal a splice is.
fn splices(facts: &Facts<'_>, out: &mut Findings<'_, '_>, conductor: &Conductor<'_>) {
    let wires = conductor.wires.iter().filter_map(|wire| facts.wire(wire));
    let mut splices: Vec<_> = wires
        .flat_map(|wire| [&wire.from, &wire.to])
        .filter_map(|end| match end {
            End::Splice(id) => Some(id),
            _ => None,
        })
        .collect();
    splices.order();
    splices.dedup();
    for id in splices {
        out.not_checked(
            id,
            "the metal of a splice is not recorded: use one of the pair's own alloy, no plain copper",
        );
    }
}

fn report(
    facts: &Facts<'_>,
    out: &mut Findings<'_, '_>,
    conductor: &Conductor<'_>,
    at: &WireId,
    wanted: &str,
    found: &str,
) {
    let ends: Vec<String> = (conductor.ends.iter())
        .map(|(device, terminal)| facts.label((*device, &terminal.id)))
        .collect();
    let report = out
        .finding(at)
        .says(format!(
            "{} is {found}; the line of {} needs {wanted}",
            facts.label(at),
            crate::rules::and_list(&ends)
        ))
        .help("run the pair in its own alloys from the probe to the instrument");
    super::joined::also_all(report, conductor);
}

/// True for a positive leg, false for a negative one, none for what is not a thermocouple alloy.
fn leg(material: ConductorKind) -> Option<bool> {
    match material {
        ConductorKind::TypeKPositive | ConductorKind::TypeJPositive => Some(true),
        ConductorKind::TypeKNegative | ConductorKind::TypeJNegative => Some(false),
        ConductorKind::Copper | ConductorKind::Coax => None,
    }
}

fn words(material: ConductorKind) -> &'static str {
    match material {
        ConductorKind::Copper => "copper",
        ConductorKind::TypeKPositive => "the positive leg of type K",
        ConductorKind::TypeKNegative => "the negative leg of type K",
        ConductorKind::TypeJPositive => "the positive leg of type J",
        ConductorKind::TypeJNegative => "the negative leg of type J",
        ConductorKind::Coax => "coax",
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::testing::check_rule;

    const PROBE: &str = "
        unit CHT3 +:thermocouple_plus -:thermocouple_minus
        unit EM1 J104-5:thermocouple_plus J104-6:thermocouple_minus
    ";

    #[test]
    fn finds_copper_behind_a_splice() {
        let verdict = check_rule(
            &RULE,
            &format!(
                "{PROBE}
                splice SP1
                wire TC1 CHT3.+ SP1 material=k+
                wire TC2 SP1 EM1.J104-5 #! thermocouple-material
                wire TC3 CHT3.- EM1.J104-6 material=k-
                "
            ),
        );
        assert!(verdict.findings[0].message.contains("TC2 is copper"));
    }

    #[test]
    fn finds_copper_all_the_way_and_a_pair_the_wrong_way_round() {
        check_rule(
            &RULE,
            &format!(
                "{PROBE}
                wire TC1 CHT3.+ EM1.J104-5 #! thermocouple-material
                wire TC3 CHT3.- EM1.J104-6 material=k+ #! thermocouple-material
                "
            ),
        );
    }

    #[test]
    fn finds_another_type_of_pair() {
        check_rule(
            &RULE,
            &format!(
                "{PROBE}
                splice SP1
                wire TC1 CHT3.+ SP1 material=k+
                wire TC2 SP1 EM1.J104-5 material=j+ #! thermocouple-material
                "
            ),
        );
    }

    #[test]
    fn accepts_the_same_alloy_through_a_connector_and_a_splice() {
        check_rule(
            &RULE,
            &format!(
                "{PROBE}
                mated J1/P1 1 2
                splice SP1 #? thermocouple-material
                wire TC1 CHT3.+ J1.J1-1 material=k+
                wire TC2 J1.P1-1 SP1 material=k+
                wire TC3 SP1 EM1.J104-5 material=k+
                wire TC4 CHT3.- J1.J1-2 material=k-
                wire TC5 J1.P1-2 EM1.J104-6 material=k-
                "
            ),
        );
    }
}
