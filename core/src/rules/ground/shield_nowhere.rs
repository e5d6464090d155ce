//! A shield that is not grounded.

use crate::{
    ids::{CableId, DeviceId, TerminalId},
    rules::{
        facts::Touch,
        ground::shields::{Run, runs},
        prelude::*,
    },
};

/// A shield that is not grounded.
pub const RULE: Rule = Rule {
    slug: "shield-nowhere",
    title: "Shield not grounded",
    level: Level::Caution,
    why: "An ungrounded shield does not shield. It picks up what is around it and passes it on to the \
          conductors inside, as if it were not there.",
    sources: &[
        cite(AC_43_13_1B, "par 11-230, shield terminations at connectors"),
        cite(MIL_HDBK_419A, "vol I, par 5.4.1: grounded at one point"),
    ],
    reads: Reads::JOINS,
    check,
};

fn check(facts: &Facts<'_>, out: &mut Findings<'_, '_>) {
    for run in runs(facts) {
        if !run.ties.is_empty() {
            out.clear(run.cables[0]);
            continue;
        }
        let gap = run
            .cables
            .iter()
            .find_map(|cable| gap_at_connector(facts, cable));
        match gap {
            Some(gap) => report_gap(facts, out, &run, &gap),
            None => report(out, facts, &run),
        }
    }
}

fn report(out: &mut Findings<'_, '_>, facts: &Facts<'_>, run: &Run<'_>) {
    let mut report = out
        .finding(run.cables[0])
        .says(format!(
            "the shield of {} is grounded at neither end",
            facts.label(run.cables[0])
        ))
        .help("ground it at the unit that receives the signal, as its maker's manual says");
    for cable in &run.cables {
        report = report.also(*cable);
    }
}

/// A shield that could go on through a connector and does not.
struct Gap<'d> {
    cable: &'d CableId,
    end: WireEnd,
    connector: &'d DeviceId,
    /// The pin on the cable's side.
    pin: &'d TerminalId,
    /// The mating pin, with the shield that comes to it.
    beyond: (&'d TerminalId, &'d CableId),
}

/// The pin where this cable's shield would meet the shield of the cable that its cores go on in.
fn gap_at_connector<'d>(facts: &Facts<'d>, cable: &CableId) -> Option<Gap<'d>> {
    let (id, record) = facts.document.cables.get_key_value(cable)?;
    let shield = record.shield.as_ref()?;
    for (state, end) in [(&shield.from, WireEnd::From), (&shield.to, WireEnd::To)] {
        let core = facts.wire(record.wires.first()?)?;
        let core_end = if end == WireEnd::From {
            &core.from
        } else {
            &core.to
        };
        let End::Terminal(device, _) = core_end else {
            continue;
        };
        let Some((device_id, device)) = facts.document.devices.get_key_value(device) else {
            continue;
        };
        if device.kind != DeviceKind::InlineConnector || matches!(state, ShieldEnd::Tied { .. }) {
            continue;
        }
        for element in &device.elements {
            let ElementKind::Mate(mate) = &element.is else {
                continue;
            };
            for (pin, beyond) in [(&mate.a, &mate.b), (&mate.b, &mate.a)] {
                let other = shield_at(facts, device_id, beyond);
                let free = facts
                    .touches(&End::Terminal(device_id.clone(), pin.clone()))
                    .iter()
                    .all(|touch| matches!(touch, Touch::Shield(other, _) if *other == id));
                if let Some(other) = other
                    && free
                    && other != id
                    && share_a_conductor(facts, id, other)
                {
                    let beyond = (beyond, other);
                    return Some(Gap {
                        cable: id,
                        end,
                        connector: device_id,
                        pin,
                        beyond,
                    });
                }
            }
        }
    }
    None
}

fn shield_at<'d>(facts: &Facts<'d>, device: &DeviceId, pin: &TerminalId) -> Option<&'d CableId> {
    let end = End::Terminal(device.clone(), pin.clone());
    facts.touches(&end).iter().find_map(|touch| match touch {
        Touch::Shield(cable, _) => Some(*cable),
        Touch::Wire(..) => None,
    })
}

