//! Continuous loads take more of the alternator than they should.

use crate::rules::prelude::*;

/// Part of an alternator's output that continuous loads may take, % (AC 43.13-1B par 11-35a).
const MOST_PERCENT: f64 = 80.0;

/// The rule.
pub const RULE: Rule = Rule {
    slug: "overloaded-alternator",
    title: "Alternator loaded over 80 %",
    level: Level::Caution,
    why: "What the continuous loads take is not available to recharge the battery, for intermittent \
          loads, or when the alternator is hot and gives less. Over its limit the bus falls to the \
          battery's voltage and the battery runs down in flight.",
    sources: &[cite(
        AC_43_13_1B,
        "par 11-35a: 80 % of the output, unless placarded or monitored; a rule of thumb",
    )],
    reads: Reads::ALL,
    check,
};

fn check(facts: &Facts<'_>, out: &mut Findings<'_, '_>) {
    for phase in &facts.loads().phases {
        let amps = phase.total.continuous;
        let (Some(percent), Some(limit_a)) = (phase.percent(amps.asked_a), phase.limit_a) else {
            continue;
        };
        if percent <= MOST_PERCENT {
            out.clear(&phase.state);
            continue;
        }
        let level = if percent > 100.0 {
            Level::Fault
        } else {
            RULE.level
        };
        let take = if amps.is_asked() { "ask for" } else { "take" };
        let mut report = out
            .finding(&phase.state)
            .level(level)
            .says(format!(
                "in \"{}\" continuous loads {take} {percent:.0} % of the alternator",
                phase.title
            ))
            .limit(percent, MOST_PERCENT, "%")
            .working(format!(
                "{:.2} A solved ({:.2} A as stated) of {limit_a:.0} A",
                amps.solved_a, amps.plain_a
            ))
            .help("switch something off in this state, fit a larger alternator, or placard and monitor it");
        if amps.is_asked() {
            report = report.working(format!(
                "{:.2} A with the stated currents of loads that cannot run",
                amps.asked_a
            ));
        }
        if let Some(percent) = phase.total.estimated_percent().filter(|it| *it > 0.0) {
            report = report.working(format!("{percent:.0} % of the sum are estimates"));
        }
        let most = phase
            .loads
            .iter()
            .filter(|it| it.sums.continuous.plain_a > 0.0);
        if let Some(line) = most.max_by(|a, b| {
            let amps = |line: &crate::analysis::loads::LoadLine| line.sums.continuous.asked_a;
            amps(a).total_cmp(&amps(b))
        }) {
            report.also((&line.device, &line.element)).working(format!(
                "the largest is {}, {:.2} A",
                facts.label((&line.device, &line.element)),
                line.sums.continuous.asked_a
            ));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::{rules::Level, testing::check_rule};

    /// 33 A at 14.2 V less the drop of 5 mohm, constant current: 82.5 % of 40 A.
    const LOADED: &str = "
        battery BT1
        alternator G1 40
        load X 33 law=current
        wire B BT1.+ G1.B 2 0.1m
        wire N BT1.- G1.CASE 2 0.1m
        wire XA G1.B X.+ 2 0.1m
        wire XN X.- G1.CASE 2 0.1m
        state CRUISE running #! overloaded-alternator
        state OUT
    ";

    #[test]
    fn finds_more_than_eighty_percent() {
        let verdict = check_rule(&RULE, LOADED);
        let finding = &verdict.findings[0];
        assert_eq!(finding.level, Level::Caution);
        assert!((finding.measured.expect("a share") - 82.5).abs() < 0.01);
        let over = check_rule(&RULE, &LOADED.replace("load X 33", "load X 41"));
        assert_eq!(over.findings[0].level, Level::Fault);
    }

    #[test]
    fn accepts_eighty_percent() {
        let text = LOADED
            .replace("load X 33", "load X 32")
            .replace("#! overloaded-alternator", "");
        check_rule(&RULE, &text);
    }
}
