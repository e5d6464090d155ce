//! A wire so long and thin that a short at its far end does not open its breaker or fuse quickly.

use petgraph::graph::EdgeIndex;

use crate::{
    analysis::shorts::SHORT_OHM, netlist::EdgeKind, rules::prelude::*, solve::resistance::edge_ohm,
    standards::wire_table::copper_ohm_per_m, units::Gauge,
};

/// A wire so long and thin that a short at its far end does not open its breaker or fuse quickly.
pub const RULE: Rule = Rule {
    slug: "short-too-weak",
    title: "Short-circuit current too low to open the breaker quickly",
    level: Level::Caution,
    why: "A breaker or fuse opens quickly only at a multiple of its rating. Where the wire itself limits a \
          short to less than twice the rating, it can heat for minutes before anything opens.",
    sources: &[cite(
        COMMON_PRACTICE,
        "a short at the end of a run carries at least twice the rating of its breaker or fuse",
    )],
    reads: Reads::LENGTHS.union(Reads::SIZES).union(Reads::RATINGS),
    check,
};

/// Multiple of the rating that a short must drive through a breaker or fuse.
const LEAST_MULTIPLE: f64 = 2.0;

fn check(facts: &Facts<'_>, out: &mut Findings<'_, '_>) {
    let netlist = facts.netlist();
    let conductor_c = facts.document.project.conductor_c;
    let step = |way: SourcePath, edge: EdgeIndex| {
        let kind = &netlist.graph[edge].kind;
        SourcePath {
            volts: way.volts,
            ohm: way.ohm + edge_ohm(kind, conductor_c).unwrap_or(0.0),
            length_missing: way.length_missing || kind.is_unknown_wire(),
            protector: match kind {
                EdgeKind::Protector { .. } => Some(edge),
                _ => way.protector,
            },
        }
    };
    let start = |source: EdgeIndex| match netlist.graph[source].kind {
        EdgeKind::Battery { emf_v, ohm, .. } => Some(SourcePath {
            volts: emf_v,
            ohm: ohm + SHORT_OHM,
            length_missing: false,
            protector: None,
        }),
        _ => None,
    };
    let ways = facts.feeds().propagate(netlist, start, step);
    for (id, at) in netlist.wires() {
        if facts.returns().has(at.ends[0]) || facts.returns().has(at.ends[1]) {
            continue;
        }
        let shorts = ways.iter().filter_map(|from| {
            let way = step(from.before(netlist, at.edge)?, at.edge);
            let protector = way.protector?;
            match netlist.graph[protector].kind {
                EdgeKind::Protector { rating_a, .. } => Some((way, protector, rating_a)),
                _ => None,
            }
        });
        // The strongest source decides: whatever feeds the short helps to open the protector.
        let strongest = shorts.reduce(|a, b| if b.0.amps() > a.0.amps() { b } else { a });
        let Some((strongest, protector, rating_a)) = strongest else {
            continue;
        };
        let Some(rating_a) = rating_a else {
            out.not_checked(id, facts.rating_missing(protector));
            continue;
        };
        // A wire of unknown length counts as no resistance, which makes the short look strong.
        if strongest.length_missing {
            out.not_checked(
                id,
                format!(
                    "the length or gauge of a wire between the source and {} is missing",
                    facts.label(id)
                ),
            );
            continue;
        }
        let amps = strongest.amps();
        if amps >= LEAST_MULTIPLE * rating_a {
            out.clear(id);
            continue;
        }
        let report = out
            .finding(id)
            .says(format!(
                "{amps:.0} A in a short at the end of {}, {:.0} A needed to open {} ({rating_a} A) quickly",
                facts.label(id),
                LEAST_MULTIPLE * rating_a,
                facts.label(Facts::subject_of(netlist.of(protector))),
            ))
            .limit(amps, LEAST_MULTIPLE * rating_a, "A")
            .working(format!(
                "{:.1} V / {:.3} ohm, with the source and the short included",
                strongest.volts, strongest.ohm
            ))
            .help("use a thicker wire, or a smaller breaker or fuse if the load allows it");
        let EdgeKind::Wire {
            length_m: Some(length_m),
            gauge: Some(gauge),
            ..
        } = netlist.graph[at.edge].kind
        else {
            continue;
        };
        let thicker = Gauge::ALL.into_iter().find(|size| {
            let per_m = |gauge| copper_ohm_per_m(gauge, conductor_c);
            let saved_ohm = length_m * (per_m(gauge) - per_m(*size));
            let way = SourcePath {
                ohm: strongest.ohm - saved_ohm,
                ..strongest
            };
            gauge.is_thinner_than(*size) && way.amps() >= LEAST_MULTIPLE * rating_a
        });
        if let Some(size) = thicker {
            let change = facts.change_wire(id, |wire| wire.gauge_awg = Some(size));
            report.mend(format!("Use {size} AWG"), MendKind::Ask, change);
        }
    }
}