/// True if a core of one cable continues in a core of the other.
fn share_a_conductor(facts: &Facts<'_>, a: &CableId, b: &CableId) -> bool {
    let cores = |cable| {
        facts
            .document
            .cables
            .get(cable)
            .map_or(&[][..], |it| it.wires.as_slice())
    };
    cores(a)
        .iter()
        .filter_map(|wire| facts.conductor_of(wire))
        .any(|conductor| {
            cores(b)
                .iter()
                .any(|other| conductor.wires.contains(&other))
        })
}

fn report_gap(facts: &Facts<'_>, out: &mut Findings<'_, '_>, run: &Run<'_>, gap: &Gap<'_>) {
    let at = (gap.connector, gap.pin);
    let (beyond, other) = gap.beyond;
    let pin = facts.label(at);
    let mate = facts.label((gap.connector, beyond));
    let after = facts.document.cables.get(gap.cable).map(|cable| {
        let mut cable = cable.clone();
        let carried = ShieldEnd::Carried {
            at: End::Terminal(gap.connector.clone(), gap.pin.clone()),
            extra: Extra::new(),
        };
        if let Some(shield) = &mut cable.shield {
            match gap.end {
                WireEnd::From => shield.from = carried,
                WireEnd::To => shield.to = carried,
            }
        }
        Record::Cable(cable)
    });
    let mut report = out
        .finding(gap.cable)
        .says(format!(
            "the shield of {} is open at the connector: {mate} carries the shield of {} and nothing is \
             at {pin}",
            facts.label(gap.cable),
            facts.label(other),
        ))
        .also(at)
        .also(other)
        .help(format!("bring it to {pin}"));
    for cable in &run.cables {
        report = report.also(*cable);
    }
    report.mend(
        format!(
            "Carry the shield of {} through {pin}",
            facts.label(gap.cable)
        ),
        MendKind::Ask,
        Change::set(facts.document, Key::Cable(gap.cable.clone()), after),
    );
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::testing::{check_mend, check_rule};

    const SEAT: &str = "
        unit IC1 J112-4:shield_tie J112-1:audio_high J112-2:audio_low
        mated J310/P310 1 3 6
        jack JK5 phones isolated
        wire A10-1 IC1.J112-1 J310.J310-1
        wire A10-2 IC1.J112-2 J310.J310-3
        wire A10B-1 J310.P310-1 JK5.tip
        wire A10B-2 J310.P310-3 JK5.sleeve
        cable A10 A10-1 A10-2 shield IC1.J112-4 carried:J310.J310-6
    ";

    #[test]
    fn finds_a_shield_open_at_the_connector() {
        let text =
            format!("{SEAT} cable A10B A10B-1 A10B-2 shield floating floating #! shield-nowhere");
        let verdict = check_rule(&RULE, &text);
        assert_eq!(
            verdict.findings[0].message,
            "the shield of A10B is open at the connector: J310-6 carries the shield of A10 and \
             nothing is at P310-6"
        );
        check_mend(&RULE, &text);
    }

    #[test]
    fn finds_a_shield_cut_back_at_both_ends() {
        check_rule(
            &RULE,
            "
            unit IC1 1:audio_high
            jack JK5 phones isolated
            wire W1 IC1.1 JK5.tip
            cable A1 W1 shield floating floating #! shield-nowhere
            ",
        );
    }

    #[test]
    fn accepts_a_shield_carried_through_and_one_tied_by_a_drain_wire() {
        check_rule(
            &RULE,
            &format!(
                "{SEAT}
                cable A10B A10B-1 A10B-2 shield carried:J310.P310-6 floating
                splice SP1
                wire N1 SP1 IC1.J112-4
                cable A11 shield SP1 floating
                "
            ),
        );
    }
}
