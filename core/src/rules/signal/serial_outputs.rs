//! A serial output wired to an output.

use crate::{
    ids::DeviceId,
    rules::{
        Conductor, and_list,
        prelude::*,
        signal::joined::{also_all, exchange},
    },
};

/// A serial output wired to an output.
pub const RULE: Rule = Rule {
    slug: "serial-outputs",
    title: "Serial output wired to output",
    level: Level::Fault,
    why: "Two outputs on one wire drive against each other and neither is heard. The units work, no data \
          arrives, and the search goes through every setting before it reaches the pins.",
    sources: &[cite(
        COMMON_PRACTICE,
        "a serial output (TX) goes to one or more inputs (RX), by the pin tables of both units",
    )],
    reads: Reads::JOINS,
    check,
};

fn check(facts: &Facts<'_>, out: &mut Findings<'_, '_>) {
    let mut inputs_only: Vec<&Conductor<'_>> = Vec::new();
    let mut told: Vec<Vec<&DeviceId>> = Vec::new();
    let mut two_outputs: Vec<&Conductor<'_>> = Vec::new();
    for conductor in facts.conductors() {
        let outputs = conductor.with(Role::SerialTx).count();
        let inputs = conductor.with(Role::SerialRx).count();
        match (outputs, inputs) {
            (0, 0) => {}
            (0, 2..) => inputs_only.push(conductor),
            (2.., _) => {
                told.push(conductor.ends.iter().map(|(device, _)| *device).collect());
                two_outputs.push(conductor);
            }
            _ => {
                for wire in &conductor.wires {
                    out.clear(*wire);
                }
            }
        }
    }
    for conductor in two_outputs {
        let outputs: Vec<_> = conductor.with(Role::SerialTx).collect();
        let names: Vec<String> = outputs
            .iter()
            .map(|(device, terminal)| name(facts, device, terminal))
            .collect();
        let devices: Vec<&DeviceId> = conductor.ends.iter().map(|(device, _)| *device).collect();
        let mut report = out
            .finding(conductor.wires[0])
            .says(format!("outputs wired together: {}", and_list(&names)))
            .help("wire each output to the other unit's input");
        report = also_all(report, conductor);
        // The other wire of the swapped pair: inputs that nothing drives, of the same units.
        let mut exchanged = None;
        for other in &inputs_only {
            if other
                .ends
                .iter()
                .all(|(device, _)| devices.contains(device))
            {
                report = also_all(report, other);
                exchanged.get_or_insert(*other);
            }
        }
        if let Some(other) = exchanged {
            exchange(facts, report, [conductor, other], |role, other| {
                role != other
            });
        }
    }
    for conductor in inputs_only {
        let consequence = told.iter().any(|devices| {
            conductor
                .ends
                .iter()
                .all(|(device, _)| devices.contains(device))
        });
        if consequence {
            continue;
        }
        let names: Vec<String> = conductor
            .with(Role::SerialRx)
            .map(|(device, terminal)| name(facts, device, terminal))
            .collect();
        let report = out
            .finding(conductor.wires[0])
            .says(format!(
                "inputs on a wire without an output: {}",
                and_list(&names)
            ))
            .help("wire each input to the other unit's output");
        also_all(report, conductor);
    }
}

/// "COM1 J105-11 (TXD1)".
fn name(facts: &Facts<'_>, device: &DeviceId, terminal: &Terminal) -> String {
    let label = facts.label((device, &terminal.id));
    match terminal.name.as_str() {
        "" => label,
        name => format!("{label} ({name})"),
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::testing::{check_mend, check_rule};

    const UNITS: &str = "
        unit COM1 J105-11:serial_tx:TXD J105-10:serial_rx:RXD
        unit FD1 J101-9:serial_rx:RX_1 J101-8:serial_tx:TX_1 J101-21:serial_rx:RX_2
    ";

    #[test]
    fn finds_output_to_output_once_for_a_swapped_pair() {
        let verdict = check_rule(
            &RULE,
            &format!(
                "{UNITS}
                wire DB2A COM1.J105-11 FD1.J101-8 #! serial-outputs
                wire DB2B COM1.J105-10 FD1.J101-9
                "
            ),
        );
        let finding = &verdict.findings[0];
        assert_eq!(
            finding.message,
            "outputs wired together: COM1 J105-11 (TXD) and FD1 J101-8 (TX 1)"
        );
        assert!(finding.at.iter().any(|at| at.id == "DB2B"));
    }

    #[test]
    fn finds_inputs_that_nothing_drives() {
        check_rule(
            &RULE,
            &format!("{UNITS} wire DB2B COM1.J105-10 FD1.J101-9 #! serial-outputs"),
        );
    }

    #[test]
    fn accepts_an_output_to_two_inputs_through_a_connector() {
        check_rule(
            &RULE,
            &format!(
                "{UNITS}
                mated J20/P20 1
                wire DB2A COM1.J105-11 J20.J20-1
                wire DB2B J20.P20-1 FD1.J101-9
                wire DB2C FD1.J101-9 FD1.J101-21
                wire DB2D FD1.J101-8 COM1.J105-10
                "
            ),
        );
    }

    #[test]
    fn the_fix_swaps_the_pair() {
        let after = check_mend(
            &RULE,
            &format!(
                "{UNITS}
                wire DB2A COM1.J105-11 FD1.J101-8
                wire DB2B COM1.J105-10 FD1.J101-9"
            ),
        );
        assert_ne!(after.wires["DB2A"].from, after.wires["DB2B"].from);
    }
}
