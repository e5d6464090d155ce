//! An alternator that stays on while its battery is switched off.

use petgraph::graph::{EdgeIndex, NodeIndex};

use crate::{
    netlist::{AtNode, EdgeKind, EdgeOf, Netlist, Reach, trace::SUPPLY},
    rules::prelude::*,
};

/// The rule.
pub const RULE: Rule = Rule {
    slug: "alternator-alone",
    title: "Alternator can stay on without its battery",
    level: Level::Caution,
    why: "The battery holds the bus down when a large load is switched off. Without it the voltage of an alternator \
          can jump far above its setting for a moment, and radios and displays are gone.",
    sources: &[cite(
        COMMON_PRACTICE,
        "the alternator's switch is linked to the master, so that it cannot be on alone",
    )],
    reads: Reads::JOINS,
    check,
};

fn check(facts: &Facts<'_>, out: &mut Findings<'_, '_>) {
    let netlist = facts.netlist();
    for (id, element, alternator, edge) in facts.alternators() {
        let Some(field) = &alternator.field else {
            continue;
        };
        let Some(field_node) = netlist.terminal(id, field) else {
            continue;
        };
        let at = (id, element);
        let Some((opener, path)) = alone(facts, edge, field_node) else {
            out.clear(at);
            continue;
        };
        let opened = Facts::subject_of(netlist.of(opener));
        out.finding(at)
            .says(format!(
                "{} stays on, and on the bus, while {} is open and its battery is off",
                facts.label(id),
                facts.label(opened)
            ))
            .help(
                "lead its field through a second pole of the master switch that opens first, or accept it with \
                 the order in which they are switched on the placard",
            )
            .also((id, field))
            .also(opened)
            .also_each(netlist.wires_among(path));
    }
}

/// What is open while an alternator feeds its own field and no battery, and the path to the field; none if the
/// switches and relays that keep the field on keep a battery on too.
fn alone(
    facts: &Facts<'_>,
    alternator: EdgeIndex,
    field: NodeIndex,
) -> Option<(EdgeIndex, Vec<EdgeIndex>)> {
    let netlist = facts.netlist();
    let output = netlist.ends(alternator).0;
    let posts: Vec<NodeIndex> = (netlist.batteries().map(|edge| netlist.ends(edge).0)).collect();
    let path = reach(facts, output, |_| true).path(netlist, field)?;
    let mut feeds = posts
        .iter()
        .flat_map(|post| facts.feeds().of_node(netlist, *post));
    let to_battery = feeds.find(|it| it.source == alternator)?.path;
    // What is in the field's path is closed; a switch takes its other poles along, a coil its contacts.
    let takes_along =
        |edge: EdgeIndex| path.contains(&edge) || path.iter().any(|it| links(netlist, *it, edge));
    let is_held = |edge: EdgeIndex| match netlist.graph[edge].kind {
        EdgeKind::Switch { .. } => takes_along(edge),
        EdgeKind::Contact { coil, .. } => {
            path.contains(&edge)
                || coil.is_some_and(|coil| {
                    let mut switches = switches_of(facts, coil).into_iter().peekable();
                    switches.peek().is_some() && switches.all(takes_along)
                })
        }
        _ => true,
    };
    let held = reach(facts, output, is_held);
    if posts.iter().any(|post| held.has(*post)) {
        return None;
    }
    let opener = to_battery.into_iter().find(|edge| !is_held(*edge))?;
    Some((opener, path))
}

/// What a source feeds through what can be closed and passes this test.
fn reach(facts: &Facts<'_>, from: NodeIndex, passes: impl Fn(EdgeIndex) -> bool) -> Reach {
    let netlist = facts.netlist();
    netlist.reach_by(
        [from],
        |edge, forward| SUPPLY.passes(&netlist.graph[edge], forward) && passes(edge),
        |node| AtNode::stop_if(facts.returns().has(node)),
    )
}

/// The switches in the circuit of a coil.
fn switches_of(facts: &Facts<'_>, coil: EdgeIndex) -> Vec<EdgeIndex> {
    let netlist = facts.netlist();
    let (a, b) = netlist.ends(coil);
    let mut all = Vec::new();
    for node in [a, b] {
        // The way back of its supplied side is that of other things.
        match facts.feeds().of_node(netlist, node).into_iter().next() {
            Some(feed) => all.extend(feed.path),
            None => {
                let home = netlist.return_path(facts.returns(), node);
                all.extend(home.into_iter().flatten());
            }
        }
    }
    all.retain(|edge| matches!(netlist.graph[*edge].kind, EdgeKind::Switch { .. }));
    all
}

/// True if one switch opens both, and the first is never closed without the second.
fn links(netlist: &Netlist, first: EdgeIndex, second: EdgeIndex) -> bool {
    let (EdgeKind::Switch { made_in: a, .. }, EdgeKind::Switch { made_in: b, .. }) =
        (&netlist.graph[first].kind, &netlist.graph[second].kind)
    else {
        return false;
    };
    let same = match (netlist.of(first), netlist.of(second)) {
        (EdgeOf::Element(device, element, _), EdgeOf::Element(other, of, _)) => {
            (device, element) == (other, of)
        }
        _ => false,
    };
    same && a & !b == 0
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::testing::check_rule;

    const REST: &str = "
        battery BT1
        contactor K1 BAT LOAD COIL+ COIL-
        bus MBUS CB1=5
        ground GB1 STUD T1 T2
        wire A BT1.+ K1.BAT 2 0.3m
        wire B K1.LOAD MBUS.STUD 2 0.3m
        wire C ALT1.B MBUS.STUD 6 1m
        wire D ALT1.CASE GB1.STUD 6 1m
        wire E GB1.STUD BT1.- 2 0.3m
        wire F BT1.+ K1.COIL+ 20 0.3m
        wire G K1.COIL- S1.1 20 1m
        wire H S1.2 GB1.T1 20 1m";

    #[test]
    fn finds_a_field_with_a_switch_of_its_own() {
        let text = format!(
            "alternator ALT1 60 field #! alternator-alone\n{REST}\nswitch S1 1-2\nswitch S2 1-2\n\
             wire I MBUS.CB1 S2.1 20 1m\nwire J S2.2 ALT1.FLD 20 1m"
        );
        let verdict = check_rule(&RULE, &text);
        assert_eq!(
            verdict.findings[0].message,
            "ALT1 stays on, and on the bus, while K1 is open and its battery is off"
        );
    }

    #[test]
    fn accepts_a_master_that_opens_the_field_too() {
        let text = format!(
            "alternator ALT1 60 field\n{REST}\nthrow S1 OFF: BAT:1-2 ALT:1-2,3-4\n\
             wire I MBUS.CB1 S1.3 20 1m\nwire J S1.4 ALT1.FLD 20 1m"
        );
        check_rule(&RULE, &text);
    }

    #[test]
    fn accepts_a_battery_that_nothing_parts_from_it() {
        let text = REST.replace("K1.LOAD MBUS.STUD", "K1.BAT MBUS.STUD");
        check_rule(
            &RULE,
            &format!(
                "alternator ALT1 60 field\n{text}\nswitch S1 1-2\nwire I MBUS.CB1 ALT1.FLD 20 1m"
            ),
        );
    }
}
