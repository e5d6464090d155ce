//! With the loads of a phase the alternator cannot recharge the battery in the target time.

use crate::rules::prelude::*;

/// The rule.
pub const RULE: Rule = Rule {
    slug: "slow-recharge",
    title: "Slow battery recharge",
    level: Level::Caution,
    why: "A battery that was run down by a start, or by a flight without the alternator, is not full when \
          it is next needed. It then does not last the time computed for a full battery.",
    sources: &[cite(
        COMMON_PRACTICE,
        "the alternator can give, besides the continuous loads, the battery's capacity in the target hours",
    )],
    reads: Reads::ALL,
    check,
};

fn check(facts: &Facts<'_>, out: &mut Findings<'_, '_>) {
    let loads = facts.loads();
    let (Some(wanted_a), Some(hours)) = (loads.recharge_a, facts.document.project.recharge_h)
    else {
        return;
    };
    for phase in &loads.phases {
        let (Some(headroom_a), Some(limit_a)) = (phase.headroom_a(), phase.limit_a) else {
            continue;
        };
        if headroom_a >= wanted_a {
            out.clear(&phase.state);
            continue;
        }
        out.finding(&phase.state)
            .says(format!(
                "{headroom_a:.1} A spare for charging, {wanted_a:.1} A needed ({})",
                phase.title
            ))
            .limit(headroom_a, wanted_a, "A")
            .working(format!(
                "{limit_a:.1} A less {:.2} A of continuous loads, {}",
                phase.total.continuous.asked_a,
                match phase.total.continuous.is_asked() {
                    true => "those that cannot run with their stated current",
                    false => "solved",
                }
            ))
            .working(format!(
                "{:.1} Ah in {hours} h: {wanted_a:.1} A",
                wanted_a * hours
            ))
            .help(
                "switch something off in this phase, allow more hours, or fit a larger alternator",
            );
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::testing::check_rule;

    /// 40 A less 25 A leaves 15 A, and 16 Ah in one hour need 16 A.
    const SHORT: &str = "
        target 60 recharge=1
        battery BT1 ah=16
        alternator G1 40
        load X 25 law=current
        wire B BT1.+ G1.B 2 0.1m
        wire N BT1.- G1.CASE 2 0.1m
        wire XA G1.B X.+ 2 0.1m
        wire XN X.- G1.CASE 2 0.1m
        state CRUISE running #! slow-recharge
        state OUT
    ";

    #[test]
    fn finds_too_little_left_to_recharge() {
        let verdict = check_rule(&RULE, SHORT);
        assert_eq!(verdict.findings[0].limit, Some(16.0));
    }

    #[test]
    fn accepts_just_enough() {
        let text = SHORT
            .replace("load X 25", "load X 23.9")
            .replace("#! slow-recharge", "");
        check_rule(&RULE, &text);
    }
}
