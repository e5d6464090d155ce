//! Wires on pins that are named for another wire.

use std::collections::BTreeSet;

use crate::{
    ids::{DeviceId, TerminalId, WireId},
    rules::{
        Conductor,
        facts::wires_of,
        names::{is_short_for, tokens},
        prelude::*,
    },
};

/// Wires on pins that are named for another wire.
pub const RULE: Rule = Rule {
    slug: "pin-of-another",
    title: "Wire on the pin of another",
    level: Level::Caution,
    why: "The pin table says what belongs on a pin. Two wires swapped in a connector, or one a pin too far, read the \
          wrong sensor, key the wrong radio or reverse a motor.",
    sources: &[cite(
        COMMON_PRACTICE,
        "the name of a pin, the function of its wire and the unit at the other end say the same",
    )],
    reads: Reads::FUNCTIONS,
    check,
};

/// A pin with the one wire on it, and what names of other things that wire leads to.
struct Use<'d> {
    terminal: &'d Terminal,
    /// Words of the pin's own name, by index among those of all pins of the device.
    named: Vec<usize>,
    /// The wire; none on a free pin.
    wire: Option<&'d WireId>,
    /// By word of a pin's name: the wire's function, or a unit or pin at its other ends, says it.
    says: Vec<bool>,
}

fn check(facts: &Facts<'_>, out: &mut Findings<'_, '_>) {
    for (id, device) in &facts.document.devices {
        let uses = uses(facts, id, device);
        let mut told = vec![false; uses.len()];
        for a in 0..uses.len() {
            if told[a] || uses[a].wire.is_none() {
                continue;
            }
            let other =
                (0..uses.len()).find(|b| *b != a && !told[*b] && swapped(&uses[a], &uses[*b]));
            match other {
                Some(b) => {
                    (told[a], told[b]) = (true, true);
                    report(facts, out, id, &uses[a], &uses[b]);
                }
                None => out.clear((id, &uses[a].terminal.id)),
            }
        }
    }
}

/// The named pins of a device that are free or have one wire.
fn uses<'d>(facts: &Facts<'d>, id: &'d DeviceId, device: &'d Device) -> Vec<Use<'d>> {
    let mut all: Vec<String> = Vec::new();
    let mut uses = Vec::new();
    for (terminal, node) in device.terminals.iter().zip(facts.netlist().terminals(id)) {
        let mut wires = wires_of(facts.touches_at(node)).map(|(wire, _)| wire);
        let (wire, more) = (wires.next(), wires.next());
        if terminal.name.is_empty() || terminal.role == Role::ShieldTie || more.is_some() {
            continue;
        }
        let named = words(&terminal.name).into_iter().map(|word| {
            all.iter().position(|it| *it == word).unwrap_or_else(|| {
                all.push(word);
                all.len() - 1
            })
        });
        let named = named.collect();
        uses.push((
            Use {
                terminal,
                named,
                wire,
                says: Vec::new(),
            },
            node,
        ));
    }
    let says = |wire, node, pin| {
        let leads_to = leads_to(facts, facts.conductor_at(node)?, wire, (id, pin));
        let is_said = |word: &String| leads_to.iter().any(|other| means(word, other));
        Some(all.iter().map(is_said).collect())
    };
    let filled = uses.into_iter().map(|(it, node)| {
        let says = it.wire.and_then(|wire| says(wire, node, &it.terminal.id));
        Use {
            says: says.unwrap_or_else(|| vec![false; all.len()]),
            ..it
        }
    });
    filled.collect()
}

fn leads_to(
    facts: &Facts<'_>,
    conductor: &Conductor<'_>,
    wire: &WireId,
    (own, pin): (&DeviceId, &TerminalId),
) -> BTreeSet<String> {
    let mut all = BTreeSet::new();
    all.extend(
        facts
            .wire(wire)
            .map(|it| words(&it.function))
            .unwrap_or_default(),
    );
    for (device, terminal) in conductor.ends.iter().chain(&conductor.passive) {
        if (*device, &terminal.id) == (own, pin) {
            continue;
        }
        all.extend(words(&terminal.name));
        if *device != own
            && let Some(device) = facts.device(device)
        {
            all.extend(words(&device.tag));
            all.extend(words(&device.title));
        }
    }
    all
}

/// Words that say which way a signal goes: an output is wired to an input, so they match where they should not.
const WAYS: [&str; 8] = ["TX", "RX", "TXD", "RXD", "IN", "OUT", "INPUT", "OUTPUT"];

