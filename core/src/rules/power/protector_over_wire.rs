//! A protector is larger than the smallest wire downstream allows.

use std::collections::BTreeMap;

use petgraph::graph::{EdgeIndex, NodeIndex};

use crate::{
    ids::WireId,
    netlist::{EdgeKind, EdgeOf},
    rules::{Subject, prelude::*},
    standards::{protection_chart, wire_table},
    units::Gauge,
};

/// The rule.
pub const RULE: Rule = Rule {
    slug: "protector-over-wire",
    title: "Breaker or fuse too large for the wire",
    level: Level::Hazard,
    why: "A breaker or fuse protects the wire. If it passes more current than the wire can carry, a short \
          makes the wire the fuse, inside the bundle and behind the panel.",
    sources: &[
        protection_chart::SOURCE,
        cite(
            AC_43_13_1B_1998,
            "par 11-48: it opens before the rating of the wire is exceeded",
        ),
    ],
    reads: Reads::SIZES.union(Reads::RATINGS),
    check,
};

/// Largest rating of a protector for a copper wire, A. A limiter, being slow, has the limits of the breaker column.
fn rating_a_max(gauge: Gauge, style: ProtectorStyle) -> Option<f64> {
    match style {
        ProtectorStyle::Fuse => protection_chart::fuse_a(gauge),
        ProtectorStyle::Breaker | ProtectorStyle::Limiter => {
            protection_chart::breaker_a(gauge).or_else(|| protection_chart::fuse_a(gauge))
        }
    }
}

/// The thinnest size of the chart that this protector protects.
pub(super) fn gauge_min(rating_a: f64, style: ProtectorStyle) -> Option<Gauge> {
    Gauge::ALL
        .into_iter()
        .find(|gauge| rating_a_max(*gauge, style).is_some_and(|max_a| rating_a <= max_a))
}

/// A wire downstream of a protector.
pub(super) struct DownstreamWire<'a> {
    pub(super) wire: &'a WireId,
    pub(super) gauge: Option<Gauge>,
}

fn check(facts: &Facts<'_>, out: &mut Findings<'_, '_>) {
    for (protector, wires) in guarded(facts) {
        judge(facts, out, protector, &wires);
    }
}

/// By protector: the wires for which it is the one that counts, as the smallest between them and a
/// source that feeds them.
pub(super) fn guarded<'a>(facts: &'a Facts<'_>) -> BTreeMap<EdgeIndex, Vec<DownstreamWire<'a>>> {
    let netlist = facts.netlist();
    // From each source on: the smallest protector passed, and its rating. One without a rating may be the smallest:
    // the last of those counts, and what it guards is not checked.
    type Smallest = Option<(Option<f64>, EdgeIndex)>;
    let smaller = |so_far: Smallest, edge: EdgeIndex| match netlist.graph[edge].kind {
        EdgeKind::Protector { rating_a: None, .. } => Some((None, edge)),
        EdgeKind::Protector { rating_a, .. } => so_far
            .filter(|it| it.0 <= rating_a)
            .or(Some((rating_a, edge))),
        _ => so_far,
    };
    let ways = facts.feeds().propagate(netlist, |_| Some(None), smaller);
    let mut guarded: BTreeMap<EdgeIndex, Vec<DownstreamWire<'a>>> = BTreeMap::new();
    for (id, at) in netlist.wires() {
        let EdgeKind::Wire { gauge, .. } = netlist.graph[at.edge].kind else {
            continue;
        };
        for (_, smallest) in ways.iter().filter_map(|way| way.before(netlist, at.edge)?) {
            let wires = guarded.entry(smallest).or_default();
            // Wires come one after the other: only the last can be this one.
            if wires.last().is_none_or(|behind| behind.wire != id) {
                wires.push(DownstreamWire { wire: id, gauge });
            }
        }
    }
    for protector in netlist.graph.edge_indices() {
        let EdgeKind::Protector { .. } = netlist.graph[protector].kind else {
            continue;
        };
        let behind = facts.behind(protector);
        if !is_fed_from_both(facts, protector, behind) {
            continue;
        }
        let feeds = facts.feeds().of_node(netlist, netlist.ends(protector).0);
        for feed in feeds.iter().filter(|it| !it.path.contains(&protector)) {
            let path = feed.path.iter().copied().chain([protector]);
            let Some((_, smallest)) = path.fold(None, smaller) else {
                continue;
            };
            let wires = guarded.entry(smallest).or_default();
            for edge in behind.iter().flat_map(|node| netlist.edges_at(*node)) {
                if let (EdgeOf::Wire(wire), EdgeKind::Wire { gauge, .. }) =
                    (netlist.of(edge), &netlist.graph[edge].kind)
                    && is_within(netlist.ends(edge), behind)
                    && !wires.iter().any(|it| it.wire == wire)
                {
                    wires.push(DownstreamWire {
                        wire,
                        gauge: *gauge,
                    });
                }
            }
        }
    }
    guarded
}

