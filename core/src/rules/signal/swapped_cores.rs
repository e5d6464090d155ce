//! Two conductors of a cable that are swapped between its two ends.

use std::collections::BTreeSet;

use crate::{
    ids::{CableId, DeviceId, WireId},
    rules::{
        Conductor, and_list,
        prelude::*,
        signal::joined::{also_all, meetings},
    },
};

/// Two conductors of a cable that are swapped between its two ends.
pub const RULE: Rule = Rule {
    slug: "swapped-cores",
    title: "Cable conductors swapped",
    level: Level::Fault,
    why: "Each end looks right on the bench, by its own list. Together they swap the audio and its return, \
          or reverse a sensor.",
    sources: &[cite(
        COMMON_PRACTICE,
        "both ends of a conductor do the same job by their pin tables; ring out each one after it is terminated",
    )],
    reads: Reads::JOINS,
    check,
};

/// Roles that never belong on one conductor.
const APART: [[Role; 2]; 5] = [
    [Role::AudioHigh, Role::AudioLow],
    [Role::AudioHigh, Role::KeyLine],
    [Role::AudioLow, Role::KeyLine],
    [Role::SensorPlus, Role::SensorMinus],
    [Role::ThermocouplePlus, Role::ThermocoupleMinus],
];

fn check(facts: &Facts<'_>, out: &mut Findings<'_, '_>) {
    let mut told: BTreeSet<&WireId> = BTreeSet::new();
    let mut cables: BTreeSet<&CableId> = BTreeSet::new();
    for (id, cable) in &facts.document.cables {
        for (index, first) in cable.wires.iter().enumerate() {
            for second in &cable.wires[index + 1..] {
                if names_cross(facts, first, second) {
                    report(facts, out, id, [first, second], "by their pin names");
                    told.extend(
                        facts
                            .conductor_of(first)
                            .into_iter()
                            .flat_map(|it| &it.wires),
                    );
                    told.extend(
                        facts
                            .conductor_of(second)
                            .into_iter()
                            .flat_map(|it| &it.wires),
                    );
                    cables.insert(id);
                }
            }
        }
    }
    for pair in APART {
        for meeting in meetings(facts, facts.conductors(), pair) {
            let wires: BTreeSet<&WireId> = meeting
                .conductors
                .iter()
                .flat_map(|it| it.wires.iter().copied())
                .collect();
            if !wires.is_disjoint(&told) {
                continue;
            }
            told.extend(&wires);
            let says = what_meets(facts, meeting.conductors[0], pair);
            if let Some((cable, cores)) = cable_of_crossing(facts, &meeting.conductors) {
                report(facts, out, cable, cores, &says);
                cables.insert(cable);
            } else {
                let report = out
                    .finding(meeting.wire)
                    .says(says)
                    .help("compare both ends with the pin tables and move the end that is wrong");
                also_all(report, meeting.conductors[0]);
            }
        }
    }
    sides(facts, out, &told);
    for (id, cable) in &facts.document.cables {
        if cable.wires.len() > 1 && !cables.contains(id) {
            out.clear(id);
        }
    }
}

/// The terminals at the two ends of a wire.
fn ends<'d>(facts: &Facts<'d>, wire: &WireId) -> Option<[&'d Terminal; 2]> {
    let [from, to] = facts.wire_at(wire)?.ends;
    let terminal = |node| Some(facts.terminal_at(node)?.terminal);
    Some([terminal(from)?, terminal(to)?])
}

/// True if each conductor ends at a pin with the name of the pin where the other one begins.
fn names_cross(facts: &Facts<'_>, first: &WireId, second: &WireId) -> bool {
    let (Some(first), Some(second)) = (ends(facts, first), ends(facts, second)) else {
        return false;
    };
    let [[a, b], [c, d]] = [first, second].map(|ends| ends.map(|end| plain(&end.name)));
    !a.is_empty() && !c.is_empty() && a != c && a == d && c == b
}

/// A name without what people write differently: case, spaces, dashes.
fn plain(name: &str) -> String {
    name.chars()
        .filter(|c| c.is_alphanumeric())
        .flat_map(char::to_lowercase)
        .collect()
}

