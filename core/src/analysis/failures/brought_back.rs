//! Which switch brings back what a failure stops.

use petgraph::graph::EdgeIndex;

use super::{Consequence, Failure, Review, runs};
use crate::{
    document::ElementKind,
    ids::{DeviceId, ElementId},
    netlist::EdgeKind,
    solve::{OperatingPoint, Overrides},
};

/// Voltage between the two sides of a switch above which closing it can bring something back, V (our own choice).
const APART_V: f64 = 0.5;

/// A switch movement that brings back loads that a failure stopped, and neither stops nor starts any other load.
#[derive(Clone, Debug, PartialEq)]
pub struct BroughtBack {
    /// The switch.
    pub switch: (DeviceId, ElementId),
    /// Index of its position.
    pub position: usize,
    /// The loads that run again.
    pub loads: Vec<EdgeIndex>,
}

impl Review {
    /// The single switch movements that bring back loads stopped by a failure, those that bring back most first. One
    /// that also starts or stops another load is not among them.
    pub fn brought_back(&mut self, found: &Consequence) -> Vec<BroughtBack> {
        if found.stops.is_empty() {
            return Vec::new();
        }
        let overrides = Overrides {
            failed: self.failed(&found.failure),
            ..Overrides::default()
        };
        let (id, state) = self.state.clone();
        let failed = (self.simulator).after_failure((&id, &state), &self.relays, &overrides);
        let mut all = Vec::new();
        for (switch, position) in self.throws(&failed) {
            let mut moved = state.clone();
            let key = format!("{}/{}", switch.0, switch.1);
            moved.switches.insert(key, position);
            let after = (self.simulator).after_failure((&id, &moved), &self.relays, &overrides);
            let netlist = self.before.netlist();
            let changes = |load: &EdgeIndex| runs(&failed, *load) != runs(&after, *load);
            let changed: Vec<EdgeIndex> = netlist.loads().map(|it| it.0).filter(changes).collect();
            let only_back = changed.iter().all(|load| found.stops.contains(load));
            if only_back && !changed.is_empty() && after.problem.is_none() {
                all.push(BroughtBack {
                    switch,
                    position,
                    loads: changed,
                });
            }
        }
        // Stable: switches keep their order.
        all.sort_by_key(|it| std::cmp::Reverse(it.loads.len()));
        all
    }

    fn failed(&self, failure: &Failure) -> Vec<EdgeIndex> {
        if let Failure::Wire(id) = failure {
            let wire = self.before.netlist().wire(id);
            return wire.map(|it| it.edge).into_iter().collect();
        }
        let known = self.failures.iter().find(|(it, _)| it == failure);
        known.map_or(Vec::new(), |(_, edges)| edges.clone())
    }

    /// Positions that close a path between two points that are now apart.
    fn throws(&self, point: &OperatingPoint) -> Vec<((DeviceId, ElementId), usize)> {
        let netlist = point.netlist();
        let apart = |edge: EdgeIndex| {
            let (a, b) = netlist.ends(edge);
            match (point.node_volts(a), point.node_volts(b)) {
                (Some(a_v), Some(b_v)) => (a_v - b_v).abs() > APART_V,
                (None, None) => false,
                _ => true,
            }
        };
        let mut all = Vec::new();
        for (id, device) in &self.document.devices {
            for element in &device.elements {
                let ElementKind::Switch(switch) = &element.is else {
                    continue;
                };
                let key = format!("{id}/{}", element.id);
                let now = self.state.1.position(&key, switch.rest);
                for at in (0..switch.positions.len().min(64)).filter(|at| *at != now) {
                    let mut paths = netlist.element_edges(id.as_str(), element.id.as_str());
                    let closes = paths.any(|edge| match netlist.graph[edge].kind {
                        EdgeKind::Switch { made_in, .. } => {
                            made_in & (1 << at) != 0 && made_in & (1 << now) == 0 && apart(edge)
                        }
                        _ => false,
                    });
                    if closes {
                        all.push(((id.clone(), element.id.clone()), at));
                    }
                }
            }
        }
        all
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{analysis::failures::usual_state, testing::document};

    /// A steering diode, an alternate feed past it, and a switch that turns on something else.
    const ALTERNATE: &str = "
        battery BT1
        bus MBUS CB1=5 CB2=10
        diode D1
        switch S2 1-2
        switch S5 1-2
        load FD1 1
        load LT1 1
        load LT2 1
        wire P1 BT1.+ MBUS.STUD 8 1m
        wire P2 MBUS.CB2 D1.A 16 1m
        wire P3 D1.K FD1.+ 16 1m
        wire P4 BT1.+ S2.1 16 1m
        wire P5 S2.2 FD1.+ 16 1m
        wire L1 MBUS.CB1 LT1.+ 20 1m
        wire L2 BT1.+ S5.1 20 1m
        wire L3 S5.2 LT2.+ 20 1m
        wire N1 FD1.- BT1.- 16 1m
        wire N2 LT1.- BT1.- 16 1m
        wire N3 LT2.- BT1.- 16 1m
        state T";

    fn told(text: &str) -> Vec<(String, Vec<(String, usize)>)> {
        let document = document(text);
        let state = usual_state(&document).expect("a state");
        let mut review = Review::new(&document, state);
        let found: Vec<_> = review.by_ref().collect();
        let mut all = Vec::new();
        for it in &found {
            let Failure::Element(device, _) = &it.failure else {
                continue;
            };
            let back = review.brought_back(it).into_iter();
            let back = back.map(|it| (it.switch.0.to_string(), it.loads.len()));
            all.push((device.to_string(), back.collect()));
        }
        all
    }

    #[test]
    fn the_alternate_feed_brings_back_what_the_diode_stopped_and_no_other_switch_does() {
        let told = told(ALTERNATE);
        let of = |part: &str| {
            let found = told.iter().filter(|it| it.0 == part);
            found.flat_map(|it| it.1.clone()).collect::<Vec<_>>()
        };
        assert_eq!(of("D1"), [("S2".to_owned(), 1)]);
        // CB2 too, but not what CB1 feeds; the battery by nothing.
        assert_eq!(of("MBUS"), [("S2".to_owned(), 1)]);
        assert_eq!(of("BT1"), []);
    }

    #[test]
    fn a_switch_that_also_starts_something_else_is_not_named() {
        let other = (ALTERNATE.replace("switch S2 1-2", "switch S2 1-2,3-4")).replace(
            "wire N3",
            "wire X BT1.+ S2.3 20 1m\n wire Y S2.4 LT2.+ 20 1m\n wire N3",
        );
        let told = told(&other);
        let d1 = told.iter().find(|it| it.0 == "D1").expect("it");
        assert_eq!(d1.1, []);
    }
}
