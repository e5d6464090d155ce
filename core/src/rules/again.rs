//! Checks a document again after an edit. Results that the edit cannot have changed are reused: the circuit and its
//! solution where only figures differ, and the result of a rule that reads none of them. The verdict equals that of
//! a full check.

use std::sync::{Arc, Mutex};

use super::{Facts, RULES, Reads, Rule, Verdict, accept, rule::Outcome, run};
use crate::{
    document::{Device, Document, ElementKind, State, Wire},
    edit::{Change, Key, Record},
    ids::{DeviceId, WireId},
    solve::{OperatingPoint, Simulator},
};

/// What an edit touches that a check depends on, where nothing is joined or named otherwise.
struct Touched {
    /// No figure and no acceptance: the verdict stays, unless one of its fixes starts from a changed record.
    nothing: bool,
    figures: Reads,
    wires: Vec<WireId>,
    devices: Vec<DeviceId>,
}

/// What a check leaves for the next one.
struct LastCheck {
    circuit: Circuit,
    outcomes: Vec<Outcome>,
}

/// The circuit with its solver, lent out while a check runs.
type Circuit = Arc<Mutex<Option<Simulator>>>;

/// Checks one document after each edit.
#[derive(Default)]
pub struct Checker {
    kept: Option<LastCheck>,
    /// What the last check gave.
    last: Checked,
}

/// The result of a check: the verdict, and the circuit solved for it.
#[derive(Clone, Default)]
pub struct Checked {
    /// What the rules say.
    pub verdict: Arc<Verdict>,
    /// The operating points of every state.
    pub points: Arc<Vec<OperatingPoint>>,
    circuit: Circuit,
}

impl Checked {
    /// Asks the circuit a further question; none if there is no circuit.
    pub fn ask<T>(&self, question: impl FnOnce(&mut Simulator) -> T) -> Option<T> {
        let mut circuit = self.circuit.lock().ok()?;
        circuit.as_mut().map(question)
    }
}

impl Checker {
    /// Checks a document after `change` was made to the one checked last; without it, from nothing.
    pub fn check(&mut self, document: &Document, change: Option<&Change>) -> Checked {
        let touched = change.and_then(|change| touched(document, change));
        if let (Some(touched), Some(kept)) = (&touched, &self.kept)
            && touched.nothing
            && (RULES.iter().zip(&kept.outcomes))
                .all(|(rule, said)| still_holds(rule, said, touched.figures, change))
        {
            return self.last.clone();
        }
        let kept = self.kept.take();
        let (facts, kept) = match (touched, kept) {
            (Some(touched), Some(kept)) => match self.refit(document, &touched, &kept) {
                Some(facts) => (facts, Some((touched.figures, kept))),
                None => (Facts::new(document), None),
            },
            _ => (Facts::new(document), None),
        };
        let mut before = vec![None; RULES.len()];
        if let Some((figures, kept)) = kept {
            for ((rule, said), before) in RULES.iter().zip(kept.outcomes).zip(&mut before) {
                *before = still_holds(rule, &said, figures, change).then_some(said);
            }
        }
        let outcomes = run::each(&facts, RULES, before);
        let verdict = Arc::new(accept::settle(&facts, RULES, outcomes.clone()));
        let (simulator, points) = facts.into_solved();
        let circuit: Circuit = Arc::new(Mutex::new(Some(simulator)));
        self.last = Checked {
            verdict,
            points: Arc::new(points),
            circuit: Arc::clone(&circuit),
        };
        self.kept = Some(LastCheck { circuit, outcomes });
        self.last.clone()
    }

    /// The facts after an edit of figures, from the circuit of the last check.
    fn refit<'d>(
        &mut self,
        document: &'d Document,
        touched: &Touched,
        kept: &LastCheck,
    ) -> Option<Facts<'d>> {
        let mut simulator = kept.circuit.lock().ok()?.take()?;
        let last = std::mem::take(&mut self.last);
        let needs_solving = |changed| changed || touched.figures.intersects(Reads::SOLVED);
        // Points hold on to the circuit: without them it need not be copied.
        let mut points = Some(last.points);
        if touched.figures.intersects(Reads::SOLVED) {
            points = None;
        }
        let changed = simulator.refit(document, &touched.wires, &touched.devices)?;
        let points = points.filter(|_| !needs_solving(changed));
        let points =
            points.map(|points| Arc::try_unwrap(points).unwrap_or_else(|it| (*it).clone()));
        Some(Facts::with_circuit(document, simulator, points))
    }
}

/// True if a rule's result stays valid: it reads no figure that changed, and none of its fixes starts from a record
/// that did.
fn still_holds(rule: &Rule, said: &Outcome, figures: Reads, change: Option<&Change>) -> bool {
    let touches = |key: &Key| change.is_some_and(|it| it.steps().contains_key(key));
    let mends = said.found.iter().flat_map(|finding| &finding.mends);
    !rule.reads.intersects(figures)
        && !mends
            .into_iter()
            .any(|mend| mend.change.steps().keys().any(touches))
}

