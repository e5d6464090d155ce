//! The wire list: every wire with its ends, gauge, color, length, build status and maximum current.

use super::{
    Cell, Column, Paper, PaperInput, Table,
    harness::{bundles, device, harness, in_order},
};
use crate::order::InOrder;
use crate::order::Map;
use crate::{
    document::{Document, Wire, natural_cmp},
    ids::WireId,
    solve::operate_all,
};

/// The cell of a column for a wire.
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
        Cell::text(list.asked.document.end_label(&wire.from))
    }),
    ("to", "To", "", |list, _, wire| {
        Cell::text(list.asked.document.end_label(&wire.to))
    }),
    ("gauge_awg", "Gauge", "AWG", |_, _, wire| {
        Cell::text(wire.gauge_text())
    }),
    ("insulation_c", "Insulation", "°C", |_, _, wire| {
        Cell::number(wire.insulation_c, 0)
    }),
    ("colour", "Color", "", |_, _, wire| Cell::text(&wire.colour)),
    ("length_m", "Length", "m", |list, _, wire| {
        let document = list.asked.document;
        Cell::length(document, document.wire_length_m(wire), 2)
    }),
    ("origin", "Origin", "", |list, _, wire| {
        Cell::text(list.asked.document.origins_of(wire, true))
    }),
    ("cable", "Cable", "", |list, id, _| {
        Cell::text(list.cables.get(id).cloned().unwrap_or_default())
    }),
    ("bundle", "Bundle", "", |list, _, wire| {
        Cell::text(bundles(list.asked.document, wire).join(", "))
    }),
    ("sheet", "Sheet and zone", "", |list, _, wire| {
        Cell::text(sheets(&list.asked, wire))
    }),
    ("status", "Status", "", |_, _, wire| {
        Cell::text(wire.status.words())
    }),
    ("most_a", "Maximum current", "A", |list, id, _| {
        Cell::number(list.most_a.get(id).copied(), 2)
    }),
];

/// The data that the columns need, looked up once.
struct List<'d> {
    asked: PaperInput<'d>,
    cables: Map<&'d WireId, String>,
    most_a: Map<&'d WireId, f64>,
}

/// How to group the list.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Group {
    /// By harness.
    Harness,
    /// By device: a wire is listed under both of its devices.
    Device,
    /// By sheet: a wire is listed under each sheet that shows it.
    Sheet,
    /// By build status.
    Status,
}

