//! Audio low joined to a power return away from the audio unit.

use crate::{
    ids::{DeviceId, WireId},
    rules::{
        Conductor,
        facts::Touch,
        ground::grounds::{ends_at, ground_at},
        prelude::*,
        signal::joined::also_all,
    },
};

/// Audio low joined to a power return away from the audio unit.
pub const RULE: Rule = Rule {
    slug: "audio-low-on-return",
    title: "Audio low joined to a power return",
    level: Level::Fault,
    why: "The other unit's return current flows in the wire that is the zero of the audio. Its voltage drop \
          adds to every voice: chargers whistle, strobes tick, the alternator whines.",
    sources: &[
        cite(
            AC_43_13_1B_1998,
            "par 11-186f(1): a signal is not grounded through a power return lead",
        ),
        cite(
            AC_43_13_1B_1998,
            "par 11-186f(4): a single ground at the signal source is often best",
        ),
    ],
    reads: Reads::JOINS,
    check,
};

fn check(facts: &Facts<'_>, out: &mut Findings<'_, '_>) {
    for conductor in facts.conductors() {
        let Some(low) = audio_ground(facts, conductor) else {
            continue;
        };
        let first = conductor.wires[0];
        let lows: Vec<&DeviceId> = conductor
            .with(Role::AudioLow)
            .map(|(device, _)| device)
            .collect();
        let at_unit = conductor
            .with(Role::Return)
            .any(|(device, _)| lows.contains(&device));
        if at_unit {
            // The audio unit's own return: that is where the audio low belongs to be grounded.
            out.clear(first);
        } else if let Some((device, terminal, load)) = power_return(facts, conductor) {
            report_load(facts, out, conductor, low, (device, terminal, load));
        } else if let Some((wire, place)) = ground_point(facts, conductor)
            && !lows.is_empty()
        {
            let report = out
                .finding(wire)
                .says(format!(
                    "{} is grounded at {place}, away from the audio unit",
                    facts.label((low.0, &low.1.id))
                ))
                .help("run the audio low to the audio unit by a wire of its own, and nowhere else");
            also_all(report, conductor);
        } else {
            out.clear(first);
        }
    }
}

/// A terminal that is the zero of audio: audio low, or signal return of a unit with audio.
fn audio_ground<'d>(
    facts: &Facts<'d>,
    conductor: &Conductor<'d>,
) -> Option<(&'d DeviceId, &'d Terminal)> {
    conductor.with(Role::AudioLow).next().or_else(|| {
        conductor.with(Role::SignalReturn).find(|(device, _)| {
            let device = facts.device(device);
            device.is_some_and(|it| it.terminals.iter().any(|it| it.role == Role::AudioHigh))
        })
    })
}

/// The return of a load on this conductor.
fn power_return<'d>(
    facts: &Facts<'d>,
    conductor: &Conductor<'d>,
) -> Option<(&'d DeviceId, &'d Terminal, &'d Load)> {
    let ends = conductor.ends.iter().chain(&conductor.passive);
    ends.copied().find_map(|(id, terminal)| {
        let device = facts.device(id)?;
        let load = device
            .elements
            .iter()
            .find_map(|element| match &element.is {
                ElementKind::Load(load) if load.minus == terminal.id => Some(load),
                _ => None,
            })?;
        Some((id, terminal, load))
    })
}

/// A ground that the conductor ends at: a block, a local stud, structure. With the wire at it.
fn ground_point<'d>(facts: &Facts<'d>, conductor: &Conductor<'d>) -> Option<(&'d WireId, String)> {
    let netlist = facts.netlist();
    let at_wire = conductor.wires.iter().find_map(|wire| {
        let record = facts.wire(wire)?;
        [&record.from, &record.to].into_iter().find_map(|end| {
            ground_at(facts, netlist.end_node(end)?)?;
            Some((*wire, facts.end_label(end)))
        })
    });
    at_wire.or_else(|| {
        let wire = conductor.wires.first()?;
        let grounds = ends_at(facts, facts.wire_at(wire)?.ends[0]);
        Some((*wire, grounds.first()?.label(facts)))
    })
}

