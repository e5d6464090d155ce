//! A sync line between lights that ends somewhere else.

use crate::rules::{prelude::*, signal::joined::also_all};

/// A sync line between lights that ends somewhere else.
pub const RULE: Rule = Rule {
    slug: "sync-line",
    title: "Sync line not joined sync to sync",
    level: Level::Fault,
    why: "The sync leads of flashing lights are inputs and outputs of their electronics. Power or ground \
          destroys them. With an open lead the lights flash out of step.",
    sources: &[cite(
        COMMON_PRACTICE,
        "sync leads are joined to each other and to nothing else",
    )],
    reads: Reads::JOINS,
    check,
};

fn check(facts: &Facts<'_>, out: &mut Findings<'_, '_>) {
    for conductor in facts.conductors() {
        let mut own = conductor.with(Role::Sync);
        let (Some((device, terminal)), Some(wire)) = (own.next(), conductor.wires.first()) else {
            continue;
        };
        let lead = facts.label((device, &terminal.id));
        let other = conductor.ends.iter().find(|(_, it)| it.role != Role::Sync);
        let says = match other {
            Some((device, terminal)) => {
                format!(
                    "sync lead {lead} is wired to {}",
                    facts.label((*device, &terminal.id))
                )
            }
            None if own.next().is_none() => format!("sync lead {lead} is not wired to another"),
            None => {
                out.clear(*wire);
                continue;
            }
        };
        let report = out
            .finding(*wire)
            .says(says)
            .help("join sync leads only to each other; insulate those that are not used");
        also_all(report, conductor);
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::testing::check_rule;

    #[test]
    fn finds_a_lead_on_power_and_one_that_ends_nowhere() {
        check_rule(
            &RULE,
            "unit LT2 SYNC:sync
             unit LT3 +:power_in SYNC:sync
             unit X1 1:passive
             wire L3A LT2.SYNC LT3.+ #! sync-line
             wire L3B LT3.SYNC X1.1 #! sync-line",
        );
    }

    #[test]
    fn accepts_sync_to_sync_through_a_connector() {
        check_rule(
            &RULE,
            "unit LT2 SYNC:sync
             unit LT3 SYNC:sync
             mated J201/P201 5
             wire L3A LT2.SYNC J201.P201-5
             wire L3B J201.J201-5 LT3.SYNC",
        );
    }
}
