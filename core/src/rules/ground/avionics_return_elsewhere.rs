//! A return of avionics or audio, or an audio shield, that does not end at the avionics ground point.

use std::cell::LazyCell;

use crate::order::InOrder;
use crate::{
    analysis::shared_returns::has_audio,
    ids::{DeviceId, PlaceId, TerminalId, WireId},
    rules::{
        Report, and_list,
        ground::{
            grounds::{Ground, Plan, QuietReturn, ground_at},
            shields::{Carries, Run, carries, runs},
        },
        prelude::*,
    },
};

/// The rule.
pub const RULE: Rule = Rule {
    slug: "avionics-return-elsewhere",
    title: "Avionics return not on the avionics ground point",
    level: Level::Caution,
    why: "Between two ground points there is always some voltage: the current of lights, motors and the \
          alternator flows through the metal between them. A unit that is grounded elsewhere has that \
          voltage in series with its audio and data: whine, ticks and lost data that no filter cures.",
    sources: &[
        cite(
            AC_43_13_1B_1998,
            "par 11-186f(1): a signal is not grounded through a power return",
        ),
        cite(
            MIL_HDBK_419A,
            "vol I, par 5.4.1: low-frequency networks are grounded at one point",
        ),
        cite(
            COMMON_PRACTICE,
            "avionics and audio return to one point; the airframe and local studs are for lights, motors \
             and pumps",
        ),
    ],
    reads: Reads::ALL,
    check,
};

/// The smallest voltage that a finding mentions, V: it rounds to one millivolt.
const SEEN_V: f64 = 0.5e-3;

fn check(facts: &Facts<'_>, out: &mut Findings<'_, '_>) {
    let plan = Plan::of(facts);
    let ends = LazyCell::new(|| where_they_end(facts, &plan));
    for it in &plan.returns {
        let points = plan.points_for(facts, it.place);
        match it.ends.iter().find(|end| !points.contains(end)) {
            _ if points.is_empty() => out.not_checked(
                it.at,
                format!(
                    "no avionics ground point is known: returns end at {}. Name a ground block \"Avionics \
                     ground\" in its title, or bring three or more returns to one block",
                    *ends
                ),
            ),
            None => out.clear(it.at),
            Some(end) => report_return(facts, out, &plan, &points, it, *end),
        }
    }
    for it in &plan.unsure {
        let points = plan.points_for(facts, it.place);
        if let Some(end) = it.ends.iter().find(|end| !points.contains(end))
            && !points.is_empty()
        {
            out.not_checked(
                it.at,
                format!(
                    "nothing in the record of {} says whether it is avionics; it returns to {}, not to {}, the \
                     avionics ground point",
                    facts.label(it.at.0),
                    end.label(facts),
                    labels(facts, &points)
                ),
            );
        }
    }
    shields(facts, out, &plan);
}

/// "GB2: 8, the metal of cabin: 1".
fn where_they_end(facts: &Facts<'_>, plan: &Plan<'_>) -> String {
    let mut ends: Vec<Ground<'_>> = (plan.returns.iter())
        .flat_map(|it| it.ends.iter().copied())
        .collect();
    ends.order();
    ends.dedup();
    ends.order_by_key(|end| std::cmp::Reverse(plan.count(*end)));
    let each = |end: &Ground<'_>| format!("{}: {}", end.label(facts), plan.count(*end));
    ends.iter().map(each).collect::<Vec<_>>().join(", ")
}

fn labels(facts: &Facts<'_>, points: &[Ground<'_>]) -> String {
    let labels: Vec<_> = points.iter().map(|it| it.label(facts)).collect();
    and_list(&labels)
}

fn report_return(
    facts: &Facts<'_>,
    out: &mut Findings<'_, '_>,
    plan: &Plan<'_>,
    points: &[Ground<'_>],
    it: &QuietReturn<'_>,
    end: Ground<'_>,
) {
    let (unit, wanted) = (facts.label(it.at), labels(facts, points));
    let report = out
        .finding(it.at)
        .says(format!(
            "{unit} returns to {}, not to {wanted}, the avionics ground point{}",
            end.label(facts),
            apart(facts, it.at, points)
        ))
        .help(format!(
            "run a return wire of its own from {unit} to {wanted}; if it is not avionics, accept this with that reason"
        ));
    let mut report = explain(facts, report, plan, points).also(end.subject());
    let own = End::Terminal(it.at.0.clone(), it.at.1.clone());
    let wires: Vec<_> = facts.wires_at(&own).map(|(wire, _)| wire).collect();
    for wire in &wires {
        report = report.also(*wire);
    }
    let off = |wire: &&&WireId| {
        let far = far_end(facts, wire, &own);
        far.and_then(|far| ground_at(facts, facts.netlist().end_node(far)?)) == Some(end)
    };
    if let (Some(wire), Some(tab)) = (wires.iter().find(off), free_tab(facts, points)) {
        let title = format!("Move {} to {}", facts.label(*wire), facts.end_label(&tab));
        let change = facts.change_wire(wire, |wire| {
            if wire.from == own {
                wire.to = tab;
            } else {
                wire.from = tab;
            }
        });
        report.mend(title, MendKind::Ask, change);
    }
}

/// How far a return is from the avionics ground point: "; in \"Climb\" it is 34 mV above it".
fn apart(facts: &Facts<'_>, at: (&DeviceId, &TerminalId), points: &[Ground<'_>]) -> String {
    let far = |node| {
        let returns = facts.returns();
        let points = (points.iter().filter_map(|it| it.node(facts)))
            .filter(|point| returns.has(node) && returns.has(*point));
        let all = points.filter_map(|point| facts.most_between(node, point));
        all.max_by(|a, b| a.0.abs().total_cmp(&b.0.abs()))
    };
    match facts.netlist().terminal(at.0, at.1).and_then(far) {
        Some((volts, state)) if volts.abs() >= SEEN_V => format!(
            "; in \"{}\" it is {:.0} mV {} it",
            facts.label(state),
            volts.abs() * 1e3,
            if volts > 0.0 { "above" } else { "below" }
        ),
        _ => String::new(),
    }
}

