//! A wire without breaker or fuse between it and a source.

use std::collections::{BTreeMap, BTreeSet};

use petgraph::graph::EdgeIndex;

use crate::{
    ids::WireId,
    netlist::{EdgeKind, EdgeOf, Netlist, trace::Feed},
    rules::{power::coil_lead, prelude::*},
    standards::protection_chart,
};

/// A wire without breaker or fuse between it and a source.
pub const RULE: Rule = Rule {
    slug: "unprotected-wire",
    title: "Unprotected wire",
    level: Level::Hazard,
    why: "A battery drives hundreds of amperes into a wire that touches the airframe. Without a breaker \
          or fuse between them nothing stops the current: the wire glows, in a bundle with others, \
          behind the panel or at the firewall.",
    sources: &[
        cite(
            AC_43_13_1B_1998,
            "par 11-47, protection as close as possible to the source",
        ),
        cite(
            CFR_14_23,
            "23.1357(a), every circuit but the main circuits of starter motors",
        ),
        protection_chart::SOURCE,
    ],
    reads: Reads::LENGTHS.union(Reads::SIZES).union(Reads::RATINGS),
    check,
};

/// A lead from a battery to its own bus up to this long counts as the battery's post, m: protection
/// is then expected at the bus (common practice, no source).
const AT_SOURCE_M: f64 = 0.15;

fn check(facts: &Facts<'_>, out: &mut Findings<'_, '_>) {
    let netlist = facts.netlist();
    let exempt = starter_main_circuits(facts);
    let mut bare: BTreeMap<&WireId, Feed> = BTreeMap::new();
    for (id, at) in netlist.wires() {
        if at.ends.iter().any(|node| facts.returns().has(*node)) {
            continue;
        }
        // Few wires lack a protector: only their paths are walked.
        match facts.feeds().fewest_protectors(netlist, at.edge) {
            None => continue,
            Some(0) => {}
            Some(_) => {
                out.clear(id);
                continue;
            }
        }
        let feeds = facts.feeds().of_edge(netlist, at.edge);
        let unprotected = feeds.into_iter().find(|feed| {
            feed.protectors.is_empty()
                && !exempt.contains(&at.edge)
                && !held_by_alternator(facts, netlist, feed.source, id)
        });
        match unprotected {
            Some(feed) => {
                bare.insert(id, feed);
            }
            None => out.clear(id),
        }
    }
    let stretches = stretches(netlist, &bare, &exempt);
    for (entry, stretch) in &stretches {
        report(facts, out, entry, stretch, &bare[*entry]);
    }
    coil_lead::check(facts, out);
}

/// The edges between a battery and a starter motor: exempt by 14 CFR 23.1357(a). What else hangs on
/// them is not.
fn starter_main_circuits(facts: &Facts<'_>) -> BTreeSet<EdgeIndex> {
    let feeds = facts
        .starters()
        .iter()
        .flat_map(|&starter| facts.starter_feeds(starter));
    feeds.flat_map(|feed| feed.path).collect()
}

/// True if the source is an alternator that cannot give more than the wire's protector would let
/// through: it limits itself (common practice, no source).
fn held_by_alternator(
    facts: &Facts<'_>,
    netlist: &Netlist,
    source: EdgeIndex,
    wire: &WireId,
) -> bool {
    let EdgeKind::Alternator { limit_a, .. } = netlist.graph[source].kind else {
        return false;
    };
    let Some(gauge) = facts.document.wires[wire].gauge_awg else {
        return false;
    };
    // The chart ends at 1/0; thicker wires carry what 1/0 does.
    let row = if crate::units::Gauge(0).is_thinner_than(gauge) {
        crate::units::Gauge(0)
    } else {
        gauge
    };
    protection_chart::protector_a(row).is_some_and(|largest_a| limit_a <= largest_a)
}

/// Wires that lack the same protector.
#[derive(Default)]
struct Stretch<'n> {
    /// From where the protector is missing to the next bus.
    wires: Vec<&'n WireId>,
    /// What the next bus feeds.
    beyond: Vec<&'n WireId>,
}

