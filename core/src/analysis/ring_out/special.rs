//! Devices that read low by design, and so are disconnected first or measured as what they are: thermocouple
//! probes, antennas, magnetos.

use petgraph::graph::NodeIndex;
use petgraph::unionfind::UnionFind;

use super::{
    least::Least,
    line::{Expect, Line},
    sheet::{Low, Sheet},
    stays::unplugs,
};
use crate::{
    document::{BarUse, Device, DeviceKind, Document, ElementKind, End, Role, Test},
    ids::DeviceId,
    netlist::{EdgeKind, EdgeOf, Netlist, Point, Through},
};

fn is_probe(device: &Device) -> bool {
    let count = |role| device.terminals.iter().filter(|it| it.role == role).count();
    !unplugs(device)
        && count(Role::ThermocouplePlus) == 1
        && count(Role::ThermocoupleMinus) == 1
        && count(Role::PowerIn) == 0
}

fn is_magneto(device: &Device) -> bool {
    let is_switch = |it: &crate::document::Element| matches!(it.is, ElementKind::Switch(_));
    device.terminals.iter().any(|it| it.role == Role::PLead)
        && !device.elements.iter().any(is_switch)
}

/// Terminals of probes, antennas and magnetos that stay on the wiring.
pub(super) fn low(document: &Document, netlist: &Netlist, group: &[usize]) -> Vec<Low> {
    let grounds: Vec<usize> = (netlist.graph.node_indices())
        .filter(|node| is_ground(netlist, *node))
        .map(|node| group[node.index()])
        .collect();
    let mut all = Vec::new();
    for (id, device) in &document.devices {
        for terminal in &device.terminals {
            let reads_low = match terminal.role {
                Role::PLead => is_magneto(device),
                Role::Rf => device.kind == DeviceKind::Antenna && !unplugs(device),
                Role::ThermocouplePlus | Role::ThermocoupleMinus => is_probe(device),
                _ => false,
            };
            if let Some(node) = netlist.terminal(id, &terminal.id).filter(|_| reads_low) {
                let circuit = group[node.index()];
                all.push(Low {
                    at: End::Terminal(id.clone(), terminal.id.clone()),
                    circuit: (!grounds.contains(&circuit)).then_some(circuit),
                });
            }
        }
    }
    all
}

/// True at a ground block and at metal.
pub(super) fn is_ground(netlist: &Netlist, node: NodeIndex) -> bool {
    netlist.bar_at(node) == Some(BarUse::Ground)
        || matches!(netlist.point(node), Point::Structure(_))
}

/// What conducts inside a device that no drawing shows: closed points, a grounded antenna or probe.
pub(super) struct Inside {
    pub(super) a: NodeIndex,
    pub(super) b: NodeIndex,
    pub(super) ohm: f64,
    /// It is not measured with if one of these is disconnected.
    pub(super) until_off: Vec<End>,
}

/// What is closed or grounded inside, ohm.
const CLOSED_OHM: f64 = 0.01;
/// A probe's own leads, ohm (reasoned: within what its line allows).
const PROBE_LEADS_OHM: f64 = 4.0;

/// All of it, at the values that hide most.
pub(super) fn inside(document: &Document, netlist: &Netlist) -> Vec<Inside> {
    let mut all = Vec::new();
    for (id, device) in document.devices.iter().filter(|it| !unplugs(it.1)) {
        let at = |role: Role| {
            let terminal = device.terminals.iter().find(|it| it.role == role)?;
            let node = netlist.terminal(id, &terminal.id)?;
            Some((node, End::Terminal(id.clone(), terminal.id.clone())))
        };
        let metal = || {
            let place = End::Structure(device.place.clone()?);
            Some((netlist.end_node(&place)?, place))
        };
        let case = || {
            at(Role::Return)
                .or_else(|| at(Role::ShieldTie))
                .or_else(metal)
        };
        let mut join = |from: &(NodeIndex, End), to: &(NodeIndex, End), ohm| {
            all.push(Inside {
                a: from.0,
                b: to.0,
                ohm,
                until_off: vec![from.1.clone(), to.1.clone()],
            });
        };
        let lead = at(Role::PLead).filter(|_| is_magneto(device));
        let center = at(Role::Rf).filter(|_| device.kind == DeviceKind::Antenna);
        for hot in lead.iter().chain(&center) {
            if let Some(case) = case() {
                join(hot, &case, CLOSED_OHM);
            }
        }
        let legs = (at(Role::ThermocouplePlus), at(Role::ThermocoupleMinus));
        if let ((Some(plus), Some(minus)), true) = (legs, is_probe(device)) {
            join(&plus, &minus, PROBE_LEADS_OHM);
            if let Some(engine) = metal() {
                join(&plus, &engine, CLOSED_OHM);
            }
        }
    }
    all
}

