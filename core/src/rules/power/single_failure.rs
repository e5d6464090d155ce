//! A critical device that one failure stops.

use petgraph::graph::{EdgeIndex, NodeIndex};

use crate::{
    analysis::failures::{Failure, failures},
    ids::{DeviceId, ElementId},
    netlist::{AtNode, EdgeKind, Through, trace::SUPPLY},
    order::Sorted,
    rules::{Subject, and_list, prelude::*},
};

/// A critical device that one failure stops.
pub const RULE: Rule = Rule {
    slug: "single-failure",
    title: "One failure stops a critical device",
    level: Level::Fault,
    why: "You marked it as critical: it must survive any single failure. Two feeds through the same \
          breaker, splice, connector or ground point are one feed.",
    sources: &[cite(
        COMMON_PRACTICE,
        "what must keep working has two supply paths and two return paths, with no part in common",
    )],
    reads: Reads::ALL,
    check,
};

fn check(facts: &Facts<'_>, out: &mut Findings<'_, '_>) {
    let mut all = None;
    for (id, device) in facts.document.devices.iter().filter(|(_, it)| it.critical) {
        // One of a pair: `shared-feed` judges both together.
        if has_duplicate(facts, id, device) {
            out.clear(id);
            continue;
        }
        let loads = (device.elements.iter()).filter(|it| matches!(it.is, ElementKind::Load(_)));
        let mut looked = false;
        for element in loads {
            looked = true;
            let all = all.get_or_insert_with(|| failures(facts.document, facts.netlist()));
            check_load(facts, out, (id, &element.id), all);
        }
        if !looked {
            out.not_checked(
                id,
                format!("{} is critical and has no load to trace", device.tag),
            );
        }
    }
}

/// True if another critical device, or another channel of the same, does its work when it stops.
fn has_duplicate(facts: &Facts<'_>, id: &DeviceId, device: &Device) -> bool {
    let names = |it: &Device, other: &DeviceId| it.independent_of.contains(other);
    let pairs =
        |(other, it): (&DeviceId, &Device)| it.critical && (names(device, other) || names(it, id));
    facts.document.devices.iter().any(pairs)
}

/// A load, and one path of its current from a source and back.
pub(super) struct Fed<'a> {
    at: (&'a DeviceId, &'a ElementId),
    ends: (NodeIndex, NodeIndex),
    way: Sorted<EdgeIndex>,
}

impl<'a> Fed<'a> {
    /// None if the drawing has no such path.
    pub(super) fn new(
        facts: &Facts<'_>,
        at: (&'a DeviceId, &'a ElementId),
        sources: &[EdgeIndex],
    ) -> Option<Self> {
        let netlist = facts.netlist();
        let ends = netlist.ends(netlist.element_edge(at.0, at.1)?);
        let mut feeds = facts.feeds().of_node(netlist, ends.0).into_iter();
        let feed = feeds.find(|feed| sources.contains(&feed.source))?;
        let home = netlist.return_path(facts.returns(), ends.1)?;
        let way = (feed.path.into_iter())
            .chain(home)
            .chain([feed.source])
            .collect();
        Some(Self { at, ends, way })
    }

    /// True if a failure may stop it: what does is on every path, and so on this one.
    pub(super) fn may_stop(&self, (failure, edges): &(Failure, Vec<EdgeIndex>)) -> bool {
        is_apart(failure, self.at.0) && edges.iter().any(|edge| self.way.contains(edge))
    }

    /// True if a failure leaves it without a path from any of these sources, or without a return path, in
    /// every switch position.
    pub(super) fn is_stopped(
        &self,
        facts: &Facts<'_>,
        failure: &(Failure, Vec<EdgeIndex>),
        sources: &[EdgeIndex],
    ) -> bool {
        let edges = &failure.1;
        let (plus, minus) = self.ends;
        self.may_stop(failure)
            && !(is_fed(facts, sources, plus, edges) && comes_home(facts, sources, minus, edges))
    }
}

fn check_load(
    facts: &Facts<'_>,
    out: &mut Findings<'_, '_>,
    at: (&DeviceId, &ElementId),
    all: &[(Failure, Vec<EdgeIndex>)],
) {
    let sources: Vec<EdgeIndex> = facts.netlist().sources().collect();
    let Some(load) = Fed::new(facts, at, &sources) else {
        out.not_checked(
            at,
            format!("{} has no supply or no return yet", facts.label(at)),
        );
        return;
    };
    let stop = all.iter().filter(|it| load.is_stopped(facts, it, &sources));
    let shared: Vec<&Failure> = stop.map(|(failure, _)| failure).collect();
    if shared.is_empty() {
        out.clear(at);
        return;
    }
    let spots: Vec<Subject<'_>> = shared.iter().map(|failure| subject(failure)).collect();
    let mut names: Vec<String> = spots.iter().map(|subject| facts.label(*subject)).collect();
    names.dedup();
    let mut report = out
        .finding(at)
        .says(format!(
            "{} stops if any one of these fails: {}",
            facts.label(at),
            and_list(&names)
        ))
        .working("each part was removed, one at a time, with every switch in any position")
        .help(
            "give it a second feed and a second return that share none of these, or accept this with \
             a reason",
        );
    for subject in spots {
        report = report.also(subject);
    }
}

