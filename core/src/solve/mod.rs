//! The direct-current operating point of a network: voltages, currents, and which loads cannot run.

mod active_set;
mod assemble;
pub(crate) mod circuit;
mod constant_power;
mod drops;
mod factor;
mod ideal;
mod islands;
mod joined;
pub mod network;
pub mod operating;
mod path;
mod piecewise;
mod reduce;
pub mod resistance;
pub(crate) mod simulator;
pub mod solution;
mod solver;
pub mod states;
mod structure;

#[cfg(test)]
mod tests;

pub use circuit::{Circuit, Ways};
pub(crate) use joined::Joined;
pub use network::{Element, Law, Network, NetworkError};
pub use operating::{AT_REST, DroppedLoad, LIVE_ABOVE_V, Leg, OperatingPoint};
pub use simulator::{Simulator, operate, operate_all};
pub use solution::{
    DropReason, Dropped, Island, IslandStatus, NoPoint, PartState, Solution, Undetermined,
};
pub use solver::{Solver, solve};
pub use states::{Figures, Overrides, load_amps};
