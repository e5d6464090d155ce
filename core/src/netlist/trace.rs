//! Walks that the rules ask for: what feeds a wire through which protectors, what a protector
//! protects, where a current goes home. Independent of how switches stand.

use std::collections::VecDeque;

use petgraph::{
    graph::{EdgeIndex, NodeIndex},
    visit::EdgeRef,
};

use super::{AtNode, EdgeKind, EdgeOf, Netlist, Point, Reach, Through};
use crate::document::BarUse;

/// What supply current can pass: anything that can be closed, diodes forward, resistors.
pub const SUPPLY: Through = Through::CLOSABLE.and(Through::DIODES).and(Through::RESISTORS);

/// The return side: every node that metal joins to the negative of a source.
///
/// The walk stops where the supply begins (at a source's positive, a protector, a power bus), so
/// that a wire drawn from supply to return by mistake does not turn the supply into a return.
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
                EdgeKind::Protector { .. } | EdgeKind::Bar(BarUse::Bus) => {
                    (supply[a], supply[b]) = (true, true);
                }
                EdgeKind::Bar(BarUse::Ground) => (anchor[a], anchor[b]) = (true, true),
                EdgeKind::Tie { .. } | EdgeKind::JackTie(_) => anchor[b] = true,
                EdgeKind::Bond { .. } => (anchor[a], anchor[b]) = (true, true),
                _ => {}
            }
        }
        let starts = starts(netlist, &plus);
        let reach = netlist.reach(starts, Through::METAL, |node| match supply[node.index()] {
            true => AtNode::Stop,
            false => AtNode::GoOn,
        });
        let on: Vec<bool> = netlist.graph.node_indices().map(|node| reach.has(node)).collect();
        for (node, point) in netlist.graph.node_weights().enumerate() {
            anchor[node] |= matches!(point, Point::Structure(_));
            anchor[node] &= on[node];
        }
        Self { on, anchor }
    }

    /// True if the node is on the return side.
    pub fn has(&self, node: NodeIndex) -> bool {
        self.on[node.index()]
    }

    /// True if the node is where returns meet: a ground block, structure, the negative of a source.
    pub fn is_anchor(&self, node: NodeIndex) -> bool {
        self.anchor[node.index()]
    }
}

/// The negatives of sources that are not the positive of another one in series.
fn starts(netlist: &Netlist, plus: &[bool]) -> Vec<NodeIndex> {
    let groups = netlist.groups(Through::METAL);
    let mut has_plus = vec![false; plus.len()];
    for node in netlist.graph.node_indices().filter(|node| plus[node.index()]) {
        has_plus[groups.of(node) as usize] = true;
    }
    let all: Vec<_> = netlist.sources().map(|source| netlist.ends(source).1).collect();
    let ends: Vec<_> =
        all.iter().copied().filter(|node| !has_plus[groups.of(*node) as usize]).collect();
    if ends.is_empty() { all } else { ends }
}

/// How a source feeds a place.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Feed {
    /// The battery or alternator.
    pub source: EdgeIndex,
    /// The edges from its positive up to the place, in order.
    pub path: Vec<EdgeIndex>,
    /// The protectors among them, in order; as few as any way from this source has.
    pub protectors: Vec<EdgeIndex>,
}

struct Tree {
    source: EdgeIndex,
    /// By node: protectors passed, edges passed, the last edge.
    reached: Vec<Option<(u32, u32, Option<EdgeIndex>)>>,
}

/// Every way out of every source, by fewest protectors.
pub struct Feeds(Vec<Tree>);

impl Feeds {
    /// Walks out of each source's positive through `through` ([`SUPPLY`], usually), never onto the
    /// return side. O(sources x edges).
    pub fn new(netlist: &Netlist, returns: &Returns, through: Through) -> Self {
        Self(netlist.sources().map(|source| Tree::grow(netlist, returns, through, source)).collect())
    }

    /// How each source that can feed this edge does, up to the end of it that is nearer.
    pub fn of_edge(&self, netlist: &Netlist, edge: EdgeIndex) -> Vec<Feed> {
        let (a, b) = netlist.ends(edge);
        self.feeds(netlist, [a, b])
    }

    /// How each source that can feed this node does.
    pub fn of_node(&self, netlist: &Netlist, node: NodeIndex) -> Vec<Feed> {
        self.feeds(netlist, [node, node])
    }

    /// True if any source can feed the node.
    pub fn reach(&self, node: NodeIndex) -> bool {
        self.0.iter().any(|tree| tree.reached[node.index()].is_some())
    }

