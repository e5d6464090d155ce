//! Signal pins of a unit that have no wire yet, while others of it do.

use crate::{
    ids::{DeviceId, TerminalId},
    rules::{and_list, prelude::*},
};

/// Signal pins of a unit that have no wire yet, while others of it do.
pub const RULE: Rule = Rule {
    slug: "not-wired-yet",
    title: "Not wired yet",
    level: Level::Note,
    why: "A pin that was forgotten looks like one that is not used. Said once for each unit, so that the list is read \
          before the connectors are closed.",
    sources: &[cite(
        COMMON_PRACTICE,
        "the pin table of each connector is gone through pin by pin before it is closed",
    )],
    reads: Reads::JOINS,
    check,
};

/// Pins named in a message; the others are counted.
const NAMED: usize = 4;

fn check(facts: &Facts<'_>, out: &mut Findings<'_, '_>) {
    for (id, device) in &facts.document.devices {
        // Of a unit without any wire that is said as a whole.
        // A jack's contacts have a rule of their own.
        let is_jack = device.kind == DeviceKind::Jack;
        let nodes = facts.netlist().terminals(id);
        let is_wired = |node| !facts.touches_at(node).is_empty();
        if is_jack || !nodes.clone().any(is_wired) {
            continue;
        }
        let bare: Vec<&Terminal> = (device.terminals.iter().zip(nodes))
            .filter(|(it, node)| is_signal(it.role) && !it.covered && !is_wired(*node))
            .map(|(it, _)| it)
            .collect();
        if bare.is_empty() {
            out.clear(id);
            continue;
        }
        report(facts, out, id, &bare);
    }
}

fn report(facts: &Facts<'_>, out: &mut Findings<'_, '_>, id: &DeviceId, bare: &[&Terminal]) {
    let name = |it: &&Terminal| {
        let pin: (&DeviceId, &TerminalId) = (id, &it.id);
        match it.name.trim() {
            "" => facts.label(pin),
            name => format!("{} ({name})", facts.label(pin)),
        }
    };
    let mut names: Vec<String> = bare.iter().take(NAMED).map(name).collect();
    if bare.len() > NAMED {
        names.push(format!("{} more", bare.len() - NAMED));
    }
    let verb = if bare.len() == 1 { "has" } else { "have" };
    let mut report = out
        .finding(id)
        .says(format!("{} {verb} no wire", and_list(&names)))
        .help("wire what the installation needs; mark as unused and covered what it does not");
    for it in bare {
        report = report.also((id, &it.id));
    }
}

/// True for a pin that means something by itself: supply and return have rules of their own, as have plain pins.
fn is_signal(role: Role) -> bool {
    !matches!(
        role,
        Role::Passive
            | Role::Spare
            | Role::ShieldTie
            | Role::PowerIn
            | Role::PowerOut
            | Role::Return
            | Role::SensorMinus
            | Role::PLead
    )
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::testing::check_rule;

    #[test]
    fn finds_a_key_line_that_was_forgotten() {
        let verdict = check_rule(
            &RULE,
            "
            unit COM1 4:audio_high:MIC_HI 5:audio_low:MIC_LO 7:key_line:PTT 14:spare #! not-wired-yet
            unit IC1 3:audio_high 16:audio_low
            wire A COM1.4 IC1.3
            wire B COM1.5 IC1.16
            ",
        );
        assert_eq!(verdict.findings[0].message, "COM1 7 (PTT) has no wire");
    }

    #[test]
    fn accepts_covered_pins_and_units_that_nothing_is_wired_to() {
        check_rule(
            &RULE,
            "
            unit COM1 4:audio_high 7:key_line
            unit IC1 3:audio_high
            unit XP1 1:serial_tx
            covered COM1.7
            wire A COM1.4 IC1.3
            ",
        );
    }
}
