//! Islands: the parts of the network connected by conductance, and the 0 V node of each.
//!
//! Constant-current loads, constant-power loads and current sources do not count: they do not hold
//! a node's potential, and counting them would make the matrix singular.

use petgraph::unionfind::UnionFind;

use super::network::{Law, Network};
use super::solution::{Island, IslandStatus};

/// The islands of a network, the referenced one first, the others by their lowest node.
pub(super) struct Islands {
    pub(super) list: Vec<Island>,
    pub(super) of_node: Vec<usize>,
}

/// Complexity: near linear in nodes and elements.
pub(super) fn find(network: &Network) -> Islands {
    const NONE: usize = usize::MAX;
    let mut sets = UnionFind::<usize>::new(network.node_count);
    for element in network
        .elements
        .iter()
        .filter(|e| !e.off && e.law.conducts())
    {
        sets.union(element.a, element.b);
    }
    let root_of_node = sets.into_labeling();

    let mut island_of_root = vec![NONE; network.node_count];
    let referenced = Island {
        reference: network.reference,
        status: IslandStatus::Referenced,
    };
    let mut list = vec![referenced];
    island_of_root[root_of_node[network.reference]] = 0;
    for (node, &root) in root_of_node.iter().enumerate() {
        if island_of_root[root] == NONE {
            island_of_root[root] = list.len();
            list.push(Island {
                reference: node,
                status: IslandStatus::FloatingUnsourced,
            });
        }
    }
    let of_node: Vec<usize> = root_of_node
        .iter()
        .map(|&root| island_of_root[root])
        .collect();

    for element in network.elements.iter().filter(|e| !e.off) {
        let island = &mut list[of_node[element.a]];
        match element.law {
            Law::Battery { .. } | Law::Alternator { .. }
                if island.status == IslandStatus::FloatingUnsourced =>
            {
                *island = Island {
                    reference: element.b,
                    status: IslandStatus::FloatingSourced,
                };
            }
            _ => {}
        }
    }
    Islands { list, of_node }
}
