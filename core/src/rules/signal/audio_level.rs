//! An audio output whose level does not match the input.

use crate::{
    ids::{DeviceId, TerminalId},
    rules::{prelude::*, signal::joined::also_all},
};

/// An audio output whose level does not match the input.
pub const RULE: Rule = Rule {
    slug: "audio-level",
    title: "Audio level mismatch",
    level: Level::Caution,
    why: "A headphone output into a microphone input is loud and distorted. A microphone level into a \
          headphone input is not heard over the noise that the wire picks up.",
    sources: &[cite(
        COMMON_PRACTICE,
        "microphone lines about 0.15 V, headphone lines about 5.5 V (50 mW in 600 ohm); a volume control \
         makes up for twice or half",
    )],
    reads: Reads::JOINS,
    check,
};

/// How many times the lower level the higher one may be.
const WITHIN: f64 = 2.0;

/// A terminal of a device.
type TerminalKey<'a> = (&'a DeviceId, &'a TerminalId);

fn check(facts: &Facts<'_>, out: &mut Findings<'_, '_>) {
    for conductor in facts.conductors() {
        let is_unit = |device: &&DeviceId| {
            let device = facts.device(device);
            device.is_some_and(|it| it.kind == DeviceKind::Unit)
        };
        let ends: Vec<_> = (conductor.with(Role::AudioHigh))
            .filter(|(device, _)| is_unit(device))
            .collect();
        if ends.len() < 2 {
            continue;
        }
        let at = conductor.wires[0];
        if let Some((device, it)) = ends.iter().find(|(_, it)| it.level_v.is_none()) {
            let label = facts.label((*device, &it.id));
            out.not_checked(at, format!("the level of {label} is missing"));
            continue;
        }
        let levels: Vec<(f64, TerminalKey<'_>)> = (ends.into_iter())
            .filter_map(|(device, it)| Some((it.level_v?, (device, &it.id))))
            .collect();
        let by_level =
            |a: &&(f64, TerminalKey<'_>), b: &&(f64, TerminalKey<'_>)| a.0.total_cmp(&b.0);
        let (Some(&(low_v, low)), Some(&(high_v, high))) = (
            levels.iter().min_by(by_level),
            levels.iter().max_by(by_level),
        ) else {
            continue;
        };
        if high_v <= low_v * WITHIN {
            out.clear(at);
            continue;
        }
        let report = out
            .finding(at)
            .says(format!(
                "{:.0} dB between {} ({high_v} V) and {} ({low_v} V), limit {:.0} dB",
                20.0 * (high_v / low_v).log10(),
                facts.label(high),
                facts.label(low),
                20.0 * WITHIN.log10()
            ))
            .limit(high_v, low_v * WITHIN, "V")
            .help("use the output that the maker's manual names for this input, or fit an attenuator between them");
        also_all(report, conductor);
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::testing::check_rule;

    fn line(from: &str, to: &str, mark: &str) -> String {
        format!(
            "unit COM1 J105-6:audio_high:RCV{from}
             unit IC1 J1-2:audio_high:COM{to}
             wire A5 COM1.J105-6 IC1.J1-2 {mark}"
        )
    }

    #[test]
    fn finds_a_headphone_level_on_a_microphone_input() {
        let verdict = check_rule(&RULE, &line("@5.5", "@0.15", "#! audio-level"));
        // 20 log10(5.5 / 0.15) = 31.3 dB.
        assert!(
            verdict.findings[0].message.contains("31 dB"),
            "{:?}",
            verdict.findings[0]
        );
    }

    #[test]
    fn accepts_levels_within_a_volume_control() {
        check_rule(&RULE, &line("@5.5", "@3.0", ""));
    }

    #[test]
    fn not_checked_without_a_level() {
        check_rule(&RULE, &line("@5.5", "", "#? audio-level"));
    }
}
