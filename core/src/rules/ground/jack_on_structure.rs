//! The body of a jack touches metal.

use crate::rules::prelude::*;

/// The body of a jack touches metal.
pub const RULE: Rule = Rule {
    slug: "jack-on-structure",
    title: "Jack body grounded to the airframe",
    level: Level::Fault,
    why: "The sleeve of the jack is the audio low. Where it touches the airframe, the current of other \
          equipment that returns through the airframe flows in the audio low too: alternator whine \
          and strobe ticks in every headset.",
    sources: &[
        cite(AC_43_13_1B_1998, "par 11-186f, signal grounds"),
        cite(
            COMMON_PRACTICE,
            "jack bodies are kept off the metal; the audio low is grounded at the audio unit only",
        ),
    ],
    reads: Reads::JOINS,
    check,
};

fn check(facts: &Facts<'_>, out: &mut Findings<'_, '_>) {
    for (id, device) in &facts.document.devices {
        for element in &device.elements {
            let ElementKind::Jack(jack) = &element.is else {
                continue;
            };
            if jack.isolated == Some(true) || jack.used_for == JackUse::Other {
                out.clear(id);
                continue;
            }
            let place = device.place.as_ref();
            let Some((place_id, place)) =
                place.and_then(|it| facts.document.places.get_key_value(it))
            else {
                out.not_checked(
                    id,
                    format!(
                        "the place of {} is not set, so it may be mounted in metal",
                        device.tag
                    ),
                );
                continue;
            };
            let unknown = match (place.conductive, jack.isolated) {
                (Some(false), _) => {
                    out.clear(id);
                    continue;
                }
                (None, _) => Some(format!("whether {} is metal is not set", place.title)),
                (Some(true), None) => Some(format!(
                    "whether the body of {} is isolated from {} is not set",
                    device.tag, place.title
                )),
                (Some(true), Some(_)) => None,
            };
            if let Some(because) = unknown {
                out.not_checked(id, because);
                continue;
            }
            let isolate = facts.change_element(id, &element.id, |is| {
                if let ElementKind::Jack(jack) = is {
                    jack.isolated = Some(true);
                }
            });
            out.finding(id)
                .says(format!(
                    "the body of {} touches the metal of {}, which grounds the audio low there",
                    device.tag, place.title
                ))
                .also((id, &jack.sleeve))
                .also(place_id)
                .help(
                    "mount it with an insulating shoulder washer on each side of the plate, and \
                     check with a meter that the sleeve is isolated from the metal",
                )
                .mend(
                    format!("Isolate {} with shoulder washers", device.tag),
                    MendKind::Ask,
                    isolate,
                );
        }
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::testing::{check_mend, check_rule};

    const ON_PLATE: &str = "
        place OVERHEAD metal
        unit IC1 J112-3:audio_high J112-11:audio_low
        jack JK7 phones isolated at=OVERHEAD
        jack JK8 mic bare at=OVERHEAD #! jack-on-structure
        wire A11 IC1.J112-3 JK8.ring
        wire A12 IC1.J112-11 JK8.sleeve
    ";

    #[test]
    fn finds_a_body_on_a_metal_plate() {
        let verdict = check_rule(&RULE, ON_PLATE);
        assert_eq!(
            verdict.findings[0].message,
            "the body of JK8 touches the metal of OVERHEAD, which grounds the audio low there"
        );
        check_mend(&RULE, ON_PLATE);
    }

    #[test]
    fn accepts_washers_and_a_composite_plate() {
        check_rule(
            &RULE,
            "
            place OVERHEAD composite
            place PANEL metal
            jack JK8 mic bare at=OVERHEAD
            jack JK2 mic isolated at=PANEL
            ",
        );
    }

    #[test]
    fn not_checked_without_a_place() {
        check_rule(&RULE, "jack JK8 mic bare #? jack-on-structure");
    }

    #[test]
    fn not_checked_while_nobody_said_how_it_is_mounted() {
        let verdict = check_rule(
            &RULE,
            "
            place OVERHEAD metal
            place PANEL unsaid
            place PLATE composite
            jack JK8 mic unsaid at=OVERHEAD #? jack-on-structure
            jack JK2 mic unsaid at=PANEL #? jack-on-structure
            jack JK3 mic unsaid at=PLATE
            jack JK4 mic isolated at=PANEL
            ",
        );
        assert_eq!(
            verdict.not_checked[0].because,
            "whether PANEL is metal is not set"
        );
        assert_eq!(
            verdict.not_checked[1].because,
            "whether the body of JK8 is isolated from OVERHEAD is not set"
        );
    }
}
