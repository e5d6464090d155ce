//! The direct-current operating point of a network: voltages, currents, and which loads cannot run.

mod active_set;
mod assemble;
pub mod bare;
mod constant_power;
mod drops;
mod factor;
mod ideal;
mod islands;
pub mod network;
mod path;
mod piecewise;
pub mod solution;
mod solver;

#[cfg(test)]
mod tests;

pub use network::{Element, Law, Network, NetworkError};
pub use solution::{
    DropReason, Dropped, Island, IslandStatus, NoPoint, PartState, Solution, Undetermined,
};
pub use solver::{Solver, solve};
