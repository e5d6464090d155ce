//! A fix takes no supply, return or low away, and joins no two supplies.

use crate::order::InOrder;
use petgraph::graph::{EdgeIndex, NodeIndex};

use super::tried::{Side, Tried};
use crate::{
    document::{ElementKind, Role},
    edit::Key,
    ids::DeviceId,
    netlist::{AtNode, EdgeOf, Groups, Through, trace::SUPPLY},
    order::Map,
    rules::{Facts, and_list, facts::TerminalAt},
};

/// Every load keeps its supply and its return, and runs in every phase in which it ran.
pub(super) fn loads_run(tried: &Tried<'_, '_, '_>) -> Option<String> {
    let (before, after) = (&tried.before.facts, &tried.after.facts);
    after.netlist().loads().find_map(|(now, _)| {
        let of = after.netlist().of(now);
        let EdgeOf::Element(device, element, _) = of else {
            return None;
        };
        let was = before.netlist().element_edge(device, element)?;
        let label = || after.label(Facts::subject_of(of));
        if is_fed(before, was) && !is_fed(after, now) {
            return Some(format!("{} would lose its supply", label()));
        }
        if comes_home(before, was) && !comes_home(after, now) {
            return Some(format!("{} would lose its return", label()));
        }
        let mut points = before.points().iter().zip(after.points());
        let (_, stops) = points.find(|(was_at, now_at)| {
            was_at.lost_to(was).is_some() && now_at.lost_to(now).is_none()
        })?;
        Some(format!(
            "{} would stop in \"{}\"",
            label(),
            after.label(&stops.state)
        ))
    })
}

fn is_fed(facts: &Facts<'_>, load: EdgeIndex) -> bool {
    let (plus, minus) = facts.netlist().ends(load);
    [plus, minus]
        .into_iter()
        .any(|end| facts.feeds().reach(end) && !facts.returns().has(end))
}

fn comes_home(facts: &Facts<'_>, load: EdgeIndex) -> bool {
    let netlist = facts.netlist();
    let (plus, minus) = netlist.ends(load);
    let mut ends = [plus, minus].into_iter();
    ends.any(|end| {
        facts.returns().has(end)
            || !facts.feeds().reach(end) && netlist.return_path(facts.returns(), end).is_some()
    })
}

/// Every pin that something was joined to still has something: an audio low its low, a signal its partner.
pub(super) fn nothing_is_left_open(tried: &Tried<'_, '_, '_>) -> Option<String> {
    let (was, now) = (Joined::new(tried.before), Joined::new(tried.after));
    let left = now.side.facts.terminals().find(|at| {
        let before = was.side.facts.terminal(at.id, &at.terminal.id);
        let node = was.side.facts.netlist().terminal(at.id, &at.terminal.id);
        before.is_some()
            && node.is_some_and(|node| was.has_partner(at, node))
            && !now.has_partner(at, at.node)
    })?;
    let label = tried.after.facts.label((left.id, &left.terminal.id));
    Some(match left.terminal.role {
        Role::AudioLow => format!("{label} would lose its only low"),
        _ => format!("{label} would be joined to nothing"),
    })
}

/// Terminals by what metal joins.
struct Joined<'s, 'd> {
    side: &'s Side<'d>,
    groups: Groups,
    by_group: Map<u32, Vec<(&'d DeviceId, Role)>>,
}

impl<'s, 'd> Joined<'s, 'd> {
    fn new(side: &'s Side<'d>) -> Self {
        let groups = side.facts.netlist().groups(Through::METAL);
        let mut by_group: Map<u32, Vec<(&DeviceId, Role)>> = Map::new();
        for TerminalAt {
            id,
            device,
            terminal,
            node,
        } in side.facts.terminals()
        {
            let jack = device
                .elements
                .iter()
                .any(|it| matches!(it.is, ElementKind::Jack(_)));
            let says_nothing =
                matches!(terminal.role, Role::Passive | Role::ShieldTie | Role::Spare);
            // Two jacks alone hear nothing.
            let is_jack_low = jack && terminal.role == Role::AudioLow;
            if !says_nothing && !is_jack_low {
                by_group
                    .or_default(groups.of(node))
                    .push((id, terminal.role));
            }
        }
        Self {
            side,
            groups,
            by_group,
        }
    }

