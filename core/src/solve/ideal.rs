//! Currents in elements without resistance, whose two nodes were merged for the solution.
//!
//! Parallel elements form a bundle. A bundle whose removal separates the nodes (a bridge) carries
//! exactly the current of the nodes beyond it. Any other is in a loop, and no law determines how
//! the loop shares its current. Complexity: linear in nodes and elements.

use crate::order::InOrder;
use std::collections::{BTreeMap, BTreeSet};

use petgraph::algo::bridges;
use petgraph::graph::{NodeIndex, UnGraph};
use petgraph::unionfind::UnionFind;
use petgraph::visit::EdgeRef;

use super::network::Network;
use super::solution::Undetermined;

/// Elements without resistance between the same two nodes; the lower node first.
struct Bundle {
    nodes: (usize, usize),
    elements: Vec<usize>,
}

/// Fills in the currents of the elements without resistance. `currents` holds, for every other element,
/// the current from `a` to `b`.
pub(super) fn share(network: &Network, currents: &mut [Option<f64>]) -> Vec<Undetermined> {
    let bundles = bundles(network);
    if bundles.is_empty() {
        return Vec::new();
    }
    let mut graph = UnGraph::<(), usize>::with_capacity(network.node_count, bundles.len());
    for _ in 0..network.node_count {
        graph.add_node(());
    }
    for (at, bundle) in bundles.iter().enumerate() {
        graph.add_edge(
            NodeIndex::new(bundle.nodes.0),
            NodeIndex::new(bundle.nodes.1),
            at,
        );
    }
    let bridges: BTreeSet<usize> = bridges(&graph).map(|edge| *edge.weight()).collect();
    let through = currents_through_tree(&graph, drawn(network, currents), bundles.len());

    let mut undetermined = Vec::new();
    let mut loops = UnionFind::<usize>::new(network.node_count);
    for (at, bundle) in bundles.iter().enumerate() {
        if !bridges.contains(&at) {
            loops.union(bundle.nodes.0, bundle.nodes.1);
            continue;
        }
        let first = bundle.elements[0];
        let sum_amp = if network.elements[first].a == bundle.nodes.0 {
            through[at]
        } else {
            -through[at]
        };
        if bundle.elements.len() == 1 {
            currents[first] = Some(sum_amp);
        } else {
            undetermined.push(Undetermined {
                elements: bundle.elements.clone(),
                sum_amp: Some(sum_amp),
            });
        }
    }
    let mut in_loop: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
    for (_, bundle) in bundles
        .iter()
        .enumerate()
        .filter(|(at, _)| !bridges.contains(at))
    {
        in_loop
            .entry(loops.find(bundle.nodes.0))
            .or_default()
            .extend(&bundle.elements);
    }
    undetermined.extend(in_loop.into_values().map(|mut elements| {
        elements.order();
        Undetermined {
            elements,
            sum_amp: None,
        }
    }));
    for &element in undetermined.iter().flat_map(|group| &group.elements) {
        currents[element] = None;
    }
    undetermined.order_by_key(|group| group.elements[0]);
    undetermined
}

fn bundles(network: &Network) -> Vec<Bundle> {
    let mut by_nodes: BTreeMap<(usize, usize), Vec<usize>> = BTreeMap::new();
    for (element, e) in network.elements.iter().enumerate() {
        if !e.off && e.law.is_ideal() && e.a != e.b {
            by_nodes
                .entry((e.a.min(e.b), e.a.max(e.b)))
                .or_default()
                .push(element);
        }
    }
    by_nodes
        .into_iter()
        .map(|(nodes, elements)| Bundle { nodes, elements })
        .collect()
}

/// Current that leaves each node into elements with resistance.
fn drawn(network: &Network, currents: &[Option<f64>]) -> Vec<f64> {
    let mut drawn = vec![0.0; network.node_count];
    for (e, current) in network.elements.iter().zip(currents) {
        if !e.off && !e.law.is_ideal() {
            let amp = current.unwrap_or(0.0);
            drawn[e.a] += amp;
            drawn[e.b] -= amp;
        }
    }
    drawn
}

/// For each bundle of a spanning forest the current from its lower to its higher node; 0 for the rest.
/// A bridge is in every spanning forest, and for a bridge this is its true current.
fn currents_through_tree(
    graph: &UnGraph<(), usize>,
    mut drawn: Vec<f64>,
    bundles: usize,
) -> Vec<f64> {
    let mut through = vec![0.0; bundles];
    let mut seen = vec![false; graph.node_count()];
    for start in graph.node_indices() {
        if seen[start.index()] {
            continue;
        }
        seen[start.index()] = true;
        let mut order = vec![(start, None)];
        let mut next = 0;
        while next < order.len() {
            let node = order[next].0;
            for edge in graph.edges(node) {
                let other = if edge.source() == node {
                    edge.target()
                } else {
                    edge.source()
                };
                if !seen[other.index()] {
                    seen[other.index()] = true;
                    order.push((other, Some((node, *edge.weight()))));
                }
            }
            next += 1;
        }
        for &(node, parent) in order.iter().rev() {
            let Some((parent, bundle)) = parent else {
                continue;
            };
            let amp = drawn[node.index()];
            drawn[parent.index()] += amp;
            through[bundle] = if parent < node { amp } else { -amp };
        }
    }
    through
}
