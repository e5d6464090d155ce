//! Placards and panel legends: the text next to each breaker and switch, as a table and to cut out.

use crate::order::InOrder;
use std::fmt::Write as _;

use super::{
    Cell, Paper, PaperInput, Part, Table,
    cards::legend,
    schedule::{circuit_name, protectors},
};
use crate::{
    document::{Document, ElementKind, natural_cmp, rating},
    markup::escape,
    netlist::Netlist,
};

const COLUMNS: &[(&str, &str, &str)] = &[
    ("group", "Where", ""),
    ("for", "Part", ""),
    ("legend", "Legend", ""),
    ("more", "Second line", ""),
];

/// The paper.
pub fn paper(asked: &PaperInput<'_>) -> Paper {
    let document = asked.document;
    let mut paper = Paper::new("placards", "Placards and panel legend", document);
    paper.text(
        "Replace a fuse or breaker only with one of the rating on its placard: with a larger one the wire can burn \
         before it opens. Each legend is the function of the wire downstream. Mark a breaker or fuse that must be \
         reset or replaced in flight, and keep it within reach (14 CFR 23.1357).",
    );
    let table = table(document);
    let svg = to_cut_out(&table);
    paper.table(table);
    paper.heading("Legends to cut out");
    paper.parts.push(Part::Drawing {
        svg,
        told: "legends to cut out".into(),
    });
    paper
}

/// A row for each breaker, fuse and switch.
pub fn table(document: &Document) -> Table {
    let mut table = Table::new("placards", "Placards", COLUMNS).grouped();
    let netlist = Netlist::new(document);
    for it in protectors(document, &netlist) {
        table.rows.push(vec![
            Cell::text(&it.bus),
            Cell::text(&it.label),
            Cell::text(circuit_name(document, &it).to_uppercase()),
            Cell::text(rating(it.protector.rating_a)),
        ]);
    }
    let mut switches: Vec<(String, [String; 3])> = Vec::new();
    for (id, device) in &document.devices {
        for element in &device.elements {
            let ElementKind::Switch(switch) = &element.is else {
                continue;
            };
            let positions: Vec<&str> = switch.positions.iter().map(|it| &*it.label).collect();
            let label = device.element_label(element);
            switches.push((
                label.clone(),
                [
                    label,
                    legend(document, id, device, element),
                    positions.join(" – "),
                ],
            ));
        }
    }
    switches.order_by(|a, b| natural_cmp(&a.0, &b.0));
    for (_, cells) in switches {
        let cells = cells.into_iter().map(Cell::text);
        table
            .rows
            .push([Cell::text("Switches")].into_iter().chain(cells).collect());
    }
    table
}

/// Legends as boxes to cut out: the legend, and a smaller second line.
fn to_cut_out(table: &Table) -> String {
    const WIDE: f64 = 180.0;
    const HIGH: f64 = 9.0;
    let (mut out, mut x, mut y) = (String::new(), 0.0, 0.0);
    for row in &table.rows {
        let (legend, more) = (row[2].show(), row[3].show());
        let letters = legend.chars().count().max(more.chars().count()) as f64;
        let width = (letters * 2.5 + 4.0).clamp(14.0, WIDE);
        if x + width > WIDE {
            (x, y) = (0.0, y + HIGH);
        }
        // Writing to a text cannot fail.
        let _ = write!(
            out,
            "<rect x=\"{x:.1}\" y=\"{y:.1}\" width=\"{width:.1}\" height=\"{HIGH}\" fill=\"none\" \
             stroke=\"#888\" stroke-width=\"0.15\"/><text x=\"{0:.1}\" y=\"{1:.1}\" font-size=\"3.4\" \
             font-weight=\"600\">{2}</text><text x=\"{0:.1}\" y=\"{3:.1}\" font-size=\"2.8\">{4}</text>",
            x + width / 2.0,
            y + 4.0,
            escape(&legend),
            y + 7.6,
            escape(&more),
        );
        x += width;
    }
    let height = y + HIGH;
    format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{WIDE}mm\" height=\"{height}mm\" \
         viewBox=\"0 0 {WIDE} {height}\" font-family=\"sans-serif\" text-anchor=\"middle\" \
         fill=\"#000\">{out}</svg>"
    )
}