/// The words of a name, with its initials if it has several: "push to talk" is also PTT.
fn words(name: &str) -> Vec<String> {
    let mut words: Vec<String> = tokens(name)
        .filter(|it| !WAYS.contains(&it.as_str()))
        .collect();
    let initials: String = words.iter().filter_map(|it| it.chars().next()).collect();
    if words.len() > 2 {
        words.push(initials);
    }
    // "+" and "-" are what tells two pins apart.
    words.extend(
        name.chars()
            .filter(|it| matches!(it, '+' | '-'))
            .map(String::from),
    );
    words
}

/// True if two words can mean the same. A single letter means left or right, nothing longer.
fn means(a: &str, b: &str) -> bool {
    let (short, long) = if a.len() <= b.len() { (a, b) } else { (b, a) };
    match short.len() {
        1 => short == long || matches!((short, long), ("L", "LEFT") | ("R", "RIGHT")),
        _ => is_short_for(short, long),
    }
}

/// True if the wires of two pins fit their names better the other way round.
fn swapped(a: &Use<'_>, b: &Use<'_>) -> bool {
    // How many words of one pin's name the wire of the other says.
    let score =
        |pin: &Use<'_>, wire: &Use<'_>| pin.named.iter().filter(|it| wire.says[**it]).count();
    let ([aa, ab], [ba, bb]) = ([score(a, a), score(a, b)], [score(b, a), score(b, b)]);
    match b.wire {
        // A free pin that fits the wire of another, whose own name says nothing of it.
        None => aa == 0 && ba > 0,
        Some(_) => {
            (ab > aa && ba > bb)
                || (aa == 0 && ab > 0 && ba >= bb)
                || (bb == 0 && ba > 0 && ab >= aa)
        }
    }
}

fn report(facts: &Facts<'_>, out: &mut Findings<'_, '_>, id: &DeviceId, a: &Use<'_>, b: &Use<'_>) {
    let Some(wire) = a.wire else { return };
    let pin = |it: &Use<'_>| {
        format!(
            "{} ({})",
            facts.label((id, &it.terminal.id)),
            it.terminal.name.trim()
        )
    };
    let (says, help) = match b.wire {
        Some(other) => (
            format!(
                "{} on {} and {} on {} fit the other way round by their names",
                facts.label(wire),
                pin(a),
                facts.label(other),
                pin(b)
            ),
            "compare with the maker's pin table; swap the two at this connector, or correct a name",
        ),
        None => (
            format!(
                "{} is on {}; by its name it belongs on {}, which is free",
                facts.label(wire),
                pin(a),
                pin(b)
            ),
            "compare with the maker's pin table; move it, or correct a name",
        ),
    };
    let mut report = out.finding(wire).says(says).help(help);
    if let Some(other) = b.wire {
        report = report.also(other);
    }
    report.also((id, &a.terminal.id)).also((id, &b.terminal.id));
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::testing::check_rule;

    const SENDERS: &str = "
        unit EM1 7:sensor_plus:FUEL_LEVEL_L 8:sensor_plus:FUEL_LEVEL_R 9:sensor_plus:OIL_PRESS 10:sensor_plus:VOLTS
        unit FQ1 S:sensor_plus:left_fuel_level
        unit FQ2 S:sensor_plus:right_fuel_level
        unit OP1 S:sensor_plus:oil_pressure
    ";

    #[test]
    fn finds_two_senders_swapped() {
        let text = format!("{SENDERS} wire A EM1.8 FQ1.S #! pin-of-another\n wire B EM1.7 FQ2.S");
        // By record the finding is at the first pin's wire.
        let text = text
            .replace(" #! pin-of-another", "")
            .replace("FQ2.S", "FQ2.S #! pin-of-another");
        let verdict = check_rule(&RULE, &text);
        assert!(
            verdict.findings[0].message.contains("other way round"),
            "{:?}",
            verdict.findings
        );
    }

    #[test]
    fn finds_a_wire_one_pin_too_far() {
        let verdict = check_rule(
            &RULE,
            &format!("{SENDERS} wire A EM1.10 OP1.S #! pin-of-another"),
        );
        assert_eq!(
            verdict.findings[0].message,
            "A is on EM1 10 (VOLTS); by its name it belongs on EM1 9 (OIL PRESS), which is free"
        );
    }

    #[test]
    fn an_output_is_wired_to_an_input() {
        check_rule(
            &RULE,
            "
            unit COM1 1:serial_tx:SERIAL_TX 2:serial_rx:SERIAL_RX
            unit FD1 8:serial_tx:SERIAL_1_TX 9:serial_rx:SERIAL_1_RX
            wire A COM1.1 FD1.9
            wire B COM1.2 FD1.8
            ",
        );
    }

    #[test]
    fn accepts_them_in_place() {
        check_rule(
            &RULE,
            &format!("{SENDERS} wire A EM1.7 FQ1.S\n wire B EM1.8 FQ2.S\n wire C EM1.9 OP1.S"),
        );
    }
}
