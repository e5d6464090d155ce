//! Which switches and breakers each line needs: one line for each way of setting switches, so that a motor
//! has one for each direction.

use petgraph::graph::{EdgeIndex, NodeIndex};

use super::{card::end, pulled::Pulled};
use crate::{
    analysis::working::{MOST_RELAYS, Throws},
    document::{Document, ElementKind},
    ids::{DeviceId, ElementId},
    netlist::{AtNode, EdgeKind, Netlist, Reach, trace::SUPPLY},
    order::Map,
    solve::Ways,
};

/// One line before it is solved.
pub(super) struct Plan<'a> {
    /// The place of its protector among all.
    pub(super) at: usize,
    /// The battery that feeds it.
    pub(super) source: EdgeIndex,
    /// The protected side.
    pub(super) load_side: NodeIndex,
    /// What is downstream of the protector.
    pub(super) down: std::rc::Rc<Reach>,
    /// The positions and protectors that it needs.
    pub(super) throws: Throws<'a>,
    /// What it feeds: load or coil, the lead that is fed, the other.
    pub(super) takers: Vec<(EdgeIndex, NodeIndex, NodeIndex)>,
    /// True if switches alone connect supply to the protector.
    fed_bare: bool,
    /// What connects supply to the protector.
    feed: Throws<'a>,
    /// The number of parts and wires from the battery to the protector.
    pub(super) upstream: usize,
    /// True if the protector is fed from its other end than on its first line: an alternate feed.
    pub(super) is_alternate: bool,
}

/// The lines of every protector that a battery can feed.
pub(super) fn plans<'a>(netlist: &'a Netlist, ways: &Ways, all: &[Pulled]) -> Vec<Plan<'a>> {
    let mut plans = Vec::new();
    for (at, pulled) in all.iter().enumerate() {
        let Some(Fed {
            source,
            near,
            throws: feed,
            upstream,
        }) = fed(netlist, ways, pulled.edge)
        else {
            continue;
        };
        let load_side = netlist.other(pulled.edge, near);
        let down = std::rc::Rc::new(netlist.downstream(&ways.returns, pulled.edge, load_side));
        let fed_bare = !feed
            .protectors
            .iter()
            .any(|edge| all.iter().any(|it| it.edge == *edge));
        let plan = |throws: Throws<'a>, takers| Plan {
            at,
            source,
            load_side,
            down: std::rc::Rc::clone(&down),
            throws,
            takers,
            fed_bare,
            feed: feed.clone(),
            upstream,
            is_alternate: false,
        };
        let first = plans.len();
        for (taker, needs) in takers(netlist, ways, &down, &feed) {
            let mut here = plans[first..].iter_mut();
            let same = here.find_map(|plan: &mut Plan<'a>| {
                let has = plan.takers.iter().any(|it| it.0 == taker.0);
                let both = plan.throws.and(&needs)?;
                // The other direction of a motor, or of its relay, is a separate line.
                (!has).then_some((plan, both))
            });
            match same {
                Some((plan, both)) => {
                    plan.throws = both;
                    plan.takers.push(taker);
                }
                None => plans.push(plan(needs, vec![taker])),
            }
        }
        if plans.len() == first {
            plans.push(plan(feed.clone(), Vec::new()));
        }
        if let Some(other) = fed_at(netlist, ways, pulled.edge, source, load_side) {
            plans.push(Plan {
                at,
                source,
                load_side: near,
                down: std::rc::Rc::new(netlist.downstream(&ways.returns, pulled.edge, near)),
                throws: other.throws.clone(),
                takers: Vec::new(),
                fed_bare: false,
                feed: other.throws,
                upstream: other.upstream,
                is_alternate: true,
            });
        }
    }
    plans
}

/// How a battery feeds a protector: the battery, the end that is fed, what must be switched, and how far it is.
struct Fed<'a> {
    source: EdgeIndex,
    near: NodeIndex,
    throws: Throws<'a>,
    upstream: usize,
}

/// How the battery feeds this end of a protector without the protector itself, by the shortest path.
fn fed_at<'a>(
    netlist: &'a Netlist,
    ways: &Ways,
    protector: EdgeIndex,
    source: EdgeIndex,
    near: NodeIndex,
) -> Option<Fed<'a>> {
    let reach = netlist.reach_by(
        [netlist.ends(source).0],
        |edge, forward| edge != protector && SUPPLY.passes(&netlist.graph[edge], forward),
        |node| AtNode::stop_if(ways.returns.has(node)),
    );
    let path = reach.path(netlist, near)?;
    let mut throws = Throws::default();
    let upstream = path.len();
    let fits = throws.along(netlist, ways, path.into_iter(), MOST_RELAYS);
    fits.then_some(Fed {
        source,
        near,
        throws,
        upstream,
    })
}

