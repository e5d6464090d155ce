//! Laws that must hold on any network.

use proptest::prelude::*;

use super::dense::every_point;
use super::{element, network, resistor};
use crate::solve::assemble::{From, PowerAs, System};
use crate::solve::network::{Element, Law, Network};
use crate::solve::{NoPoint, Solution, Solver, active_set, islands, path, solve};

/// A resistance from a milliohm to ten ohm, evenly by magnitude.
fn ohm() -> impl Strategy<Value = f64> {
    (-3.0..1.0).prop_map(|exponent: f64| 10f64.powf(exponent))
}

fn pair(nodes: usize) -> impl Strategy<Value = (usize, usize)> {
    (0..nodes, 1..nodes).prop_map(move |(a, step)| (a, (a + step) % nodes))
}

fn some<L: Strategy<Value = Law>>(
    law: L,
    nodes: usize,
    count: std::ops::RangeInclusive<usize>,
) -> impl Strategy<Value = Vec<Element>> {
    let one = (law, pair(nodes)).prop_map(|(law, (a, b))| element(law, a, b));
    prop::collection::vec(one, count)
}

/// A connected network of 4 to 9 nodes: a tree of resistors, a few more, sources, diodes, loads.
fn networks() -> impl Strategy<Value = Network> {
    (4usize..=9).prop_flat_map(|nodes| {
        let tree = prop::collection::vec((any::<prop::sample::Index>(), ohm()), nodes - 1);
        let tree = tree.prop_map(|branches| {
            let branch = |(at, (parent, ohm)): (usize, (prop::sample::Index, f64))| {
                element(resistor(ohm), at + 1, parent.index(at + 1))
            };
            branches
                .into_iter()
                .enumerate()
                .map(branch)
                .collect::<Vec<_>>()
        });
        let battery = (9.0..15.0, ohm()).prop_map(|(emf_v, ohm)| Law::Battery {
            emf_v,
            ohm,
            charge_ohm: None,
        });
        let alternator =
            (11.0..15.0, ohm(), 1.0..80.0).prop_map(|(v_set, ohm_reg, i_max)| Law::Alternator {
                v_set,
                ohm_reg,
                i_max,
            });
        let diode = (0.2..0.9, ohm()).prop_map(|(vf_v, ohm)| Law::Diode { vf_v, ohm });
        let current = (0.1..8.0).prop_map(|amp| Law::LoadCurrent { amp, v_cut: 0.0 });
        let power = (1.0..120.0).prop_map(|watt| Law::LoadPower { watt, v_cut: 0.0 });
        let more = ohm().prop_map(resistor);
        (
            tree,
            some(more, nodes, 0..=4),
            some(battery, nodes, 1..=2),
            some(alternator, nodes, 0..=1),
            some(diode, nodes, 0..=3),
            some(current, nodes, 0..=1),
            some(power, nodes, 0..=1),
        )
            .prop_map(
                move |(tree, more, battery, alternator, diode, current, power)| Network {
                    node_count: nodes,
                    reference: 0,
                    elements: [tree, more, battery, alternator, diode, current, power].concat(),
                },
            )
    })
}

fn across(volts: &[f64], e: &Element) -> f64 {
    volts[e.a] - volts[e.b]
}

/// Current from `a` to `b` of an element; sources are counted out of `a`.
fn a_to_b(solution: &Solution, e: &Element, at: usize) -> f64 {
    let amp = solution.currents[at].expect("no element without resistance in these networks");
    if matches!(e.law, Law::Battery { .. } | Law::Alternator { .. }) {
        -amp
    } else {
        amp
    }
}

