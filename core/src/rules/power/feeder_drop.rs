//! The drop from an alternator to its bus at its rated current.

use petgraph::graph::EdgeIndex;

use crate::{
    ids::DeviceId,
    netlist::{EdgeKind, EdgeOf},
    rules::prelude::*,
    solve::resistance,
    standards::{drop_limits, wire_table},
};

/// The rule.
pub const RULE: Rule = Rule {
    slug: "feeder-drop",
    title: "Drop in the main power lead",
    level: Level::Caution,
    why: "Everything on the bus loses this voltage before its own wires take their share, and the battery charges \
          to less than the regulator's setting.",
    sources: &[
        cite(
            FAA_H_8083_31,
            "fig. 9-121: main power wires, 2 % of regulated voltage at rated current; as AC 43.13-1B par 11-66",
        ),
        wire_table::SOURCE,
    ],
    reads: Reads::ALL,
    check,
};

fn check(facts: &Facts<'_>, out: &mut Findings<'_, '_>) {
    for (id, _, alternator, edge) in facts.alternators() {
        for (bus, path) in buses(facts, edge) {
            judge(facts, out, (id, alternator), bus, &path);
        }
    }
}

/// The buses that an alternator feeds before any other bus and without a diode, each with the path to it.
fn buses<'d>(facts: &Facts<'d>, source: EdgeIndex) -> Vec<(&'d DeviceId, Vec<EdgeIndex>)> {
    let netlist = facts.netlist();
    let bus_at = |node| {
        let is_bus = netlist.bar_at(node) == Some(BarUse::Bus);
        is_bus.then(|| facts.terminal_at(node))?.map(|it| it.id)
    };
    let mut found: Vec<(&DeviceId, Vec<EdgeIndex>)> = Vec::new();
    for (id, device) in &facts.document.devices {
        let mut bars = device.elements.iter().filter_map(|it| match &it.is {
            ElementKind::Bar(bar) if bar.used_as == BarUse::Bus => bar.terminals.first(),
            _ => None,
        });
        let Some(node) = bars.next().and_then(|it| netlist.terminal(id, it)) else {
            continue;
        };
        let mut feeds = facts.feeds().of_node(netlist, node).into_iter();
        let Some(feed) = feeds.find(|it| it.source == source) else {
            continue;
        };
        let is_first = feed.path.iter().all(|edge| {
            let (a, b) = netlist.ends(*edge);
            let others = [a, b].into_iter().filter_map(bus_at);
            others.into_iter().all(|it| it == id)
                && !matches!(netlist.graph[*edge].kind, EdgeKind::Diode { .. })
        });
        if is_first {
            found.push((id, feed.path));
        }
    }
    found
}

fn judge(
    facts: &Facts<'_>,
    out: &mut Findings<'_, '_>,
    (id, alternator): (&DeviceId, &Alternator),
    bus: &DeviceId,
    path: &[EdgeIndex],
) {
    let netlist = facts.netlist();
    let conductor_c = facts.document.project.conductor_c;
    let (mut ohm, mut lines) = (0.0, Vec::new());
    for edge in path {
        let EdgeOf::Wire(wire) = netlist.of(*edge) else {
            continue;
        };
        let kind = &netlist.graph[*edge].kind;
        let Some(own) = resistance::edge_ohm(kind, conductor_c).filter(|_| !kind.is_unknown_wire())
        else {
            return out.not_checked(
                bus,
                format!(
                    "{} of {} is missing",
                    facts.document.unknown_of_wire(wire),
                    facts.label(wire)
                ),
            );
        };
        ohm += own;
        lines.push((wire, own * alternator.limit_a));
    }
    let (drop_v, limit_v) = (
        ohm * alternator.limit_a,
        drop_limits::FEEDER_SHARE * alternator.set_v,
    );
    if drop_v <= limit_v {
        return out.clear(bus);
    }
    let mut report = out
        .finding(bus)
        .says(format!(
            "from {} to {}: {drop_v:.2} V at {} A, limit {limit_v:.2} V (2 % of {} V)",
            facts.label(id),
            facts.label(bus),
            alternator.limit_a,
            alternator.set_v
        ))
        .limit(drop_v, limit_v, "V")
        .help("take a thicker or a shorter wire");
    for (wire, own_v) in lines {
        report = report
            .working(format!("{}: {own_v:.3} V", facts.label(wire)))
            .also(wire);
    }
    report
        .working(format!(
            "wires only, conductors at {conductor_c} °C, at the alternator's rated current"
        ))
        .also(id);
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::testing::check_rule;

    const REST: &str = "
        battery BT1
        alternator ALT1 40
        bus EBUS CB2=5
        wire A BT1.+ MBUS.STUD 6 1m
        wire G ALT1.CASE BT1.- 6 1m
        diode D1
        wire D MBUS.CB1 D1.A 12 5m
        wire E D1.K EBUS.STUD 12 5m";

    #[test]
    fn finds_a_thin_lead_to_the_main_bus_only() {
        // 10 AWG: 1.26 ohm / 1,000 ft at 20 °C (AC 43.13-1B Table 11-9), so 4.13 mohm/m; 2 m at 40 A: 0.33 V; the project's conductors are at 50 °C,
        // which makes it 0.37 V.
        let text = format!("bus MBUS CB1=5 #! feeder-drop\n{REST}\nwire B ALT1.B MBUS.STUD 10 2m");
        let verdict = check_rule(&RULE, &text);
        let found = &verdict.findings[0];
        let volts = found.measured.expect("computed");
        assert!((volts - 0.37).abs() < 0.01, "{}", found.message);
        assert_eq!(verdict.findings.len(), 1);
    }

    #[test]
    fn accepts_a_thick_one_and_says_where_the_length_is_missing() {
        check_rule(
            &RULE,
            &format!("bus MBUS CB1=5\n{REST}\nwire B ALT1.B MBUS.STUD 8 1m"),
        );
        check_rule(
            &RULE,
            &format!("bus MBUS CB1=5 #? feeder-drop\n{REST}\nwire B ALT1.B MBUS.STUD 8"),
        );
    }
}
