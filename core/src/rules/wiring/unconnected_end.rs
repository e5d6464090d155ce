//! A wire that ends nowhere, or a terminal that needs a wire and has none.

use petgraph::graph::NodeIndex;

use crate::{
    ids::{DeviceId, WireId},
    netlist::WireAt,
    rules::{
        facts::{Touch, wires_of},
        prelude::*,
    },
};

/// A wire that ends nowhere, or a terminal that needs a wire and has none.
pub const RULE: Rule = Rule {
    slug: "unconnected-end",
    title: "Open connection",
    level: Level::Fault,
    why: "What is not wired does not work, and a loose live end may touch metal.",
    sources: &[cite(
        COMMON_PRACTICE,
        "every end goes somewhere; a spare core is marked as spare and insulated",
    )],
    reads: Reads::JOINS,
    check,
};

fn check(facts: &Facts<'_>, out: &mut Findings<'_, '_>) {
    for (id, wire, at) in facts.wires() {
        check_wire(facts, out, id, wire, at);
    }
    for (id, device) in &facts.document.devices {
        check_device(facts, out, id, device);
    }
}

fn check_wire(facts: &Facts<'_>, out: &mut Findings<'_, '_>, id: &WireId, wire: &Wire, at: WireAt) {
    if wire.from == End::Open && wire.to == End::Open {
        let (level, says) = match facts.cable_of(id) {
            Some(cable) => (
                Level::Note,
                format!(
                    "{} in {} is a spare core, open at both ends",
                    facts.label(id),
                    facts.label(cable)
                ),
            ),
            None => (
                Level::Caution,
                format!("{} is open at both ends", facts.label(id)),
            ),
        };
        out.finding(id)
            .level(level)
            .says(says)
            .help("insulate both ends of a spare core; remove a wire that is not needed");
        return;
    }
    let ends = [
        (&wire.from, &wire.to, at.ends[0]),
        (&wire.to, &wire.from, at.ends[1]),
    ];
    let mut clear = true;
    for (end, other, node) in ends {
        let Some(wrong) = wrong_end(facts, id, end, node) else {
            continue;
        };
        clear = false;
        let mut report = out
            .finding(id)
            .says(format!(
                "{} from {} {wrong}",
                facts.label(id),
                facts.end_label(other)
            ))
            .help("wire it where it belongs, or remove it");
        for end in [end, other] {
            if let End::Terminal(device, terminal) = end
                && facts.exists(end)
            {
                report = report.also((device, terminal));
            }
        }
    }
    if clear {
        out.clear(id);
    }
}

/// What is wrong with the end of a wire: "is open at the far end".
fn wrong_end(facts: &Facts<'_>, id: &WireId, end: &End, node: NodeIndex) -> Option<String> {
    let there = match end {
        End::Terminal(..) => facts.terminal_at(node).is_some(),
        _ => facts.exists(end),
    };
    match end {
        End::Open => Some("is open at the far end".into()),
        _ if !there => Some(format!(
            "ends at {}, which does not exist",
            facts.end_label(end)
        )),
        End::Splice(splice)
            if facts
                .touches_at(node)
                .iter()
                .all(|touch| matches!(touch, Touch::Wire(wire, _) if *wire == id)) =>
        {
            Some(format!(
                "ends in splice {}, with no other wire there",
                facts.label(splice)
            ))
        }
        End::Structure(place) if facts.document.places[place].conductive == Some(false) => {
            Some(format!(
                "ends on {}, which is not metal and carries no current",
                facts.label(place)
            ))
        }
        End::Terminal(..) => {
            let mate = facts.terminal_at(facts.mate_of(node)?)?;
            facts.touches_at(mate.node).is_empty().then(|| {
                format!(
                    "ends at {}, and no wire continues from {}",
                    facts.end_label(end),
                    facts.end_label(&End::Terminal(mate.id.clone(), mate.terminal.id.clone()))
                )
            })
        }
        _ => None,
    }
}

fn check_device(facts: &Facts<'_>, out: &mut Findings<'_, '_>, id: &DeviceId, device: &Device) {
    let is_needed = |terminal: &Terminal| is_needed(device.kind, terminal);
    if !device.terminals.iter().any(is_needed) {
        return;
    }
    let nodes: Vec<_> = facts.netlist().terminals(id).collect();
    let wired: Vec<bool> = (device.terminals.iter().zip(&nodes))
        .map(|(terminal, node)| is_wired(facts, device, terminal, *node))
        .collect();
    if !wired.contains(&true) {
        out.finding(id)
            .level(Level::Note)
            .says(format!("{} is not wired yet", device.tag))
            .help("draw its power and its return first");
        return;
    }
    let needed = || {
        let all = device.terminals.iter().zip(&wired);
        all.filter(|(terminal, _)| is_needed(terminal))
    };
    let any_power = needed().any(|(it, wired)| it.role == Role::PowerIn && *wired);
    for (terminal, wired) in needed() {
        let at = (id, &terminal.id);
        // `no-return` reports a load without its return.
        let is_load_return = device.elements.iter().any(
            |element| matches!(&element.is, ElementKind::Load(load) if load.minus == terminal.id),
        );
        if *wired {
            out.clear(at);
        } else if !is_load_return || terminal.role == Role::PowerIn {
            let (level, what) = match terminal.role {
                Role::PowerIn if any_power => (Level::Caution, "also takes power"),
                Role::PowerIn => (Level::Fault, "takes power"),
                Role::Return => (Level::Fault, "is a return"),
                _ => (Level::Fault, "is a lead of a sensor or antenna"),
            };
            out.finding(at)
                .level(level)
                .says(format!("{} {what} and has no wire", facts.label(at)))
                .help("wire it as the maker's manual says");
        }
    }
}

