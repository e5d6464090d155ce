//! The breaker and fuse schedule: the circuit, rating and current of each.

use crate::order::InOrder;
use petgraph::graph::EdgeIndex;

use super::{Cell, Paper, PaperInput, Table};
use crate::{
    document::{Document, ElementKind, End, Origins, Protector, ProtectorStyle, natural_cmp},
    ids::{DeviceId, ElementId},
    netlist::{EdgeKind, EdgeOf, Netlist, trace::Returns},
    solve::{Figures, OperatingPoint, operate_all},
};

const COLUMNS: &[(&str, &str, &str)] = &[
    ("bus", "Bus", ""),
    ("label", "Breaker or fuse", ""),
    ("style", "Kind", ""),
    ("rating_a", "Rating", "A"),
    ("circuit", "Circuit", ""),
    ("feeds", "Feeds", ""),
    ("wire", "Wire", ""),
    ("gauge_awg", "Gauge", "AWG"),
    ("continuous_a", "Continuous", "A"),
    ("peak_a", "Peak", "A"),
    ("percent", "Of rating", "%"),
    ("place", "Where", ""),
    ("origin", "Origin", ""),
];

/// A protector of a document, and what it feeds.
pub struct Protected<'d> {
    /// Its device.
    pub device: &'d DeviceId,
    /// Its element.
    pub element: &'d ElementId,
    /// Its record.
    pub protector: &'d Protector,
    /// Its edge.
    pub edge: EdgeIndex,
    /// Its label: "CB5".
    pub label: String,
    /// Its bus or block: tag and title of the device.
    pub bus: String,
    /// Tags of the loads downstream.
    pub feeds: Vec<String>,
}

/// Every breaker, fuse and limiter that is a part of a device, by bus and label.
pub fn protectors<'d>(document: &'d Document, netlist: &Netlist) -> Vec<Protected<'d>> {
    let returns = Returns::new(netlist);
    let mut all = Vec::new();
    for (id, device) in &document.devices {
        for element in &device.elements {
            let ElementKind::Protector(protector) = &element.is else {
                continue;
            };
            let Some(edge) = netlist.element_edge(id, &element.id) else {
                continue;
            };
            let label = match element.label.as_str() {
                "" => device.tag.clone(),
                label => label.into(),
            };
            let down = netlist.downstream_nodes(&returns, edge, netlist.ends(edge).1);
            let mut feeds = Vec::new();
            for edge in loads_at(netlist, &down) {
                if let (EdgeKind::Load | EdgeKind::Coil { .. }, EdgeOf::Element(id, ..)) =
                    (&netlist.graph[edge].kind, netlist.of(edge))
                {
                    feeds.extend(document.devices.get(id).map(|it| it.tag.clone()));
                }
            }
            feeds.order_by(|a, b| natural_cmp(a, b));
            feeds.dedup();
            all.push(Protected {
                device: id,
                element: &element.id,
                protector,
                edge,
                label,
                bus: format!("{}, {}", device.tag, device.title),
                feeds,
            });
        }
    }
    all.order_by(|a, b| natural_cmp(&a.bus, &b.bus).then_with(|| natural_cmp(&a.label, &b.label)));
    all
}

/// Loads and coils that begin at one of these nodes.
fn loads_at<'n>(
    netlist: &'n Netlist,
    nodes: &'n [petgraph::graph::NodeIndex],
) -> impl Iterator<Item = EdgeIndex> + 'n {
    let at = nodes.iter().flat_map(|node| netlist.edges_at(*node));
    at.filter(|edge| {
        matches!(
            netlist.graph[*edge].kind,
            EdgeKind::Load | EdgeKind::Coil { .. }
        )
    })
}

/// The legend of a protector: the function of the wire downstream, or else the loads that it feeds.
pub fn circuit_name(document: &Document, it: &Protected<'_>) -> String {
    let end = End::Terminal(it.device.clone(), it.protector.load.clone());
    let mut wires = document
        .wires
        .values()
        .filter(|wire| wire.from == end || wire.to == end);
    let named = wires.find(|wire| !wire.function.is_empty());
    match (named, it.feeds.is_empty()) {
        (Some(wire), _) => wire.function.clone(),
        (None, true) => "spare".into(),
        (None, false) => it.feeds.join(", "),
    }
}

/// The kind of protector, in a word.
pub fn style(style: ProtectorStyle) -> &'static str {
    match style {
        ProtectorStyle::Breaker => "breaker",
        ProtectorStyle::Fuse => "fuse",
        ProtectorStyle::Limiter => "limiter",
    }
}

