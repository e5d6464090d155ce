//! A serial output that nothing listens to, or an input that nothing drives.

use crate::rules::{prelude::*, signal::joined::also_all};

/// A serial output that nothing listens to, or an input that nothing drives.
pub const RULE: Rule = Rule {
    slug: "serial-unheard",
    title: "Serial line with only one end",
    level: Level::Caution,
    why: "A line that leaves a serial port and reaches no other carries nothing: a pin from the wrong row of \
          the table, or an unfinished wire.",
    sources: &[cite(
        COMMON_PRACTICE,
        "a serial output (TX) goes to one or more inputs (RX), by the pin tables of both units",
    )],
    reads: Reads::JOINS,
    check,
};

fn check(facts: &Facts<'_>, out: &mut Findings<'_, '_>) {
    for conductor in facts.conductors() {
        let outputs = conductor.with(Role::SerialTx).count();
        let inputs = conductor.with(Role::SerialRx).count();
        let at = conductor.wires[0];
        let (own, wanted) = match (outputs, inputs) {
            (0, 0) => continue,
            // Another rule reports a line of inputs or outputs alone.
            (1, 0) => (Role::SerialTx, "no input"),
            (0, 1) => (Role::SerialRx, "no output"),
            _ => {
                out.clear(at);
                continue;
            }
        };
        let Some((device, terminal)) = conductor.with(own).next() else {
            continue;
        };
        let others: Vec<String> = (conductor.ends.iter())
            .filter(|(_, it)| it.role != own)
            .map(|(device, it)| facts.label((*device, &it.id)))
            .collect();
        let beside = match others.first() {
            Some(other) => format!(", only {other}"),
            None => String::new(),
        };
        let word = if outputs == 1 { "output" } else { "input" };
        let report = out
            .finding(at)
            .says(format!(
                "{word} {} has {wanted} on its wire{beside}",
                facts.label((device, &terminal.id))
            ))
            .help("wire it to the other unit by both pin tables, or remove the wire");
        also_all(report, conductor);
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::testing::check_rule;

    const UNITS: &str = "
        unit COM1 J105-11:serial_tx:TXD J105-10:serial_rx:RXD
        unit FD1 J101-9:serial_rx:RX J101-3:discrete:SW
    ";

    #[test]
    fn finds_an_output_on_a_pin_that_is_no_input() {
        let verdict = check_rule(
            &RULE,
            &format!("{UNITS} wire DB2A COM1.J105-11 FD1.J101-3 #! serial-unheard"),
        );
        let said = &verdict.findings[0].message;
        assert!(said.contains("only FD1 J101-3"), "{said}");
    }

    #[test]
    fn accepts_an_output_on_an_input() {
        check_rule(&RULE, &format!("{UNITS} wire DB2A COM1.J105-11 FD1.J101-9"));
    }
}
