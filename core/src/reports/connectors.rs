//! Connector pages: the face of each connector, the wire in each cavity, the mating cavity, and spares.

use crate::order::InOrder;
use std::fmt::Write as _;

use super::{Cell, Paper, PaperInput, Part, Table, harness::Ends};
use crate::{
    document::{
        Connector, Contacts, Device, DeviceKind, Document, ElementKind, End, Role, ShieldEnd,
        Terminal, natural_cmp,
    },
    ids::DeviceId,
    markup::escape,
    units::Gauge,
};

const COLUMNS: &[(&str, &str, &str)] = &[
    ("connector", "Connector", ""),
    ("pin", "Cavity", ""),
    ("name", "Function", ""),
    ("wire", "Wire", ""),
    ("gauge_awg", "Gauge", "AWG"),
    ("colour", "Color", ""),
    ("fits", "Fits contact", ""),
    ("goes_to", "Goes to", ""),
    ("mate", "Mating half", ""),
];

/// Spare contacts to plan, by number of cavities (AC 43.13-1B CHG 1 par 11-234, p. 11-98).
fn spares_wanted(cavities: usize) -> usize {
    match cavities {
        0..=25 => 2,
        26..=100 => 4,
        _ => 6,
    }
}

/// Cavities of a D-sub connector, and how many are in its longer row (IEC 60807 pattern, from memory).
const D_SUB: [(usize, usize); 4] = [(9, 5), (15, 8), (25, 13), (37, 19)];
/// Thickest and thinnest wire that a size 20 crimp contact takes (contact data sheets, from memory). Used where the
/// connector's own are not set.
const SIZE_20: (Option<Gauge>, Option<Gauge>) = (Some(Gauge(20)), Some(Gauge(24)));

/// The paper.
pub fn paper(asked: &PaperInput<'_>) -> Paper {
    let document = asked.document;
    let mut paper = Paper::new("connectors", "Connector pages", document);
    paper.text(
        "Compare the drawn face with the numbers molded into the connector before you insert the first contact. \
         Faces are shown from the rear, where the wires go in; a filled circle is wired. The pattern of D-sub \
         faces, and the wire their contacts take where it is not set (20 to 24 AWG), are from memory.",
    );
    let ends = Ends::new(document);
    for (id, device, connector) in in_order(document) {
        let mut terminals: Vec<&Terminal> = (device.terminals.iter())
            .filter(|it| it.connector.as_ref() == Some(&connector.id))
            .collect();
        terminals.order_by(|a, b| natural_cmp(&a.label, &b.label));
        let used = terminals
            .iter()
            .filter(|it| ends.is_used(&end(id, it)))
            .count();
        let cavities = ways(&connector.style).unwrap_or(terminals.len());
        let spare = cavities.saturating_sub(used);
        paper.heading(title(device, connector));
        let wanted = spares_wanted(cavities);
        let short = if spare < wanted {
            ", fewer than recommended"
        } else {
            ""
        };
        paper.text(format!(
            "{used} of {cavities} cavities used, {spare} spare{short} ({wanted} recommended for growth: FAA AC \
             43.13-1B CHG 1 par 11-234). Plug every empty cavity. {}",
            seen(connector)
        ));
        paper.parts.push(Part::Drawing {
            svg: face(id, connector, &terminals, &ends),
            told: format!("rear face of {}", connector.label),
        });
        let mut table = Table::new("connectors", title(device, connector), COLUMNS).grouped();
        let mut known = connector.clone();
        if known.taken().is_empty() && known.style.contains("D-sub") {
            (known.thickest_awg, known.thinnest_awg) = SIZE_20;
        }
        for terminal in terminals {
            table
                .rows
                .extend(rows(document, &ends, (id, device, &known), terminal));
        }
        paper.table(table);
    }
    paper
}

/// Every connector, by device and label.
fn in_order(document: &Document) -> Vec<(&DeviceId, &Device, &Connector)> {
    let devices = document.devices.iter();
    let mut all: Vec<_> = devices
        .flat_map(|(id, device)| device.connectors.iter().map(move |it| (id, device, it)))
        .collect();
    all.order_by(|a, b| natural_cmp(&a.2.label, &b.2.label).then_with(|| a.0.cmp(b.0)));
    all
}

