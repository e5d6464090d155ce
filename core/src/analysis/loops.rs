//! Finds return conductors that are part of a loop.
//!
//! A conductor carries no loop current if it is a bridge of the return graph: opening it splits the
//! graph, so no current can circulate. Bridges by depth-first search (Tarjan, "A note on finding the
//! bridges of a graph", Information Processing Letters 2 (1974), cited from memory). Two parallel
//! conductors are a loop.

use crate::order::InOrder;
use std::collections::{BTreeMap, BTreeSet};

use petgraph::{
    algo::astar,
    graph::{EdgeIndex, UnGraph},
    unionfind::UnionFind,
    visit::{EdgeFiltered, EdgeRef},
};

use super::return_graph::{Class, Link, ReturnGraph};

/// The kind of loop of an audio low or a shield.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum LoopKind {
    /// Structure or power ground is in the same block: other equipment's current can flow in it.
    Structure,
    /// Only audio lows and shields, joined to each other: it can only pick up a magnetic field.
    Local,
}

impl LoopKind {
    /// In words.
    pub fn words(self) -> &'static str {
        match self {
            Self::Structure => "structure loop",
            Self::Local => "local audio loop (no structure)",
        }
    }
}

/// An audio low or shield that is in a loop, with one path around it.
#[derive(Clone, Debug, PartialEq)]
pub struct Finding {
    /// The conductor: its index in [`ReturnGraph::links`].
    pub link: usize,
    /// The path around: the conductor, then from its first end back to its second.
    pub way: Vec<usize>,
    /// The kind of loop.
    pub kind: LoopKind,
    /// Resistance once around the loop, ohm.
    pub series_ohm: f64,
}

/// The loops of a graph of returns.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Loops {
    /// Every audio low and shield that is not a bridge, in link order.
    pub findings: Vec<Finding>,
    /// Number of independent loops, of any class: E - V + C.
    pub independent: usize,
    /// Number of independent loops of power grounds and structure only, which do not harm audio.
    pub benign: usize,
}

/// Finds the loops of a graph. O(links) for the search, plus a shortest path for each finding.
pub fn loops(graph: &ReturnGraph) -> Loops {
    let bridge = bridges(graph);
    let mut blocks = UnionFind::<usize>::new(graph.node_count);
    for (link, _) in graph.links.iter().zip(&bridge).filter(|(_, it)| !**it) {
        blocks.union(link.ends[0], link.ends[1]);
    }
    let block = blocks.into_labeling();
    let mut grounded = vec![false; graph.node_count];
    for (link, _) in graph.links.iter().zip(&bridge).filter(|(_, it)| !**it) {
        grounded[block[link.ends[0]]] |= matches!(link.class, Class::Structure | Class::Ground);
    }
    let priced = priced(graph);
    let find = |(at, link): (usize, &Link)| {
        let way = way_round(&priced, at);
        let kind = match grounded[block[link.ends[0]]] {
            true => LoopKind::Structure,
            false => LoopKind::Local,
        };
        let series_ohm = way.iter().map(|it| graph.links[*it].ohm).sum();
        Finding {
            link: at,
            way,
            kind,
            series_ohm,
        }
    };
    let in_loop = graph.links.iter().enumerate().zip(&bridge);
    let in_loop = in_loop.filter(|((_, link), bridge)| link.class.is_sensitive() && !**bridge);
    Loops {
        findings: in_loop.map(|(it, _)| find(it)).collect(),
        independent: independent(graph, |_| true),
        benign: independent(graph, |link| !link.class.is_sensitive()),
    }
}

/// Number of independent loops: E - V + C.
fn independent(graph: &ReturnGraph, counts: impl Fn(&Link) -> bool) -> usize {
    let mut joined = UnionFind::<usize>::new(graph.node_count);
    let links = graph.links.iter().filter(|link| counts(link));
    // A link whose ends are already joined closes one more loop.
    links
        .filter(|link| !joined.union(link.ends[0], link.ends[1]))
        .count()
}

