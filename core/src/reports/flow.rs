//! Where the current through a breaker or fuse comes from and goes to, by the solved phases: up to the next bus, source or
//! load on either side.

use petgraph::graph::{EdgeIndex, NodeIndex};

use crate::{
    document::{BarUse, Document, natural_cmp},
    netlist::{EdgeKind, EdgeOf, Netlist, Point},
    order::{InOrder, Sorted},
    solve::OperatingPoint,
};

/// Current below which a conductor counts as carrying nothing, A (reasoned: above any leak, below any lamp).
const FLOWS_A: f64 = 1e-3;

/// What is on either side.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Flow {
    /// Tags of the nearest buses and sources that give the current.
    pub from: Vec<String>,
    /// Tags of the nearest buses and loads that take it, and batteries it charges.
    to: Vec<String>,
    /// Tags of all devices whose loads take current in some phase.
    running: Vec<String>,
}

impl Flow {
    /// What takes the current; of what is wired behind, also what runs in no phase, since nothing shows where that
    /// would be fed from.
    pub fn feeds(&self, wired: &[String]) -> Vec<String> {
        let idle = wired.iter().filter(|it| !self.running.contains(it));
        let mut all: Vec<String> = self.to.iter().chain(idle).cloned().collect();
        all.order_by(|a, b| natural_cmp(a, b));
        all.dedup();
        all
    }
}

/// Both sides of a breaker, fuse or limiter, over all phases in which its current flows as it does at its highest.
pub fn through(
    document: &Document,
    points: &[OperatingPoint],
    netlist: &Netlist,
    edge: EdgeIndex,
) -> Flow {
    let amps = |point: &OperatingPoint| point.edge_amps(edge).unwrap_or(0.0);
    let most = points
        .iter()
        .map(amps)
        .reduce(|a, b| if b.abs() > a.abs() { b } else { a });
    let most = most.unwrap_or(0.0);
    let (first, second) = netlist.ends(edge);
    let (before, behind) = if most < 0.0 {
        (second, first)
    } else {
        (first, second)
    };
    let (mut from, mut to, mut running) = (Sorted::new(), Sorted::new(), Sorted::new());
    for point in points {
        for (load, _) in netlist
            .loads()
            .filter(|it| point.edge_amps(it.0).is_some_and(|a| a.abs() > FLOWS_A))
        {
            running.extend(tag(document, netlist, load));
        }
        if amps(point) * most.signum() > FLOWS_A {
            let walk = Walk {
                document,
                netlist,
                point,
                edge,
            };
            walk.collect(behind, Along::Current, &mut to);
            walk.collect(before, Along::Source, &mut from);
        }
    }
    let sorted = |all: Sorted<String>| {
        let mut all: Vec<String> = all.iter().cloned().collect();
        all.order_by(|a, b| natural_cmp(a, b));
        all
    };
    Flow {
        from: sorted(from),
        to: sorted(to),
        running: sorted(running),
    }
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum Along {
    /// The way the current flows.
    Current,
    /// Back to where it comes from.
    Source,
}

struct Walk<'a> {
    document: &'a Document,
    netlist: &'a Netlist,
    point: &'a OperatingPoint,
    edge: EdgeIndex,
}

impl Walk<'_> {
    fn collect(&self, start: NodeIndex, along: Along, tags: &mut Sorted<String>) {
        let netlist = self.netlist;
        let mut seen = Sorted::new();
        let mut next = vec![start];
        while let Some(node) = next.pop() {
            if !seen.insert(node) {
                continue;
            }
            if netlist.bar_at(node) == Some(BarUse::Bus)
                && let Point::Terminal(device, _) = netlist.point(node)
            {
                tags.extend(self.document.devices.get(device).map(|it| it.tag.clone()));
                continue;
            }
            for edge in netlist.edges_at(node).filter(|edge| *edge != self.edge) {
                let amps = self.point.edge_amps(edge);
                match netlist.graph[edge].kind {
                    EdgeKind::Bar(_) => next.push(netlist.other(edge, node)),
                    EdgeKind::Battery { .. } | EdgeKind::Alternator { .. } => {
                        let gives = amps.unwrap_or(0.0);
                        let word = match along {
                            Along::Current if gives < -FLOWS_A => " (charging)",
                            Along::Source if gives > FLOWS_A => "",
                            _ => continue,
                        };
                        let tag = tag(self.document, netlist, edge);
                        tags.extend(tag.map(|tag| format!("{tag}{word}")));
                    }
                    EdgeKind::Load | EdgeKind::Coil { .. } => {
                        if along == Along::Current && amps.is_some_and(|it| it.abs() > FLOWS_A) {
                            tags.extend(tag(self.document, netlist, edge));
                        }
                    }
                    _ => {
                        let away = match netlist.ends(edge).0 == node {
                            true => amps.unwrap_or(0.0),
                            false => -amps.unwrap_or(0.0),
                        };
                        let flows = match along {
                            Along::Current => away > FLOWS_A,
                            Along::Source => away < -FLOWS_A,
                        };
                        if flows {
                            next.push(netlist.other(edge, node));
                        }
                    }
                }
            }
        }
    }
}

fn tag(document: &Document, netlist: &Netlist, edge: EdgeIndex) -> Option<String> {
    match netlist.of(edge) {
        EdgeOf::Element(device, ..) => document.devices.get(device).map(|it| it.tag.clone()),
        _ => None,
    }
}