/// Unprotected wires by the first of each stretch, where the protector belongs.
fn stretches<'n>(
    netlist: &'n Netlist,
    bare: &BTreeMap<&'n WireId, Feed>,
    exempt: &BTreeSet<EdgeIndex>,
) -> BTreeMap<&'n WireId, Stretch<'n>> {
    let mut stretches: BTreeMap<&WireId, Stretch<'_>> = BTreeMap::new();
    for (&id, feed) in bare {
        let (entry, beyond) = entry_of(netlist, id, feed, bare, exempt);
        let stretch = stretches.entry(entry).or_default();
        match beyond {
            true => stretch.beyond.push(id),
            false => stretch.wires.push(id),
        }
    }
    stretches
}

/// The wire of the path to this one that the protector belongs in, and whether a bus is between them.
///
/// A new stretch begins at the first wire that is not exempt, again at a bus close to the source, and where a
/// thinner wire branches off a thicker one.
fn entry_of<'n>(
    netlist: &'n Netlist,
    id: &'n WireId,
    feed: &Feed,
    bare: &BTreeMap<&'n WireId, Feed>,
    exempt: &BTreeSet<EdgeIndex>,
) -> (&'n WireId, bool) {
    let mut entry: Option<(&WireId, Option<crate::units::Gauge>)> = None;
    let (mut run_m, mut beyond) = (0.0, false);
    let mut node = netlist.ends(feed.source).0;
    let own = netlist.wire(id).map(|at| at.edge);
    for edge in feed.path.iter().copied().chain(own) {
        if let (
            EdgeOf::Wire(wire),
            EdgeKind::Wire {
                gauge, length_m, ..
            },
        ) = (netlist.of(edge), netlist.graph[edge].kind)
            && !exempt.contains(&edge)
            && bare.contains_key(wire)
        {
            let sizes = entry.and_then(|(_, thick)| gauge.zip(thick));
            let branches = sizes.is_some_and(|(gauge, thick)| gauge.is_thinner_than(thick));
            if entry.is_none() || (branches && !beyond) {
                entry = Some((wire, gauge));
                run_m = 0.0;
            }
            run_m += length_m.unwrap_or(f64::INFINITY);
        }
        node = netlist.other(edge, node);
        if Some(edge) != own && entry.is_some() && netlist.bar_at(node) == Some(BarUse::Bus) {
            if run_m <= AT_SOURCE_M {
                entry = None;
            } else {
                beyond = true;
            }
        }
    }
    let entry = entry.map_or(id, |(wire, _)| wire);
    (entry, beyond && entry != id)
}

