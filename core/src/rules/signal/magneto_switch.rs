//! A magneto that its switch does not ground, or grounds in the wrong position.

use petgraph::graph::{EdgeIndex, NodeIndex};

use crate::{
    ids::{DeviceId, ElementId, WireId},
    netlist::{EdgeKind, Through},
    rules::prelude::*,
};

/// A magneto that its switch does not ground, or grounds in the wrong position.
pub const RULE: Rule = Rule {
    slug: "magneto-switch",
    title: "Magneto switch does not match its positions",
    level: Level::Fault,
    why: "A magneto stops only while its P-lead is grounded. If OFF leaves one live, the propeller can \
          kick when it is turned by hand. If left and right are swapped, the check before take-off \
          blames the wrong magneto.",
    sources: &[
        cite(
            FAA_H_8083_32,
            "ignition systems: grounding of the primary circuit",
        ),
        cite(
            COMMON_PRACTICE,
            "L runs on the left magneto alone, R on the right",
        ),
    ],
    reads: Reads::JOINS,
    check,
};

/// A magneto: its P-lead, and the wire at it.
struct Magneto<'d> {
    device: &'d DeviceId,
    terminal: &'d Terminal,
    lead: NodeIndex,
    wire: Option<&'d WireId>,
    side: Option<Side>,
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum Side {
    Left,
    Right,
}

/// The meaning of a position's label.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Promise {
    Off,
    On,
    Only(Side),
}

fn check(facts: &Facts<'_>, out: &mut Findings<'_, '_>) {
    let magnetos = magnetos(facts);
    if magnetos.is_empty() {
        return;
    }
    let mut switched = vec![false; magnetos.len()];
    for (id, device) in &facts.document.devices {
        for element in &device.elements {
            if let ElementKind::Switch(switch) = &element.is {
                one(
                    facts,
                    out,
                    &magnetos,
                    &mut switched,
                    (id, &element.id),
                    switch,
                );
            }
        }
    }
    for (magneto, switched) in magnetos.iter().zip(switched) {
        if !switched {
            unswitched(facts, out, magneto);
        }
    }
}

/// Reports a magneto that no switch grounds.
fn unswitched(facts: &Facts<'_>, out: &mut Findings<'_, '_>, magneto: &Magneto<'_>) {
    let name = facts.label(magneto.device);
    let pin = (magneto.device, &magneto.terminal.id);
    let report = match magneto.wire {
        Some(wire) => out.finding(wire).also(pin),
        None => out.finding(pin),
    };
    let report = report.also(magneto.device);
    // Grounded for good it does not run, which nobody overlooks; ungrounded it runs when nobody expects it.
    if facts.returns().has(magneto.lead) {
        report
            .says(format!(
                "the P-lead of {name} is grounded in every position: it never runs"
            ))
            .help("lead it to the switch, and nothing else of it to metal");
    } else {
        let says = match magneto.wire {
            Some(_) => format!("no switch grounds {name}: it cannot be stopped"),
            None => format!("the P-lead of {name} has no wire: it cannot be stopped"),
        };
        report.level(Level::Hazard).says(says).help(
            "treat the propeller as live; wire its P-lead to a switch that grounds it in OFF",
        );
    }
}

fn magnetos<'d>(facts: &Facts<'d>) -> Vec<Magneto<'d>> {
    let netlist = facts.netlist();
    let is_switch = |device: &Device| {
        (device.elements.iter()).any(|it| matches!(it.is, ElementKind::Switch(_)))
    };
    let devices = facts.document.devices.iter();
    let units = devices.filter(|(_, device)| !is_switch(device));
    let all = units.flat_map(|(id, device)| {
        let leads = device.terminals.iter().filter(|it| it.role == Role::PLead);
        leads.filter_map(move |terminal| {
            let end = End::Terminal(id.clone(), terminal.id.clone());
            Some(Magneto {
                device: id,
                terminal,
                lead: netlist.terminal(id, &terminal.id)?,
                wire: facts.wires_at(&end).map(|(wire, _)| wire).next(),
                side: side(&format!(
                    "{} {} {}",
                    device.title, terminal.name, device.tag
                )),
            })
        })
    });
    all.collect()
}

