//! Two devices that were meant to be independent, and one failure that stops both.

use crate::{
    ids::{DeviceId, ElementId},
    rules::{
        Spot, and_list,
        power::single_failure::{spot, stopped_by},
        prelude::*,
    },
    solve::failures::failures,
};

/// Two devices that were meant to be independent, and one failure that stops both.
pub const RULE: Rule = Rule {
    slug: "shared-feed",
    title: "Independent feeds share a part",
    level: Level::Fault,
    why: "You said that nothing may stop the two together. A breaker, splice, connector, ground point or \
          battery that both depend on makes one of two.",
    sources: &[cite(
        COMMON_PRACTICE,
        "a unit and its stand-by share no part of supply and return",
    )],
    reads: Reads::ALL,
    check,
};

fn check(facts: &Facts<'_>, out: &mut Findings<'_, '_>) {
    let mut all = None;
    for (id, device) in &facts.document.devices {
        for other in &device.independent_of {
            let all = all.get_or_insert_with(|| failures(facts.document, facts.netlist()));
            let (Some(own), Some(theirs)) = (load(facts, id), load(facts, other)) else {
                out.not_checked(
                    id,
                    format!("{} or {other} has no load to follow", device.tag),
                );
                continue;
            };
            let both = (stopped_by(facts, own, all), stopped_by(facts, theirs, all));
            let (Some(stop_own), Some(stop_other)) = both else {
                out.not_checked(
                    id,
                    format!(
                        "{} or {} has no supply or no return yet",
                        facts.label(id),
                        facts.label(other)
                    ),
                );
                continue;
            };
            let shared: Vec<Spot<'_>> = (stop_own.into_iter())
                .filter(|failure| stop_other.contains(failure))
                .map(spot)
                .collect();
            if shared.is_empty() {
                out.clear(id);
                continue;
            }
            let mut names: Vec<String> = shared.iter().map(|spot| facts.label(*spot)).collect();
            names.dedup();
            let mut report = out
                .finding(id)
                .says(format!(
                    "{} and {} are meant to be independent, and any one of these stops both: {}",
                    facts.label(id),
                    facts.label(other),
                    and_list(&names)
                ))
                .help(
                    "give one of them a feed and a return of its own, or accept it with the reason",
                )
                .also(other);
            for spot in shared {
                report = report.also(spot);
            }
        }
    }
}

/// The first load of a device.
fn load<'f>(facts: &'f Facts<'_>, id: &DeviceId) -> Option<(&'f DeviceId, &'f ElementId)> {
    let (id, device) = facts.document.devices.get_key_value(id)?;
    let mut elements = device.elements.iter();
    let load = elements.find(|it| matches!(it.is, ElementKind::Load(_)))?;
    Some((id, &load.id))
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::testing::check_rule;

    const TWO: &str = "
        battery BT1
        battery BT2
        breaker CB1 5
        breaker CB2 5
        load BA1 1
        wire A1 BT1.+ CB1.1 18 1m
        wire A2 CB1.2 FD1.+ 18 1m
        wire N1 FD1.- BT1.- 18 1m
        wire B2 CB2.2 BA1.+ 18 1m
        wire M1 BA1.- BT2.- 18 1m
    ";

    #[test]
    fn finds_the_battery_and_the_wire_that_both_hang_on() {
        let verdict = check_rule(
            &RULE,
            &format!(
                "load FD1 1 apart=BA1 #! shared-feed\n{TWO}\nwire B1 CB1.1 CB2.1 18 1m\nwire G BT1.- BT2.- 8 1m"
            ),
        );
        let said = &verdict.findings[0].message;
        assert!(said.contains("BT1") && said.contains("A1"), "{said}");
        assert!(!said.contains("CB1") && !said.contains("CB2"), "{said}");
    }

    #[test]
    fn accepts_feeds_with_nothing_in_common() {
        check_rule(
            &RULE,
            &format!("load FD1 1 apart=BA1\n{TWO}\nwire B1 BT2.+ CB2.1 18 1m"),
        );
    }

    #[test]
    fn not_checked_while_one_has_no_supply() {
        check_rule(
            &RULE,
            &format!("load FD1 1 apart=BA1 #? shared-feed\n{TWO}"),
        );
    }
}
