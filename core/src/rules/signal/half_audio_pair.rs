//! An audio cable that carries the high of a line without its low, or the low without the high.

use crate::rules::prelude::*;

/// An audio cable that carries the high of a line without its low, or the low without the high.
pub const RULE: Rule = Rule {
    slug: "half-audio-pair",
    title: "Audio high and low not in one cable",
    level: Level::Caution,
    why: "The current of the line comes back another way, through the power grounds, or not at all. \
          The loop between the two paths picks up alternator whine, or the line is silent.",
    sources: &[cite(
        COMMON_PRACTICE,
        "audio high and its low run together, twisted or in one shielded cable",
    )],
    reads: Reads::JOINS,
    check,
};

fn check(facts: &Facts<'_>, out: &mut Findings<'_, '_>) {
    for (id, cable) in &facts.document.cables {
        let wires = || cable.wires.iter().filter_map(|it| facts.wire(it));
        let has = |role: Role| {
            wires().any(|wire| is(facts, &wire.from, role) || is(facts, &wire.to, role))
        };
        let (high, low) = (has(Role::AudioHigh), has(Role::AudioLow));
        // A shield that is connected at both ends is the low; whether it may be is another rule's matter.
        let is_tied = |it: &ShieldEnd| matches!(it, ShieldEnd::Tied { .. });
        let is_shield_low =
            (cable.shield.as_ref()).is_some_and(|it| is_tied(&it.from) && is_tied(&it.to));
        if !high && !low {
            continue;
        }
        if high == low || is_shield_low {
            out.clear(id);
            continue;
        }
        let (there, missing) = match high {
            true => ("high", "low"),
            false => ("low", "high"),
        };
        let mut report = out
            .finding(id)
            .says(format!(
                "{} carries audio {there} and no audio {missing}",
                facts.label(id)
            ))
            .help(format!("run the {missing} of this line in the same cable"));
        for wire in &cable.wires {
            report = report.also(wire);
        }
        for wire in wires() {
            for end in [&wire.from, &wire.to] {
                if let End::Terminal(device, terminal) = end
                    && facts.exists(end)
                {
                    report = report.also((device, terminal));
                }
            }
        }
    }
}

fn is(facts: &Facts<'_>, end: &End, role: Role) -> bool {
    match end {
        End::Terminal(device, terminal) => {
            let device = facts.device(device);
            device
                .and_then(|it| it.terminal(terminal))
                .is_some_and(|it| it.role == role)
        }
        _ => false,
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::testing::check_rule;

    const UNITS: &str = "
        unit COM1 1:audio_high 2:audio_low
        unit IC1 1:audio_high 2:audio_low 3:shield_tie
        wire A COM1.1 IC1.1
    ";

    #[test]
    fn finds_a_high_without_its_low_and_back() {
        check_rule(
            &RULE,
            &format!("{UNITS} cable C1 A shield IC1.3 floating #! half-audio-pair"),
        );
        let low = UNITS.replace("COM1.1 IC1.1", "COM1.2 IC1.2");
        check_rule(
            &RULE,
            &format!("{low} cable C1 A shield IC1.3 floating #! half-audio-pair"),
        );
    }

    #[test]
    fn accepts_a_pair_and_a_shield_as_the_low() {
        check_rule(
            &RULE,
            &format!("{UNITS} wire B COM1.2 IC1.2\n cable C1 A B shield IC1.3 floating"),
        );
        check_rule(&RULE, &format!("{UNITS} cable C1 A shield COM1.2 IC1.2"));
    }
}
