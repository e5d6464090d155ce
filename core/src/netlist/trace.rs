//! Walks for the rules: what feeds a wire through which protectors, what a protector protects, and
//! the return path of a current. They are independent of switch positions.

use std::collections::VecDeque;

use petgraph::{
    graph::{EdgeIndex, NodeIndex},
    visit::EdgeRef,
};
use rustc_hash::FxHashSet;

use super::{AtNode, EdgeKind, EdgeOf, Netlist, Point, Reach, Through};
use crate::document::BarUse;

/// Edges that supply current can pass: anything that can be closed, diodes forward, resistors.
pub const SUPPLY: Through = Through::CLOSABLE
    .and(Through::DIODES)
    .and(Through::RESISTORS);

/// The return side: every node that metal connects to the negative of a source.
///
/// The walk stops where the supply begins (at a source's positive, a protector, a power bus), so a
/// wire drawn from supply to return by mistake does not turn the supply into a return.
#[derive(Clone, Debug)]
pub struct Returns {
    on: Vec<bool>,
    anchor: Vec<bool>,
}

impl Returns {
    /// Finds the return side of a netlist.
    pub fn new(netlist: &Netlist) -> Self {
        let count = netlist.graph.node_count();
        let (mut plus, mut supply, mut anchor) =
            (vec![false; count], vec![false; count], vec![false; count]);
        for edge in netlist.graph.edge_references() {
            let (a, b) = (edge.source().index(), edge.target().index());
            match edge.weight().kind {
                EdgeKind::Battery { .. } | EdgeKind::Alternator { .. } => {
                    (plus[a], supply[a], anchor[b]) = (true, true, true);
                }
                EdgeKind::Protector { .. } => (supply[a], supply[b]) = (true, true),
                EdgeKind::Tie { .. } | EdgeKind::JackTie(_) => anchor[b] = true,
                EdgeKind::Bond { .. } => (anchor[a], anchor[b]) = (true, true),
                _ => {}
            }
        }
        for node in netlist.graph.node_indices() {
            match netlist.bar_at(node) {
                Some(BarUse::Bus) => supply[node.index()] = true,
                Some(BarUse::Ground) => anchor[node.index()] = true,
                Some(BarUse::Joint) | None => {}
            }
        }
        let starts = starts(netlist, &plus);
        let reach = netlist.reach(starts, Through::METAL, |node| {
            AtNode::stop_if(supply[node.index()])
        });
        let on: Vec<bool> = netlist
            .graph
            .node_indices()
            .map(|node| reach.has(node))
            .collect();
        for node in 0..count {
            anchor[node] |= matches!(netlist.points[node], Point::Structure(_));
            anchor[node] &= on[node];
        }
        Self { on, anchor }
    }

    /// True if the node is on the return side.
    pub fn has(&self, node: NodeIndex) -> bool {
        self.on[node.index()]
    }

    /// True if returns meet at the node: a ground block, structure, or the negative of a source.
    pub fn is_anchor(&self, node: NodeIndex) -> bool {
        self.anchor[node.index()]
    }
}

/// The negatives of sources, except where they are the positive of another source in series.
fn starts(netlist: &Netlist, plus: &[bool]) -> Vec<NodeIndex> {
    let groups = netlist.groups(Through::METAL);
    let mut has_plus = vec![false; plus.len()];
    for node in netlist
        .graph
        .node_indices()
        .filter(|node| plus[node.index()])
    {
        has_plus[groups.of(node) as usize] = true;
    }
    let all: Vec<_> = netlist
        .sources()
        .map(|source| netlist.ends(source).1)
        .collect();
    let ends: Vec<_> = all
        .iter()
        .copied()
        .filter(|node| !has_plus[groups.of(*node) as usize])
        .collect();
    if ends.is_empty() { all } else { ends }
}

/// How a source feeds a place.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Feed {
    /// The battery or alternator.
    pub source: EdgeIndex,
    /// The edges from its positive up to the place, in order.
    pub path: Vec<EdgeIndex>,
    /// The protectors among them, in order; no path from this source has fewer.
    pub protectors: Vec<EdgeIndex>,
}

#[derive(Debug)]
struct Tree {
    source: EdgeIndex,
    /// Nodes, each after its predecessor on the path; some more than once.
    order: Vec<NodeIndex>,
    /// By node: number of protectors and edges passed, and the last edge.
    reached: Vec<Option<(u32, u32, Option<EdgeIndex>)>>,
}

