//! Loomwright core.
