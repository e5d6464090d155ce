//! An intermittent load while it works: its switches operated, its relays pulled in.

use petgraph::graph::{EdgeIndex, NodeIndex};

use crate::{
    document::{LoadUse, State},
    ids::{DeviceId, ElementId, StateId},
    netlist::{EdgeKind, EdgeOf, Netlist},
    order::Map,
    solve::{Figures, OperatingPoint, Overrides, Simulator, Ways},
};

/// Depth limit for relays that operate relays.
pub(super) const MOST_RELAYS: usize = 4;

/// Switches to operate: element, and the positions that still fit, one bit each.
#[derive(Clone, Default)]
pub(super) struct Throws<'a> {
    pub(super) positions: Map<(&'a DeviceId, &'a ElementId), u64>,
    /// Breakers, fuses and limiters on the way.
    pub(super) protectors: Vec<EdgeIndex>,
}

impl Simulator {
    /// The operating point in a state with one load working: taking its intermittent current, with
    /// the switches on its path operated and its relays pulled in. `None` if no switch positions
    /// give it supply and return, or if it still asks for no current.
    pub fn with_load_working(
        &mut self,
        id: &StateId,
        state: &State,
        load: EdgeIndex,
    ) -> Option<OperatingPoint> {
        let circuit = std::sync::Arc::clone(self.circuit());
        let netlist = &circuit.netlist;
        let throws = throws_for(netlist, circuit.ways(), netlist.ends(load), MOST_RELAYS)?;
        let mut overrides = Overrides::default();
        overrides.loads.push((load, LoadUse::Intermittent));
        overrides
            .closed
            .extend(throws.protectors.iter().map(|edge| (*edge, true)));
        for ((device, element), positions) in &throws.positions {
            let position = positions.trailing_zeros();
            for edge in netlist.element_edges(device.as_str(), element.as_str()) {
                if let EdgeKind::Switch { made_in, .. } = netlist.graph[edge].kind {
                    overrides
                        .closed
                        .push((edge, (made_in >> position) & 1 == 1));
                }
            }
        }
        let (mut point, relays) = self.operate_to(id, state, Figures::Continuous, &overrides);
        point.asked = self.as_asked(&point, state, &overrides, &relays);
        (point.drop_to(load).is_some() || point.cannot_run(load)).then_some(point)
    }
}

/// The switches to operate so that current can reach the first node and return from the second.
fn throws_for<'a>(
    netlist: &'a Netlist,
    ways: &Ways,
    (plus, minus): (NodeIndex, NodeIndex),
    relays_left: usize,
) -> Option<Throws<'a>> {
    let home = if ways.returns.has(minus) {
        Vec::new()
    } else {
        netlist.return_path(&ways.returns, minus)?
    };
    let feeds = ways.feeds.of_node(netlist, plus);
    feeds.iter().find_map(|feed| {
        let mut throws = Throws::default();
        let way = feed.path.iter().chain(&home);
        throws
            .along(netlist, ways, way.copied(), relays_left)
            .then_some(throws)
    })
}

impl<'a> Throws<'a> {
    /// Adds the needs of a path; false if they cannot be met.
    pub(super) fn along(
        &mut self,
        netlist: &'a Netlist,
        ways: &Ways,
        way: impl Iterator<Item = EdgeIndex>,
        relays_left: usize,
    ) -> bool {
        for edge in way {
            let weight = &netlist.graph[edge];
            let possible = match (weight.kind, netlist.of(edge)) {
                (EdgeKind::Switch { made_in, .. }, EdgeOf::Element(device, element, _)) => {
                    self.narrow((device, element), made_in)
                }
                (EdgeKind::Protector { .. }, _) => {
                    self.protectors.push(edge);
                    true
                }
                (
                    EdgeKind::Contact {
                        coil,
                        made_energised: true,
                        ..
                    },
                    _,
                ) => coil.is_some_and(|coil| self.work(netlist, ways, coil, relays_left)),
                _ => true,
            };
            if !possible {
                return false;
            }
        }
        true
    }

    fn narrow(&mut self, switch: (&'a DeviceId, &'a ElementId), positions: u64) -> bool {
        let left = self.positions.or_insert(switch, u64::MAX);
        *left &= positions;
        *left != 0
    }

    /// Adds the needs of an energized coil, whichever of its ends is fed.
    fn work(
        &mut self,
        netlist: &'a Netlist,
        ways: &Ways,
        coil: EdgeIndex,
        relays_left: usize,
    ) -> bool {
        let (a, b) = netlist.ends(coil);
        if relays_left == 0 {
            return false;
        }
        [(a, b), (b, a)].into_iter().any(|ends| {
            let Some(more) = throws_for(netlist, ways, ends, relays_left - 1) else {
                return false;
            };
            self.and(&more).map(|both| *self = both).is_some()
        })
    }

    /// What both need; none if they need a switch in different positions.
    pub(super) fn and(&self, more: &Self) -> Option<Self> {
        let mut both = self.clone();
        both.protectors.extend(&more.protectors);
        let mut positions = more.positions.iter();
        positions
            .all(|(switch, left)| both.narrow(*switch, *left))
            .then_some(both)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::document;

    fn amps_while_working(text: &str, device: &str) -> Option<f64> {
        let document = document(text);
        let mut simulator = Simulator::new(&document);
        let load = simulator
            .circuit()
            .netlist
            .element_edge(&device.into(), &"load".into())?;
        let (id, state) = document.states.iter().next().expect("a state");
        Some(
            simulator
                .with_load_working(id, state, load)?
                .drop_to(load)?
                .amps,
        )
    }

    #[test]
    fn flaps_work_by_throwing_their_switch() {
        let amps = amps_while_working(
            "battery BT1
             throw S7 UP:2-1,5-4 OFF: DN:2-4,5-1 rest=1
             load M3 - intermittent=7 either law=current
             wire P BT1.+ S7.2 16 1m
             wire N S7.5 BT1.- 16 1m
             wire A S7.1 M3.+ 16 1m
             wire B S7.4 M3.- 16 1m
             state T",
            "M3",
        );
        assert!((amps.expect("it works") - 7.0).abs() < 1e-6);
    }

    #[test]
    fn a_relay_on_the_way_is_worked_by_its_own_switch() {
        let text = "
            battery BT1
            contactor K1 BAT LOAD COIL+ COIL-
            switch S1 1-2
            load M1 - intermittent=30 law=current
            wire P BT1.+ K1.BAT 2 1m
            wire M K1.LOAD M1.+ 2 1m
            wire N M1.- BT1.- 2 1m
            wire C BT1.+ S1.1 20 1m
            wire D S1.2 K1.COIL+ 20 1m
            state T
        ";
        let grounded = format!("{text} wire E K1.COIL- BT1.- 20 1m");
        let amps = amps_while_working(&grounded, "M1");
        assert!((amps.expect("it works") - 30.0).abs() < 1e-6);
        assert_eq!(
            amps_while_working(text, "M1"),
            None,
            "the coil has no return path"
        );
    }

    #[test]
    fn a_load_with_no_way_home_does_not_work() {
        let text = "
            battery BT1
            load M1 - intermittent=30
            wire P BT1.+ M1.+ 2 1m
            state T
        ";
        assert_eq!(amps_while_working(text, "M1"), None);
    }
}
