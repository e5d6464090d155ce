//! Labels: the text, number and position of the marks on each wire, as a table, and for sleeves as strips to print on
//! heat-shrink sleeve or tape.

use crate::order::InOrder;
use std::fmt::Write as _;

use super::{Cell, Paper, PaperInput, Part, Table, harness::in_order};
use crate::{
    document::{Cable, CableKind, Document, Marking, Wire, natural_cmp},
    ids::WireId,
    markup::escape,
    order::Sorted,
    units::M_PER_FT,
};

/// Height of sleeve if the project sets none, mm; 12, 9 and 6 are sold.
const HEIGHT_MM: f64 = 9.0;
/// Width of the printed sheet, mm: fits A4 and Letter inside their margins.
const SHEET_MM: f64 = 180.0;
/// Height of the printed sheet, mm.
const SHEET_HIGH_MM: f64 = 200.0;
/// Height under the labels for the line that a ruler is held against, mm.
const RULE_HIGH_MM: f64 = 10.0;
/// Length of that line, mm.
pub const RULE_MM: f64 = 100.0;

/// A wire shorter than this needs no mark, m (3 in, AC 43.13-1B par 11-208).
const NO_MARK_M: f64 = 3.0 * 0.0254;
/// A wire shorter than this has one mark near its middle, m (7 in, same).
const ONE_MARK_M: f64 = 7.0 * 0.0254;
/// The longest distance between sleeves, m: 6 ft, AC 43.13-1B par 11-208b. The unit is from memory, because it is
/// cut off in the copy read.
const SLEEVES_APART_M: f64 = 6.0 * M_PER_FT;
/// The longest distance between marks on the insulation itself, m: 15 in, AC 43.13-1B par 11-208 and figure 11-23.
const MARKS_APART_M: f64 = 15.0 * 0.0254;

const COLUMNS: &[(&str, &str, &str)] = &[
    ("number", "Wire", ""),
    ("end", "Where", ""),
    ("label", "Text", ""),
    ("toward", "Goes to", ""),
    ("between", "In between", ""),
    ("status", "Status", ""),
];

/// The paper.
pub fn paper(asked: &PaperInput<'_>) -> Paper {
    let document = asked.document;
    let mut paper = Paper::new("labels", "Labels", document);
    let with = marking(document);
    paper.text(match with {
        Marking::Sleeves => {
            "Marked with sleeves: one within 3 in (75 mm) of each end, and between them at most 6 ft apart (FAA AC \
             43.13-1B CHG 1, par 11-208b; the unit is from memory: it is cut off in the copy read)."
        }
        Marking::Insulation => {
            "Marked on the insulation: within 3 in (75 mm) of each end, and between them at most 15 in (380 mm) apart (FAA \
             AC 43.13-1B CHG 1, par 11-208 and figure 11-23). Do not hot-stamp insulation of 10 mil (0.25 mm) or less: \
             use sleeves there (par 11-209)."
        }
    });
    paper.text(
        "A wire under 3 in needs no mark, one under 7 in (180 mm) has one near its middle (par 11-208). The cores of a \
         jacketed cable are marked at their ends only; between the ends the jacket carries the cable\u{2019}s own label. \
         A wire without a length has no marks in between counted: enter its length. Use clear sleeve over a soldered \
         joint, so that the mark stays readable.",
    );
    let table = table(document);
    let marks: usize = table.rows.iter().map(|row| labels_of(row)).sum();
    paper.text(match with {
        Marking::Sleeves => {
            format!("{marks} labels in all; every one of them is on the sheets to print.")
        }
        Marking::Insulation => {
            format!("{marks} marks in all. Nothing to print: the marks go on the wire itself.")
        }
    });
    paper.table(table);
    if with == Marking::Insulation {
        return paper;
    }
    let height = document.project.label_mm.unwrap_or(HEIGHT_MM);
    paper.parts.push(Part::Page);
    paper.heading(format!("Labels to print, {height} mm high"));
    paper.text(format!(
        "Print at 100 %, not fitted to the page. Hold a ruler against the line under the labels: it must be {RULE_MM:.0} \
         mm long."
    ));
    for (page, svg) in sheets(document, height).into_iter().enumerate() {
        if page > 0 {
            paper.parts.push(Part::Page);
        }
        paper.parts.push(Part::Drawing {
            svg,
            told: format!("labels to cut out, sheet {}", page + 1),
        });
    }
    paper
}

/// How wires are marked; on sleeves if the project does not say.
fn marking(document: &Document) -> Marking {
    document.project.marking.unwrap_or(Marking::Sleeves)
}

/// True if a wire has a mark: all but those under 3 in.
pub fn is_marked(document: &Document, wire: &Wire) -> bool {
    let length_m = document.wire_length_m(wire);
    length_m.is_none_or(|length_m| length_m >= NO_MARK_M)
}

