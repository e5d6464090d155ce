//! The breaker and fuse schedule: the circuit, rating and current of each.

use crate::order::InOrder;
use petgraph::graph::EdgeIndex;

use super::{Cell, Paper, PaperInput, Table, flow, order_list::spare_fuses_of};
use crate::{
    document::{Document, ElementKind, End, Origins, Protector, ProtectorStyle, natural_cmp},
    ids::{DeviceId, ElementId},
    netlist::{EdgeKind, EdgeOf, Netlist, trace::Returns},
    solve::{Figures, OperatingPoint, operate_all},
    standards::protection_chart,
    units::Gauge,
};

const COLUMNS: &[(&str, &str, &str)] = &[
    ("bus", "Bus", ""),
    ("label", "Breaker or fuse", ""),
    ("style", "Kind", ""),
    ("rating_a", "Rating", "A"),
    ("circuit", "Circuit", ""),
    ("from", "Fed from", ""),
    ("feeds", "Feeds", ""),
    ("wire", "Wire", ""),
    ("gauge_awg", "Gauge", "AWG"),
    ("largest_a", "Most for wire", "A"),
    ("fits", "Fits wire", ""),
    ("continuous_a", "Continuous", "A"),
    ("peak_a", "Peak", "A"),
    ("percent", "Of rating", "%"),
    ("place", "Where", ""),
    ("in_reach", "Reach in flight", ""),
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
                if let EdgeOf::Element(id, ..) = netlist.of(edge) {
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
        "Fed from and feeds: the way the current flows in the phases of the project, up to the next bus, source or load; \
         what runs in no phase is listed as wired. Continuous and peak: the highest current in any phase, as solved. Most \
         for wire: the largest breaker or fuse for the thinnest wire at it (FAA AC 43.13-1B CHG 1, Table 11-3); the check \
         list says more, for the length of wire behind it and what else feeds it.",
    );
    let spares = spares(asked.document);
    if !spares.rows.is_empty() {
        paper.heading("Spare fuses");
        paper.text(
            "Where a fuse may have to be replaced in flight, carry one spare of each rating or half as many as fitted, \
             whichever is more, within reach (14 CFR 23.1357(d) and (e)).",
        );
        paper.table(spares);
    }
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
        let largest_a = thinnest.and_then(|gauge| largest_a(it.protector.style, gauge));
        let flow = flow::through(document, &points, &netlist, it.edge);
        let feeds = flow.feeds(&it.feeds);
        let in_reach = document.devices[it.device].in_reach;
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
            Cell::text(flow.from.join(", ")),
            Cell::text(feeds.join(", ")),
            Cell::text(numbers.join(", ")),
            Cell::text(thinnest.map_or(String::new(), |it| it.to_string())),
            Cell::number(largest_a, 1),
            Cell::text(fits(rating_a, largest_a, numbers.is_empty())),
            Cell::number(continuous_a, 2),
            Cell::number(most(&it, Figures::Peak), 2),
            Cell::number(
                continuous_a
                    .zip(rating_a)
                    .map(|(amps, most)| 100.0 * amps / most),
                0,
            ),
            Cell::text(place.map_or("", |place| &place.title)),
            Cell::text(match in_reach {
                Some(true) => "yes",
                Some(false) => "no",
                None => "not set",
            }),
            origin_cell(&it.protector.origins),
        ]);
    }
    table.without_empty("origin")
}

/// The largest breaker, fuse or limiter for a wire, A, by the chart.
fn largest_a(style: ProtectorStyle, gauge: Gauge) -> Option<f64> {
    match style {
        ProtectorStyle::Breaker => protection_chart::breaker_a(gauge),
        ProtectorStyle::Fuse => protection_chart::fuse_a(gauge),
        ProtectorStyle::Limiter => protection_chart::protector_a(gauge),
    }
}

/// Whether a rating is within the chart for its wire.
fn fits(rating_a: Option<f64>, largest_a: Option<f64>, is_bare: bool) -> &'static str {
    match (rating_a, largest_a) {
        _ if is_bare => "",
        (Some(rating_a), Some(most_a)) if rating_a <= most_a => "yes",
        (Some(_), Some(_)) => "NO: too large",
        (None, _) => "rating not set",
        (_, None) => "not in the chart",
    }
}

