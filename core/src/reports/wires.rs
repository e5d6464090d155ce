//! The wire list: every wire, where it runs, what it is made of, how far it is built, and the most it
//! carries.

use super::{Cell, Column, Table};
use crate::order::{self, Map};
use crate::{
    document::{Document, Wire, natural_cmp},
    ids::WireId,
    solve::operate_all,
};

/// What a column of the list says of a wire.
type Say = fn(&List, &WireId, &Wire) -> Cell;

/// The columns, in the order of the paper.
const COLUMNS: &[(&str, &str, &str, Say)] = &[
    ("number", "Number", "", |_, _, wire| {
        Cell::text(&wire.number)
    }),
    ("function", "Function", "", |_, _, wire| {
        Cell::text(&wire.function)
    }),
    ("from", "From", "", |list, _, wire| {
        Cell::text(list.document.end_label(&wire.from))
    }),
    ("to", "To", "", |list, _, wire| {
        Cell::text(list.document.end_label(&wire.to))
    }),
    ("gauge_awg", "Gauge", "AWG", |_, _, wire| {
        Cell::text(wire.gauge_awg.to_string())
    }),
    ("insulation_c", "Insulation", "°C", |_, _, wire| {
        Cell::number(wire.insulation_c, 0)
    }),
    ("colour", "Colour", "", |_, _, wire| {
        Cell::text(&wire.colour)
    }),
    ("length_m", "Length", "m", |list, _, wire| {
        Cell::number(list.document.wire_length_m(wire), 2)
    }),
    ("cable", "Cable", "", |list, id, _| {
        Cell::text(list.cables.get(id).cloned().unwrap_or_default())
    }),
    ("sheet", "Sheet", "", |list, _, wire| {
        Cell::text(sheets(list.document, wire))
    }),
    ("status", "Status", "", |_, _, wire| {
        Cell::text(wire.status.words())
    }),
    ("most_a", "Most current", "A", |list, id, _| {
        Cell::number(list.most_a.get(id).copied(), 2)
    }),
];

/// What the columns need, looked up once.
struct List<'d> {
    document: &'d Document,
    cables: Map<&'d WireId, String>,
    most_a: Map<&'d WireId, f64>,
}

/// The wire list, by wire number.
pub fn table(document: &Document) -> Table {
    let cables = document.cables.values();
    let cables = cables.flat_map(|cable| cable.wires.iter().map(|id| (id, cable.label.clone())));
    let list = List {
        document,
        cables: cables.collect(),
        most_a: most_a(document),
    };
    let mut wires: Vec<_> = document.wires.iter().collect();
    order::sort_by(&mut wires, |(a_id, a), (b_id, b)| {
        natural_cmp(&a.number, &b.number).then_with(|| a_id.cmp(b_id))
    });
    let row = |(id, wire): (&WireId, &Wire)| {
        let cells = COLUMNS.iter().map(|(.., say)| say(&list, id, wire));
        cells.collect()
    };
    Table {
        name: "wires",
        title: format!("Wire list, {}", document.project.title),
        grouped: false,
        columns: (COLUMNS.iter())
            .map(|&(key, title, unit, _)| Column { key, title, unit })
            .collect(),
        rows: wires.into_iter().map(row).collect(),
    }
}

/// The most each wire carries in any state, A, without regard to direction.
fn most_a(document: &Document) -> Map<&WireId, f64> {
    let points = operate_all(document);
    let most = |id: &WireId| {
        let amps = points.iter().filter_map(|point| point.wire_amps(id));
        amps.map(f64::abs).reduce(f64::max)
    };
    let wires = document.wires.keys();
    wires.filter_map(|id| Some((id, most(id)?))).collect()
}

/// Numbers of the sheets on which an end of the wire is shown.
fn sheets(document: &Document, wire: &Wire) -> String {
    let mut numbers: Vec<u32> = (document.sheets.values())
        .filter(|sheet| sheet.shows(&wire.from) || sheet.shows(&wire.to))
        .map(|sheet| sheet.number)
        .collect();
    order::sort(&mut numbers);
    let numbers: Vec<String> = numbers.iter().map(u32::to_string).collect();
    numbers.join(" ")
}

#[cfg(test)]
mod tests {
    use crate::testing::whole;

    #[test]
    fn every_wire_has_a_line_in_the_order_of_its_number() {
        let document = whole();
        let csv = super::table(&document).to_csv();
        let lines: Vec<&str> = csv.lines().collect();
        assert_eq!(lines.len(), document.wires.len() + 1);
        assert_eq!(
            lines[0],
            "number,function,from,to,gauge_awg,insulation_c,colour,length_m,cable,sheet,status,most_a"
        );
        let line = |number: &str| lines.iter().find(|line| line.starts_with(number)).unwrap();
        assert!(
            line("P1A2").starts_with("P1A2,battery feed,BT1 +,K1 BAT,2,150,red,0.40,,1,planned,")
        );
        assert!(line("A10W,").contains("COM1 J105-3,J310-1,22,,,2.60,A10,,planned,"));
        // A wire measured by its route.
        assert!(line("P3A8").contains(",8,,,1.50,,,routed,"));
        let last = lines.iter().position(|l| l.starts_with("P6A18")).unwrap();
        assert!(lines[last + 1].starts_with("P6B18"));
    }
}
