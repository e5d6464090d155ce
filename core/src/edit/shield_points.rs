//! Where a shield can be grounded at one end of its cable, the fitting points first. A program never
//! chooses among them: a shield on a wrong pin brings the noise that it should keep away.

use crate::order::InOrder;
use crate::{
    document::{Cable, Document, End, Role, WireEnd},
    order::Sorted,
};

/// How a point fits a shield.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum ShieldFit {
    /// It is made for shields.
    Shield,
    /// A ground: a return, or the metal of a place.
    Ground,
    /// A pin of a connector, stud or tab without another use.
    Passive,
    /// It carries power or a signal, or is spare: a shield there does not work, or does harm.
    Wrong,
}

/// A point where a shield can be grounded.
#[derive(Clone, Debug, PartialEq)]
pub struct ShieldPoint {
    /// The point.
    pub end: End,
    /// Its label and name; for one that does not fit, with its use.
    pub label: String,
    /// How it fits.
    pub fit: ShieldFit,
}

/// The points at one end of a cable, those made for shields first, then grounds, those that carry power
/// or signals last: terminals of the devices where its cores end, and the metal of conductive places.
pub fn shield_points(document: &Document, cable: &Cable, which: WireEnd) -> Vec<ShieldPoint> {
    let wires = cable.wires.iter().filter_map(|id| document.wires.get(id));
    let ends = wires.map(|wire| wire.end(which));
    let ids: Sorted<_> = ends.filter_map(End::device).collect();
    let mut points = Vec::new();
    for id in ids.iter().copied() {
        let Some(device) = document.devices.get(id) else {
            continue;
        };
        for terminal in &device.terminals {
            let fit = fit(terminal.role);
            let use_of = match fit {
                ShieldFit::Wrong => format!(" \u{b7} {}", terminal.role.words()),
                _ => String::new(),
            };
            let label = format!("{} {}", device.terminal_label(terminal), terminal.name);
            points.push(ShieldPoint {
                end: End::Terminal(id.clone(), terminal.id.clone()),
                label: format!("{}{use_of}", label.trim()),
                fit,
            });
        }
    }
    let metal = document.places.iter().filter(|(_, place)| place.is_metal());
    points.extend(metal.map(|(id, _)| {
        let end = End::Structure(id.clone());
        ShieldPoint {
            label: document.end_label(&end),
            end,
            fit: ShieldFit::Ground,
        }
    }));
    points.order_by_key(|point| point.fit);
    points
}

fn fit(role: Role) -> ShieldFit {
    match role {
        Role::ShieldTie => ShieldFit::Shield,
        Role::Return | Role::SignalReturn => ShieldFit::Ground,
        Role::Passive => ShieldFit::Passive,
        _ => ShieldFit::Wrong,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::document;

    #[test]
    fn shield_pins_come_first_and_power_and_signals_last() {
        let document = document(
            "place PANEL metal
            unit COM1 J1-1:power_in:POWER J1-2:audio_high:PHONES J1-3:return:GROUND J1-4:shield_tie:SHIELD J1-5:spare
            jack JK1 phones isolated
            wire W1 COM1.J1-2 JK1.tip
            cable A1 W1",
        );
        let points = shield_points(&document, &document.cables["A1"], WireEnd::From);
        let labels: Vec<_> = points
            .iter()
            .map(|it| (it.label.as_str(), it.fit))
            .collect();
        assert_eq!(
            labels,
            [
                ("COM1 J1-4 SHIELD", ShieldFit::Shield),
                ("COM1 J1-3 GROUND", ShieldFit::Ground),
                ("airframe, PANEL", ShieldFit::Ground),
                ("COM1 J1-1 POWER \u{b7} takes power", ShieldFit::Wrong),
                ("COM1 J1-2 PHONES \u{b7} audio high", ShieldFit::Wrong),
                ("COM1 J1-5 \u{b7} spare", ShieldFit::Wrong),
            ]
        );
        let points = shield_points(&document, &document.cables["A1"], WireEnd::To);
        assert_eq!(points[0].fit, ShieldFit::Ground, "a jack has no shield pin");
        assert!(points[1..].iter().all(|it| it.fit == ShieldFit::Wrong));
    }
}