    /// True if a pin is joined to a pin of another device that it can work with.
    fn has_partner(&self, at: &TerminalAt<'_>, node: NodeIndex) -> bool {
        let works = |role: Role| match at.terminal.role {
            Role::Passive | Role::ShieldTie | Role::Spare => false,
            Role::AudioLow => matches!(role, Role::AudioLow | Role::SignalReturn | Role::Return),
            _ => true,
        };
        let found = self.by_group.get(&self.groups.of(node));
        found
            .into_iter()
            .flatten()
            .any(|(id, role)| *id != at.id && works(*role))
    }
}

/// No two supplies get joined, and none that a mistake joins are made permanent in a splice.
pub(super) fn supplies_stay_apart(tried: &Tried<'_, '_, '_>) -> Option<String> {
    let facts = &tried.after.facts;
    let netlist = facts.netlist();
    let splices = tried.change.added().filter_map(|key| match key {
        Key::Splice(id) => netlist.end_node(&crate::document::End::Splice(id.clone())),
        _ => None,
    });
    for splice in splices {
        let reach = fed_without(tried.after, |node| node == splice);
        let fed = netlist
            .edges_at(splice)
            .filter(|edge| reach(netlist.other(*edge, splice)));
        let names: Vec<String> =
            (fed.map(|edge| facts.label(Facts::subject_of(netlist.of(edge))))).collect();
        if names.len() > 1 {
            return Some(format!(
                "it would join supplies: {} are fed each by itself",
                and_list(&names)
            ));
        }
    }
    let was = tried.before.facts.netlist().groups(Through::METAL);
    let now = netlist.groups(Through::METAL);
    let ends = tried.change.steps().keys().filter_map(|key| match key {
        Key::Wire(id) => netlist.wire(id),
        _ => None,
    });
    let mut groups: Vec<u32> = ends
        .flat_map(|at| at.ends)
        .map(|node| now.of(node))
        .collect();
    groups.order();
    groups.dedup();
    groups.into_iter().find_map(|group| {
        let entries = entries(tried.after, &now, group);
        if entries.len() < 2 {
            return None;
        }
        // The most that any part of it had before.
        let members = facts.terminals().filter(|at| now.of(at.node) == group);
        let before = tried.before.facts.netlist();
        let mut parts: Vec<u32> = members
            .filter_map(|at| before.terminal(at.id, &at.terminal.id))
            .map(|node| was.of(node))
            .collect();
        parts.order();
        parts.dedup();
        let most = parts
            .into_iter()
            .map(|part| self::entries(tried.before, &was, part).len())
            .max();
        (entries.len() > most.unwrap_or(0).max(1)).then(|| {
            let names: Vec<String> = (entries.iter())
                .map(|edge| facts.label(Facts::subject_of(netlist.of(*edge))))
                .collect();
            format!("it would join supplies: {}", and_list(&names))
        })
    })
}

/// What supply reaches if it may not pass some nodes: a question to ask of nodes.
fn fed_without(side: &Side<'_>, closed: impl Fn(NodeIndex) -> bool) -> impl Fn(NodeIndex) -> bool {
    let netlist = side.facts.netlist();
    let pluses = netlist.sources().map(|source| netlist.ends(source).0);
    let gives = |role: Role| matches!(role, Role::PowerOut | Role::OutputPower);
    let given = side.facts.terminals().filter(|at| gives(at.terminal.role));
    let starts: Vec<NodeIndex> = (pluses.chain(given.map(|at| at.node)))
        .filter(|node| !closed(*node))
        .collect();
    let reach = netlist.reach_by(
        starts,
        |edge, forward| SUPPLY.passes(&netlist.graph[edge], forward),
        |node| AtNode::stop_if(closed(node) || side.facts.returns().has(node)),
    );
    move |node| reach.has(node)
}

/// What feeds a group of joined metal from outside, each by itself: protectors, switches, contacts and diodes with
/// supply beyond, and sources. Nothing feeds the return side.
fn entries(side: &Side<'_>, groups: &Groups, group: u32) -> Vec<EdgeIndex> {
    let netlist = side.facts.netlist();
    let inside = |node: NodeIndex| groups.of(node) == group;
    let fed = fed_without(side, inside);
    let mut all = Vec::new();
    for edge in netlist.graph.edge_indices() {
        let (a, b) = netlist.ends(edge);
        let kind = &netlist.graph[edge].kind;
        if [a, b]
            .into_iter()
            .any(|node| inside(node) && side.facts.returns().has(node))
        {
            return Vec::new();
        }
        let source = kind.is_source() && inside(a);
        let passes = |forward| !kind.is_metal() && SUPPLY.passes(&netlist.graph[edge], forward);
        let into_a = inside(a) && !inside(b) && fed(b) && passes(false);
        let into_b = inside(b) && !inside(a) && fed(a) && passes(true);
        if source || into_a || into_b {
            all.push(edge);
        }
    }
    // A switch is one entry, however many paths it has.
    let mut seen = Vec::new();
    all.retain(|edge| match netlist.of(*edge) {
        EdgeOf::Element(device, element, _) if seen.contains(&(device, element)) => false,
        EdgeOf::Element(device, element, _) => {
            seen.push((device, element));
            true
        }
        _ => true,
    });
    all
}
