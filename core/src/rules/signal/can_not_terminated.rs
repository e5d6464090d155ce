//! A CAN trunk does not have 120 ohm at both ends.

use petgraph::graph::{EdgeIndex, NodeIndex};

use crate::{
    ids::{DeviceId, TerminalId},
    netlist::{EdgeKind, EdgeOf, Groups, Through},
    order::Map,
    rules::{Subject, prelude::*},
    solve::{Element as Part, Law, Network, resistance, solve},
};

/// The rule.
pub const RULE: Rule = Rule {
    slug: "can-not-terminated",
    title: "CAN trunk without 120 ohm at both ends",
    level: Level::Fault,
    why: "Without its terminators the trunk reflects every signal. It may work on the bench and lose a \
          display or a servo in the air when it is cold or a unit is added.",
    sources: &[
        cite(
            "ISO 11898-2",
            "120 ohm at each end of the trunk (from memory)",
        ),
        cite(
            COMMON_PRACTICE,
            "60 ohm between the lines with units unplugged",
        ),
    ],
    reads: Reads::ALL,
    check,
};

/// Resistance between the lines that passes, ohm: two 120 ohm ends with 5 % resistors and their wire.
const RIGHT_OHM: std::ops::RangeInclusive<f64> = 56.0..=66.0;

/// One trunk: pins of its two lines by device.
#[derive(Default)]
struct Trunk<'a> {
    high: Vec<(&'a DeviceId, &'a TerminalId, NodeIndex)>,
    low: Vec<(&'a DeviceId, &'a TerminalId, NodeIndex)>,
}

fn check(facts: &Facts<'_>, out: &mut Findings<'_, '_>) {
    let netlist = facts.netlist();
    let lines = Through::WIRES.and(Through::MATES);
    let groups = netlist.groups(lines);
    let mut trunks: Map<u32, Trunk<'_>> = Map::new();
    for (id, device) in &facts.document.devices {
        let node = |role: Role| {
            let terminal = device
                .terminals
                .iter()
                .find(|terminal| terminal.role == role)?;
            Some((&terminal.id, netlist.terminal(id, &terminal.id)?))
        };
        // A separate terminator has no pins with a role; a device with both is a unit on the trunk.
        let (Some((high, high_node)), Some((low, low_node))) =
            (node(Role::CanHigh), node(Role::CanLow))
        else {
            continue;
        };
        let end = |terminal: &TerminalId| End::Terminal(id.clone(), terminal.clone());
        if facts.touches(&end(high)).is_empty() && facts.touches(&end(low)).is_empty() {
            continue;
        }
        let trunk = trunks.or_default(groups.of(high_node));
        trunk.high.push((id, high, high_node));
        trunk.low.push((id, low, low_node));
    }
    for trunk in trunks.values() {
        judge(facts, out, &groups, trunk);
    }
}

fn judge(facts: &Facts<'_>, out: &mut Findings<'_, '_>, groups: &Groups, trunk: &Trunk<'_>) {
    let (device, pin, high) = trunk.high[0];
    let (_, _, low) = trunk.low[0];
    let subject = Subject::Terminal(device, pin);
    let resistors = resistors(facts, groups, high, low);
    let ohm = ohm_between(facts, groups, &resistors, high, low);
    let at_ends = resistors.iter().all(|edge| is_at_end(facts, *edge));
    if RIGHT_OHM.contains(&ohm) && at_ends {
        return out.clear(subject);
    }
    let mut report = if RIGHT_OHM.contains(&ohm) {
        out.finding(subject)
            .level(Level::Caution)
            .says("a terminator is in the middle of the CAN trunk, not at an end")
            .help("move it to the unit at the end of the trunk")
    } else {
        let seen = if ohm.is_finite() {
            format!("{ohm:.0} ohm")
        } else {
            "open circuit".into()
        };
        out.finding(subject)
            .says(format!(
                "{seen} between CAN high and low at {}, 60 ohm expected; {} drawn",
                facts.label(subject),
                match resistors.len() {
                    0 => "no terminator".into(),
                    1 => "one terminator".to_string(),
                    n => format!("{n} terminators"),
                }
            ))
            .help(
                "fit 120 ohm between the lines at the two units at the ends of the trunk, nowhere else",
            )
    };
    if ohm.is_finite() {
        report = report.limit(ohm, 60.0, "ohm");
    }
    report = report.working("computed with units unplugged: terminators and wires only");
    for (device, pin, _) in &trunk.high[1..] {
        report = report.also((*device, *pin));
    }
    for edge in resistors {
        report = report.also(Facts::subject_of(facts.netlist().of(edge)));
    }
    if let Some((device, change)) = missing_terminator(facts, trunk) {
        report.mend(
            format!("Fit 120 ohm at {}", facts.label(device)),
            MendKind::Ask,
            change,
        );
    }
}

