//! The direct-current operating point of a network: voltages, currents, and which loads cannot run.

mod active_set;
mod assemble;
pub mod bare;
mod circuit;
mod constant_power;
mod drops;
pub mod endurance;
mod factor;
pub mod failures;
mod ideal;
mod islands;
pub mod load_drop;
pub mod loads;
pub mod network;
pub mod operating;
mod operator;
mod path;
mod piecewise;
pub mod power_up;
mod reduce;
pub mod report;
pub mod resistance;
pub mod ring_out;
pub mod shorts;
pub mod solution;
mod solver;
pub mod states;
mod structure;
mod working;

#[cfg(test)]
mod tests;

pub use circuit::{Circuit, Ways};
pub use endurance::{Endurance, endurance};
pub use load_drop::LoadDrop;
pub use loads::{LoadAnalysis, load_analysis};
pub use network::{Element, Law, Network, NetworkError};
pub use operating::{AT_REST, DroppedLoad, LIVE_ABOVE_V, Leg, OperatingPoint};
pub use operator::{Operator, operate, operate_all};
pub use report::{SolveReport, StateReport, solve_report};
pub use solution::{
    DropReason, Dropped, Island, IslandStatus, NoPoint, PartState, Solution, Undetermined,
};
pub use solver::{Solver, solve};
pub use states::{Figures, Overrides, load_amps};
