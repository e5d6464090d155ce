//! Complex impedances between numbered nodes, solved at one frequency for any injected currents.
//!
//! Gaussian elimination of the nodal equations, the node with the fewest neighbors first. The
//! matrix is symmetric and its real part is positive definite, as every branch has a resistance, so
//! no pivoting is needed: such a matrix keeps that property at every step (Higham, "Factorizing
//! complex symmetric matrices with positive definite real and imaginary parts", 1998; cited from
//! memory). The complex sparse LU of the library that solves the circuit was measured for this: 139 KB more of
//! WebAssembly, 27 KB of them compressed, in place of these few lines.

use std::collections::{BTreeMap, BTreeSet};

use faer::c64;
use petgraph::unionfind::UnionFind;

/// Conductance from every node to the reference, S, so that no node floats.
const LEAK_S: f64 = 1e-9;
/// Impedance below which two nodes are merged, ohm.
const NONE_OHM: f64 = 1e-7;

/// An impedance between two nodes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Branch {
    /// The nodes.
    pub ends: [usize; 2],
    /// Resistance, ohm.
    pub ohm: f64,
    /// Inductance, H.
    pub henry: f64,
}

impl Branch {
    /// Impedance at a frequency, ohm.
    pub fn impedance(&self, hz: f64) -> c64 {
        c64::new(self.ohm, std::f64::consts::TAU * hz * self.henry)
    }
}

/// One node's equation, solved for that node.
struct Step {
    node: usize,
    pivot: c64,
    /// Nodes eliminated later, with their factors.
    factors: Vec<(usize, c64)>,
}

/// A network at one frequency, ready for any currents.
pub struct Phasors {
    /// By node: the node it was merged into.
    stands_for: Vec<usize>,
    steps: Vec<Step>,
}

impl Phasors {
    /// The network of these branches at a frequency. The reference, if any, is at 0 V.
    pub fn new(node_count: usize, reference: Option<usize>, branches: &[Branch], hz: f64) -> Self {
        let mut one = UnionFind::<usize>::new(node_count);
        for branch in branches {
            if branch.impedance(hz).norm() < NONE_OHM {
                one.union(branch.ends[0], branch.ends[1]);
            }
        }
        let stands_for = one.into_labeling();
        let mut diagonal = vec![c64::new(LEAK_S, 0.0); node_count];
        let mut rows: Vec<BTreeMap<usize, c64>> = vec![BTreeMap::new(); node_count];
        if let Some(node) = reference {
            diagonal[stands_for[node]] += 1.0;
        }
        for branch in branches {
            let [a, b] = branch.ends.map(|node| stands_for[node]);
            if a != b {
                let siemens = branch.impedance(hz).inv();
                for (from, to) in [(a, b), (b, a)] {
                    diagonal[from] += siemens;
                    *rows[from].entry(to).or_default() -= siemens;
                }
            }
        }
        let nodes = (0..node_count).filter(|node| stands_for[*node] == *node);
        let mut queue: BTreeSet<(usize, usize)> =
            nodes.map(|node| (rows[node].len(), node)).collect();
        let mut steps = Vec::with_capacity(queue.len());
        while let Some((_, node)) = queue.pop_first() {
            let pivot = diagonal[node];
            let row: Vec<(usize, c64)> = std::mem::take(&mut rows[node]).into_iter().collect();
            for &(i, y_i) in &row {
                queue.remove(&(rows[i].len(), i));
                rows[i].remove(&node);
                diagonal[i] -= y_i * y_i / pivot;
                for &(j, y_j) in row.iter().filter(|(j, _)| *j != i) {
                    *rows[i].entry(j).or_default() -= y_i * y_j / pivot;
                }
                queue.insert((rows[i].len(), i));
            }
            let factors = row.into_iter().map(|(i, y)| (i, y / pivot)).collect();
            steps.push(Step {
                node,
                pivot,
                factors,
            });
        }
        Self { stands_for, steps }
    }

