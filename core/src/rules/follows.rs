//! Which findings follow from another: the cause comes first, and what it brings comes under it.
//!
//! A battery that is reversed or a bus that nothing feeds shows at every load behind it. Each of these findings is
//! true and stays in the list; but whoever mends the cause has mended them too. Nothing is put under a cause that is
//! less serious than itself.

use petgraph::graph::{EdgeIndex, NodeIndex};
use rustc_hash::{FxHashMap, FxHashSet};

use super::{Facts, Finding, Subject, ground, power, records, signal, wiring};
use crate::{
    document::ElementKind,
    ids::{DeviceId, ElementId},
    netlist::{AtNode, EdgeKind, Through},
};

/// What a finding brings, if it is a cause.
struct Brings {
    /// Rules of which findings can follow.
    rules: &'static [&'static [&'static str]],
    /// The records at which they follow; `None` for everywhere.
    at: Option<FxHashSet<String>>,
    /// Causes with a smaller number are asked first: they bring later ones along.
    turn: u8,
}

impl Brings {
    fn new(
        turn: u8,
        rules: &'static [&'static [&'static str]],
        at: Option<FxHashSet<String>>,
    ) -> Self {
        Self { rules, at, turn }
    }
}

/// Rules of which a finding can follow from volts and amps that are not as they were meant.
const SOLVED: &[&str] = &[
    power::load_cannot_run::RULE.slug,
    power::load_without_source::RULE.slug,
    power::drop_over_limit::RULE.slug,
    power::feeder_drop::RULE.slug,
    power::wire_over_rating::RULE.slug,
    power::supply_cannot_carry::RULE.slug,
    power::protector_under_load::RULE.slug,
    power::alternator_gives_nothing::RULE.slug,
    power::overloaded_alternator::RULE.slug,
    power::slow_recharge::RULE.slug,
    power::short_endurance::RULE.slug,
    power::bus_without_source::RULE.slug,
    power::short_too_weak::RULE.slug,
    power::switch_over_rating::RULE.slug,
    power::contact_over_rating::RULE.slug,
    power::diode_heat::RULE.slug,
    power::reversed_polarity::RULE.slug,
    ground::sender_ground::RULE.slug,
    signal::motor_one_way::RULE.slug,
];

/// Rules that ask which side is supply and which is return.
const SIDES: &[&str] = &[
    power::supply_to_return::RULE.slug,
    power::unprotected_wire::RULE.slug,
    power::protector_over_wire::RULE.slug,
    power::not_selective::RULE.slug,
    power::no_return::RULE.slug,
    power::shared_feed::RULE.slug,
    power::alternator_alone::RULE.slug,
    power::always_hot::RULE.slug,
    power::load_left_on::RULE.slug,
    ground::ground_block_loose::RULE.slug,
    ground::shared_return::RULE.slug,
    ground::avionics_return_elsewhere::RULE.slug,
    signal::pin_mismatch::RULE.slug,
    signal::discrete_mismatch::RULE.slug,
    signal::magneto_switch::RULE.slug,
    signal::motor_no_stop::RULE.slug,
];

/// Rules of which a finding can follow from a wire in the wrong place.
const MISPLACED: &[&str] = &[
    power::no_return::RULE.slug,
    power::short_too_weak::RULE.slug,
    signal::can_not_terminated::RULE.slug,
    signal::pin_of_another::RULE.slug,
];

/// Rules about the size of a protector for all that is behind it.
const BEHIND: &[&str] = &[
    power::short_too_weak::RULE.slug,
    power::not_selective::RULE.slug,
];

/// An acceptance that a fault keeps from being used.
const UNUSED: &[&str] = &[records::unused_acceptance::RULE.slug];

/// Rules that name what stays on when everything is switched off.
const STAYS_ON: &[&str] = &[
    power::always_hot::RULE.slug,
    power::load_left_on::RULE.slug,
    power::short_endurance::RULE.slug,
    power::unprotected_wire::RULE.slug,
    wiring::one_sided::RULE.slug,
];

/// Puts each finding that follows from another directly after it. The findings are in order, worst first.
pub(super) fn fold(facts: &Facts<'_>, findings: &mut Vec<Finding>) {
    let mut causes: Vec<(usize, Brings)> = (findings.iter().enumerate())
        .filter(|(_, it)| it.accepted.is_none())
        .filter_map(|(at, it)| Some((at, brings(facts, findings, it)?)))
        .collect();
    let reach = |it: &Brings| it.at.as_ref().map_or(usize::MAX, FxHashSet::len);
    causes.sort_by_key(|(_, it)| (it.turn, std::cmp::Reverse(reach(it))));
    let mut cause_of: FxHashMap<usize, usize> = FxHashMap::default();
    let mut has_effects: FxHashSet<usize> = FxHashSet::default();
    for (cause, brings) in &causes {
        // What is under a cause itself has its own effects put under that one.
        let cause = &cause_of.get(cause).copied().unwrap_or(*cause);
        for (at, finding) in findings.iter().enumerate() {
            let follows = at != *cause
                && finding.accepted.is_none()
                && finding.level >= findings[*cause].level
                && brings.rules.iter().any(|it| it.contains(&finding.rule))
                && !cause_of.contains_key(&at)
                && !has_effects.contains(&at)
                && brings.at.as_ref().map_or_else(
                    || {
                        finding.rule != power::reversed_polarity::RULE.slug
                            || !is_source(facts, finding)
                    },
                    |records| records.contains(&finding.at[0].key()),
                );
            if follows {
                cause_of.insert(at, *cause);
                has_effects.insert(*cause);
            }
        }
    }
    if !cause_of.is_empty() {
        put_under(findings, &cause_of);
    }
}

/// Brings findings behind their causes.
fn put_under(findings: &mut Vec<Finding>, cause_of: &FxHashMap<usize, usize>) {
    let mut order: Vec<usize> = (0..findings.len()).collect();
    // A cause is before what follows from it: both sort by the place of the cause.
    order.sort_by_key(|at| {
        let cause = cause_of.get(at);
        (cause.copied().unwrap_or(*at), cause.is_some(), *at)
    });
    let mut place = vec![0; findings.len()];
    for (now, was) in order.iter().enumerate() {
        place[*was] = now;
    }
    let mut moved: Vec<Option<Finding>> = std::mem::take(findings).into_iter().map(Some).collect();
    for was in order {
        let Some(mut finding) = moved[was].take() else {
            continue;
        };
        finding.follows = cause_of.get(&was).map(|cause| place[*cause]);
        findings.push(finding);
    }
}

/// What a finding brings, if it is a cause.
fn brings(facts: &Facts<'_>, findings: &[Finding], finding: &Finding) -> Option<Brings> {
    let slug = finding.rule;
    let (id, element) = split(&finding.at[0].id);
    let edge = || facts.netlist().element_edge(&id, element.as_ref()?);
    Some(match slug {
        _ if slug == power::reversed_polarity::RULE.slug && is_source(facts, finding) => {
            Brings::new(0, &[SOLVED, SIDES, UNUSED], None)
        }
        _ if slug == power::supply_to_return::RULE.slug => Brings::new(1, &[SOLVED, UNUSED], None),
        _ if slug == wiring::unconnected_end::RULE.slug => open_end(facts, finding)?,
        _ if slug == power::bypassed::RULE.slug || slug == wiring::one_sided::RULE.slug => {
            let (a, b) = facts.netlist().ends(edge()?);
            Brings::new(2, &[STAYS_ON], Some(behind(facts, [a, b]).records))
        }
        _ if slug == signal::pin_mismatch::RULE.slug => {
            let wire = facts.conductor_of(&finding.at[0].id.as_str().into())?;
            let wires = wire.wires.iter().map(|it| Subject::from(*it).key());
            let devices = wire.ends.iter().flat_map(|(id, pin)| {
                let loads = facts.device(id).map_or(&[][..], |it| &it.elements).iter();
                let loads = loads.map(|it| Subject::from((*id, &it.id)).key());
                loads.chain([
                    Subject::from(*id).key(),
                    Subject::from((*id, &pin.id)).key(),
                ])
            });
            Brings::new(
                2,
                &[SOLVED, MISPLACED],
                Some(wires.chain(devices).collect()),
            )
        }
        _ if slug == power::always_hot::RULE.slug => match facts.netlist().graph[edge()?].kind {
            EdgeKind::Coil { .. } => {
                let contacts = facts.device(&id)?.elements.iter().filter(|it| {
                    matches!(&it.is, ElementKind::Contact(contact) if Some(&contact.coil) == element.as_ref())
                });
                let edges = contacts.filter_map(|it| facts.netlist().element_edge(&id, &it.id));
                let ends = edges.flat_map(|edge| <[_; 2]>::from(facts.netlist().ends(edge)));
                Brings::new(2, &[STAYS_ON], Some(behind(facts, ends).records))
            }
            _ => Brings::new(3, &[STAYS_ON], Some(behind_protector(facts, edge()?))),
        },
        _ if slug == ground::ground_block_loose::RULE.slug => {
            Brings::new(2, &[SOLVED, MISPLACED], Some(returning_to(facts, &id)))
        }
        _ if slug == power::protector_over_wire::RULE.slug => {
            Brings::new(3, &[BEHIND], Some(behind_protector(facts, edge()?)))
        }
        _ if slug == power::short_too_weak::RULE.slug => {
            let protectors = finding
                .at
                .iter()
                .filter(|it| it.kind == "element")
                .filter_map(|it| {
                    let (id, element) = split(&it.id);
                    facts.netlist().element_edge(&id, &element?)
                });
            let all = protectors.flat_map(|it| behind_protector(facts, it));
            Brings::new(3, &[BEHIND], Some(all.collect()))
        }
        // The same loads are too much in one phase after another.
        _ if slug == power::supply_cannot_carry::RULE.slug => Brings::new(
            3,
            &[&[power::supply_cannot_carry::RULE.slug]],
            Some(phases(facts).collect()),
        ),
        _ if slug == power::not_selective::RULE.slug => Brings::new(
            3,
            &[BEHIND],
            Some(FxHashSet::from_iter([finding.at[0].key()])),
        ),
        _ => region(facts, findings, finding)?,
    })
}

/// What a dead bus brings, or a load that does not work.
fn region(facts: &Facts<'_>, findings: &[Finding], finding: &Finding) -> Option<Brings> {
    let slug = finding.rule;
    let is_region = [
        power::bus_without_source::RULE.slug,
        power::load_without_source::RULE.slug,
        power::no_return::RULE.slug,
        power::load_cannot_run::RULE.slug,
        power::reversed_polarity::RULE.slug,
    ];
    if !is_region.contains(&slug) {
        return None;
    }
    let first = &finding.at[0];
    let mut records = FxHashSet::from_iter([first.key()]);
    let (id, element) = split(&first.id);
    let device = facts.device(&id)?;
    if let ("element", Some(element)) = (first.kind, &element) {
        records.insert(Subject::from(&id).key());
        let edge = facts.netlist().element_edge(&id, element)?;
        let (a, b) = facts.netlist().ends(edge);
        let fed_side = if facts.returns().has(a) { b } else { a };
        if slug == power::load_without_source::RULE.slug {
            records.extend(behind(facts, [fed_side]).records);
        } else if slug == power::load_cannot_run::RULE.slug {
            records.extend(phases(facts));
            let behind = behind(facts, [fed_side]);
            let is_weak =
                |it: &&Finding| it.rule == slug && behind.records.contains(&it.at[0].key());
            let weak = findings.iter().filter(is_weak).count();
            if weak >= FEWEST_WEAK && 2 * weak >= behind.loads {
                records.extend(behind.records);
            }
        }
    } else {
        for element in &device.elements {
            records.insert(Subject::from((&id, &element.id)).key());
            if let ElementKind::Bar(bar) = &element.is
                && slug == power::bus_without_source::RULE.slug
                && let Some(first) = bar.terminals.first()
            {
                records.extend(behind(facts, facts.netlist().terminal(&id, first)).records);
            }
        }
    }
    Some(Brings::new(3, &[SOLVED], Some(records)))
}

/// Loads that cannot run on one supply from which it is the supply that is too weak (our own choice).
const FEWEST_WEAK: usize = 3;

/// What an end without its wire brings: a source that feeds nothing stops everything, and anything else what is
/// behind it if no source is there.
fn open_end(facts: &Facts<'_>, finding: &Finding) -> Option<Brings> {
    let netlist = facts.netlist();
    let first = &finding.at[0];
    let nodes: Vec<NodeIndex> = match first.kind {
        "wire" => {
            let (_, _, at) = facts.wires().find(|(id, ..)| id.as_str() == first.id)?;
            at.ends.to_vec()
        }
        "terminal" => {
            let (id, terminal) = first.id.split_once('/')?;
            vec![netlist.terminal(&id.into(), &terminal.into())?]
        }
        _ => return None,
    };
    let is_at_source = |node: &NodeIndex| {
        let mut edges = netlist.edges_at(*node);
        edges.any(|edge| netlist.graph[edge].kind.is_source())
    };
    if nodes.iter().any(is_at_source) {
        // The negative of a battery, too: what was its return is none any more.
        return Some(Brings::new(
            2,
            &[SOLVED, &[ground::shared_return::RULE.slug], UNUSED],
            None,
        ));
    }
    let behind = behind(
        facts,
        nodes.into_iter().filter(|node| !facts.returns().has(*node)),
    );
    match (behind.has_source, behind.loads) {
        (true, 0) => Some(Brings::new(2, &[SOLVED], None)),
        (true, _) => None,
        (false, _) => Some(Brings::new(2, &[SOLVED], Some(behind.records))),
    }
}

/// The two ids of a part of a device.
fn split(id: &str) -> (DeviceId, Option<ElementId>) {
    match id.split_once('/') {
        Some((device, element)) => (device.into(), Some(element.into())),
        None => (id.into(), None),
    }
}

/// True if a finding is about a battery or an alternator.
fn is_source(facts: &Facts<'_>, finding: &Finding) -> bool {
    let (id, element) = split(&finding.at[0].id);
    let Some(device) = facts.device(&id) else {
        return false;
    };
    let is_it =
        |it: &ElementKind| matches!(it, ElementKind::Battery(_) | ElementKind::Alternator(_));
    let mut elements = device.elements.iter();
    elements.any(|it| element.as_ref().is_none_or(|id| *id == it.id) && is_it(&it.is))
}

/// Keys of all phases.
fn phases(facts: &Facts<'_>) -> impl Iterator<Item = String> {
    let states = facts.document.states.keys();
    states.map(|id| Subject::from(id).key())
}

/// The key of what an edge is.
fn key_of(facts: &Facts<'_>, edge: EdgeIndex) -> String {
    Facts::subject_of(facts.netlist().of(edge)).key()
}

/// Keys of the parts and wires behind a protector.
fn behind_protector(facts: &Facts<'_>, protector: EdgeIndex) -> FxHashSet<String> {
    let nodes = facts.behind(protector).iter();
    let edges = nodes.flat_map(|node| facts.netlist().edges_at(*node));
    let others = edges.filter(|edge| *edge != protector);
    others.map(|edge| key_of(facts, edge)).collect()
}

/// Keys of the devices and loads whose returns meet at a ground block.
fn returning_to(facts: &Facts<'_>, block: &DeviceId) -> FxHashSet<String> {
    let netlist = facts.netlist();
    let reach = netlist.reach(netlist.terminals(block), Through::METAL, |_| AtNode::GoOn);
    let mut records = FxHashSet::default();
    for node in &reach.nodes {
        let device = facts.terminal_at(*node);
        records.extend(device.map(|it| Subject::from(it.id).key()));
        records.extend(netlist.edges_at(*node).map(|edge| key_of(facts, edge)));
    }
    records
}

/// What hangs together on the supply side.
#[derive(Default)]
struct Behind {
    /// Keys of buses, of the parts at each node with their devices, and of wires.
    records: FxHashSet<String>,
    has_source: bool,
    /// Loads and coils.
    loads: usize,
}

/// What hangs together with these nodes on the supply side, whatever is switched on.
fn behind(facts: &Facts<'_>, from: impl IntoIterator<Item = NodeIndex>) -> Behind {
    let netlist = facts.netlist();
    let through = Through::CLOSABLE
        .and(Through::DIODES)
        .and(Through::RESISTORS);
    let reach = netlist.reach(from, through, |node| {
        AtNode::stop_if(facts.returns().has(node))
    });
    let mut behind = Behind::default();
    let supply = |node: &&NodeIndex| !facts.returns().has(**node);
    for node in reach.nodes.iter().filter(supply) {
        if let (Some(_), Some(at)) = (netlist.bar_at(*node), facts.terminal_at(*node)) {
            behind.records.insert(Subject::from(at.id).key());
        }
        for edge in netlist.edges_at(*node) {
            let of = Facts::subject_of(netlist.of(edge));
            behind.records.insert(of.key());
            if let Subject::Element(device, _) = of {
                behind.records.insert(Subject::from(device).key());
            }
            let kind = &netlist.graph[edge].kind;
            behind.has_source |= kind.is_source();
            behind.loads += usize::from(matches!(kind, EdgeKind::Load | EdgeKind::Coil { .. }));
        }
    }
    behind
}

#[cfg(test)]
mod tests {
    use crate::{
        rules::{Verdict, check},
        testing::document,
    };

