//! Volts and amps of the chosen state, for whoever shows them.

use std::sync::Arc;

use loomwright_core::{
    document::{Document, End, State},
    ids::{DeviceId, ElementId, StateId, WireId},
    netlist::Point,
    order::{Map, Sorted},
    rules::{self, Verdict},
    solve::{Figures, OperatingPoint, Overrides, Simulator},
};

/// What a check of the document found, and the circuit it made for that. Two are equal only if they
/// are the same one.
#[derive(Clone, Default)]
pub struct Checked(rules::Checked);

impl PartialEq for Checked {
    fn eq(&self, other: &Self) -> bool {
        Arc::ptr_eq(&self.0.points, &other.0.points)
            && Arc::ptr_eq(&self.0.verdict, &other.0.verdict)
    }
}

impl Checked {
    /// What was checked.
    pub fn new(checked: rules::Checked) -> Self {
        Self(checked)
    }

    /// What the rules say.
    pub fn verdict(&self) -> Arc<Verdict> {
        Arc::clone(&self.0.verdict)
    }

    /// Volts and amps in a state of the document that was checked: as the check solved it, unless
    /// something was operated by hand.
    pub fn solved(&self, document: &Document, id: &StateId, state: &State) -> Solved {
        let same =
            |point: &&OperatingPoint| point.state == *id && point.figures == Figures::Continuous;
        let known = self.0.points.iter().find(same);
        let known = known.filter(|_| document.states.get(id) == Some(state));
        let point = known.cloned().or_else(|| {
            let overrides = Overrides::default();
            let operate =
                |it: &mut Simulator| it.operate(id, state, Figures::Continuous, &overrides);
            self.0.ask(operate)
        });
        Solved(point.map(Arc::new))
    }
}

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

    /// Coils that hold their contacts, as `DEVICE/ELEMENT`.
    pub fn energised(&self) -> Sorted<String> {
        let coils = self.0.as_deref().map(OperatingPoint::energised_coils);
        coils.unwrap_or_default()
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