/// A value carried from one source: see [`Feeds::carry`].
#[derive(Debug)]
pub struct Propagated<T> {
    /// The source.
    pub source: EdgeIndex,
    at: Vec<Option<T>>,
    distance: Vec<(u32, u32)>,
}

impl<T: Copy> Propagated<T> {
    /// The value at the end of an edge that the source reaches first.
    pub fn before(&self, netlist: &Netlist, edge: EdgeIndex) -> Option<T> {
        let (a, b) = netlist.ends(edge);
        let [from_a, from_b] = [a, b].map(|node| self.distance[node.index()]);
        self.at[if from_b < from_a { b } else { a }.index()]
    }
}

/// Every path out of every source, by fewest protectors.
#[derive(Debug)]
pub struct Feeds(Vec<Tree>);

impl Feeds {
    /// Walks out of each source's positive through `through` (usually [`SUPPLY`]), never onto the
    /// return side. O(sources x edges).
    pub fn new(netlist: &Netlist, returns: &Returns, through: Through) -> Self {
        Self(
            netlist
                .sources()
                .map(|source| Tree::grow(netlist, returns, through, source))
                .collect(),
        )
    }

    /// The feed of this edge from each source that can feed it, up to its nearer end.
    pub fn of_edge(&self, netlist: &Netlist, edge: EdgeIndex) -> Vec<Feed> {
        let (a, b) = netlist.ends(edge);
        self.feeds(netlist, [a, b])
    }

    /// The feed of this node from each source that can feed it.
    pub fn of_node(&self, netlist: &Netlist, node: NodeIndex) -> Vec<Feed> {
        self.feeds(netlist, [node, node])
    }

    /// The fewest protectors between any source and an edge; `None` if no source feeds it.
    pub fn fewest_protectors(&self, netlist: &Netlist, edge: EdgeIndex) -> Option<u32> {
        let (a, b) = netlist.ends(edge);
        let trees = self.0.iter();
        let reached = trees.filter_map(|tree| tree.nearer([a, b]));
        reached.map(|(_, protectors, _)| protectors).min()
    }

    /// Carries a value from each source to the nodes it feeds: by source, then by node. `start`
    /// gives a source's own value, or omits the source.
    pub fn propagate<T: Copy>(
        &self,
        netlist: &Netlist,
        start: impl Fn(EdgeIndex) -> Option<T>,
        step: impl Fn(T, EdgeIndex) -> T,
    ) -> Vec<Propagated<T>> {
        let carried = |tree: &Tree| {
            let first = start(tree.source)?;
            let mut at: Vec<Option<T>> = vec![None; tree.reached.len()];
            for &node in &tree.order {
                at[node.index()] = match tree.reached[node.index()] {
                    Some((_, _, Some(edge))) => {
                        let before = netlist.other(edge, node);
                        at[before.index()].map(|value| step(value, edge))
                    }
                    _ => Some(first),
                };
            }
            let nearer = tree.reached.iter().map(|reached| {
                reached.map_or((u32::MAX, u32::MAX), |(protectors, edges, _)| {
                    (protectors, edges)
                })
            });
            Some(Propagated {
                source: tree.source,
                at,
                distance: nearer.collect(),
            })
        };
        self.0.iter().filter_map(carried).collect()
    }

    /// The edges from an edge back to the nearest source, counted in edges, nearest first.
    pub fn back_to_nearest<'a>(
        &'a self,
        netlist: &'a Netlist,
        edge: EdgeIndex,
    ) -> impl Iterator<Item = EdgeIndex> + 'a {
        let (a, b) = netlist.ends(edge);
        let trees = self.0.iter();
        let ways = trees.filter_map(|tree| Some((tree, tree.nearer([a, b])?)));
        let nearest = ways.min_by_key(|(_, (_, _, edges))| *edges);
        let mut at = nearest.map(|(tree, (node, ..))| (tree, node));
        std::iter::from_fn(move || {
            let (tree, node) = at?;
            let edge = tree.reached[node.index()]?.2?;
            at = Some((tree, netlist.other(edge, node)));
            Some(edge)
        })
    }

    /// The path from the first source that can feed the node.
    pub fn first_path(&self, netlist: &Netlist, node: NodeIndex) -> Option<Vec<EdgeIndex>> {
        let mut trees = self.0.iter();
        let tree = trees.find(|tree| tree.reached[node.index()].is_some())?;
        Some(tree.path(netlist, node))
    }

    /// True if any source can feed the node.
    pub fn reach(&self, node: NodeIndex) -> bool {
        self.0
            .iter()
            .any(|tree| tree.reached[node.index()].is_some())
    }

    fn feeds(&self, netlist: &Netlist, ends: [NodeIndex; 2]) -> Vec<Feed> {
        let feed = |tree: &Tree| {
            let (nearer, ..) = tree.nearer(ends)?;
            let path = tree.path(netlist, nearer);
            let is_protector =
                |edge: &EdgeIndex| matches!(netlist.graph[*edge].kind, EdgeKind::Protector { .. });
            let protectors = path.iter().copied().filter(is_protector).collect();
            Some(Feed {
                source: tree.source,
                path,
                protectors,
            })
        };
        self.0.iter().filter_map(feed).collect()
    }
}

