//! Volts and amps of the chosen state, for whoever shows them.

use loomwright_core::order::Map;
use std::sync::Arc;

use loomwright_core::{
    document::{Document, End, State},
    ids::{DeviceId, ElementId, StateId, WireId},
    netlist::Point,
    solve::{self, Figures, OperatingPoint},
};

/// The operating point of the chosen state. Two are equal only if they are the same one.
#[derive(Clone, Default)]
pub struct Solved(Option<Arc<OperatingPoint>>);

impl PartialEq for Solved {
    fn eq(&self, other: &Self) -> bool {
        match (&self.0, &other.0) {
            (Some(a), Some(b)) => Arc::ptr_eq(a, b),
            (None, None) => true,
            _ => false,
        }
    }
}

impl Solved {
    /// Solves a document in a state.
    pub fn of(document: &Document, id: &StateId, state: &State) -> Self {
        Self(Some(Arc::new(solve::operate(
            document,
            id,
            state,
            Figures::Continuous,
        ))))
    }

    fn at(&self, end: &End) -> Option<(&OperatingPoint, Point)> {
        let point = match end {
            End::Terminal(device, terminal) => Point::Terminal(device.clone(), terminal.clone()),
            End::Splice(id) => Point::Splice(id.clone()),
            End::Structure(id) => Point::Structure(id.clone()),
            End::Open => return None,
        };
        Some((self.0.as_deref()?, point))
    }

    /// Volts at an end.
    pub fn volts(&self, end: &End) -> Option<f64> {
        let (solved, point) = self.at(end)?;
        solved.volts(&point)
    }

    fn live_v(&self, end: &End) -> Option<f64> {
        let (solved, point) = self.at(end)?;
        solved.volts(&point).filter(|_| solved.is_live(&point))
    }

    /// The wires with an end that is live, and the higher of their volts.
    pub fn live_wires(&self, document: &Document) -> Map<WireId, f64> {
        let wires = document.wires.iter();
        wires
            .filter_map(|(id, wire)| {
                let ends = [self.live_v(&wire.from), self.live_v(&wire.to)];
                let volts = ends.into_iter().flatten().reduce(f64::max)?;
                Some((id.clone(), volts))
            })
            .collect()
    }

    /// Amps in a wire, positive from its `from` to its `to`.
    pub fn wire_amps(&self, wire: &WireId) -> Option<f64> {
        self.0.as_deref()?.wire_amps(wire)
    }

    /// Amps in an element.
    pub fn element_amps(&self, device: &DeviceId, element: &ElementId) -> Option<f64> {
        self.0.as_deref()?.element_amps(device, element)
    }

    /// Why the figures are not to be trusted, if they are not.
    pub fn problem(&self) -> Option<String> {
        self.0.as_deref()?.problem.clone()
    }
}