    fn feeds(&self, netlist: &Netlist, ends: [NodeIndex; 2]) -> Vec<Feed> {
        let feed = |tree: &Tree| {
            let by_distance = |node: &NodeIndex| {
                tree.reached[node.index()].map(|(protectors, edges, _)| (protectors, edges))
            };
            let nearer =
                ends.into_iter().filter(|n| by_distance(n).is_some()).min_by_key(by_distance)?;
            let path = tree.path(netlist, nearer);
            let is_protector =
                |edge: &EdgeIndex| matches!(netlist.graph[*edge].kind, EdgeKind::Protector { .. });
            let protectors = path.iter().copied().filter(is_protector).collect();
            Some(Feed { source: tree.source, path, protectors })
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
        // A protector costs one, anything else nothing: two-ended queue instead of a heap.
        let mut queue = VecDeque::from([(start, 0, 0)]);
        while let Some((node, protectors, edges)) = queue.pop_front() {
            if reached[node.index()].is_some_and(|best| (best.0, best.1) != (protectors, edges)) {
                continue;
            }
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
                    match costs {
                        true => queue.push_back((next, now.0, now.1)),
                        false => queue.push_front((next, now.0, now.1)),
                    }
                }
            }
        }
        Self { source, reached }
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
    /// load, the return side or a source's positive, whatever way switches stand.
    pub fn downstream(&self, returns: &Returns, protector: EdgeIndex, from: NodeIndex) -> Reach {
        let through = SUPPLY.without(Through::PROTECTORS);
        let is_source_plus = |node: NodeIndex| {
            self.edges_at(node)
                .any(|edge| self.graph[edge].kind.is_source() && self.ends(edge).0 == node)
        };
        self.reach_by(
            [from],
            |edge, forward| edge != protector && through.passes(&self.graph[edge], forward),
            |node| match returns.has(node) || is_source_plus(node) {
                true => AtNode::Stop,
                false => AtNode::GoOn,
            },
        )
    }

    /// The way from a node (a load's negative) to the nearest place where returns meet: a ground
    /// block, structure, or the negative of a source. None if there is no way, however switches stand.
    pub fn return_path(&self, returns: &Returns, from: NodeIndex) -> Option<Vec<EdgeIndex>> {
        if returns.is_anchor(from) {
            return Some(Vec::new());
        }
        let through = Through::CLOSABLE.and(Through::DIODES);
        let reach = self.reach([from], through, |node| match returns.is_anchor(node) {
            true => AtNode::Stop,
            false => AtNode::GoOn,
        });
        let home = reach.nodes.iter().copied().find(|node| returns.is_anchor(*node))?;
        reach.path(self, home)
    }