fn report(
    facts: &Facts<'_>,
    out: &mut Findings<'_, '_>,
    entry: &WireId,
    stretch: &Stretch<'_>,
    feed: &Feed,
) {
    let netlist = facts.netlist();
    let source = Facts::subject_of(netlist.of(feed.source));
    let wires = facts.wire(entry);
    let Some(wire) = wires else { return };
    let names: Vec<String> = stretch
        .wires
        .iter()
        .map(|wire| facts.label(*wire))
        .collect();
    let edges = stretch
        .wires
        .iter()
        .filter_map(|wire| Some(netlist.wire(wire)?.edge));
    let (length_m, unknown) = netlist.length_m(edges);
    let gauge = wire.size();
    let length = facts.document.project.length(length_m, 2);
    let stretch_is = match unknown {
        0 => format!("{length} of {gauge}"),
        _ if unknown == names.len() => format!("{gauge} of unknown length"),
        _ => format!("{length} of {gauge}, and {unknown} more of unknown length"),
    };
    let mut report = out.finding(entry).says(format!(
        "no breaker or fuse between {} and {}: {stretch_is}",
        facts.label(source),
        crate::rules::and_list(&names),
    ));
    if unknown == 0 {
        report = report.limit(length_m, 0.0, "m");
    }
    for wire in &stretch.wires {
        report = report.also(*wire);
    }
    report = report.also(source);
    for wire in &stretch.beyond {
        report = report.also(*wire);
    }
    let way: Vec<String> = netlist
        .wires_among(feed.path.iter().copied())
        .map(|wire| facts.label(wire))
        .collect();
    if !way.is_empty() {
        report = report.working(format!("path: {}, {}", facts.label(source), way.join(", ")));
    }
    if let EdgeKind::Battery { emf_v, ohm, .. } = netlist.graph[feed.source].kind {
        report = report.working(format!(
            "into a short circuit the battery alone gives {emf_v} V / {ohm} ohm = {:.0} A",
            emf_v / ohm
        ));
    }
    if !stretch.beyond.is_empty() {
        let names: Vec<String> = stretch
            .beyond
            .iter()
            .map(|wire| facts.label(*wire))
            .collect();
        report = report.working(format!(
            "also unprotected, downstream of the next bus: {}",
            crate::rules::and_list(&names)
        ));
    }
    let Some(rating_a) = wire.gauge_awg.and_then(protection_chart::fuse_a) else {
        report.help("fit a breaker or fuse at its source end");
        return;
    };
    let at = near_end(facts, entry, feed);
    let end = wire.end(at);
    report = report
        .working(format!(
            "largest fuse for {} by the chart: {rating_a} A",
            wire.size()
        ))
        .help(format!(
            "fit a breaker or fuse of at most {rating_a} A in it, close to {}",
            facts.end_label(end)
        ));
    let change = facts.change_wire(entry, |wire| {
        wire.fuse = Some(InlineFuse {
            at,
            rating_a: Some(rating_a),
            origins: Origins::default(),
            extra: Extra::new(),
        });
    });
    report.mend(
        format!(
            "Put a {rating_a} A fuse in {} at {}",
            facts.label(entry),
            facts.end_label(end)
        ),
        MendKind::Ask,
        change,
    );
}

