//! A meter reading that disagrees with the drawing.

use crate::{
    analysis::{
        power_up::{OFF_V, power_up},
        ring_out::{Expect, Line, RingOut},
    },
    document::Test,
    ids::ReadingId,
    netlist::{EdgeOf, Point},
    order::Sorted,
    rules::{
        Subject,
        prelude::*,
        records::reading::{Outcome, judge, judge_barrel},
    },
};

/// A measured value that disagrees with the drawing.
pub const RULE: Rule = Rule {
    slug: "measured-otherwise",
    title: "Measurement disagrees with the drawing",
    level: Level::Fault,
    why: "Either the wiring is not as drawn, or the drawing is not as the wiring should be. Every other check \
          relies on the drawing, so this comes first.",
    sources: &[
        cite(AC_43_13_1B, "par 11-66, Table 11-9: ohms of copper by size"),
        cite(
            COMMON_PRACTICE,
            "limits: 0.2 ohm or a quarter over the computed ohms, 100 kohm for open, 10 % on terminators, half a volt",
        ),
    ],
    reads: Reads::ALL,
    check,
};

fn check(facts: &Facts<'_>, out: &mut Findings<'_, '_>) {
    let document = facts.document;
    if document.readings.is_empty() {
        return;
    }
    let sheet = RingOut::new(document);
    let readings = document.readings.iter();
    let judged: Vec<Judged<'_>> = readings
        .map(|(id, reading)| {
            let line = sheet
                .line_of(reading)
                .map(|line| (line, judge(line, reading)));
            (id, reading, line)
        })
        .collect();
    let needs_volts = judged.iter().any(|(_, it, _)| it.test == Test::Volts);
    let steps = if needs_volts {
        power_up(document).steps
    } else {
        Vec::new()
    };
    for (_, reading, line) in &judged {
        let Some(subject) = subject(document, &reading.from) else {
            continue;
        };
        if reading.before_wiring {
            barrel(document, reading, subject, out);
            continue;
        }
        match (reading.test, line) {
            (_, Some((_, Outcome::Right))) | (Test::Amps, None) => out.clear(subject),
            (_, Some((_, Outcome::Unknown))) => {
                out.not_checked(subject, "what stays connected is not a plain resistance");
            }
            (_, Some((line, Outcome::Wrong(why)))) => {
                let to = match &reading.to {
                    End::Open if !line.shields.is_empty() => "the shields there".into(),
                    End::Open => "all other circuits".into(),
                    end => document.end_label(end),
                };
                let told = format!("{} to {to}: {why}", document.end_label(&reading.from));
                let mut report = out.finding(subject).says(told);
                if let (Some(value), Some(limit)) = (reading.value, line.limit_ohm()) {
                    report = report.limit(value, limit, "ohm");
                }
                let suspects = match reading.test {
                    Test::Continuity => along(document, &sheet, line, &judged),
                    Test::Resistance => match line.expect {
                        Expect::Probe(_) => probe(reading),
                        _ => terminators(reading),
                    },
                    _ => touching(document, &sheet, line, &judged),
                };
                for (n, suspect) in suspects.iter().enumerate() {
                    report = report.working(format!("suspect {}: {suspect}", n + 1));
                }
                report
                    .working(format!("measured by {}, {}", reading.who, reading.date))
                    .help("check the first suspect, fix it, measure again and enter the reading");
            }
            (Test::Volts, None) => {
                let pins = steps.iter().flat_map(|step| &step.pins);
                let expected = pins.into_iter().find(|pin| pin.lead == reading.from);
                let read = reading.value;
                match expected.zip(read) {
                    None if read.is_none() => out.clear(subject),
                    None => {
                        out.not_checked(subject, "the first power-up card has no voltage for it");
                    }
                    Some((pin, read)) if (read - pin.volts).abs() <= OFF_V => out.clear(subject),
                    Some((pin, read)) => {
                        let suspects = match read.abs() < OFF_V {
                            true => {
                                "its breaker, an upstream switch, an open joint, the pin next to it"
                            }
                            false => "a second feed, a high-resistance joint, the supply itself",
                        };
                        out.finding(subject)
                            .says(format!(
                                "{}: {read} V measured, {:.1} V expected",
                                document.end_label(&reading.from),
                                pin.volts
                            ))
                            .limit(read, pin.volts, "V")
                            .working(format!("suspects: {suspects}"))
                            .working(format!("measured by {}, {}", reading.who, reading.date))
                            .help("switch off and ring out this circuit again");
                    }
                }
            }
            (_, None) => out.not_checked(
                subject,
                "the ring-out sheet no longer has this line: the wiring has changed since",
            ),
        }
    }
}

