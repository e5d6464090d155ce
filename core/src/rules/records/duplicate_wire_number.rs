//! Two wires with the same number.

use rustc_hash::{FxBuildHasher, FxHashMap};

use crate::{ids::WireId, rules::prelude::*};

/// Two wires with the same number.
pub const RULE: Rule = Rule {
    slug: "duplicate-wire-number",
    title: "Wire number used twice",
    level: Level::Fault,
    why: "The number on the sleeve is the only way to know one wire from another behind the panel. With \
          the same number on two wires, one of them ends up in the other's pin.",
    sources: &[cite(AC_43_13_1B, "par 11-205 to 11-208, wire marking")],
    reads: Reads::JOINS,
    check,
};

fn check(facts: &Facts<'_>, out: &mut Findings<'_, '_>) {
    let wires = &facts.document.wires;
    // For lookups only.
    let mut first: FxHashMap<&str, &WireId> =
        FxHashMap::with_capacity_and_hasher(wires.len(), FxBuildHasher);
    for (id, wire) in wires {
        let number = wire.number.trim();
        if number.is_empty() {
            out.not_checked(id, "the wire has no number");
            continue;
        }
        let Some(other) = first.get(number) else {
            first.insert(number, id);
            out.clear(id);
            continue;
        };
        let free = free_number(wires, number);
        let mut changed = wire.clone();
        changed.number.clone_from(&free);
        let mend = Change::set(
            facts.document,
            Key::Wire(id.clone()),
            Some(Record::Wire(changed)),
        );
        out.finding(id)
            .says(format!(
                "wire number {number} is on {} and on {}",
                facts.run(other),
                facts.run(id)
            ))
            .also(*other)
            .help("give one of them another number, in the drawing and on its sleeve")
            .mend(format!("Number it {free}"), MendKind::Safe, mend);
    }
}

/// The number with the first suffix that no wire has yet.
fn free_number(wires: &crate::order::Map<WireId, Wire>, number: &str) -> String {
    let taken = |candidate: &str| wires.values().any(|wire| wire.number.trim() == candidate);
    (2..)
        .map(|n| format!("{number}-{n}"))
        .find(|candidate| !taken(candidate))
        .expect("there are fewer wires than numbers")
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::testing::{check_mend, check_rule};

    const TWICE: &str = "
        load LT1 1
        load LT2 1
        wire W1 LT1.+ LT2.+ number=L1A22
        wire W2 LT1.- LT2.- number=L1A22 #! duplicate-wire-number
        wire W3 LT1.- LT2.- number=L1A22-2
    ";

    #[test]
    fn finds_a_number_used_twice() {
        let verdict = check_rule(&RULE, TWICE);
        assert_eq!(
            verdict.findings[0].message,
            "wire number L1A22 is on the wire from LT1 + to LT2 + and on the wire from LT1 - to LT2 -"
        );
        let after = check_mend(&RULE, TWICE);
        assert_eq!(after.wires["W2"].number, "L1A22-3");
    }

    #[test]
    fn accepts_the_next_letter() {
        check_rule(
            &RULE,
            "
            load LT1 1
            load LT2 1
            wire W1 LT1.+ LT2.+ number=L1A22
            wire W2 LT1.- LT2.- number=L1B22
            ",
        );
    }

    #[test]
    fn not_checked_without_a_number() {
        check_rule(
            &RULE,
            "
            load LT1 1
            wire W1 LT1.+ open number= #? duplicate-wire-number
            wire W2 LT1.- open number= #? duplicate-wire-number
            ",
        );
    }
}
