//! The current of a unit in each phase, and the protectors, wires and contacts that carry it.

use crate::order::InOrder;
use petgraph::graph::EdgeIndex;

use super::view::View;
use crate::{
    document::{ElementKind, End, natural_cmp},
    ids::{DeviceId, StateId, WireId},
    netlist::{EdgeKind, EdgeOf},
    order::Sorted,
    reports::{Cell, Table, edge_label, effects::Side, schedule::rating_cell},
    solve::{Figures, OperatingPoint},
    standards::{drop_limits, wire_table},
};

/// Currents below this count as zero, A.
const NO_AMPS: f64 = 1e-3;

/// Loads and coils of a device, by edge.
fn loads(device: &DeviceId, side: &Side<'_>) -> Vec<EdgeIndex> {
    let netlist = side.facts.netlist();
    let found = side.facts.document.devices.get(device);
    let elements = found.into_iter().flat_map(|it| &it.elements);
    let takes = elements.filter(|it| matches!(it.is, ElementKind::Load(_) | ElementKind::Coil(_)));
    takes
        .filter_map(|it| netlist.element_edge(device, &it.id))
        .collect()
}

/// Wires that carry a device's current, out and back, in any phase.
pub(super) fn on_the_way<'d>(device: &DeviceId, sides: [&Side<'d>; 2]) -> Vec<&'d WireId> {
    let mut all = Sorted::new();
    for side in sides {
        let netlist = side.facts.netlist();
        for load in loads(device, side) {
            for drop in side.facts.judged().filter_map(|it| it.drop_to(load)) {
                let edges = drop.out.iter().chain(&drop.back).map(|leg| leg.edge);
                all.extend(edges.filter_map(|edge| match netlist.of(edge) {
                    EdgeOf::Wire(id) => side.facts.document.wires.get_key_value(id).map(|it| it.0),
                    _ => None,
                }));
            }
        }
    }
    let mut all: Vec<&WireId> = all.into_iter().collect();
    let label = |id: &WireId| sides[0].facts.document.wire_label(id);
    all.order_by(|a, b| natural_cmp(&label(a), &label(b)));
    all
}

/// The operating point of a side in a phase.
fn point<'s>(side: &'s Side<'_>, state: &StateId, figures: Figures) -> Option<&'s OperatingPoint> {
    let mut points = side.facts.points().iter();
    points.find(|it| (&it.state, it.figures) == (state, figures))
}

/// The operating point by which a load is judged: the one with its demand if it cannot run.
fn asked_of(point: &OperatingPoint, load: EdgeIndex) -> &OperatingPoint {
    let asked = point.asked.as_deref().filter(|_| point.cannot_run(load));
    asked.unwrap_or(point)
}

impl View<'_, '_> {
    /// The device's total current, the voltage drop and the voltage at the device, by phase.
    pub(super) fn currents(&self) -> Table {
        let columns = &[
            ("state", "Phase", ""),
            ("before_a", "Before", "A"),
            ("after_a", "After", "A"),
            ("peak_before_a", "Peak before", "A"),
            ("peak_after_a", "Peak after", "A"),
            ("drop_before_v", "Drop before", "V"),
            ("drop_after_v", "Drop after", "V"),
            ("sees_v", "At the unit", "V"),
        ];
        let mut table = Table::new("currents", "In each phase", columns);
        let steady = self.sides[1].facts.points().iter();
        for now in steady.filter(|it| it.figures == Figures::Continuous) {
            let taken = |figures: Figures| {
                self.sides.map(|side| {
                    let point = point(side, &now.state, figures)?;
                    let edges = loads(self.swap.device, side).into_iter();
                    let amps = edges.filter_map(|edge| asked_of(point, edge).edge_amps(edge));
                    amps.map(f64::abs).reduce(|a, b| a + b)
                })
            };
            let [before, after] = taken(Figures::Continuous);
            let [peak_before, peak_after] = taken(Figures::Peak);
            let [drop_before, drop_after] = self.sides.map(|side| self.most_lost(side, &now.state));
            let edges = loads(self.swap.device, self.sides[1]).into_iter();
            let sees = edges.filter_map(|edge| Some(asked_of(now, edge).across_v(edge)?.max(0.0)));
            let runs = [before, after, peak_before, peak_after];
            if runs.into_iter().flatten().all(|amps| amps < NO_AMPS) {
                continue;
            }
            let title = self.swap.after.record_label("state", now.state.as_str());
            table.rows.push(vec![
                Cell::text(title),
                Cell::number(before, 2),
                Cell::number(after, 2),
                Cell::number(peak_before, 2),
                Cell::number(peak_after, 2),
                Cell::number(drop_before, 2),
                Cell::number(drop_after, 2),
                Cell::number(sees.reduce(f64::min), 2),
            ]);
        }
        table
    }

    /// The largest continuous drop in wires and contacts to any load of the device in a phase, V.
    fn most_lost(&self, side: &Side<'_>, state: &StateId) -> Option<f64> {
        let point = point(side, state, Figures::Continuous)?;
        let edges = loads(self.swap.device, side).into_iter();
        let drops = edges.filter_map(|edge| asked_of(point, edge).drop_to(edge));
        drops
            .map(|it| it.lost.wire_v + it.lost.contact_v)
            .reduce(f64::max)
    }

    pub(super) fn limits(&self) -> String {
        let nominal_v = self.swap.after.project.nominal_v;
        match drop_limits::drop_limit(nominal_v) {
            Some(limit) => format!(
                "Voltage drop limit between bus and equipment: {} V continuous, {} V intermittent ({}). Currents \
                 are solved with everything that runs in the phase; a load that cannot run counts with its demand.",
                limit.continuous_v,
                limit.intermittent_v,
                drop_limits::SOURCE.document
            ),
            None => format!("No voltage drop limit is published for a {nominal_v} V system."),
        }
    }