impl Tree {
    fn grow(netlist: &Netlist, returns: &Returns, through: Through, source: EdgeIndex) -> Self {
        let mut reached: Vec<Option<(u32, u32, Option<EdgeIndex>)>> =
            vec![None; netlist.graph.node_count()];
        let start = netlist.ends(source).0;
        reached[start.index()] = Some((0, 0, None));
        let mut order = Vec::new();
        // A protector costs one, anything else zero: a double-ended queue replaces the heap.
        let mut queue = VecDeque::from([(start, 0, 0)]);
        while let Some((node, protectors, edges)) = queue.pop_front() {
            if reached[node.index()].is_some_and(|best| (best.0, best.1) != (protectors, edges)) {
                continue;
            }
            order.push(node);
            for edge in netlist.edges_at(node) {
                let weight = &netlist.graph[edge];
                let next = netlist.other(edge, node);
                if returns.has(next) || !through.passes(weight, netlist.ends(edge).0 == node) {
                    continue;
                }
                let costs = matches!(weight.kind, EdgeKind::Protector { .. });
                let now = (protectors + u32::from(costs), edges + 1);
                if reached[next.index()].is_none_or(|best| now < (best.0, best.1)) {
                    reached[next.index()] = Some((now.0, now.1, Some(edge)));
                    if costs {
                        queue.push_back((next, now.0, now.1));
                    } else {
                        queue.push_front((next, now.0, now.1));
                    }
                }
            }
        }
        Self {
            source,
            order,
            reached,
        }
    }

    /// The nearer of two nodes with its distance in protectors and edges, if either is reached.
    fn nearer(&self, ends: [NodeIndex; 2]) -> Option<(NodeIndex, u32, u32)> {
        let distance = |node: NodeIndex| {
            let (protectors, edges, _) = self.reached[node.index()]?;
            Some((node, protectors, edges))
        };
        let reached = ends.into_iter().filter_map(distance);
        reached.min_by_key(|(_, protectors, edges)| (*protectors, *edges))
    }

    fn path(&self, netlist: &Netlist, node: NodeIndex) -> Vec<EdgeIndex> {
        let mut path = Vec::new();
        let mut at = node;
        while let Some((_, _, Some(edge))) = self.reached[at.index()] {
            path.push(edge);
            at = netlist.other(edge, at);
        }
        path.reverse();
        path
    }
}

impl Netlist {
    /// What a protector protects beyond its end `from`: everything up to the next protector, a
    /// load, the return side or a source's positive, in any switch position.
    pub fn downstream(&self, returns: &Returns, protector: EdgeIndex, from: NodeIndex) -> Reach {
        let through = SUPPLY.without(Through::PROTECTORS);
        self.reach_by(
            [from],
            |edge, forward| edge != protector && through.passes(&self.graph[edge], forward),
            |node| AtNode::stop_if(returns.has(node) || self.is_source_plus(node)),
        )
    }

    /// The nodes of that, from `from` on. It looks only at what is there, so that it can be asked of every protector.
    pub fn downstream_nodes(
        &self,
        returns: &Returns,
        protector: EdgeIndex,
        from: NodeIndex,
    ) -> Vec<NodeIndex> {
        let through = SUPPLY.without(Through::PROTECTORS);
        let mut seen = FxHashSet::from_iter([from]);
        let mut nodes = vec![from];
        let mut next = 0;
        while let Some(&node) = nodes.get(next) {
            next += 1;
            if next > 1 && (returns.has(node) || self.is_source_plus(node)) {
                continue;
            }
            for edge in self.edges_at(node) {
                let forward = self.ends(edge).0 == node;
                if edge == protector || !through.passes(&self.graph[edge], forward) {
                    continue;
                }
                let other = self.other(edge, node);
                if seen.insert(other) {
                    nodes.push(other);
                }
            }
        }
        nodes
    }

