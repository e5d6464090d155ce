//! Voltage drop from the bus to a load and from the load to ground, along the path of its current.

use petgraph::graph::{EdgeIndex, NodeIndex};

use crate::{
    document::BarUse,
    ids::{DeviceId, ElementId, WireId},
    netlist::{EdgeKind, EdgeOf},
    solve::{
        Leg, OperatingPoint,
        circuit::WayEnd,
        operating::{NO_AMPS, Step},
    },
};

/// Voltage drop on the path to a load and back.
#[derive(Clone, Debug, PartialEq)]
pub struct LoadDrop {
    /// Current of the load, A.
    pub amps: f64,
    /// Start of the path: a power bus, or the positive of a source.
    pub from: NodeIndex,
    /// End of the path: a ground block, the reference structure, or the negative of a source.
    pub to: NodeIndex,
    /// Conductors from the start to the load.
    pub out: Vec<Leg>,
    /// Conductors from the load to the end.
    pub back: Vec<Leg>,
    /// Total drop on the path to the load, V.
    pub out_v: f64,
    /// Total drop on the return path, V.
    pub return_v: f64,
    /// Drop by cause, both paths.
    pub lost: Lost,
    /// Wires on the path whose length is unknown.
    pub unknown_lengths: Vec<WireId>,
}

/// Voltage drop on the path to a load and back, by cause, V.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Lost {
    /// In wires and shields.
    pub wire_v: f64,
    /// In breakers, fuses, switches, contacts, pins and bonds.
    pub contact_v: f64,
    /// In diodes and resistors.
    pub other_v: f64,
    /// True if the length of some wire is unknown, so its drop is not exact.
    pub unknown: bool,
}

impl Lost {
    fn add(&mut self, leg: &Leg, lost_in: LostIn) {
        let sum = match lost_in {
            LostIn::Wire | LostIn::UnknownWire => &mut self.wire_v,
            LostIn::Contact => &mut self.contact_v,
            LostIn::Other => &mut self.other_v,
        };
        *sum += leg.drop_v;
        self.unknown |= lost_in == LostIn::UnknownWire;
    }
}

impl LoadDrop {
    /// Total voltage drop between bus and ground, V.
    pub fn total_v(&self) -> f64 {
        self.out_v + self.return_v
    }
}

impl Leg {
    /// The load's own share of its current, for a load that takes `amps`.
    pub fn share(&self, load_a: f64) -> f64 {
        (load_a / self.amps).min(1.0)
    }

    /// Voltage drop in it from other loads' current, V.
    pub fn other_v(&self, load_a: f64) -> f64 {
        self.drop_v * (1.0 - self.share(load_a))
    }
}

/// Cause of a drop.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum LostIn {
    Wire,
    /// A wire whose length or gauge is not known.
    UnknownWire,
    Contact,
    Other,
}

impl From<&EdgeKind> for LostIn {
    fn from(kind: &EdgeKind) -> Self {
        match kind {
            unknown if unknown.is_unknown_wire() => Self::UnknownWire,
            EdgeKind::Wire { .. } | EdgeKind::Shield { .. } | EdgeKind::ShieldEnd { .. } => {
                Self::Wire
            }
            EdgeKind::Diode { .. } | EdgeKind::Resistor { .. } => Self::Other,
            _ => Self::Contact,
        }
    }
}

/// Direction in which to follow the current.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Follow {
    /// Upstream.
    Up,
    /// Downstream.
    Down,
}

/// Follows the largest current from a node to the end of the path.
struct PathOut<'p> {
    point: &'p OperatingPoint,
    follow: Follow,
    /// The current node; the end, once there is no further step.
    at: NodeIndex,
    left: usize,
}

impl Iterator for PathOut<'_> {
    type Item = Step;

    fn next(&mut self) -> Option<Step> {
        self.left = self.left.checked_sub(1)?;
        if let Some(end) = self.point.way_ends(self.at, self.follow) {
            (self.at, self.left) = (end, 0);
            return None;
        }
        let step = self.point.largest(self.at, self.follow)?;
        self.at = step.beyond;
        Some(step)
    }
}

impl OperatingPoint {
    /// Voltage drop to a load and back, from solved branch currents: upstream along the largest
    /// current to the nearest bus bar or source, downstream to the nearest ground block, the
    /// reference structure or a source. `None` if the load takes no current in this state.
    pub fn drop_to_load(&self, device: &DeviceId, element: &ElementId) -> Option<LoadDrop> {
        self.drop_to(self.netlist().element_edge(device, element)?)
    }