impl Group {
    /// Every grouping, with its name.
    pub const ALL: [(Self, &'static str); 4] = [
        (Self::Harness, "harness"),
        (Self::Device, "device"),
        (Self::Sheet, "sheet"),
        (Self::Status, "status"),
    ];

    fn of(self, asked: &PaperInput<'_>, wire: &Wire) -> Vec<String> {
        let document = asked.document;
        match self {
            Self::Harness => vec![harness(document, wire)],
            Self::Status => vec![wire.status.words().into()],
            Self::Device => {
                let ends = [&wire.from, &wire.to];
                let devices = ends.into_iter().filter_map(|end| device(document, end));
                let mut names: Vec<String> = devices
                    .map(|device| format!("{}, {}", device.tag, device.title))
                    .collect();
                names.dedup();
                names
            }
            Self::Sheet => {
                let sheets = document.sheets.values();
                let shown = sheets.filter(|it| it.shows(&wire.from) || it.shows(&wire.to));
                let shown = shown.map(|sheet| format!("sheet {}, {}", sheet.number, sheet.title));
                let shown: Vec<String> = shown.collect();
                match shown.is_empty() {
                    true => vec!["on no sheet".into()],
                    false => shown,
                }
            }
        }
    }
}

/// The paper, by wire number.
pub fn paper(asked: &PaperInput<'_>) -> Paper {
    paper_by(asked, None)
}

/// The paper, by wire number within the groups, if any.
pub fn paper_by(asked: &PaperInput<'_>, group: Option<Group>) -> Paper {
    let mut paper = Paper::new("wires", "Wire list", asked.document);
    paper.table_with_origins(table(asked, group));
    paper.text("Maximum current: the highest in any phase of the project, as solved.");
    paper
}

/// The wire list, by wire number within the groups, if any.
pub fn table(asked: &PaperInput<'_>, group: Option<Group>) -> Table {
    let document = asked.document;
    let cables = document.cables.values();
    let cables = cables.flat_map(|cable| cable.wires.iter().map(|id| (id, cable.label.clone())));
    let list = List {
        asked: *asked,
        cables: cables.collect(),
        most_a: most_a(document),
    };
    let row = |id: &WireId, wire: &Wire| -> Vec<Cell> {
        COLUMNS
            .iter()
            .map(|(.., say)| say(&list, id, wire))
            .collect()
    };
    let mut columns: Vec<Column> = (COLUMNS.iter())
        .map(|&(key, title, unit, _)| Column { key, title, unit })
        .collect();
    let mut rows = Vec::new();
    for (id, wire) in in_order(document) {
        match group {
            None => rows.push(row(id, wire)),
            Some(group) => {
                for name in group.of(asked, wire) {
                    let mut cells = vec![Cell::text(name)];
                    cells.extend(row(id, wire));
                    rows.push(cells);
                }
            }
        }
    }
    if group.is_some() {
        let column = Column {
            key: "group",
            title: "Group",
            unit: "",
        };
        columns.insert(0, column);
        rows.order_by(|a, b| natural_cmp(&a[0].show(), &b[0].show()));
    }
    Table {
        name: "wires",
        title: format!("Wire list, {}", document.project.title),
        columns,
        grouped: group.is_some(),
        rows,
    }
    .lengths_as_in(document)
    .without_empty("origin")
}

/// Keys and titles of the columns.
pub fn columns() -> impl Iterator<Item = (&'static str, &'static str)> {
    COLUMNS.iter().map(|(key, title, ..)| (*key, *title))
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

/// Sheets that show an end of the wire, with the zone of the first end there: "4 C2".
fn sheets(asked: &PaperInput<'_>, wire: &Wire) -> String {
    let document = asked.document;
    let mut places: Vec<(u32, String)> = (document.sheets.values())
        .filter_map(|sheet| {
            let mut ends = [&wire.from, &wire.to].into_iter();
            let shown = ends.find(|end| sheet.shows(end))?;
            let zone = (asked.zone)(document, sheet, shown);
            let zone = zone.map_or(String::new(), |zone| format!(" {zone}"));
            Some((sheet.number, zone))
        })
        .collect();
    places.order();
    let places: Vec<String> = places
        .iter()
        .map(|(n, zone)| format!("{n}{zone}"))
        .collect();
    places.join(", ")
}

#[cfg(test)]
mod tests {
    use crate::testing::whole;

    #[test]
    fn every_wire_has_a_line_in_the_order_of_its_number() {
        let document = whole();
        let csv = super::table(&crate::testing::asked(&document), None).to_csv();
        let lines: Vec<&str> = csv.lines().collect();
        assert_eq!(lines.len(), document.wires.len() + 1);
        assert_eq!(
            lines[0],
            "number,function,from,to,gauge_awg,insulation_c,colour,length_m,origin,cable,bundle,sheet,status,most_a"
        );
        let line = |number: &str| lines.iter().find(|line| line.starts_with(number)).unwrap();
        assert!(line("P1A2").starts_with("P1A2,battery feed,BT1 +,K1 BAT,2,150,red,0.40,,,,1 "));
        assert!(line("A10W,").contains("COM1 J105-3,J310-1,22,,,2.60,,A10,,,planned,"));
        // A wire measured by its route.
        let routed = line("P3A8");
        assert!(
            routed.contains(",8,,,1.50,length from its routes,") && routed.contains(",routed,"),
            "{routed}"
        );
        let last = lines.iter().position(|l| l.starts_with("P6A18")).unwrap();
        assert!(lines[last + 1].starts_with("P6B18"));
    }
}