/// The plan that a finding was compared with, and where it comes from.
fn explain<'a, 'd>(
    facts: &Facts<'_>,
    mut report: Report<'a, 'd>,
    plan: &Plan<'_>,
    points: &[Ground<'_>],
) -> Report<'a, 'd> {
    report = report.working(format!(
        "avionics and audio returns end at {}",
        where_they_end(facts, plan)
    ));
    let title = match plan.stated {
        true => "its title says that it is the avionics ground point",
        false => "derived from the drawing: most avionics returns end there",
    };
    report = report.working(format!("{}: {title}", labels(facts, points)));
    for point in points {
        report = report.also(point.subject());
    }
    report
}

/// The other end of a wire.
fn far_end<'d>(facts: &Facts<'d>, wire: &WireId, own: &End) -> Option<&'d End> {
    let wire = facts.wire(wire)?;
    Some(if wire.from == *own {
        &wire.to
    } else {
        &wire.from
    })
}

/// The first terminal of these points that nothing is wired to.
fn free_tab(facts: &Facts<'_>, points: &[Ground<'_>]) -> Option<End> {
    points.iter().find_map(|point| {
        let Ground::Device(id) = *point else {
            return None;
        };
        let terminals = facts.device(id)?.terminals.iter();
        let ends = terminals.map(|it| End::Terminal(id.clone(), it.id.clone()));
        let free = |end: &End| facts.touches(end).is_empty();
        ends.into_iter().find(free)
    })
}

/// The place of the first audio unit that the cores of a run of shields come to.
fn audio_place<'d>(facts: &Facts<'d>, run: &Run<'d>) -> Option<&'d PlaceId> {
    let cables = run.cables.iter();
    let wires = cables.filter_map(|it| facts.document.cables.get(*it));
    let ends = (wires.flat_map(|it| &it.wires))
        .filter_map(|wire| facts.conductor_of(wire))
        .flat_map(|it| &it.ends);
    let mut units = ends.filter_map(|(id, _)| facts.device(id));
    units.find(|it| has_audio(it))?.place.as_ref()
}