/// The first way in which a battery feeds a protector.
fn fed<'a>(netlist: &'a Netlist, ways: &Ways, protector: EdgeIndex) -> Option<Fed<'a>> {
    let (a, b) = netlist.ends(protector);
    [a, b].into_iter().find_map(|near| {
        let feeds = ways.feeds.of_node(netlist, near);
        feeds.into_iter().find_map(|feed| {
            let is_battery = matches!(netlist.graph[feed.source].kind, EdgeKind::Battery { .. });
            let mut throws = Throws::default();
            let upstream = feed.path.len();
            let fits = is_battery
                && !feed.path.contains(&protector)
                && throws.along(netlist, ways, feed.path.into_iter(), MOST_RELAYS);
            fits.then_some(Fed {
                source: feed.source,
                near,
                throws,
                upstream,
            })
        })
    })
}

/// A load or coil, the lead that is fed, the other lead.
type Taker = (EdgeIndex, NodeIndex, NodeIndex);

/// The loads and coils downstream of a protector, in each direction in which they work, with what must be switched
/// for it.
fn takers<'a>(
    netlist: &'a Netlist,
    ways: &Ways,
    down: &Reach,
    feed: &Throws<'a>,
) -> Vec<(Taker, Throws<'a>)> {
    let mut found: Vec<(Taker, Throws<'a>)> = Vec::new();
    let edges = down.nodes.iter().flat_map(|node| netlist.edges_at(*node));
    for edge in edges {
        let (a, b) = netlist.ends(edge);
        let both_ways = match netlist.graph[edge].kind {
            EdgeKind::Coil { .. } => true,
            EdgeKind::Load => netlist.load(edge).is_some_and(|it| it.either_way),
            _ => continue,
        };
        if found.iter().any(|(it, _)| it.0 == edge) {
            continue;
        }
        let rounds = if both_ways { 2 } else { 1 };
        for (plus, minus) in [(a, b), (b, a)].into_iter().take(rounds) {
            if ways.returns.has(plus) {
                continue;
            }
            let Some(path) = down.path(netlist, plus) else {
                continue;
            };
            let home = match ways.returns.has(minus) {
                true => Some(Vec::new()),
                false => netlist.return_path(&ways.returns, minus),
            };
            let mut throws = feed.clone();
            let way = path.into_iter().chain(home.unwrap_or_default());
            if throws.along(netlist, ways, way, MOST_RELAYS) {
                found.push(((edge, plus, minus), throws));
            }
        }
    }
    found
}

/// The switches that connect supply to every protector which needs no other one.
pub(super) fn master<'a>(plans: &[Plan<'a>]) -> Throws<'a> {
    let mut master = Throws::default();
    for plan in plans.iter().filter(|it| it.fed_bare) {
        if let Some(both) = master.and(&plan.feed) {
            master = both;
        }
    }
    master
}

/// Switches that must leave their rest position, and where to.
pub(super) fn moved(document: &Document, throws: &Throws<'_>) -> Vec<(String, usize)> {
    let one = |((device, element), allowed): (&(&DeviceId, &ElementId), &u64)| {
        let found = document.devices.get(*device)?.element(element)?;
        let ElementKind::Switch(switch) = &found.is else {
            return None;
        };
        let rests = switch.rest < 64 && (allowed >> switch.rest) & 1 == 1;
        (!rests).then(|| {
            (
                format!("{device}/{element}"),
                allowed.trailing_zeros() as usize,
            )
        })
    };
    throws.positions.iter().filter_map(one).collect()
}

/// The pins of a line, by lead; its own terminal if it feeds nothing.
pub(super) fn leads(
    netlist: &Netlist,
    plan: &Plan<'_>,
    ground: Option<NodeIndex>,
) -> Vec<(NodeIndex, NodeIndex)> {
    let mut leads: Map<NodeIndex, NodeIndex> = Map::new();
    for (_, plus, minus) in &plan.takers {
        if !leads.contains_key(plus) && end(netlist, *plus) != crate::document::End::Open {
            leads.insert(*plus, *minus);
        }
    }
    if leads.is_empty() {
        return ground.map(|it| (plan.load_side, it)).into_iter().collect();
    }
    leads.iter().map(|(plus, minus)| (*plus, *minus)).collect()
}
