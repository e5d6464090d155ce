//! Loomwright tests
