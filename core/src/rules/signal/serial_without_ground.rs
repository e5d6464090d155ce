//! A serial line between two units that have no signal ground in common.

use crate::{netlist::Through, rules::prelude::*};

/// The rule.
pub const RULE: Rule = Rule {
    slug: "serial-without-ground",
    title: "Serial line without a signal ground",
    level: Level::Caution,
    why: "A serial level is measured against the signal ground. Without one it is measured against whatever the power \
          returns do: characters are lost when a large load comes on.",
    sources: &[cite(
        COMMON_PRACTICE,
        "a signal ground runs with each serial line, by the pin tables of both units",
    )],
    reads: Reads::JOINS,
    check,
};

fn check(facts: &Facts<'_>, out: &mut Findings<'_, '_>) {
    let groups = facts.netlist().groups(Through::METAL);
    for conductor in facts.conductors() {
        let ends: Vec<_> = (conductor.with(Role::SerialTx))
            .chain(conductor.with(Role::SerialRx))
            .collect();
        let [(a, own), (b, other), ..] = ends[..] else {
            continue;
        };
        let grounds = |id| {
            facts
                .terminals()
                .filter(move |it| it.id == id && is_ground(it.terminal.role))
                .map(|it| it.node)
        };
        let is_joined = grounds(a).any(|x| grounds(b).any(|y| groups.same(x, y)));
        if is_joined || a == b {
            out.clear(conductor.wires[0]);
            continue;
        }
        out.finding(conductor.wires[0])
            .says(format!(
                "{} and {} have no ground in common",
                facts.label((a, &own.id)),
                facts.label((b, &other.id))
            ))
            .help("run the signal ground of both units with the line")
            .also((a, &own.id))
            .also((b, &other.id));
    }
}

fn is_ground(role: Role) -> bool {
    matches!(role, Role::SignalReturn | Role::Return)
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::testing::check_rule;

    const UNITS: &str = "
        unit GPS1 3:serial_tx 4:signal_return
        unit DU1 7:serial_rx 8:signal_return
    ";

    #[test]
    fn finds_a_line_without_a_ground() {
        check_rule(
            &RULE,
            &format!("{UNITS}\nwire A GPS1.3 DU1.7 22 1m #! serial-without-ground"),
        );
    }

    #[test]
    fn accepts_a_ground_with_the_line() {
        check_rule(
            &RULE,
            &format!("{UNITS}\nwire A GPS1.3 DU1.7 22 1m\nwire B GPS1.4 DU1.8 22 1m"),
        );
    }
}