/// Spare fuses by rating.
fn spares(document: &Document) -> Table {
    let columns = &[
        ("fuse", "Fuse", ""),
        ("fitted", "Fitted", ""),
        ("spares", "Spares to carry", ""),
    ];
    let mut table = Table::new("spare_fuses", "Spare fuses", columns);
    let all = spare_fuses_of(document);
    let mut all: Vec<_> = all.iter().collect();
    all.order_by(|a, b| natural_cmp(a.0, b.0));
    for (rating, (fitted, spares)) in all {
        table.rows.push(vec![
            Cell::text(rating),
            Cell::Number(*fitted as f64, 0),
            Cell::Number(*spares as f64, 0),
        ]);
    }
    table
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
        ("feeds", "Toward", ""),
        ("gauge_awg", "Gauge", "AWG"),
        ("largest_a", "Most for wire", "A"),
        ("fits", "Fits wire", ""),
        ("origin", "Origin", ""),
    ];
    let mut table = Table::new("fuses_in_wires", "Fuses in wires", columns);
    for (id, wire) in super::harness::in_order(document) {
        let Some(fuse) = &wire.fuse else { continue };
        let largest_a = wire.gauge_awg.and_then(protection_chart::fuse_a);
        table.rows.push(vec![
            Cell::text(document.wire_label(id)),
            rating_cell(fuse.rating_a, 1),
            Cell::text(document.end_label(wire.end(fuse.at))),
            Cell::text(document.end_label(wire.end(fuse.at.other()))),
            Cell::text(wire.gauge_text()),
            Cell::number(largest_a, 1),
            Cell::text(fits(fuse.rating_a, largest_a, false)),
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
            rows[0][1..14],
            [
                "CB5", "breaker", "7.5", "LT1", "MBUS", "LT1", "L1A", "18", "10.0", "yes", "3.60",
                "3.60", "48"
            ]
        );
        assert_eq!(rows[1][1..7], ["CB13", "breaker", "5", "spare", "", ""]);
        assert_eq!(rows[0][15], "not set");
    }

    /// The limiter in the lead of the alternator carries what the alternator gives: not the starter, which the battery
    /// feeds from the other side, though both are at the same stud.
    const TWO_SOURCES: &str = "
        battery BT1
        alternator G1 40
        limiter FL1 60
        limiter FL2 60
        bus MBUS CB1=5 CB2=20
        switch S3 1-2
        load M1 100
        load LT1 3
        load LT2 1
        wire P1 BT1.+ S3.1 2 1m
        wire P2 S3.2 M1.+ 2 1m
        wire P3 G1.B FL1.1 8 1m
        wire P4 FL1.2 BT1.+ 8 1m
        wire P5 BT1.+ FL2.1 8 1m
        wire P6 FL2.2 MBUS.STUD 8 1m
        wire L1 MBUS.CB1 LT1.+ 20 1m
        wire L2 MBUS.CB2 LT2.+ 20 1m
        wire N1 M1.- BT1.- 2 1m
        wire N2 LT1.- BT1.- 20 1m
        wire N3 LT2.- BT1.- 20 1m
        wire N4 G1.CASE BT1.- 8 1m
        state CRANK on=S3
        state CRUISE running";

    #[test]
    fn what_feeds_what_is_by_the_current_and_not_by_the_drawing() {
        let document = document(TWO_SOURCES);
        let rows: Vec<Vec<String>> = (table(&document).rows.iter())
            .map(|row| row.iter().map(Cell::show).collect())
            .collect();
        let of = |label: &str| {
            let row = rows.iter().find(|row| row[1] == label).expect("it");
            (row[5].clone(), row[6].clone())
        };
        assert_eq!(of("FL1"), ("G1".into(), "BT1 (charging), MBUS".into()));
        assert_eq!(of("FL2"), ("BT1, G1".into(), "MBUS".into()));
        assert_eq!(of("CB1"), ("MBUS".into(), "LT1".into()));
    }

    #[test]
    fn a_breaker_is_held_against_its_wire_and_reach_is_said() {
        let mut document = document(TWO_SOURCES);
        document.devices.get_mut("MBUS").expect("it").in_reach = Some(true);
        let rows = table(&document).rows;
        let of = |label: &str| {
            let row = rows.iter().find(|row| row[1].show() == label).expect("it");
            [9, 10, 15].map(|at| row[at].show())
        };
        assert_eq!(of("CB1"), ["7.5", "yes", "yes"]);
        assert_eq!(of("CB2"), ["7.5", "NO: too large", "yes"]);
        assert_eq!(of("FL1"), ["50.0", "NO: too large", "not set"]);
    }

    #[test]
    fn spares_are_listed_by_rating() {
        let document = document("bus FB F1=1f F2=1f F3=1f F4=10f CB1=5");
        let rows = spares(&document).rows;
        let rows: Vec<Vec<String>> = (rows.iter())
            .map(|row| row.iter().map(Cell::show).collect())
            .collect();
        assert_eq!(rows, [["1 A", "3", "2"], ["10 A", "1", "1"]]);
    }
}