    /// Protectors between the device and any source.
    pub(super) fn protectors(&self) -> Table {
        let columns = &[
            ("protector", "Breaker or fuse", ""),
            ("rating_a", "Rating", "A"),
            ("before_a", "Current before", "A"),
            ("after_a", "Current after", "A"),
            ("peak_after_a", "Peak after", "A"),
            ("percent", "Of rating", "%"),
        ];
        let mut table = Table::new("protectors", "Breakers and fuses upstream", columns);
        let of = |side: &Side<'_>| -> Vec<EdgeOf> {
            let netlist = side.facts.netlist();
            let loads = loads(self.swap.device, side).into_iter();
            let feeds = loads.flat_map(|edge| side.facts.feeds().of_edge(netlist, edge));
            let edges = feeds.flat_map(|feed| feed.protectors);
            edges.map(|edge| netlist.of(edge).clone()).collect()
        };
        let mut all: Vec<EdgeOf> = Vec::new();
        for it in self.sides.map(of).into_iter().flatten() {
            if !all.contains(&it) {
                all.push(it);
            }
        }
        for it in all {
            let edge = |side: &Side<'_>| {
                let netlist = side.facts.netlist();
                let mut edges = netlist.graph.edge_indices();
                edges.find(|edge| *netlist.of(*edge) == it)
            };
            let most = |side: &Side<'_>, figures: Figures| {
                let edge = edge(side)?;
                let points = side.facts.judged().filter(|it| it.figures == figures);
                let amps = points.filter_map(|point| point.edge_amps(edge));
                amps.map(f64::abs).reduce(f64::max)
            };
            let [before, after] = self.sides;
            let rating_a =
                edge(after).and_then(|edge| match after.facts.netlist().graph[edge].kind {
                    EdgeKind::Protector { rating_a, .. } => rating_a,
                    _ => None,
                });
            let now = most(after, Figures::Continuous);
            table.rows.push(vec![
                Cell::text(edge_label(self.swap.after, &it)),
                rating_cell(rating_a, 1),
                Cell::number(most(before, Figures::Continuous), 2),
                Cell::number(now, 2),
                Cell::number(most(after, Figures::Peak), 2),
                Cell::number(now.zip(rating_a).map(|(amps, most)| 100.0 * amps / most), 0),
            ]);
        }
        table
    }

    fn most_a(&self, id: &WireId) -> [Option<f64>; 2] {
        self.sides.map(|side| {
            let at = side.facts.netlist().wire(id)?;
            Some(side.facts.most_steady_a(at.edge))
        })
    }

    pub(super) fn wires(&self) -> Table {
        let columns = &[
            ("wire", "Wire", ""),
            ("gauge_awg", "Gauge", "AWG"),
            ("length_m", "Length", "m"),
            ("before_a", "Current before", "A"),
            ("after_a", "Current after", "A"),
            ("good_for_a", "Rating, full bundle", "A"),
        ];
        let mut table = Table::new("on_the_way", "Wires in its circuit", columns)
            .lengths_as_in(self.swap.after);
        for id in &self.wires {
            let document = self.swap.after;
            let Some(wire) = document.wires.get(*id) else {
                continue;
            };
            let row = wire.gauge_awg.and_then(wire_table::find);
            let good_for = row
                .zip(document.insulation_c(wire))
                .and_then(|(row, c)| row.amps(c));
            let [before, after] = self.most_a(id);
            table.rows.push(vec![
                Cell::text(document.wire_label(id)),
                Cell::text(wire.gauge_text()),
                Cell::length(document, document.wire_length_m(wire), 2),
                Cell::number(before, 2),
                Cell::number(after, 2),
                Cell::number(good_for, 1),
            ]);
        }
        table
    }

    /// The contacts at the ends of those wires.
    pub(super) fn contacts(&self) -> Table {
        let columns = &[
            ("contact", "Contact", ""),
            ("connector", "Connector", ""),
            ("before_a", "Current before", "A"),
            ("after_a", "Current after", "A"),
            ("most_a", "Contact rating", "A"),
        ];
        let mut table = Table::new("contacts", "Contacts in its circuit", columns);
        let document = self.swap.after;
        for id in &self.wires {
            let Some(wire) = document.wires.get(*id) else {
                continue;
            };
            for end in [&wire.from, &wire.to] {
                let End::Terminal(device, terminal) = end else {
                    continue;
                };
                let device = document.devices.get(device);
                let found = device.and_then(|it| {
                    let connector = it.terminal(terminal)?.connector.as_ref()?;
                    it.connector(connector)
                });
                let Some(connector) = found else { continue };
                let [before, after] = self.most_a(id);
                table.rows.push(vec![
                    Cell::text(document.end_label(end)),
                    Cell::text(&connector.style),
                    Cell::number(before, 2),
                    Cell::number(after, 2),
                    Cell::number(connector.contact_a, 1),
                ]);
            }
        }
        table
    }

    /// The device's highest continuous current in any phase, before and after, A. False if it cannot run, and the
    /// current is only its demand.
    pub(super) fn most_taken(&self) -> [(f64, bool); 2] {
        self.sides.map(|side| {
            let edges = loads(self.swap.device, side);
            let amps = edges.iter().map(|edge| side.facts.most_steady_a(*edge));
            let asks = edges.iter().any(|edge| side.facts.is_asked(*edge));
            (amps.sum(), !asks)
        })
    }
}