    const PLAIN: &str = "
        battery BT1
        bus MBUS CB1=5 CB2=5 CB3=5
        load LT1 2
        load LT2 2
        load LT3 2
        ground GB1 STUD T1 T2 T3
        wire B MBUS.CB1 LT1.+ 20 1m
        wire C MBUS.CB2 LT2.+ 20 1m
        wire D MBUS.CB3 LT3.+ 20 1m
        wire E LT1.- GB1.T1 20 1m
        wire F LT2.- GB1.T2 20 1m
        wire G LT3.- GB1.T3 20 1m
        wire H GB1.STUD BT1.- 8 0.2m";

    fn verdict(more: &str) -> Verdict {
        check(&document(&format!("{PLAIN}\n{more}")))
    }

    fn place(verdict: &Verdict, slug: &str) -> usize {
        let mut findings = verdict.findings.iter();
        findings.position(|it| it.rule == slug).expect(slug)
    }

    #[test]
    fn what_hangs_on_a_dead_bus_follows_from_it() {
        let verdict = verdict("switch S9 1-2\nwire A S9.2 MBUS.STUD 8 0.2m\nstate FLY");
        let bus = place(&verdict, "bus-without-source");
        let loads = (verdict.findings.iter()).filter(|it| it.rule == "load-without-source");
        let loads: Vec<_> = loads.map(|it| it.follows).collect();
        assert_eq!(loads, [Some(bus); 3]);
        assert_eq!(verdict.counts.following, 3);
        let after = &verdict.findings[bus + 1..bus + 4];
        assert!(after.iter().all(|it| it.follows == Some(bus)));
    }

