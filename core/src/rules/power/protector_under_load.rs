//! A protector is smaller than the current it has to carry.

use petgraph::graph::EdgeIndex;

use crate::{
    netlist::EdgeKind,
    rules::{
        power::protector_over_wire::{gauge_min, guarded, set_rating, subject_and_style},
        prelude::*,
    },
    solve::{Figures, OperatingPoint},
};

/// The rule.
pub const RULE: Rule = Rule {
    slug: "protector-under-load",
    title: "Breaker or fuse too small for the load",
    level: Level::Fault,
    why: "It opens in normal use, usually when the load is needed, and each time somebody looks for a \
          fault that does not exist.",
    sources: &[cite(
        AC_43_13_1B_1998,
        "par 11-48: the sum of the loads on it",
    )],
    reads: Reads::ALL,
    check,
};

/// Ratings that protectors are made in, A (common practice, no source).
const MADE_A: [f64; 18] = [
    1.0, 2.0, 3.0, 5.0, 7.5, 10.0, 15.0, 20.0, 25.0, 30.0, 35.0, 40.0, 50.0, 60.0, 70.0, 80.0,
    100.0, 150.0,
];

fn check(facts: &Facts<'_>, out: &mut Findings<'_, '_>) {
    for edge in facts.netlist().graph.edge_indices() {
        let it = &facts.netlist().graph[edge];
        let EdgeKind::Protector { rating_a, .. } = it.kind else {
            continue;
        };
        let subject = Facts::subject_of(facts.netlist().of(edge));
        let Some(rating_a) = rating_a else {
            out.not_checked(subject, facts.rating_missing(edge));
            continue;
        };
        let worst = |figures: Figures| {
            facts
                .judged()
                .filter(|point| point.figures == figures)
                .filter_map(|point| Some((point.edge_amps(edge)?.abs(), point)))
                .max_by(|a, b| a.0.total_cmp(&b.0))
        };
        let (steady, peak) = (worst(Figures::Continuous), worst(Figures::Peak));
        let over =
            |worst: Option<(f64, &OperatingPoint)>| worst.is_some_and(|(amps, _)| amps > rating_a);
        let (level, worst, moment) = match (over(steady), over(peak)) {
            (true, _) => (Level::Fault, steady, ""),
            (false, true) => (Level::Caution, peak, " peak"),
            (false, false) if steady.is_none() => {
                out.not_checked(subject, "its current could not be solved in any phase");
                continue;
            }
            (false, false) => {
                out.clear(subject);
                continue;
            }
        };
        let Some((amps, point)) = worst else { continue };
        let how = match point.is_asked {
            true => "demanded",
            false => "through it",
        };
        let report = out
            .finding(subject)
            .level(level)
            .says(format!(
                "{} is {rating_a} A, {amps:.2} A{moment} {how} ({})",
                facts.label(subject),
                facts.label(&point.state)
            ))
            .limit(amps, rating_a, "A")
            .working(format!("{amps:.2} A {}", facts.currents_from(point)))
            .help("move a load to another circuit, or fit a larger breaker or fuse with wire to match");
        let most_a = peak.map_or(amps, |(peak_a, _)| peak_a.max(amps));
        if let Some((title, change)) = larger(facts, edge, most_a) {
            report.mend(title, MendKind::Ask, change);
        }
    }
}

/// The smallest standard rating that carries a current, and thicker wire where the wires downstream do not allow
/// that rating.
fn larger(facts: &Facts<'_>, protector: EdgeIndex, amps: f64) -> Option<(String, Change)> {
    let (subject, style) = subject_and_style(facts, protector)?;
    let rating_a = MADE_A.into_iter().find(|it| *it >= amps)?;
    let gauge = gauge_min(rating_a, style)?;
    let mut change = set_rating(facts, facts.netlist().of(protector), rating_a);
    let mut title = format!("Make {} {rating_a} A", facts.label(subject));
    let guarded = guarded(facts);
    let wires = guarded.get(&protector).into_iter().flatten();
    let mut thin = wires
        .filter(|it| it.gauge.is_some_and(|it| it.is_thinner_than(gauge)))
        .peekable();
    if thin.peek().is_some() {
        title += &format!(" and its wires {gauge} AWG");
    }
    for it in thin {
        change = change.then(&facts.change_wire(it.wire, |wire| wire.gauge_awg = Some(gauge)));
    }
    Some((title, change))
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::testing::{check_mend, check_rule};
    use crate::units::Gauge;

    const PLAIN: &str = "
        battery BT1 emf=13.8 ohm=0.001
        bus MBUS CB1=3 #! protector-under-load
        wire P1 BT1.+ MBUS.STUD 2 0.1m
        load LT1 3.6
        wire A MBUS.CB1 LT1.+ 18 0.5m
        wire B LT1.- BT1.- 18 0.5m
    ";

    #[test]
    fn finds_a_load_over_its_breaker() {
        let verdict = check_rule(&RULE, PLAIN);
        let measured = verdict.findings[0].measured.expect("a current");
        // 3.6 A at 13.8 V, a little more at the lower voltage of the lamp (computed: P = 49.68 W).
        assert!((3.6..3.65).contains(&measured), "{measured}");
    }

    #[test]
    fn accepts_a_load_just_under_its_breaker() {
        check_rule(
            &RULE,
            &PLAIN.replace("CB1=3 #! protector-under-load", "CB1=4"),
        );
    }

    #[test]
    fn not_checked_without_a_rating() {
        let text = PLAIN.replace("CB1=3 #!", "CB1=? #?");
        let verdict = check_rule(&RULE, &text);
        assert_eq!(
            verdict.not_checked[0].because,
            "the rating of MBUS CB1 is missing"
        );
    }

    #[test]
    fn the_mend_is_the_next_rating_with_wire_to_match() {
        let after = check_mend(&RULE, PLAIN);
        assert_eq!(
            after.wires["A"].gauge_awg,
            Some(Gauge(18)),
            "5 A on 18 AWG is allowed"
        );
        let thin = check_mend(&RULE, &PLAIN.replace("LT1.+ 18", "LT1.+ 24"));
        assert!(thin.wires["A"].gauge_awg.is_some_and(|it| it.0 < 24));
    }
}
