//! Pins of roles that do not belong on one conductor, and pins that a supply or a ground reaches and must not.

use crate::{
    ids::DeviceId,
    netlist::{AtNode, Reach, Through},
    rules::{Conductor, prelude::*},
};

/// Pins of roles that do not belong on one conductor.
pub const RULE: Rule = Rule {
    slug: "pin-mismatch",
    title: "Pins that do not belong together",
    level: Level::Fault,
    why: "A supply on a signal pin destroys the unit at the first power-up; a signal on ground or on another \
          unit's signal does not work. Mostly two wires were swapped, or one sits a pin too far.",
    sources: &[cite(
        COMMON_PRACTICE,
        "every conductor is compared with the pin tables of both its ends before the connectors are mated",
    )],
    reads: Reads::JOINS,
    check,
};

/// What a pin is part of.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Family {
    Power,
    Ground,
    Audio,
    Serial,
    Can,
    Arinc,
    Thermocouple,
    Radio,
    Ignition,
    Key,
    Sensor,
    /// What may be wired to many things: plain pins, discretes, sync leads.
    Any,
}

fn family(role: Role) -> Family {
    match role {
        Role::PowerIn | Role::PowerOut => Family::Power,
        Role::Return | Role::SignalReturn | Role::ShieldTie => Family::Ground,
        Role::AudioHigh | Role::AudioLow => Family::Audio,
        Role::SerialTx | Role::SerialRx => Family::Serial,
        Role::CanHigh | Role::CanLow => Family::Can,
        Role::Arinc429A | Role::Arinc429B => Family::Arinc,
        Role::ThermocouplePlus | Role::ThermocoupleMinus => Family::Thermocouple,
        Role::Rf => Family::Radio,
        Role::PLead => Family::Ignition,
        Role::KeyLine => Family::Key,
        Role::SensorPlus | Role::SensorMinus => Family::Sensor,
        Role::Passive
        | Role::Discrete
        | Role::InputGround
        | Role::InputPower
        | Role::OutputGround
        | Role::OutputPower
        | Role::Sync
        | Role::Spare => Family::Any,
    }
}

/// True for the side of a signal that may be tied to ground.
fn is_low(role: Role) -> bool {
    matches!(
        role,
        Role::AudioLow | Role::SensorMinus | Role::ThermocoupleMinus
    )
}

/// True if pins of these roles must not share a conductor.
fn clash(a: Role, b: Role) -> bool {
    use Family::{Any, Ground, Ignition, Key, Power, Sensor};
    match (family(a), family(b)) {
        (x, y) if x == y => false,
        // The magneto switch rule judges P-leads; a tachometer may be fed by one, a sensor by a supply.
        (Any | Ignition, _) | (_, Any | Ignition) => false,
        (Sensor, Power) | (Power, Sensor) => is_low(a) || is_low(b),
        // What a ground reaches is judged by the ground itself; a key line that is tied to one is keyed for good.
        (Ground, Key) | (Key, Ground) => a != Role::ShieldTie && b != Role::ShieldTie,
        (Ground, _) => !is_low(b) && b != Role::SensorPlus && a != Role::ShieldTie,
        (_, Ground) => !is_low(a) && a != Role::SensorPlus && b != Role::ShieldTie,
        _ => true,
    }
}

fn check(facts: &Facts<'_>, out: &mut Findings<'_, '_>) {
    // What is live for good: a switch may be in the way of a signal, a breaker is not.
    let (netlist, returns) = (facts.netlist(), facts.returns());
    let always = Through::METAL.and(Through::PROTECTORS);
    let live = netlist.reach_by(
        netlist.sources().map(|source| netlist.ends(source).0),
        |edge, forward| {
            let (a, b) = netlist.ends(edge);
            let next = if forward { b } else { a };
            always.passes(&netlist.graph[edge], forward) && !returns.has(next)
        },
        |_| AtNode::GoOn,
    );
    for conductor in facts.conductors() {
        let Some(first) = conductor.ends.first() else {
            continue;
        };
        let says = two_roles(facts, conductor).or_else(|| reached(facts, conductor, &live));
        let Some((at, says)) = says else {
            out.clear((first.0, &first.1.id));
            continue;
        };
        let wire = facts.first_wire_at((at.0, &at.1.id));
        let report = match wire {
            Some(wire) => out.finding(wire),
            None => out.finding((at.0, &at.1.id)),
        };
        let report = report
            .says(says)
            .help("compare both ends with the pin tables; swap the wires at the end that is wrong");
        super::joined::also_all(report, conductor);
    }
}

