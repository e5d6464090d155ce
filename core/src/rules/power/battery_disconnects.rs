//! The electronics of a battery disconnect it in a phase that needs it.

use petgraph::graph::EdgeIndex;

use crate::{
    rules::{and_list, facts::Part, prelude::*},
    solve::{Figures, OperatingPoint},
};

/// The rule.
pub const RULE: Rule = Rule {
    slug: "battery-disconnects",
    title: "Battery disconnects itself",
    level: Level::Fault,
    why: "The electronics inside a lithium battery protect its cells, not the flight: over their current or outside \
          their volts they open, and all that the battery feeds is dead at once. An alternator that loses its battery \
          can send its voltage up.",
    sources: &[cite(
        COMMON_PRACTICE,
        "limits of the battery's electronics, from its manual",
    )],
    reads: Reads::ALL,
    check,
};

fn check(facts: &Facts<'_>, out: &mut Findings<'_, '_>) {
    for part in facts.batteries() {
        let (id, element, battery, _) = part;
        let over_a = |value, is_slow| Limit {
            what: "current",
            value,
            unit: "A",
            is_most: true,
            is_slow,
        };
        let volts = |what, value, is_most| Limit {
            what,
            value,
            unit: "V",
            is_most,
            is_slow: is_most,
        };
        let needed = [
            over_a(battery.opens_above_a, false),
            volts("lowest voltage", battery.opens_below_v, false),
            volts("highest voltage", battery.opens_above_v, true),
        ];
        let missing = needed.iter().filter(|it| it.value.is_none());
        let missing: Vec<_> = missing.map(|it| it.what.to_owned()).collect();
        if battery.chemistry == Some(Chemistry::LithiumIronPhosphate) && !missing.is_empty() {
            let tag = facts.label(id);
            let missing = and_list(&missing);
            out.not_checked(
                (id, element),
                format!("what the electronics of {tag} allow is not set: {missing}"),
            );
        }
        let slow = over_a(battery.opens_slowly_above_a, true);
        for limit in needed.into_iter().chain([slow]) {
            if let Some(value) = limit.value {
                hold(facts, out, part, limit, value);
            }
        }
    }
}

/// A limit of a battery's electronics.
#[derive(Clone, Copy)]
struct Limit {
    what: &'static str,
    value: Option<f64>,
    unit: &'static str,
    is_most: bool,
    /// True if only what lasts opens it.
    is_slow: bool,
}

/// Holds every phase against a limit.
fn hold(
    facts: &Facts<'_>,
    out: &mut Findings<'_, '_>,
    (id, element, _, edge): Part<'_, Battery>,
    limit: Limit,
    value: f64,
) {
    let at = (id, element);
    let tag = facts.label(id);
    let points = (facts.judged()).filter(|it| !limit.is_slow || it.figures == Figures::Continuous);
    let found = points.filter_map(|point| Some((figure(facts, point, edge, limit)?, point)));
    let worst = match limit.is_most {
        true => found.max_by(|a, b| a.0.total_cmp(&b.0)),
        false => found.min_by(|a, b| a.0.total_cmp(&b.0)),
    };
    let Some((figure, point)) = worst else {
        out.not_checked(at, format!("no phase with {tag} could be solved"));
        return;
    };
    let beyond = match limit.is_most {
        true => figure > value,
        false => figure < value,
    };
    if !beyond {
        out.clear(at);
        return;
    }
    let (unit, how) = (limit.unit, if limit.is_most { "above" } else { "below" });
    out.finding(at)
        .says(format!(
            "{tag} disconnects itself: {figure:.1} {unit}, it opens {how} {value} {unit} ({})",
            facts.label(&point.state)
        ))
        .limit(figure, value, unit)
        .working(format!(
            "{figure:.2} {unit}, {}",
            facts.currents_from(point)
        ))
        .help("fit a battery that allows it, or take the load or the source off it");
}

/// The current that a battery gives, A, or the voltage at its posts, V; `None` if the phase was not solved.
fn figure(facts: &Facts<'_>, point: &OperatingPoint, edge: EdgeIndex, limit: Limit) -> Option<f64> {
    if limit.unit == "A" {
        return point.edge_amps(edge);
    }
    let (plus, minus) = facts.netlist().ends(edge);
    Some(point.node_volts(plus)? - point.node_volts(minus)?)
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::testing::check_rule;

    /// 180 A from a battery of 5 mohm at 13.2 V: 12.3 V at its posts.
    const CRANKS: &str = "
        battery BT1 emf=13.2 ohm=0.005 lithium over_a=150 under_v=10.8 over_v=14.8 #! battery-disconnects
        load M1 - intermittent=180 law=current
        wire A BT1.+ M1.+ 2 0.1m
        wire N M1.- BT1.- 2 0.1m
        state START intermittent=M1/load
    ";

    #[test]
    fn finds_a_starter_over_its_current() {
        let verdict = check_rule(&RULE, CRANKS);
        let found = &verdict.findings[0];
        assert_eq!(found.limit, Some(150.0));
        assert!((found.measured.expect("a current") - 180.0).abs() < 0.01);
    }

    #[test]
    fn accepts_a_starter_under_it() {
        let text = CRANKS.replace("#! battery-disconnects", "");
        check_rule(&RULE, &text.replace("over_a=150", "over_a=200"));
    }

    #[test]
    fn finds_what_takes_seconds_only_where_it_lasts() {
        let text = CRANKS.replace("over_a=150", "over_a=200 slowly_a=60");
        check_rule(&RULE, &text);
        let at_peak = text
            .replace("#! battery-disconnects", "")
            .replace("load M1 - intermittent=180", "load M1 10 peak=180")
            .replace("intermittent=M1/load", "");
        check_rule(&RULE, &at_peak);
    }

    #[test]
    fn finds_an_alternator_over_its_voltage() {
        let text = "
            battery BT1 emf=13.2 lithium over_a=150 under_v=10.8 over_v=14.0 #! battery-disconnects
            alternator G1 40 set=14.4
            wire A BT1.+ G1.B 2 0.1m
            wire N BT1.- G1.CASE 2 0.1m
            state CRUISE running
        ";
        check_rule(&RULE, text);
        let text = text.replace("#! battery-disconnects", "");
        check_rule(&RULE, &text.replace("over_v=14.0", "over_v=14.8"));
    }

    #[test]
    fn does_not_check_lithium_whose_limits_nobody_gave() {
        let text = CRANKS.replace("#!", "#?");
        let text = text.replace("over_a=150 under_v=10.8 over_v=14.8", "");
        let verdict = check_rule(&RULE, &text);
        assert_eq!(
            verdict.not_checked[0].because,
            "what the electronics of BT1 allow is not set: current, lowest voltage and highest voltage"
        );
    }
}
