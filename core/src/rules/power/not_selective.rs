//! A breaker or fuse rated no higher than one downstream of it.

use petgraph::graph::EdgeIndex;

use crate::{
    netlist::EdgeKind,
    order::{Map, Sorted},
    rules::{Subject, prelude::*},
};

/// A breaker or fuse rated no higher than one downstream of it.
pub const RULE: Rule = Rule {
    slug: "not-selective",
    title: "Upstream breaker may open first",
    level: Level::Caution,
    why: "A fault in one circuit should open that circuit's own breaker or fuse. If the upstream one is no \
          larger, it may open first and cut off every other circuit it feeds.",
    sources: &[cite(
        COMMON_PRACTICE,
        "each breaker or fuse is rated higher than those it feeds",
    )],
    reads: Reads::SIZES.union(Reads::RATINGS),
    check,
};

fn check(facts: &Facts<'_>, out: &mut Findings<'_, '_>) {
    let netlist = facts.netlist();
    let rating_a = |edge: EdgeIndex| match netlist.graph[edge].kind {
        EdgeKind::Protector { rating_a, .. } => rating_a,
        _ => Some(f64::INFINITY),
    };
    let mut pairs = Sorted::new();
    // How many loads each breaker or fuse feeds: an upstream one that feeds no other load cuts off
    // nothing else.
    let mut loads: Map<EdgeIndex, usize> = Map::new();
    for (load, _) in netlist.loads() {
        for feed in facts.feeds().of_node(netlist, netlist.ends(load).0) {
            // An alternator limits its own current: it is the battery that opens breakers and fuses.
            if !matches!(netlist.graph[feed.source].kind, EdgeKind::Battery { .. }) {
                continue;
            }
            for pair in feed.protectors.windows(2) {
                pairs.insert((pair[0], pair[1]));
            }
            for protector in feed.protectors {
                *loads.or_default(protector) += 1;
            }
        }
    }
    for &(above, below) in &pairs {
        let (above_at, below_at): (Subject<'_>, Subject<'_>) = (
            Facts::subject_of(netlist.of(above)),
            Facts::subject_of(netlist.of(below)),
        );
        if loads.get(&above) == loads.get(&below) {
            out.clear(below_at);
            continue;
        }
        let (above_a, below_a) = match (rating_a(above), rating_a(below)) {
            (Some(above_a), Some(below_a)) => (above_a, below_a),
            (None, _) => {
                out.not_checked(below_at, facts.rating_missing(above));
                continue;
            }
            (_, None) => {
                out.not_checked(below_at, facts.rating_missing(below));
                continue;
            }
        };
        if above_a > below_a {
            out.clear(below_at);
            continue;
        }
        out.finding(above_at)
            .says(format!(
                "{} ({above_a} A) may open before {} ({below_a} A) downstream of it",
                facts.label(above_at),
                facts.label(below_at),
            ))
            .limit(above_a, below_a, "A")
            .help("choose ratings that rise toward the source, as far as the wires allow")
            .also(below_at);
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::testing::check_rule;

    fn two(above: f64) -> String {
        format!(
            "battery BT1
             limiter FL1 {above} MARK
             breaker CB1 10
             load LT1 1
             wire A BT1.+ FL1.1 8 1m
             wire B FL1.2 CB1.1 8 1m
             wire C CB1.2 LT1.+ 18 1m
             wire N LT1.- BT1.- 18 1m
             breaker CB2 5
             load LT2 1
             wire D FL1.2 CB2.1 8 1m
             wire E CB2.2 LT2.+ 18 1m
             wire M LT2.- BT1.- 18 1m"
        )
    }

    #[test]
    fn finds_equal_ratings_in_a_row() {
        check_rule(&RULE, &two(10.0).replace("MARK", "#! not-selective"));
    }

    #[test]
    fn not_checked_without_a_rating() {
        let text = two(10.0).replace("FL1 10 MARK", "FL1 ?");
        let text = text.replace("breaker CB1 10", "breaker CB1 10 #? not-selective");
        check_rule(
            &RULE,
            &text.replace("breaker CB2 5", "breaker CB2 5 #? not-selective"),
        );
        let below = two(10.0).replace("MARK", "");
        check_rule(
            &RULE,
            &below.replace("breaker CB1 10", "breaker CB1 ? #? not-selective"),
        );
    }

    #[test]
    fn accepts_a_larger_one_above() {
        check_rule(&RULE, &two(15.0).replace("MARK", ""));
    }

    #[test]
    fn accepts_two_in_a_row_that_feed_the_same() {
        let one = two(10.0).replace("MARK", "");
        let (one, _) = one.split_once("breaker CB2").expect("the second circuit");
        check_rule(&RULE, one);
    }
}
