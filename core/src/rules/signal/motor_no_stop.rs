//! A reversing motor that nothing but its own switch or relay can stop.

use petgraph::{graph::NodeIndex, unionfind::UnionFind};

use crate::{
    netlist::{EdgeOf, Through},
    rules::{
        prelude::*,
        signal::reversing::{Sides, metal, motors, setters},
    },
};

/// A reversing motor that nothing but its own switch or relay can stop.
pub const RULE: Rule = Rule {
    slug: "motor-no-stop",
    title: "No means to stop a runaway motor",
    level: Level::Caution,
    why: "A welded relay contact or a stuck switch leaves a trim or flap motor running. The pilot needs a \
          breaker to pull or another switch, within reach, that stops the motor and little else.",
    sources: &[cite(
        COMMON_PRACTICE,
        "a pullable breaker or a disconnect switch for each trim and flap motor",
    )],
    reads: Reads::JOINS,
    check,
};

fn check(facts: &Facts<'_>, out: &mut Findings<'_, '_>) {
    let netlist = facts.netlist();
    let motors = motors(facts);
    if motors.is_empty() {
        return;
    }
    let metal = metal(netlist);
    for (motor, at) in motors {
        let (a, b) = netlist.ends(motor);
        let setters = setters(facts, &metal, [a.index(), b.index()]);
        let sides = Sides::new(facts, &metal, &setters);
        // What stays connected with every breaker pulled and every other switch open. Contactors stay
        // closed: the master stops this motor and everything else.
        let mut left = UnionFind::<u32>::new(netlist.graph.node_count());
        let is_set = |edge| {
            setters
                .iter()
                .any(|it| it.edges.iter().any(|(own, _)| *own == edge))
        };
        let through = Through::METAL
            .and(Through::PROTECTORS)
            .and(Through::CONTACTS)
            .and(Through::DIODES);
        for edge in netlist.graph.edge_indices() {
            let weight = &netlist.graph[edge];
            if !is_set(edge) && through.passes(weight, true) && !is_breaker(facts, netlist.of(edge))
            {
                let (a, b) = netlist.ends(edge);
                left.union(a.index() as u32, b.index() as u32);
            }
        }
        let own_edges = setters
            .iter()
            .flat_map(|it| &it.edges)
            .map(|(edge, _)| *edge);
        let ends = own_edges.chain([motor]).flat_map(|edge| {
            let (a, b) = netlist.ends(edge);
            [a, b]
        });
        let mut fed = ends.filter(|node| sides.supply.contains(&metal[node.index()]));
        let Some(first) = fed.next() else {
            // It has no supply: other rules report that.
            out.clear(at);
            continue;
        };
        let plus: Vec<NodeIndex> = netlist.sources().map(|it| netlist.ends(it).0).collect();
        let runs_on = |node: NodeIndex| {
            plus.iter()
                .any(|plus| left.equiv(node.index() as u32, plus.index() as u32))
        };
        if runs_on(first) || fed.any(runs_on) {
            out.finding(at)
                .says(format!(
                    "only its own switch or relay disconnects {} from the supply",
                    facts.label(at)
                ))
                .help("feed it through a pullable breaker or a disconnect switch");
        } else {
            out.clear(at);
        }
    }
}

fn is_breaker(facts: &Facts<'_>, of: &EdgeOf) -> bool {
    let EdgeOf::Element(device, element, _) = of else {
        return false;
    };
    let device = facts.device(device);
    let element = device.and_then(|it| it.element(element)).map(|it| &it.is);
    matches!(element, Some(ElementKind::Protector(it)) if it.style == ProtectorStyle::Breaker)
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::testing::check_rule;

    const TRIM: &str = "
        battery BT1
        throw S7 UP:2-1,5-4 OFF: DOWN:2-4,5-1 rest=1
        wire A S7.1 M4.+ 22 1m
        wire B S7.4 M4.- 22 1m
        wire N S7.5 BT1.- 22 1m
    ";

    #[test]
    fn finds_a_motor_behind_a_fuse_only() {
        check_rule(
            &RULE,
            &format!(
                "load M4 - intermittent=0.6 either #! motor-no-stop
                {TRIM}
                fuse F1 3
                wire P BT1.+ F1.1 22 1m
                wire Q F1.2 S7.2 22 1m"
            ),
        );
    }

    #[test]
    fn accepts_a_breaker_or_a_switch_of_its_own() {
        for part in ["breaker CB7 3", "switch CB7 1-2"] {
            check_rule(
                &RULE,
                &format!(
                    "load M4 - intermittent=0.6 either
                    {TRIM}
                    {part}
                    wire P BT1.+ CB7.1 22 1m
                    wire Q CB7.2 S7.2 22 1m"
                ),
            );
        }
    }
}
