//! The supply cannot carry what is switched on, or a unit drops out for want of volts.

use crate::{
    rules::{Spot, prelude::*},
    solve::Figures,
};

/// The rule.
pub const RULE: Rule = Rule {
    slug: "supply-cannot-carry",
    title: "Supply cannot carry the load",
    level: Level::Fault,
    why: "When a supply is asked for more than it can give, the bus falls until units drop out, one \
          after the other, and not in the order the pilot would choose.",
    sources: &[cite(
        COMMON_PRACTICE,
        "a load runs only between its cut-off and the supply's voltage; solved, not published",
    )],
    reads: Reads::ALL,
    check,
};

fn check(facts: &Facts<'_>, out: &mut Findings<'_, '_>) {
    for point in facts
        .points()
        .iter()
        .filter(|point| point.figures == Figures::Continuous)
    {
        let state = &point.state;
        if !facts.document.states.contains_key(state) {
            continue;
        }
        let spot = Spot::State(state);
        if let (false, Some(problem)) = (point.converged, &point.problem) {
            let mut report = out
                .finding(spot)
                .says(format!("in \"{}\": {problem}", facts.label(spot)))
                .help("switch loads off in this state, or look for a source that is not connected");
            if let Some(margin) = point.margin {
                report = report.limit(100.0 / margin, 100.0, "% of what the supply can carry");
            }
            report.working("solved at the loads' real terminal voltages");
            continue;
        }
        let dropped: Vec<_> = point
            .dropped
            .iter()
            // A load that its wiring starves is `load-cannot-run`'s.
            .filter(|load| point.across_v(load.edge).is_none_or(|volts| volts <= 0.0))
            .map(|load| Facts::spot_of(point.netlist().of(load.edge)))
            .collect();
        if dropped.is_empty() {
            out.clear(spot);
            continue;
        }
        let names: Vec<_> = dropped.iter().map(|load| facts.label(*load)).collect();
        let mut report = out
            .finding(spot)
            .level(Level::Caution)
            .says(format!(
                "in \"{}\" the voltage is under the cut-off of {}",
                facts.label(spot),
                names.join(", ")
            ))
            .help("keep it off in this state, feed it from another bus, or give it a battery of its own");
        for load in dropped {
            report = report.also(load);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::testing::check_rule;

    /// One load behind a source: no more than E²/4R can be had. 12.8² / (4 x 0.25) = 163.84 W
    /// (maximum power theorem).
    const WEAK: &str = "
        battery BT1 emf=12.8 ohm=0.25
        load X 14.3
        wire A BT1.+ X.+ 2 0.01m
        wire B X.- BT1.- 2 0.01m
        state CRUISE #! supply-cannot-carry
    ";

    #[test]
    fn finds_more_power_than_the_source_can_give() {
        let verdict = check_rule(&RULE, WEAK);
        // 14.3 A x 13.8 V = 197.3 W; 163.8 / 197.3 = 83 %.
        assert!(
            verdict.findings[0].message.contains("83."),
            "{}",
            verdict.findings[0].message
        );
    }

    #[test]
    fn accepts_what_the_source_can_just_give() {
        let text = WEAK
            .replace("14.3", "11.5")
            .replace(" #! supply-cannot-carry", "");
        check_rule(&RULE, &text);
    }
}
