//! A reversing motor that its switch can only run one way, or cannot stop.

use petgraph::graph::EdgeIndex;

use crate::{
    ids::{DeviceId, ElementId},
    netlist::EdgeOf,
    rules::{
        prelude::*,
        signal::reversing::{MotorState, Setter, Sides, metal, motors, setters},
    },
};

/// A reversing motor that its switch can only run one way, or cannot stop.
pub const RULE: Rule = Rule {
    slug: "motor-one-way",
    title: "Reversing motor does not run both ways",
    level: Level::Fault,
    why: "A flap or trim motor runs both ways only if its switch can put power on either lead and the \
          return on the other, and it stops only in a position that does neither. A missing jumper is \
          the usual cause. It shows when the flaps are down and do not come up.",
    sources: &[cite(
        COMMON_PRACTICE,
        "trace each lead of a reversing motor in each switch position, on paper, before power",
    )],
    reads: Reads::JOINS,
    check,
};

/// Combinations of switch and relay positions that are tried for one motor, at most.
const MOST_SETTINGS: usize = 4096;

fn check(facts: &Facts<'_>, out: &mut Findings<'_, '_>) {
    let motors = motors(facts);
    if motors.is_empty() {
        return;
    }
    let metal = metal(facts.netlist());
    for (motor, at) in motors {
        one(facts, out, &metal, motor, at);
    }
}

fn one(
    facts: &Facts<'_>,
    out: &mut Findings<'_, '_>,
    metal: &[u32],
    motor: EdgeIndex,
    at: (&DeviceId, &ElementId),
) {
    let netlist = facts.netlist();
    let leads: [usize; 2] = {
        let (a, b) = netlist.ends(motor);
        [a.index(), b.index()]
    };
    let setters = setters(facts, metal, leads);
    let ways: usize = setters.iter().map(|it| it.settings).product();
    if setters.is_empty() {
        out.not_checked(at, "no switch or relay that reverses it is drawn");
        return;
    }
    if ways > MOST_SETTINGS {
        out.not_checked(
            at,
            format!(
                "its switches and relays ({}) have {ways} combinations, more than {MOST_SETTINGS}",
                names(&setters)
            ),
        );
        return;
    }
    let sides = Sides::new(facts, metal, &setters);
    let mut all = Vec::with_capacity(ways);
    let mut seen = [false; 3];
    for way in 0..ways {
        let does = sides.does(netlist, metal, &setters, leads, way);
        seen[does as usize] = true;
        all.push(does);
    }
    let label = facts.label(at);
    let says = match seen {
        [true, true, true] => {
            out.clear(at);
            return;
        }
        [_, false, false] => format!("{label} runs in no position of {}", names(&setters)),
        [false, true, true] => format!("no position of {} stops {label}", names(&setters)),
        _ => format!(
            "{label} runs one way only in every position of {}",
            names(&setters)
        ),
    };
    let mut report = out.finding(at).says(says).help(
        "trace each lead through the switch in each position; a reversing switch needs its two cross \
         jumpers",
    );
    for (way, does) in all.into_iter().enumerate() {
        let does = match does {
            MotorState::Rests => "stopped",
            MotorState::Forwards => "runs one way",
            MotorState::Backwards => "runs the other way",
        };
        report = report.working(format!("{}: {does}", said(&setters, way)));
    }
    for setter in &setters {
        if let EdgeOf::Element(device, ..) = netlist.of(setter.edges[0].0) {
            report = report.also(device);
        }
    }
}

fn names(setters: &[Setter]) -> String {
    let names: Vec<String> = setters.iter().map(|it| it.name.clone()).collect();
    crate::rules::and_list(&names)
}

/// "S7 UP" or "RLY1 up energized, RLY1 down released".
fn said(setters: &[Setter], mut way: usize) -> String {
    let mut words = Vec::new();
    for setter in setters {
        let setting = way % setter.settings;
        way /= setter.settings;
        let state = match (setter.labels.get(setting), setting) {
            (Some(label), _) => label.as_str(),
            (None, 0) => "released",
            (None, _) => "energized",
        };
        words.push(format!("{} {state}", setter.name));
    }
    words.join(", ")
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::testing::check_rule;

    const FLAPS: &str = "
        battery BT1
        bus MBUS CB4=10
        throw S7 UP:2-1,5-4 OFF: DOWN:2-3,5-6 rest=1
        wire P BT1.+ MBUS.STUD 8 1m
        wire C1A MBUS.CB4 S7.2 16 1m
        wire C1B S7.1 M3.+ 16 1m
        wire C1C S7.4 M3.- 16 1m
        wire C1D S7.5 BT1.- 16 1m
        wire C1E S7.3 S7.4 16 0.05m
    ";

    #[test]
    fn finds_a_missing_cross_jumper() {
        let verdict = check_rule(
            &RULE,
            &format!("load M3 - intermittent=7 either #! motor-one-way\n{FLAPS}"),
        );
        let finding = &verdict.findings[0];
        assert!(
            finding.message.contains("one way only"),
            "{}",
            finding.message
        );
        assert!(
            finding
                .working
                .iter()
                .any(|it| it.contains("DOWN: stopped")),
            "{:?}",
            finding.working
        );
    }

    #[test]
    fn finds_a_motor_that_no_position_stops() {
        let verdict = check_rule(
            &RULE,
            "
            load M3 - intermittent=7 either #! motor-one-way
            battery BT1
            throw S7 UP:2-1,5-4 DOWN:2-4,5-1
            wire P BT1.+ S7.2 16 1m
            wire A S7.1 M3.+ 16 1m
            wire B S7.4 M3.- 16 1m
            wire N S7.5 BT1.- 16 1m
            ",
        );
        assert!(verdict.findings[0].message.contains("stops"));
    }

    #[test]
    fn accepts_both_jumpers() {
        check_rule(
            &RULE,
            &format!("load M3 - intermittent=7 either\n{FLAPS}\nwire C1F S7.6 S7.1 16 0.05m"),
        );
    }

    #[test]
    fn accepts_a_limit_switch_between() {
        check_rule(
            &RULE,
            "
            load M3 - intermittent=7 either
            battery BT1
            throw S7 UP:2-1,5-4 OFF: DOWN:2-4,5-1 rest=1
            switch S8 1-2
            wire P BT1.+ S7.2 16 1m
            wire A S7.1 S8.1 16 1m
            wire A2 S8.2 M3.+ 16 1m
            wire B S7.4 M3.- 16 1m
            wire N S7.5 BT1.- 16 1m
            ",
        );
    }

    #[test]
    fn not_checked_without_anything_that_reverses_it() {
        check_rule(
            &RULE,
            "
            load M3 - intermittent=7 either #? motor-one-way
            battery BT1
            wire P BT1.+ M3.+ 16 1m
            wire N M3.- BT1.- 16 1m
            ",
        );
    }
}
