//! An input that works by ground, driven by power, or the reverse.

use petgraph::graph::NodeIndex;

use crate::{
    netlist::{AtNode, EdgeKind, Through},
    rules::{Conductor, prelude::*, signal::joined::also_all},
};

/// An input that works by ground, driven by power, or the reverse.
pub const RULE: Rule = Rule {
    slug: "discrete-mismatch",
    title: "Discrete input mismatch",
    level: Level::Fault,
    why: "Some inputs work when they are grounded, others when they are powered. Wired to the wrong kind \
          they never work, or always. Power on an input made for ground can destroy the unit.",
    sources: &[cite(
        COMMON_PRACTICE,
        "the maker's pin table says whether an input works by ground or by power",
    )],
    reads: Reads::RATINGS,
    check,
};

fn check(facts: &Facts<'_>, out: &mut Findings<'_, '_>) {
    for conductor in facts.conductors() {
        let Some(wire) = conductor.wires.first() else {
            continue;
        };
        let has = |role: Role| conductor.has(role);
        let by_ground = has(Role::InputGround);
        let by_power = has(Role::InputPower);
        if !by_ground && !by_power {
            unsaid(facts, out, conductor);
            continue;
        }
        let (grounds, powers) = drivers(facts, conductor);
        let (grounds, powers) = (
            grounds || has(Role::OutputGround),
            powers || has(Role::OutputPower),
        );
        let says = match (by_ground, by_power, grounds, powers) {
            (true, true, ..) => "one input works by ground, another by power",
            (true, _, false, true) => "the input works by ground and gets only power",
            (_, true, true, false) => "the input works by power and gets only ground",
            (.., true, true) => "the input can get both ground and power",
            (.., false, false) => "the input gets neither ground nor power",
            _ => {
                out.clear(*wire);
                continue;
            }
        };
        let report = out
            .finding(*wire)
            .says(format!("{}: {says}", facts.label(*wire)))
            .help("check in the maker's pin table how the input works, and switch that to it");
        also_all(report, conductor);
    }
}

/// Reports a unit's discrete pin whose working is not set.
fn unsaid(facts: &Facts<'_>, out: &mut Findings<'_, '_>, conductor: &Conductor<'_>) {
    let unsaid = conductor.with(Role::Discrete).find(|(device, _)| {
        let device = facts.device(device);
        device.is_some_and(|it| it.kind == DeviceKind::Unit)
    });
    if let Some((device, terminal)) = unsaid {
        let at = (device, &terminal.id);
        let label = facts.label(at);
        out.not_checked(
            at,
            format!("whether {label} works by ground or by power is not set"),
        );
    }
}

/// Whether ground and power can reach a conductor through switches and contacts.
fn drivers(facts: &Facts<'_>, conductor: &Conductor<'_>) -> (bool, bool) {
    let netlist = facts.netlist();
    let returns = facts.returns();
    let node = |(device, terminal): &(&crate::ids::DeviceId, &Terminal)| {
        netlist.terminal(device, &terminal.id)
    };
    let starts = conductor
        .ends
        .iter()
        .chain(&conductor.passive)
        .filter_map(node);
    let is_supply = |node: NodeIndex| {
        netlist.bar_at(node) == Some(BarUse::Bus)
            || netlist.edges_at(node).any(|edge| {
                let kind = &netlist.graph[edge].kind;
                matches!(kind, EdgeKind::Protector { .. }) || kind.is_source()
            })
    };
    let through = Through::METAL.and(Through::SWITCHES).and(Through::CONTACTS);
    let reach = netlist.reach(starts, through, |node| {
        AtNode::stop_if(returns.has(node) || is_supply(node))
    });
    let grounds = reach.nodes.iter().any(|node| returns.has(*node));
    let powers = reach
        .nodes
        .iter()
        .any(|node| is_supply(*node) && !returns.has(*node));
    (grounds, powers)
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::testing::check_rule;

    const PARTS: &str = "
        battery BT1
        switch S1 1-2
        breaker CB1 1
        wire B BT1.+ CB1.1
    ";

    #[test]
    fn finds_supply_on_an_input_that_works_by_ground() {
        let verdict = check_rule(
            &RULE,
            &format!(
                "unit AP1 4:input_ground
                 {PARTS}
                 wire R8 S1.2 AP1.4 #! discrete-mismatch
                 wire P CB1.2 S1.1"
            ),
        );
        assert!(verdict.findings[0].message.contains("gets only power"));
    }

    #[test]
    fn finds_outputs_of_the_other_kind_and_inputs_that_nothing_works() {
        check_rule(
            &RULE,
            "unit EM1 1:output_power 2:input_power 3:input_ground
             unit AP1 4:input_ground 5:output_ground
             unit X1 1:passive
             wire R1 EM1.1 AP1.4 #! discrete-mismatch
             wire R2 EM1.2 AP1.5 #! discrete-mismatch
             wire R3 EM1.3 X1.1 #! discrete-mismatch",
        );
    }

    #[test]
    fn accepts_what_works_the_same_way() {
        check_rule(
            &RULE,
            &format!(
                "unit AP1 4:input_ground 5:input_power 6:input_ground
                 unit EM1 1:output_ground
                 {PARTS}
                 switch S2 1-2
                 wire R1 S1.2 AP1.4
                 wire N S1.1 BT1.-
                 wire R2 S2.2 AP1.5
                 wire P CB1.2 S2.1
                 wire R3 EM1.1 AP1.6"
            ),
        );
    }

    #[test]
    fn not_checked_where_the_pin_table_does_not_say() {
        check_rule(
            &RULE,
            "unit AP1 4:discrete #? discrete-mismatch
             switch S1 1-2
             wire R8 S1.2 AP1.4",
        );
    }
}
