//! A switch, fuse, diode, shunt or contact that is wired on one side only.

use std::collections::BTreeSet;

use crate::{
    ids::{DeviceId, ElementId, TerminalId},
    rules::prelude::*,
};

/// A switch, fuse, diode, shunt or contact that is wired on one side only.
pub const RULE: Rule = Rule {
    slug: "one-sided",
    title: "Wired on one side only",
    level: Level::Fault,
    why: "The circuit stops here: what it should feed is dead in every position.",
    sources: &[cite(
        COMMON_PRACTICE,
        "a pole in use has a wire on its common side and on another",
    )],
    reads: Reads::JOINS,
    check,
};

/// Terminals that one part connects, in pairs: a pole of a switch, the contacts of a relay that share terminals.
struct Pole<'d> {
    element: &'d ElementId,
    joins: Vec<[&'d TerminalId; 2]>,
}

impl<'d> Pole<'d> {
    fn terminals(&self) -> BTreeSet<&'d TerminalId> {
        self.joins.iter().flatten().copied().collect()
    }

    /// The terminal of every pair, if the pole has several throws.
    fn common(&self) -> Option<&'d TerminalId> {
        let (first, rest) = self.joins.split_first()?;
        let common = |it: &&&TerminalId| rest.iter().all(|join| join.contains(*it));
        first
            .iter()
            .find(common)
            .copied()
            .filter(|_| !rest.is_empty())
    }
}

fn check(facts: &Facts<'_>, out: &mut Findings<'_, '_>) {
    for (id, device) in &facts.document.devices {
        let poles = poles(device);
        for (at, pole) in poles.iter().enumerate() {
            let others = poles.iter().enumerate().filter(|(other, _)| *other != at);
            let shared: BTreeSet<&TerminalId> = others.flat_map(|(_, it)| it.terminals()).collect();
            one(facts, out, (id, device), pole, &shared);
        }
    }
}

fn one(
    facts: &Facts<'_>,
    out: &mut Findings<'_, '_>,
    (id, device): (&DeviceId, &Device),
    pole: &Pole<'_>,
    shared: &BTreeSet<&TerminalId>,
) {
    let terminals = pole.terminals();
    let (wired, bare): (Vec<&TerminalId>, Vec<&TerminalId>) = terminals
        .iter()
        .partition(|it| is_wired(facts, id, device, it));
    if wired.is_empty() {
        return;
    }
    let at = (id, pole.element);
    let is_common_bare = pole.common().is_some_and(|it| bare.contains(&it));
    if wired.len() >= 2 && !is_common_bare {
        out.clear(at);
        return;
    }
    // A grip has one common for its buttons, and one of them may be left unused.
    let is_unused = wired.iter().all(|it| shared.contains(it));
    let names: Vec<String> = bare.iter().map(|it| facts.label((id, *it))).collect();
    let mut report = out
        .finding(at)
        .level(if is_unused { Level::Note } else { Level::Fault })
        .says(format!(
            "{} is wired on one side only: no wire at {}",
            facts.label(at),
            crate::rules::and_list(&names)
        ))
        .help("wire the other side, or remove the wire that leads here");
    for terminal in &bare {
        report = report.also((id, *terminal));
    }
    for terminal in &wired {
        let end = End::Terminal(id.clone(), (*terminal).clone());
        for (wire, _) in facts.wires_at(&end) {
            report = report.also(wire);
        }
    }
}

/// The poles of a device. A breaker on a bar is a spare one until something is wired to it.
fn poles(device: &Device) -> Vec<Pole<'_>> {
    let is_on_bar = |terminal: &TerminalId| {
        let mut elements = device.elements.iter();
        elements
            .any(|it| matches!(&it.is, ElementKind::Bar(bar) if bar.terminals.contains(terminal)))
    };
    let mut poles: Vec<Pole<'_>> = Vec::new();
    for element in &device.elements {
        let joins: Vec<[&TerminalId; 2]> = match &element.is {
            ElementKind::Protector(it) if !is_on_bar(&it.line) => vec![[&it.line, &it.load]],
            ElementKind::Diode(it) => vec![[&it.anode, &it.cathode]],
            ElementKind::Shunt(it) => vec![[&it.a, &it.b]],
            ElementKind::Contact(it) => vec![[&it.a, &it.b]],
            ElementKind::Switch(it) => {
                let joins = it.positions.iter().flat_map(|it| &it.joins);
                joins.map(|[a, b]| [a, b]).collect()
            }
            _ => continue,
        };
        for join in joins {
            let is_same = |pole: &Pole<'_>| {
                let is_alike = pole.element == &element.id
                    || matches!(element.is, ElementKind::Contact(_))
                        && matches!(
                            device.element(pole.element).map(|it| &it.is),
                            Some(ElementKind::Contact(_))
                        );
                is_alike && join.iter().any(|it| pole.terminals().contains(it))
            };
            let same: Vec<usize> = (0..poles.len()).filter(|at| is_same(&poles[*at])).collect();
            let mut joins = vec![join];
            for at in same.into_iter().rev() {
                joins.extend(poles.remove(at).joins);
            }
            let known = |it: &[&TerminalId; 2], others: &[[&TerminalId; 2]]| {
                others
                    .iter()
                    .any(|other| other == it || [other[1], other[0]] == *it)
            };
            let mut once: Vec<[&TerminalId; 2]> = Vec::new();
            for join in joins {
                if !known(&join, &once) {
                    once.push(join);
                }
            }
            poles.push(Pole {
                element: &element.id,
                joins: once,
            });
        }
    }
    poles
}

