//! Our solver against numpy and scipy on networks made at random: radial, meshed, with diodes and an
//! alternator, with constant-power loads, with islands, and all of it mixed.
//!
//! `peers/networks.py` makes and solves them, in another way than ours; its head says how.

use std::collections::BTreeMap;
use std::process::Command;

use loomwright_core::{analysis::bare::BareNetwork, solve::Solver};
use loomwright_tests::{python, top};
use serde_json::Value;

const SEED: &str = "20261127";
const COUNT: usize = 1200;

/// Largest difference of a node's voltage, as a part of it.
const LARGEST_PART: f64 = 1e-8;

/// Below this a voltage is compared in volt: a node at ground has no part of itself to be off by.
/// At 1 mV the part above is 10 pV, about what fourteen volt hold in double precision.
const FLOOR_V: f64 = 1e-3;

fn networks() -> Vec<Value> {
    let python = python::ensure().unwrap_or_else(|missing| panic!("{missing}"));
    let output = Command::new(python)
        .arg(top().join("tests/peers/networks.py"))
        .args([SEED, &COUNT.to_string()])
        .output()
        .expect("python starts");
    let errors = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "{errors}");
    let text = String::from_utf8(output.stdout).expect("the script prints text");
    let read = |line| serde_json::from_str(line).expect("a JSON object a line");
    text.lines().map(read).collect()
}

#[test]
fn a_thousand_networks_come_out_as_numpy_and_scipy_have_them() {
    let mut worst: BTreeMap<String, (f64, usize)> = BTreeMap::new();
    let (mut nodes, mut all) = (0, 0);
    for (at, case) in networks().iter().enumerate() {
        let kind = case["kind"].as_str().expect("a kind");
        let bare = BareNetwork::from_value(&case["network"]).expect("a network we read");
        let mut solver = Solver::new(&bare.network).expect("a network we can solve");
        let solution = solver.solve(&bare.network).expect("a network we can solve");
        assert!(solution.converged, "network {at}, {kind}: {case}");
        let dropped: Vec<&str> = solution
            .dropped
            .iter()
            .map(|it| bare.element_ids[it.element].as_str())
            .collect();
        assert_eq!(serde_json::json!(dropped), case["dropped"], "network {at}");
        let theirs = case["node_volts"].as_object().expect("volts by node");
        assert_eq!(theirs.len(), bare.node_names.len(), "network {at}");
        let worst = worst.entry(kind.to_owned()).or_default();
        worst.1 += 1;
        all += 1;
        for (name, ours) in bare.node_names.iter().zip(&solution.node_volts) {
            let theirs = theirs[name].as_f64().expect("a voltage");
            let part = (ours - theirs).abs() / theirs.abs().max(FLOOR_V);
            assert!(
                part <= LARGEST_PART,
                "network {at}, {kind}, node {name}: {ours} V, theirs {theirs} V"
            );
            worst.0 = worst.0.max(part);
            nodes += 1;
        }
    }
    println!("{all} networks, {nodes} nodes; largest difference by kind: {worst:?}");
    assert!(
        all >= 1000 && worst.len() == 6,
        "{all} networks of {worst:?}"
    );
}