/// The metal that a conductor with these ends can touch: that of the place of the first end that has some, else the
/// first metal or ground block of the aircraft.
pub(super) fn metal_at<const N: usize>(
    document: &Document,
    netlist: &Netlist,
    ends: [&End; N],
) -> Option<NodeIndex> {
    let near = ends.into_iter().find_map(|end| match end {
        End::Terminal(id, _) => {
            let place = document.devices.get(id)?.place.clone()?;
            netlist.end_node(&End::Structure(place))
        }
        End::Structure(_) => netlist.end_node(end),
        End::Splice(_) | End::Open => None,
    });
    let mut all = netlist.graph.node_indices();
    near.or_else(|| all.find(|it| is_ground(netlist, *it)))
}

impl Sheet<'_> {
    /// Adds to each line the ends to disconnect first.
    pub(super) fn take_off(&mut self) {
        let mut lines = std::mem::take(&mut self.lines);
        for line in &mut lines {
            let circuit = |end: &End| self.netlist.end_node(end).map(|it| self.group[it.index()]);
            let ends = [circuit(&line.from), circuit(&line.to)];
            let low = self.low.iter().filter(|low| match line.test {
                Test::Isolation => low.circuit.is_some() && ends.contains(&low.circuit),
                // A magneto is itself a path to ground.
                _ => (line.from == low.at || line.to == low.at) && self.is_p_lead(&low.at),
            });
            for end in low.map(|it| &it.at) {
                if !line.off.contains(end) {
                    line.off.push(end.clone());
                }
            }
        }
        self.lines = lines;
    }

    fn is_p_lead(&self, end: &End) -> bool {
        let End::Terminal(device, terminal) = end else {
            return false;
        };
        let device = self.document.devices.get(device);
        let terminal = device.and_then(|it| it.terminal(terminal));
        terminal.is_some_and(|it| it.role == Role::PLead)
    }

    /// Each thermocouple pair through its junction, from the instrument's end.
    pub(super) fn probes(&mut self) {
        let mut least = Least::over(self.netlist);
        for (id, device) in (self.document.devices.iter()).filter(|it| is_probe(it.1)) {
            let leg = |role| {
                let terminal = device.terminals.iter().find(|it| it.role == role)?;
                self.netlist.terminal(id, &terminal.id)
            };
            let legs = [leg(Role::ThermocouplePlus), leg(Role::ThermocoupleMinus)];
            let [Some(plus), Some(minus)] = legs else {
                continue;
            };
            let mut far = |probe: NodeIndex| {
                let mut points = self.netlist.graph.node_indices();
                let node = points.find(|it| {
                    self.points[it.index()] && *it != probe && self.group(*it) == self.group(probe)
                })?;
                least.begin(self.netlist, self.stays, &[probe]);
                let (_, path) = least.path(self.netlist, node)?;
                let known = path.iter().all(|edge| self.is_known(*edge));
                Some((node, known.then(|| least.ohm[node.index()])))
            };
            if let (Some((plus, a)), Some((minus, b))) = (far(plus), far(minus)) {
                let ohm = a.zip(b).map(|(a, b)| a + b);
                let (plus, minus) = (self.end(plus), self.end(minus));
                let line = Line::new(Test::Resistance, plus, minus, Expect::Probe(ohm));
                self.lines.push(line);
            }
        }
    }

    /// Each P-lead, disconnected from its magneto, in each position of each switch that it reaches.
    pub(super) fn magnetos(&mut self) {
        let metal = self.netlist.groups(Through::METAL);
        for (id, device) in (self.document.devices.iter()).filter(|it| is_magneto(it.1)) {
            for terminal in device.terminals.iter().filter(|it| it.role == Role::PLead) {
                let Some(lead) = self.netlist.terminal(id, &terminal.id) else {
                    continue;
                };
                let Some(ground) = self.ground_at(id, device) else {
                    continue;
                };
                for (switch_id, switch_device) in &self.document.devices {
                    for element in &switch_device.elements {
                        let ElementKind::Switch(switch) = &element.is else {
                            continue;
                        };
                        let mut edges =
                            (self.netlist).element_edges(switch_id.as_str(), element.id.as_str());
                        let is_here = edges.any(|edge| {
                            let (a, b) = self.netlist.ends(edge);
                            metal.same(a, lead) || metal.same(b, lead)
                        });
                        for at in (0..switch.positions.len()).filter(|_| is_here) {
                            let key = format!("{switch_id}/{}", element.id);
                            self.p_lead(lead, ground, (key, at));
                        }
                    }
                }
            }
        }
    }

    /// Where a magneto is grounded: its own case, else a ground block or metal.
    fn ground_at(&self, id: &DeviceId, device: &Device) -> Option<NodeIndex> {
        let case = |role| {
            let terminal = device.terminals.iter().find(|it| it.role == role)?;
            self.netlist.terminal(id, &terminal.id)
        };
        let grounds = || {
            let mut nodes = self.netlist.graph.node_indices();
            nodes.find(|it| is_ground(self.netlist, *it))
        };
        case(Role::Return)
            .or_else(|| case(Role::ShieldTie))
            .or_else(grounds)
    }

    fn p_lead(&mut self, lead: NodeIndex, ground: NodeIndex, position: (String, usize)) {
        let mut stays = self.stays.to_vec();
        for edge in self.netlist.edges_of_key(&position.0) {
            if let EdgeKind::Switch { made_in, .. } = self.netlist.graph[edge].kind {
                stays[edge.index()] = position.1 < 64 && (made_in >> position.1) & 1 == 1;
            }
        }
        let mut sets = UnionFind::<usize>::new(self.netlist.graph.node_count());
        for edge in (self.netlist.graph.edge_indices()).filter(|it| stays[it.index()]) {
            let (a, b) = self.netlist.ends(edge);
            sets.union(a.index(), b.index());
        }
        let is_grounded = sets.equiv(lead.index(), ground.index());
        let (test, expect, path) = if is_grounded {
            let mut least = Least::over(self.netlist);
            least.begin(self.netlist, &stays, &[ground]);
            let path = least
                .path(self.netlist, lead)
                .map(|it| it.1)
                .unwrap_or_default();
            let known = path.iter().all(|edge| self.is_known(*edge));
            let ohm = known.then(|| least.ohm[lead.index()]);
            (Test::Continuity, Expect::Ohm(ohm), path)
        } else {
            // Parts that stay wired to the lead, a filter or a lamp, are measured with it.
            let through = (self.joined.iter())
                .filter(|edge| {
                    let (a, b) = self.netlist.ends(**edge);
                    [a, b].iter().any(|it| sets.equiv(it.index(), lead.index()))
                })
                .filter_map(|edge| match self.netlist.of(*edge) {
                    EdgeOf::Element(device, element, _) => {
                        let key = format!("{device}/{element}");
                        Some(self.document.record_label("element", &key))
                    }
                    _ => None,
                })
                .collect();
            let expect = Expect::Open { through, ohm: None };
            (Test::Isolation, expect, Vec::new())
        };
        let lead = self.end(lead);
        self.lines.push(Line {
            off: vec![lead.clone()],
            position: Some(position),
            path,
            ..Line::new(test, lead, self.end(ground), expect)
        });
    }
}