/// Resistors between the two lines.
fn resistors(
    facts: &Facts<'_>,
    groups: &Groups,
    high: NodeIndex,
    low: NodeIndex,
) -> Vec<EdgeIndex> {
    let netlist = facts.netlist();
    let is_across = |edge: &EdgeIndex| {
        let (a, b) = netlist.ends(*edge);
        matches!(netlist.graph[*edge].kind, EdgeKind::Resistor { .. })
            && ((groups.same(a, high) && groups.same(b, low))
                || (groups.same(a, low) && groups.same(b, high)))
    };
    netlist.graph.edge_indices().filter(is_across).collect()
}

/// Ohm from line to line, by sending one ampere through the two lines and their resistors alone.
fn ohm_between(
    facts: &Facts<'_>,
    groups: &Groups,
    resistors: &[EdgeIndex],
    high: NodeIndex,
    low: NodeIndex,
) -> f64 {
    if groups.same(high, low) {
        return 0.0;
    }
    let netlist = facts.netlist();
    let mut nodes: Map<NodeIndex, usize> = Map::new();
    let mut number = |node: NodeIndex| {
        let next = nodes.len();
        *nodes.or_insert(node, next)
    };
    let reference = number(low);
    let mut elements = vec![Part {
        law: Law::CurrentSource { amp: 1.0 },
        a: reference,
        b: number(high),
        off: false,
    }];
    let conductor_c = facts.document.project.conductor_c;
    for edge in netlist.graph.edge_indices() {
        let (a, b) = netlist.ends(edge);
        let in_line = groups.same(a, b) && (groups.same(a, high) || groups.same(a, low));
        if !in_line && !resistors.contains(&edge) {
            continue;
        }
        let kind = &netlist.graph[edge].kind;
        let ohm = match kind {
            // Two pins of a line joined inside a unit.
            EdgeKind::Bar(_) => 0.0,
            _ => match resistance::edge_ohm(kind, conductor_c) {
                Some(ohm) => ohm,
                None => continue,
            },
        };
        elements.push(Part {
            law: Law::Resistor { ohm },
            a: number(a),
            b: number(b),
            off: false,
        });
    }
    if resistors.is_empty() {
        return f64::INFINITY;
    }
    let network = Network {
        node_count: nodes.len(),
        reference,
        elements,
    };
    match solve(&network) {
        Ok(solution) => solution.node_volts[nodes[&high]],
        Err(_) => f64::INFINITY,
    }
}

/// True if the resistor's device has one trunk wire on its CAN high pin, or is not a unit of the trunk.
fn is_at_end(facts: &Facts<'_>, resistor: EdgeIndex) -> bool {
    let EdgeOf::Element(device, ..) = facts.netlist().of(resistor) else {
        return true;
    };
    trunk_wires(facts, device) <= 1
}

