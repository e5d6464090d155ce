//! An audio or sensor shield grounded at both ends.

use crate::rules::{
    and_list,
    ground::shields::{Carries, Tie, carries, runs},
    prelude::*,
};

/// An audio or sensor shield grounded at both ends.
pub const RULE: Rule = Rule {
    slug: "shield-both-ends",
    title: "Shield grounded at both ends",
    level: Level::Caution,
    why: "A shield grounded at both ends is a conductor between two points that are never at quite the \
          same voltage. Its current runs along the audio for the whole length and is heard as whine.",
    sources: &[
        cite(
            MIL_HDBK_419A,
            "vol I, par 5.4.1: low-frequency networks are grounded at one point",
        ),
        cite(
            COMMON_PRACTICE,
            "audio shields are grounded at the audio unit only; data, power and ignition shields as their \
             makers say",
        ),
    ],
    reads: Reads::JOINS,
    check,
};

fn check(facts: &Facts<'_>, out: &mut Findings<'_, '_>) {
    for run in runs(facts) {
        let first = run.cables[0];
        if run.ties.len() < 2 {
            out.clear(first);
            continue;
        }
        match carries(facts, &run) {
            Carries::Other => out.clear(first),
            Carries::Unknown => out.not_checked(
                first,
                format!(
                    "the pins at the ends of {} do not say what it carries",
                    facts.label(first)
                ),
            ),
            Carries::Audio | Carries::Sensors => {
                let undo = to_undo(facts, &run.ties);
                let places: Vec<String> = run
                    .ties
                    .iter()
                    .map(|tie| facts.end_label(&tie.at))
                    .collect();
                let change = float(facts, undo);
                let mut report = out
                    .finding(undo.cable)
                    .says(format!(
                        "the shield of {} is grounded at {}",
                        facts.label(undo.cable),
                        and_list(&places)
                    ))
                    .help("ground it only at the unit that receives the signal; cut it back and cover it at the other end");
                for cable in &run.cables {
                    report = report.also(*cable);
                }
                for tie in &run.ties {
                    if let End::Terminal(device, terminal) = &tie.at {
                        report = report.also((device, terminal));
                    }
                }
                report.mend(
                    format!(
                        "Float the shield of {} at {}",
                        facts.label(undo.cable),
                        facts.end_label(&undo.at)
                    ),
                    MendKind::Ask,
                    change,
                );
            }
        }
    }
}

/// The end that is less likely to be intended: not at a terminal made for shields, not at a unit.
fn to_undo<'a, 'd>(facts: &Facts<'_>, ties: &'a [Tie<'d>]) -> &'a Tie<'d> {
    let meant = |tie: &&Tie<'_>| match &tie.at {
        End::Terminal(device, terminal) => match facts.terminal(device, terminal) {
            Some((_, terminal)) if terminal.role == Role::ShieldTie => 2,
            Some((device, _)) if device.kind == DeviceKind::Unit => 1,
            _ => 0,
        },
        _ => 0,
    };
    // The last of the least likely: cables are drawn away from the unit.
    ties.iter().rev().min_by_key(meant).unwrap_or(&ties[0])
}

/// The change that leaves this end of a shield floating.
fn float(facts: &Facts<'_>, tie: &Tie<'_>) -> Change {
    let after = facts.document.cables.get(tie.cable).map(|cable| {
        let mut cable = cable.clone();
        if let Some(shield) = &mut cable.shield {
            match tie.end {
                WireEnd::From => shield.from = ShieldEnd::Floating,
                WireEnd::To => shield.to = ShieldEnd::Floating,
            }
        }
        Record::Cable(cable)
    });
    Change::set(facts.document, Key::Cable(tie.cable.clone()), after)
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::testing::{check_mend, check_rule};

    const SEAT: &str = "
        unit IC1 J112-4:shield_tie J112-7:audio_high J112-15:audio_low
        mated J310/P310 12 13 15
        jack JK8 mic isolated
        wire A13-1 IC1.J112-7 J310.J310-12
        wire A13-2 IC1.J112-15 J310.J310-13
        wire A13B-1 J310.P310-12 JK8.ring
        wire A13B-2 J310.P310-13 JK8.sleeve
        cable A13 A13-1 A13-2 shield IC1.J112-4 carried:J310.J310-15
    ";

    #[test]
    fn finds_a_shield_tied_again_beyond_a_connector() {
        let text = format!(
            "{SEAT} cable A13B A13B-1 A13B-2 shield carried:J310.P310-15 JK8.sleeve #! shield-both-ends"
        );
        let verdict = check_rule(&RULE, &text);
        let finding = &verdict.findings[0];
        assert_eq!(
            finding.message,
            "the shield of A13B is grounded at IC1 J112-4 and JK8 sleeve"
        );
        assert!(finding.at.iter().any(|at| at.id == "A13"));
        check_mend(&RULE, &text);
    }

    #[test]
    fn accepts_one_tie_and_several_shields_at_the_same_terminal() {
        check_rule(
            &RULE,
            &format!(
                "{SEAT}
                cable A13B A13B-1 A13B-2 shield carried:J310.P310-15 floating
                cable A14 shield IC1.J112-4 floating
                "
            ),
        );
    }

    #[test]
    fn accepts_data_shields_at_both_backshells() {
        check_rule(
            &RULE,
            "
            unit FD1 J101-5:can_high SHELL:passive
            unit MD1 J102-5:can_high SHELL:passive
            wire DB1A FD1.J101-5 MD1.J102-5
            cable DB1 DB1A shield FD1.SHELL MD1.SHELL
            ",
        );
    }

    #[test]
    fn not_checked_while_nobody_knows_what_it_carries() {
        check_rule(
            &RULE,
            "
            unit FD1 1 SHELL
            unit MD1 1 SHELL
            wire W1 FD1.1 MD1.1
            cable C1 W1 shield FD1.SHELL MD1.SHELL #? shield-both-ends
            ",
        );
    }
}
