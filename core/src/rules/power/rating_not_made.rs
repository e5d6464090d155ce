//! A breaker or fuse of a rating that is not made.

use crate::{netlist::EdgeKind, rules::prelude::*};

/// A breaker or fuse of a rating that is not made.
pub const RULE: Rule = Rule {
    slug: "rating-not-made",
    title: "No such breaker or fuse",
    level: Level::Caution,
    why: "A slip of the decimal point in a rating passes every sum that it makes easier. What is not made cannot be \
          bought, and what is fitted instead was not checked.",
    sources: &[
        cite(ISO_8820_3, "ratings of blade fuses"),
        cite(
            COMMON_PRACTICE,
            "ratings of aircraft breakers and limiters as sold, from memory",
        ),
    ],
    reads: Reads::ALL,
    check,
};

/// Ratings of breakers, fuses and limiters as sold, A (ISO 8820-3 as makers' sheets quote it, and from memory).
const MADE_A: [f64; 43] = [
    0.1, 0.2, 0.25, 0.3, 0.5, 0.75, 1.0, 1.25, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 7.0, 7.5, 8.0,
    10.0, 12.0, 12.5, 15.0, 18.0, 20.0, 25.0, 30.0, 35.0, 40.0, 45.0, 50.0, 60.0, 70.0, 75.0, 80.0,
    100.0, 125.0, 150.0, 200.0, 250.0, 300.0, 325.0, 350.0, 400.0,
];

fn check(facts: &Facts<'_>, out: &mut Findings<'_, '_>) {
    let netlist = facts.netlist();
    for edge in netlist.graph.edge_indices() {
        let EdgeKind::Protector { rating_a, .. } = netlist.graph[edge].kind else {
            continue;
        };
        let at = Facts::subject_of(netlist.of(edge));
        let Some(rating_a) = rating_a else {
            out.not_checked(at, facts.rating_missing(edge));
            continue;
        };
        if MADE_A.contains(&rating_a) {
            out.clear(at);
            continue;
        }
        let next = MADE_A.iter().find(|it| **it > rating_a);
        let below = MADE_A.iter().rev().find(|it| **it < rating_a);
        let near: Vec<String> = [below, next]
            .into_iter()
            .flatten()
            .map(|it| format!("{it} A"))
            .collect();
        out.finding(at)
            .says(format!(
                "{} has a rating of {} A, which is not made; the nearest are {}",
                facts.label(at),
                (rating_a * 1e3).round() / 1e3,
                crate::rules::and_list(&near)
            ))
            .measured(rating_a, "A")
            .help("look for a slip of the decimal point; accept it with the maker's part number if it exists");
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::{
        rules::{self, Facts},
        testing::{check_rule, document},
    };

    #[test]
    fn finds_a_slip_of_the_decimal_point() {
        let verdict = rules::run(&Facts::new(&document("fuse F1 0.33")), &[&RULE]);
        assert_eq!(
            verdict.findings[0].message,
            "F1 has a rating of 0.33 A, which is not made; the nearest are 0.3 A and 0.5 A"
        );
    }

    #[test]
    fn accepts_what_is_sold() {
        check_rule(&RULE, "breaker CB1 5\n fuse F2 7.5\n limiter FL1 50");
    }
}