    fn is_source_plus(&self, node: NodeIndex) -> bool {
        self.edges_at(node)
            .any(|edge| self.graph[edge].kind.is_source() && self.ends(edge).0 == node)
    }

    /// The path from a node (a load's negative) to the nearest point where returns meet: a ground
    /// block, structure, or the negative of a source. `None` if there is no path in any switch
    /// position.
    pub fn return_path(&self, returns: &Returns, from: NodeIndex) -> Option<Vec<EdgeIndex>> {
        if returns.is_anchor(from) {
            return Some(Vec::new());
        }
        let through = Through::CLOSABLE.and(Through::DIODES);
        let reach = self.reach([from], through, |node| {
            AtNode::stop_if(returns.is_anchor(node))
        });
        let home = reach
            .nodes
            .iter()
            .copied()
            .find(|node| returns.is_anchor(*node))?;
        reach.path(self, home)
    }

    /// Length of the wires among these edges, m, and how many have no length set.
    pub fn length_m(&self, edges: impl IntoIterator<Item = EdgeIndex>) -> (f64, usize) {
        let mut sum = (0.0, 0);
        for edge in edges {
            match self.graph[edge].kind {
                EdgeKind::Wire {
                    length_m: Some(length_m),
                    ..
                } => sum.0 += length_m,
                EdgeKind::Wire { length_m: None, .. } => sum.1 += 1,
                _ => {}
            }
        }
        sum
    }

