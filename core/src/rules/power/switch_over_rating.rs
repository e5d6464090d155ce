//! A switch or relay rated too low for its load.

use petgraph::graph::EdgeIndex;

use crate::{
    ids::{DeviceId, ElementId},
    netlist::{EdgeKind, EdgeOf},
    order::Map,
    rules::prelude::*,
    standards::switch_factor::{SOURCE, Switched, factor},
};

/// A switch or relay rated too low for its load.
pub const RULE: Rule = Rule {
    slug: "switch-over-rating",
    title: "Switch or relay too small for the load",
    level: Level::Caution,
    why: "A filament lamp draws many times its current when it comes on, a motor several times, and a coil \
          arcs when it goes off. A contact then wears out or welds far below the rating printed on it.",
    sources: &[
        SOURCE,
        cite(
            COMMON_PRACTICE,
            "relay contacts count like switch contacts; one that only carries what another switches needs no factor",
        ),
    ],
    reads: Reads::RATINGS,
    check,
};

/// The rating that one load needs of a switch.
struct NeededRating {
    edge: EdgeIndex,
    amps: f64,
    times: f64,
}

fn check(facts: &Facts<'_>, out: &mut Findings<'_, '_>) {
    let netlist = facts.netlist();
    // By switch: the rating its loads need, with their names.
    let mut asked: Map<(&DeviceId, &ElementId), (f64, Vec<NeededRating>)> = Map::new();
    for (edge, load) in netlist.loads() {
        let Some(sort) = sort(facts, edge) else {
            continue;
        };
        let most = [load.continuous_a, load.intermittent_a]
            .into_iter()
            .flatten();
        let amps = most.fold(0.0, f64::max);
        let Some(times) = factor(facts.document.project.nominal_v, sort) else {
            return;
        };
        let plus = netlist.ends(edge).0;
        let Some(path) = facts.feeds().first_path(netlist, plus) else {
            continue;
        };
        // From the load to its source.
        let mut last = None;
        for on_way in path.iter().rev() {
            let weight = &netlist.graph[*on_way];
            let EdgeOf::Element(device, element, _) = netlist.of(*on_way) else {
                continue;
            };
            let at = (device, element);
            let asks = match weight.kind {
                EdgeKind::Switch { .. } | EdgeKind::Contact { .. } if last == Some(at) => continue,
                EdgeKind::Contact { .. } if last.is_some() => NeededRating {
                    edge,
                    amps: load.continuous_a.unwrap_or_default(),
                    times: 1.0,
                },
                EdgeKind::Switch { .. } | EdgeKind::Contact { .. } => {
                    NeededRating { edge, amps, times }
                }
                _ => continue,
            };
            last = Some(at);
            let sum = asked.or_default(at);
            sum.0 += asks.times * asks.amps;
            sum.1.push(asks);
        }
    }
    for (&at, (asked_a, lines)) in &asked {
        let rating_a = match element(facts, at) {
            Some(ElementKind::Switch(it)) => it.rating_a,
            Some(ElementKind::Contact(it)) => it.rating_a,
            _ => continue,
        };
        let label = facts.label(at);
        match rating_a {
            None => out.not_checked(at, format!("the rating of {label} is missing")),
            Some(rating_a) if *asked_a <= rating_a => out.clear(at),
            Some(rating_a) => {
                let mut report = out
                    .finding(at)
                    .says(format!(
                        "{label} needs a rating of {asked_a:.1} A for its loads, has {rating_a:.0} A"
                    ))
                    .limit(*asked_a, rating_a, "A")
                    .help("fit one with a higher rating, or let it operate a relay with that rating");
                for NeededRating { edge, amps, times } in lines {
                    let label = facts.label(Facts::subject_of(netlist.of(*edge)));
                    report = report.working(format!("{label}: {amps:.1} A x {times:.0}"));
                }
            }
        }
    }
}

fn element<'d>(
    facts: &Facts<'d>,
    (device, element): (&DeviceId, &ElementId),
) -> Option<&'d ElementKind> {
    let device = facts.device(device)?;
    Some(&device.element(element)?.is)
}

/// The load type of a switched load. Electronics count as resistive: the table has no row for them.
fn sort(facts: &Facts<'_>, edge: EdgeIndex) -> Option<Switched> {
    let Some(ElementKind::Load(load)) = facts.element_of(edge) else {
        return None;
    };
    Some(match load.sort {
        LoadSort::Lamp => Switched::Lamp,
        LoadSort::Motor => Switched::Motor,
        LoadSort::Inductive => Switched::Inductive,
        LoadSort::Resistive | LoadSort::Electronic => Switched::Resistive,
    })
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::testing::check_rule;

    fn lamp(rating: &str, sort: &str) -> String {
        format!(
            "battery BT1
             switch S5 1-2 {rating}
             load LT1 3.6 sort={sort}
             wire A BT1.+ S5.1 18 1m
             wire B S5.2 LT1.+ 18 1m
             wire N LT1.- BT1.- 18 1m"
        )
    }

    /// AC 43.13-1B Table 11-4, 12 V: lamp 5, motor 2.
    #[test]
    fn finds_a_filament_lamp_on_a_small_switch() {
        let text =
            lamp("rating=15", "lamp").replace("rating=15", "rating=15 #! switch-over-rating");
        let verdict = check_rule(&RULE, &text);
        assert_eq!(verdict.findings[0].measured, Some(18.0));
    }

    #[test]
    fn accepts_a_motor_or_electronics_on_it() {
        for sort in ["motor", "electronic"] {
            check_rule(&RULE, &lamp("rating=15", sort));
        }
    }

    #[test]
    fn not_checked_without_a_rating() {
        check_rule(&RULE, &lamp("#? switch-over-rating", "lamp"));
    }

    /// A lamp downstream of a relay that switches it and of a contactor that only carries its current.
    const RELAY: &str = "battery BT1
        contactor K1 BAT BUS C1 C2 rating=10
        contactor K2 1 2 C1 C2 rating=15
        load LT1 3.6 sort=lamp
        wire A BT1.+ K1.BAT 18 1m
        wire B K1.BUS K2.1 18 1m
        wire C K2.2 LT1.+ 18 1m
        wire N LT1.- BT1.- 18 1m";

    #[test]
    fn finds_a_relay_that_switches_and_not_the_one_that_carries() {
        let text = RELAY.replace("rating=15", "rating=15 #! switch-over-rating");
        let verdict = check_rule(&RULE, &text);
        assert_eq!(verdict.findings[0].measured, Some(18.0));
    }

    #[test]
    fn accepts_a_relay_of_a_higher_rating() {
        check_rule(&RULE, &RELAY.replace("rating=15", "rating=18"));
    }
}