/// By link: whether it is a bridge.
fn bridges(graph: &ReturnGraph) -> Vec<bool> {
    // By ends: links side by side are one edge of a simple graph, and a loop of their own.
    let mut between: BTreeMap<[u32; 2], Vec<usize>> = BTreeMap::new();
    for (at, link) in graph.links.iter().enumerate() {
        let [a, b] = link.ends.map(|node| node as u32);
        if a != b {
            between.entry([a.min(b), a.max(b)]).or_default().push(at);
        }
    }
    let edges = between.iter().map(|([a, b], links)| (*a, *b, links));
    let simple = UnGraph::<(), &Vec<usize>>::from_edges(edges);
    let mut bridge = vec![false; graph.links.len()];
    for edge in petgraph::algo::bridges(&simple) {
        if let [only] = edge.weight()[..] {
            bridge[only] = true;
        }
    }
    bridge
}

/// The links with their costs; an edge has the index of its link.
fn priced(graph: &ReturnGraph) -> UnGraph<(), u32> {
    UnGraph::from_edges(graph.links.iter().map(|link| {
        let [a, b] = link.ends.map(|node| node as u32);
        (a, b, link.class.cost())
    }))
}

/// The cheapest path from a link's first end to its second without it; the link itself comes first.
fn way_round(priced: &UnGraph<(), u32>, link: usize) -> Vec<usize> {
    let link = EdgeIndex::new(link);
    let others = EdgeFiltered::from_fn(priced, |edge| edge.id() != link);
    let mut way = vec![link.index()];
    if let Some((from, to)) = priced.edge_endpoints(link)
        && let Some((_, nodes)) = astar(&others, from, |it| it == to, |edge| *edge.weight(), |_| 0)
    {
        way.extend(nodes.windows(2).filter_map(|pair| {
            let links = priced.edges_connecting(pair[0], pair[1]);
            let cheapest = links.filter(|it| it.id() != link);
            let cheapest = cheapest.min_by_key(|it| (*it.weight(), it.id()))?;
            Some(cheapest.id().index())
        }));
    }
    way
}

impl Loops {
    /// The findings, with the series conductors of one loop merged: one for each set of links.
    pub fn merged(&self) -> Vec<&Finding> {
        let mut seen = BTreeSet::new();
        let is_new = |finding: &&Finding| {
            let mut links = finding.way.clone();
            links.order();
            seen.insert(links)
        };
        self.findings.iter().filter(is_new).collect()
    }
}

#[cfg(test)]
mod tests {
    use serde_json::{Value, json};

    use super::*;
    use crate::{netlist::Netlist, testing::document};

    /// Worked cases, each checked by two other methods: bridges, and membership in a minimum cycle
    /// basis.
    const CASES: &str = include_str!("../../../tests/data/loop-cases.json");

    fn class(name: &str) -> Class {
        match name {
            "airframe" => Class::Structure,
            "ground" => Class::Ground,
            "audio_lo" => Class::AudioLow,
            "shield" => Class::Shield,
            "contact" => Class::Contact,
            "tie" => Class::Tie,
            _ => panic!("no class {name}"),
        }
    }

    /// The graph of a case, and the ids of its links.
    fn graph(case: &Value) -> (ReturnGraph, Vec<String>) {
        let mut nodes: BTreeMap<String, usize> = BTreeMap::new();
        let (mut graph, mut ids) = (ReturnGraph::default(), Vec::new());
        for (at, edge) in case["edges"].as_array().expect("a list").iter().enumerate() {
            let text = |field: &str| edge[field].as_str().expect("a text").to_owned();
            let mut node = |field: &str| {
                let next = nodes.len();
                *nodes.entry(text(field)).or_insert(next)
            };
            graph.links.push(Link {
                ends: [node("a"), node("b")],
                class: class(&text("cls")),
                ohm: edge["ohm"].as_f64().expect("a number"),
                edge: EdgeIndex::new(at),
            });
            ids.push(text("id"));
        }
        graph.node_count = nodes.len();
        (graph, ids)
    }

    #[test]
    fn worked_cases() {
        let cases: Value = serde_json::from_str(CASES).expect("valid JSON");
        let cases = cases.as_array().expect("a list");
        assert_eq!(cases.len(), 8);
        for case in cases {
            let (graph, ids) = graph(case);
            let found = loops(&graph);
            let name = &case["name"];
            assert_eq!(
                json!(found.independent),
                case["independent_loops"],
                "{name}"
            );
            let expected = case["findings"].as_array().expect("a list");
            assert_eq!(found.findings.len(), expected.len(), "{name}");
            for (got, want) in found.findings.iter().zip(expected) {
                let way: Vec<_> = got.way.iter().map(|it| &ids[*it]).collect();
                assert_eq!(json!(ids[got.link]), want["edge"], "{name}");
                assert_eq!(json!(way), want["loop"], "{name}");
                assert_eq!(json!(got.kind.words()), want["kind"], "{name}");
                let ohm = want["series_ohm"].as_f64().expect("a number");
                assert!((got.series_ohm - ohm).abs() < 1e-12, "{name}");
            }
        }
    }