/// What a change affects; none if it changes connections or names.
fn touched(document: &Document, change: &Change) -> Option<Touched> {
    let mut touched = Touched {
        nothing: true,
        figures: Reads::JOINS,
        wires: Vec::new(),
        devices: Vec::new(),
    };
    for (key, step) in change.steps() {
        let figures = match (key, &step.before, &step.after) {
            // No rule reads sheets or the log; acceptances are settled each time.
            (Key::Sheet(_) | Key::Log(_) | Key::Accepted(_), ..) => Reads::JOINS,
            (Key::Wire(id), Some(Record::Wire(before)), Some(Record::Wire(after))) => {
                touched.wires.push(id.clone());
                wire_figures(before, after)?
            }
            (Key::Device(id), Some(Record::Device(before)), Some(Record::Device(after))) => {
                touched.devices.push(id.clone());
                device_figures(before, after)?
            }
            (Key::State(_), Some(Record::State(before)), Some(Record::State(after))) => {
                state_figures(before, after)?
            }
            (Key::Route(id), Some(Record::Route(before)), Some(Record::Route(after))) => {
                let mut same = after.clone();
                same.length_m = before.length_m;
                if same != *before {
                    return None;
                }
                let wires = document.wires.iter();
                let led = wires.filter(|(_, wire)| wire.route.contains(id));
                touched.wires.extend(led.map(|(id, _)| id.clone()));
                Reads::LENGTHS | Reads::SOLVED
            }
            _ => return None,
        };
        touched.nothing &= figures == Reads::JOINS && !matches!(key, Key::Accepted(_));
        touched.figures |= figures;
    }
    Some(touched)
}

fn wire_figures(before: &Wire, after: &Wire) -> Option<Reads> {
    let fused = before.fuse.as_ref().zip(after.fuse.as_ref());
    let same_fuse = match fused {
        Some((before, after)) => before.at == after.at,
        None => before.fuse.is_none() && after.fuse.is_none(),
    };
    let same_joins = before.from == after.from && before.to == after.to && same_fuse;
    if !same_joins || before.number != after.number {
        return None;
    }
    let mut figures = Reads::JOINS;
    if before.function != after.function {
        figures |= Reads::FUNCTIONS;
    }
    if before.length_m != after.length_m {
        figures |= Reads::LENGTHS | Reads::SOLVED;
    }
    if before.route != after.route {
        figures = Reads::ALL;
    }
    if before.gauge_awg != after.gauge_awg || before.conductor != after.conductor {
        figures |= Reads::SIZES | Reads::SOLVED;
    }
    if before.fuse != after.fuse {
        figures |= Reads::RATINGS | Reads::SIZES | Reads::SOLVED;
    }
    if before.insulation_c != after.insulation_c {
        figures |= Reads::SIZES;
    }
    Some(figures)
}

/// Figures of elements that make one edge whatever the figures are.
fn device_figures(before: &Device, after: &Device) -> Option<Reads> {
    let mut same = after.clone();
    if same.elements.len() != before.elements.len() {
        return None;
    }
    for (element, was) in same.elements.iter_mut().zip(&before.elements) {
        let figures_only = match (&element.is, &was.is) {
            (ElementKind::Load(now), ElementKind::Load(was)) => now.either_way == was.either_way,
            (ElementKind::Battery(_), ElementKind::Battery(_))
            | (ElementKind::Alternator(_), ElementKind::Alternator(_))
            | (ElementKind::Protector(_), ElementKind::Protector(_))
            | (ElementKind::Diode(_), ElementKind::Diode(_))
            | (ElementKind::Shunt(_), ElementKind::Shunt(_))
            | (ElementKind::Resistor(_), ElementKind::Resistor(_)) => true,
            _ => false,
        };
        if figures_only && element.is.terminals() == was.is.terminals() {
            element.is = was.is.clone();
        }
    }
    (same == *before).then_some(Reads::RATINGS | Reads::SOLVED)
}