/// Shields of audio cables: grounded at a unit or at the avionics ground point, not elsewhere.
fn shields<'d>(facts: &Facts<'d>, out: &mut Findings<'_, '_>, plan: &Plan<'d>) {
    for run in runs(facts) {
        if carries(facts, &run) != Carries::Audio {
            continue;
        }
        let points = plan.points_for(facts, audio_place(facts, &run));
        for tie in &run.ties {
            let node = facts.netlist().end_node(&tie.at);
            let end = node.and_then(|node| ground_at(facts, node));
            let Some(end) = end.filter(|end| !points.contains(end)) else {
                out.clear(tie.cable);
                continue;
            };
            let (cable, at) = (facts.label(tie.cable), facts.end_label(&tie.at));
            let report = out
                .finding(tie.cable)
                .says(format!(
                    "the shield of {cable}, an audio cable, is grounded at {at}"
                ))
                .help("ground it at the audio unit that the signal goes to, and cut it back at the other end");
            let mut report = explain(facts, report, plan, &points).also(end.subject());
            if let End::Terminal(device, terminal) = &tie.at {
                report = report.also((device, terminal));
            }
            for cable in &run.cables {
                report = report.also(*cable);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::testing::{check_mend, check_rule};

    /// Three avionics returns at GB2, power returns at GB1, a stud on the airframe.
    const PANEL: &str = "
        place CABIN metal
        place PANEL metal bonded=CABIN
        battery BT1
        ground GB1 STUD T1 T2 T3 T4
        ground GB2 STUD T1 T2 T3 T4 T5
        ground GS1 STUD tied at=CABIN
        wire M BT1.- GB1.STUD 2 0.5m
        wire T GB1.STUD GB2.STUD 12 0.5m
        unit COM1 1:power_in 2:return 3:audio_high 4:audio_low 5:key_line at=PANEL
        inside COM1 load 1 2 0.4
        unit XP1 1:power_in 2:return 3:rf at=PANEL
        inside XP1 load 1 2 0.6
        unit FD1 1:power_in 2:return 3:can_high 4:can_low at=PANEL
        inside FD1 load 1 2 1.2
        unit IC1 1:power_in 2:return 3:audio_high 4:audio_low 5:shield_tie at=PANEL
        inside IC1 load 1 2 0.3
        load LT1 2 sort=lamp
        jack JK1 phones isolated at=PANEL
        wire R1 COM1.2 GB2.T1
        wire R2 XP1.2 GB2.T2
        wire R3 FD1.2 GB2.T3
        wire R4 IC1.2 GB2.T4
        wire R5 LT1.- GS1.STUD
        wire A1 IC1.3 JK1.tip
        wire A2 IC1.4 JK1.sleeve
        cable A A1 A2 shield IC1.5 floating
    ";

    fn finds(change: [&str; 2], marked: &str, says: &str) {
        let line = PANEL
            .lines()
            .find(|line| line.contains(marked))
            .expect("a line");
        let text = PANEL
            .replace(line, &format!("{line} #! avionics-return-elsewhere"))
            .replace(change[0], change[1]);
        let verdict = check_rule(&RULE, &text);
        assert!(
            verdict.findings[0].message.contains(says),
            "{}",
            verdict.findings[0].message
        );
    }

    #[test]
    fn not_checked_of_a_unit_that_may_be_avionics() {
        let verdict = check_rule(
            &RULE,
            &format!(
                "{PANEL}
        unit CLK1 1:power_in 2:return at=PANEL #? avionics-return-elsewhere
        inside CLK1 load 1 2 0.1
        wire K1 CLK1.2 GS1.STUD
        "
            ),
        );
        assert!(
            verdict.not_checked[0]
                .because
                .starts_with("nothing in the record of CLK1 says whether it is avionics"),
            "{:?}",
            verdict.not_checked
        );
    }

    #[test]
    fn finds_a_return_on_the_airframe_another_block_and_a_stud() {
        for (to, says) in [
            ("@CABIN", "FD1 2 returns to the metal of CABIN, not to GB2"),
            ("GB1.T1", "FD1 2 returns to GB1, not to GB2"),
            ("GS1.STUD", "FD1 2 returns to GS1, not to GB2"),
        ] {
            finds(["FD1.2 GB2.T3", &format!("FD1.2 {to}")], "unit FD1", says);
        }
        let text = PANEL.replace("FD1.2 GB2.T3", "FD1.2 @CABIN");
        let after = check_mend(&RULE, &text);
        assert_eq!(after.wires["R3"].to.to_string(), "terminal:GB2/T3");
    }

    #[test]
    fn finds_an_audio_shield_on_the_airframe() {
        for to in ["@CABIN", "GB1.T1", "GS1.STUD"] {
            finds(
                ["shield IC1.5", &format!("shield {to}")],
                "cable A ",
                "the shield of A",
            );
        }
    }

    /// Lights and servos on a stud; a shield on the avionics ground; a separate block for audio.
    #[test]
    fn accepts_power_devices_elsewhere_and_a_second_quiet_block() {
        check_rule(&RULE, PANEL);
        check_rule(&RULE, &PANEL.replace("shield IC1.5", "shield GB2.T5"));
        let servo = "
            unit AP1 1:power_in 2:return 3:can_high 4:can_low:Servo
            inside AP1 load 1 2 0.7
            wire R6 AP1.2 @CABIN";
        let mut fixture = crate::testing::document(&format!("{PANEL}{servo}"));
        fixture.devices.get_mut("AP1").expect("it is there").title = "Roll servo".into();
        assert!(
            crate::rules::check(&fixture)
                .findings
                .iter()
                .all(|it| it.rule != RULE.slug)
        );
        let two = "
            ground GB3 T1 T2 T3
            wire U GB3.T3 GB1.T4
            unit IC2 1:return 3:audio_high
            unit IC3 1:return 3:audio_high
            unit IC4 1:return 3:audio_high
            wire V1 IC2.1 GB3.T1
            wire V2 IC3.1 GB3.T1
            wire V3 IC4.1 GB3.T2";
        check_rule(&RULE, &format!("{PANEL}{two}"));
    }

    /// One block for everything is a plan too.
    #[test]
    fn accepts_one_block_for_all() {
        check_rule(
            &RULE,
            &PANEL
                .replace("GB2.", "GB1.")
                .replace("wire T GB1.STUD GB1.STUD 12 0.5m", ""),
        );
    }

    #[test]
    fn not_checked_with_too_few_returns_at_one_block() {
        let text = PANEL
            .lines()
            .map(|line| match line.trim_start().starts_with("unit") {
                true => format!("{line} #? avionics-return-elsewhere\n"),
                false => format!("{line}\n"),
            });
        let text: String = text.collect();
        let text = text
            .replace("COM1.2 GB2.T1", "COM1.2 @CABIN")
            .replace("XP1.2 GB2.T2", "XP1.2 GB1.T1");
        let verdict = check_rule(&RULE, &text);
        let because = &verdict.not_checked[0].because;
        assert!(because.contains("GB2: 2"), "{because}");
    }
}
