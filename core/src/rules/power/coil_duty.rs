//! A contactor or relay for short use that is on for hours.

use petgraph::graph::EdgeIndex;

use crate::{
    ids::{DeviceId, ElementId},
    netlist::{EdgeKind, EdgeOf},
    rules::prelude::*,
    solve::{Figures, OperatingPoint},
};

/// The rule.
pub const RULE: Rule = Rule {
    slug: "coil-duty",
    title: "Coil for short use is on for hours",
    level: Level::Fault,
    why: "A contactor made for starters looks like one made for a master, has the same studs, and its coil takes \
          several times the current: left on it gets too hot, and the bus goes dark.",
    sources: &[cite(
        COMMON_PRACTICE,
        "contactors are made for intermittent or for continuous duty; the maker's sheet says for which",
    )],
    reads: Reads::ALL,
    check,
};

fn check(facts: &Facts<'_>, out: &mut Findings<'_, '_>) {
    let points: Vec<&OperatingPoint> = (facts.points().iter())
        .filter(|it| it.figures == Figures::Continuous)
        .collect();
    for (id, device) in &facts.document.devices {
        for element in &device.elements {
            let ElementKind::Coil(coil) = &element.is else {
                continue;
            };
            let at = (id, &element.id);
            let Some(edge) = facts.netlist().element_edge(id, &element.id) else {
                continue;
            };
            let loads = switched(facts, device, at);
            let stays = points.iter().find(|point| {
                let (a, b) = facts.netlist().ends(edge);
                let volts = point.node_volts(a).zip(point.node_volts(b));
                let is_on = volts.is_some_and(|(a, b)| (a - b).abs() >= coil.pull_in_v);
                is_on && !is_short(facts, point, &loads)
            });
            let Some(point) = stays else {
                out.clear(at);
                continue;
            };
            let (label, state) = (facts.label(at), facts.label(&point.state));
            let missing =
                format!("{label} is on in \"{state}\"; whether it is made for hours is not set");
            if let Some(report) = out.said(at, coil.continuous_duty, missing) {
                report
                    .says(format!(
                        "{label} is made for seconds and is on in \"{state}\""
                    ))
                    .help("take a contactor made for continuous duty")
                    .also(&point.state);
            }
        }
    }
}

/// The loads that the contacts of a coil switch, with their keys in phases.
fn switched(
    facts: &Facts<'_>,
    device: &Device,
    (id, coil): (&DeviceId, &ElementId),
) -> Vec<(EdgeIndex, String)> {
    let netlist = facts.netlist();
    let contacts = device
        .elements
        .iter()
        .filter(|it| matches!(&it.is, ElementKind::Contact(contact) if contact.coil == *coil));
    let mut loads = Vec::new();
    for contact in contacts.filter_map(|it| netlist.element_edge(id, &it.id)) {
        let (a, b) = netlist.ends(contact);
        for side in [a, b] {
            for node in netlist.downstream_nodes(facts.returns(), contact, side) {
                for edge in netlist.edges_at(node) {
                    if let (EdgeKind::Load, EdgeOf::Element(device, element, _)) =
                        (&netlist.graph[edge].kind, netlist.of(edge))
                    {
                        loads.push((edge, format!("{device}/{element}")));
                    }
                }
            }
        }
    }
    loads
}

/// True if a load that the coil switches works for moments only in this phase: a starter, a flap motor.
fn is_short(facts: &Facts<'_>, point: &OperatingPoint, loads: &[(EdgeIndex, String)]) -> bool {
    let Some(state) = facts.document.states.get(&point.state) else {
        return false;
    };
    let carries = |edge: EdgeIndex| point.edge_amps(edge).is_some_and(|it| it.abs() > 0.0);
    let mut working = loads.iter().filter(|(edge, _)| carries(*edge)).peekable();
    working.peek().is_some()
        && working.all(|(edge, key)| {
            let load_use = state.loads.get(key.as_str());
            let figures = facts.netlist().load(*edge);
            let is_for_hours = figures.is_some_and(|it| it.continuous_a.is_some());
            matches!(load_use, Some(LoadUse::Intermittent | LoadUse::Peak)) || !is_for_hours
        })
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::testing::check_rule;

    fn on(contactor: &str, load: &str, state: &str) -> String {
        format!(
            "battery BT1
             contactor K1 BAT LOAD C+ C- {contactor}
             switch S1 1-2
             load LT1 {load}
             wire A BT1.+ S1.1 20 1m fuse=5@from
             wire B S1.2 K1.C+ 20 1m
             wire N K1.C- BT1.- 20 1m
             wire C BT1.+ K1.BAT 8 0.1m
             wire D K1.LOAD LT1.+ 8 0.1m
             wire E LT1.- BT1.- 8 0.1m
             state ON on=S1 {state}"
        )
    }

    #[test]
    fn finds_a_contactor_for_starters_as_a_master() {
        check_rule(&RULE, &on("continuous=no #! coil-duty", "5", ""));
    }

    #[test]
    fn accepts_one_for_hours_and_one_that_cranks() {
        check_rule(&RULE, &on("continuous=yes", "5", ""));
        check_rule(
            &RULE,
            &on(
                "continuous=no",
                "- intermittent=50 sort=motor",
                "intermittent=LT1/load",
            ),
        );
    }

    #[test]
    fn does_not_check_while_nobody_said() {
        check_rule(&RULE, &on("#? coil-duty", "5", ""));
    }
}
