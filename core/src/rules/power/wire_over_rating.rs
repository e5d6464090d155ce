//! A wire carries more than its size and insulation allow.

use crate::{
    netlist::EdgeKind,
    rules::prelude::*,
    solve::Figures,
    standards::{free_air, wire_table},
};

/// The rule.
pub const RULE: Rule = Rule {
    slug: "wire-over-rating",
    title: "Wire carries more than its rating",
    level: Level::Fault,
    why: "A wire that runs hot ages its insulation and that of its neighbours in the bundle, and loses \
          more volts than the cold figures say.",
    sources: &[wire_table::SOURCE, free_air::SOURCE],
    check,
};

/// How well a solved current is known, A (tolerance of the worked networks in the tests).
const SOLVED_TO_A: f64 = 1e-6;

fn check(facts: &Facts<'_>, out: &mut Findings<'_, '_>) {
    let points: Vec<_> = facts
        .points()
        .iter()
        .filter(|point| point.figures == Figures::Continuous && !cranking(facts, point))
        .collect();
    for (id, at) in facts.netlist().wires() {
        let EdgeKind::Wire {
            gauge,
            conductor: ConductorKind::Copper,
            ..
        } = facts.netlist().graph[at.edge].kind
        else {
            continue;
        };
        let worst = points
            .iter()
            .filter_map(|point| Some((point.edge_amps(at.edge)?.abs(), &point.state)))
            .max_by(|a, b| a.0.total_cmp(&b.0));
        let Some((amps, state)) = worst else {
            out.not_checked(id, "its current could not be solved in any state");
            continue;
        };
        let insulation_c = facts.document.wires[id].insulation_c;
        let rated_a = match (insulation_c, wire_table::find(gauge)) {
            (Some(insulation_c), Some(row)) => row.amps(insulation_c),
            _ => None,
        };
        let (Some(rated_a), Some(insulation_c)) = (rated_a, insulation_c) else {
            let because = match insulation_c {
                None => format!("the insulation rating of {} is missing", facts.label(id)),
                Some(c) => {
                    format!("Table 11-9 has no rating for {gauge} AWG with {c} °C insulation")
                }
            };
            out.not_checked(id, because);
            continue;
        };
        if amps <= rated_a + SOLVED_TO_A {
            out.clear(id);
            continue;
        }
        let alone_a = free_air::amps_max(gauge, insulation_c);
        let level = match alone_a {
            Some(alone_a) if amps <= alone_a => Level::Caution,
            _ => Level::Fault,
        };
        let limit_a = if level == Level::Caution {
            rated_a
        } else {
            alone_a.unwrap_or(rated_a)
        };
        out.finding(id)
            .level(level)
            .says(format!(
                "{} carries {amps:.1} A in \"{}\"; {gauge} AWG with {insulation_c} °C insulation is \
                 good for {rated_a} A in a full bundle{}",
                facts.label(id),
                facts.label(state),
                alone_a.map_or(String::new(), |a| format!(", {a:.0} A alone in free air")),
            ))
            .limit(amps, limit_a, "A")
            .working(format!("solved current {amps:.2} A in \"{}\"", facts.label(state)))
            .working(
                "the table's rating is for 33 wires, 70 °C, 60,000 ft, a fifth of them loaded",
            )
            .help("use thicker wire, or split the load over two circuits");
    }
}

/// True if a starter turns in this state: its circuit carries its current for seconds only.
fn cranking(facts: &Facts<'_>, point: &crate::solve::OperatingPoint) -> bool {
    facts
        .starters()
        .iter()
        .any(|load| point.edge_amps(*load).is_some_and(|amps| amps.abs() > 1.0))
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::testing::check_rule;

    const PLAIN: &str = "
        battery BT1 emf=13.8 ohm=0.001
        load X 5.1 law=current
        wire A BT1.+ X.+ 22 0.5m rated=150 #! wire-over-rating
        wire B X.- BT1.- 20 0.5m rated=150
    ";

    #[test]
    fn finds_more_than_the_table_allows() {
        // AC 43.13-1B CHG 1, Table 11-9: 22 AWG, 150 °C: 5 A; 20 AWG: 7 A.
        let verdict = check_rule(&RULE, PLAIN);
        assert_eq!(verdict.findings[0].limit, Some(5.0));
    }

    #[test]
    fn accepts_exactly_the_rating() {
        let text = PLAIN
            .replace("5.1", "5.0")
            .replace(" #! wire-over-rating", "");
        check_rule(&RULE, &text);
    }

    #[test]
    fn not_checked_without_an_insulation_rating() {
        let text = PLAIN.replace("rated=150 #!", "#?");
        check_rule(&RULE, &text);
    }
}
