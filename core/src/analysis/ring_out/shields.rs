//! The lines of shields that no other line proves: the braid conducts all along, and is grounded only where drawn.

use super::{
    least::Least,
    line::{Expect, Line},
    sheet::Sheet,
    special::is_ground,
};
use crate::{
    document::{End, Test, WireEnd},
    ids::CableId,
    netlist::EdgeOf,
    order::Map,
};

/// A shield, measured at one of its ends.
struct Braid<'d> {
    cable: &'d CableId,
    /// The end where it is cut back or lifted.
    free: WireEnd,
}

impl Sheet<'_> {
    /// For shields that are cut back: one line along those of each circuit, to their free ends; and one for what is
    /// grounded at each place, lifted there, since only then a second ground shows. For shields that are connected at
    /// both ends and have another path next to them: one line for each place, each shield lifted at its other end.
    pub(super) fn shields(&mut self) {
        let mut by_circuit: Map<usize, Vec<Braid<'_>>> = Map::new();
        let mut lifted: Map<(bool, &End), Vec<Braid<'_>>> = Map::new();
        let (mut stays, mut least) = (self.stays.to_vec(), Least::over(self.netlist));
        let mut grounded = vec![false; self.netlist.graph.node_count()];
        for node in self.netlist.graph.node_indices() {
            grounded[self.group(node)] |= is_ground(self.netlist, node);
        }
        for (cable, record) in &self.document.cables {
            let Some(shield) = &record.shield else {
                continue;
            };
            let (free, to) = match (shield.from.at(), shield.to.at()) {
                (None, Some(to)) => (WireEnd::From, to),
                (Some(to), None) => (WireEnd::To, to),
                (Some(_), Some(to)) if self.has_a_second_path(cable, &mut stays, &mut least) => {
                    let free = WireEnd::From;
                    let braid = Braid { cable, free };
                    lifted.or_default((false, to)).push(braid);
                    continue;
                }
                _ => continue,
            };
            let Some(circuit) = self.netlist.end_node(to).map(|it| self.group(it)) else {
                continue;
            };
            if grounded[circuit] {
                let braid = Braid {
                    cable,
                    free: free.other(),
                };
                lifted.or_default((true, to)).push(braid);
            }
            let braid = Braid { cable, free };
            by_circuit.or_default(circuit).push(braid);
        }
        let mut lines = Vec::new();
        for nodes in self.groups() {
            if let Some(braids) = by_circuit.get(&self.group(nodes[0])) {
                lines.extend(self.along(nodes[0], braids));
            }
        }
        for ((is_isolated, place), braids) in &lifted {
            match (is_isolated, self.netlist.end_node(place)) {
                (true, _) => lines.push(Line {
                    shields: of(braids),
                    ..Line::new(
                        Test::Isolation,
                        (*place).clone(),
                        End::Open,
                        Expect::Open {
                            through: Vec::new(),
                            ohm: None,
                        },
                    )
                }),
                (false, Some(node)) => lines.extend(self.along(node, braids)),
                (false, None) => {}
            }
        }
        self.lines.extend(lines);
    }

    /// True if the ends of a shield are one circuit without it.
    fn has_a_second_path(&self, cable: &CableId, stays: &mut [bool], least: &mut Least) -> bool {
        let Some([from, to]) = self.netlist.shield(cable) else {
            return false;
        };
        let braid = EdgeOf::Shield(cable.clone());
        let mut edges = self.netlist.edges_at(from);
        let Some(braid) = edges.find(|it| *self.netlist.of(*it) == braid) else {
            return false;
        };
        stays[braid.index()] = false;
        least.begin(self.netlist, stays, &[from]);
        stays[braid.index()] = true;
        least.ohm[to.index()].is_finite()
    }

    /// From a point of the circuit to each braid, the longest of them.
    fn along(&self, from: petgraph::graph::NodeIndex, braids: &[Braid<'_>]) -> Option<Line> {
        let mut stays = self.stays.to_vec();
        for braid in braids {
            if let Some(edge) = self.netlist.pigtail(braid.cable, braid.free) {
                stays[edge.index()] = false;
            }
        }
        let mut least = Least::over(self.netlist);
        least.begin(self.netlist, &stays, &[from]);
        let (mut path, mut ohm) = (Vec::new(), Some(0.0_f64));
        for braid in braids {
            let end = self.netlist.shield_end(braid.cable, braid.free)?;
            let (_, one) = least.path(self.netlist, end)?;
            let known = one.iter().all(|edge| self.is_known(*edge));
            let far = least.ohm[end.index()];
            ohm = ohm.filter(|_| known).map(|it| it.max(far));
            path.extend(one);
        }
        Some(Line {
            path,
            shields: of(braids),
            ..Line::new(
                Test::Continuity,
                self.end(from),
                End::Open,
                Expect::Ohm(ohm),
            )
        })
    }
}

fn of(braids: &[Braid<'_>]) -> Vec<(CableId, WireEnd)> {
    let one = |it: &Braid<'_>| (it.cable.clone(), it.free);
    braids.iter().map(one).collect()
}
