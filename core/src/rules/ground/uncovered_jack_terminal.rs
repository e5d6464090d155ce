//! A jack terminal with no wire and no cover.

use crate::rules::prelude::*;

/// A bare, unused terminal of a jack.
pub const RULE: Rule = Rule {
    slug: "uncovered-jack-terminal",
    title: "Unused jack terminal not covered",
    level: Level::Caution,
    why: "A plug connects every terminal of the jack to the headset. A bare tab that touches metal or \
          its neighbor keys a transmitter or grounds the headset to the airframe. Nobody finds it \
          until somebody leans on the panel.",
    sources: &[cite(
        COMMON_PRACTICE,
        "an unused terminal is covered with sleeve so that it can touch nothing",
    )],
    reads: Reads::JOINS,
    check,
};

fn check(facts: &Facts<'_>, out: &mut Findings<'_, '_>) {
    for (id, device) in &facts.document.devices {
        let wired = |terminal| {
            let end = End::Terminal(id.clone(), terminal);
            !facts.touches(&end).is_empty()
        };
        for element in &device.elements {
            let ElementKind::Jack(jack) = &element.is else {
                continue;
            };
            let terminals = [jack.tip.as_ref(), jack.ring.as_ref(), Some(&jack.sleeve)];
            let terminals = || terminals.into_iter().flatten();
            if !terminals().any(|terminal| wired(terminal.clone())) {
                // A jack with no wire at all is not installed yet.
                continue;
            }
            for terminal_id in terminals() {
                let Some(terminal) = device.terminal(terminal_id) else {
                    continue;
                };
                let at = (id, terminal_id);
                if terminal.covered || wired(terminal_id.clone()) {
                    out.clear(at);
                    continue;
                }
                let label = facts.label(at);
                let cover = facts.change_device(id, |device| {
                    for terminal in &mut device.terminals {
                        terminal.covered |= terminal.id == *terminal_id;
                    }
                });
                out.finding(at)
                    .says(format!("{label} has no wire and is not covered"))
                    .help("cover it with heat-shrink or sleeve, then mark it as covered")
                    .mend(format!("Mark {label} as covered"), MendKind::Ask, cover);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::testing::{check_mend, check_rule};

    const BARE_TIP: &str = "
        unit IC1 J112-3:audio_high J112-11:audio_low
        jack JK6 mic isolated #! uncovered-jack-terminal
        wire A11 IC1.J112-3 JK6.ring
        wire A12 IC1.J112-11 JK6.sleeve
    ";

    #[test]
    fn finds_a_bare_tip() {
        let verdict = check_rule(&RULE, BARE_TIP);
        assert_eq!(verdict.findings[0].at[0].key(), "terminal:JK6/tip");
        let after = check_mend(&RULE, BARE_TIP);
        assert!(after.devices["JK6"].terminals[0].covered);
    }

    #[test]
    fn accepts_a_covered_tip() {
        check_rule(
            &RULE,
            &format!("{}\n covered JK6.tip", BARE_TIP.replace("#!", "#")),
        );
    }
}