/// "IC1 J112-3 (audio high) is wired to JK6 SLEEVE (audio low)".
fn what_meets(facts: &Facts<'_>, conductor: &Conductor<'_>, pair: [Role; 2]) -> String {
    let name = |role| {
        let (device, terminal) = conductor.with(role).next()?;
        Some(format!(
            "{} ({})",
            facts.label((device, &terminal.id)),
            word(role)
        ))
    };
    let [first, second] = pair.map(|role| name(role).unwrap_or_default());
    format!("{first} is wired to {second}")
}

fn word(role: Role) -> &'static str {
    match role {
        Role::AudioHigh => "audio high",
        Role::AudioLow => "audio low",
        Role::KeyLine => "key line",
        Role::SensorPlus => "sensor plus",
        Role::SensorMinus => "sensor minus",
        Role::ThermocouplePlus => "thermocouple plus",
        Role::ThermocoupleMinus => "thermocouple minus",
        _ => "other",
    }
}

/// The cable in which two conductors are swapped, and its two cores. If they run through several cables,
/// the one whose pin numbers run in opposite order at its two ends, else the first.
fn cable_of_crossing<'d>(
    facts: &Facts<'d>,
    conductors: &[&Conductor<'d>],
) -> Option<(&'d CableId, [&'d WireId; 2])> {
    let [first, second, ..] = conductors else {
        return None;
    };
    let mut found = Vec::new();
    for (id, cable) in &facts.document.cables {
        let core = |conductor: &Conductor<'_>| {
            cable
                .wires
                .iter()
                .find(|wire| conductor.wires.iter().any(|other| other == wire))
        };
        if let (Some(a), Some(b)) = (core(first), core(second)) {
            found.push((id, [a, b]));
        }
    }
    let turned = found.iter().find(|(_, cores)| order_turns(facts, *cores));
    turned.or(found.first()).copied()
}

/// True if the pin numbers of two cores rise at one end and fall at the other.
fn order_turns(facts: &Facts<'_>, [first, second]: [&WireId; 2]) -> bool {
    let number = |terminal: &Terminal| terminal.label.parse::<u32>().ok();
    let (Some([a, b]), Some([c, d])) = (ends(facts, first), ends(facts, second)) else {
        return false;
    };
    match [a, b, c, d].map(number) {
        [Some(a), Some(b), Some(c), Some(d)] => (a < c) != (b < d),
        _ => false,
    }
}

fn report(
    facts: &Facts<'_>,
    out: &mut Findings<'_, '_>,
    cable: &CableId,
    [first, second]: [&WireId; 2],
    because: &str,
) {
    let document = facts.document;
    let names = [first, second].map(|wire| facts.label(wire));
    let mut change = Change::default();
    let mut at = String::new();
    if let (Some(a), Some(b)) = (document.wires.get(first), document.wires.get(second)) {
        let (mut a_after, mut b_after) = (a.clone(), b.clone());
        std::mem::swap(&mut a_after.to, &mut b_after.to);
        change.and_set(
            document,
            Key::Wire(first.clone()),
            Some(Record::Wire(a_after)),
        );
        change.and_set(
            document,
            Key::Wire(second.clone()),
            Some(Record::Wire(b_after)),
        );
        at = format!("{} and {}", facts.end_label(&a.to), facts.end_label(&b.to));
    }
    let mut report = out
        .finding(cable)
        .says(format!(
            "{} are swapped in {}: {because}",
            and_list(&names),
            facts.label(cable)
        ))
        .also(first)
        .also(second);
    for wire in [first, second] {
        for (device, terminal) in facts.conductor_of(wire).into_iter().flat_map(|it| &it.ends) {
            report = report.also((*device, &terminal.id));
        }
    }
    report
        .help(
            "compare both ends of the cable with the pin tables and swap the two conductors at one end",
        )
        .mend(
            format!("Swap the conductors at {at}"),
            MendKind::Ask,
            change,
        );
}