type Pin<'d> = (&'d DeviceId, &'d Terminal);

/// Two pins of a conductor that do not belong together.
fn two_roles<'d>(facts: &Facts<'d>, conductor: &Conductor<'d>) -> Option<(Pin<'d>, String)> {
    let ends = &conductor.ends;
    for (nth, a) in ends.iter().enumerate() {
        for b in &ends[nth + 1..] {
            if a.0 != b.0 && clash(a.1.role, b.1.role) {
                let says = format!(
                    "{} ({}) is wired to {} ({})",
                    facts.label((a.0, &a.1.id)),
                    a.1.role.words(),
                    facts.label((b.0, &b.1.id)),
                    b.1.role.words()
                );
                return Some((*a, says));
            }
        }
    }
    None
}

/// A pin that a supply or a ground reaches and must not.
fn reached<'d>(
    facts: &Facts<'d>,
    conductor: &Conductor<'d>,
    live: &Reach,
) -> Option<(Pin<'d>, String)> {
    conductor.ends.iter().find_map(|end| {
        let node = facts.netlist().terminal(end.0, &end.1.id)?;
        let role = end.1.role;
        let label = || format!("{} ({})", facts.label((end.0, &end.1.id)), role.words());
        if facts.returns().has(node) {
            let is_wrong = matches!(role, Role::PowerIn | Role::PowerOut | Role::KeyLine)
                || matches!(
                    family(role),
                    Family::Audio
                        | Family::Serial
                        | Family::Can
                        | Family::Arinc
                        | Family::Thermocouple
                ) && !is_low(role);
            return is_wrong.then(|| (*end, format!("{} is wired to ground", label())));
        }
        let must_not = match family(role) {
            Family::Power | Family::Any | Family::Ignition => false,
            Family::Sensor => is_low(role),
            _ => role != Role::ShieldTie,
        };
        (must_not && live.has(node)).then(|| (*end, format!("{} is wired to a supply", label())))
    })
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::testing::check_rule;

    const PARTS: &str = "
        battery BT1
        bus MBUS CB1=5
        ground GB1 T1 T2
        unit COM1 1:power_in 4:audio_high 5:audio_low 7:key_line 8:signal_return 9:return
        unit IC1 3:audio_high 16:audio_low 22:key_line 1:serial_tx
        wire P BT1.+ MBUS.STUD
        wire N BT1.- GB1.T1
    ";

    fn found(wires: &str) -> String {
        check_rule(&RULE, &format!("{PARTS}{wires}")).findings[0]
            .message
            .clone()
    }

    #[test]
    fn finds_a_supply_on_a_microphone_pin() {
        let said = found("wire R3 MBUS.CB1 COM1.4 #! pin-mismatch");
        assert_eq!(
            said,
            "COM1 4 (audio high) is wired to MBUS CB1 (gives power)"
        );
    }

    #[test]
    fn finds_two_signals_that_meet_and_a_key_line_on_a_return() {
        let said = found("wire A IC1.1 COM1.4 #! pin-mismatch");
        assert!(
            said.contains("(serial TX)") && said.contains("(audio high)"),
            "{said}"
        );
        let said = found("wire A IC1.22 COM1.8 #! pin-mismatch");
        assert_eq!(said, "COM1 8 (signal return) is wired to IC1 22 (key line)");
    }

    #[test]
    fn finds_the_supply_pin_of_a_unit_on_ground() {
        let said = found("wire A COM1.1 GB1.T2 #! pin-mismatch");
        assert_eq!(said, "COM1 1 (takes power) is wired to ground");
    }

    #[test]
    fn accepts_what_belongs_together() {
        check_rule(
            &RULE,
            &format!(
                "{PARTS}
                unit EM1 2:sensor_plus 3:sensor_minus
                wire A MBUS.CB1 COM1.1
                wire B COM1.9 GB1.T1
                wire C COM1.4 IC1.3
                wire D COM1.5 IC1.16
                wire E COM1.7 IC1.22
                wire F COM1.8 GB1.T2
                wire G EM1.2 MBUS.CB1
                wire H EM1.3 GB1.T2
                "
            ),
        );
    }
}