    fn found(text: &str) -> (usize, Vec<(usize, LoopKind)>, usize) {
        let document = document(text);
        let netlist = Netlist::new(&document);
        let graph = ReturnGraph::new(&document, &netlist);
        let loops = loops(&graph);
        let merged = loops.merged();
        let merged = merged.iter().map(|it| (it.way.len(), it.kind)).collect();
        (loops.independent, merged, loops.benign)
    }

    const PANEL: &str = "
        place FRAME metal
        place PANEL metal bonded=FRAME
        battery BT1 at=FRAME
        ground GB1 1 2 3 tied at=FRAME
        wire G BT1.- GB1.1 2 0.3m
        unit IC1 1:power_in 14:return 3:audio_high 11:audio_low
        inside IC1 load 1 14 0.35
        inside IC1 bar 11 14
        wire P BT1.+ IC1.1 22 1m
        wire R IC1.14 GB1.2 22 0.6m
        wire HI IC1.3 JK2.ring 22 1m
        wire LO IC1.11 JK2.sleeve 22 1m
    ";

    #[test]
    fn a_jack_on_metal_makes_a_loop_and_washers_undo_it() {
        let bare = format!("{PANEL} jack JK2 mic bare at=PANEL");
        // The low, the jack's body, one bond, the block's ground link, its tab, the return, the
        // joint inside.
        assert_eq!(found(&bare), (1, vec![(7, LoopKind::Structure)], 0));
        let isolated = format!("{PANEL} jack JK2 mic isolated at=PANEL");
        assert_eq!(found(&isolated), (0, vec![], 0));
    }

    #[test]
    fn two_grounds_side_by_side_are_no_audio_loop() {
        let twice = format!("{PANEL} jack JK2 mic isolated at=PANEL\nwire R2 IC1.14 GB1.3 22 0.6m");
        assert_eq!(found(&twice), (1, vec![], 1));
    }

    #[test]
    fn two_audio_lows_side_by_side_are_a_loop() {
        let twice =
            format!("{PANEL} jack JK2 mic isolated at=PANEL\n wire LO2 IC1.11 JK2.sleeve 22 1m");
        assert_eq!(found(&twice), (1, vec![(2, LoopKind::Local)], 0));
    }

    proptest::proptest! {
        /// By definition: without a bridge its ends are separate, without any other link they are
        /// still joined.
        #[test]
        fn bridges_are_what_parts_the_graph(
            ends in proptest::collection::vec((0usize..9, 0usize..9), 0..16)
        ) {
            let link = |(at, (a, b)): (usize, &(usize, usize))| Link {
                ends: [*a, *b],
                class: Class::AudioLow,
                ohm: 1.0,
                edge: EdgeIndex::new(at),
            };
            let links = ends.iter().enumerate().map(link).collect();
            let graph = ReturnGraph { node_count: 9, links };
            let found = loops(&graph);
            let in_loop: BTreeSet<usize> = found.findings.iter().map(|it| it.link).collect();
            for (at, link) in graph.links.iter().enumerate() {
                let mut joined = UnionFind::<usize>::new(9);
                for (_, other) in graph.links.iter().enumerate().filter(|(it, _)| *it != at) {
                    joined.union(other.ends[0], other.ends[1]);
                }
                let goes_round = joined.equiv(link.ends[0], link.ends[1]);
                proptest::prop_assert_eq!(in_loop.contains(&at), goes_round);
            }
            // Every path around closes.
            for finding in &found.findings {
                let mut at = graph.links[finding.link].ends[1];
                for link in &finding.way {
                    proptest::prop_assert!(graph.links[*link].ends.contains(&at));
                    at = graph.links[*link].other(at);
                }
                proptest::prop_assert_eq!(at, graph.links[finding.link].ends[1]);
            }
        }
    }
}