/// The paper.
pub fn paper(asked: &PaperInput<'_>) -> Paper {
    let mut paper = Paper::new("schedule", "Breaker and fuse schedule", asked.document);
    paper.table_with_origins(table(asked.document));
    paper.text(
        "Continuous and peak: the highest current in any phase of the project, as solved. The check list shows \
         where a rating is too large for its wire (FAA AC 43.13-1B CHG 1, Table 11-3). Where a fuse may have to be \
         replaced in flight, carry one spare of each rating or half as many as fitted, whichever is more (14 CFR \
         23.1357).",
    );
    let fuses = in_wires(asked.document);
    if !fuses.rows.is_empty() {
        paper.heading("In-line fuses");
        paper.table_with_origins(fuses);
    }
    paper
}

/// A row for each protector of a device.
pub fn table(document: &Document) -> Table {
    let points = operate_all(document);
    let netlist = Netlist::new(document);
    let most = |it: &Protected<'_>, figures: Figures| {
        let of = |point: &OperatingPoint| point.element_amps(it.device, it.element);
        let points = points.iter().filter(|point| point.figures == figures);
        points.filter_map(of).map(f64::abs).reduce(f64::max)
    };
    let mut table = Table::new("schedule", "Breakers and fuses", COLUMNS).grouped();
    for it in protectors(document, &netlist) {
        let end = End::Terminal(it.device.clone(), it.protector.load.clone());
        let wires = document.wires.iter();
        let wires: Vec<_> = wires
            .filter(|(_, wire)| wire.from == end || wire.to == end)
            .collect();
        let numbers: Vec<String> = wires
            .iter()
            .map(|(id, _)| document.wire_label(id))
            .collect();
        let thinnest = wires
            .iter()
            .filter_map(|(_, wire)| wire.gauge_awg)
            .reduce(|a, b| if b.is_thinner_than(a) { b } else { a });
        let continuous_a = most(&it, Figures::Continuous);
        let rating_a = it.protector.rating_a;
        let place = document.devices[it.device].place.as_ref();
        let place = place.and_then(|id| document.places.get(id));
        table.rows.push(vec![
            Cell::text(&it.bus),
            Cell::text(&it.label),
            Cell::text(style(it.protector.style)),
            rating_cell(
                rating_a,
                rating_a.map_or(0, |a| usize::from(a.fract() != 0.0)),
            ),
            Cell::text(circuit_name(document, &it)),
            Cell::text(it.feeds.join(", ")),
            Cell::text(numbers.join(", ")),
            Cell::text(thinnest.map_or(String::new(), |it| it.to_string())),
            Cell::number(continuous_a, 2),
            Cell::number(most(&it, Figures::Peak), 2),
            Cell::number(
                continuous_a
                    .zip(rating_a)
                    .map(|(amps, most)| 100.0 * amps / most),
                0,
            ),
            Cell::text(place.map_or("", |place| &place.title)),
            origin_cell(&it.protector.origins),
        ]);
    }
    table.without_empty("origin")
}

/// A rating in a column of amperes, which says so where it is not set.
pub(super) fn rating_cell(rating_a: Option<f64>, decimals: usize) -> Cell {
    rating_a.map_or_else(|| Cell::text("not set"), |a| Cell::Number(a, decimals))
}

/// The origin of a rating that was not typed.
fn origin_cell(origins: &Origins) -> Cell {
    Cell::text(
        origins
            .word("rating_a")
            .map_or(String::new(), |word| format!("rating {word}")),
    )
}

/// In-line fuses.
fn in_wires(document: &Document) -> Table {
    let columns = &[
        ("wire", "Wire", ""),
        ("rating_a", "Rating", "A"),
        ("at", "At", ""),
        ("origin", "Origin", ""),
    ];
    let mut table = Table::new("fuses_in_wires", "Fuses in wires", columns);
    for (id, wire) in super::harness::in_order(document) {
        let Some(fuse) = &wire.fuse else { continue };
        let end = wire.end(fuse.at);
        table.rows.push(vec![
            Cell::text(document.wire_label(id)),
            rating_cell(fuse.rating_a, 1),
            Cell::text(document.end_label(end)),
            origin_cell(&fuse.origins),
        ]);
    }
    table.without_empty("origin")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::document;

    #[test]
    fn a_breaker_is_listed_with_what_it_feeds_and_carries() {
        let document = document(
            "battery BT1
             bus MBUS CB5=7.5 CB13=5
             load LT1 3.6 law=current
             ground GB1 STUD T1
             wire P1 BT1.+ MBUS.STUD 6 1m
             wire L1A MBUS.CB5 LT1.+ 18 5.6m
             wire L1B LT1.- GB1.T1 18 5.4m
             wire G GB1.STUD BT1.- 2 0.3m
             state CRUISE",
        );
        let rows: Vec<Vec<String>> = (table(&document).rows.iter())
            .map(|row| row.iter().map(Cell::show).collect())
            .collect();
        assert_eq!(rows.len(), 2);
        assert_eq!(
            rows[0][1..11],
            [
                "CB5", "breaker", "7.5", "LT1", "LT1", "L1A", "18", "3.60", "3.60", "48"
            ]
        );
        assert_eq!(rows[1][1..6], ["CB13", "breaker", "5", "spare", ""]);
    }
}