proptest! {
    // A quarter of the usual number, because the core is not optimized in tests; PROPTEST_CASES
    // sets more.
    #![proptest_config(ProptestConfig {
        cases: ProptestConfig::default().cases / 4,
        failure_persistence: None,
        ..ProptestConfig::default()
    })]

    /// Computed: every combination of states by dense elimination, `dense.rs`.
    #[test]
    fn agrees_with_trying_every_state(network in networks()) {
        let points = every_point(&network);
        let solution = solve(&network).unwrap();
        prop_assert_ne!(solution.no_point, Some(NoPoint::Numerical));
        if points.is_empty() {
            prop_assert!(!solution.converged || !solution.dropped.is_empty());
        }
        // A load that would run backwards is off by rule 3; a lower root of a power load is unstable.
        let usable = |volts: &[f64]| network.elements.iter().all(|e| match e.law {
            Law::LoadCurrent { .. } => across(volts, e) > 0.01,
            Law::LoadPower { .. } => across(volts, e) > 0.5,
            _ => true,
        });
        let usable: Vec<_> = points.iter().filter(|p| usable(&p.volts)).collect();
        if usable.len() == points.len() && !usable.is_empty() {
            prop_assert!(solution.converged, "a point exists");
            let matches = |volts: &[f64]| volts.iter().zip(&solution.node_volts).all(|(x, y)| (x - y).abs() < 1e-6);
            prop_assert!(usable.iter().any(|p| matches(&p.volts)), "{:?}", solution.node_volts);
        }
    }

    /// The path from 0 V, the fallback when switching pieces cycles, finds the same point.
    #[test]
    fn path_alone_finds_the_point(network in networks()) {
        let islands = islands::find(&network);
        let mut system = System::new(&network).unwrap();
        system.take(&network, &islands, From::Rest);
        active_set::settle(&mut system, PowerAs::Trickle).unwrap();
        let flipped = system.volts.clone();
        path::follow(&mut system, PowerAs::Trickle).unwrap();
        // A current load fed only by a leak is at millions of volts: compare relative values.
        let near = |x: f64, y: f64| (x - y).abs() <= 1e-6 * (1.0 + x.abs());
        prop_assert!(flipped.iter().zip(&system.volts).all(|(x, y)| near(*x, *y)));
    }

    /// Kirchhoff's current law at every node, and power in = power out, both theorems.
    #[test]
    fn currents_and_power_balance(network in networks()) {
        let solution = solve(&network).unwrap();
        let mut sums = vec![0.0; network.node_count];
        let (mut power, mut turned_over) = (0.0, 0.0);
        for (at, e) in network.elements.iter().enumerate() {
            let amp = a_to_b(&solution, e, at);
            sums[e.a] += amp;
            sums[e.b] -= amp;
            power += amp * across(&solution.node_volts, e);
            turned_over += (amp * across(&solution.node_volts, e)).abs();
        }
        prop_assert!(sums.iter().all(|sum| sum.abs() < 1e-7), "{:?}", sums);
        prop_assert!(power.abs() < 1e-9 * turned_over + 1e-7, "{} W of {} W", power, turned_over);
    }

    /// All voltages times k, currents times k, powers times k squared: a theorem for these laws.
    #[test]
    fn scales_with_its_sources(network in networks(), k in 0.25..4.0f64) {
        let mut scaled = network.clone();
        for e in &mut scaled.elements {
            match &mut e.law {
                Law::Battery { emf_v, .. } => *emf_v *= k,
                Law::Alternator { v_set, i_max, .. } => { *v_set *= k; *i_max *= k; }
                Law::Diode { vf_v, .. } => *vf_v *= k,
                Law::LoadCurrent { amp, .. } => *amp *= k,
                Law::LoadPower { watt, .. } => *watt *= k * k,
                _ => {}
            }
        }
        let (one, other) = (solve(&network).unwrap(), solve(&scaled).unwrap());
        prop_assert_eq!(&one.dropped, &other.dropped);
        for (x, y) in one.node_volts.iter().zip(&other.node_volts) {
            prop_assert!((k * x - y).abs() < 1e-6, "{} {}", k * x, y);
        }
    }

    /// A reused structure gives the same figures as a new one, whatever was solved in between.
    #[test]
    fn remembers_nothing_but_structure(network in networks(), off in any::<prop::sample::Index>()) {
        let mut opened = network.clone();
        let at = off.index(opened.elements.len());
        opened.elements[at].off = true;
        let mut solver = Solver::new(&network).unwrap();
        let first = solver.solve(&network).unwrap();
        prop_assert_eq!(&solver.solve(&opened).unwrap(), &solve(&opened).unwrap());
        prop_assert_eq!(&solver.solve(&network).unwrap(), &first);
    }

    /// Any number in a law gives an error or a result, never a panic or NaN.
    #[test]
    fn any_number_is_an_error_or_a_result(
        figures in prop::array::uniform8(prop_oneof![
            any::<f64>(), Just(0.0), Just(-1.0), Just(f64::NAN), Just(f64::INFINITY), 1e-6..1e6,
            Just(1e-5), Just(1e9),
        ]),
    ) {
        let [a, b, c, d, e, f, g, h] = figures;
        let network = network(4, &[
            (Law::Battery { emf_v: a, ohm: b, charge_ohm: Some(c) }, 1, 0),
            (Law::Alternator { v_set: a, ohm_reg: c, i_max: d }, 2, 0),
            (resistor(e), 1, 2),
            (Law::Diode { vf_v: f, ohm: b }, 2, 3),
            (Law::LoadResistance { ohm: g }, 3, 0),
            (Law::LoadCurrent { amp: h, v_cut: a }, 2, 0),
            (Law::LoadPower { watt: g, v_cut: f }, 3, 0),
            (Law::CurrentSource { amp: d }, 3, 1),
        ]);
        if let Ok(solution) = solve(&network) {
            let finite = solution.node_volts.iter().all(|v| v.is_finite());
            prop_assert!(finite || solution.no_point == Some(NoPoint::Numerical));
        }
    }
}