/// The end of a wire at which its feed arrives.
fn near_end(facts: &Facts<'_>, wire: &WireId, feed: &Feed) -> WireEnd {
    let netlist = facts.netlist();
    let mut node = netlist.ends(feed.source).0;
    for edge in &feed.path {
        node = netlist.other(*edge, node);
    }
    match netlist.wire(wire) {
        Some(at) if at.ends[1] == node => WireEnd::To,
        _ => WireEnd::From,
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::testing::{check_mend, check_rule};

    /// A backbone in the manner of a small aircraft: battery, two contactors, starter, alternator
    /// with its limiter at the battery end, a feeder with a limiter, a battery bus.
    const BACKBONE: &str = "
        battery BT1
        ground GB1 STUD T1 T2 T3
        contactor K1 BAT LOAD COIL+ COIL-
        contactor K2 BAT STR COIL+ COIL-
        load M1 - sort=motor peak=150
        alternator G1 40
        limiter FL1 60
        limiter FL2 60
        bus MBUS CB1=5
        bus HBUS F1=1f F3=10f
        load LT1 1
        load CK1 0.02
        wire P1 BT1.+ K1.BAT 2 0.3m
        wire P2 K1.LOAD K2.BAT 2 0.25m
        wire P3 K2.STR M1.+ 2 0.9m
        wire P4N BT1.- GB1.STUD 2 0.35m
        wire P5N M1.- GB1.STUD 2 0.6m
        wire P6A G1.B FL1.1 8 1.1m
        wire P7B FL2.2 MBUS.STUD 6 1.2m
        wire L1 MBUS.CB1 LT1.+ 22 1m
        wire L1N LT1.- GB1.T1 22 1m
        wire P21 HBUS.F1 CK1.+ 22 1.6m
        wire P21N CK1.- GB1.T2 22 0.5m
    ";

    fn backbone(more: &str) -> String {
        format!("{BACKBONE}\n{more}")
    }

    #[test]
    fn finds_a_feeder_without_its_limiter_and_what_hangs_on_it() {
        let text = backbone(
            "
            bus EBUS CB20=5
            diode D1
            wire P7 K1.LOAD MBUS.STUD 6 1.35m #! unprotected-wire
            wire P8A MBUS.STUD D1.A 6 0.25m
            wire P8B D1.K EBUS.STUD 6 0.25m
            ",
        );
        let verdict = check_rule(&RULE, &text);
        let finding = &verdict.findings[0];
        assert_eq!(
            finding.message,
            "no breaker or fuse between BT1 and P7: 1.35 m of 6 AWG"
        );
        assert!(finding.at.iter().any(|at| at.id == "P8B"));
        check_mend(&RULE, &text);
    }

    #[test]
    fn tells_a_length_only_where_there_is_one() {
        let text = backbone(
            "
            bus EBUS CB20=5
            splice S1
            wire P7A K1.LOAD S1 6 #! unprotected-wire
            wire P7B S1 MBUS.STUD 6 1.35m
            ",
        );
        let said = |text: &str| check_rule(&RULE, text).findings[0].message.clone();
        assert_eq!(
            said(&text),
            "no breaker or fuse between BT1 and P7A and P7B: 1.35 m of 6 AWG, and 1 more of unknown length"
        );
        let text = text.replace("6 1.35m", "6");
        assert_eq!(
            said(&text),
            "no breaker or fuse between BT1 and P7A and P7B: 6 AWG of unknown length"
        );
    }

    /// The stretch is 1.40 m + 0.40 m; the lead to the battery bus is a separate finding.
    #[test]
    fn finds_a_feed_off_the_battery_bus_without_its_fuse() {
        let text = backbone(
            "
            bus EBUS CB20=5
            switch S2 1-2
            wire P9A BT1.+ HBUS.STUD 10 0.12m #! unprotected-wire
            wire P9B HBUS.STUD S2.1 16 1.4m #! unprotected-wire
            wire P9C S2.2 EBUS.STUD 16 0.4m
            ",
        );
        let verdict = check_rule(&RULE, &text);
        let finding = verdict.findings.iter().find(|it| it.at[0].id == "P9B");
        let finding = finding.expect("marked above");
        assert_eq!(
            finding.message,
            "no breaker or fuse between BT1 and P9B and P9C: 1.80 m of 16 AWG"
        );
        assert!((finding.measured.unwrap_or(0.0) - 1.8).abs() < 1e-9);
    }

    #[test]
    fn finds_sense_wires_without_fuses_and_a_fuse_at_the_far_end() {
        check_rule(
            &RULE,
            &backbone(
                "
                shunt SH1 0.001
                unit EM1 J103-2:sensor_plus J103-21:sensor_minus
                wire P6B FL1.2 SH1.1 8 0.3m #! unprotected-wire
                wire P6C SH1.2 K2.BAT 8 0.3m
                wire P13A SH1.1 EM1.J103-2 22 1.6m #! unprotected-wire
                wire P13B SH1.2 EM1.J103-21 22 1.6m fuse=1@to #! unprotected-wire
                ",
            )
            .replace("0.3m #! unprotected-wire", "0.3m")
            .replace("K2.BAT 8 0.3m", "K2.BAT 8 0.3m #! unprotected-wire"),
        );
    }

    #[test]
    fn accepts_starter_cables_limiters_fuses_and_an_alternator_that_limits_itself() {
        check_rule(
            &RULE,
            &backbone(
                "
                unit EM1 J103-2:sensor_plus
                wire P6C FL1.2 K2.BAT 2 0.01m fuse=100@to
                wire P7A K1.LOAD FL2.1 6 0.15m fuse=70
                wire P13A FL1.1 EM1.J103-2 22 1.6m fuse=1
                wire P9B16 HBUS.F3 EM1.J103-2 16 1m
                ",
            ),
        );
    }

    #[test]
    fn finds_an_alternator_lead_too_thin_for_what_the_alternator_gives() {
        check_rule(
            &RULE,
            &backbone("").replace("FL1.1 8 1.1m", "FL1.1 12 1.1m #! unprotected-wire"),
        );
    }

    #[test]
    fn accepts_nothing_of_the_kind_for_a_pump_that_only_looks_like_a_starter() {
        check_rule(
            &RULE,
            &BACKBONE
                .replace(
                    "load M1 - sort=motor peak=150",
                    "load M1 - sort=motor peak=12",
                )
                .replace(
                    "0.3m\n        wire P2",
                    "0.3m #! unprotected-wire\n        wire P2",
                ),
        );
    }
}