    /// The wires among these edges.
    pub fn wires_among<'a>(
        &'a self,
        edges: impl IntoIterator<Item = EdgeIndex> + 'a,
    ) -> impl Iterator<Item = &'a crate::ids::WireId> + 'a {
        edges.into_iter().filter_map(|edge| match self.of(edge) {
            EdgeOf::Wire(wire) => Some(wire),
            _ => None,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::document;

    const PLAIN: &str = "
        battery BT1
        wire HOT BT1.+ CB1.1 6 1m
        breaker CB1 5
        switch S1 1-2
        wire A CB1.2 S1.1 20 0.5m
        load LT1 1
        wire B S1.2 LT1.+ 20 2m
        ground GB1 1 2 3
        wire N LT1.- GB1.1 20 0.7m
        wire G GB1.2 BT1.- 6 0.3m
    ";

    struct Traced {
        netlist: Netlist,
        returns: Returns,
        feeds: Feeds,
    }

    /// The plain circuit with more lines; a later wire of the same name replaces the earlier one.
    fn plain_with(more: &str) -> Traced {
        traced(&format!("{PLAIN}{more}"))
    }

    fn traced(text: &str) -> Traced {
        let netlist = Netlist::new(&document(text));
        let returns = Returns::new(&netlist);
        let feeds = Feeds::new(&netlist, &returns, SUPPLY);
        Traced {
            netlist,
            returns,
            feeds,
        }
    }

    impl Traced {
        fn feed(&self, id: &str) -> Vec<Feed> {
            let wire = self.netlist.wire(&id.into()).expect("a wire");
            self.feeds.of_edge(&self.netlist, wire.edge)
        }

        fn node(&self, name: &str) -> NodeIndex {
            let (device, terminal) = name.split_once('.').expect("DEVICE.TERMINAL");
            self.netlist
                .terminal(&device.into(), &terminal.into())
                .expect("a terminal")
        }

        fn names(&self, edges: &[EdgeIndex]) -> Vec<String> {
            let wires = self.netlist.wires_among(edges.iter().copied());
            wires.map(ToString::to_string).collect()
        }
    }

    #[test]
    fn a_wire_is_fed_through_the_protectors_before_it() {
        let t = plain_with("");
        assert_eq!(t.feed("HOT")[0].protectors, []);
        let feed = &t.feed("B")[0];
        assert_eq!(feed.protectors.len(), 1);
        assert_eq!(t.names(&feed.path), ["HOT", "A"]);
        assert_eq!(t.netlist.length_m(feed.path.iter().copied()), (1.5, 0));
        assert_eq!(t.feed("N"), [], "a return is not fed");
    }

    #[test]
    fn a_way_round_a_protector_counts() {
        let t = plain_with("wire ROUND BT1.+ S1.2");
        assert_eq!(t.feed("B")[0].protectors, []);
        assert_eq!(t.names(&t.feed("B")[0].path), ["ROUND"]);
        assert_eq!(
            t.netlist.length_m(t.feed("B")[0].path.iter().copied()),
            (0.0, 1)
        );
    }

    #[test]
    fn current_comes_through_a_diode_one_way() {
        let through = |ends: [&str; 2]| {
            plain_with(&format!(
                "diode D1
                 unit X 1
                 wire D1A S1.2 D1.{} 20 0.2m
                 wire D1B D1.{} X.1 20 0.2m",
                ends[0], ends[1]
            ))
            .feed("D1B")
            .len()
        };
        assert_eq!(through(["A", "K"]), 1);
        assert_eq!(through(["K", "A"]), 0);
    }

    #[test]
    fn an_alternator_feeds_from_its_side_of_the_limiter() {
        let t = plain_with(
            "alternator G1 40
             limiter FL1 60
             wire OUT G1.B FL1.1 8 1m
             wire IN FL1.2 BT1.+ 8 0.6m
             wire CASE G1.CASE GB1.3 8 0.6m",
        );
        let feeds = |id: &str| -> Vec<(bool, usize)> {
            let is_battery =
                |edge: EdgeIndex| matches!(t.netlist.graph[edge].kind, EdgeKind::Battery { .. });
            let feed = |feed: &Feed| (is_battery(feed.source), feed.protectors.len());
            t.feed(id).iter().map(feed).collect()
        };
        assert_eq!(feeds("OUT"), [(true, 1), (false, 0)]);
        assert_eq!(feeds("IN"), [(true, 0), (false, 1)]);
        assert_eq!(feeds("CASE"), []);
    }

    #[test]
    fn downstream_ends_at_loads_returns_and_the_next_protector() {
        let t = plain_with(
            "fuse F1 1
             unit X 1
             wire C S1.2 F1.1 22 0.1m
             wire D F1.2 X.1 22 0.1m",
        );
        let breaker = t.netlist.element_edge(&"CB1".into(), &"protector".into());
        let breaker = breaker.expect("the breaker");
        let down = t.netlist.downstream(&t.returns, breaker, t.node("CB1.2"));
        let mut names = t.names(&down.edges);
        names.sort_unstable();
        assert_eq!(names, ["A", "B", "C"]);
    }

    #[test]
    fn a_load_finds_its_way_home_or_has_none() {
        let t = plain_with("");
        let path = t.netlist.return_path(&t.returns, t.node("LT1.-"));
        assert_eq!(t.names(&path.expect("a way home")), ["N"]);
        assert!(t.returns.has(t.node("LT1.-")) && !t.returns.has(t.node("LT1.+")));
        let t = plain_with("wire N LT1.- open");
        assert_eq!(t.netlist.return_path(&t.returns, t.node("LT1.-")), None);
    }

    #[test]
    fn a_return_through_a_switch_is_a_way_home() {
        let t = plain_with(
            "switch S2 1-2
             wire N LT1.- S2.1 20 0.1m
             wire N2 S2.2 GB1.3 20 0.1m",
        );
        assert!(
            !t.returns.has(t.node("LT1.-")),
            "metal alone does not reach it"
        );
        let path = t.netlist.return_path(&t.returns, t.node("LT1.-"));
        assert_eq!(t.names(&path.expect("a way home")), ["N", "N2"]);
    }

    #[test]
    fn supply_wired_to_return_by_mistake_stays_supply() {
        let t = plain_with("wire OOPS S1.1 GB1.3 20 0.1m");
        assert!(!t.returns.has(t.node("BT1.+")) && !t.returns.has(t.node("CB1.1")));
        assert_eq!(t.feed("HOT").len(), 1);
        let groups = t.netlist.groups(Through::METAL);
        assert!(
            groups.same(t.node("CB1.2"), t.node("BT1.-")),
            "and the two are joined"
        );
    }

    #[test]
    fn two_batteries_in_series_have_one_return() {
        let t = traced(
            "battery BT1
             battery BT2
             ground GB1 1 2
             wire LINK BT1.- BT2.+ 2 0.2m
             wire G BT2.- GB1.1 2 0.2m",
        );
        assert!(t.returns.has(t.node("GB1.2")));
        assert!(!t.returns.has(t.node("BT1.-")));
    }
}
