//! Our solver beside scipy's `splu` on the same matrix, in one run: the first solve with its ordering, and
//! solves with new values and a kept structure. Needs Python with numpy and scipy: `cargo test peer`
//! puts one under `target/tools/python`.

#![allow(missing_docs, reason = "a bench has no items to document")]

use std::{fmt::Write as _, fs, path::Path, process::Command, time::Instant};

use loomwright_core::solve::{Element, Law, Network, Solver};

const NODES: usize = 5009;
const ROUNDS: usize = 31;

/// Numbers that look random and are the same in every run.
fn number(seed: &mut u64) -> f64 {
    *seed = seed
        .wrapping_mul(6_364_136_223_846_793_005)
        .wrapping_add(1_442_695_040_888_963_407);
    (*seed >> 33) as f64 / f64::from(1u32 << 31)
}

/// Circuits of breaker, wires, load and returns off two buses, with ties between neighbours: no diodes and
/// nothing of constant power, so that one factor gives the operating point.
fn network() -> Network {
    let mut seed = 7;
    let mut elements = Vec::new();
    let mut add = |law, a, b| {
        elements.push(Element {
            law,
            a,
            b,
            off: false,
        });
    };
    let battery = Law::Battery {
        emf_v: 12.8,
        ohm: 0.005,
        charge_ohm: None,
    };
    add(battery, 1, 0);
    add(Law::Resistor { ohm: 0.0005 }, 1, 2);
    add(Law::Resistor { ohm: 0.001 }, 2, 3);
    let mut next = 4;
    let mut last = None;
    while next + 5 <= NODES {
        let mut ohm = |low: f64, high: f64| low + (high - low) * number(&mut seed);
        let bus = if next % 2 == 0 { 2 } else { 3 };
        let [a, b, c, d, e] = [0, 1, 2, 3, 4].map(|it| next + it);
        add(
            Law::Resistor {
                ohm: ohm(0.002, 0.02),
            },
            bus,
            a,
        );
        add(
            Law::Resistor {
                ohm: ohm(0.01, 0.2),
            },
            a,
            b,
        );
        add(
            Law::Resistor {
                ohm: ohm(0.01, 0.2),
            },
            b,
            c,
        );
        add(
            Law::LoadResistance {
                ohm: ohm(2.0, 60.0),
            },
            c,
            d,
        );
        add(
            Law::Resistor {
                ohm: ohm(0.01, 0.2),
            },
            d,
            e,
        );
        add(
            Law::Resistor {
                ohm: ohm(0.001, 0.01),
            },
            e,
            0,
        );
        if let Some(last) = last {
            add(
                Law::Resistor {
                    ohm: ohm(50.0, 500.0),
                },
                last,
                d,
            );
        }
        last = Some(d);
        next += 5;
    }
    Network {
        node_count: next,
        reference: 0,
        elements,
    }
}

fn median_ms(mut times: Vec<f64>) -> f64 {
    times.sort_by(f64::total_cmp);
    times[times.len() / 2] * 1e3
}

/// The nodal matrix with the reference pinned, as rows, columns and values.
fn matrix(network: &Network) -> String {
    let mut text = format!("{}\n0 0 1.0\n", network.node_count);
    for element in &network.elements {
        let (Law::Resistor { ohm } | Law::LoadResistance { ohm } | Law::Battery { ohm, .. }) =
            element.law
        else {
            continue;
        };
        let (a, b, g) = (element.a, element.b, 1.0 / ohm);
        let _ = writeln!(
            text,
            "{a} {a} {g:e}\n{b} {b} {g:e}\n{a} {b} {:e}\n{b} {a} {:e}",
            -g, -g
        );
    }
    text
}

fn main() {
    let mut network = network();
    let first = (0..ROUNDS).map(|_| {
        let began = Instant::now();
        let mut solver = Solver::new(&network).expect("a sound network");
        solver.solve(&network).expect("an operating point");
        began.elapsed().as_secs_f64()
    });
    let first_ms = median_ms(first.collect());
    let mut solver = Solver::new(&network).expect("a sound network");
    let again = (0..ROUNDS).map(|round| {
        for element in &mut network.elements {
            if let Law::LoadResistance { ohm } = &mut element.law {
                *ohm *= 1.0 + 1e-3 * (round + 1) as f64;
            }
        }
        let began = Instant::now();
        solver.solve_on(&network).expect("an operating point");
        began.elapsed().as_secs_f64()
    });
    let again_ms = median_ms(again.collect());
    println!(
        "{} nodes; ours: first solve {first_ms:.2} ms, new values {again_ms:.3} ms",
        network.node_count
    );
    let top = Path::new(env!("CARGO_MANIFEST_DIR")).join("..");
    let file = top.join("target/splu-matrix.txt");
    fs::write(&file, matrix(&network)).expect("the target folder can be written");
    let python = std::env::var_os("LOOMWRIGHT_PYTHON")
        .unwrap_or_else(|| top.join("target/tools/python/bin/python").into());
    let ran = Command::new(python)
        .arg(top.join("tests/peers/splu.py"))
        .arg(&file)
        .args([first_ms, again_ms].map(|it| it.to_string()))
        .status();
    if !ran.is_ok_and(|it| it.success()) {
        println!("scipy did not run: `cargo test peer` installs it");
    }
}