    /// Length of the wires among these edges, m, and how many of them have none given.
    pub fn length_m(&self, edges: impl IntoIterator<Item = EdgeIndex>) -> (f64, usize) {
        let mut sum = (0.0, 0);
        for edge in edges {
            match self.graph[edge].kind {
                EdgeKind::Wire { length_m: Some(length_m), .. } => sum.0 += length_m,
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
        edges.into_iter().filter_map(|edge| match &self.graph[edge].of {
            EdgeOf::Wire(wire) => Some(wire),
            _ => None,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::super::small::Small;
    use super::*;
    use crate::document::Document;

    /// Battery - wire hot - 5 A breaker - wire a - switch - wire b - load - wire n - ground block - wire g.
    fn plain() -> Small {
        Small::default()
            .battery()
            .wire("hot", "bt/+", "cb/1", 6, 1.0)
            .element("cb", "p", "protector", "line:1 load:2 rating_a:5 style:breaker")
            .wire("a", "cb/2", "s/1", 20, 0.5)
            .switch("s", "s", &[&[], &[["1", "2"]]])
            .wire("b", "s/2", "lt/+", 20, 2.0)
            .load("lt", "constant_power", 1.0)
            .wire("n", "lt/-", "gb/1", 20, 0.7)
            .bar("gb", "bar", "ground", &["1", "2", "3"])
            .wire("g", "gb/2", "bt/-", 6, 0.3)
    }

    struct Traced {
        netlist: Netlist,
        returns: Returns,
        feeds: Feeds,
    }

    fn traced(document: &Document) -> Traced {
        let netlist = Netlist::new(document);
        let returns = Returns::new(&netlist);
        let feeds = Feeds::new(&netlist, &returns, SUPPLY);
        Traced { netlist, returns, feeds }
    }

    impl Traced {
        fn wire(&self, id: &str) -> EdgeIndex {
            self.netlist.wire(&id.into()).expect("a wire").edge
        }

        fn feed(&self, id: &str) -> Vec<Feed> {
            self.feeds.of_edge(&self.netlist, self.wire(id))
        }

        fn node(&self, device: &str, terminal: &str) -> NodeIndex {
            self.netlist.terminal(&device.into(), &terminal.into()).expect("a terminal")
        }

        fn names<'a>(&'a self, edges: &'a [EdgeIndex]) -> Vec<&'a str> {
            self.netlist.wires_among(edges.iter().copied()).map(|wire| wire.as_str()).collect()
        }
    }

    #[test]
    fn a_wire_is_fed_through_the_protectors_before_it() {
        let t = traced(&plain().0);
        assert_eq!(t.feed("hot")[0].protectors, []);
        let feed = &t.feed("b")[0];
        assert_eq!(feed.protectors.len(), 1);
        assert_eq!(t.names(&feed.path), ["hot", "a"]);
        assert_eq!(t.netlist.length_m(feed.path.iter().copied()), (1.5, 0));
        assert_eq!(t.feed("n"), [], "a return is not fed");
    }

    #[test]
    fn a_way_round_a_protector_counts() {
        let t = traced(&plain().wire("round", "bt/+", "s/2", 20, 0.0).0);
        assert_eq!(t.feed("b")[0].protectors, []);
        assert_eq!(t.names(&t.feed("b")[0].path), ["round"]);
    }

    #[test]
    fn current_comes_through_a_diode_one_way() {
        let through = plain()
            .wire("d1", "s/2", "d/a", 20, 0.2)
            .element("d", "d", "diode", "anode:a cathode:k vf_v:0.7 ohm:0.01")
            .wire("d2", "d/k", "x/1", 20, 0.2);
        assert_eq!(traced(&through.0).feed("d2").len(), 1);
        let back = plain()
            .wire("d1", "s/2", "d/k", 20, 0.2)
            .element("d", "d", "diode", "anode:a cathode:k vf_v:0.7 ohm:0.01")
            .wire("d2", "d/a", "x/1", 20, 0.2);
        assert_eq!(traced(&back.0).feed("d2"), []);
    }

    #[test]
    fn an_alternator_feeds_from_its_side_of_the_limiter() {
        let document = plain()
            .element("g", "g", "alternator", "plus:b minus:case set_v:14.2 ohm:0.01 limit_a:40")
            .wire("out", "g/b", "fl/1", 8, 1.0)
            .element("fl", "p", "protector", "line:1 load:2 rating_a:60 style:limiter")
            .wire("in", "fl/2", "bt/+", 8, 0.6)
            .wire("case", "g/case", "gb/3", 8, 0.6);
        let t = traced(&document.0);
        let protectors =
            |id| t.feed(id).iter().map(|feed| feed.protectors.len()).collect::<Vec<_>>();
        let kinds = |id: &str| {
            t.feed(id)
                .iter()
                .map(|feed| matches!(t.netlist.graph[feed.source].kind, EdgeKind::Battery { .. }))
                .collect::<Vec<_>>()
        };
        assert_eq!(kinds("out"), [true, false]);
        assert_eq!(protectors("out"), [1, 0], "battery through the limiter, alternator bare");
        assert_eq!(protectors("in"), [0, 1]);
        assert_eq!(t.feed("case"), []);
    }

    #[test]
    fn downstream_ends_at_loads_returns_and_the_next_protector() {
        let document = plain()
            .wire("c", "s/2", "f/1", 22, 0.1)
            .element("f", "p", "protector", "line:1 load:2 rating_a:1 style:fuse")
            .wire("d", "f/2", "x/1", 22, 0.1);
        let t = traced(&document.0);
        let breaker = t.netlist.element_edge(&"cb".into(), &"p".into()).expect("the breaker");
        let down = t.netlist.downstream(&t.returns, breaker, t.node("cb", "2"));
        let mut names = t.names(&down.edges);
        names.sort_unstable();
        assert_eq!(names, ["a", "b", "c"]);
    }

    #[test]
    fn a_load_finds_its_way_home_or_has_none() {
        let t = traced(&plain().0);
        let path = t.netlist.return_path(&t.returns, t.node("lt", "-")).expect("a way home");
        assert_eq!(t.names(&path), ["n"]);
        assert!(t.returns.has(t.node("lt", "-")) && !t.returns.has(t.node("lt", "+")));
        let mut cut = plain().0;
        cut.wires.remove("n");
        let t = traced(&cut);
        assert_eq!(t.netlist.return_path(&t.returns, t.node("lt", "-")), None);
    }

    #[test]
    fn a_return_through_a_switch_is_a_way_home() {
        let mut document = plain()
            .switch("s2", "s", &[&[], &[["1", "2"]]])
            .wire("n2", "s2/2", "gb/3", 20, 0.1);
        document = document.wire("n", "lt/-", "s2/1", 20, 0.1);
        let t = traced(&document.0);
        assert!(!t.returns.has(t.node("lt", "-")), "not on the return side as it rests");
        let path = t.netlist.return_path(&t.returns, t.node("lt", "-")).expect("a way home");
        assert_eq!(t.names(&path), ["n", "n2"]);
    }

    #[test]
    fn supply_wired_to_return_by_mistake_stays_supply() {
        let t = traced(&plain().wire("oops", "s/1", "gb/3", 20, 0.1).0);
        assert!(!t.returns.has(t.node("bt", "+")) && !t.returns.has(t.node("cb", "1")));
        assert_eq!(t.feed("hot").len(), 1);
        let groups = t.netlist.groups(Through::METAL);
        assert!(groups.same(t.node("cb", "2"), t.node("bt", "-")), "and the two are joined");
    }

    #[test]
    fn two_batteries_in_series_have_one_return() {
        let document = Small::default()
            .battery()
            .element("b2", "b", "battery", "plus:+ minus:- emf_v:12.8 ohm:0.01")
            .wire("link", "bt/-", "b2/+", 2, 0.2)
            .wire("g", "b2/-", "gb/1", 2, 0.2)
            .bar("gb", "bar", "ground", &["1", "2"]);
        let t = traced(&document.0);
        assert!(t.returns.has(t.node("gb", "2")));
        assert!(!t.returns.has(t.node("bt", "-")));
    }
}
