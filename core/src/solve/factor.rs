//! Sparse symmetric factorization L D L^T: ordering and structure once, values as often as needed.
//!
//! The conductance matrix is symmetric and positive definite, so no pivoting is needed. A pivot in
//! D that is not positive has a physical meaning: the network has no stable operating point there.
//! faer does the work (AMD ordering, simplicial factorization).

use crate::order::Grouped;
use faer::dyn_stack::{MemBuffer, MemStack};
use faer::linalg::cholesky::ldlt::factor::LdltRegularization;
use faer::sparse::linalg::SupernodalThreshold;
use faer::sparse::linalg::amd;
use faer::sparse::linalg::cholesky::simplicial::{
    self, SimplicialLdltRef, SymbolicSimplicialCholesky,
};
use faer::sparse::linalg::cholesky::{
    CholeskySymbolicParams, SymbolicCholeskyRaw, SymmetricOrdering, factorize_symbolic_cholesky,
};
use faer::sparse::{SparseColMatRef, SymbolicSparseColMat};
use faer::{Conj, MatMut, Par, Side};

use super::network::NetworkError;

/// A pivot that is zero or negative.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct BadPivot;

/// What a pivot that is not positive means.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Pivots {
    /// The matrix may really be indefinite: report it.
    Tell,
    /// The matrix is positive definite by construction, the pivot is a rounding error: raise it to
    /// the leak.
    Lift,
}

/// Structure and values of one factorization.
pub(super) struct Factor {
    pattern: SymbolicSparseColMat<usize>,
    structure: SymbolicSimplicialCholesky<usize>,
    values: Vec<f64>,
    memory: MemBuffer,
    signs: Vec<i8>,
}

/// Upper triangle by columns, rows in order, the diagonal last in each column.
#[derive(Debug, Default)]
pub(super) struct Pattern {
    pub(super) col_start: Vec<usize>,
    pub(super) row: Vec<usize>,
}

impl Pattern {
    /// Pattern of `size` rows with the whole diagonal and the given pairs.
    pub(super) fn new(size: usize, pairs: impl Iterator<Item = (usize, usize)>) -> Self {
        let pairs: Vec<_> = pairs.map(|(a, b)| (a.max(b), a.min(b))).collect();
        let cells = (0..size).map(|i| (i, i)).chain(pairs);
        // By row, and then by column in that order: the rows of each column are in order.
        let by_row = Grouped::new(size, cells.map(|(col, row)| (row, col)));
        let of_row = |row| by_row.of(row).iter().map(move |&col| (col, row));
        let by_col = Grouped::new(size, (0..size).flat_map(of_row));
        let mut pattern = Self {
            col_start: vec![0],
            row: Vec::new(),
        };
        for col in 0..size {
            let start = pattern.row.len();
            for &row in by_col.of(col) {
                if pattern.row[start..].last() != Some(&row) {
                    pattern.row.push(row);
                }
            }
            pattern.col_start.push(pattern.row.len());
        }
        pattern
    }

    /// The index of the value of cell (a, b).
    pub(super) fn slot(&self, a: usize, b: usize) -> Option<usize> {
        let (col, row) = (a.max(b), a.min(b));
        let start = self.col_start[col];
        self.row[start..self.col_start[col + 1]]
            .binary_search(&row)
            .ok()
            .map(|at| start + at)
    }

    fn structure(&self) -> SymbolicSparseColMat<usize> {
        let size = self.col_start.len() - 1;
        SymbolicSparseColMat::new_checked(
            size,
            size,
            self.col_start.clone(),
            None,
            self.row.clone(),
        )
    }
}

/// New position of each row in an order that keeps the factor sparse.
pub(super) fn sparse_order(pattern: &Pattern) -> Result<Vec<usize>, NetworkError> {
    let structure = pattern.structure();
    let size = structure.nrows();
    let (mut forward, mut inverse) = (vec![0; size], vec![0; size]);
    let mut memory = MemBuffer::try_new(amd::order_scratch::<usize>(size, pattern.row.len()))
        .map_err(|_| NetworkError::TooLarge)?;
    amd::order(
        &mut forward,
        &mut inverse,
        structure.as_ref(),
        amd::Control::default(),
        MemStack::new(&mut memory),
    )
    .map_err(|_| NetworkError::TooLarge)?;
    Ok(inverse)
}

impl Factor {
    /// Builds the structure of the factor of a matrix that is already in a good order.
    pub(super) fn new(pattern: &Pattern) -> Result<Self, NetworkError> {
        let pattern = pattern.structure();
        let size = pattern.nrows();
        let params = CholeskySymbolicParams {
            supernodal_flop_ratio_threshold: SupernodalThreshold::FORCE_SIMPLICIAL,
            ..CholeskySymbolicParams::default()
        };
        let whole = factorize_symbolic_cholesky(
            pattern.as_ref(),
            Side::Upper,
            SymmetricOrdering::Identity,
            params,
        )
        .map_err(|_| NetworkError::TooLarge)?;
        let SymbolicCholeskyRaw::Simplicial(structure) = whole.raw() else {
            return Err(NetworkError::TooLarge);
        };
        let structure = structure.clone();
        let scratch = simplicial::factorize_simplicial_numeric_ldlt_scratch::<usize, f64>(size);
        Ok(Self {
            values: vec![0.0; structure.len_val()],
            memory: MemBuffer::try_new(scratch).map_err(|_| NetworkError::TooLarge)?,
            signs: vec![1; size],
            structure,
            pattern,
        })
    }

    /// Factors the matrix with these values, one for each cell of the pattern.
    pub(super) fn factor(&mut self, cells: &[f64], pivots: Pivots) -> Result<(), BadPivot> {
        let rules = match pivots {
            Pivots::Tell => LdltRegularization::default(),
            Pivots::Lift => LdltRegularization {
                dynamic_regularization_signs: Some(&self.signs),
                dynamic_regularization_delta: super::piecewise::LEAK_S,
                dynamic_regularization_epsilon: super::piecewise::LEAK_S * 1e-3,
            },
        };
        simplicial::factorize_simplicial_numeric_ldlt(
            &mut self.values,
            SparseColMatRef::new(self.pattern.as_ref(), cells),
            rules,
            &self.structure,
            MemStack::new(&mut self.memory),
        )
        .map_err(|_| BadPivot)?;
        // D is at the head of each column of L.
        let heads = &self.structure.col_ptr()[..self.signs.len()];
        if heads.iter().all(|&head| self.values[head] > 0.0) {
            Ok(())
        } else {
            Err(BadPivot)
        }
    }

    /// Solves with the last factorization, in place.
    pub(super) fn solve(&mut self, right: &mut [f64]) {
        let size = right.len();
        SimplicialLdltRef::new(&self.structure, &self.values).solve_in_place_with_conj(
            Conj::No,
            MatMut::from_column_major_slice_mut(right, size, 1),
            Par::Seq,
            MemStack::new(&mut self.memory),
        );
    }
}