/// A reading at a jack that was mounted and not wired yet.
fn barrel(
    document: &Document,
    reading: &Reading,
    subject: Subject<'_>,
    out: &mut Findings<'_, '_>,
) {
    let ends = [&reading.from, &reading.to];
    let device = ends
        .iter()
        .find_map(|end| document.devices.get(end.device()?));
    let jack = device.and_then(|it| {
        it.elements.iter().find_map(|element| match &element.is {
            ElementKind::Jack(jack) => Some(jack),
            _ => None,
        })
    });
    let panel = ends.iter().find_map(|end| match end {
        End::Structure(id) => document.places.get(id),
        _ => None,
    });
    let Some((jack, panel)) = jack.zip(panel) else {
        out.not_checked(
            subject,
            "it was measured between a jack and a panel that are no longer drawn",
        );
        return;
    };
    match judge_barrel(jack, panel, reading) {
        Outcome::Right => out.clear(subject),
        Outcome::Unknown => out.not_checked(
            subject,
            format!(
                "whether its barrel is isolated from {} is not set",
                panel.title
            ),
        ),
        Outcome::Wrong(why) => {
            let told = format!("barrel to {}, before wiring: {why}", panel.title);
            let report = out.finding(subject).says(told);
            report
                .working(format!("measured by {}, {}", reading.who, reading.date))
                .help("take the jack out, look for a burr or a washer without its shoulder in the hole, measure again");
        }
    }
}

fn subject<'d>(document: &'d Document, end: &'d End) -> Option<Subject<'d>> {
    match end {
        End::Terminal(device, terminal) => {
            let (id, found) = document.devices.get_key_value(device)?;
            Some(Subject::from((id, &found.terminal(terminal)?.id)))
        }
        End::Splice(id) => Some(id.into()),
        End::Structure(id) => Some(id.into()),
        End::Open => None,
    }
}

type Judged<'a> = (&'a ReadingId, &'a Reading, Option<(&'a Line, Outcome)>);

