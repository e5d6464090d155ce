//! The supply cannot carry the load that is switched on, or a unit drops out because its voltage is too low.

use crate::{
    rules::{Subject, and_list, prelude::*},
    solve::Figures,
};

/// The rule.
pub const RULE: Rule = Rule {
    slug: "supply-cannot-carry",
    title: "Supply cannot carry the load",
    level: Level::Fault,
    why: "When the load is more than the supply can give, the bus voltage falls until units drop out, one \
          after the other, and not in the order the pilot would choose.",
    sources: &[cite(
        COMMON_PRACTICE,
        "a load runs only between its cut-off and the supply's voltage; computed, not published",
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
        let subject = Subject::State(state);
        if let (false, Some(problem)) = (point.converged, &point.problem) {
            let mut report = out
                .finding(subject)
                .says(format!("{problem} ({})", facts.label(subject)))
                .help("switch loads off in this phase, or look for a source that is not connected");
            if let Some(margin) = point.margin {
                report = report.limit(100.0 / margin, 100.0, "% of what the supply can carry");
            }
            report.working("computed at each load's own terminal voltage");
            continue;
        }
        let either_way = |load| {
            let figures = point.netlist().load(load);
            figures.is_some_and(|figures| figures.either_way)
        };
        let dropped: Vec<_> = point
            .dropped
            .iter()
            // A load that its wiring starves is `load-cannot-run`'s.
            .filter(|load| {
                let volts = point.across_v(load.edge);
                volts.is_none_or(|volts| volts == 0.0 || (volts < 0.0 && !either_way(load.edge)))
            })
            .map(|load| Facts::subject_of(point.netlist().of(load.edge)))
            .collect();
        if dropped.is_empty() {
            out.clear(subject);
            continue;
        }
        // More supply does not help a load that gets a negative voltage.
        let reversed: Vec<_> = (point.dropped.iter())
            .filter(|load| point.across_v(load.edge).is_some_and(|volts| volts < 0.0))
            .filter(|load| !either_way(load.edge))
            .map(|load| Facts::subject_of(point.netlist().of(load.edge)))
            .collect();
        let of_low = dropped.iter().copied();
        let low: Vec<_> = of_low.filter(|load| !reversed.contains(load)).collect();
        let names = |loads: &[Subject<'_>]| {
            and_list(&loads.iter().map(|it| facts.label(*it)).collect::<Vec<_>>())
        };
        let mut says = Vec::new();
        if !low.is_empty() {
            says.push(format!("voltage below the cut-off of {}", names(&low)));
        }
        if !reversed.is_empty() {
            says.push(format!("reversed voltage at {}", names(&reversed)));
        }
        let help = match low.is_empty() {
            true => "swap the wires at its plus and minus, or at its source if that is reversed",
            false => {
                "keep it off in this phase, feed it from another bus, or give it a battery of its own"
            }
        };
        let mut report = out
            .finding(subject)
            .level(Level::Caution)
            .says(format!("{} ({})", says.join("; "), facts.label(subject)))
            .help(help);
        for load in dropped {
            report = report.also(load);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::testing::check_rule;

    /// One load on a source: no more than E²/4R can be had. 12.8² / (4 x 0.25) = 163.84 W
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
    fn finds_a_reversed_load() {
        let verdict = check_rule(
            &RULE,
            "
            battery BT1
            load LT1 1 cutoff=10
            wire A BT1.+ LT1.- 18 1m
            wire B LT1.+ BT1.- 18 1m
            state CRUISE #! supply-cannot-carry
            ",
        );
        assert_eq!(
            verdict.findings[0].message,
            "reversed voltage at LT1 (CRUISE)"
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