/// Left or right by name: in words, else number 1 is the left one and 2 the right.
fn side(name: &str) -> Option<Side> {
    let name = name.to_lowercase();
    let has = |words: &[&str]| words.iter().any(|word| name.contains(word));
    match (has(&["left"]), has(&["right"])) {
        (true, false) => Some(Side::Left),
        (false, true) => Some(Side::Right),
        _ if name.ends_with('1') => Some(Side::Left),
        _ if name.ends_with('2') => Some(Side::Right),
        _ => None,
    }
}

fn promise(label: &str) -> Option<Promise> {
    match label.trim().to_uppercase().as_str() {
        "OFF" => Some(Promise::Off),
        "BOTH" | "ON" => Some(Promise::On),
        "L" | "LEFT" => Some(Promise::Only(Side::Left)),
        "R" | "RIGHT" => Some(Promise::Only(Side::Right)),
        // START too: an impulse coupling on the left alone is usual, but not the only arrangement.
        _ => None,
    }
}

fn one(
    facts: &Facts<'_>,
    out: &mut Findings<'_, '_>,
    magnetos: &[Magneto<'_>],
    switched: &mut [bool],
    at: (&DeviceId, &ElementId),
    switch: &Switch,
) {
    let netlist = facts.netlist();
    let edges: Vec<EdgeIndex> = netlist
        .element_edges(at.0.as_str(), at.1.as_str())
        .collect();
    let metal = netlist.groups(Through::METAL);
    // Those whose P-lead is wired to this switch.
    let here: Vec<usize> = (0..magnetos.len())
        .filter(|it| {
            edges.iter().any(|edge| {
                let (a, b) = netlist.ends(*edge);
                metal.same(a, magnetos[*it].lead) || metal.same(b, magnetos[*it].lead)
            })
        })
        .collect();
    if here.is_empty() {
        return;
    }
    for (position, setting) in switch.positions.iter().enumerate() {
        // Grounded, or on a grounded conductor: the switch's ground terminal may be grounded by shields.
        let grounded = |it: usize| {
            let lead = magnetos[it].lead;
            let made = edges.iter().filter(|edge| {
                matches!(netlist.graph[**edge].kind, EdgeKind::Switch { made_in, .. }
                         if (made_in >> position) & 1 == 1)
            });
            let mut beyond = made.filter_map(|edge| {
                let (a, b) = netlist.ends(*edge);
                match (metal.same(a, lead), metal.same(b, lead)) {
                    (true, false) => Some(b),
                    (false, true) => Some(a),
                    _ => None,
                }
            });
            facts.returns().has(lead) || beyond.any(|node| facts.returns().has(node))
        };
        for &it in &here {
            switched[it] |= grounded(it);
        }
        let label = setting.label.as_str();
        let Some(promise) = promise(label) else {
            if !matches!(label.trim().to_uppercase().as_str(), "START") {
                out.not_checked(
                    at,
                    format!(
                        "the meaning of position {label:?} of {} is unknown: name it OFF, L, R or BOTH",
                        facts.label(at)
                    ),
                );
            }
            continue;
        };
        let wrong = here.iter().find_map(|&it| {
            let wanted = match promise {
                Promise::Off => true,
                Promise::On => false,
                Promise::Only(side) => magnetos[it].side? != side,
            };
            (grounded(it) != wanted).then_some((it, wanted))
        });
        let Some((it, wanted)) = wrong else {
            out.clear(at);
            continue;
        };
        let magneto = facts.label(magnetos[it].device);
        let says = match wanted {
            true => format!(
                "position {label} of {} leaves {magneto} live",
                facts.label(at)
            ),
            false => format!("position {label} of {} stops {magneto}", facts.label(at)),
        };
        let mut report = match magnetos[it].wire {
            Some(wire) => out.finding(wire),
            None => out.finding(at),
        };
        if promise == Promise::Off {
            report = report.level(Level::Hazard);
        }
        report = report.says(says).help(
            "treat the propeller as live until this is fixed; check both P-leads at the switch against its \
             position labels",
        );
        for &other in &here {
            switched[other] = true;
            report = report.also(magnetos[other].device);
            if let Some(wire) = magnetos[other].wire {
                report = report.also(wire);
            }
        }
        report.also(at);
        // One mistake shows in several positions: report the first only.
        return;
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::{
        rules::{self, Facts},
        testing::{check_rule, document},
    };

    const PARTS: &str = "
        place ENGINE metal
        battery BT1 at=ENGINE
        wire G BT1.- @ENGINE
        unit MAG1 P:p_lead:left_P-lead
        unit MAG2 P:p_lead:right_P-lead
        throw S10 OFF:L-GND,R-GND R:L-GND L:R-GND BOTH:
        wire N S10.GND @ENGINE
    ";

    #[test]
    fn finds_exchanged_leads() {
        let verdict = check_rule(
            &RULE,
            &format!(
                "{PARTS}
                wire K1 MAG1.P S10.R #! magneto-switch
                wire K2 MAG2.P S10.L
                "
            ),
        );
        let said = &verdict.findings[0].message;
        assert!(
            said.contains("position R") && said.contains("MAG1 live"),
            "{said}"
        );
    }

    #[test]
    fn finds_a_magneto_that_off_leaves_live() {
        let verdict = check_rule(
            &RULE,
            "
            place ENGINE metal
            battery BT1 at=ENGINE
            wire G BT1.- @ENGINE
            unit MAG1 P:p_lead:left_P-lead
            throw S10 OFF: ON:P-GND
            wire N S10.GND @ENGINE
            wire K1 MAG1.P S10.P #! magneto-switch
            ",
        );
        assert!(verdict.findings[0].message.contains("OFF"));
    }

    #[test]
    fn finds_a_lead_on_the_case_and_one_left_out() {
        let text = "
            place ENGINE metal
            battery BT1 at=ENGINE
            wire G BT1.- @ENGINE
            unit MAG1 P:p_lead CASE:return at=ENGINE
            inside MAG1 tie CASE
        ";
        let grounded = format!("{text} wire K1 MAG1.P MAG1.CASE #! magneto-switch");
        let said = &check_rule(&RULE, &grounded).findings[0].message;
        assert_eq!(
            said,
            "the P-lead of MAG1 is grounded in every position: it never runs"
        );
        let said = &rules::run(&Facts::new(&document(text)), &[&RULE]).findings[0].message;
        assert_eq!(said, "the P-lead of MAG1 has no wire: it cannot be stopped");
    }

    #[test]
    fn finds_a_magneto_on_no_switch() {
        check_rule(
            &RULE,
            "
            battery BT1
            unit MAG1 P:p_lead
            unit X1 1:passive
            wire K1 MAG1.P X1.1 #! magneto-switch
            ",
        );
    }

    #[test]
    fn finds_a_magneto_without_a_lead() {
        let verdict = check_rule(
            &RULE,
            &format!(
                "{PARTS}
                wire K1 MAG1.P S10.L
                "
            )
            .replace("right_P-lead", "right_P-lead #! magneto-switch"),
        );
        assert_eq!(verdict.findings[0].at[0].id, "MAG2/P");
    }

    #[test]
    fn accepts_leads_by_their_labels() {
        check_rule(
            &RULE,
            &format!(
                "{PARTS}
                wire K1 MAG1.P S10.L
                wire K2 MAG2.P S10.R
                "
            ),
        );
    }

    #[test]
    fn not_checked_for_an_unknown_label() {
        check_rule(
            &RULE,
            "
            place ENGINE metal
            battery BT1 at=ENGINE
            wire G BT1.- @ENGINE
            unit MAG1 P:p_lead
            throw S10 OFF:P-GND SPARE: #? magneto-switch
            wire N S10.GND @ENGINE
            wire K1 MAG1.P S10.P
            ",
        );
    }
}