/// A row for each end of a wire, or one for its middle.
pub fn table(document: &Document) -> Table {
    let mut table = Table::new("labels", "Labels", COLUMNS);
    let jacketed: Sorted<&WireId> = (document.cables.values())
        .filter(|it| it.kind != CableKind::Twisted)
        .flat_map(|it| &it.wires)
        .collect();
    let apart_m = match marking(document) {
        Marking::Sleeves => SLEEVES_APART_M,
        Marking::Insulation => MARKS_APART_M,
    };
    let between = |length_m| between(length_m, apart_m);
    for (id, wire) in in_order(document) {
        let length_m = document.wire_length_m(wire);
        let mut put = |place: &str, toward: String, between: Option<f64>| {
            table.rows.push(vec![
                Cell::text(document.wire_label(id)),
                Cell::text(place),
                Cell::text(text(document, wire)),
                Cell::text(toward),
                Cell::number(between, 0),
                Cell::text(wire.status.words()),
            ]);
        };
        let ends = [&wire.from, &wire.to].map(|end| document.end_label(end));
        match length_m {
            Some(length_m) if length_m < NO_MARK_M => put("none needed", ends.join(" – "), None),
            Some(length_m) if length_m <= ONE_MARK_M => put("middle", ends.join(" – "), None),
            length_m => {
                let between = length_m.filter(|_| !jacketed.contains(id)).map(between);
                put("end A", ends[0].clone(), between);
                put("end B", ends[1].clone(), None);
            }
        }
    }
    let mut cables: Vec<&Cable> = document.cables.values().collect();
    cables.order_by(|a, b| natural_cmp(&a.label, &b.label));
    for cable in cables
        .into_iter()
        .filter(|it| it.kind != CableKind::Twisted)
    {
        let cores = cable.wires.iter();
        let cores: Vec<&Wire> = cores.filter_map(|id| document.wires.get(id)).collect();
        let lengths = cores.iter().filter_map(|it| document.wire_length_m(it));
        let further = lengths.reduce(f64::max).map_or(0.0, between);
        if let (Some(first), true) = (cores.first(), further > 0.0) {
            let ends = [&first.from, &first.to].map(|end| document.end_label(end));
            table.rows.push(vec![
                Cell::text(&cable.label),
                Cell::text(JACKET),
                Cell::text(&cable.label),
                Cell::text(ends.join(" – ")),
                Cell::Number(further, 0),
                Cell::Empty,
            ]);
        }
    }
    table
}

/// Where the labels of a cable are: all between its ends.
const JACKET: &str = "on the jacket";

/// How many marks are needed between those at the ends.
fn between(length_m: f64, apart_m: f64) -> f64 {
    // 3.6576 m is exactly 12 ft: a rounding error must not add a label.
    ((length_m / apart_m - 1e-9).ceil() - 1.0).max(0.0)
}

/// How many labels a row needs.
fn labels_of(row: &[Cell]) -> usize {
    let further = match row[4] {
        Cell::Number(further, _) => further as usize,
        _ => 0,
    };
    match row[1].show().as_str() {
        "none needed" => 0,
        JACKET => further,
        _ => 1 + further,
    }
}

/// How many labels the project needs on sleeves.
pub fn count(document: &Document) -> usize {
    if marking(document) == Marking::Insulation {
        return 0;
    }
    table(document).rows.iter().map(|row| labels_of(row)).sum()
}

/// The text of a label: the wire number, or both ends of the wire if it has none.
fn text(document: &Document, wire: &Wire) -> String {
    match wire.number.as_str() {
        "" => format!(
            "{} – {}",
            document.end_label(&wire.from),
            document.end_label(&wire.to)
        ),
        number => number.into(),
    }
}

/// The labels as strips on sheets: the number large, below it where the wire goes.
fn sheets(document: &Document, height: f64) -> Vec<String> {
    let size = height * 0.42;
    // Digits and capitals of a plain typeface are about 0.65 of its size wide.
    let wide = |text: &str| text.chars().count() as f64;
    let (mut sheets, mut out, mut x, mut y) = (Vec::new(), String::new(), 0.0, 0.0);
    let table = table(document);
    let each = table.rows.iter();
    for row in each.flat_map(|row| std::iter::repeat_n(row, labels_of(row))) {
        let (number, toward) = (row[2].show(), row[3].show());
        let small = height * 0.26;
        let width = (wide(&number) * size * 0.65).max(wide(&toward) * small * 0.6) + 4.0;
        let width = width.clamp(18.0, SHEET_MM);
        if x + width > SHEET_MM {
            (x, y) = (0.0, y + height);
        }
        if y + height > SHEET_HIGH_MM {
            sheets.push(sheet(&out));
            (out, x, y) = (String::new(), 0.0, 0.0);
        }
        // Writing to a text cannot fail.
        let _ = write!(
            out,
            "<rect x=\"{x:.1}\" y=\"{y:.1}\" width=\"{width:.1}\" height=\"{height}\" fill=\"none\" \
             stroke=\"#888\" stroke-width=\"0.15\"/><text x=\"{0:.1}\" y=\"{1:.1}\" font-size=\"{size:.2}\" \
             font-weight=\"600\">{2}</text><text x=\"{0:.1}\" y=\"{3:.1}\" font-size=\"{small:.2}\" \
             textLength=\"{4:.1}\" lengthAdjust=\"spacingAndGlyphs\">{5}</text>",
            x + 2.0,
            y + height * 0.5,
            escape(&number),
            y + height * 0.85,
            (wide(&toward) * small * 0.5).min(width - 4.0).max(1.0),
            escape(&toward),
        );
        x += width;
    }
    if !out.is_empty() {
        sheets.push(sheet(&out));
    }
    sheets
}

