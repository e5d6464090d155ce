//! Reduces the network before it is solved, without changing any result.
//!
//! Points joined by bars are merged, dead-end conductors (without current) are removed, and series
//! conductors are merged. Afterwards the solution gives the removed parts their volts and amps.
//! More than four fifths of the points of a wired aircraft are removed. O(nodes + edges), once per
//! topology.

use petgraph::{graph::EdgeIndex, unionfind::UnionFind, visit::EdgeRef};

use crate::{
    netlist::{EdgeKind, Netlist},
    order::Grouped,
};

/// Conductors in series between two kept points.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Chain {
    /// Start point.
    pub(super) from: usize,
    /// End point.
    pub(super) to: usize,
    /// Its conductors, and whether each has the chain's direction.
    pub(super) links: Vec<(EdgeIndex, bool)>,
    /// Sum of resistances, ohm.
    pub(super) ohm: f64,
}

/// The shape of the reduced network.
#[derive(Clone, Debug, Default)]
pub(super) struct Reduced {
    /// By node of the netlist: its point. Nodes joined by a bar share one.
    pub(super) point_of: Vec<usize>,
    /// Number of points.
    pub(super) points: usize,
    /// Chains, in order of their first conductor.
    pub(super) chains: Vec<Chain>,
    /// Dead-end conductors, outermost first: edge, outer point, inner point.
    pub(super) stubs: Vec<(EdgeIndex, usize, usize)>,
}

/// What is connected at a point.
#[derive(Clone, Default)]
struct At {
    /// True if it must stay: it has something other than a conductor.
    kept: bool,
    /// Remaining conductors at it.
    live: u32,
}

/// By point: its conductors, as indices in the list of conductors.
type LinksAt = Grouped<u32>;

/// A conductor between two points.
struct Link {
    edge: EdgeIndex,
    a: usize,
    b: usize,
    done: bool,
}

impl Link {
    fn other(&self, point: usize) -> usize {
        if self.a == point { self.b } else { self.a }
    }
}

/// Numbers the points: nodes joined by bars share one.
pub(super) fn points(netlist: &Netlist) -> (Vec<usize>, usize) {
    let mut sets = UnionFind::<usize>::new(netlist.graph.node_count());
    for edge in netlist.graph.edge_references() {
        if matches!(edge.weight().kind, EdgeKind::Bar(_)) {
            sets.union(edge.source().index(), edge.target().index());
        }
    }
    let mut number = vec![usize::MAX; netlist.graph.node_count()];
    let mut count = 0;
    let mut point_of = sets.into_labeling();
    for root in &mut point_of {
        if number[*root] == usize::MAX {
            number[*root] = count;
            count += 1;
        }
        *root = number[*root];
    }
    (point_of, count)
}

impl Reduced {
    /// Reduces a netlist. `ohm` is by edge, `None` for a part that is not a conductor; `keep` are
    /// points that must always stay.
    pub(super) fn new(
        netlist: &Netlist,
        (point_of, points): (Vec<usize>, usize),
        ohm: &[Option<f64>],
        keep: impl IntoIterator<Item = usize>,
    ) -> Self {
        let mut at = vec![At::default(); points];
        let mut links: Vec<Link> = Vec::new();
        for edge in netlist.graph.edge_references() {
            let (a, b) = (
                point_of[edge.source().index()],
                point_of[edge.target().index()],
            );
            if ohm[edge.id().index()].is_some() {
                if a != b {
                    at[a].live += 1;
                    at[b].live += 1;
                    links.push(Link {
                        edge: edge.id(),
                        a,
                        b,
                        done: false,
                    });
                }
            } else if !matches!(edge.weight().kind, EdgeKind::Bar(_)) {
                (at[a].kept, at[b].kept) = (true, true);
            }
        }
        for point in keep {
            at[point].kept = true;
        }
        let ends = (0..).zip(&links);
        let ends = ends.flat_map(|(link, it)| [(it.a, link), (it.b, link)]);
        let links_at = LinksAt::new(points, ends);
        let stubs = cut_stubs(&mut at, &links_at, &mut links);
        let chains = join_chains(&at, &links_at, &mut links, ohm);
        Self {
            point_of,
            points,
            chains,
            stubs,
        }
    }
}

/// The first unprocessed conductor at a point.
fn next_of(links_at: &LinksAt, point: usize, links: &[Link]) -> Option<usize> {
    let mut at = links_at.of(point).iter().map(|link| *link as usize);
    at.find(|link| !links[*link].done)
}

/// Removes dead ends, from the outside in.
fn cut_stubs(
    at: &mut [At],
    links_at: &LinksAt,
    links: &mut [Link],
) -> Vec<(EdgeIndex, usize, usize)> {
    let mut stubs = Vec::new();
    let is_loose = |point: &At| !point.kept && point.live == 1;
    let mut loose: Vec<usize> = (0..at.len())
        .filter(|&point| is_loose(&at[point]))
        .collect();
    while let Some(outer) = loose.pop() {
        // Both ends of a lone conductor are loose; the first one removes it.
        let Some(last) = next_of(links_at, outer, links) else {
            continue;
        };
        links[last].done = true;
        let inner = links[last].other(outer);
        stubs.push((links[last].edge, outer, inner));
        at[outer].live = 0;
        at[inner].live -= 1;
        if is_loose(&at[inner]) {
            loose.push(inner);
        }
    }
    stubs
}

