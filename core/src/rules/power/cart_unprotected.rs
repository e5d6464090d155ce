//! External power that a cart with its leads reversed connects to the aircraft.

use petgraph::graph::{EdgeIndex, NodeIndex};

use crate::{
    netlist::{AtNode, EdgeKind, Reach, trace::SUPPLY},
    rules::prelude::*,
};

/// The rule.
pub const RULE: Rule = Rule {
    slug: "cart-unprotected",
    title: "External power without polarity protection",
    level: Level::Fault,
    why: "A cart with its leads reversed puts its voltage the wrong way round on every radio, and a coil closes its \
          contactor at either polarity. Whether the cart's voltage is too high is not checked here.",
    sources: &[
        cite(
            CFR_14_27,
            "27.1351(e): external power with reversed polarity or voltage must not damage (from memory)",
        ),
        cite(
            COMMON_PRACTICE,
            "the contactor's coil is fed from the receptacle through a diode",
        ),
    ],
    reads: Reads::JOINS,
    check,
};

fn check(facts: &Facts<'_>, out: &mut Findings<'_, '_>) {
    for (id, device) in &facts.document.devices {
        let plus: Vec<NodeIndex> = (device.terminals.iter())
            .filter(|it| it.role == Role::PowerOut && is_receptacle(device))
            .filter_map(|it| facts.netlist().terminal(id, &it.id))
            .filter(|node| !facts.touches_at(*node).is_empty())
            .collect();
        if plus.is_empty() {
            continue;
        }
        match closes(facts, &plus) {
            None => out.clear(id),
            Some((how, by)) => {
                let mut report = out
                    .finding(id)
                    .says(format!("{} has no polarity protection: {how}", device.tag))
                    .help("put a contactor in its lead, its coil fed from the receptacle through a diode");
                if let Some(by) = by {
                    report = report.also(Facts::subject_of(facts.netlist().of(by)));
                }
            }
        }
    }
}

/// True for a device that gives power and has neither a source nor a load inside: a receptacle.
fn is_receptacle(device: &Device) -> bool {
    (device.elements.iter()).all(|it| matches!(it.is, ElementKind::Bar(_)))
}

/// What lets a reversed cart onto the aircraft, in words, and the contact; `None` if nothing does.
fn closes(facts: &Facts<'_>, plus: &[NodeIndex]) -> Option<(String, Option<EdgeIndex>)> {
    let netlist = facts.netlist();
    let wired = reach(facts, plus, |kind| {
        !matches!(kind, EdgeKind::Contact { .. } | EdgeKind::Diode { .. })
    });
    let mut sources = netlist.sources().map(|it| netlist.ends(it).0);
    if sources.any(|it| wired.has(it))
        || netlist
            .bars()
            .any(|(it, used)| used == BarUse::Bus && wired.has(it))
    {
        return Some(("nothing is between it and the bus".into(), None));
    }
    for edge in netlist.graph.edge_indices() {
        let EdgeKind::Contact {
            coil: Some(coil), ..
        } = netlist.graph[edge].kind
        else {
            continue;
        };
        let (a, b) = netlist.ends(edge);
        if !wired.has(a) && !wired.has(b) {
            continue;
        }
        let (p, n) = netlist.ends(coil);
        let label = facts.label(Facts::subject_of(netlist.of(coil)));
        if wired.has(p) || wired.has(n) {
            let how =
                format!("no diode is between it and {label}, which closes at either polarity");
            return Some((how, Some(edge)));
        }
        let through_diode = reach(facts, plus, |kind| {
            !matches!(kind, EdgeKind::Contact { .. })
        });
        if !through_diode.has(p) && !through_diode.has(n) {
            let how = format!("{label} is not fed from it, and closes whatever is plugged in");
            return Some((how, Some(edge)));
        }
    }
    None
}

fn reach(facts: &Facts<'_>, from: &[NodeIndex], may: fn(&EdgeKind) -> bool) -> Reach {
    let netlist = facts.netlist();
    netlist.reach_by(
        from.iter().copied(),
        |edge, forward| {
            may(&netlist.graph[edge].kind) && SUPPLY.passes(&netlist.graph[edge], forward)
        },
        |node| AtNode::stop_if(facts.returns().has(node)),
    )
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::testing::check_rule;

    const SOUND: &str = "
        battery BT1
        bus MBUS CB1=5
        unit XP1 P:power_out N:return
        contactor K4 A B C+ C-
        diode D3
        wire B BT1.+ MBUS.STUD 8 1m
        wire M XP1.P K4.A 8 1m
        wire L K4.B MBUS.STUD 8 1m
        wire D XP1.P D3.A 20 1m
        wire E D3.K K4.C+ 20 1m
        wire F K4.C- BT1.- 20 1m
        wire N XP1.N BT1.- 8 1m
    ";

    fn check(change: [&str; 2], words: &str) {
        let text = SOUND.replace(change[0], change[1]);
        let text = text.replace("N:return", "N:return #! cart-unprotected");
        let verdict = check_rule(&RULE, &text);
        assert!(
            verdict.findings[0].message.contains(words),
            "{}",
            verdict.findings[0].message
        );
    }

    #[test]
    fn finds_a_coil_without_a_diode_and_a_lead_without_a_contactor() {
        check(["wire D XP1.P D3.A", "wire D XP1.P K4.C+"], "no diode");
        check(
            ["wire M XP1.P K4.A", "wire M XP1.P MBUS.STUD"],
            "nothing is between",
        );
        check(
            ["wire D XP1.P D3.A", "wire D MBUS.CB1 D3.A"],
            "not fed from it",
        );
    }

    #[test]
    fn accepts_a_coil_behind_its_diode() {
        check_rule(&RULE, SOUND);
    }

    #[test]
    fn does_not_check_a_receptacle_that_is_not_wired() {
        let verdict =
            crate::rules::check(&crate::testing::document("unit XP1 P:power_out N:return"));
        assert!(verdict.findings.iter().all(|it| it.rule != RULE.slug));
    }
}