    #[test]
    fn a_dead_bus_follows_from_the_open_end_that_makes_it() {
        let verdict = verdict("wire A open MBUS.STUD 8 0.2m\nstate FLY");
        let open = place(&verdict, "unconnected-end");
        let bus = &verdict.findings[place(&verdict, "bus-without-source")];
        assert_eq!(bus.follows, Some(open));
        assert_eq!(verdict.counts.following, 4);
    }

    #[test]
    fn an_open_end_on_a_live_bus_brings_nothing() {
        let verdict = verdict(
            "wire A BT1.+ MBUS.STUD 8 0.2m\nwire S MBUS.STUD open 8 1m\nwire Z BT1.+ LT4.+ 20 1m\nload LT4 1\nstate FLY",
        );
        place(&verdict, "unconnected-end");
        place(&verdict, "no-return");
        assert_eq!(verdict.counts.following, 0);
    }

    #[test]
    fn what_stays_on_follows_from_the_bypass() {
        let verdict = verdict(
            "contactor K1 BAT LOAD COIL+ COIL-\nwire A BT1.+ K1.BAT 8 0.2m\nwire A2 K1.LOAD MBUS.STUD 8 0.2m\n\
             wire A3 K1.BAT K1.LOAD 8 0.1m\nstate FLY",
        );
        let bypassed = place(&verdict, "bypassed");
        let hot = (verdict.findings.iter())
            .filter(|it| it.rule == "load-left-on" || it.rule == "always-hot");
        let hot: Vec<_> = hot.map(|it| it.follows).collect();
        assert!(!hot.is_empty());
        assert!(hot.iter().all(|it| *it == Some(bypassed)), "{hot:?}");
    }

