//! One integration binary.

mod network_cases;
