//! A breaker or fuse of a critical device that nobody can reset or replace in flight.

use super::essential_with_others::critical_by_protector;
use crate::{
    netlist::EdgeOf,
    rules::{and_list, prelude::*},
};

/// The rule.
pub const RULE: Rule = Rule {
    slug: "essential-out-of-reach",
    title: "Breaker or fuse of a critical device out of reach",
    level: Level::Caution,
    why: "If it opens, what you marked as critical is gone until the landing, even if the cause is gone too.",
    sources: &[cite(
        CFR_14_23,
        "23.1357(d), (e): where resetting or replacing is essential to safety, within reach in flight, and spare \
         fuses are on board",
    )],
    reads: Reads::JOINS,
    check,
};

fn check(facts: &Facts<'_>, out: &mut Findings<'_, '_>) {
    for (protector, critical) in critical_by_protector(facts) {
        let of = facts.netlist().of(protector);
        let at = Facts::subject_of(of);
        let label = facts.label(at);
        let (in_reach, where_) = match of {
            EdgeOf::Element(id, ..) => (
                facts.device(id).and_then(|it| it.in_reach),
                "is out of reach",
            ),
            EdgeOf::InlineFuse(_) => (Some(false), "is in its wire"),
            _ => continue,
        };
        let missing = format!("whether the pilot reaches {label} in flight is not set");
        if let Some(report) = out.said(at, in_reach, missing) {
            let names: Vec<String> = critical.iter().map(|it| facts.label(*it)).collect();
            report
                .says(format!(
                    "{} is critical, and {label} {where_}: in flight nobody can restore it",
                    and_list(&names)
                ))
                .help("put it where the pilot reaches it, with spare fuses at hand, or accept this with a reason")
                .also_each(critical);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::testing::check_rule;

    fn fed(breaker: &str, wire: &str) -> String {
        format!(
            "battery BT1
             breaker CB1 5 {breaker}
             load FD1 2 critical
             wire A BT1.+ CB1.1 20 1m
             wire B CB1.2 FD1.+ 20 1m {wire}
             wire N FD1.- BT1.- 20 1m"
        )
    }

    #[test]
    fn finds_a_breaker_out_of_reach_and_a_fuse_in_a_wire() {
        check_rule(&RULE, &fed("reach=no #! essential-out-of-reach", ""));
        check_rule(&RULE, &fed("reach=yes", "fuse=3 #! essential-out-of-reach"));
    }

    #[test]
    fn accepts_a_breaker_within_reach() {
        check_rule(&RULE, &fed("reach=yes", ""));
    }

    #[test]
    fn does_not_check_while_nobody_said() {
        check_rule(&RULE, &fed("#? essential-out-of-reach", ""));
    }
}