/// What may be open along a path: swapped conductors first, then the parts that no good path shares.
fn along(document: &Document, sheet: &RingOut, line: &Line, judged: &[Judged<'_>]) -> Vec<String> {
    let others = |wanted: fn(&Outcome) -> bool| {
        let lines = judged.iter().filter_map(|it| it.2.as_ref());
        lines
            .filter(move |(_, outcome)| wanted(outcome))
            .map(|(line, _)| *line)
    };
    let mut suspects = Vec::new();
    for other in others(|it| matches!(it, Outcome::Wrong(_))) {
        if other == line || other.test != Test::Continuity {
            continue;
        }
        for cable in document.cables.values() {
            let has = |line: &Line| {
                let mut wires = sheet.netlist.wires_among(line.path.iter().copied());
                wires.any(|wire| cable.wires.contains(wire))
            };
            if has(line) && has(other) {
                suspects.push(format!(
                    "conductors of {} swapped at one end: this one and the one to {}",
                    cable.label,
                    document.end_label(&other.to)
                ));
            }
        }
    }
    let sound: Sorted<_> = others(|it| *it == Outcome::Right)
        .flat_map(|line| line.path.iter().copied())
        .collect();
    for edge in line.path.iter().filter(|edge| !sound.contains(*edge)) {
        match sheet.netlist.of(*edge) {
            EdgeOf::Wire(id) => {
                if let Some(wire) = document.wires.get(id) {
                    suspects.push(format!(
                        "{}: bad termination at {} or {}, or a break between",
                        document.wire_label(id),
                        document.end_label(&wire.from),
                        document.end_label(&wire.to)
                    ));
                }
            }
            EdgeOf::InlineFuse(id) => {
                suspects.push(format!(
                    "the fuse in {} is removed or blown",
                    document.wire_label(id)
                ));
            }
            EdgeOf::Shield(id) => {
                let label = document.record_label("cable", id.as_str());
                suspects.push(format!("the shield of {label} is cut"));
            }
            EdgeOf::ShieldEnd(id, _) => {
                let label = document.record_label("cable", id.as_str());
                suspects.push(format!("the pigtail or pin of the shield of {label}"));
            }
            EdgeOf::Element(device, element, _) => {
                let found = document
                    .devices
                    .get(device)
                    .and_then(|it| Some((it, it.element(element)?)));
                if let Some((
                    device,
                    Element {
                        is: ElementKind::Mate(mate),
                        ..
                    },
                )) = found
                {
                    let label = |id| {
                        device
                            .terminal(id)
                            .map_or(String::new(), |it| device.terminal_label(it))
                    };
                    suspects.push(format!(
                        "{} and {}: pushed back, bent or not seated",
                        label(&mate.a),
                        label(&mate.b)
                    ));
                }
            }
            EdgeOf::Bond(id) => {
                let label = document.record_label("place", id.as_str());
                suspects.push(format!("the bond of {label}"));
            }
        }
    }
    suspects
}

/// What a circuit may touch: another that reads low too, the metal under a jack, neighbors in a connector,
/// conductors of its cable.
fn touching(
    document: &Document,
    sheet: &RingOut,
    line: &Line,
    judged: &[Judged<'_>],
) -> Vec<String> {
    let mut suspects = Vec::new();
    if let End::Structure(place) = &line.to {
        suspects.push(format!(
            "the washers of {}: its body touches {}",
            document.end_label(&line.from),
            document.record_label("place", place.as_str())
        ));
    }
    let circuit: Sorted<Point> = (sheet.circuit(&line.from).into_iter())
        .map(|node| sheet.netlist.point(node).clone())
        .collect();
    for (_, reading, outcome) in judged {
        let low =
            matches!(outcome, Some((_, Outcome::Wrong(_)))) && reading.test == Test::Isolation;
        if !low || sheet.joined(&reading.from, &line.from) {
            continue;
        }
        suspects.push(format!(
            "it touches the circuit of {}, which reads low too{}",
            document.end_label(&reading.from),
            meeting(document, sheet, &circuit, &reading.from)
        ));
    }
    for point in &circuit {
        let Point::Terminal(id, terminal) = point else {
            continue;
        };
        let Some(device) = document.devices.get(id) else {
            continue;
        };
        for element in &device.elements {
            if let ElementKind::Jack(jack) = &element.is
                && jack.sleeve == *terminal
                && jack.isolated != Some(false)
                && line.to == End::Open
            {
                suspects.push(format!(
                    "the washers of {}: its body touches metal",
                    device.tag
                ));
            }
        }
        let connector = device
            .terminal(terminal)
            .and_then(|it| it.connector.as_ref());
        let Some(connector) = connector else { continue };
        let pins: Vec<&Terminal> = (device.terminals.iter())
            .filter(|it| it.connector.as_ref() == Some(connector))
            .collect();
        let at = pins.iter().position(|it| it.id == *terminal).unwrap_or(0);
        let near = [at.checked_sub(1), at.checked_add(1)].into_iter().flatten();
        let near: Vec<String> = near
            .filter_map(|at| pins.get(at))
            .filter(|it| !circuit.contains(&Point::Terminal(id.clone(), it.id.clone())))
            .map(|it| device.terminal_label(it))
            .collect();
        if let (false, Some(pin)) = (near.is_empty(), device.terminal(terminal)) {
            suspects.push(format!(
                "a strand or solder at {}, toward {}",
                device.terminal_label(pin),
                near.join(" or ")
            ));
        }
    }
    suspects
}

/// Where two circuits run side by side: a cable, a connector.
fn meeting(document: &Document, sheet: &RingOut, circuit: &Sorted<Point>, other: &End) -> String {
    let other: Vec<&Point> = (sheet.circuit(other).into_iter())
        .map(|node| sheet.netlist.point(node))
        .collect();
    for point in circuit {
        for far in &other {
            let (Point::Terminal(a, x), Point::Terminal(b, y)) = (point, far) else {
                continue;
            };
            let Some(device) = document.devices.get(a).filter(|_| a == b) else {
                continue;
            };
            if let (Some(x), Some(y)) = (device.terminal(x), device.terminal(y)) {
                let (x, y) = (device.terminal_label(x), device.terminal_label(y));
                return format!(": they meet at {x} and {y}");
            }
        }
    }
    String::new()
}

/// What is wrong with a thermocouple pair that its junction does not close as computed.
fn probe(reading: &Reading) -> Vec<String> {
    let text = match reading.value {
        Some(ohm) if ohm < 10.0 => "the two legs touch before the probe",
        _ => "the probe, its joint, or a leg of the pair is open",
    };
    vec![text.into()]
}

fn terminators(reading: &Reading) -> Vec<String> {
    let text = match reading.value {
        Some(ohm) if ohm > 90.0 && ohm < 150.0 => "one terminator is missing, or the trunk is open",
        Some(ohm) if ohm < 50.0 => "a third terminator, or high and low touch",
        None => "both terminators are missing, or the trunk is open at this connector",
        Some(_) => "a terminator of another value, or a high-resistance joint",
    };
    vec![text.into()]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{
        edit::{put_before_wiring, put_reading},
        rules::check as check_all,
        testing::document,
    };

    /// A seat's phones: the example of the ring-out excerpt, 2.6 m and 0.35 m of 22 AWG.
    const SEAT: &str = "
        place PANEL metal
        place PLATE metal
        unit IC1 J112-1:audio_high J112-2:audio_low J112-3:audio_high at=PANEL
        mated J310/P310 1 2 3
        jack JK5 phones isolated at=PLATE
        jack JK6 mic isolated at=PLATE
        wire A1 IC1.J112-1 J310.J310-1 22 2.6m
        wire A2 IC1.J112-2 J310.J310-2 22 2.6m
        wire A3 IC1.J112-3 J310.J310-3 22 2.6m
        wire B1 J310.P310-1 JK5.tip 22 0.35m
        wire B2 J310.P310-2 JK5.sleeve 22 0.35m
        wire B3 J310.P310-3 JK6.ring 22 0.35m
        cable A10 A1 A2 A3
    ";

    fn found(readings: &[(Test, &str, &str, &str)]) -> Vec<(String, Vec<String>)> {
        let mut document = document(SEAT);
        let end = |text: &str| match text.split_once('.') {
            Some((device, terminal)) => End::terminal(device, terminal),
            None if text == "-" => End::Open,
            None => End::Structure(text.into()),
        };
        for (test, from, to, typed) in readings {
            let (from, to) = (end(from), end(to));
            let change = put_reading(
                &document,
                (*test, &from, &to, None),
                typed,
                "ME",
                "2026-03-14",
            );
            change
                .expect("a reading")
                .apply(&mut document)
                .expect("made for it");
        }
        let verdict = check_all(&document);
        let found = verdict
            .findings
            .into_iter()
            .filter(|it| it.rule == RULE.slug);
        found.map(|it| (it.message, it.working)).collect()
    }

    #[test]
    fn finds_a_barrel_that_touches_the_panel_before_a_wire_is_soldered() {
        let found = |typed: &str| {
            let mut document = document(SEAT);
            let ends = (
                &End::terminal("JK5", "sleeve"),
                &End::Structure("PLATE".into()),
            );
            let change = put_before_wiring(&document, ends, typed, "ME", "2026-03-14");
            change.expect("a reading").apply(&mut document).expect("it");
            let found = check_all(&document).findings.into_iter();
            let mut found = found.filter(|it| it.rule == RULE.slug);
            found.next().map(|it| it.message)
        };
        assert_eq!(found("open"), None);
        let told = found("0.3").expect("a finding");
        assert!(
            told.contains("before wiring: 0.3 ohm, open expected"),
            "{told}"
        );
    }

    #[test]
    fn finds_an_open_path_and_what_no_good_path_shares() {
        let told = found(&[
            (Test::Continuity, "IC1.J112-1", "JK5.tip", "open"),
            (Test::Continuity, "IC1.J112-2", "JK5.sleeve", "0.2"),
        ]);
        assert_eq!(told.len(), 1);
        assert!(told[0].0.contains("IC1 J112-1 to JK5"), "{told:?}");
        let names: Vec<bool> = ["A1:", "J310-1 and P310-1", "B1:"]
            .iter()
            .map(|name| told[0].1.iter().any(|line| line.contains(name)))
            .collect();
        assert_eq!(names, [true; 3], "{told:?}");
        assert!(!told[0].1.iter().any(|line| line.contains("A2:")));
    }

    #[test]
    fn finds_swapped_conductors() {
        let told = found(&[
            (Test::Continuity, "IC1.J112-1", "JK5.tip", "open"),
            (Test::Continuity, "IC1.J112-3", "JK6.ring", "open"),
        ]);
        assert_eq!(told.len(), 2);
        assert!(
            told[0].1[0].contains("conductors of A10 swapped"),
            "{told:?}"
        );
    }

    #[test]
    fn finds_the_washer_of_a_jack() {
        let told = found(&[(Test::Isolation, "JK5.sleeve", "PLATE", "0.4")]);
        assert_eq!(told.len(), 1);
        assert!(told[0].1[0].contains("the washers of JK5"), "{told:?}");
    }

    /// The first suspect of one reading; none if it passes.
    fn suspects(
        text: &str,
        (test, from, to): (Test, (&str, &str), Option<(&str, &str)>),
        typed: &str,
    ) -> Option<String> {
        let mut document = document(text);
        let end = |(device, terminal): (&str, &str)| End::terminal(device, terminal);
        let (from, to) = (end(from), to.map_or(End::Open, end));
        let change = put_reading(&document, (test, &from, &to, None), typed, "ME", "");
        change
            .expect("a reading")
            .apply(&mut document)
            .expect("made for it");
        let verdict = check_all(&document);
        let mut found = verdict
            .findings
            .into_iter()
            .filter(|it| it.rule == RULE.slug);
        found.next().map(|it| it.working[0].clone())
    }

    /// 12.8 V downstream of the breaker, none downstream of an open one.
    #[test]
    fn finds_volts_that_are_not_there() {
        let text = "
            battery BT1
            bus MBUS CB5=5
            load LT1 1
            ground GB1 STUD T1
            wire P1 BT1.+ MBUS.STUD 6 1m
            wire L1 MBUS.CB5 LT1.+ 20 1m
            wire L2 LT1.- GB1.T1 20 1m
            wire G GB1.STUD BT1.- 6 1m";
        let told = |typed| suspects(text, (Test::Volts, ("LT1", "+"), None), typed);
        assert_eq!(told("12.7"), None);
        assert!(told("0.1").expect("a finding").contains("its breaker"));
        assert!(told("25").expect("a finding").contains("a second feed"));
    }

    #[test]
    fn finds_a_missing_terminator() {
        let text = "
            unit A J1-5:can_high J1-6:can_low
            unit B J2-5:can_high J2-6:can_low
            inside A resistor J1-5 J1-6 120
            inside B resistor J2-5 J2-6 120
            wire H A.J1-5 B.J2-5 22 2m
            wire L A.J1-6 B.J2-6 22 2m";
        let told = |typed| {
            suspects(
                text,
                (Test::Resistance, ("A", "J1-5"), Some(("A", "J1-6"))),
                typed,
            )
        };
        assert_eq!(told("60"), None);
        assert!(
            told("121")
                .expect("a finding")
                .contains("one terminator is missing")
        );
        assert!(
            told("40")
                .expect("a finding")
                .contains("a third terminator")
        );
    }

    #[test]
    fn accepts_what_is_as_drawn() {
        let told = found(&[
            (Test::Continuity, "IC1.J112-1", "JK5.tip", "0.3"),
            (Test::Continuity, "JK5.sleeve", "IC1.J112-2", "ok"),
            (Test::Isolation, "IC1.J112-1", "-", "open"),
            (Test::Isolation, "JK5.sleeve", "PLATE", "2M"),
        ]);
        assert_eq!(told, []);
    }

    #[test]
    fn not_checked_once_the_line_is_gone() {
        let mut document = document(SEAT);
        let (from, to) = (End::terminal("IC1", "J112-1"), End::terminal("JK6", "tip"));
        let change = put_reading(
            &document,
            (Test::Continuity, &from, &to, None),
            "0.1",
            "ME",
            "",
        );
        change
            .expect("a reading")
            .apply(&mut document)
            .expect("made for it");
        let verdict = check_all(&document);
        assert!(verdict.not_checked.iter().any(|it| it.rule == RULE.slug));
    }
}
