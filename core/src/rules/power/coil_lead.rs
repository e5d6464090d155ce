//! Wires fed through a coil with no breaker or fuse upstream: the coil limits their current. Part of
//! `unprotected-wire`, reported as a note.

use crate::{
    netlist::{AtNode, EdgeKind, trace::SUPPLY},
    rules::prelude::*,
    standards::protection_chart,
};

/// Reports each wire with only a coil between it and a source.
pub(super) fn check(facts: &Facts<'_>, out: &mut Findings<'_, '_>) {
    let netlist = facts.netlist();
    for coil in netlist.graph.edge_indices() {
        let EdgeKind::Coil { ohm, .. } = netlist.graph[coil].kind else {
            continue;
        };
        let (a, b) = netlist.ends(coil);
        for (fed, far) in [(a, b), (b, a)] {
            if facts.returns().has(far) || facts.feeds().reach(far) {
                continue;
            }
            let feeds = facts.feeds().of_node(netlist, fed);
            let Some(feed) = feeds.iter().find(|feed| feed.protectors.is_empty()) else {
                continue;
            };
            let (EdgeKind::Battery {
                emf_v: source_v, ..
            }
            | EdgeKind::Alternator {
                set_v: source_v, ..
            }) = netlist.graph[feed.source].kind
            else {
                continue;
            };
            let amps = source_v / ohm;
            let reach = netlist.reach([far], SUPPLY, |node| match facts.returns().has(node) {
                true => AtNode::Stop,
                false => AtNode::GoOn,
            });
            for wire in netlist.wires_among(reach.edges.iter().copied()) {
                let at = netlist.wire(wire);
                if at.is_none_or(|at| at.ends.iter().any(|node| facts.returns().has(*node))) {
                    continue;
                }
                let gauge = facts.document.wires[wire].gauge_awg;
                let limit_a = gauge
                    .and_then(protection_chart::protector_a)
                    .unwrap_or(f64::INFINITY);
                let coil = Facts::spot_of(netlist.of(coil));
                let source = Facts::spot_of(netlist.of(feed.source));
                let level = if amps <= limit_a {
                    Level::Note
                } else {
                    Level::Hazard
                };
                out.finding(wire)
                    .level(level)
                    .says(format!(
                        "no breaker or fuse between {} and {}; coil {} limits it to {amps:.2} A",
                        facts.label(source),
                        facts.label(wire),
                        facts.label(coil),
                    ))
                    .limit(amps, limit_a, "A")
                    .also(coil)
                    .also(source)
                    .working(format!("{source_v} V / {ohm} ohm = {amps:.2} A"))
                    .help("keep it away from metal: a chafed lead that touches ground operates the coil");
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use crate::{rules::power::unprotected_wire::RULE, testing::check_rule};

    #[test]
    fn notes_the_lead_of_a_contactor_coil_grounded_by_a_switch() {
        let verdict = check_rule(
            &RULE,
            "
            battery BT1 emf=12.8
            ground GB1 STUD T1
            contactor K1 BAT LOAD BAT2 COIL-
            inside K1 bar BAT BAT2
            switch S1 1-2
            load M1 - sort=motor peak=150
            wire P1 BT1.+ K1.BAT 2 0.3m
            wire P3 K1.LOAD M1.+ 2 0.3m
            wire P2N BT1.- GB1.STUD 2 0.3m
            wire P10A K1.COIL- S1.1 20 1.5m #! unprotected-wire
            wire P10B S1.2 GB1.T1 20 0.5m
            ",
        );
        let finding = &verdict.findings[0];
        assert_eq!(finding.level, crate::rules::Level::Note);
        assert_eq!(
            finding.message,
            "no breaker or fuse between BT1 and P10A; coil K1 limits it to 0.80 A"
        );
    }
}