fn state_figures(before: &State, after: &State) -> Option<Reads> {
    let same = State {
        switches: before.switches.clone(),
        pulled: before.pulled.clone(),
        loads: before.loads.clone(),
        alternators_on: before.alternators_on,
        ..after.clone()
    };
    (same == *before).then_some(Reads::SOLVED)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{
        edit, exchange, rules,
        testing::{
            aircraft,
            arbitrary::{self, Dice},
            document, whole,
        },
    };

    fn sorrel() -> Document {
        let file = include_bytes!("../../../public/samples/sorrel.json");
        exchange::open(file).expect("the sample opens").document
    }

    /// An edit of figures only: a check can follow it without starting again.
    fn figure_edit(document: &Document, dice: &mut Dice) -> Change {
        let mut after = document.clone();
        match dice.below(6) {
            5 => {
                let functions: Vec<String> =
                    after.wires.values().map(|it| it.function.clone()).collect();
                let (at, from) = (dice.below(functions.len()), dice.below(functions.len()));
                let wire = after.wires.values_mut().nth(at).expect("a wire");
                wire.function.clone_from(&functions[from]);
            }
            0 => {
                let at = dice.below(after.wires.len());
                let wire = after.wires.values_mut().nth(at).expect("a wire");
                wire.length_m = [None, Some(0.4), Some(25.0)][dice.below(3)];
            }
            1 => {
                let at = dice.below(after.wires.len());
                let wire = after.wires.values_mut().nth(at).expect("a wire");
                wire.gauge_awg =
                    [None, Some(8), Some(18), Some(24)][dice.below(4)].map(crate::units::Gauge);
                wire.insulation_c = [None, Some(105.0), Some(200.0)][dice.below(3)];
                if let Some(fuse) = &mut wire.fuse {
                    fuse.rating_a = [Some(3.0), None][dice.below(2)];
                }
            }
            2 => {
                let at = dice.below(after.devices.len());
                let device = after.devices.values_mut().nth(at).expect("a device");
                for element in &mut device.elements {
                    match &mut element.is {
                        ElementKind::Load(load) => load.continuous_a = load.peak_a.clone(),
                        ElementKind::Protector(it) => {
                            it.rating_a = [Some(20.0), None][dice.below(2)];
                        }
                        ElementKind::Battery(it) => it.emf_v = 12.1,
                        ElementKind::Alternator(it) => it.limit_a = 30.0,
                        _ => {}
                    }
                }
            }
            3 => {
                let at = dice.below(after.states.len());
                let state = after.states.values_mut().nth(at).expect("a state");
                state.switches.clear();
                state.alternators_on = !state.alternators_on;
            }
            _ => {
                let length_m = 1.0 + dice.below(9) as f64;
                for route in after.routes.values_mut() {
                    route.length_m = Some(length_m).filter(|it| *it > 1.0);
                }
            }
        }
        Change::between(document, &after)
    }

    #[track_caller]
    fn same(checked: &Checked, document: &Document, change: &Change) {
        let wanted = rules::check(document);
        assert!(
            *checked.verdict == wanted,
            "after {change:?}:\n{:#?}\nbut from nothing\n{wanted:#?}",
            checked.verdict
        );
        let points = crate::solve::operate_all(document);
        for (ours, theirs) in checked.points.iter().zip(&points) {
            for edge in theirs.netlist().graph.edge_indices() {
                assert_eq!(
                    ours.edge_amps(edge),
                    theirs.edge_amps(edge),
                    "after {change:?}"
                );
            }
        }
    }

    #[test]
    fn the_verdict_is_that_of_a_check_from_nothing() {
        let mut dice = Dice::new(11);
        for mut document in [whole(), sorrel(), aircraft(120)] {
            let mut checker = Checker::default();
            checker.check(&document, None);
            for n in 0..40 {
                let change = if n % 3 == 0 {
                    let which = dice.below(arbitrary::EDITS);
                    match arbitrary::edit(&document, which, &mut dice) {
                        Some(Ok(change)) => change,
                        _ => continue,
                    }
                } else {
                    figure_edit(&document, &mut dice)
                };
                change.apply(&mut document).expect("it was made for this");
                same(&checker.check(&document, Some(&change)), &document, &change);
            }
        }
    }

    #[test]
    fn several_edits_at_once_and_undone_ones_are_followed() {
        let mut document = sorrel();
        let mut checker = Checker::default();
        checker.check(&document, None);
        let mut dice = Dice::new(3);
        for _ in 0..10 {
            let first = figure_edit(&document, &mut dice);
            first.apply(&mut document).expect("it was made for this");
            let second = figure_edit(&document, &mut dice);
            second.apply(&mut document).expect("it was made for this");
            let both = first.then(&second);
            same(&checker.check(&document, Some(&both)), &document, &both);
            let back = both.invert();
            back.apply(&mut document).expect("it was just made");
            same(&checker.check(&document, Some(&back)), &document, &back);
        }
    }

    #[test]
    fn what_changes_no_figure_changes_no_verdict() {
        let mut document = document("battery BT1\n load LT1 1\n wire A BT1.+ LT1.+ 20 1m");
        let mut checker = Checker::default();
        let before = checker.check(&document, None);
        let mut wire = document.wires["A"].clone();
        wire.note = "landing light".into();
        let change = edit::update_record(&document, &Key::Wire("A".into()), Record::Wire(wire));
        let change = change.expect("a sound wire");
        change.apply(&mut document).expect("it was made for this");
        let after = checker.check(&document, Some(&change));
        same(&after, &document, &change);
        // A fix of the wire starts from the wire before the edit; without a fix the verdict is the same.
        let mends = before
            .verdict
            .findings
            .iter()
            .any(|it| !it.mends.is_empty());
        assert_eq!(Arc::ptr_eq(&before.verdict, &after.verdict), !mends);
    }
}