    /// Volts of every node with `amps` injected at `into` and drawn at `out_of`.
    pub fn volts(&self, amps: f64, out_of: usize, into: usize) -> Vec<c64> {
        let mut volts = vec![c64::new(0.0, 0.0); self.stands_for.len()];
        volts[self.stands_for[into]] += amps;
        volts[self.stands_for[out_of]] -= amps;
        for step in &self.steps {
            let here = volts[step.node];
            for (other, factor) in &step.factors {
                volts[*other] -= factor * here;
            }
            volts[step.node] = here / step.pivot;
        }
        for step in self.steps.iter().rev() {
            for (other, factor) in &step.factors {
                let beyond = volts[*other];
                volts[step.node] -= factor * beyond;
            }
        }
        (self.stands_for.iter()).map(|node| volts[*node]).collect()
    }
}

#[cfg(test)]
mod tests {
    use serde_json::Value;

    use super::*;
    use crate::noise::ripple::{Settings, below_db, frequency_hz, induced_v, mutual_h};

    /// Worked networks, each computed by two other methods (see `how_computed`).
    const CASES: &str = include_str!("../../../tests/data/network-cases.json");

    #[track_caller]
    fn close(what: &str, got: f64, want: f64, tolerance: f64) {
        assert!((got - want).abs() <= tolerance, "{what}: {got} for {want}");
    }

    /// Volts of the named nodes and amps of the named resistors of a case with one injected current.
    fn solved(start: &str) -> (Value, BTreeMap<String, f64>, BTreeMap<String, f64>) {
        let file: Value = serde_json::from_str(CASES).expect("valid JSON");
        let cases = file["network_cases"].as_array().expect("a list");
        let is_it = |case: &&Value| case["name"].as_str().expect("a name").starts_with(start);
        let case = cases.iter().find(is_it).expect("the case").clone();
        let mut nodes: BTreeMap<String, usize> = BTreeMap::new();
        let (mut branches, mut put_in) = (Vec::new(), None);
        for element in case["elements"].as_array().expect("a list") {
            let mut node = |field: &str| {
                let next = nodes.len();
                let name = element[field].as_str().expect("a node").to_owned();
                *nodes.entry(name).or_insert(next)
            };
            let ends = [node("a"), node("b")];
            match element["type"].as_str() {
                Some("isource") => put_in = Some((element["amp"].as_f64().expect("A"), ends)),
                _ => branches.push((
                    element["id"].as_str().expect("an id").to_owned(),
                    Branch {
                        ends,
                        ohm: element["ohm"].as_f64().expect("ohm"),
                        henry: 0.0,
                    },
                )),
            }
        }
        let reference = nodes[case["reference"].as_str().expect("a node")];
        let plain: Vec<Branch> = branches.iter().map(|it| it.1).collect();
        let network = Phasors::new(nodes.len(), Some(reference), &plain, 0.0);
        let (amps, ends) = put_in.expect("an injected current");
        let volts = network.volts(amps, ends[0], ends[1]);
        let across = |it: &Branch| (volts[it.ends[0]] - volts[it.ends[1]]).re / it.ohm;
        let amps = branches.iter().map(|(id, it)| (id.clone(), across(it)));
        let amps = amps.collect();
        (
            case,
            nodes
                .iter()
                .map(|(n, at)| (n.clone(), volts[*at].re))
                .collect(),
            amps,
        )
    }

    #[test]
    fn worked_networks_with_an_injected_current() {
        for start in ["09a", "09b", "22"] {
            let (case, volts, amps) = solved(start);
            let expected = &case["expected"];
            for (field, got) in [("node_volts", &volts), ("currents", &amps)] {
                let wanted = expected[field].as_object().expect("figures");
                for (name, want) in wanted.iter().filter(|(name, _)| got.contains_key(*name)) {
                    let want = want.as_f64().expect("a number");
                    close(&format!("{start} {name}"), got[name], want, 1e-6);
                }
            }
        }
    }

    #[test]
    fn noise_of_a_shorted_jack_against_its_levels() {
        let (case, _, amps) = solved("09b");
        let noise_v = amps["LO_CPHN"] * 0.119_586_614;
        let also = &case["also_expected"];
        let want = |field: &str| also[field].as_f64().expect("a number");
        let settings = Settings::default();
        close("mV", noise_v * 1e3, want("noise_in_series_mV_rms"), 1e-5);
        let db = below_db(noise_v, settings.mic_v).expect("some noise");
        close("mic", db, want("db_re_mic_150mV"), 1e-3);
        let db = below_db(noise_v, settings.phones_v).expect("some noise");
        close("phones", db, want("db_re_phones_5p477V"), 1e-3);
        assert_eq!(below_db(0.0, settings.mic_v), None);
    }