fn report_load<'d>(
    facts: &Facts<'d>,
    out: &mut Findings<'_, '_>,
    conductor: &Conductor<'d>,
    (low_device, low): (&DeviceId, &Terminal),
    (device, terminal, load): (&'d DeviceId, &Terminal, &Load),
) {
    let amps = [&load.continuous_a, &load.intermittent_a, &load.peak_a]
        .into_iter()
        .flatten()
        .next()
        .map(|figure| figure.amps);
    let wire = facts
        .first_wire_at((device, &terminal.id))
        .unwrap_or(conductor.wires[0]);
    let thinnest = conductor
        .wires
        .iter()
        .filter_map(|wire| facts.wire(wire))
        .filter_map(|wire| wire.gauge_awg)
        .reduce(|a, b| if a.is_thinner_than(b) { a } else { b });
    let through = match (amps, thinnest) {
        (Some(amps), Some(gauge)) => format!(": {amps:.2} A flow home through {gauge} AWG"),
        _ => String::new(),
    };
    let mut report = out
        .finding(wire)
        .says(format!(
            "{} returns through {}, an audio ground{through}",
            facts.label((device, &terminal.id)),
            facts.label((low_device, &low.id)),
        ))
        .help("run the return to a power ground block, the audio low to the audio unit alone");
    if let Some(amps) = amps {
        report = report.limit(amps, 0.0, "A");
    }
    report = also_all(report, conductor).also((device, &terminal.id));
    let Some(block) = free_ground(facts) else {
        return;
    };
    let to = facts.end_label(&block);
    let own = End::Terminal(device.clone(), terminal.id.clone());
    let change = facts.change_wire(wire, |wire| {
        if wire.from == own {
            wire.to = block;
        } else {
            wire.from = block;
        }
    });
    report.mend(
        format!("Move {} to {to}", facts.label(wire)),
        MendKind::Ask,
        change,
    );
}

/// The first terminal of a ground block that nothing is wired to.
fn free_ground(facts: &Facts<'_>) -> Option<End> {
    facts.document.devices.iter().find_map(|(id, device)| {
        device.elements.iter().find_map(|element| {
            let ElementKind::Bar(bar) = &element.is else {
                return None;
            };
            let ends = bar
                .terminals
                .iter()
                .map(|it| End::Terminal(id.clone(), it.clone()));
            let free = |end: &End| {
                facts
                    .touches(end)
                    .iter()
                    .all(|touch| !matches!(touch, Touch::Wire(..)))
            };
            (bar.used_as == BarUse::Ground)
                .then(|| ends.into_iter().find(free))
                .flatten()
        })
    })
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::testing::{check_mend, check_rule};

    const PANEL: &str = "
        battery BT1
        bus MBUS CB13=5
        ground GB1 STUD T14 T15 T16
        unit IC1 J112-8:audio_low J112-11:audio_low J112-3:audio_high J107-14:return J107-1:power_in
        inside IC1 load J107-1 J107-14 0.35
        load USB2 2.5
        wire P1 BT1.+ MBUS.STUD 8 0.1m fuse=50
        wire P4N BT1.- GB1.STUD 2 0.3m
        wire P30A MBUS.CB13 USB2.+ 18 1m
        wire R5A MBUS.CB13 IC1.J107-1 22 1m
        wire R5B IC1.J107-14 GB1.T15 22 1m
    ";

    #[test]
    fn finds_a_power_return_on_an_audio_ground() {
        let text = format!("{PANEL} wire P30C USB2.- IC1.J112-8 22 0.5m #! audio-low-on-return");
        let verdict = check_rule(&RULE, &text);
        assert_eq!(
            verdict.findings[0].message,
            "USB2 - returns through IC1 J112-8, an audio ground: 2.50 A flow home through 22 AWG"
        );
        let after = check_mend(&RULE, &text);
        assert_eq!(after.wires["P30C"].to.to_string(), "terminal:GB1/T14");
    }

    #[test]
    fn finds_an_audio_low_on_a_ground_block_at_the_jack() {
        check_rule(
            &RULE,
            &format!(
                "{PANEL}
                jack JK6 mic isolated
                wire P30C USB2.- GB1.T14 18 3m
                wire A11 IC1.J112-11 JK6.sleeve
                wire A11X JK6.sleeve GB1.T16 #! audio-low-on-return
                "
            ),
        );
    }

    #[test]
    fn accepts_lows_that_go_home_alone_and_a_ground_at_the_audio_unit() {
        check_rule(
            &RULE,
            &format!(
                "{PANEL}
                jack JK6 mic isolated
                wire P30C USB2.- GB1.T14 18 3m
                wire A11 IC1.J112-11 JK6.sleeve
                wire A12 IC1.J112-8 IC1.J107-14
                "
            ),
        );
    }
}
