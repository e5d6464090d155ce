//! More wires in a contact, tab or screw than fit.

use std::fmt::Write as _;

use crate::{
    ids::{DeviceId, TerminalId},
    rules::{
        facts::{TerminalAt, Touch, wires_of},
        prelude::*,
    },
};

/// More wires at a terminal than fit.
pub const RULE: Rule = Rule {
    slug: "crowded-terminal",
    title: "Too many wires at a terminal",
    level: Level::Fault,
    why: "A contact is made to be crimped on one conductor. With two in one barrel the crimp holds neither \
          properly. One of them works loose, and the fault shows only when the engine runs.",
    sources: &[
        cite(AC_43_13_1B, "par 11-174, terminals are chosen by wire size"),
        cite(
            COMMON_PRACTICE,
            "one conductor in a contact, tab or lead, two under a screw",
        ),
    ],
    reads: Reads::JOINS,
    check,
};

fn check(facts: &Facts<'_>, out: &mut Findings<'_, '_>) {
    for at in facts.terminals() {
        let TerminalAt { id, terminal, .. } = at;
        // `crowded-stud` checks studs without a number of their own.
        if terminal.form == TerminalForm::Stud && terminal.fits.is_none() {
            continue;
        }
        let touches = facts.touches_at(at.node);
        let wires = wires_of(touches).count();
        // Shields that share a contact are joined outside it: together they are one conductor.
        // A shield with a core of its own cable continues with it, and a terminal made for shields
        // takes any number.
        let shields = terminal.role != Role::ShieldTie
            && touches.iter().any(|touch| match touch {
                Touch::Shield(cable, _) => {
                    !wires_of(touches).any(|(wire, _)| facts.cable_of(wire) == Some(cable))
                }
                Touch::Wire(..) => false,
            });
        let there = wires + usize::from(shields);
        let fits = terminal.fits() as usize;
        if there == 0 {
            continue;
        }
        if there <= fits {
            out.clear((id, &terminal.id));
        } else {
            report(facts, out, (id, &terminal.id), touches, there, fits);
        }
    }
}

