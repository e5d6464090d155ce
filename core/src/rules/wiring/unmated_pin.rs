//! A pin of an in-line connector that a wire or shield uses, with no pin to mate with.

use crate::rules::prelude::*;

/// A pin of an in-line connector that a wire or shield uses, with no pin to mate with.
pub const RULE: Rule = Rule {
    slug: "unmated-pin",
    title: "Connector pin without a partner",
    level: Level::Fault,
    why: "The circuit ends at this pin: the other half has no contact there.",
    sources: &[cite(
        COMMON_PRACTICE,
        "each pin in use has a contact opposite in the other half",
    )],
    reads: Reads::JOINS,
    check,
};

fn check(facts: &Facts<'_>, out: &mut Findings<'_, '_>) {
    for at in facts.terminals() {
        let here = (at.id, &at.terminal.id);
        let is_inline = at.device.kind == DeviceKind::InlineConnector;
        if !is_inline || facts.touches_at(at.node).is_empty() {
            continue;
        }
        if facts.mate_of(at.node).is_some() {
            out.clear(here);
            continue;
        }
        out.finding(here)
            .says(format!(
                "{} is in use and has no partner in the other half",
                facts.label(here)
            ))
            .help("put the contact into the other half, or move the wire to a pin that has one")
            .also_wires(at.node);
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::{
        rules::{Facts, run},
        testing::{check_rule, document},
    };

    const MATED: &str = "
        bus MBUS CB1=5
        mated J201/P201 1 2
        load LT1 1
        wire A MBUS.CB1 J201.J201-1
        wire B J201.P201-1 LT1.+
    ";

    #[test]
    fn finds_a_pin_in_use_without_a_partner() {
        let mut document = document(MATED);
        let connector = document.devices.get_mut("J201").expect("it is there");
        connector.elements.clear();
        let verdict = run(&Facts::new(&document), &[&RULE]);
        let at: Vec<&str> = verdict.findings.iter().map(|it| &*it.at[0].id).collect();
        assert_eq!(at, ["J201/J201-1", "J201/P201-1"]);
    }

    #[test]
    fn accepts_mated_pins_and_pins_not_in_use() {
        check_rule(&RULE, MATED);
    }
}
