//! An antenna whose base is on no metal.

use crate::rules::prelude::*;

/// The rule.
pub const RULE: Rule = Rule {
    slug: "antenna-without-ground-plane",
    title: "Antenna without a ground plane",
    level: Level::Caution,
    why: "A quarter-wave antenna needs metal under its base. On composite or wood without a plate or mesh it radiates \
          poorly, and the cable's shield and the headset cords radiate in its place.",
    sources: &[cite(
        COMMON_PRACTICE,
        "a plate or mesh under the base, a quarter wave or more each way, or an antenna made for composite",
    )],
    reads: Reads::JOINS,
    check,
};

fn check(facts: &Facts<'_>, out: &mut Findings<'_, '_>) {
    let antennas = facts.document.devices.iter();
    for (id, device) in antennas.filter(|(_, it)| it.kind == DeviceKind::Antenna) {
        let Some(base) = device
            .terminals
            .iter()
            .find(|it| it.role == Role::ShieldTie)
        else {
            continue;
        };
        let place = device
            .place
            .as_ref()
            .and_then(|it| facts.document.places.get(it));
        let is_bonded = (device.elements.iter())
            .any(|it| matches!(&it.is, ElementKind::StructureTie(tie) if tie.terminal == base.id));
        let metal = place.and_then(|it| it.conductive);
        if is_bonded && metal != Some(false) {
            out.clear(id);
            continue;
        }
        let tag = &device.tag;
        match metal {
            None => out.not_checked(
                id,
                format!("whether the place of {tag} is metal is not set"),
            ),
            Some(is_metal) => {
                out.finding(id)
                    .says(match is_metal {
                        true => format!("the base of {tag} is not joined to the metal under it"),
                        false => format!("{tag} is on a place that is no metal"),
                    })
                    .help("bond a plate or mesh under its base, or accept it if it is made for composite")
                    .also((id, &base.id));
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::{document::DeviceKind, rules::check, testing::document};

    fn found(text: &str) -> [usize; 2] {
        let mut document = document(text);
        document.devices.get_mut("AN1").expect("an antenna").kind = DeviceKind::Antenna;
        let verdict = check(&document);
        let findings = verdict.findings.iter().filter(|it| it.rule == RULE.slug);
        let not_checked = verdict.not_checked.iter().filter(|it| it.rule == RULE.slug);
        [findings.count(), not_checked.count()]
    }

    const ANTENNA: &str = "unit AN1 RF:rf BASE:shield_tie at=BELLY";

    #[test]
    fn finds_one_on_composite_and_one_that_is_not_bonded() {
        let wood = format!("place BELLY\n{ANTENNA}\ninside AN1 tie BASE");
        assert_eq!(
            found(&wood.replace("place BELLY\n", "place BELLY composite\n")),
            [1, 0]
        );
        assert_eq!(found(&format!("place BELLY metal\n{ANTENNA}")), [1, 0]);
    }

    #[test]
    fn accepts_one_bonded_to_metal() {
        let text = format!("place BELLY metal\n{ANTENNA}\ninside AN1 tie BASE");
        assert_eq!(found(&text), [0, 0]);
    }

    #[test]
    fn does_not_check_without_a_bond_while_nobody_said_what_it_is_on() {
        assert_eq!(found("unit AN1 RF:rf BASE:shield_tie"), [0, 1]);
    }
}
