//! The ground block map: the wires on each tab of each block, spare tabs, and local grounds.

use super::{Cell, Paper, PaperInput, Table, harness::Ends};
use crate::order::InOrder;
use crate::{
    document::{
        BarUse, Device, Document, ElementKind, End, Role, Terminal, TerminalForm, Wire, natural_cmp,
    },
    ids::{DeviceId, WireId},
};

const COLUMNS: &[(&str, &str, &str)] = &[
    ("block", "Block", ""),
    ("terminal", "Tab or stud", ""),
    ("fits", "Room for", ""),
    ("free", "Free", ""),
    ("wire", "Wire", ""),
    ("from", "From", ""),
    ("returns", "What it returns", ""),
    ("gauge_awg", "Gauge", "AWG"),
];

/// The paper.
pub fn paper(asked: &PaperInput<'_>) -> Paper {
    let document = asked.document;
    let mut paper = Paper::new("grounds", "Ground block map", document);
    let table = table(document);
    for (_, block) in blocks(document) {
        let of_block = |row: &&Vec<Cell>| row[0].show() == name(block);
        let free = table
            .rows
            .iter()
            .filter(of_block)
            .filter(|row| row[4] == Cell::text("spare"));
        paper.text(format!("{}: {} spare", name(block), free.count()));
    }
    paper.table(table);
    paper.text(
        "Put at most four wires on a ground stud (CASA AC 21-99(1), section 2, chapter 13). Keep the resistance \
         from a block to the airframe under 2.5 mΩ (FAA AC 43.13-1B CHG 1 par 11-188f). Do not use composite as a \
         return.",
    );
    paper.heading("Grounded to local metal");
    paper.table(local(document));
    paper
}

fn name(device: &Device) -> String {
    format!("{}, {}", device.tag, device.title)
}

/// Ground blocks, by tag.
fn blocks(document: &Document) -> Vec<(&DeviceId, &Device)> {
    let is_ground = |device: &Device| {
        let mut elements = device.elements.iter();
        elements.any(|it| matches!(&it.is, ElementKind::Bar(bar) if bar.used_as == BarUse::Ground))
    };
    let devices = document
        .devices
        .iter()
        .filter(|(_, device)| is_ground(device));
    let mut blocks: Vec<_> = devices.collect();
    blocks.order_by(|a, b| natural_cmp(&a.1.tag, &b.1.tag));
    blocks
}

/// A row for each wire and shield on a block, and for each free tab.
pub fn table(document: &Document) -> Table {
    let mut table = Table::new("grounds", "Grounds", COLUMNS).grouped();
    let ends = Ends::new(document);
    for (id, block) in blocks(document) {
        for terminal in &block.terminals {
            let end = End::Terminal(id.clone(), terminal.id.clone());
            let rows = at(document, &ends, (block, terminal), &end);
            table.rows.extend(rows);
        }
    }
    table
}

fn at(
    document: &Document,
    ends: &Ends<'_>,
    (block, terminal): (&Device, &Terminal),
    end: &End,
) -> Vec<Vec<Cell>> {
    let wire = |(id, wire, far): &(&WireId, &Wire, &End)| {
        [
            Cell::text(document.wire_label(id)),
            Cell::text(document.end_label(far)),
            Cell::text(what(document, far)),
            Cell::text(wire.gauge_text()),
        ]
    };
    let mut cells: Vec<[Cell; 4]> = ends.at(end).iter().map(wire).collect();
    cells.extend(ends.shields_at(end).iter().map(|label| {
        let label = format!("shield of {label}");
        [
            Cell::text(label),
            Cell::Empty,
            Cell::text("shield"),
            Cell::Empty,
        ]
    }));
    // The case of a block takes no wire.
    let fits = match terminal.form {
        TerminalForm::Case => 0,
        _ => terminal.fits() as usize,
    };
    let free = fits.saturating_sub(cells.len());
    let head = || {
        vec![
            Cell::text(name(block)),
            Cell::text(&terminal.label),
            Cell::Number(fits as f64, 0),
            Cell::Number(free as f64, 0),
        ]
    };
    if cells.is_empty() && fits > 0 {
        cells.push([Cell::text("spare"), Cell::Empty, Cell::Empty, Cell::Empty]);
    }
    let row = |rest: [Cell; 4]| head().into_iter().chain(rest).collect();
    cells.into_iter().map(row).collect()
}

/// What a wire from this end returns: power, signals, a shield.
fn what(document: &Document, end: &End) -> &'static str {
    let End::Terminal(id, terminal) = end else {
        return match end {
            End::Structure(_) => "airframe",
            _ => "",
        };
    };
    let device = document.devices.get(id);
    match device
        .and_then(|it| it.terminal(terminal))
        .map(|it| it.role)
    {
        Some(Role::AudioLow) => "audio low",
        Some(Role::ShieldTie) => "shield",
        Some(Role::SignalReturn | Role::SensorMinus) => "signals",
        Some(Role::Return) => "power",
        Some(Role::InputGround | Role::KeyLine) => "key line",
        _ => "",
    }
}

/// Wires to structure, and devices whose case is their return.
fn local(document: &Document) -> Table {
    let columns = &[("what", "What", ""), ("place", "Metal", "")];
    let mut table = Table::new("local_grounds", "Local grounds", columns);
    for (id, wire) in super::harness::in_order(document) {
        for (end, far) in [(&wire.from, &wire.to), (&wire.to, &wire.from)] {
            if let End::Structure(place) = end {
                table.rows.push(vec![
                    Cell::text(format!(
                        "{} from {}",
                        document.wire_label(id),
                        document.end_label(far)
                    )),
                    Cell::text(document.record_label("place", place.as_str())),
                ]);
            }
        }
    }
    for device in document.devices.values() {
        for element in &device.elements {
            if let (ElementKind::StructureTie(tie), Some(place)) = (&element.is, &device.place) {
                let terminal = device.terminal(&tie.terminal);
                table.rows.push(vec![
                    Cell::text(terminal.map_or(device.tag.clone(), |it| device.terminal_label(it))),
                    Cell::text(document.record_label("place", place.as_str())),
                ]);
            }
        }
    }
    table
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::document;

    #[test]
    fn tabs_are_listed_with_their_wires_and_free_places() {
        let document = document(
            "ground GB1 STUD T1 T2
             stud GB1.STUD
             load LT1 1
             wire L1 LT1.- GB1.T1 18 1m
             wire G1 GB1.STUD @FRAME
             place FRAME metal",
        );
        let rows: Vec<Vec<String>> = (table(&document).rows.iter())
            .map(|row| row[1..].iter().map(Cell::show).collect())
            .collect();
        assert_eq!(
            rows,
            [
                ["STUD", "4", "3", "G1", "airframe, FRAME", "airframe", "22"],
                ["T1", "1", "0", "L1", "LT1 -", "power", "18"],
                ["T2", "1", "1", "spare", "", "", ""],
            ]
        );
    }
}
