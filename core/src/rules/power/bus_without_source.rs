//! A power bus that nothing feeds.

use petgraph::graph::{EdgeIndex, NodeIndex};

use crate::{
    ids::DeviceId,
    netlist::{
        AtNode, EdgeKind, EdgeOf, Through,
        trace::{Feeds, SUPPLY},
    },
    rules::{Subject, and_list, prelude::*},
    solve::{Figures, LIVE_ABOVE_V, OperatingPoint},
};

/// A power bus that nothing feeds.
pub const RULE: Rule = Rule {
    slug: "bus-without-source",
    title: "Bus with no source",
    level: Level::Fault,
    why: "Everything on a bus without a source is dead. On the essential bus these are the units that must \
          keep working when the rest is off.",
    sources: &[
        cite(
            CFR_14_23,
            "23.1351, general; 23.1357(b), essential circuits",
        ),
        cite(
            COMMON_PRACTICE,
            "a steering diode passes current from the main to the essential bus",
        ),
    ],
    reads: Reads::SOLVED,
    check,
};

fn check(facts: &Facts<'_>, out: &mut Findings<'_, '_>) {
    let netlist = facts.netlist();
    for (id, device) in &facts.document.devices {
        for element in &device.elements {
            let ElementKind::Bar(bar) = &element.is else {
                continue;
            };
            let wired = bar.terminals.iter().any(|terminal| {
                let end = End::Terminal(id.clone(), terminal.clone());
                !facts.touches(&end).is_empty()
            });
            let first = bar.terminals.first();
            let node = first.and_then(|terminal| netlist.terminal(id, terminal));
            let (BarUse::Bus, true, Some(node)) = (bar.used_as, wired, node) else {
                continue;
            };
            // `supply-to-return` reports a bus on the return side.
            if !facts.returns().has(node) {
                check_bus(facts, out, id, &device.tag, node);
            }
        }
    }
}

fn check_bus(
    facts: &Facts<'_>,
    out: &mut Findings<'_, '_>,
    id: &DeviceId,
    tag: &str,
    node: NodeIndex,
) {
    if facts.feeds().reach(node) {
        let dead: Vec<(&OperatingPoint, &EdgeOf)> = facts
            .points()
            .iter()
            .filter_map(|point| Some((point, blocking_diode(facts, point, node)?)))
            .collect();
        let Some((_, diode)) = dead.first() else {
            match never_live(facts, node) {
                true => report_never(facts, out, id, tag, node),
                false => out.clear(id),
            }
            return;
        };
        let states: Vec<String> = dead
            .iter()
            .map(|(point, _)| facts.label(&point.state))
            .collect();
        let more = match states.len() {
            1 => String::new(),
            n => format!(" and {} more", n - 1),
        };
        let when = format!("{}{more}", states[0]);
        report_diode(facts, out, id, tag, &when, Facts::subject_of(diode))
            .working(format!("dead in {}", states.join(", ")));
        return;
    }
    let any_way = SUPPLY.and(Through::DIODES_BACK);
    let backwards = Feeds::new(facts.netlist(), facts.returns(), any_way);
    let netlist = facts.netlist();
    let is_diode = |edge: &&EdgeIndex| matches!(netlist.graph[**edge].kind, EdgeKind::Diode { .. });
    let feeds = backwards.of_node(facts.netlist(), node);
    let mut edges = feeds.iter().flat_map(|feed| &feed.path);
    match edges.find(is_diode) {
        Some(edge) => {
            report_diode(
                facts,
                out,
                id,
                tag,
                "every phase",
                Facts::subject_of(netlist.of(*edge)),
            );
        }
        None => {
            out.finding(id)
                .says(format!("{tag} has no source in any switch position"))
                .help("feed it from a battery through a contactor, a current limiter or a diode");
        }
    }
}

