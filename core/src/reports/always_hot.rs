//! Always-hot wires: those that are live with every switch at rest, and how much of each is upstream of the first
//! breaker or fuse.

use super::{Cell, Column, Table, edge_label};
use crate::order::InOrder;
use crate::{
    document::{Document, State, natural_cmp},
    netlist::{
        EdgeKind, Through,
        trace::{Feed, Feeds, Returns, SUPPLY},
    },
    solve::{Figures, LIVE_ABOVE_V, operate},
};

/// The table, by wire number. The unprotected length is that of all wire from the source to the wire's far end,
/// where no protector is between them.
pub fn table(document: &Document) -> Table {
    let point = operate(
        document,
        &"at_rest".into(),
        &State::default(),
        Figures::Continuous,
    );
    let netlist = point.netlist();
    let returns = Returns::new(netlist);
    // What is open at rest brings nothing, and an alternator gives nothing while the engine stops.
    let feeds = Feeds::new(netlist, &returns, SUPPLY.and(Through::AS_SET));
    let any = Feeds::new(netlist, &returns, SUPPLY);
    let mut rows: Vec<(String, Vec<Cell>)> = Vec::new();
    for (id, at) in netlist.wires() {
        let volts = at.ends.map(|node| match returns.has(node) {
            true => 0.0,
            false => point.node_volts(node).unwrap_or(0.0).abs(),
        });
        let Some(wire) = document
            .wires
            .get(id)
            .filter(|_| volts.iter().any(|it| *it > LIVE_ABOVE_V))
        else {
            continue;
        };
        let mut of_edge = feeds.of_edge(netlist, at.edge);
        of_edge.retain(|it| matches!(netlist.graph[it.source].kind, EdgeKind::Battery { .. }));
        // Through a contact that its coil holds closed at rest.
        if of_edge.is_empty() {
            of_edge = any.of_edge(netlist, at.edge);
        }
        // The worst feed has no protector; of several, take the longest.
        let bare = of_edge.iter().filter(|it| it.protectors.is_empty());
        let length = |feed: &Feed| netlist.length_m(feed.path.iter().copied().chain([at.edge]));
        let bare = bare.map(length).max_by(|a, b| a.0.total_cmp(&b.0));
        let protectors = of_edge.iter().filter_map(|feed| feed.protectors.last());
        let mut names: Vec<String> = protectors
            .map(|edge| edge_label(document, netlist.of(*edge)))
            .collect();
        names.order();
        names.dedup();
        let unprotected = match bare {
            None => Cell::text(""),
            Some((_, unknown)) if unknown > 0 => Cell::text("a length is not set"),
            Some((length_m, _)) => Cell::length(document, Some(length_m), 2),
        };
        let number = document.wire_label(id);
        let cells = vec![
            Cell::text(number.clone()),
            Cell::text(document.end_label(&wire.from)),
            Cell::text(document.end_label(&wire.to)),
            Cell::text(wire.gauge_text()),
            Cell::number(Some(volts[0].max(volts[1])), 1),
            Cell::text(match bare {
                Some(_) => "none".to_owned(),
                None if of_edge.is_empty() => "fed through a coil or load".to_owned(),
                None => names.join(", "),
            }),
            unprotected,
        ];
        rows.push((number, cells));
    }
    rows.order_by(|a, b| natural_cmp(&a.0, &b.0));
    let column = |key, title, unit| Column { key, title, unit };
    Table {
        name: "always-hot",
        title: "Always hot".into(),
        grouped: false,
        columns: vec![
            column("wire", "Wire", ""),
            column("from", "From", ""),
            column("to", "To", ""),
            column("gauge_awg", "Gauge", "AWG"),
            column("volts", "Voltage", "V"),
            column("protector", "Breaker or fuse upstream", ""),
            column("unprotected_m", "Unprotected length", "m"),
        ],
        rows: rows.into_iter().map(|it| it.1).collect(),
    }
    .lengths_as_in(document)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::document;

    /// The lead of an alternator is protected at the battery end; the alternator itself gives nothing at rest.
    #[test]
    fn an_alternator_at_rest_is_no_source() {
        let document = document(
            "battery BT1
             alternator G1 40
             limiter FL1 50
             wire P1 BT1.+ FL1.1 6 0.1m
             wire P2 FL1.2 G1.B 6 1m
             wire N BT1.- G1.CASE 6 1m",
        );
        let rows = table(&document).rows;
        assert_eq!(rows[1][5].show(), "FL1");
    }

    #[test]
    fn lists_what_is_live_with_its_unprotected_length() {
        let document = document(
            "place FRAME metal
             battery BT1
             contactor K1 BAT BUS C1 C2
             fuse F1 5
             load CK 0.1
             load LA 2
             wire P1 BT1.+ K1.BAT 2 0.3m
             wire P2 K1.BUS LA.+ 18 1m
             wire P3 K1.BAT F1.1 18 0.2m
             wire P4 F1.2 CK.+ 22 2m
             wire N1 CK.- @FRAME
             wire N2 LA.- @FRAME
             wire N3 BT1.- @FRAME",
        );
        let table = table(&document);
        let lines: Vec<Vec<String>> = (table.rows.iter())
            .map(|row| row.iter().map(Cell::show).collect())
            .collect();
        let told: Vec<[&str; 3]> = (lines.iter())
            .map(|line| [&*line[0], &*line[5], &*line[6]])
            .collect();
        assert_eq!(
            told,
            [
                ["P1", "none", "0.30"],
                ["P3", "none", "0.50"],
                ["P4", "F1", ""]
            ]
        );
    }
}