fn report(
    facts: &Facts<'_>,
    out: &mut Findings<'_, '_>,
    at: (&DeviceId, &TerminalId),
    touches: &[Touch<'_>],
    there: usize,
    fits: usize,
) {
    let mut names = String::new();
    for (index, touch) in touches.iter().enumerate() {
        let name = match touch {
            Touch::Wire(wire, _) => facts.label(*wire),
            Touch::Shield(cable, _) => format!("the shield of {}", facts.label(*cable)),
        };
        let joint = match index {
            0 => "",
            _ if index + 1 == touches.len() => " and ",
            _ => ", ",
        };
        let _ = write!(names, "{joint}{name}");
    }
    let label = facts.label(at);
    let mut report = out
        .finding(at)
        .says(format!("{there} wires at {label}, limit {fits}: {names}"))
        .limit(there as f64, fits as f64, "wires")
        .help(
            "join them in a splice with one wire to the terminal, use another terminal that is \
             joined to it inside, or enter how many fit if the contact is made for more",
        );
    for touch in touches {
        report = match touch {
            Touch::Wire(wire, _) => report.also(*wire),
            Touch::Shield(cable, _) => report.also(*cable),
        };
    }
    report.mend(
        "Join them in a splice",
        MendKind::Ask,
        splice_before(facts, at, touches),
    );
}

/// Moves the wires at the terminal to a new splice, with one wire from there to the terminal.
fn splice_before(
    facts: &Facts<'_>,
    (device, terminal): (&DeviceId, &TerminalId),
    touches: &[Touch<'_>],
) -> Change {
    let document = facts.document;
    let mut change = Change::default();
    let name = facts.free_name("SP", |name| {
        document.splices.contains_key(name)
            || document.splices.values().any(|splice| splice.label == name)
    });
    let place = document
        .devices
        .get(device)
        .and_then(|device| device.place.clone());
    let splice = Splice {
        label: name.clone(),
        place,
        ohm: None,
        extra: Extra::new(),
    };
    let splice_key = Key::Splice(name.as_str().into());
    change.and_set(document, splice_key, Some(Record::Splice(splice)));
    let at = End::Splice(name.as_str().into());
    let mut thickest: Option<Wire> = None;
    for touch in touches {
        let Touch::Wire(id, end) = touch else {
            continue;
        };
        let Some(Record::Wire(mut wire)) = change.after(document, &Key::Wire((*id).clone())) else {
            continue;
        };
        if thickest
            .as_ref()
            .is_none_or(|other| match (other.gauge_awg, wire.gauge_awg) {
                (Some(other), Some(gauge)) => other.is_thinner_than(gauge),
                (other, _) => other.is_none(),
            })
        {
            thickest = Some(wire.clone());
        }
        match end {
            WireEnd::From => wire.from = at.clone(),
            WireEnd::To => wire.to = at.clone(),
        }
        change.and_set(document, Key::Wire((*id).clone()), Some(Record::Wire(wire)));
    }
    if let Some(model) = thickest {
        let number = facts.free_name(&format!("{}-", model.number), |number| {
            document.wires.contains_key(number)
                || document.wires.values().any(|wire| wire.number == number)
        });
        let tail = Wire {
            number: number.clone(),
            from: at,
            to: End::Terminal(device.clone(), terminal.clone()),
            length_m: Some(TAIL_M),
            fuse: None,
            route: Vec::new(),
            via: Vec::new(),
            status: BuildStatus::Planned,
            ..model
        };
        change.and_set(document, Key::Wire(number.into()), Some(Record::Wire(tail)));
    }
    change
}

/// Length of the wire from a new splice to its terminal, m: as short as a splice can be made there
/// (common practice, no source).
const TAIL_M: f64 = 0.1;

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::testing::{check_mend, check_rule};
    use crate::units::Gauge;

    const TWO_IN_ONE: &str = "
        unit FD1 J101-14:return J101-15:return #! crowded-terminal
        ground GB2 STUD T1 T2
        wire W1 FD1.J101-14 GB2.T1 22 0.7m
        wire W2 FD1.J101-14 GB2.T2 20 0.7m
        wire W3 FD1.J101-15 GB2.STUD 22 0.7m
    ";

    #[test]
    fn finds_two_wires_in_one_contact() {
        let verdict = check_rule(&RULE, TWO_IN_ONE);
        let finding = &verdict.findings[0];
        assert_eq!(
            finding.message,
            "2 wires at FD1 J101-14, limit 1: W1 and W2"
        );
        assert_eq!(finding.at[0].key(), "terminal:FD1/J101-14");
    }

    #[test]
    fn its_mend_joins_them_in_a_splice() {
        let after = check_mend(&RULE, TWO_IN_ONE);
        assert_eq!(after.splices.len(), 1);
        assert_eq!(after.wires.len(), 4);
        assert_eq!(after.wires["W2-1"].gauge_awg, Some(Gauge(20)));
    }

    #[test]
    fn accepts_two_where_two_fit() {
        check_rule(
            &RULE,
            "
            switch S6 1-2
            unit FD1 J101-14:return
            fits FD1.J101-14 2
            load LT2 1
            load LT3 1
            wire W1 S6.2 LT2.+
            wire W2 S6.2 LT3.+
            wire W3 FD1.J101-14 LT2.-
            wire W4 FD1.J101-14 LT3.-
            ",
        );
    }

    #[test]
    fn accepts_many_shields_at_a_terminal_made_for_them() {
        check_rule(
            &RULE,
            "
            unit IC1 J112-4:shield_tie
            wire W1 IC1.J112-4 open
            cable A10 shield IC1.J112-4 floating
            cable A11 shield IC1.J112-4 floating
            ",
        );
    }

    #[test]
    fn accepts_a_shield_beside_a_core_of_its_own_cable() {
        check_rule(
            &RULE,
            "
            jack JK8 mic isolated
            wire W1 JK8.sleeve open
            cable A13 W1 shield JK8.sleeve floating
            ",
        );
    }

    #[test]
    fn finds_a_wire_and_a_shield_in_one_contact() {
        check_rule(
            &RULE,
            "
            unit IC1 J112-8:audio_low #! crowded-terminal
            wire W1 IC1.J112-8 open
            cable A10 shield IC1.J112-8 floating
            ",
        );
    }
}