/// The diode that keeps a bus dead in a phase with the engine running: its cathode is live and its anode
/// is on the bus. With the engine off a bus may be dead on purpose.
fn blocking_diode<'f>(
    facts: &'f Facts<'_>,
    point: &OperatingPoint,
    bus: NodeIndex,
) -> Option<&'f EdgeOf> {
    let live = |node| {
        point
            .node_volts(node)
            .is_some_and(|volts| volts.abs() >= LIVE_ABOVE_V)
    };
    let state = facts.document.states.get(&point.state)?;
    if point.figures != Figures::Continuous || !state.alternators_on || live(bus) {
        return None;
    }
    let netlist = facts.netlist();
    let joined = netlist.reach_by(
        [bus],
        |edge, forward| {
            point.closed[edge.index()] && Through::CLOSABLE.passes(&netlist.graph[edge], forward)
        },
        |_| AtNode::GoOn,
    );
    joined.nodes.iter().find_map(|&node| {
        netlist.edges_at(node).find_map(|edge| {
            let weight = &netlist.graph[edge];
            let (anode, cathode) = netlist.ends(edge);
            let blocks =
                matches!(weight.kind, EdgeKind::Diode { .. }) && anode == node && live(cathode);
            blocks.then_some(netlist.of(edge))
        })
    })
}

/// True if the bus is dead in every phase there is.
fn never_live(facts: &Facts<'_>, bus: NodeIndex) -> bool {
    let mut steady = facts
        .points()
        .iter()
        .filter(|it| it.figures == Figures::Continuous);
    let is_dead = |point: &OperatingPoint| {
        !point
            .node_volts(bus)
            .is_some_and(|volts| volts.abs() >= LIVE_ABOVE_V)
    };
    !facts.document.states.is_empty() && steady.all(is_dead)
}

/// Reports a bus that a source could feed and none ever does, with the contacts and switches that never close.
fn report_never(
    facts: &Facts<'_>,
    out: &mut Findings<'_, '_>,
    id: &DeviceId,
    tag: &str,
    bus: NodeIndex,
) {
    let netlist = facts.netlist();
    let path = facts.feeds().first_path(netlist, bus).unwrap_or_default();
    let never_closed = |edge: &EdgeIndex| facts.points().iter().all(|it| !it.closed[edge.index()]);
    let open: Vec<EdgeIndex> = path.into_iter().filter(never_closed).collect();
    let names: Vec<String> = open
        .iter()
        .map(|edge| facts.label(Facts::subject_of(netlist.of(*edge))))
        .collect();
    let why = match names.is_empty() {
        true => String::new(),
        false => format!(": {} never closes", and_list(&names)),
    };
    let mut report = out
        .finding(id)
        .says(format!("{tag} is dead in every phase{why}"))
        .help("look for a coil without its feed or return, or set the switches of the phases");
    for edge in open {
        let at = Facts::subject_of(netlist.of(edge));
        report = report.also(at);
        // What operates it is wired to the same device.
        if let Subject::Element(device, _) = at {
            report = report.also(device);
            for terminal in facts
                .device(device)
                .into_iter()
                .flat_map(|it| &it.terminals)
            {
                if let Some((wire, _)) = facts
                    .wires_at(&End::Terminal(device.clone(), terminal.id.clone()))
                    .next()
                {
                    report = report.also(wire);
                }
            }
        }
    }
}