    /// The same for a load known by its edge.
    pub fn drop_to(&self, load: EdgeIndex) -> Option<LoadDrop> {
        let (amps, [enters, leaves]) = self.current_of(load)?;
        let mut lost = Lost::default();
        let mut unknown_lengths = Vec::new();
        let mut legs = |way: &mut PathOut<'_>| {
            let take = |step: Step| {
                let leg = step.leg;
                let lost_in = self.lost_in(&leg);
                lost.add(&leg, lost_in);
                if let (LostIn::UnknownWire, EdgeOf::Wire(wire)) =
                    (lost_in, self.netlist().of(leg.edge))
                {
                    unknown_lengths.push(wire.clone());
                }
                leg
            };
            way.map(take).collect::<Vec<_>>()
        };
        let (mut up, mut down) = (self.way(enters, Follow::Up), self.way(leaves, Follow::Down));
        let (mut out, back) = (legs(&mut up), legs(&mut down));
        out.reverse();
        let sum = |legs: &[Leg]| legs.iter().map(|leg| leg.drop_v).sum();
        Some(LoadDrop {
            amps,
            from: up.at,
            to: down.at,
            out_v: sum(&out),
            return_v: sum(&back),
            out,
            back,
            lost,
            unknown_lengths,
        })
    }

    /// The drop on that path, without the path; `None` if the load takes no current in this state.
    pub fn lost_to(&self, load: EdgeIndex) -> Option<Lost> {
        let (_, [enters, leaves]) = self.current_of(load)?;
        let mut lost = Lost::default();
        let steps = self
            .way(enters, Follow::Up)
            .chain(self.way(leaves, Follow::Down));
        steps.for_each(|step| lost.add(&step.leg, self.lost_in(&step.leg)));
        Some(lost)
    }

    fn lost_in(&self, leg: &Leg) -> LostIn {
        LostIn::from(&self.netlist().graph[leg.edge].kind)
    }

    /// The current of a load, A, and the conductors of its return path; `None` if it takes no
    /// current.
    pub fn way_back(&self, load: EdgeIndex) -> Option<(f64, impl Iterator<Item = Leg>)> {
        let (amps, [_, leaves]) = self.current_of(load)?;
        let steps = self.way(leaves, Follow::Down);
        Some((amps, steps.map(|step| step.leg)))
    }

    /// The current of a load, A, and the nodes where it enters and leaves; `None` if it takes no
    /// current.
    fn current_of(&self, load: EdgeIndex) -> Option<(f64, [NodeIndex; 2])> {
        let amps = self.edge_amps(load)?;
        let (plus, minus) = self.netlist().ends(load);
        let ends = if amps >= 0.0 {
            [plus, minus]
        } else {
            [minus, plus]
        };
        (amps.abs() >= NO_AMPS).then_some((amps.abs(), ends))
    }

    /// The path of the largest current from a node.
    fn way(&self, start: NodeIndex, follow: Follow) -> PathOut<'_> {
        PathOut {
            point: self,
            follow,
            at: start,
            // It never passes a point twice; the count is only a safeguard.
            left: self.netlist().graph.node_count(),
        }
    }

    /// The node at this node's point where a path ends, if there is one; preferably the node
    /// itself.
    fn way_ends(&self, at: NodeIndex, follow: Follow) -> Option<NodeIndex> {
        let flags = self.circuit.way_ends[self.circuit.point(at)];
        let (source_end, bar_use, bar, metal) = match follow {
            Follow::Up => (WayEnd::PLUS, BarUse::Bus, WayEnd::BUS, WayEnd::empty()),
            Follow::Down => (
                WayEnd::MINUS,
                BarUse::Ground,
                WayEnd::GROUND,
                WayEnd::REFERENCE,
            ),
        };
        if !flags.intersects(source_end | bar | metal) {
            return None;
        }
        let netlist = self.netlist();
        let ends_a_source = |edge: EdgeIndex, node| {
            let (plus, minus) = netlist.ends(edge);
            netlist.graph[edge].kind.is_source()
                && node == if follow == Follow::Up { plus } else { minus }
        };
        let is_end = |node: NodeIndex| {
            netlist.bar_at(node) == Some(bar_use)
                || flags.intersects(metal) && Some(node) == self.reference()
                || flags.intersects(source_end)
                    && (netlist.edges_at(node)).any(|edge| ends_a_source(edge, node))
        };
        if is_end(at) {
            return Some(at);
        }
        let joined = self.circuit.nodes(self.circuit.point(at));
        joined.iter().copied().find(|node| is_end(*node))
    }

    /// The conductor with the largest current at a node's point, and the node beyond it.
    fn largest(&self, at: NodeIndex, follow: Follow) -> Option<Step> {
        let [up, down] = self.largest_at(at);
        if follow == Follow::Up { up } else { down }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{
        solve::operate_all, standards::wire_table::copper_ohm_per_m, testing::document,
        units::Gauge,
    };

    /// Two lamps on one breaker, one in each wing: only the first wire is common.
    const STROBES: &str = "
        battery BT1
        bus MBUS CB6=5
        ground GB1 STUD T1 T2
        switch S6 1-2
        load LT2 1.2 law=current
        load LT3 1.2 law=current
        wire P BT1.+ MBUS.STUD 6 1m
        wire G GB1.STUD BT1.- 6 1m
        wire L2A MBUS.CB6 S6.1 18 0.7m
        wire L2B S6.2 LT2.+ 18 5.5m
        wire L2C LT2.- GB1.T1 18 6m
        wire L2D S6.2 LT3.+ 18 5.5m
        wire L2E LT3.- GB1.T2 18 6m
        state ON on=S6
    ";

    fn drop_of(text: &str, device: &str) -> Option<(OperatingPoint, LoadDrop)> {
        let mut document = document(text);
        document.project.conductor_c = 20.0;
        let point = operate_all(&document).swap_remove(0);
        let drop = point.drop_to_load(&device.into(), &"load".into())?;
        Some((point, drop))
    }

    #[track_caller]
    fn near(found: f64, wanted: f64) {
        assert!(
            (found - wanted).abs() < 1e-7,
            "found {found}, wanted {wanted}"
        );
    }

    #[test]
    fn drop_counts_each_branch_with_its_own_current() {
        let (point, drop) = drop_of(STROBES, "LT2").expect("a drop");
        let per_m = copper_ohm_per_m(Gauge(18), 20.0);
        // 0.32 V; total current times the whole length would say 0.60 V.
        near(
            drop.lost.wire_v,
            per_m * (0.7 * 2.4 + 5.5 * 1.2 + 6.0 * 1.2),
        );
        near(drop.lost.contact_v, 2.4 * (0.002 + 0.002));
        near(drop.out_v, per_m * (0.7 * 2.4 + 5.5 * 1.2) + 2.4 * 0.004);
        near(drop.return_v, per_m * 6.0 * 1.2);
        near(
            drop.total_v(),
            drop.lost.wire_v + drop.lost.contact_v + drop.lost.other_v,
        );
        let netlist = point.netlist();
        let wires = |legs: &[Leg]| -> Vec<String> {
            netlist
                .wires_among(legs.iter().map(|leg| leg.edge))
                .map(ToString::to_string)
                .collect()
        };
        assert_eq!(
            (wires(&drop.out), wires(&drop.back)),
            (
                vec!["L2A".to_string(), "L2B".into()],
                vec!["L2C".to_string()],
            )
        );
        near(drop.out[0].share(drop.amps), 0.5);
        let end = |node| format!("{:?}", netlist.point(node));
        assert!(end(drop.from).contains("STUD") && end(drop.to).contains("T1"));
    }

    #[test]
    fn an_unknown_length_is_told() {
        let text = format!("{STROBES} wire L2B S6.2 LT2.+ 18");
        let (_, drop) = drop_of(&text, "LT2").expect("a drop");
        assert_eq!(drop.unknown_lengths, [WireId::from("L2B")]);
        assert!(drop.lost.unknown);
    }

    #[test]
    fn the_same_is_lost_with_and_without_the_way() {
        let (point, drop) = drop_of(STROBES, "LT2").expect("a drop");
        let load = point.netlist().element_edge(&"LT2".into(), &"load".into());
        assert_eq!(point.lost_to(load.expect("an edge")), Some(drop.lost));
        assert!(!drop.lost.unknown);
    }

    #[test]
    fn a_load_without_current_has_no_drop() {
        assert!(drop_of(&STROBES.replace("on=S6", ""), "LT2").is_none());
    }

    #[test]
    fn a_way_through_joined_pins_and_a_diode() {
        let (_, drop) = drop_of(
            "battery BT1
             diode D1
             unit COM1 J105-1 J105-2 J105-9
             inside COM1 bar J105-1 J105-2
             inside COM1 load J105-1 J105-9 1 law=current id=load
             wire A BT1.+ D1.A 18 1m
             wire B D1.K COM1.J105-2 18 1m
             wire C COM1.J105-9 BT1.- 18 1m",
            "COM1",
        )
        .expect("a drop");
        near(drop.lost.other_v, 0.7 + 0.01);
        near(drop.lost.wire_v, 3.0 * copper_ohm_per_m(Gauge(18), 20.0));
    }
}