/// True if a device of this kind does not work without a wire at the terminal. A unit can leave signals unused; a sensor
/// and an antenna have no other.
fn is_needed(kind: DeviceKind, terminal: &Terminal) -> bool {
    match terminal.role {
        Role::PowerIn | Role::Return => true,
        Role::Rf => kind == DeviceKind::Antenna,
        Role::SensorPlus | Role::SensorMinus | Role::ThermocouplePlus | Role::ThermocoupleMinus => {
            matches!(kind, DeviceKind::Sensor | DeviceKind::Motor) && !terminal.covered
        }
        _ => false,
    }
}

/// True if a wire ends at the terminal, or at one that metal inside the device joins to it, or
/// if it touches structure.
fn is_wired(facts: &Facts<'_>, device: &Device, terminal: &Terminal, node: NodeIndex) -> bool {
    let netlist = facts.netlist();
    // A shield feeds no unit and carries no return.
    let touched = |node| wires_of(facts.touches_at(node)).next().is_some();
    touched(node)
        || device.elements.iter().any(|element| match &element.is {
            ElementKind::Bar(bar) => {
                bar.terminals.contains(&terminal.id)
                    && facts.terminal_at(node).is_some_and(|at| {
                        let others = bar.terminals.iter();
                        others
                            .filter_map(|other| netlist.terminal(at.id, other))
                            .any(touched)
                    })
            }
            ElementKind::StructureTie(tie) => {
                tie.terminal == terminal.id && facts.is_metal(device.place.as_ref())
            }
            _ => false,
        })
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::{
        document::DeviceKind,
        rules::{Facts, run},
        testing::check_rule,
    };

    #[test]
    fn finds_open_ends() {
        let verdict = check_rule(
            &RULE,
            "
            place TAIL composite
            bus MBUS CB1=5 CB2=5 CB3=5 CB4=5
            mated J201/P201 1 2
            splice SP1
            wire W1 MBUS.CB1 open #! unconnected-end
            wire W2 MBUS.CB2 LT9.+ #! unconnected-end
            wire W3 MBUS.CB3 SP1 #! unconnected-end
            wire W4 MBUS.CB4 J201.J201-2 #! unconnected-end
            wire W5 MBUS.STUD @TAIL #! unconnected-end
            wire W6 open open #! unconnected-end
            ",
        );
        let messages: Vec<&str> = verdict
            .findings
            .iter()
            .map(|it| it.message.as_str())
            .collect();
        assert!(
            messages.contains(&"W1 from MBUS CB1 is open at the far end"),
            "{messages:?}"
        );
        assert!(
            messages.contains(&"W2 from MBUS CB2 ends at LT9 +, which does not exist"),
            "{messages:?}"
        );
    }

    #[test]
    fn finds_a_unit_without_power() {
        let verdict = check_rule(
            &RULE,
            "
            ground GB1 T1
            load LT1 1 #! unconnected-end
            load LT2 1 #! unconnected-end
            wire W1 LT1.- GB1.T1
            ",
        );
        assert_eq!(
            verdict.findings[0].message,
            "LT1 + takes power and has no wire"
        );
        assert_eq!(verdict.findings[1].message, "LT2 is not wired yet");
    }

    /// A unit can leave an input unused; a sensor with one lead in the air measures nothing.
    #[test]
    fn finds_a_lead_of_a_sensor_without_a_wire() {
        let text = "
            unit EM1 1:thermocouple_plus 2:thermocouple_minus 3:sensor_plus 4:sensor_plus
            unit CHT1 +:thermocouple_plus -:thermocouple_minus #! unconnected-end
            unit AN1 RF:rf BASE:shield_tie
            wire A CHT1.+ EM1.1
        ";
        let mut fixture = crate::testing::fixture(text);
        let sensor = fixture.document.devices.get_mut("CHT1");
        sensor.expect("it is there").kind = DeviceKind::Sensor;
        let antenna = fixture.document.devices.get_mut("AN1");
        antenna.expect("it is there").kind = DeviceKind::Antenna;
        let verdict = run(&Facts::new(&fixture.document), &[&RULE]);
        let said: Vec<&str> = verdict.findings.iter().map(|it| &*it.message).collect();
        assert_eq!(
            said,
            [
                "CHT1 - is a lead of a sensor or antenna and has no wire",
                "AN1 is not wired yet"
            ]
        );
    }

    #[test]
    fn a_shield_on_a_power_pin_is_no_wire_to_it() {
        check_rule(
            &RULE,
            "
            unit COM1 1:power_in 9:return 3:audio_high #! unconnected-end
            unit IC1 3:audio_high 4:shield_tie
            ground GB1 T1
            wire A COM1.9 GB1.T1
            wire B COM1.3 IC1.3
            cable C1 B shield COM1.1 IC1.4
            ",
        );
    }

    #[test]
    fn accepts_joints_inside_ties_to_metal_and_mated_pins() {
        check_rule(
            &RULE,
            "
            place FIREWALL metal
            bus MBUS CB1=5 CB2=5
            mated J201/P201 1
            load LT1 1
            unit COM1 J105-1:power_in J105-2:power_in J105-9:return at=FIREWALL
            inside COM1 bar J105-1 J105-2
            inside COM1 tie J105-9
            wire W1 MBUS.CB1 COM1.J105-1
            wire W2 MBUS.CB2 J201.J201-1
            wire W3 J201.P201-1 LT1.+
            wire W4 LT1.- @FIREWALL
            ",
        );
    }
}
