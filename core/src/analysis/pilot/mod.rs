//! What a pilot can do in flight when something electrical fails, and what comes of it: each step solved, with the
//! minutes that the batteries last after it.

mod alternator_out;
mod hands;
mod low_volts;
mod smoke;
mod stays_live;

pub use self::{
    alternator_out::{AlternatorOut, alternator_out},
    hands::{Act, Step},
    low_volts::{LowVolts, Reading, Reset, low_volts},
    smoke::{Smoke, smoke},
    stays_live::{Circuit, StaysLive, Welded, stays_live},
};