/// True if a wire or shield ends here, or something inside that takes or gives current is connected to it.
fn is_wired(facts: &Facts<'_>, id: &DeviceId, device: &Device, terminal: &TerminalId) -> bool {
    let touched = |terminal: &TerminalId| {
        !facts
            .touches(&End::Terminal(id.clone(), terminal.clone()))
            .is_empty()
    };
    touched(terminal)
        || device.elements.iter().any(|element| match &element.is {
            ElementKind::Bar(bar) => {
                bar.terminals.contains(terminal) && bar.terminals.iter().any(touched)
            }
            ElementKind::Switch(_)
            | ElementKind::Contact(_)
            | ElementKind::Coil(_)
            | ElementKind::Protector(_)
            | ElementKind::Diode(_)
            | ElementKind::Shunt(_) => false,
            ElementKind::StructureTie(tie) => {
                tie.terminal == *terminal && facts.is_metal(device.place.as_ref())
            }
            other => other.terminals().iter().any(|(_, it)| *it == terminal),
        })
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::{
        rules::{Facts, Level, run},
        testing::{check_rule, document},
    };

    #[test]
    fn finds_a_switch_a_fuse_a_diode_and_a_contact_with_one_side_bare() {
        for part in ["switch S1 1-2", "fuse S1 5", "diode S1"] {
            let side = if part.starts_with("diode") { "K" } else { "2" };
            check_rule(
                &RULE,
                &format!("{part} #! one-sided\n load LT1 1\n wire A S1.{side} LT1.+"),
            );
        }
        let verdict = check_rule(
            &RULE,
            "contactor K1 BAT LOAD COIL+ COIL- #! one-sided
             battery BT1\n wire A BT1.+ K1.BAT",
        );
        let said = &verdict.findings[0].message;
        assert!(said.ends_with("no wire at K1 LOAD"), "{said}");
    }

    #[test]
    fn finds_a_bare_common() {
        check_rule(
            &RULE,
            "throw S7 UP:2-1 OFF: DN:2-3 #! one-sided
             load A 1\n load B 1\n wire A A.+ S7.1\n wire B B.+ S7.3",
        );
    }

    #[test]
    fn a_button_with_the_common_of_others_may_be_unused() {
        let text = "throw S1 OFF: ON:1-C\n load A 1\n load B 1\n wire A A.+ S1.1\n wire B B.+ S1.C";
        let mut document = document(text);
        let grip = document.devices.get_mut("S1").expect("it is there");
        let mut unused = grip.elements[0].clone();
        unused.id = "unused".into();
        let other = crate::document::Terminal::plain("2", "2");
        grip.terminals.push(other);
        unused.is.each_terminal_mut(&mut |it| {
            if it.as_str() == "1" {
                *it = "2".into();
            }
        });
        grip.elements.push(unused);
        let verdict = run(&Facts::new(&document), &[&RULE]);
        let levels: Vec<Level> = verdict.findings.iter().map(|it| it.level).collect();
        assert_eq!(levels, [Level::Note]);
    }

    #[test]
    fn accepts_spare_breakers_unused_throws_and_parts_not_wired_yet() {
        check_rule(
            &RULE,
            "battery BT1\n bus MBUS CB1=5 CB2=5\n switch S1 1-2\n switch S2 1-2
             throw S7 A:2-1 B:2-3\n load LT1 1\n load LT2 1
             wire A BT1.+ MBUS.STUD\n wire B MBUS.CB1 S1.1\n wire C S1.2 LT1.+
             wire D S7.2 LT2.+\n wire E S7.1 MBUS.STUD",
        );
    }
}