/// Reports left wired to right, by the last word of the pins' names.
fn sides(facts: &Facts<'_>, out: &mut Findings<'_, '_>, told: &BTreeSet<&WireId>) {
    let mut units: Vec<BTreeSet<&DeviceId>> = Vec::new();
    for conductor in facts.conductors() {
        let side = |wanted| {
            conductor
                .with(Role::AudioHigh)
                .find(|(_, terminal)| side_of(&terminal.name) == wanted)
        };
        let (Some(left), Some(right)) = (side(Some(Side::Left)), side(Some(Side::Right))) else {
            continue;
        };
        let devices = BTreeSet::from([left.0, right.0]);
        if conductor.wires.iter().any(|wire| told.contains(wire)) || units.contains(&devices) {
            continue;
        }
        units.push(devices);
        let report = out
            .finding(conductor.wires[0])
            .level(Level::Caution)
            .says(format!(
                "{} ({}) is wired to {} ({})",
                facts.label((left.0, &left.1.id)),
                left.1.name,
                facts.label((right.0, &right.1.id)),
                right.1.name
            ))
            .help("swap left and right at one end");
        also_all(report, conductor);
    }
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum Side {
    Left,
    Right,
}

fn side_of(name: &str) -> Option<Side> {
    match name
        .split_whitespace()
        .last()?
        .to_ascii_uppercase()
        .as_str()
    {
        "L" | "LEFT" => Some(Side::Left),
        "R" | "RIGHT" => Some(Side::Right),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::testing::{check_mend, check_rule};

    /// A rear seat's mic through a connector; the pins of the connector have names or not.
    fn mic(names: bool, first: &str, second: &str, mark: &str) -> String {
        let pins = if names {
            "unit J310 J310-4:passive:RL_MIC_HI J310-5:passive:RL_MIC_LO"
        } else {
            "mated J310/P310 4 5"
        };
        let jack_side = if names {
            ""
        } else {
            "
            wire A11C J310.P310-4 JK6.ring
            wire A11D J310.P310-5 JK6.sleeve
            cable A11B A11C A11D
            "
        };
        format!(
            "
            unit IC1 J112-3:audio_high:RL_MIC_HI J112-11:audio_low:RL_MIC_LO
            {pins}
            jack JK6 mic isolated
            wire A11-1 IC1.J112-3 J310.{first}
            wire A11-2 IC1.J112-11 J310.{second}
            cable A11 A11-1 A11-2 {mark}
            {jack_side}
            "
        )
    }

    #[test]
    fn finds_crossed_cores_by_what_the_far_ends_are_for() {
        let text = mic(false, "J310-5", "J310-4", "#! swapped-cores");
        let verdict = check_rule(&RULE, &text);
        assert_eq!(
            verdict.findings[0].message,
            "A11-1 and A11-2 are swapped in A11: IC1 J112-3 (audio high) is wired to JK6 sleeve (audio low)"
        );
        check_mend(&RULE, &text);
    }

    #[test]
    fn finds_crossed_cores_by_the_names_of_pins() {
        check_rule(&RULE, &mic(true, "J310-5", "J310-4", "#! swapped-cores"));
    }

    #[test]
    fn accepts_cores_that_run_straight() {
        check_rule(&RULE, &mic(true, "J310-4", "J310-5", ""));
        check_rule(&RULE, &mic(false, "J310-4", "J310-5", ""));
    }

    #[test]
    fn finds_left_on_right() {
        check_rule(
            &RULE,
            "
            unit IC1 J107-4:audio_high:PILOT_PHN_L J107-5:audio_high:PILOT_PHN_R
            unit JK1 tip:audio_high:left ring:audio_high:right
            wire A1-1 IC1.J107-4 JK1.ring #! swapped-cores
            wire A1-2 IC1.J107-5 JK1.tip
            cable A1 A1-1 A1-2
            ",
        );
    }

    #[test]
    fn finds_a_thermocouple_the_wrong_way_round() {
        check_rule(
            &RULE,
            "
            unit EM1 J104-1:thermocouple_plus J104-2:thermocouple_minus
            unit CHT1 +:thermocouple_plus -:thermocouple_minus
            wire TC1-1 CHT1.+ EM1.J104-2
            wire TC1-2 CHT1.- EM1.J104-1
            cable TC1 TC1-1 TC1-2 kind=thermocouple #! swapped-cores
            ",
        );
    }
}
