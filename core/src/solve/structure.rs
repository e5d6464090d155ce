//! Structure of the nodal equations: once per topology, independent of what is on or off.
//!
//! Every element keeps its place in every state, so only values change between states. Nodes
//! connected without resistance share a row.

use petgraph::unionfind::UnionFind;

use super::factor::{Factor, Pattern, sparse_order};
use super::network::{Network, NetworkError};

/// Rows of an element's two nodes, and the cell between them if they differ.
#[derive(Clone, Copy, Debug)]
pub(super) struct Place {
    pub(super) a: usize,
    pub(super) b: usize,
    pub(super) slot: Option<usize>,
}

/// Rows, cells and factor of the equations for networks of one shape.
pub(super) struct Structure {
    node_count: usize,
    /// Per element: its nodes and whether they are merged.
    shape: Vec<(usize, usize, bool)>,
    pub(super) row_of_node: Vec<usize>,
    /// Place of each element.
    pub(super) places: Vec<Place>,
    /// Cell on the diagonal of each row.
    pub(super) diagonal: Vec<usize>,
    /// Number of cells.
    pub(super) cells: usize,
    pub(super) factor: Factor,
}

fn shape(network: &Network) -> impl Iterator<Item = (usize, usize, bool)> {
    network
        .elements
        .iter()
        .map(|e| (e.a, e.b, !e.off && e.law.is_ideal()))
}

impl Structure {
    /// Builds the structure. The network is already checked.
    pub(super) fn new(network: &Network) -> Result<Self, NetworkError> {
        let shape: Vec<_> = shape(network).collect();
        let mut merged = UnionFind::<usize>::new(network.node_count);
        for &(a, b, _) in shape.iter().filter(|(_, _, ideal)| *ideal) {
            merged.union(a, b);
        }
        // Rows are numbered by first appearance, then reordered to keep the factor sparse.
        let root_of_node = merged.into_labeling();
        let mut row_of_root = vec![usize::MAX; network.node_count];
        let mut rows = 0;
        for &root in &root_of_node {
            if row_of_root[root] == usize::MAX {
                row_of_root[root] = rows;
                rows += 1;
            }
        }
        let mut row_of_node: Vec<usize> =
            root_of_node.iter().map(|&root| row_of_root[root]).collect();
        let pairs = |row_of_node: &[usize]| -> Vec<(usize, usize)> {
            shape
                .iter()
                .map(|&(a, b, _)| (row_of_node[a], row_of_node[b]))
                .collect()
        };
        let order = sparse_order(&Pattern::new(rows, pairs(&row_of_node).into_iter()))?;
        for row in &mut row_of_node {
            *row = order[*row];
        }
        let pairs = pairs(&row_of_node);
        let pattern = Pattern::new(rows, pairs.iter().copied());
        let places = pairs
            .iter()
            .map(|&(a, b)| Place {
                a,
                b,
                slot: if a == b { None } else { pattern.slot(a, b) },
            })
            .collect();
        Ok(Self {
            node_count: network.node_count,
            shape,
            row_of_node,
            places,
            diagonal: (0..rows)
                .map(|row| pattern.col_start[row + 1] - 1)
                .collect(),
            cells: pattern.row.len(),
            factor: Factor::new(&pattern)?,
        })
    }

    /// True if the structure is for a network of this shape.
    pub(super) fn fits(&self, network: &Network) -> bool {
        self.node_count == network.node_count
            && self.shape.len() == network.elements.len()
            && self.shape.iter().copied().eq(shape(network))
    }
}
