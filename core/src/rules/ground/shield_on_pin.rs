//! A shield that ends on a pin that is not for shields: power, a signal, the tip of a jack, a spare pin.

use crate::{
    ids::{DeviceId, TerminalId},
    netlist::EdgeKind,
    rules::{
        ground::shields::{Run, Tie, runs},
        prelude::*,
    },
};

/// The rule.
pub const RULE: Rule = Rule {
    slug: "shield-on-pin",
    title: "Shield on a pin that is not for shields",
    level: Level::Fault,
    why: "A shield on a power pin puts the supply on bare braid along the whole cable: where it touches \
          metal there is an unprotected short. On a signal pin it loads or grounds the signal and couples \
          noise straight into it. On a spare pin it is grounded nowhere.",
    sources: &[
        cite(AC_43_13_1B, "par 11-230, shield terminations at connectors"),
        cite(
            COMMON_PRACTICE,
            "a shield ends at the pin, screw or shell that the maker's manual names for it",
        ),
    ],
    reads: Reads::JOINS,
    check,
};

fn check(facts: &Facts<'_>, out: &mut Findings<'_, '_>) {
    for run in runs(facts) {
        for tie in &run.ties {
            let found = match &tie.at {
                End::Terminal(device, terminal) => wrong(facts, device, terminal),
                _ => None,
            };
            match (found, &tie.at) {
                (Some((level, what)), End::Terminal(device, terminal)) => {
                    report(facts, out, &run, tie, (device, terminal), level, what);
                }
                _ => out.clear(tie.cable),
            }
        }
    }
}

/// What this terminal is, if no shield belongs on it, and how bad a shield on it is.
fn wrong(facts: &Facts<'_>, id: &DeviceId, terminal: &TerminalId) -> Option<(Level, &'static str)> {
    let (device, terminal) = facts.terminal(id, terminal)?;
    let is_live = device.elements.iter().any(|element| {
        matches!(&element.is, ElementKind::Jack(jack)
            if [&jack.tip, &jack.ring].into_iter().flatten().any(|it| *it == terminal.id))
    });
    if is_live {
        return Some((Level::Fault, "a live contact of the jack"));
    }
    match terminal.role {
        Role::PowerIn | Role::PowerOut | Role::InputPower | Role::OutputPower => {
            Some((Level::Hazard, "a power pin"))
        }
        Role::Spare => Some((Level::Caution, "a spare pin, joined to nothing inside")),
        Role::Passive => has_supply(facts, id, terminal)
            .then_some((Level::Hazard, "on the supply side of the circuit")),
        Role::Return
        | Role::SignalReturn
        | Role::AudioLow
        | Role::SensorMinus
        | Role::ShieldTie => None,
        _ => Some((Level::Fault, "a signal pin")),
    }
}

/// True if a source can feed the terminal otherwise than through a shield.
fn has_supply(facts: &Facts<'_>, id: &DeviceId, terminal: &Terminal) -> bool {
    let netlist = facts.netlist();
    let Some(node) = netlist.terminal(id, &terminal.id) else {
        return false;
    };
    let is_shield = |edge: &petgraph::graph::EdgeIndex| {
        matches!(netlist.graph[*edge].kind, EdgeKind::Shield { .. })
    };
    let feeds = facts.feeds().of_node(netlist, node);
    !facts.returns().has(node) && feeds.iter().any(|feed| !feed.path.iter().any(is_shield))
}

fn report(
    facts: &Facts<'_>,
    out: &mut Findings<'_, '_>,
    run: &Run<'_>,
    tie: &Tie<'_>,
    at: (&DeviceId, &TerminalId),
    level: Level,
    what: &str,
) {
    let (cable, pin) = (facts.label(tie.cable), facts.label(at));
    let mut report = out
        .finding(tie.cable)
        .level(level)
        .says(format!("the shield of {cable} ends at {pin}, {what}"))
        .also(at)
        .help("move it to the pin, screw or shell that the unit's manual names for shields");
    for cable in &run.cables {
        report = report.also(*cable);
    }
    let own = facts.document.cables.get(tie.cable).cloned();
    let meant = facts.device(at.0).and_then(|device| {
        let mut terminals = device.terminals.iter();
        terminals.find(|it| it.role == Role::ShieldTie)
    });
    let (Some(mut cable_then), Some(meant)) = (own, meant) else {
        return;
    };
    let to = End::Terminal(at.0.clone(), meant.id.clone());
    let title = format!("Ground the shield of {cable} at {}", facts.end_label(&to));
    let mut moved = false;
    if let Some(shield) = &mut cable_then.shield {
        let state = match tie.end {
            WireEnd::From => &mut shield.from,
            WireEnd::To => &mut shield.to,
        };
        if let ShieldEnd::Tied { at, .. } | ShieldEnd::Carried { at, .. } = state
            && *at == tie.at
        {
            *at = to;
            moved = true;
        }
    }
    if moved {
        let after = Some(Record::Cable(cable_then));
        let change = Change::set(facts.document, Key::Cable(tie.cable.clone()), after);
        report.mend(title, MendKind::Ask, change);
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::{
        rules::Level,
        testing::{check_mend, check_rule},
    };

    const SEAT: &str = "
        battery BT1
        ground GB1 T1 T2
        unit IC1 1:power_in 2:return 3:spare 4:shield_tie 5:audio_high 6:audio_low 7:key_line 8:output_power
        inside IC1 load 1 2 0.3
        breaker CB1 2
        jack JK1 phones isolated
        wire P BT1.+ CB1.1 20 0.1m
        wire Q CB1.2 IC1.1 22 1m
        wire N IC1.2 GB1.T1 22 1m
        wire M GB1.T2 BT1.- 20 1m
        wire A1 IC1.5 JK1.tip
        wire A2 IC1.6 JK1.sleeve
        cable A A1 A2 shield IC1.4 floating
    ";

    fn at(end: &str) -> Level {
        let text = SEAT.replace(
            "shield IC1.4 floating",
            &format!("shield {end} #! shield-on-pin"),
        );
        check_rule(&RULE, &text).findings[0].level
    }

    #[test]
    fn finds_power_as_a_hazard() {
        for end in [
            "IC1.1 floating",
            "IC1.8 floating",
            "IC1.4 CB1.2",
            "CB1.1 floating",
        ] {
            assert_eq!(at(end), Level::Hazard, "{end}");
        }
    }

    #[test]
    fn finds_signals_and_the_tip_of_a_jack_as_faults() {
        for end in [
            "IC1.5 floating",
            "IC1.7 floating",
            "IC1.4 JK1.tip",
            "IC1.4 JK1.ring",
        ] {
            assert_eq!(at(end), Level::Fault, "{end}");
        }
    }

    #[test]
    fn finds_a_spare_pin_as_a_caution() {
        assert_eq!(at("IC1.3 floating"), Level::Caution);
        let text = SEAT.replace("shield IC1.4", "shield IC1.3");
        let after = check_mend(&RULE, &text);
        let shield = after.cables["A"].shield.as_ref().expect("it has one");
        assert_eq!(
            shield.from.at().map(ToString::to_string),
            Some("terminal:IC1/4".into())
        );
    }

    #[test]
    fn accepts_the_shield_pin_a_return_and_a_low() {
        for end in ["IC1.4", "IC1.2", "IC1.6", "GB1.T2"] {
            check_rule(
                &RULE,
                &SEAT.replace("shield IC1.4", &format!("shield {end}")),
            );
        }
    }
}
