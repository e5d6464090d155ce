//! Two circuits on one breaker next to a breaker that feeds nothing.

use std::collections::BTreeSet;

use crate::{
    ids::{DeviceId, ElementId, TerminalId, WireId},
    rules::{names::circuit_of, prelude::*},
};

/// Two circuits on one breaker next to a breaker that feeds nothing.
pub const RULE: Rule = Rule {
    slug: "two-on-one-breaker",
    title: "Two circuits on one breaker, none on another",
    level: Level::Caution,
    why: "A wire that sits one breaker too far works at the bench. In flight one fault takes both circuits, and the \
          breaker with the label of the other does nothing.",
    sources: &[
        cite(
            CFR_14_23,
            "23.1357(b): the breaker of an essential circuit protects no other",
        ),
        cite(
            COMMON_PRACTICE,
            "each circuit ends on the breaker that is labeled for it",
        ),
    ],
    reads: Reads::FUNCTIONS,
    check,
};

/// A breaker of a bus with the wires on its protected side.
struct Breaker<'d> {
    element: &'d ElementId,
    load: &'d TerminalId,
    wires: Vec<&'d WireId>,
    /// Said to be one.
    is_spare: bool,
}

fn check(facts: &Facts<'_>, out: &mut Findings<'_, '_>) {
    for (id, device) in &facts.document.devices {
        let breakers = breakers(facts, id, device);
        for (nth, breaker) in breakers.iter().enumerate() {
            if breaker.wires.is_empty() {
                continue;
            }
            let wires = breaker.wires.iter();
            let circuits: BTreeSet<String> = wires.map(|wire| circuit(facts, wire)).collect();
            // A spare breaker elsewhere on the bus is a spare; next to it, it is the one that was meant.
            let beside = [nth.checked_sub(1), Some(nth + 1)].into_iter().flatten();
            let mut beside = beside.filter_map(|it| breakers.get(it));
            let free = beside.find(|it| it.wires.is_empty() && !it.is_spare);
            let Some(free) = free.filter(|_| circuits.len() > 1) else {
                out.clear((id, breaker.element));
                continue;
            };
            let wires: Vec<String> = breaker.wires.iter().map(|it| facts.label(*it)).collect();
            let mut report = out
                .finding((id, breaker.element))
                .says(format!(
                    "{} are both on {}, and {} feeds nothing",
                    crate::rules::and_list(&wires),
                    facts.label((id, breaker.element)),
                    facts.label((id, free.element))
                ))
                .also((id, breaker.load))
                .also((id, free.element))
                .also((id, free.load))
                .help("move one of them to its own breaker, or accept that they share one");
            for wire in &breaker.wires {
                report = report.also(*wire);
            }
        }
    }
}

fn breakers<'d>(facts: &Facts<'d>, id: &'d DeviceId, device: &'d Device) -> Vec<Breaker<'d>> {
    let mut all = Vec::new();
    for element in &device.elements {
        let ElementKind::Protector(it) = &element.is else {
            continue;
        };
        let end = End::Terminal(id.clone(), it.load.clone());
        let says_spare = |text: &str| text.to_uppercase().contains("SPARE");
        let is_spare = |it: &Terminal| it.covered || it.role == Role::Spare || says_spare(&it.name);
        let terminal = device.terminal(&it.load);
        all.push(Breaker {
            element: &element.id,
            load: &it.load,
            wires: facts.wires_at(&end).map(|(wire, _)| wire).collect(),
            is_spare: says_spare(&element.label) || terminal.is_some_and(is_spare),
        });
    }
    all
}

/// What a wire says that it belongs to: its circuit number, else its function, else itself.
fn circuit(facts: &Facts<'_>, id: &WireId) -> String {
    let Some(wire) = facts.wire(id) else {
        return id.to_string();
    };
    match (circuit_of(&wire.number), wire.function.trim()) {
        (Some((letters, number)), _) => format!("{letters}{number}"),
        (None, "") => id.to_string(),
        (None, function) => function.to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::{
        rules::{self, Facts},
        testing::{check_rule, document},
    };

    const BUS: &str = "
        battery BT1
        load A 1
        load B 1
        wire P BT1.+ MBUS.STUD
        wire R1A22 MBUS.CB1 A.+
    ";

    #[test]
    fn finds_a_wire_one_breaker_too_far() {
        let text = format!("bus MBUS CB1=5 CB2=5 {BUS} wire R2A22 MBUS.CB1 B.+");
        let verdict = rules::run(&Facts::new(&document(&text)), &[&RULE]);
        assert_eq!(
            verdict.findings[0].message,
            "R1A22 and R2A22 are both on MBUS CB1, and MBUS CB2 feeds nothing"
        );
    }

    #[test]
    fn accepts_a_spare_at_the_other_end_of_the_bus() {
        let text = format!("bus MBUS CB1=5 CB2=5 CB3=5 {BUS} wire R2A22 MBUS.CB1 B.+");
        check_rule(
            &RULE,
            &format!("{text}\n load C 1\n wire R3A22 MBUS.CB2 C.+"),
        );
    }

    #[test]
    fn accepts_one_circuit_that_branches_and_a_bus_without_a_free_breaker() {
        check_rule(
            &RULE,
            &format!("bus MBUS CB1=5 CB2=5 {BUS} wire R1B22 MBUS.CB1 B.+"),
        );
        check_rule(
            &RULE,
            &format!("bus MBUS CB1=5 {BUS} wire R2A22 MBUS.CB1 B.+"),
        );
    }
}
