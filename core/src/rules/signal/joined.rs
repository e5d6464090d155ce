//! Two roles that must not meet on one conductor: where they do, and the wires to swap.

use crate::{
    document::{Role, Terminal},
    ids::{DeviceId, WireId},
    rules::{Conductor, Facts, MendKind, Report},
};

/// Two roles that must not meet: where they do, which wire to look at and what else belongs to it.
#[derive(Debug)]
pub struct Meeting<'c, 'd> {
    /// The conductors, those with a device in common taken together.
    pub conductors: Vec<&'c Conductor<'d>>,
    /// The terminals that look misplaced: those of the rarer role.
    pub odd: Vec<(&'d DeviceId, &'d Terminal)>,
    /// The wire at the first of them.
    pub wire: &'d WireId,
}

/// Conductors on which two roles meet that must not. Conductors that share a misplaced device are one
/// mistake: swapping two wires puts both of them wrong.
pub fn meetings<'c, 'd>(
    facts: &Facts<'d>,
    conductors: &'c [Conductor<'d>],
    pair: [Role; 2],
) -> Vec<Meeting<'c, 'd>> {
    let mut all: Vec<Meeting<'c, 'd>> = Vec::new();
    for conductor in conductors {
        let [first, second]: [Vec<_>; 2] = pair.map(|role| conductor.with(role).collect());
        if first.is_empty() || second.is_empty() {
            continue;
        }
        let odd = if first.len() < second.len() {
            first
        } else {
            second
        };
        let Some(wire) = odd
            .iter()
            .find_map(|(device, terminal)| facts.first_wire_at((device, &terminal.id)))
            .or_else(|| conductor.wires.first().copied())
        else {
            continue;
        };
        let devices = |meeting: &Meeting<'_, '_>| {
            meeting.conductors.iter().any(|other| {
                let shares = |(device, _): &(&DeviceId, &Terminal)| {
                    other
                        .ends
                        .iter()
                        .filter(|(other, _)| other == device)
                        .count()
                        > 0
                };
                conductor.ends.iter().filter(|end| shares(end)).count() > 1
            })
        };
        match all.iter_mut().find(|meeting| devices(meeting)) {
            Some(meeting) => {
                meeting.conductors.push(conductor);
                meeting.odd.extend(odd);
            }
            None => all.push(Meeting {
                conductors: vec![conductor],
                odd,
                wire,
            }),
        }
    }
    all
}

/// Adds every wire and terminal of a conductor to a report.
pub fn also_all<'a, 'd>(mut report: Report<'a, 'd>, conductor: &Conductor<'_>) -> Report<'a, 'd> {
    for wire in &conductor.wires {
        report = report.also(*wire);
    }
    for (device, terminal) in &conductor.ends {
        report = report.also((*device, &terminal.id));
    }
    report
}

/// Looks at every conductor with one of two roles; where both meet, that is a finding.
pub fn check_pair(
    facts: &Facts<'_>,
    out: &mut crate::rules::Findings<'_, '_>,
    pair: [(Role, &str); 2],
    help: &str,
) {
    let conductors = facts.conductors();
    let roles = pair.map(|(role, _)| role);
    for conductor in conductors {
        if conductor.has(roles[0]) != conductor.has(roles[1]) {
            for wire in &conductor.wires {
                out.clear(*wire);
            }
        }
    }
    for meeting in meetings(facts, conductors, roles) {
        let (odd_device, odd) = meeting.odd[0];
        let is_first = odd.role == roles[0];
        let [mine, other] = if is_first { [0, 1] } else { [1, 0] };
        let (other_device, met) = meeting.conductors[0]
            .with(roles[other])
            .next()
            .expect("both roles are on the conductor");
        let mut report = out
            .finding(meeting.wire)
            .says(format!(
                "{} ({}) is wired to {} ({})",
                facts.label((odd_device, &odd.id)),
                pair[mine].1,
                facts.label((other_device, &met.id)),
                pair[other].1,
            ))
            .help(help);
        for (device, terminal) in &meeting.odd {
            report = report.also((*device, &terminal.id));
        }
        for conductor in &meeting.conductors {
            report = also_all(report, conductor);
        }
        if let [first, second] = meeting.conductors[..] {
            exchange(facts, report, [first, second], |role, other| role == other);
        }
    }
}

/// Offers to swap the wires of two conductors at a device with one terminal on each, if each terminal then
/// fits all other ends of its new conductor.
pub fn exchange(
    facts: &Facts<'_>,
    report: Report<'_, '_>,
    [first, second]: [&Conductor<'_>; 2],
    fits: fn(Role, Role) -> bool,
) {
    let of = |conductor: &Conductor<'_>, device: &DeviceId| {
        let mut ends = conductor.ends.iter().filter(|(it, _)| *it == device);
        let (_, terminal) = ends.next()?;
        (ends.next().is_none()).then(|| (terminal.id.clone(), terminal.role))
    };
    let would_fit = |conductor: &Conductor<'_>, device: &DeviceId, role: Role| {
        let mut others = conductor.ends.iter().filter(|(it, _)| *it != device);
        others.all(|(_, other)| fits(role, other.role))
    };
    let shared = first.ends.iter().find_map(|(device, _)| {
        let (a, a_role) = of(first, device)?;
        let (b, b_role) = of(second, device)?;
        let fits = would_fit(first, device, b_role) && would_fit(second, device, a_role);
        fits.then_some((*device, a, b))
    });
    if let Some((device, a, b)) = shared {
        report.mend(
            format!(
                "Swap the wires at {} and {}",
                facts.label((device, &a)),
                facts.label((device, &b))
            ),
            MendKind::Ask,
            facts.exchange_wires(device, &a, &b),
        );
    }
}
