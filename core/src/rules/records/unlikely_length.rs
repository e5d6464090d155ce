//! A length that no other wire of the same way has, or that no aircraft has.

use rustc_hash::FxHashMap;

use crate::{
    ids::{CableId, DeviceId, PlaceId, WireId},
    rules::prelude::*,
};

/// A length that no other wire of the same way has, or that no aircraft has.
pub const RULE: Rule = Rule {
    slug: "unlikely-length",
    title: "Length unlike the others",
    level: Level::Caution,
    why: "Wires that lie side by side are about as long as each other. A slip of the decimal point, or feet for \
          meters, spoils the voltage drop, the cut list and the order.",
    sources: &[cite(
        COMMON_PRACTICE,
        "lengths are checked against the neighbors before wire is cut",
    )],
    reads: Reads::LENGTHS,
    check,
};

/// Longest wire of a light aircraft, m (our own choice: from the nose of an aircraft of 12 m span to its wing tip,
/// with detours).
const LONGEST_M: f64 = 20.0;

/// What runs side by side, and how many times as long as the longest of the others a wire of it may be (our own
/// choice).
#[derive(Clone, Copy, PartialEq, Eq, Hash)]
enum Beside<'d> {
    Cable(&'d CableId),
    Devices(&'d DeviceId, &'d DeviceId),
    Places(&'d PlaceId, &'d PlaceId),
}

impl Beside<'_> {
    /// Times the longest of so many others, or infinity if they are too few to say it.
    fn most(self, others: usize) -> f64 {
        match (self, others) {
            (_, 0) | (Self::Places(..), 1) => f64::INFINITY,
            (Self::Cable(_), _) => 1.5,
            (Self::Devices(..), _) => 2.5,
            (Self::Places(a, b), 2..) if a != b && others > 2 => 2.5,
            (Self::Places(..), 2..) => 4.0,
        }
    }
}

fn check(facts: &Facts<'_>, out: &mut Findings<'_, '_>) {
    let document = facts.document;
    let mut lengths: FxHashMap<Beside<'_>, Vec<(f64, &WireId)>> = FxHashMap::default();
    for (id, wire, _) in facts.wires() {
        let Some(length_m) = document.wire_length_m(wire) else {
            continue;
        };
        for beside in beside(facts, id, wire).into_iter().flatten() {
            lengths.entry(beside).or_default().push((length_m, id));
        }
    }
    for list in lengths.values_mut() {
        list.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(b.1)));
    }
    for (id, wire, _) in facts.wires() {
        // A wire without a length is reported by the rules that need it.
        let Some(length_m) = document.wire_length_m(wire) else {
            continue;
        };
        let all = beside(facts, id, wire).into_iter().flatten();
        let unlike = all.into_iter().find_map(|beside| {
            // In order of length: the longest of the others is the first or the second.
            let all = &lengths[&beside];
            let (longest_m, other) = *all.iter().find(|it| it.1 != id)?;
            let is_unlike = length_m > beside.most(all.len() - 1) * longest_m;
            is_unlike.then_some((beside, longest_m, other))
        });
        let show = |length_m| document.project.length(length_m, 2);
        if let Some((beside, longest_m, other)) = unlike {
            let others = match beside {
                Beside::Cable(cable) => format!("the other conductors of {}", facts.label(cable)),
                Beside::Devices(a, b) => {
                    format!("others from {} to {}", facts.label(a), facts.label(b))
                }
                Beside::Places(a, b) => {
                    format!("others from {} to {}", facts.label(a), facts.label(b))
                }
            };
            out.finding(id)
                .says(format!(
                    "{} is {} long; {others} are {} at most ({})",
                    facts.label(id),
                    show(length_m),
                    show(longest_m),
                    facts.label(other)
                ))
                .also(other)
                .limit(length_m, longest_m, "m")
                .help("measure it, or look for a slip of the decimal point or the unit");
        } else if length_m > LONGEST_M {
            out.finding(id)
                .says(format!(
                    "{} is {} long: no light aircraft has such a wire",
                    facts.label(id),
                    show(length_m)
                ))
                .limit(length_m, LONGEST_M, "m")
                .help("measure it, or look for a slip of the decimal point or the unit");
        } else {
            out.clear(id);
        }
    }
}

/// What a wire runs along with, closest first.
fn beside<'d>(facts: &Facts<'d>, id: &'d WireId, wire: &'d Wire) -> [Option<Beside<'d>>; 3] {
    let device = |end: &'d End| match end {
        End::Terminal(device, _) => Some(device),
        _ => None,
    };
    let place = |end: &'d End| match end {
        End::Structure(place) => Some(place),
        End::Terminal(device, _) => facts.device(device)?.place.as_ref(),
        _ => None,
    };
    let ends = [&wire.from, &wire.to];
    let devices = match ends.map(device) {
        [Some(a), Some(b)] if a != b => Some(Beside::Devices(a.min(b), a.max(b))),
        _ => None,
    };
    let places = match ends.map(place) {
        [Some(a), Some(b)] => Some(Beside::Places(a.min(b), a.max(b))),
        _ => None,
    };
    [facts.cable_of(id).map(Beside::Cable), devices, places]
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::testing::check_rule;

    #[test]
    fn finds_a_conductor_longer_than_its_cable() {
        let verdict = check_rule(
            &RULE,
            "
            unit IC1 1:audio_high 2:audio_low
            jack JK1 mic isolated
            wire A1-1 IC1.1 JK1.ring 24 9m #! unlikely-length
            wire A1-2 IC1.2 JK1.sleeve 24 0.9m
            cable A1 A1-1 A1-2
            ",
        );
        assert_eq!(
            verdict.findings[0].message,
            "A1-1 is 9.00 m long; the other conductors of A1 are 0.90 m at most (A1-2)"
        );
    }

    #[test]
    fn finds_one_longer_than_all_between_the_same_places() {
        check_rule(
            &RULE,
            "
            place PANEL metal
            place TAIL metal
            bus MBUS CB1=5 CB2=5 CB3=5 CB4=5 at=PANEL
            load A 1 at=TAIL
            load B 1 at=TAIL
            load C 1 at=TAIL
            load D 1 at=TAIL
            wire W1 MBUS.CB1 A.+ 20 3m
            wire W2 MBUS.CB2 B.+ 20 4m
            wire W3 MBUS.CB3 C.+ 20 2.5m
            wire W4 MBUS.CB4 D.+ 20 12m #! unlikely-length
            ",
        );
    }

    #[test]
    fn finds_what_no_aircraft_has() {
        check_rule(
            &RULE,
            "battery BT1\n bus MBUS CB1=5\n wire P1 BT1.+ MBUS.STUD 2 350m #! unlikely-length",
        );
    }

    #[test]
    fn accepts_lengths_that_differ_as_they_do() {
        check_rule(
            &RULE,
            "
            bus MBUS CB1=5 CB2=5
            load A 1
            load B 1
            wire W1 MBUS.CB1 A.+ 20 0.5m
            wire W2 MBUS.CB2 B.+ 20 4m
            wire W3 MBUS.CB2 B.- 20 3m
            ",
        );
    }
}