/// True if another breaker or fuse feeds what is behind this one too: a short there is fed from both.
fn is_fed_from_both(facts: &Facts<'_>, protector: EdgeIndex, behind: &[NodeIndex]) -> bool {
    let netlist = facts.netlist();
    behind.iter().any(|node| {
        netlist.edges_at(*node).any(|edge| {
            let (line, load) = netlist.ends(edge);
            edge != protector
                && load == *node
                && matches!(netlist.graph[edge].kind, EdgeKind::Protector { .. })
                && facts.feeds().reach(line)
        })
    })
}

fn is_within((a, b): (NodeIndex, NodeIndex), nodes: &[NodeIndex]) -> bool {
    nodes.contains(&a) && nodes.contains(&b)
}

/// What a wire carries in a full bundle, A, for sizes that the chart does not have: a larger protector lets it overheat
/// in any case. Sizes that no table has carry no more than the thinnest that one has.
fn steady_a(facts: &Facts<'_>, it: &DownstreamWire<'_>) -> Option<f64> {
    let gauge = it.gauge?;
    let thinnest =
        || wire_table::find(Gauge::ALL[0]).filter(|_| gauge.is_thinner_than(Gauge::ALL[0]));
    let row = wire_table::find(gauge).or_else(thinnest)?;
    row.amps(facts.document.insulation_c(facts.wire(it.wire)?)?)
}

fn judge(
    facts: &Facts<'_>,
    out: &mut Findings<'_, '_>,
    protector: EdgeIndex,
    wires: &[DownstreamWire<'_>],
) {
    let netlist = facts.netlist();
    let EdgeKind::Protector { rating_a, .. } = netlist.graph[protector].kind else {
        return;
    };
    let Some((subject, style)) = subject_and_style(facts, protector) else {
        return;
    };
    let Some(rating_a) = rating_a else {
        return out.not_checked(subject, facts.rating_missing(protector));
    };
    let most_a = |it: &DownstreamWire<'_>| rating_a_max(it.gauge?, style);
    let size = |it: &DownstreamWire<'_>| it.gauge.map_or(String::new(), |gauge| gauge.to_string());
    let allows = |it: &DownstreamWire<'_>| {
        let most_a = most_a(it).or_else(|| steady_a(facts, it));
        most_a.unwrap_or(f64::INFINITY)
    };
    let over: Vec<_> = wires.iter().filter(|it| allows(it) < rating_a).collect();
    let Some(worst) = over.iter().min_by(|a, b| allows(a).total_cmp(&allows(b))) else {
        if let Some(unknown) = wires.iter().find(|it| it.gauge.is_none()) {
            let because = format!("the gauge of {} is missing", facts.label(unknown.wire));
            return out.not_checked(subject, because);
        }
        if let Some(thin) = wires.iter().find(|it| most_a(it).is_none()) {
            let because = format!(
                "Table 11-3 has no row for {} AWG, the size of {}",
                size(thin),
                facts.label(thin.wire)
            );
            return out.not_checked(subject, because);
        }
        return out.clear(subject);
    };
    let limit_a = allows(worst);
    let name = facts.label(subject);
    let mut report = out
        .finding(subject)
        .says(format!(
            "{name} is {rating_a} A, and {}, {} AWG, allows {limit_a} A at most",
            facts.label(worst.wire),
            size(worst)
        ))
        .limit(rating_a, limit_a, "A")
        .also(worst.wire)
        .help(format!(
            "fit {limit_a} A at most, or make every wire behind it {} AWG or thicker",
            gauge_min(rating_a, style).map_or("1/0".into(), |g| g.to_string())
        ));
    for it in &over {
        let table = match most_a(it) {
            Some(_) => "Table 11-3",
            None => "Table 11-9, what it carries in a full bundle",
        };
        let line = format!(
            "{}: {} AWG, {} A at most by {table}",
            facts.label(it.wire),
            size(it),
            allows(it)
        );
        report = report.working(line).also(it.wire);
    }
    report = report.mend(
        format!("Make {name} {limit_a} A"),
        MendKind::Ask,
        set_rating(facts, netlist.of(protector), limit_a),
    );
    if let Some(gauge) = gauge_min(rating_a, style) {
        let mut change = Change::default();
        for it in &over {
            change = change.then(&facts.change_wire(it.wire, |wire| wire.gauge_awg = Some(gauge)));
        }
        report.mend(format!("Make its wires {gauge} AWG"), MendKind::Ask, change);
    }
}

/// The record of a protector, and which column of the chart is its own.
pub(super) fn subject_and_style<'a>(
    facts: &'a Facts<'_>,
    protector: EdgeIndex,
) -> Option<(Subject<'a>, ProtectorStyle)> {
    match facts.netlist().of(protector) {
        EdgeOf::Element(device, id, _) => match facts.element_of(protector)? {
            ElementKind::Protector(it) => Some((Subject::Element(device, id), it.style)),
            _ => None,
        },
        EdgeOf::InlineFuse(wire) => Some((Subject::Wire(wire), ProtectorStyle::Fuse)),
        _ => None,
    }
}