/// The path of a short's current from a battery.
#[derive(Clone, Copy)]
struct SourcePath {
    volts: f64,
    ohm: f64,
    length_missing: bool,
    /// The last breaker or fuse on it.
    protector: Option<EdgeIndex>,
}

impl SourcePath {
    fn amps(&self) -> f64 {
        self.volts / self.ohm
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::testing::{check_mend, check_rule};
    use crate::units::Gauge;

    /// 12.8 V over 20 m of 22 AWG: 53.2 mΩ/m at 20 °C, 59.4 mΩ/m at 50 °C, 1.19 ohm: 10.6 A.
    #[test]
    fn finds_a_long_thin_run_on_a_large_breaker() {
        let verdict = check_rule(
            &RULE,
            "battery BT1 emf=12.8 ohm=0.01
             breaker CB1 7.5
             load LT1 1
             wire A BT1.+ CB1.1 8 1m
             wire B CB1.2 LT1.+ 22 20m #! short-too-weak
             wire N LT1.- BT1.- 22 1m",
        );
        let amps = verdict.findings[0].measured.expect("a current");
        assert!((amps - 10.6).abs() < 0.1, "{amps}");
    }

    #[test]
    fn the_mend_is_the_thinnest_wire_that_opens_it() {
        // 15 A are wanted: 12.8 V / 15 A = 0.85 ohm; 20 m of 20 AWG at 50 °C are 0.73 ohm.
        let after = check_mend(
            &RULE,
            "battery BT1 emf=12.8 ohm=0.01
             breaker CB1 7.5
             load LT1 1
             wire A BT1.+ CB1.1 8 1m
             wire B CB1.2 LT1.+ 22 20m rated=150
             wire N LT1.- BT1.- 22 1m",
        );
        assert_eq!(after.wires["B"].gauge_awg, Some(Gauge(20)));
    }

    #[test]
    fn accepts_the_same_run_on_a_small_one() {
        check_rule(
            &RULE,
            "battery BT1 emf=12.8 ohm=0.01
             breaker CB1 5
             load LT1 1
             wire A BT1.+ CB1.1 8 1m
             wire B CB1.2 LT1.+ 22 20m
             wire N LT1.- BT1.- 22 1m",
        );
    }

    #[test]
    fn not_checked_without_a_rating() {
        check_rule(
            &RULE,
            "battery BT1 emf=12.8 ohm=0.01
             breaker CB1 ?
             load LT1 1
             wire A BT1.+ CB1.1 8 1m
             wire B CB1.2 LT1.+ 22 20m #? short-too-weak
             wire N LT1.- BT1.- 22 1m",
        );
    }

    #[test]
    fn not_checked_without_the_length_of_the_way() {
        check_rule(
            &RULE,
            "battery BT1 emf=12.8 ohm=0.01
             breaker CB1 15
             load LT1 1
             wire A BT1.+ CB1.1 8 1m
             wire B CB1.2 LT1.+ 22 #? short-too-weak
             wire N LT1.- BT1.- 22 1m",
        );
    }
}