    #[test]
    fn the_sides_follow_from_a_reversed_battery() {
        let verdict = verdict(
            "battery BT2\nwire A BT2.- MBUS.STUD 8 0.2m\nwire K BT2.+ GB1.STUD 8 0.2m\nstate FLY",
        );
        let reversed = place(&verdict, "reversed-polarity");
        assert_eq!(verdict.findings[reversed].follows, None);
        let open = verdict.findings.iter().filter(|it| it.follows.is_none());
        let open: Vec<_> = open.map(|it| &it.message).collect();
        assert!(open.len() < 5, "{open:#?}");
    }

    #[test]
    fn loads_behind_one_gap_follow_from_the_first() {
        let verdict = verdict(
            "wire A BT1.+ MBUS.STUD 8 0.2m\nswitch S9 1-2\nload LT4 1\nload LT5 1\n\
             wire X S9.2 LT4.+ 20 1m\nwire Y S9.2 LT5.+ 20 1m\n\
             wire N LT4.- BT1.- 20 1m\nwire M LT5.- BT1.- 20 1m\nstate FLY",
        );
        let loads = (verdict.findings.iter()).filter(|it| it.rule == "load-without-source");
        let following: Vec<bool> = loads.map(|it| it.follows.is_some()).collect();
        assert_eq!(following, [false, true]);
    }

    #[test]
    fn nothing_follows_in_a_sound_aircraft() {
        let verdict = verdict("wire A BT1.+ MBUS.STUD 8 0.2m\nstate FLY");
        assert_eq!(verdict.counts.following, 0);
        assert!(verdict.findings.iter().all(|it| it.follows.is_none()));
    }
}
