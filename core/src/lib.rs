//! Loomwright's core: the record of an aircraft's wiring, its circuit, its rules and its papers.
//!
//! ```text
//!  file ──exchange──► Document ◄──edit── functions return a Change ◄── tools, details, mends
//!                        │                    │
//!                        │                    └─► history (undo, redo) ─► compare, merge
//!                        ▼
//!                     netlist          who is joined to whom, through what
//!                        ▼
//!                      solve           volts and amps, state by state
//!                        ▼
//!                    analysis         loads, failures, shorts, endurance, what a meter shows
//!                        ▼
//!                      rules           findings · not checked · accepted
//!                     ╱      ╲
//!               reports      drawing   scene of a sheet ──► the app paints it
//! ```
//!
//! Pure: no browser, no clock, no randomness, no files. Same input, same bytes.

#![forbid(unsafe_code)]

pub mod analysis;
pub mod catalogue;
pub mod document;
pub mod drawing;
pub mod edit;
pub mod exchange;
pub mod ids;
pub mod markup;
pub mod netlist;
pub mod noise;
pub mod order;
pub mod reports;
pub mod rules;
pub mod solve;
pub mod sources;
pub mod standards;
#[cfg(any(test, feature = "testing"))]
pub mod testing;
pub mod units;
