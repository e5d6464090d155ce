//! A wire thicker or thinner than the contacts of its connector take.

use crate::{order::Sorted, rules::prelude::*};

/// A wire thicker or thinner than the contacts of its connector take.
pub const RULE: Rule = Rule {
    slug: "contact-size",
    title: "Wire size wrong for the contact",
    level: Level::Fault,
    why: "A thick wire does not go into the barrel unless strands are cut, and the rest carry its current. \
          The crimp does not hold a thin one: it passes on the bench and works loose in flight.",
    sources: &[
        cite(AC_43_13_1B, "par 11-174, terminals are chosen by wire size"),
        cite(
            COMMON_PRACTICE,
            "a crimp contact holds the sizes on its maker's sheet",
        ),
    ],
    reads: Reads::SIZES,
    check,
};

fn check(facts: &Facts<'_>, out: &mut Findings<'_, '_>) {
    let mut unknown = Sorted::new();
    for (id, wire, at) in facts.wires() {
        // A coaxial cable has a contact of its own kind.
        if wire.conductor == ConductorKind::Coax {
            continue;
        }
        let Some(gauge) = wire.gauge_awg else {
            continue;
        };
        for at in at
            .ends
            .into_iter()
            .filter_map(|node| facts.terminal_at(node))
        {
            let Some(connector) = at.device.connector_of(at.terminal) else {
                continue;
            };
            let here = (at.id, &at.terminal.id);
            match connector.takes(gauge) {
                Some(true) => out.clear(here),
                Some(false) => {
                    let (label, contact) = (facts.label(here), connector.taken());
                    let report = out.finding(here).says(format!(
                        "{} is {gauge} AWG, a contact of {} takes {contact}",
                        facts.label(id),
                        connector.label
                    ));
                    report
                        .help(format!(
                            "use a contact of another size at {label}, or splice in a short wire of {contact} \
                             close by, with a breaker or fuse for the thinner wire"
                        ))
                        .also(id);
                }
                // Once for each connector: one value is missing.
                None if unknown.insert((at.id, &connector.id)) => out.not_checked(
                    at.id,
                    format!(
                        "the wire sizes for a contact of {} are missing",
                        connector.label
                    ),
                ),
                None => {}
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::{
        rules::{self, Verdict},
        testing::document,
        units::Gauge,
    };

    fn wire_of(gauge: i8, takes: Option<(i8, i8)>) -> Verdict {
        let mut document = document(&format!(
            "unit FD1 J101-1:power_in
             battery BT1
             wire A BT1.+ FD1.J101-1 {gauge} 1m"
        ));
        for connector in &mut document.devices.get_mut("FD1").expect("it").connectors {
            connector.thickest_awg = takes.map(|it| Gauge(it.0));
            connector.thinnest_awg = takes.map(|it| Gauge(it.1));
        }
        rules::run(&rules::Facts::new(&document), &[&RULE])
    }

    #[test]
    fn finds_too_thick_and_too_thin() {
        for gauge in [18, 22] {
            let verdict = wire_of(gauge, Some((20, 20)));
            let told: Vec<_> = verdict.findings.iter().map(|it| &it.message).collect();
            assert_eq!(
                told,
                [&format!("A is {gauge} AWG, a contact of J101 takes 20 AWG")]
            );
        }
    }

    #[test]
    fn accepts_both_bounds() {
        for gauge in [20, 24] {
            let verdict = wire_of(gauge, Some((20, 24)));
            assert_eq!((verdict.findings.len(), verdict.not_checked.len()), (0, 0));
        }
    }

    #[test]
    fn not_checked_without_sizes() {
        assert_eq!(wire_of(18, None).not_checked.len(), 1);
    }
}