fn title(device: &Device, connector: &Connector) -> String {
    let of = match device.kind == DeviceKind::InlineConnector {
        true => device.title.clone(),
        false => format!("on {}, {}", device.tag, device.title),
    };
    let style = match connector.style.as_str() {
        "" => String::new(),
        style => format!(", {style}"),
    };
    format!("{}{style}: {of}", connector.label)
}

fn seen(connector: &Connector) -> &'static str {
    match connector.contacts {
        Some(Contacts::Sockets) => "The harness half has sockets.",
        Some(Contacts::Pins) => "The harness half has pins.",
        None => {
            "Pins or sockets on the harness half: not set. The face is drawn for sockets; with pins, left and \
             right are swapped."
        }
    }
}

fn rows(
    document: &Document,
    ends: &Ends<'_>,
    (id, device, connector): (&DeviceId, &Device, &Connector),
    terminal: &Terminal,
) -> Vec<Vec<Cell>> {
    let here = end(id, terminal);
    let mate = mate(device, terminal).map(|mate| {
        let told = ends.described(document, &End::Terminal(id.clone(), mate.clone()));
        let here = ends.is_used(&here);
        match (told.as_str(), here) {
            ("", true) => "not wired: mismatch".into(),
            (_, false) if !told.is_empty() => format!("{told}: mismatch"),
            _ => told,
        }
    });
    let mate = || Cell::text(mate.clone().unwrap_or_default());
    let row = |cells: [Cell; 5]| {
        let mut row = vec![
            Cell::text(&connector.label),
            Cell::text(&terminal.label),
            Cell::text(&terminal.name),
        ];
        row.extend(cells);
        row.push(mate());
        row
    };
    let fits = |gauge: Option<Gauge>| match gauge.and_then(|it| connector.takes(it)) {
        None => String::new(),
        Some(true) => "yes".into(),
        Some(false) => format!("no: {}", connector.taken()),
    };
    let mut rows: Vec<Vec<Cell>> = (ends.at(&here).iter())
        .map(|(wire_id, wire, far)| {
            row([
                Cell::text(document.wire_label(wire_id)),
                Cell::text(wire.gauge_text()),
                Cell::text(&wire.colour),
                Cell::text(fits(wire.gauge_awg)),
                Cell::text(document.end_label(far)),
            ])
        })
        .collect();
    for label in ends.shields_at(&here) {
        let cable = document
            .cables
            .values()
            .find(|cable| cable.label == **label);
        let tied = cable.and_then(|it| it.shield.as_ref()).map(|shield| {
            let ends = [&shield.from, &shield.to];
            match ends.into_iter().find(|it| it.at() == Some(&here)) {
                Some(ShieldEnd::Tied { .. }) => "grounded here",
                _ => "carried through",
            }
        });
        rows.push(row([
            Cell::text(format!("shield of {label}")),
            Cell::Empty,
            Cell::Empty,
            Cell::Empty,
            Cell::text(tied.unwrap_or_default()),
        ]));
    }
    if rows.is_empty() {
        let what = match terminal.role {
            _ if terminal.covered => "spare, covered",
            Role::Spare => "spare",
            _ => "not wired",
        };
        rows.push(row([
            Cell::text(what),
            Cell::Empty,
            Cell::Empty,
            Cell::Empty,
            Cell::Empty,
        ]));
    }
    rows
}

/// The mating terminal of a pin of an in-line connector.
fn mate<'d>(device: &'d Device, terminal: &Terminal) -> Option<&'d crate::ids::TerminalId> {
    device
        .elements
        .iter()
        .find_map(|element| match &element.is {
            ElementKind::Mate(mate) if mate.a == terminal.id => Some(&mate.b),
            ElementKind::Mate(mate) if mate.b == terminal.id => Some(&mate.a),
            _ => None,
        })
}

fn end(device: &DeviceId, terminal: &Terminal) -> End {
    End::Terminal(device.clone(), terminal.id.clone())
}

/// "15-way D-sub": 15.
fn ways(style: &str) -> Option<usize> {
    style.split("-way").next()?.trim().parse().ok()
}

