//! A connector contact that carries more than its rating.

use petgraph::graph::EdgeIndex;

use crate::{netlist::EdgeOf, rules::prelude::*};

/// A connector contact that carries more than its rating.
pub const RULE: Rule = Rule {
    slug: "contact-over-rating",
    title: "Contact over its current rating",
    level: Level::Fault,
    why: "An overloaded contact heats up, its spring softens, and the heat damages its neighbors and the \
          shell. Where the wire can carry more than the contact, the contact sets the limit.",
    sources: &[cite(
        AC_43_13_1B,
        "par 11-67: where the wire can carry more than the contact, the contact rating applies",
    )],
    reads: Reads::ALL,
    check,
};

/// The smallest contact in use carries about this, A (a connector guide's note; not a standard). Up to
/// this current a missing rating does not matter.
const ANY_CONTACT_A: f64 = 3.0;

fn check(facts: &Facts<'_>, out: &mut Findings<'_, '_>) {
    let netlist = facts.netlist();
    for at in facts.terminals() {
        let Some(connector) = at.device.connector_of(at.terminal) else {
            continue;
        };
        let is_wire =
            |edge: &EdgeIndex| matches!(netlist.of(*edge), EdgeOf::Wire(_) | EdgeOf::InlineFuse(_));
        let wires = netlist.edges_at(at.node).filter(is_wire);
        let worst =
            wires.max_by(|a, b| facts.most_steady_a(*a).total_cmp(&facts.most_steady_a(*b)));
        let Some(worst) = worst else { continue };
        let amps = facts.most_steady_a(worst);
        let asked = match facts.is_asked(worst) {
            true => " demanded",
            false => "",
        };
        let (id, at) = (at.id, (at.id, &at.terminal.id));
        match connector.contact_a {
            Some(most_a) if amps > most_a => {
                let report = out
                    .finding(at)
                    .says(format!(
                        "{amps:.1} A{asked} through {}, limit {most_a:.1} A for a contact of {}",
                        facts.label(at),
                        connector.label
                    ))
                    .limit(amps, most_a, "A")
                    .help("share the current between several contacts, or use a connector with larger ones");
                report.also(id);
            }
            None if amps > ANY_CONTACT_A => out.not_checked(
                at,
                format!("the contact rating of {} is missing", connector.label),
            ),
            _ => out.clear(at),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::{
        rules::{self, Verdict},
        testing::document,
    };

    fn through(amps: f64, contact_a: Option<f64>) -> Verdict {
        let mut document = document(&format!(
            "battery BT1
             load USB2 {amps} law=current
             mated J311/P311 1
             wire A BT1.+ J311.J311-1 18 1m
             wire B J311.P311-1 USB2.+ 18 1m
             wire N USB2.- BT1.- 18 1m"
        ));
        for connector in &mut document.devices.get_mut("J311").expect("it").connectors {
            connector.contact_a = contact_a;
        }
        rules::run(&rules::Facts::new(&document), &[&RULE])
    }

    #[test]
    fn finds_both_halves_overloaded() {
        let verdict = through(6.0, Some(5.0));
        assert_eq!(verdict.findings.len(), 2);
        assert_eq!(verdict.findings[0].limit, Some(5.0));
    }

    #[test]
    fn accepts_less_and_what_any_contact_takes() {
        for (amps, contact_a) in [(4.9, Some(5.0)), (2.5, None)] {
            let verdict = through(amps, contact_a);
            assert_eq!((verdict.findings.len(), verdict.not_checked.len()), (0, 0));
        }
    }

    #[test]
    fn not_checked_without_a_rating() {
        assert_eq!(through(4.0, None).not_checked.len(), 2);
    }
}
