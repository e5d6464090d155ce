//! Everything that is tested from outside the crates, in one binary: it links once.

mod browser;
mod cli;
mod figures;
mod fixes;
mod grounds;
mod hostile;
mod hunt;
mod measured;
mod mistakes;
mod network_cases;
mod noise;
mod not_set;
mod papers;
mod peer_networks;
mod peer_paths;
mod power_up;
mod published;
mod renumbered;
mod ring_out;
mod samples;
mod seeded;
mod seeds;
mod size;
mod stillness;
mod tidy;
mod worked_examples;
