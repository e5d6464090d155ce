//! What follows from the solved circuit: what loads take and lose, what stops when a part fails or
//! shorts, how long the battery lasts, what a meter should show, and where returns form loops.

pub mod bare;
pub mod endurance;
pub mod failures;
pub mod load_drop;
pub mod loads;
pub mod loops;
pub mod phasors;
pub mod pilot;
pub mod power_up;
pub mod report;
pub mod return_graph;
pub mod ring_out;
pub mod shared_returns;
pub mod shorts;
pub mod stays_on;
mod working;

pub use endurance::{Endurance, endurance};
pub use load_drop::LoadDrop;
pub use loads::{LoadAnalysis, load_analysis};
pub use report::{SolveReport, StateReport, solve_report};