/// Wires on all CAN high pins of a device.
fn trunk_wires(facts: &Facts<'_>, id: &DeviceId) -> usize {
    let Some(device) = facts.device(id) else {
        return 0;
    };
    let high = device
        .terminals
        .iter()
        .filter(|terminal| terminal.role == Role::CanHigh);
    high.map(|terminal| {
        facts
            .wires_at(&End::Terminal(id.clone(), terminal.id.clone()))
            .count()
    })
    .sum()
}

/// A terminator for the one unit at an end of the trunk that has none, if there is just one.
fn missing_terminator<'a>(facts: &Facts<'_>, trunk: &Trunk<'a>) -> Option<(&'a DeviceId, Change)> {
    let has_resistor = |id: &DeviceId| {
        facts.document.devices[id]
            .elements
            .iter()
            .any(|element| matches!(element.is, ElementKind::Resistor(_)))
    };
    let mut bare = trunk
        .high
        .iter()
        .zip(&trunk.low)
        .filter(|((id, ..), _)| trunk_wires(facts, id) == 1 && !has_resistor(id));
    let ((device, high, _), (_, low, _)) = bare.next()?;
    if bare.next().is_some() {
        return None;
    }
    let change = facts.change_device(device, |it| {
        it.elements.push(Element {
            id: "terminator".into(),
            label: "120 ohm".into(),
            is: ElementKind::Resistor(Resistor {
                a: (*high).clone(),
                b: (*low).clone(),
                ohm: 120.0,
                extra: Extra::new(),
            }),
            extra: Extra::new(),
        });
    });
    Some((device, change))
}

#[cfg(test)]
mod tests {
    /// A unit in the middle with two pins for each line, joined inside.
    #[test]
    fn accepts_a_trunk_that_passes_through_a_unit() {
        let text = "
            unit A1 1:can_high 2:can_low
            unit B1 1:can_high 2:can_low 3:can_high 4:can_low
            unit C1 1:can_high 2:can_low
            inside A1 resistor 1 2 120
            inside C1 resistor 1 2 120
            inside B1 bar 1 3
            inside B1 bar 2 4
            wire A A1.1 B1.1 22 1m
            wire B A1.2 B1.2 22 1m
            wire C B1.3 C1.1 22 1m
            wire D B1.4 C1.2 22 1m
        ";
        crate::testing::check_rule(&super::RULE, text);
    }

    use super::RULE;
    use crate::testing::{check_mend, check_rule};

    const TRUNK: &str = "
        unit FD1 5:can_high 6:can_low
        inside FD1 resistor 5 6 120
        unit MD1 5:can_high 6:can_low
        unit AP1 2:can_high 3:can_low
        inside AP1 resistor 2 3 120
        wire H1 FD1.5 MD1.5 22 0.4m
        wire L1 FD1.6 MD1.6 22 0.4m
        wire H2 MD1.5 AP1.2 22 3m
        wire L2 MD1.6 AP1.3 22 3m
    ";

    #[test]
    fn accepts_one_terminator_at_each_end() {
        check_rule(&RULE, TRUNK);
    }

    #[test]
    fn finds_a_missing_terminator() {
        let text = TRUNK.replace("inside FD1 resistor 5 6 120", "");
        let marked = text.replace("3:can_low\n", "3:can_low #! can-not-terminated\n");
        let verdict = check_rule(&RULE, &marked);
        let measured = verdict.findings[0].measured.expect("ohm");
        // One 120 ohm terminator and up to 6.8 m of 22 AWG (16.20 ohm per 1,000 ft).
        assert!((119.9..120.5).contains(&measured), "{measured}");
        check_mend(&RULE, &marked);
    }

    #[test]
    fn finds_three_terminators() {
        let text = format!("{TRUNK}\n inside MD1 resistor 5 6 120\n").replace(
            "unit AP1 2:can_high 3:can_low",
            "unit AP1 2:can_high 3:can_low #! can-not-terminated",
        );
        let verdict = check_rule(&RULE, &text);
        assert!(verdict.findings[0].measured.expect("ohm") < 45.0);
    }
}
