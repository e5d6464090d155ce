//! The direct-current operating point of a network: voltages, currents, and which loads cannot run.

pub mod bare;
pub mod network;
pub mod solution;
mod active_set;
mod assemble;
mod constant_power;
mod drops;
mod factor;
mod ideal;
mod islands;
mod path;
mod piecewise;
mod solver;

#[cfg(test)]
mod tests;

pub use network::{Element, Law, Network, NetworkError};
pub use solution::{DropReason, Dropped, Island, IslandStatus, NoPoint, PartState, Solution, Undetermined};
pub use solver::{Solver, solve};
