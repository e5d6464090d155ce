//! Wires numbered as one circuit that do not belong together.

use std::collections::BTreeMap;

use rustc_hash::FxHashMap;

use crate::{
    ids::WireId,
    rules::{names::circuit_of, prelude::*},
};

/// Wires numbered as one circuit that do not belong together.
pub const RULE: Rule = Rule {
    slug: "number-in-pieces",
    title: "Wires of one number are two circuits",
    level: Level::Caution,
    why: "P24A and P24B are taken for parts of one circuit: whoever follows the number behind the panel finds \
          the wrong wire. Mostly two wires were swapped where they end.",
    sources: &[cite(
        AC_43_13_1B,
        "par 11-205 to 11-208: the number of a wire tells its circuit, a letter its segment",
    )],
    reads: Reads::JOINS,
    check,
};

/// So many numbers in pieces, and more than half of all, mean that the person numbers by another scheme (our own
/// choice).
const OTHER_SCHEME: usize = 3;

/// The wires of one circuit number, as groups that meet at a device or splice.
type Pieces<'d> = Vec<Vec<&'d WireId>>;

fn check(facts: &Facts<'_>, out: &mut Findings<'_, '_>) {
    let mut runs: BTreeMap<(&str, u32), Vec<&WireId>> = BTreeMap::new();
    for (id, wire) in &facts.document.wires {
        if let Some(circuit) = circuit_of(&wire.number) {
            runs.entry(circuit).or_default().push(id);
        }
    }
    runs.retain(|_, wires| wires.len() > 1);
    let all: Vec<_> = (runs.into_iter())
        .map(|(name, wires)| (name, pieces(facts, &wires)))
        .collect();
    let in_pieces = all.iter().filter(|(_, pieces)| pieces.len() > 1).count();
    if in_pieces >= OTHER_SCHEME && 2 * in_pieces > all.len() {
        for (_, pieces) in &all {
            out.not_checked(
                pieces[0][0],
                "the wires are numbered by another scheme than circuit, segment, gauge",
            );
        }
        return;
    }
    for ((letters, number), pieces) in &all {
        let most = pieces[0][0];
        let Some(other) = pieces.get(1).map(|piece| piece[0]) else {
            out.clear(most);
            continue;
        };
        let mut report = out
            .finding(other)
            .says(format!(
                "{} does not belong to the circuit of {}, though both are numbered {letters}{number}: they meet \
                 at no device",
                facts.label(other),
                facts.label(most),
            ))
            .help("compare both ends of each with what was meant: swap the ends, or give it a number of its own");
        for wire in pieces[1..].iter().chain(&pieces[..1]).flatten() {
            report = also_ends(facts, report.also(*wire), wire);
        }
    }
}

fn also_ends<'o, 'd>(
    facts: &Facts<'_>,
    mut report: crate::rules::Report<'o, 'd>,
    wire: &WireId,
) -> crate::rules::Report<'o, 'd> {
    let wire = facts.wire(wire);
    for end in wire.iter().flat_map(|wire| [&wire.from, &wire.to]) {
        if let End::Terminal(device, terminal) = end
            && facts.exists(end)
        {
            report = report.also((device, terminal));
        }
    }
    report
}

/// Wires that meet at a device, a splice or the metal of one place lie in one group; the largest group comes first.
fn pieces<'d>(facts: &Facts<'_>, wires: &[&'d WireId]) -> Pieces<'d> {
    let mut met: FxHashMap<(u8, &str, usize), usize> = FxHashMap::default();
    // Each wire's group, by its smallest member; joined by name until nothing changes.
    let mut group: Vec<usize> = (0..wires.len()).collect();
    for (at, id) in wires.iter().enumerate() {
        let Some(wire) = facts.wire(id) else { continue };
        for end in [&wire.from, &wire.to] {
            let key = match end {
                End::Terminal(device, terminal) => {
                    // The pins of a connector do not belong together, but those that mate do.
                    let is_inline = |it: &Device| it.kind == DeviceKind::InlineConnector;
                    let node = facts.netlist().terminal(device, terminal);
                    let node = node.filter(|_| facts.device(device).is_some_and(is_inline));
                    let pair = node.map_or(0, |node| {
                        let mate = facts.mate_of(node).unwrap_or(node);
                        1 + node.min(mate).index()
                    });
                    (0, device.as_str(), pair)
                }
                End::Splice(splice) => (1, splice.as_str(), 0),
                End::Structure(place) => (2, place.as_str(), 0),
                End::Open => continue,
            };
            let first = *met.entry(key).or_insert(at);
            let (a, b) = (group[first], group[at]);
            let (low, high) = (a.min(b), a.max(b));
            group
                .iter_mut()
                .filter(|it| **it == high)
                .for_each(|it| *it = low);
        }
    }
    let mut pieces: BTreeMap<usize, Vec<&'d WireId>> = BTreeMap::new();
    for (at, id) in wires.iter().enumerate() {
        pieces.entry(group[at]).or_default().push(id);
    }
    let mut pieces: Pieces<'d> = pieces.into_values().collect();
    // The first of equals stays first.
    let largest = (0..pieces.len()).rev().max_by_key(|at| pieces[*at].len());
    if let Some(largest) = largest {
        pieces.swap(0, largest);
    }
    pieces
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::testing::check_rule;

    const UNITS: &str = "
        bus MBUS CB1=5 CB2=5
        ground GB1 T1 T2
        load XP1 1
        load FD1 1
    ";

    #[test]
    fn finds_the_feeds_of_two_units_swapped() {
        let verdict = check_rule(
            &RULE,
            &format!(
                "{UNITS}
                wire R1A22 MBUS.CB1 FD1.+
                wire R1B22N XP1.- GB1.T1 #! number-in-pieces
                wire D1A22 MBUS.CB2 XP1.+
                wire D1B22N FD1.- GB1.T2 #! number-in-pieces
                "
            ),
        );
        assert!(
            verdict.findings[0]
                .message
                .starts_with("D1B22N does not belong to the circuit of D1A22"),
            "{}",
            verdict.findings[0].message
        );
    }

    #[test]
    fn accepts_what_meets_at_a_unit_a_splice_or_a_bus() {
        check_rule(
            &RULE,
            &format!(
                "{UNITS}
                splice SP1
                wire R1A22 MBUS.CB1 SP1
                wire R1B22 SP1 XP1.+
                wire R1C22N XP1.- GB1.T1
                wire A11-1 MBUS.CB2 FD1.+
                wire A11-2 XP1.- GB1.T1
                "
            ),
        );
    }
}
