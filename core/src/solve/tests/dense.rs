//! An independent computation of the operating point: every combination of part states is tried
//! with a dense elimination, and consistent ones are kept. It shares no code with the solver.

use crate::solve::network::{Law, Network};

/// The leak is part of the element model, so both computations have it.
const LEAK_S: f64 = 1e-9;

/// Solves a dense system by elimination with row exchange; `None` if it is singular.
pub(super) fn eliminate(mut rows: Vec<Vec<f64>>, mut right: Vec<f64>) -> Option<Vec<f64>> {
    let n = right.len();
    for col in 0..n {
        let pivot = (col..n).max_by(|&x, &y| rows[x][col].abs().total_cmp(&rows[y][col].abs()))?;
        if rows[pivot][col].abs() < 1e-14 {
            return None;
        }
        rows.swap(col, pivot);
        right.swap(col, pivot);
        let (done, rest) = rows.split_at_mut(col + 1);
        let top = &done[col];
        for (offset, row) in rest.iter_mut().enumerate() {
            let share = row[col] / top[col];
            for (cell, above) in row.iter_mut().zip(top).skip(col) {
                *cell -= share * above;
            }
            right[col + 1 + offset] -= share * right[col];
        }
    }
    for col in (0..n).rev() {
        let known: f64 = (col + 1..n).map(|k| rows[col][k] * right[k]).sum();
        right[col] = (right[col] - known) / rows[col][col];
    }
    Some(right)
}

/// Conductance and current at zero volt, from a to b, of an element in a state; the number of states.
fn piece(law: &Law, state: usize) -> (f64, f64) {
    match (*law, state) {
        (Law::Resistor { ohm } | Law::LoadResistance { ohm }, _) => (1.0 / ohm, 0.0),
        (Law::Battery { emf_v, ohm, .. }, _) => (1.0 / ohm, -emf_v / ohm),
        (Law::Diode { vf_v, ohm }, 1) => (1.0 / ohm + LEAK_S, -vf_v / ohm),
        (Law::Alternator { v_set, ohm_reg, .. }, 1) => (1.0 / ohm_reg + LEAK_S, -v_set / ohm_reg),
        (Law::Alternator { i_max, .. }, 2) => (LEAK_S, -i_max),
        (Law::Diode { .. } | Law::Alternator { .. }, _) => (LEAK_S, 0.0),
        (Law::LoadCurrent { amp, .. } | Law::CurrentSource { amp }, _) => (0.0, amp),
        (Law::LoadPower { .. } | Law::Ideal, _) => (0.0, 0.0),
    }
}

fn states(law: &Law) -> usize {
    match law {
        Law::Diode { .. } => 2,
        Law::Alternator { .. } => 3,
        _ => 1,
    }
}

/// True if the state agrees with the voltage.
fn agrees(law: &Law, state: usize, u: f64) -> bool {
    const NEAR_A: f64 = 1e-7;
    match (*law, state) {
        (Law::Diode { vf_v, ohm }, 0) => (u - vf_v) / ohm <= NEAR_A,
        (Law::Diode { vf_v, ohm }, _) => (u - vf_v) / ohm >= -NEAR_A,
        (
            Law::Alternator {
                v_set,
                ohm_reg,
                i_max,
            },
            state,
        ) => {
            let out = (v_set - u) / ohm_reg;
            match state {
                0 => out <= NEAR_A,
                1 => out >= -NEAR_A && out <= i_max + NEAR_A,
                _ => out >= i_max - NEAR_A,
            }
        }
        _ => true,
    }
}

/// Node voltages with the given states, and `draw` ampere through the constant-power load if there is one.
fn linear(network: &Network, states: &[usize], draw: f64, with_sources: bool) -> Option<Vec<f64>> {
    let n = network.node_count;
    let mut rows = vec![vec![0.0; n]; n];
    let mut right = vec![0.0; n];
    for (e, &state) in network.elements.iter().zip(states) {
        let (g, mut c) = piece(&e.law, state);
        if !with_sources {
            c = 0.0;
        }
        if matches!(e.law, Law::LoadPower { .. }) {
            c = draw;
        }
        rows[e.a][e.a] += g;
        rows[e.b][e.b] += g;
        rows[e.a][e.b] -= g;
        rows[e.b][e.a] -= g;
        right[e.a] -= c;
        right[e.b] += c;
    }
    rows[network.reference] = (0..n)
        .map(|k| f64::from(u8::from(k == network.reference)))
        .collect();
    right[network.reference] = 0.0;
    eliminate(rows, right)
}

/// One self-consistent operating point.
pub(super) struct Point {
    pub(super) volts: Vec<f64>,
}

/// All operating points of a connected network with at most one constant-power load, whose upper voltage
/// follows in closed form from the open voltage and resistance seen from it.
pub(super) fn every_point(network: &Network) -> Vec<Point> {
    let counts: Vec<usize> = network.elements.iter().map(|e| states(&e.law)).collect();
    let mut found = Vec::new();
    for mut number in 0..counts.iter().product::<usize>() {
        let states: Vec<usize> = counts
            .iter()
            .map(|&count| {
                let state = number % count;
                number /= count;
                state
            })
            .collect();
        let Some(volts) = with_power(network, &states) else {
            continue;
        };
        let ok = network
            .elements
            .iter()
            .zip(&states)
            .all(|(e, &s)| agrees(&e.law, s, volts[e.a] - volts[e.b]));
        if ok {
            found.push(Point { volts });
        }
    }
    found
}

fn with_power(network: &Network, states: &[usize]) -> Option<Vec<f64>> {
    let open = linear(network, states, 0.0, true)?;
    let load = network.elements.iter().find_map(|e| match e.law {
        Law::LoadPower { watt, .. } => Some((watt, e.a, e.b)),
        _ => None,
    });
    let Some((watt, a, b)) = load else {
        return Some(open);
    };
    let open_v = open[a] - open[b];
    let unit = linear(network, states, 1.0, false)?;
    let ohm = unit[b] - unit[a];
    let inside = 1.0 - 4.0 * watt * ohm / (open_v * open_v);
    if inside < 0.0 || open_v <= 0.0 {
        return None;
    }
    let port_v = open_v / 2.0 * (1.0 + inside.sqrt());
    linear(network, states, watt / port_v, true)
}
