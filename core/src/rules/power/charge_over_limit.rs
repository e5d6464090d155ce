//! A battery takes more charging current than its maker allows.

use crate::rules::prelude::*;

/// The rule.
pub const RULE: Rule = Rule {
    slug: "charge-over-limit",
    title: "Battery charged with too much current",
    level: Level::Fault,
    why: "A battery that takes more than its maker allows gets hot and can burn; nothing puts out a lithium battery that \
          burns. One that was run down takes more than computed here, up to all that the alternator has to spare.",
    sources: &[cite(
        COMMON_PRACTICE,
        "highest charging current, from the battery's manual",
    )],
    reads: Reads::ALL,
    check,
};

fn check(facts: &Facts<'_>, out: &mut Findings<'_, '_>) {
    for (id, element, battery, edge) in facts.batteries() {
        let at = (id, element);
        let tag = facts.label(id);
        let Some(limit_a) = battery.charge_limit_a else {
            if battery.chemistry == Some(Chemistry::LithiumIronPhosphate) {
                out.not_checked(
                    at,
                    format!("the charging current that {tag} allows is not set"),
                );
            }
            continue;
        };
        let charge = |point| {
            Some((
                -crate::solve::OperatingPoint::edge_amps(point, edge)?,
                point,
            ))
        };
        let worst = (facts.points().iter())
            .filter_map(charge)
            .max_by(|a, b| a.0.total_cmp(&b.0));
        match worst {
            None => out.not_checked(at, format!("no phase with {tag} could be solved")),
            Some((amps, point)) if amps > limit_a => {
                out.finding(at)
                    .says(format!(
                        "{tag} takes {amps:.1} A, it allows {limit_a} A ({})",
                        facts.label(&point.state)
                    ))
                    .limit(amps, limit_a, "A")
                    .help("charge it through what limits the current, from a smaller alternator, or fit a larger battery");
            }
            Some(_) => out.clear(at),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::testing::check_rule;

    /// 14.2 V over 13.2 V and 0.05 ohm: about 20 A.
    const CHARGED: &str = "
        battery BT1 emf=13.2 lithium charge_ohm=0.05 charge_a=10 #! charge-over-limit
        alternator G1 40 set=14.2
        wire A BT1.+ G1.B 2 0.1m
        wire N BT1.- G1.CASE 2 0.1m
        state CRUISE running
    ";

    #[test]
    fn finds_a_charge_over_the_limit() {
        let verdict = check_rule(&RULE, CHARGED);
        let amps = verdict.findings[0].measured.expect("a current");
        assert!((16.0..20.0).contains(&amps), "{amps}");
    }

    #[test]
    fn accepts_a_charge_under_it() {
        let text = CHARGED.replace("#! charge-over-limit", "");
        check_rule(&RULE, &text.replace("charge_a=10", "charge_a=25"));
        // Nothing charges it.
        check_rule(&RULE, &text.replace("CRUISE running", "CRUISE"));
    }

    #[test]
    fn does_not_check_while_nobody_gave_the_limit() {
        check_rule(&RULE, &CHARGED.replace("charge_a=10 #!", "#?"));
    }
}
