//! Wires of a noisy unit in one route with audio.

use crate::{
    ids::{DeviceId, RouteId, WireId},
    noise::ripple::{DriveKind, load_kind},
    order::{Map, Sorted},
    rules::{Subject, and_list, prelude::*},
};

/// Wires of a noisy unit in one route with audio.
pub const RULE: Rule = Rule {
    slug: "noisy-beside-audio",
    title: "Noisy wires next to audio",
    level: Level::Note,
    why: "Pulsing current, as to a charging port or a strobe, makes a field that a mic cable in the same \
          bundle picks up. A few centimeters apart, or crossing at right angles, the noise is gone.",
    sources: &[cite(
        COMMON_PRACTICE,
        "audio cables are routed apart from strobe, charging and alternator wires",
    )],
    reads: Reads::ROUTES.union(Reads::LENGTHS).union(Reads::RATINGS),
    check,
};

fn check(facts: &Facts<'_>, out: &mut Findings<'_, '_>) {
    let document = facts.document;
    // Audio by its route: that of the cable if it is in one, else that of the wire.
    let mut audio: Map<&RouteId, Sorted<Subject<'_>>> = Map::new();
    for conductor in facts.conductors() {
        if !conductor.has(Role::AudioHigh) {
            continue;
        }
        for &wire in &conductor.wires {
            let subject = facts
                .cable_of(wire)
                .map_or(Subject::Wire(wire), Subject::Cable);
            for route in routes(document, wire) {
                audio.or_default(route).insert(subject);
            }
        }
    }
    if audio.is_empty() {
        return;
    }
    for (id, device) in &document.devices {
        if is_noisy(device) {
            one(facts, out, &audio, id);
        }
    }
}

fn is_noisy(device: &Device) -> bool {
    device.kind == DeviceKind::Alternator
        || matches!(
            load_kind(device),
            Some(DriveKind::Strobe | DriveKind::Charging)
        )
}

fn routes<'d>(document: &'d Document, wire: &WireId) -> &'d [RouteId] {
    document
        .wires
        .get(wire)
        .map_or(&[], |it| it.route.as_slice())
}

fn one(
    facts: &Facts<'_>,
    out: &mut Findings<'_, '_>,
    audio: &Map<&RouteId, Sorted<Subject<'_>>>,
    id: &DeviceId,
) {
    let document = facts.document;
    let terminals = document.devices[id].terminals.iter();
    let powers = terminals.filter(|it| {
        matches!(
            it.role,
            Role::PowerIn | Role::PowerOut | Role::Return | Role::Passive
        )
    });
    let wires: Sorted<&WireId> = powers
        .flat_map(|it| facts.wires_at(&End::Terminal(id.clone(), it.id.clone())))
        .flat_map(|(wire, _)| facts.conductor_of(wire).map_or(&[][..], |it| &it.wires))
        .copied()
        .collect();
    let mut beside: Sorted<Subject<'_>> = Sorted::new();
    let mut shared: Sorted<&RouteId> = Sorted::new();
    let mut routed = false;
    for wire in &wires {
        for route in routes(document, wire) {
            routed = true;
            if let Some(there) = audio.get(&route) {
                shared.insert(route);
                for subject in there {
                    beside.insert(*subject);
                }
            }
        }
    }
    if !routed {
        out.not_checked(
            id,
            format!("the routes of the wires of {} are missing", facts.label(id)),
        );
        return;
    }
    if beside.is_empty() {
        out.clear(id);
        return;
    }
    let length_m: Option<f64> = (shared.iter())
        .filter_map(|route| document.routes.get(*route))
        .map(|route| route.length_m)
        .sum();
    let length = length_m.map_or("some length".into(), |m| document.project.length(m, 1));
    let names: Vec<String> = beside.iter().map(|subject| facts.label(*subject)).collect();
    let ways: Vec<String> = (shared.iter())
        .filter_map(|route| Some(document.routes.get(*route)?.title.clone()))
        .collect();
    let mut report = out
        .finding(id)
        .says(format!(
            "wires of {} run {} next to {}, in {}",
            facts.label(id),
            length,
            and_list(&names),
            and_list(&ways)
        ))
        .help(
            "move them to another bundle, or keep a hand's width between them and cross at right angles",
        );
    if let Some(length_m) = length_m {
        report = report.measured(length_m, "m");
    }
    for wire in &wires {
        report = report.also(*wire);
    }
    for subject in &beside {
        report = report.also(*subject);
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::{
        document::{Extra, Origins, Route},
        rules::{self, Verdict},
        testing::document,
    };

    fn routed(power: Option<&str>) -> Verdict {
        let mut document = document(
            "place PANEL metal
             place ROOF metal
             battery BT1
             load USB2 2.5
             unit IC1 1:audio_high
             jack JK6 mic isolated
             wire P30 BT1.+ USB2.+ 18 3m
             wire P31 USB2.- BT1.- 18 3m
             wire A11 IC1.1 JK6.ring 22 2.6m",
        );
        for title in ["left", "right"] {
            let route = Route {
                title: title.into(),
                from: "PANEL".into(),
                to: "ROOF".into(),
                length_m: Some(2.6),
                origins: Origins::default(),
                extra: Extra::new(),
            };
            document.routes.insert(title.into(), route);
        }
        let mut lead = |wire: &str, route: &str| {
            document.wires.get_mut(wire).expect("a wire").route = vec![route.into()];
        };
        lead("A11", "left");
        if let Some(route) = power {
            lead("P30", route);
            lead("P31", route);
        }
        rules::run(&rules::Facts::new(&document), &[&RULE])
    }

    #[test]
    fn finds_charging_wires_in_the_route_of_a_mic() {
        let verdict = routed(Some("left"));
        let finding = &verdict.findings[0];
        assert_eq!(finding.at[0].id, "USB2");
        assert!(
            finding.message.contains("2.6 m next to A11, in left"),
            "{}",
            finding.message
        );
    }

    #[test]
    fn accepts_another_route() {
        let verdict = routed(Some("right"));
        assert_eq!((verdict.findings.len(), verdict.not_checked.len()), (0, 0));
    }

    #[test]
    fn not_checked_without_a_route() {
        let verdict = routed(None);
        assert!(
            verdict.not_checked[0]
                .because
                .contains("routes of the wires of USB2")
        );
    }
}