pub(super) fn set_rating(facts: &Facts<'_>, of: &EdgeOf, limit_a: f64) -> Change {
    match of {
        EdgeOf::Element(device, id, _) => facts.change_element(device, id, |is| {
            if let ElementKind::Protector(protector) = is {
                protector.rating_a = Some(limit_a);
            }
        }),
        EdgeOf::InlineFuse(wire) => facts.change_wire(wire, |wire| {
            if let Some(fuse) = &mut wire.fuse {
                fuse.rating_a = Some(limit_a);
            }
        }),
        _ => Change::default(),
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::testing::{check_mend, check_rule};

    const PORT: &str = "
        battery BT1
        bus MBUS CB13=15 #! protector-over-wire
        wire P1 BT1.+ MBUS.STUD 2 0.3m
        mated J311/P311 1 2
        wire P30A18 MBUS.CB13 J311/P311.J311-1 18 2.9m
        load USB2 2.5
        wire P30B18 J311/P311.P311-1 USB2.+ 18 0.3m
        wire P30C18N USB2.- BT1.- 18 3.4m
    ";

    #[test]
    fn finds_fifteen_amperes_on_eighteen_gauge_through_a_connector() {
        // AC 43.13-1B Table 11-3: 18 AWG, breaker 10 A.
        let verdict = check_rule(&RULE, PORT);
        let finding = &verdict.findings[0];
        assert_eq!((finding.measured, finding.limit), (Some(15.0), Some(10.0)));
        assert_eq!(
            finding.message,
            "MBUS CB13 is 15 A, and P30A18, 18 AWG, allows 10 A at most"
        );
        check_mend(&RULE, PORT);
    }

    /// The wire between the two feeds of an essential bus is fed from both ends.
    #[test]
    fn finds_the_large_one_of_two_that_feed_a_wire() {
        let text = "
            battery BT1
            fuse F3 10
            bus MBUS CB1=5
            diode D1
            switch S2 1-2
            wire A BT1.+ F3.1 6 0.1m
            wire B F3.2 S2.1 14 1m
            wire C S2.2 EBUS.CB26 14 1m
            wire P BT1.+ MBUS.STUD 2 0.3m
            wire Q MBUS.STUD D1.A 2 0.3m
            wire R D1.K EBUS.STUD 2 0.3m";
        check_rule(&RULE, &format!("{text}\nbus EBUS CB26=10 CB27=5"));
        let verdict = check_rule(
            &RULE,
            &format!("{text}\nbus EBUS CB26=50 CB27=5 #! protector-over-wire"),
        );
        assert!(verdict.findings[0].message.starts_with("EBUS CB26 is 50 A"));
    }

    #[test]
    fn accepts_exactly_the_rating_of_the_chart() {
        check_rule(
            &RULE,
            &PORT.replace("CB13=15 #! protector-over-wire", "CB13=10"),
        );
    }

    #[test]
    fn accepts_a_thin_wire_behind_a_smaller_fuse() {
        check_rule(
            &RULE,
            "
            battery BT1
            bus MBUS CB1=10
            wire P1 BT1.+ MBUS.STUD 2 0.3m
            fuse F1 1
            wire A MBUS.CB1 F1.1 18 1m
            load X 0.5
            wire B F1.2 X.+ 22 1m
            wire C X.- BT1.- 22 1m
            ",
        );
    }

    #[test]
    fn not_checked_without_a_rating() {
        check_rule(
            &RULE,
            &PORT.replace(
                "CB13=15 #! protector-over-wire",
                "CB13=? #? protector-over-wire",
            ),
        );
        // A large one upstream is not blamed for what the one without a rating may protect.
        check_rule(
            &RULE,
            "
            battery BT1
            limiter FL1 80
            breaker CB1 ? #? protector-over-wire
            wire P1 BT1.+ FL1.1 2 0.3m
            wire P2 FL1.2 CB1.1 2 0.3m
            load X 0.5
            wire A CB1.2 X.+ 22 1m
            wire B X.- BT1.- 22 1m
            ",
        );
    }

    /// AC 43.13-1B CHG 1, Table 11-9: 24 AWG, 105 °C: 2.5 A; the chart begins at 22 AWG.
    #[test]
    fn finds_a_wire_thinner_than_the_chart_behind_more_than_it_carries() {
        let text = "
            battery BT1
            bus MBUS CB1=5 #! protector-over-wire
            wire P1 BT1.+ MBUS.STUD 2 0.3m
            load X 0.5
            wire A MBUS.CB1 X.+ 24 1m rated=105
            wire B X.- BT1.- 22 1m
        ";
        let verdict = check_rule(&RULE, text);
        assert_eq!(verdict.findings[0].limit, Some(2.5));
        check_rule(&RULE, &text.replace("X.+ 24", "X.+ 28"));
    }

    #[test]
    fn not_checked_for_a_size_the_chart_does_not_have() {
        check_rule(
            &RULE,
            "
            battery BT1
            bus MBUS CB1=3 #? protector-over-wire
            wire P1 BT1.+ MBUS.STUD 2 0.3m
            load X 0.5
            wire A MBUS.CB1 X.+ 24 1m
            wire B X.- BT1.- 22 1m
            ",
        );
    }
}
