//! A diode that carries more than its rating, or gets hot doing it.

use crate::{
    netlist::{EdgeKind, EdgeOf},
    rules::prelude::*,
    solve::Figures,
};

/// A diode that carries more than its rating, or gets hot doing it.
pub const RULE: Rule = Rule {
    slug: "diode-heat",
    title: "Diode overloaded or hot",
    level: Level::Fault,
    why: "A diode between buses turns its voltage drop times its current into heat, all the time. Without \
          metal to carry the heat away it fails. Then it feeds nothing, or it no longer isolates the \
          buses.",
    sources: &[cite(
        COMMON_PRACTICE,
        "a rectifier's rating holds on the heat sink that its maker names",
    )],
    reads: Reads::RATINGS.union(Reads::SOLVED),
    check,
};

/// Above this heat a diode needs metal under it, W (our own choice: bridge rectifiers and stud diodes
/// survive a few watts in still air).
const HOT_W: f64 = 3.0;
/// Below this current a diode only suppresses a coil, A (our own choice).
const IDLE_A: f64 = 0.02;

fn check(facts: &Facts<'_>, out: &mut Findings<'_, '_>) {
    let netlist = facts.netlist();
    for edge in netlist.graph.edge_indices() {
        let EdgeKind::Diode { vf_v, ohm } = netlist.graph[edge].kind else {
            continue;
        };
        let EdgeOf::Element(device, id, _) = netlist.of(edge) else {
            continue;
        };
        let at = (device, id);
        let points = facts.points_that_differ();
        let steady = points.filter(|point| point.figures == Figures::Continuous);
        let most = steady
            .filter_map(|point| Some((point.edge_amps(edge)?.abs(), &point.state)))
            .max_by(|a, b| a.0.total_cmp(&b.0));
        let Some((amps, state)) = most else {
            out.not_checked(at, "its current could not be computed in any phase");
            continue;
        };
        if amps < IDLE_A {
            out.clear(at);
            continue;
        }
        let rating_a = match facts.element_of(edge) {
            Some(ElementKind::Diode(diode)) => diode.rating_a,
            _ => None,
        };
        let heat_w = (vf_v + ohm * amps) * amps;
        let label = facts.label(at);
        let heat = format!(
            "({vf_v} V + {ohm} ohm x {amps:.1} A) x {amps:.1} A = {heat_w:.1} W ({})",
            facts.label(state)
        );
        match rating_a {
            None => out.not_checked(
                at,
                format!("the rating of {label} is missing; it carries {amps:.1} A, {heat_w:.1} W"),
            ),
            Some(rating_a) if amps > rating_a => {
                out.finding(at)
                    .says(format!(
                        "{amps:.1} A through {label}, limit {rating_a:.0} A ({})",
                        facts.label(state)
                    ))
                    .limit(amps, rating_a, "A")
                    .working(heat)
                    .help(
                        "fit a diode with a higher rating, on the heat sink that its maker names",
                    );
            }
            Some(_) if heat_w > HOT_W => {
                out.finding(at)
                    .level(Level::Note)
                    .says(format!(
                        "{heat_w:.1} W of heat in {label} ({})",
                        facts.label(state)
                    ))
                    .measured(heat_w, "W")
                    .working(heat)
                    .help("mount it on metal as its maker's data sheet says, away from wires");
            }
            Some(_) => out.clear(at),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::{rules::Level, testing::check_rule};

    fn between_buses(rating: &str, amps: f64) -> String {
        format!(
            "battery BT1
             diode D1 {rating}
             load LA {amps}
             wire A BT1.+ D1.A 10 1m
             wire B D1.K LA.+ 10 1m
             wire N LA.- BT1.- 10 1m
             state FLY"
        )
    }

    #[test]
    fn finds_a_diode_over_its_rating() {
        let verdict = check_rule(&RULE, &between_buses("rating=5 #! diode-heat", 6.0));
        assert_eq!(verdict.findings[0].level, Level::Fault);
    }

    #[test]
    fn notes_its_heat() {
        let verdict = check_rule(&RULE, &between_buses("rating=25 #! diode-heat", 6.0));
        let found = &verdict.findings[0];
        // 0.7 V + 10 mΩ at some 7 A (constant power on fewer volts) is 5.4 W.
        assert_eq!(found.level, Level::Note);
        assert!(
            found.measured.is_some_and(|it| (5.1..5.6).contains(&it)),
            "{found:?}"
        );
    }

    #[test]
    fn accepts_a_cool_one() {
        check_rule(&RULE, &between_buses("rating=25", 2.0));
    }

    #[test]
    fn not_checked_without_a_rating() {
        check_rule(&RULE, &between_buses("#? diode-heat", 6.0));
    }
}