/// Merges conductors in series.
fn join_chains(
    at: &[At],
    links_at: &LinksAt,
    links: &mut [Link],
    ohm: &[Option<f64>],
) -> Vec<Chain> {
    let is_between = |point: usize| !at[point].kept && at[point].live == 2;
    let mut chains = Vec::new();
    for start in 0..links.len() {
        for from in [links[start].a, links[start].b] {
            if links[start].done || is_between(from) {
                continue;
            }
            let mut chain = Chain {
                from,
                to: from,
                links: Vec::new(),
                ohm: 0.0,
            };
            let mut next = Some(start);
            while let Some(link) = next {
                let Link { edge, a, .. } = links[link];
                links[link].done = true;
                chain.links.push((edge, a == chain.to));
                chain.ohm += ohm[edge.index()].unwrap_or_default();
                chain.to = links[link].other(chain.to);
                next = match is_between(chain.to) {
                    true => next_of(links_at, chain.to, links),
                    false => None,
                };
            }
            chains.push(chain);
        }
    }
    chains
}

#[cfg(test)]
mod tests {
    use petgraph::graph::{EdgeIndex, NodeIndex};
    use proptest::prelude::*;

    use crate::{
        netlist::EdgeKind,
        solve::{Element, Law, Network, OperatingPoint, operate_all, solve},
        testing::document,
    };

    const ENDS: [&str; 16] = [
        "BT1.+", "BT1.-", "LT1.+", "LT1.-", "LT2.+", "LT2.-", "S1.1", "S1.2", "S2.1", "S2.2",
        "GB1.T1", "GB1.T2", "X.1", "X.2", "X.3", "X.4",
    ];

    const PARTS: &str = "
        battery BT1
        load LT1 2 law=resistance
        load LT2 1
        switch S1 1-2
        switch S2 1-2
        ground GB1 T1 T2 T3
        unit X 1 2 3 4
        wire G GB1.T3 BT1.- 6 0.3m
        state T on=S1
    ";

    /// The full netlist as a network, nothing removed. Without diodes: a node held only by their
    /// leak is less exact in the full network than in the reduced one.
    fn whole(point: &OperatingPoint) -> Network {
        let netlist = point.netlist();
        let circuit = &point.circuit;
        let law = |edge: EdgeIndex| match netlist.graph[edge].kind {
            EdgeKind::Bar(_) => Law::Ideal,
            EdgeKind::Load => match netlist.load(edge).expect("a load").law {
                crate::document::LoadLaw::Resistance => Law::LoadResistance { ohm: 6.9 },
                _ => Law::LoadPower {
                    watt: 13.8,
                    v_cut: 0.0,
                },
            },
            EdgeKind::Battery {
                emf_v,
                ohm,
                charge_ohm,
            } => Law::Battery {
                emf_v,
                ohm,
                charge_ohm: Some(charge_ohm),
            },
            _ => Law::Resistor {
                ohm: circuit.ohm[edge.index()].expect("a conductor"),
            },
        };
        let element = |edge: EdgeIndex| {
            let (a, b) = netlist.ends(edge);
            let off = !point.closed[edge.index()];
            Element {
                law: law(edge),
                a: a.index(),
                b: b.index(),
                off,
            }
        };
        Network {
            node_count: netlist.graph.node_count(),
            reference: circuit.reference.expect("a battery").index(),
            elements: netlist.graph.edge_indices().map(element).collect(),
        }
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(64))]
        #[test]
        fn what_is_left_out_changes_no_figure(
            wires in prop::collection::vec((0..16usize, 0..16usize, 1..40u32), 6..26),
        ) {
            use std::fmt::Write as _;
            let mut text = PARTS.to_string();
            for (at, (from, to, length)) in wires.iter().enumerate() {
                let (from, to, length_m) = (ENDS[*from], ENDS[*to], f64::from(*length) / 10.0);
                writeln!(text, "wire W{at} {from} {to} 20 {length_m}m").expect("text grows");
            }
            let point = operate_all(&document(&text)).swap_remove(0);
            let wanted = solve(&whole(&point)).expect("a network");
            let close = |found: f64, wanted: f64| (found - wanted).abs() <= 1e-6 * (1.0 + wanted.abs());
            for node in 0..wanted.node_volts.len() {
                if let Some(volts) = point.node_volts(NodeIndex::new(node)) {
                    prop_assert!(close(volts, wanted.node_volts[node]), "node {}: {} {}", node, volts, wanted.node_volts[node]);
                }
            }
            for edge in point.netlist().graph.edge_indices() {
                if let (Some(amps), Some(wanted)) = (point.edge_amps(edge), wanted.currents[edge.index()]) {
                    prop_assert!(close(amps, wanted), "{:?}: {} {}", point.netlist().of(edge), amps, wanted);
                }
            }
        }
    }

    #[test]
    fn a_plain_feed_becomes_a_handful_of_points() {
        let point = operate_all(&document(&format!(
            "{PARTS}
             wire A BT1.+ S1.1 20 1m
             wire B S1.2 X.1 20 1m
             wire C X.1 LT1.+ 20 1m
             wire D LT1.- GB1.T1 20 1m
             wire STUB X.1 X.2 20 1m"
        )))
        .swap_remove(0);
        // Battery and load, two ends each; everything between them is two chains and a stub.
        assert_eq!(point.circuit.network.node_count, 4);
        // And the unwired switch.
        assert_eq!(point.circuit.reduced.stubs.len(), 2);
        let x = |terminal: &str| {
            point.node_volts(point.netlist().terminal(&"X".into(), &terminal.into())?)
        };
        assert!(x("1").is_some() && x("1") == x("2"));
    }
}
