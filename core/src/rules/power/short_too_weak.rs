//! A wire so long and thin that a short at its far end does not open its protector.

use crate::{
    netlist::{EdgeKind, trace::Feed},
    rules::prelude::*,
    solve::{resistance::edge_ohm, shorts::SHORT_OHM},
};

/// A wire so long and thin that a short at its far end does not open its protector.
pub const RULE: Rule = Rule {
    slug: "short-too-weak",
    title: "Short at the far end hardly opens the protector",
    level: Level::Caution,
    why: "A protector opens fast only with a multiple of its rating. Where the wire itself holds a short \
          to less than twice that, it can heat for minutes before anything opens.",
    sources: &[cite(
        COMMON_PRACTICE,
        "a short at the end of a run carries at least twice the rating of its protector",
    )],
    check,
};

/// Multiple of its rating that a short must drive through a protector.
const LEAST_MULTIPLE: f64 = 2.0;

fn check(facts: &Facts<'_>, out: &mut Findings<'_, '_>) {
    let netlist = facts.netlist();
    for (id, at) in netlist.wires() {
        if facts.returns().has(at.ends[0]) || facts.returns().has(at.ends[1]) {
            continue;
        }
        let feeds = facts.feeds().of_edge(netlist, at.edge);
        let mut shorts = feeds.iter().filter_map(|feed| short(facts, feed, at.edge));
        // The strongest source decides: whatever feeds the short helps to open the protector.
        let Some(first) = shorts.next() else {
            continue;
        };
        let strongest = shorts.fold(first, |a, b| if b.amps > a.amps { b } else { a });
        if strongest.amps >= LEAST_MULTIPLE * strongest.rating_a {
            out.clear(id);
            continue;
        }
        if strongest.length_missing {
            out.not_checked(
                id,
                format!("a length on the way to {} is missing", facts.label(id)),
            );
            continue;
        }
        out.finding(id)
            .says(format!(
                "a short at the end of {} carries {:.0} A, and {} is for {:.0} A",
                facts.label(id),
                strongest.amps,
                facts.label(Facts::spot_of(&netlist.graph[strongest.protector].of)),
                strongest.rating_a
            ))
            .limit(strongest.amps, LEAST_MULTIPLE * strongest.rating_a, "A")
            .working(format!(
                "{:.1} V / {:.3} ohm on the way, the source and the short included",
                strongest.volts, strongest.ohm
            ))
            .help("use a thicker wire, or a smaller protector if the load allows it");
    }
}

struct Weak {
    protector: petgraph::graph::EdgeIndex,
    rating_a: f64,
    amps: f64,
    volts: f64,
    ohm: f64,
    length_missing: bool,
}

/// The short at the far end of a wire by one feed; none without a protector or a battery.
fn short(facts: &Facts<'_>, feed: &Feed, wire: petgraph::graph::EdgeIndex) -> Option<Weak> {
    let netlist = facts.netlist();
    let protector = *feed.protectors.last()?;
    let EdgeKind::Protector { rating_a, .. } = netlist.graph[protector].kind else {
        return None;
    };
    let EdgeKind::Battery { emf_v, ohm, .. } = netlist.graph[feed.source].kind else {
        return None;
    };
    let conductor_c = facts.document.project.conductor_c;
    let mut whole = ohm + SHORT_OHM;
    let mut length_missing = false;
    let last = feed.path.last() == Some(&wire);
    for edge in feed.path.iter().chain((!last).then_some(&wire)) {
        let kind = &netlist.graph[*edge].kind;
        length_missing |= matches!(kind, EdgeKind::Wire { length_m: None, .. });
        whole += edge_ohm(kind, conductor_c).unwrap_or(0.0);
    }
    Some(Weak {
        protector,
        rating_a,
        amps: emf_v / whole,
        volts: emf_v,
        ohm: whole,
        length_missing,
    })
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::testing::check_rule;

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
    fn not_checked_without_the_length_of_the_way() {
        check_rule(
            &RULE,
            "battery BT1 emf=12.8 ohm=0.5
             breaker CB1 15
             load LT1 1
             wire A BT1.+ CB1.1 8 1m
             wire B CB1.2 LT1.+ 22 #? short-too-weak
             wire N LT1.- BT1.- 22 1m",
        );
    }
}