/// The rear face: a D-sub in its two rows, other connectors as a plain grid.
fn face(id: &DeviceId, connector: &Connector, terminals: &[&Terminal], ends: &Ends<'_>) -> String {
    let ways = ways(&connector.style);
    let first_row = ways
        .filter(|_| connector.style.contains("D-sub"))
        .and_then(|ways| D_SUB.iter().find(|(size, _)| *size == ways));
    let count = ways.unwrap_or(terminals.len()).max(1);
    let columns = first_row.map_or(count.min(10), |(_, columns)| *columns);
    let mirrored = connector.contacts == Some(Contacts::Pins);
    let step = 9.0;
    let rows = count.div_ceil(columns);
    let (width, height) = (step * columns as f64 + 6.0, step * rows as f64 + 6.0);
    let mut svg = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{width}mm\" height=\"{height}mm\" \
         viewBox=\"0 0 {width} {height}\" font-family=\"sans-serif\" font-size=\"3.2\" \
         text-anchor=\"middle\" stroke=\"currentColor\" stroke-width=\"0.3\">"
    );
    let slant = if first_row.is_some() { 4.0 } else { 0.0 };
    let _ = write!(
        svg,
        "<path d=\"M1 1H{0}L{1} {2}H{3}Z\" fill=\"none\" stroke-linejoin=\"round\"/>",
        width - 1.0,
        width - 1.0 - slant,
        height - 1.0,
        1.0 + slant
    );
    for at in 0..count {
        let (row, column) = (at / columns, at % columns);
        let indent = if first_row.is_some() && row == 1 {
            0.5
        } else {
            0.0
        };
        let x = 3.0 + step * (column as f64 + 0.5 + indent);
        let x = if mirrored { width - x } else { x };
        let y = 3.0 + step * (row as f64 + 0.5);
        let number = (at + 1).to_string();
        let terminal = match first_row {
            Some(_) => terminals.iter().find(|it| it.label == number),
            None => terminals.get(at),
        };
        let label = terminal.map_or(number.as_str(), |it| &it.label);
        let is_used = terminal.is_some_and(|it| ends.is_used(&end(id, it)));
        let (fill, ink) = match is_used {
            true => ("#222", "#fff"),
            false => ("none", "currentColor"),
        };
        let _ = write!(
            svg,
            "<circle cx=\"{x}\" cy=\"{y}\" r=\"3.4\" fill=\"{fill}\"/><text x=\"{x}\" y=\"{}\" \
             fill=\"{ink}\" stroke=\"none\">{}</text>",
            y + 1.1,
            escape(label)
        );
    }
    svg + "</svg>"
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::{asked, document};

    #[test]
    fn the_halves_of_a_connector_are_compared() {
        let document = document(
            "ground GB1 A B C D
             mated J310/P310 1 2 3
             wire W1 GB1.A J310.J310-1 22 1m
             wire W2 GB1.B J310.P310-1 22 1m
             wire W3 GB1.C J310.J310-2 22 1m",
        );
        let paper = paper(&asked(&document));
        let rows: Vec<[String; 4]> = (paper.tables().flat_map(|table| &table.rows))
            .map(|row| [row[0].show(), row[1].show(), row[3].show(), row[8].show()])
            .collect();
        let has = |row: [&str; 4]| rows.iter().any(|it| *it == row.map(String::from));
        assert!(has(["J310", "1", "W1", "W2"]), "{rows:?}");
        assert!(has(["J310", "2", "W3", "not wired: mismatch"]), "{rows:?}");
        assert!(has(["P310", "2", "not wired", "W3: mismatch"]), "{rows:?}");
    }

    #[test]
    fn a_face_is_mirrored_for_pins() {
        let mut document = document("unit COM1 J105-1:power_in J105-9:return");
        let place = |document: &Document| {
            let paper = paper(&asked(document));
            let svg = paper.parts.iter().find_map(|part| match part {
                Part::Drawing { svg, .. } => Some(svg.clone()),
                _ => None,
            });
            let svg = svg.expect("a face");
            let first = svg
                .split("<circle cx=\"")
                .nth(1)
                .expect("a cavity")
                .to_owned();
            first
                .split('"')
                .next()
                .unwrap_or_default()
                .parse::<f64>()
                .expect("a number")
        };
        let device = document.devices.get_mut("COM1").expect("COM1");
        device.connectors[0].style = "9-way D-sub".into();
        let left = place(&document);
        document.devices.get_mut("COM1").expect("COM1").connectors[0].contacts =
            Some(Contacts::Pins);
        assert!(left < 10.0 && place(&document) > 40.0);
    }
}