    /// 20 A in 2 mΩ of structure, in parallel with a shield of 66 mΩ with its ends: 0.588 A, by
    /// hand.
    #[test]
    fn shield_beside_structure() {
        let beside = |ohm| Branch {
            ends: [0, 1],
            ohm,
            henry: 0.0,
        };
        let volts =
            Phasors::new(2, Some(0), &[beside(0.002), beside(0.066)], 0.0).volts(20.0, 0, 1);
        close(
            "A",
            (volts[1] - volts[0]).re / 0.066,
            20.0 * 0.002 / 0.068,
            1e-7,
        );
    }

    /// A current divider of example inductances, computed by hand: Za / (Za + Zs).
    #[test]
    fn divider_with_inductance() {
        let structure = Branch {
            ends: [0, 1],
            ohm: 0.0015,
            henry: 5e-7,
        };
        let low = Branch {
            ends: [0, 1],
            ohm: 0.130_586_614,
            henry: 1.8e-6,
        };
        for (hz, share, noise_mv, db_mic) in [
            (0.0, 0.011_356_185, 1.358_047_69, -40.863_525),
            (400.0, 0.014_800_492, 1.769_940_68, -38.562_651),
            (3600.0, 0.080_364_488, 9.610_517_02, -23.866_890),
        ] {
            let volts = Phasors::new(2, Some(0), &[structure, low], hz).volts(1.0, 0, 1);
            let amps = ((volts[1] - volts[0]) / low.impedance(hz)).norm();
            close("share", amps, share, 1e-7);
            // Across the resistance of the low only, without the jack's contact and the ground
            // wire.
            let noise_v = amps * 0.119_586_614;
            close("mV", noise_v * 1e3, noise_mv, 1e-5);
            let db = below_db(noise_v, 0.150).expect("some noise");
            close("dB", db, db_mic, 1e-4);
        }
    }

    /// Hand calculations: six-pulse frequency, common impedance, pickup from a wire next to a loop,
    /// pickup in a uniform field (flux integral of MIL-HDBK-419A eqs 6-4 and 6-5, Faraday's law).
    #[test]
    fn hand_calculations() {
        close("Hz", frequency_hz(6.0, 6000.0), 3600.0, 1e-9);
        let noise_v = 5.0 * 0.003;
        let settings = Settings::default();
        let db = |level: f64| below_db(noise_v, level).expect("some noise");
        close("mic", db(settings.mic_v), -20.0, 1e-9);
        close("phones level", settings.phones_v, 5.477_225_575, 1e-9);
        close("phones", db(settings.phones_v), -51.249_387_366, 1e-6);
        let mutual = mutual_h(1.5, 0.020, 0.050);
        close("M", mutual, 2.748_872_195e-7, 1e-15);
        close(
            "wire",
            induced_v(3600.0, mutual * 1.0) * 1e3,
            6.217_802_42,
            1e-7,
        );
        close(
            "field",
            induced_v(3600.0, 1e-6 * 0.02) * 1e3,
            0.452_389_342,
            1e-8,
        );
    }

    proptest::proptest! {
        /// Kirchhoff's current law at every node of any connected network.
        #[test]
        fn currents_add_up_at_every_node(
            figures in proptest::collection::vec((0usize..12, 1e-4f64..10.0, 0.0f64..1e-5), 20),
            hz in 0.0f64..10_000.0,
        ) {
            // A chain through all twelve nodes, and the rest across it.
            let branch = |(at, (other, ohm, henry)): (usize, &(usize, f64, f64))| Branch {
                ends: [at % 12, if at < 11 { at + 1 } else { *other }],
                ohm: *ohm,
                henry: *henry,
            };
            let branches: Vec<Branch> = figures.iter().enumerate().map(branch).collect();
            let volts = Phasors::new(12, Some(0), &branches, hz).volts(1.0, 3, 9);
            let mut sums = vec![c64::new(0.0, 0.0); 12];
            for branch in &branches {
                let [a, b] = branch.ends;
                let amps = (volts[a] - volts[b]) / branch.impedance(hz);
                sums[a] += amps;
                sums[b] -= amps;
            }
            sums[9] -= 1.0;
            sums[3] += 1.0;
            for sum in sums {
                proptest::prop_assert!(sum.norm() < 1e-6, "{}", sum);
            }
        }
    }
}