/// The device's own connectors are its maker's responsibility.
fn is_apart(failure: &Failure, device: &DeviceId) -> bool {
    !matches!(failure, Failure::Connector(of, _) if of == device)
}

fn is_fed(
    facts: &Facts<'_>,
    sources: &[EdgeIndex],
    plus: NodeIndex,
    without: &[EdgeIndex],
) -> bool {
    let netlist = facts.netlist();
    let sources = sources.iter().filter(|source| !without.contains(source));
    let reach = netlist.reach_by(
        sources.map(|source| netlist.ends(*source).0),
        |edge, forward| !without.contains(&edge) && SUPPLY.passes(&netlist.graph[edge], forward),
        |node| AtNode::stop_if(facts.returns().has(node)),
    );
    reach.has(plus)
}

fn comes_home(
    facts: &Facts<'_>,
    sources: &[EdgeIndex],
    minus: NodeIndex,
    without: &[EdgeIndex],
) -> bool {
    let netlist = facts.netlist();
    let through = Through::CLOSABLE.and(Through::DIODES);
    let is_supply = |node: NodeIndex| {
        netlist.edges_at(node).any(|edge| {
            matches!(netlist.graph[edge].kind, EdgeKind::Protector { .. })
                || netlist.graph[edge].kind.is_source() && netlist.ends(edge).0 == node
        })
    };
    let reach = netlist.reach_by(
        [minus],
        |edge, forward| !without.contains(&edge) && through.passes(&netlist.graph[edge], forward),
        |node| AtNode::stop_if(is_supply(node)),
    );
    let mut sources = sources.iter().filter(|source| !without.contains(source));
    sources.any(|source| reach.has(netlist.ends(*source).1))
}

pub(super) fn subject(failure: &Failure) -> Subject<'_> {
    match failure {
        Failure::Element(device, element) => Subject::Element(device, element),
        Failure::Wire(wire) => Subject::Wire(wire),
        Failure::Splice(splice) => Subject::Splice(splice),
        Failure::Connector(device, _) | Failure::Ground(device) => Subject::Device(device),
        Failure::Bond(place) => Subject::Place(place),
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::testing::check_rule;

    const TWICE: &str = "
        battery BT1
        battery BT2
        ground GB1 1 2 3
        ground GB2 1 2 3
        breaker CB1 5
        breaker CB2 5
        diode D1
        diode D2
        load FD1 1 critical
        wire A1 BT1.+ CB1.1 18 1m
        wire A2 CB1.2 D1.A 18 1m
        wire A3 D1.K FD1.+ 18 1m
        wire B1 BT2.+ CB2.1 18 1m
        wire B2 CB2.2 D2.A 18 1m
        wire B3 D2.K FD1.+ 18 1m
        wire N1 FD1.- GB1.1 18 1m
        wire N2 GB1.2 BT1.- 18 1m
        wire M1 FD1.- GB2.1 18 1m
        wire M2 GB2.2 BT2.- 18 1m
    ";

    #[test]
    fn accepts_two_ways_in_and_two_ways_home() {
        check_rule(&RULE, TWICE);
    }

    #[test]
    fn finds_the_part_that_both_ways_share() {
        for (alike, other, shared) in [
            (
                "wire B1 BT2.+ CB2.1",
                "wire B1 CB1.1 CB2.1",
                vec!["BT1", "A1"],
            ),
            (
                "wire M1 FD1.- GB2.1",
                "wire M1 GB1.3 GB2.1",
                vec!["N1", "GB1"],
            ),
        ] {
            let text = TWICE
                .replace(alike, other)
                .replace("critical", "critical #! single-failure");
            let message = check_rule(&RULE, &text).findings[0].message.clone();
            for name in shared {
                assert!(message.contains(name), "{name}: {message}");
            }
            assert!(!message.contains("CB2"), "{message}");
        }
    }

    #[test]
    fn cannot_follow_what_is_not_wired() {
        check_rule(&RULE, "load FD1 1 critical #? single-failure\nbattery BT1");
    }
}