fn report_diode<'o, 'd>(
    facts: &Facts<'_>,
    out: &'o mut Findings<'_, 'd>,
    bus: &DeviceId,
    tag: &str,
    when: &str,
    diode: Subject<'_>,
) -> crate::rules::Report<'o, 'd> {
    let label = facts.label(diode);
    let change = match diode {
        Subject::Element(device, element) => facts.turn_diode(device, element),
        _ => Change::default(),
    };
    out.finding(bus)
        .says(format!(
            "{tag} has no source: only {label} leads to it, against its direction ({when})"
        ))
        .help(format!(
            "if the bus is fed through {label}, turn it around: the band (the cathode) toward the bus; if it has a feed \
             of its own, that one is missing"
        ))
        .also(diode)
        .mend(format!("Turn {label} around"), MendKind::Ask, change)
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::testing::{check_mend, check_rule};

    const TWO_BUSES: &str = "
        battery BT1
        bus MBUS CB1=5
        bus EBUS CB20=5 #! bus-without-source
        diode D1
        wire P1 BT1.+ MBUS.STUD 8 0.1m fuse=50
        wire P2 MBUS.STUD D1.K 12 0.25m fuse=20
        wire P3 D1.A EBUS.STUD 12 0.25m
    ";

    #[test]
    fn finds_a_bus_downstream_of_a_reversed_diode() {
        let verdict = check_rule(&RULE, TWO_BUSES);
        assert_eq!(
            verdict.findings[0].message,
            "EBUS has no source: only D1 leads to it, against its direction (every phase)"
        );
        check_mend(&RULE, TWO_BUSES);
    }

    /// With the alternate feed closed the bus is alive; with the engine running it is not.
    #[test]
    fn finds_it_phase_by_phase_where_an_alternate_feed_is_open() {
        let text = "
            battery BT1
            ground GB1 STUD T1
            bus MBUS CB1=5
            bus EBUS CB20=5 #! bus-without-source
            load FD1 1
            diode D1
            switch S2 1-2
            wire P0 BT1.- GB1.STUD 8 0.1m
            wire P1 BT1.+ MBUS.STUD 8 0.1m fuse=50
            wire P2 MBUS.STUD D1.K 12 0.25m fuse=20
            wire P3 D1.A EBUS.STUD 12 0.25m
            wire P9 BT1.+ S2.1 12 0.1m fuse=10
            wire P9B S2.2 EBUS.STUD 12 0.4m
            wire D1A EBUS.CB20 FD1.+ 22 0.5m
            wire D1N FD1.- GB1.T1 22 0.5m
            state CRUISE running
            state OUT on=S2
        ";
        let verdict = check_rule(&RULE, text);
        assert_eq!(
            verdict.findings[0].message,
            "EBUS has no source: only D1 leads to it, against its direction (CRUISE)"
        );
        check_mend(&RULE, text);
        let right = text
            .replace("D1.K", "D1.X")
            .replace("D1.A ", "D1.K ")
            .replace("D1.X", "D1.A");
        check_rule(&RULE, &right.replace("#!", "#"));
    }

    #[test]
    fn finds_a_bus_whose_contactor_never_closes() {
        let text = "
            battery BT1
            contactor K1 BAT BUS COIL+ COIL-
            bus MBUS CB1=5 #! bus-without-source
            load LT1 1
            switch S1 1-2
            wire P1 BT1.+ K1.BAT 2 0.3m
            wire P2 K1.BUS MBUS.STUD 6 1m fuse=60
            wire P3 BT1.+ K1.COIL+ 20 0.1m
            wire P5 S1.2 BT1.- 20 1m
            wire L1 MBUS.CB1 LT1.+ 20 1m
            wire L2 LT1.- BT1.- 20 1m
            state CRUISE running on=S1
        ";
        let verdict = check_rule(&RULE, text);
        let said = &verdict.findings[0].message;
        assert!(said.contains("MBUS is dead in every phase: K1"), "{said}");
        let right = format!("{text} wire P4 K1.COIL- S1.1 20 1m").replace("#!", "#");
        check_rule(&RULE, &right);
    }

    #[test]
    fn finds_a_bus_that_nothing_leads_to() {
        check_rule(
            &RULE,
            "
            battery BT1
            bus MBUS CB1=5 #! bus-without-source
            load LT1 1
            wire W1 MBUS.STUD LT1.+
            ",
        );
    }

    #[test]
    fn accepts_the_diode_the_right_way_round() {
        let right = TWO_BUSES
            .replace("D1.K", "D1.X")
            .replace("D1.A", "D1.K")
            .replace("D1.X", "D1.A");
        check_rule(&RULE, &right.replace("#!", "#"));
    }
}