fn sheet(labels: &str) -> String {
    let y = SHEET_HIGH_MM + 3.0;
    let high = SHEET_HIGH_MM + RULE_HIGH_MM;
    format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{SHEET_MM}mm\" height=\"{high}mm\" \
         viewBox=\"0 0 {SHEET_MM} {high}\" font-family=\"sans-serif\" fill=\"#000\">{labels}\
         <path d=\"M0.2 {0}V{1}M0.2 {y}H{2}M{2} {0}V{1}\" fill=\"none\" stroke=\"#000\" stroke-width=\"0.2\"/>\
         <text x=\"2\" y=\"{3}\" font-size=\"3\">{RULE_MM} mm: hold a ruler against this line</text></svg>",
        y - 2.0,
        y + 2.0,
        RULE_MM + 0.2,
        y + 4.0,
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::document;

    /// AC 43.13-1B par 11-208: none under 3 in, one in the middle to 7 in, else ends and every 6 ft.
    #[test]
    fn marks_follow_the_spacing_of_the_circular() {
        let document = document(
            "ground GB1 A B
             wire W1 GB1.A GB1.B 22 0.05m
             wire W2 GB1.A GB1.B 22 0.15m
             wire W3 GB1.A GB1.B 22 0.35m
             wire W4 GB1.A GB1.B 22 4.00m
             wire W5 GB1.A GB1.B 22 4.00m
             cable C1 W5",
        );
        let rows: Vec<[String; 3]> = (table(&document).rows.iter())
            .map(|row| [row[0].show(), row[1].show(), row[4].show()])
            .collect();
        let rows: Vec<[&str; 3]> = rows
            .iter()
            .map(|row| [&*row[0], &*row[1], &*row[2]])
            .collect();
        assert_eq!(
            rows,
            [
                ["W1", "none needed", ""],
                ["W2", "middle", ""],
                ["W3", "end A", "0"],
                ["W3", "end B", ""],
                ["W4", "end A", "2"],
                ["W4", "end B", ""],
                ["W5", "end A", ""],
                ["W5", "end B", ""],
                ["C1", "on the jacket", "2"],
            ]
        );
        // One strip for each: 1 + 2 + 4 + 2 + 2.
        let strips: usize = (sheets(&document, 9.0).iter())
            .map(|sheet| sheet.matches("<rect").count())
            .sum();
        assert_eq!((strips, count(&document)), (11, 11));
    }

    /// Figure 11-23: marks on the insulation are at most 15 in apart; sleeves are not printed then.
    #[test]
    fn marks_on_the_insulation_are_closer_and_nothing_is_printed() {
        let mut document = document(
            "ground GB1 A B
             wire W1 GB1.A GB1.B 22 0.05m
             wire W2 GB1.A GB1.B 22 0.15m
             wire W3 GB1.A GB1.B 22 0.381m
             wire W4 GB1.A GB1.B 22 0.39m
             wire W5 GB1.A GB1.B 22 4.00m",
        );
        document.project.marking = Some(Marking::Insulation);
        let rows = table(&document).rows;
        let between: Vec<(String, String)> = (rows.iter())
            .map(|row| (row[0].show(), row[4].show()))
            .filter(|it| !it.1.is_empty())
            .collect();
        let told = [("W3", "0"), ("W4", "1"), ("W5", "10")];
        assert_eq!(between, told.map(|(a, b)| (a.to_owned(), b.to_owned())));
        assert_eq!(count(&document), 0);
        let paper = paper(&crate::testing::asked(&document));
        let is_drawing = |part: &Part| matches!(part, Part::Drawing { .. });
        assert!(!paper.parts.iter().any(is_drawing));
        assert!(paper.to_text().contains("figure 11-23"));
        assert!(
            !super::super::order_list::table(&document)
                .to_text()
                .contains("marking sleeve")
        );
    }

    /// As many strips as the table asks for, on every project, and none over the edge of its sheet.
    #[test]
    fn every_label_asked_for_is_on_a_sheet() {
        let document = crate::testing::aircraft(600);
        let wanted = count(&document);
        let sheets = sheets(&document, 9.0);
        let mut found = 0;
        for sheet in &sheets {
            for rect in sheet.split("<rect ").skip(1) {
                let number = |name: &str| -> f64 {
                    let (_, rest) = rect.split_once(&format!("{name}=\"")).expect("it");
                    rest.split('"')
                        .next()
                        .and_then(|it| it.parse().ok())
                        .expect("a number")
                };
                assert!(number("x") + number("width") <= SHEET_MM + 0.05, "{rect}");
                assert!(
                    number("y") + number("height") <= SHEET_HIGH_MM + 0.05,
                    "{rect}"
                );
                found += 1;
            }
        }
        assert!(wanted > 1000 && sheets.len() > 3, "{wanted}");
        assert_eq!(found, wanted);
    }
}
