//! A microphone jack whose input gives its microphone the wrong supply voltage.

use crate::rules::{prelude::*, signal::joined::also_all};

/// A microphone jack whose input gives its microphone the wrong supply voltage.
pub const RULE: Rule = Rule {
    slug: "mic-bias",
    title: "Microphone supply out of range",
    level: Level::Caution,
    why: "The amplifier in a headset's microphone runs on a few volts that the intercom puts on the \
          microphone line. Without them, or with too few, nothing is heard from that seat.",
    sources: &[cite(
        COMMON_PRACTICE,
        "8 to 16 V through a few hundred ohm, for headsets of the carbon type; from memory",
    )],
    reads: Reads::JOINS,
    check,
};

const BIAS_V: std::ops::RangeInclusive<f64> = 8.0..=16.0;

fn check(facts: &Facts<'_>, out: &mut Findings<'_, '_>) {
    for conductor in facts.conductors() {
        let is_mic = |device: &crate::ids::DeviceId| {
            let device = facts.device(device);
            let mut elements = device.into_iter().flat_map(|it| &it.elements);
            elements.any(
                |it| matches!(&it.is, ElementKind::Jack(jack) if jack.used_for == JackUse::Mic),
            )
        };
        let mut highs = conductor.with(Role::AudioHigh);
        let Some((jack, _)) = highs.find(|(device, _)| is_mic(device)) else {
            continue;
        };
        let at = conductor.wires[0];
        let Some((unit, input)) = conductor.with(Role::AudioHigh).find(|(it, _)| !is_mic(it))
        else {
            out.not_checked(
                at,
                format!("{} is not wired to an input yet", facts.label(jack)),
            );
            continue;
        };
        let label = facts.label((unit, &input.id));
        match input.bias_v {
            None => out.not_checked(at, format!("the microphone supply of {label} is missing")),
            Some(bias_v) if BIAS_V.contains(&bias_v) => out.clear(at),
            Some(bias_v) => {
                let report = out
                    .finding(at)
                    .says(format!(
                        "{bias_v} V microphone supply from {label} to {}, limits {} and {} V",
                        facts.label(jack),
                        BIAS_V.start(),
                        BIAS_V.end()
                    ))
                    .limit(bias_v, *BIAS_V.start(), "V")
                    .help("set the input for aircraft headsets, or use one that is; check the headset's manual for the voltage it needs");
                also_all(report, conductor);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::testing::check_rule;

    fn line(bias: &str, mark: &str) -> String {
        format!(
            "unit IC1 J1-6:audio_high:MIC{bias}
             jack JK2 mic isolated
             wire A2 IC1.J1-6 JK2.ring {mark}"
        )
    }

    #[test]
    fn finds_an_input_without_supply() {
        check_rule(&RULE, &line("~0", "#! mic-bias"));
    }

    #[test]
    fn accepts_one_with() {
        check_rule(&RULE, &line("~11", ""));
    }

    #[test]
    fn not_checked_where_it_is_not_given() {
        check_rule(&RULE, &line("", "#? mic-bias"));
    }
}
