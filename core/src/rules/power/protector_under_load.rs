//! A protector is smaller than the current it has to carry.

use petgraph::graph::EdgeIndex;

use crate::{
    netlist::{EdgeKind, LoadFigures},
    rules::{
        Subject,
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
    sources: &[
        cite(AC_43_13_1B_1998, "par 11-48: the sum of the loads on it"),
        cite(
            COMMON_PRACTICE,
            "80 % of its rating for hours; 1.2 times the output of an alternator",
        ),
    ],
    reads: Reads::ALL,
    check,
};

/// Ratings that protectors are made in, A (common practice, no source).
const MADE_A: [f64; 18] = [
    1.0, 2.0, 3.0, 5.0, 7.5, 10.0, 15.0, 20.0, 25.0, 30.0, 35.0, 40.0, 50.0, 60.0, 70.0, 80.0,
    100.0, 150.0,
];

/// Share of its rating that a protector carries for hours, warm as it is behind a panel (common practice, no
/// source).
const FOR_HOURS: f64 = 0.8;

/// Rating of the protector in an alternator's lead, times the alternator's limit (common practice, no source).
const OVER_OUTPUT: f64 = 1.2;

fn check(facts: &Facts<'_>, out: &mut Findings<'_, '_>) {
    currents_not_set(facts, out);
    let outputs = outputs(facts);
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
                let output = outputs.iter().find(|it| it.0 == edge);
                let steady_a = steady.map_or(0.0, |it| it.0);
                close_to_it(
                    facts,
                    out,
                    subject,
                    rating_a,
                    steady_a,
                    output.map(|it| it.1),
                );
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
        let hours_a = steady.map_or(0.0, |it| it.0) / FOR_HOURS;
        let most_a = peak.map_or(amps, |it| it.0).max(amps).max(hours_a);
        if let Some((title, change)) = larger(facts, edge, most_a) {
            report.mend(title, MendKind::Ask, change);
        }
    }
}

/// Says which loads have no current: they take nothing in any solution, and no breaker is judged with them.
fn currents_not_set(facts: &Facts<'_>, out: &mut Findings<'_, '_>) {
    let netlist = facts.netlist();
    for edge in netlist.graph.edge_indices() {
        let figures = netlist.load(edge);
        let is_set = |it: &LoadFigures| {
            it.continuous_a
                .or(it.intermittent_a)
                .or(it.peak_a)
                .is_some()
        };
        if figures.is_some_and(|it| !is_set(it)) {
            let load = Facts::subject_of(netlist.of(edge));
            out.not_checked(
                load,
                format!("the current of {} is not set", facts.label(load)),
            );
        }
    }
}

/// Protectors between an alternator and its battery, the one with the fewest of them between; with the alternator's
/// limit, A. What leads on to another battery does not carry its output.
fn outputs(facts: &Facts<'_>) -> Vec<(EdgeIndex, f64)> {
    let netlist = facts.netlist();
    let posts = netlist.batteries().map(|edge| netlist.ends(edge).0);
    let feeds: Vec<_> = posts
        .flat_map(|post| facts.feeds().of_node(netlist, post))
        .collect();
    let mut outputs = Vec::new();
    for (_, _, alternator, edge) in facts.alternators() {
        let own = feeds.iter().filter(|it| it.source == edge);
        if let Some(feed) = own.min_by_key(|it| it.protectors.len()) {
            let leads = feed.protectors.iter();
            outputs.extend(leads.map(|it| (*it, alternator.limit_a)));
        }
    }
    outputs
}

/// Says where a rating is enough with nothing to spare.
fn close_to_it(
    facts: &Facts<'_>,
    out: &mut Findings<'_, '_>,
    subject: Subject<'_>,
    rating_a: f64,
    steady_a: f64,
    output_a: Option<f64>,
) {
    let label = facts.label(subject);
    if let Some(output_a) = output_a.filter(|it| rating_a < OVER_OUTPUT * it) {
        out.finding(subject)
            .level(Level::Caution)
            .says(format!(
                "{label} is {rating_a} A in the lead of an alternator of {output_a} A: it can open at full output"
            ))
            .limit(rating_a, OVER_OUTPUT * output_a, "A")
            .help("take 1.2 times the output or more, with wire to match, or what the alternator's maker says");
    } else if steady_a > FOR_HOURS * rating_a {
        out.finding(subject)
            .level(Level::Note)
            .says(format!(
                "{label} carries {steady_a:.2} A for hours, more than 80 % of its {rating_a} A"
            ))
            .limit(steady_a, FOR_HOURS * rating_a, "A")
            .help("warm behind a panel it can open; leave room, or know that it may");
    } else {
        out.clear(subject);
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
    use crate::{
        rules::Level,
        testing::{check_mend, check_rule},
        units::Gauge,
    };

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
    fn accepts_a_load_of_three_quarters_and_notes_one_of_nine_tenths() {
        let marked = "CB1=3 #! protector-under-load";
        check_rule(&RULE, &PLAIN.replace(marked, "CB1=5"));
        let verdict = check_rule(&RULE, &PLAIN.replace("CB1=3", "CB1=4"));
        assert_eq!(verdict.findings[0].level, Level::Note);
    }

    #[test]
    fn finds_a_limiter_that_opens_at_the_full_output_of_its_alternator() {
        let text = "
            battery BT1
            alternator ALT1 60
            wire A ALT1.B FL1.1 6 1m
            wire B FL1.2 BT1.+ 6 1m
            wire C ALT1.CASE BT1.- 6 1m";
        let verdict = check_rule(
            &RULE,
            &format!("limiter FL1 60 #! protector-under-load\n{text}"),
        );
        assert_eq!(verdict.findings[0].limit, Some(72.0));
        check_rule(&RULE, &format!("limiter FL1 80\n{text}"));
    }

    #[test]
    fn does_not_check_a_load_whose_current_nobody_gave() {
        let text = PLAIN.replace("CB1=3 #! protector-under-load", "CB1=3");
        let verdict = check_rule(
            &RULE,
            &text.replace("LT1 3.6", "LT1 - #? protector-under-load"),
        );
        assert_eq!(
            verdict.not_checked[0].because,
            "the current of LT1 is not set"
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
