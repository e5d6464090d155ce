//! How long an operating point takes: structure and first solve, and solves with a kept structure.

#![allow(missing_docs, reason = "criterion's macros make public items")]

use std::hint::black_box;

use criterion::{Criterion, criterion_group, criterion_main};
use loomwright_core::solve::{Element, Law, Network, Solver};

/// Numbers that look random and are the same in every run.
struct Numbers(u64);

impl Numbers {
    fn next(&mut self) -> u64 {
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        self.0 >> 33
    }

    fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * (self.next() % 10_000) as f64 / 10_000.0
    }
}

/// A radial network with a mesh of returns: battery, alternator and a diode-fed second bus; circuits of
/// breaker, two wires, load and return; every eighth load is constant power; insulation ties across.
fn generate(nodes: usize) -> Network {
    let mut numbers = Numbers(1);
    let mut elements = Vec::new();
    let mut add = |law, a, b| {
        elements.push(Element {
            law,
            a,
            b,
            off: false,
        });
    };
    // 0 airframe, 1 battery, 2 bus, 3 alternator, 4 second bus, 5 ground block.
    add(
        Law::Battery {
            emf_v: 12.8,
            ohm: 0.001,
            charge_ohm: Some(0.05),
        },
        1,
        0,
    );
    add(Law::Resistor { ohm: 0.0002 }, 1, 2);
    add(
        Law::Alternator {
            v_set: 14.2,
            ohm_reg: 0.002,
            i_max: 400.0,
        },
        3,
        0,
    );
    add(Law::Resistor { ohm: 0.0005 }, 3, 2);
    add(
        Law::Diode {
            vf_v: 0.45,
            ohm: 0.002,
        },
        2,
        4,
    );
    add(
        Law::Battery {
            emf_v: 12.6,
            ohm: 0.02,
            charge_ohm: None,
        },
        4,
        0,
    );
    add(Law::Resistor { ohm: 0.0002 }, 5, 0);
    let mut next = 6;
    let mut circuit = 0;
    while next + 5 <= nodes {
        let bus = if circuit % 5 == 0 { 4 } else { 2 };
        add(Law::Resistor { ohm: 0.015 }, bus, next);
        add(
            Law::Resistor {
                ohm: numbers.between(0.01, 0.1),
            },
            next,
            next + 1,
        );
        add(
            Law::Resistor {
                ohm: numbers.between(0.01, 0.1),
            },
            next + 1,
            next + 2,
        );
        let load = match circuit % 8 {
            0 | 4 => Law::LoadPower {
                watt: numbers.between(2.0, 20.0),
                v_cut: 9.0,
            },
            1 => Law::LoadCurrent {
                amp: numbers.between(0.1, 1.0),
                v_cut: 8.0,
            },
            _ => Law::LoadResistance {
                ohm: numbers.between(10.0, 100.0),
            },
        };
        add(load, next + 2, next + 3);
        add(
            Law::Resistor {
                ohm: numbers.between(0.01, 0.1),
            },
            next + 3,
            next + 4,
        );
        add(
            Law::Resistor { ohm: 0.001 },
            next + 4,
            if circuit % 3 == 0 { 0 } else { 5 },
        );
        if circuit > 0 {
            let other = 6 + 5 * (numbers.next() as usize % circuit);
            add(Law::Resistor { ohm: 10_000.0 }, next + 2, other + 2);
        }
        next += 5;
        circuit += 1;
    }
    Network {
        node_count: next,
        reference: 0,
        elements,
    }
}

fn solve(c: &mut Criterion) {
    for nodes in [500, 5_000] {
        let network = generate(nodes);
        let mut solver = Solver::new(&network).expect("the generated network is sound");
        let solution = solver
            .solve(&network)
            .expect("the generated network is sound");
        assert!(
            solution.converged && solution.dropped.is_empty(),
            "{:?}",
            solution.no_point
        );
        c.bench_function(&format!("structure and solve, {nodes} nodes"), |b| {
            b.iter(|| loomwright_core::solve::solve(black_box(&network)));
        });
        c.bench_function(&format!("solve with kept structure, {nodes} nodes"), |b| {
            b.iter(|| solver.solve(black_box(&network)));
        });
        let mut opened = network.clone();
        let mut at = 0;
        c.bench_function(
            &format!("solve with one element open, {nodes} nodes"),
            |b| {
                b.iter(|| {
                    opened.elements[at].off = false;
                    at = (at + 1) % opened.elements.len();
                    opened.elements[at].off = true;
                    solver.solve(black_box(&opened))
                });
            },
        );
        c.bench_function(&format!("margin, {nodes} nodes"), |b| {
            b.iter(|| solver.margin(black_box(&network)));
        });
    }
}

criterion_group!(benches, solve);
criterion_main!(benches);
