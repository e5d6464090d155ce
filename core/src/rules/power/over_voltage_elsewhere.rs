//! An over-voltage module that trips does not stop the alternator.

use super::over_voltage::{opened, takes_down};
use crate::rules::{and_list, facts::Module, prelude::*};

/// The rule.
pub const RULE: Rule = Rule {
    slug: "over-voltage-elsewhere",
    title: "Over-voltage module does not stop the alternator",
    level: Level::Hazard,
    why: "It shorts its own supply and a breaker opens, but the field keeps another supply: the voltage goes on rising, \
          and the breaker that is out looks like a job done.",
    sources: &[
        cite(
            CFR_14_23,
            "23.1351(c)(5): each alternator has an over-voltage control that prevents damage",
        ),
        cite(
            COMMON_PRACTICE,
            "the module is at the field supply, after its breaker; trips near 16 V on a system for 14 V",
        ),
    ],
    reads: Reads::RATINGS,
    check,
};

fn check(facts: &Facts<'_>, out: &mut Findings<'_, '_>) {
    for module in facts.over_voltage_modules() {
        judge(facts, out, &module);
    }
}

fn judge(facts: &Facts<'_>, out: &mut Findings<'_, '_>, module: &Module<'_>) {
    let tag = facts.label(module.at.0);
    let stopped: Vec<_> = (facts.alternators())
        .filter(|it| takes_down(facts, module, *it))
        .collect();
    if stopped.is_empty() {
        let opens = opened(facts, module);
        let labels: Vec<_> = (opens.iter())
            .map(|it| facts.label(Facts::subject_of(facts.netlist().of(*it))))
            .collect();
        let says = match (facts.returns().has(module.minus), labels.is_empty()) {
            (false, _) => format!("{tag} has no return: it cannot trip"),
            (true, true) => {
                format!("no breaker or fuse is upstream of {tag}: when it trips, its wires burn")
            }
            (true, false) => format!(
                "{tag} opens {} when it trips, and no alternator loses its field by that",
                and_list(&labels)
            ),
        };
        out.finding(module.at)
            .says(says)
            .help("wire it to the field supply of the alternator, between its breaker and its regulator")
            .also_wires(module.plus);
        return;
    }
    let Some(trip_v) = module.module.trip_v else {
        out.not_checked(
            module.at,
            format!("the voltage at which {tag} trips is not set"),
        );
        return;
    };
    let highest = stopped
        .iter()
        .max_by(|a, b| a.2.set_v.total_cmp(&b.2.set_v));
    match highest.filter(|it| it.2.set_v >= trip_v) {
        None => out.clear(module.at),
        Some((id, _, alternator, _)) => {
            let set_v = alternator.set_v;
            out.finding(module.at)
                .level(Level::Fault)
                .says(format!(
                    "{tag} trips at {trip_v} V, {} is set to {set_v} V: it trips in normal use",
                    facts.label(*id)
                ))
                .limit(trip_v, set_v, "V")
                .help("fit a module for this system, or correct its trip voltage")
                .also(*id);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::{rules::Level, testing::check_rule};

    const SOUND: &str = "
        battery BT1
        bus MBUS CB1=5 CB3=1
        switch S1 1-2
        alternator G1 40 field
        over-voltage OV1 trip=16
        wire B BT1.+ MBUS.STUD 8 0.5m
        wire L G1.B MBUS.STUD 8 0.5m
        wire F MBUS.CB1 S1.1 20 1m
        wire G S1.2 G1.FLD 20 1m
        wire OP S1.2 OV1.+ 20 1m
        wire ON OV1.- BT1.- 20 1m
        wire N BT1.- G1.CASE 2 0.5m
    ";

    fn check(change: [&str; 2], words: &str) {
        let text = SOUND.replace(change[0], change[1]);
        let text = text.replace("trip=16", "trip=16 #! over-voltage-elsewhere");
        let verdict = check_rule(&RULE, &text);
        let message = &verdict.findings[0].message;
        assert!(message.contains(words), "{message}");
    }

    #[test]
    fn finds_one_on_another_breaker() {
        check(["OP S1.2 OV1.+", "OP MBUS.CB3 OV1.+"], "opens MBUS CB3");
        check(
            ["OP S1.2 OV1.+", "OP MBUS.STUD OV1.+"],
            "no breaker or fuse",
        );
        check(["ON OV1.- BT1.-", "ON OV1.- open"], "no return");
    }

    #[test]
    fn finds_one_whose_field_has_a_second_supply() {
        let second = format!("{SOUND}\nwire X MBUS.CB3 G1.FLD 20 1m");
        let text = second.replace("trip=16", "trip=16 #! over-voltage-elsewhere");
        check_rule(&RULE, &text);
    }

    #[test]
    fn finds_one_that_trips_in_normal_use() {
        let text = SOUND.replace("trip=16", "trip=14 #! over-voltage-elsewhere");
        assert_eq!(check_rule(&RULE, &text).findings[0].level, Level::Fault);
    }

    #[test]
    fn accepts_one_at_the_field_supply() {
        check_rule(&RULE, SOUND);
    }

    #[test]
    fn does_not_check_while_nobody_gave_its_voltage() {
        check_rule(
            &RULE,
            &SOUND.replace("trip=16", "#? over-voltage-elsewhere"),
        );
    }
}
