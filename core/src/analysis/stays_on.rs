//! What stays on if a relay contact welds closed, and what also runs if a diode conducts both ways.

use crate::order::InOrder;

use super::failures::runs;
use crate::{
    document::{Document, ElementKind, LoadUse, Mate, State},
    ids::{DeviceId, ElementId, StateId},
    netlist::EdgeOf,
    solve::{AT_REST, OperatingPoint, Simulator},
};

/// How a part fails closed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Closed {
    /// A contact that does not open: its points are welded together.
    Contact,
    /// A diode that conducts both ways.
    Diode,
}

/// What a part that fails closed keeps on, in one situation.
#[derive(Clone, Debug, PartialEq)]
pub struct StaysOn {
    /// The device and its contact or diode.
    pub part: (DeviceId, ElementId),
    /// How it fails.
    pub closed: Closed,
    /// The phase; `None` with every switch at rest.
    pub state: Option<StateId>,
    /// Loads that run then, and do not with the part as it should be: device and element.
    pub loads: Vec<(DeviceId, ElementId)>,
    /// Why the circuit then does not run as it should, if it did before.
    pub problem: Option<String>,
}

/// What every contact that does not open keeps on with every switch at rest and in the state of the review, and what
/// every diode that conducts both ways feeds in the states without alternator; in the state of the review with its
/// alternators stopped if there is none. Only what has an effect.
pub fn stays_on(document: &Document, reviewed: (&StateId, &State)) -> Vec<StaysOn> {
    let rest = (None, StateId::from(AT_REST), State::default());
    let now = (
        Some(reviewed.0.clone()),
        reviewed.0.clone(),
        reviewed.1.clone(),
    );
    let of_contacts = situations(document, vec![rest, now]);
    let of_diodes = situations(document, without_alternator(document, reviewed));
    let mut all = Vec::new();
    for (id, device) in &document.devices {
        for (at, element) in device.elements.iter().enumerate() {
            let (closed, a, b, situations) = match &element.is {
                ElementKind::Contact(it) => (Closed::Contact, &it.a, &it.b, &of_contacts),
                ElementKind::Diode(it) => (Closed::Diode, &it.anode, &it.cathode, &of_diodes),
                _ => continue,
            };
            let mut failed = document.clone();
            if let Some(device) = failed.devices.get_mut(id) {
                device.elements[at].is = ElementKind::Mate(Mate {
                    a: a.clone(),
                    b: b.clone(),
                    ohm: None,
                    extra: crate::document::Extra::new(),
                });
            }
            let mut simulator = Simulator::new(&failed);
            for Situation {
                told,
                key,
                state,
                before,
            } in situations
            {
                let (after, _) = simulator.running(key, state);
                let ran = running(before);
                let loads = running(&after).into_iter().filter(|it| !ran.contains(it));
                let loads: Vec<_> = loads.collect();
                let problem = after.problem.filter(|_| before.problem.is_none());
                if loads.is_empty() && problem.is_none() {
                    continue;
                }
                all.push(StaysOn {
                    part: (id.clone(), element.id.clone()),
                    closed,
                    state: told.clone(),
                    loads,
                    problem,
                });
            }
        }
    }
    all
}

/// A state that is solved with every part as it should be.
struct Situation {
    told: Option<StateId>,
    key: StateId,
    state: State,
    before: OperatingPoint,
}

fn situations(
    document: &Document,
    states: Vec<(Option<StateId>, StateId, State)>,
) -> Vec<Situation> {
    let mut simulator = Simulator::new(document);
    let states = states.into_iter().map(|(told, key, mut state)| {
        work(document, &mut state);
        let (before, _) = simulator.running(&key, &state);
        Situation {
            told,
            key,
            state,
            before,
        }
    });
    states.collect()
}

/// Lets loads without a continuous current, such as a starter, take their intermittent one: once a part fails closed,
/// nobody switches them off. A load that the state sets stays as it is set.
fn work(document: &Document, state: &mut State) {
    for (id, device) in &document.devices {
        for element in &device.elements {
            let ElementKind::Load(load) = &element.is else {
                continue;
            };
            let key = format!("{id}/{}", element.id);
            if load.continuous_a.is_none() && state.loads.get(&key).is_none() {
                state.loads.insert(key, LoadUse::Intermittent);
            }
        }
    }
}

fn without_alternator(
    document: &Document,
    reviewed: (&StateId, &State),
) -> Vec<(Option<StateId>, StateId, State)> {
    let stopped = |(id, state): (&StateId, &State)| {
        let state = State {
            alternators_on: false,
            ..state.clone()
        };
        (Some(id.clone()), id.clone(), state)
    };
    let mut states: Vec<_> = (document.states.iter())
        .filter(|(_, state)| !state.alternators_on || state.after_alternator.is_some())
        .collect();
    if states.is_empty() {
        states.push(reviewed);
    }
    states.order_by_key(|(_, state)| state.order);
    states.into_iter().map(stopped).collect()
}

/// The loads that run, by device and element: edges of two documents are not the same.
fn running(point: &OperatingPoint) -> Vec<(DeviceId, ElementId)> {
    let loads = point.netlist().loads().map(|(load, _)| load);
    let running = loads.filter(|load| runs(point, *load));
    let named = running.filter_map(|load| match point.netlist().of(load) {
        EdgeOf::Element(device, element, _) => Some((device.clone(), element.clone())),
        _ => None,
    });
    named.collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{analysis::failures::usual_state, testing::document};

    fn told(text: &str) -> Vec<(String, Option<String>, Vec<String>)> {
        let document = document(text);
        let state = usual_state(&document).expect("a state");
        let all = stays_on(&document, state).into_iter().map(|it| {
            let loads = it.loads.iter().map(|(device, _)| device.to_string());
            let state = it.state.map(|id| id.to_string());
            (it.part.0.to_string(), state, loads.collect())
        });
        all.collect()
    }

    const MASTER: &str = "
        battery BT1
        contactor K1 BAT LOAD COIL+ COIL-
        contactor K2 IN OUT C+ C-
        switch S1 1-2
        switch S2 1-2
        load FD1 2
        load M1 - intermittent=100
        wire P BT1.+ K1.BAT 4 1m
        wire A K1.LOAD FD1.+ 18 1m
        wire N FD1.- BT1.- 18 1m
        wire C BT1.+ K1.COIL+ 20 1m
        wire D K1.COIL- S1.1 20 1m
        wire E S1.2 BT1.- 20 1m
        wire Q K1.LOAD K2.IN 4 1m
        wire R K2.OUT M1.+ 4 1m
        wire S M1.- BT1.- 4 1m
        wire F K1.LOAD K2.C+ 20 1m
        wire G K2.C- S2.1 20 1m
        wire H S2.2 BT1.- 20 1m
        state FLY on=S1
    ";

    #[test]
    fn a_master_contactor_keeps_its_bus_on_and_a_starter_contactor_its_motor() {
        let names = |names: &[&str]| names.iter().map(|it| (*it).to_owned()).collect::<Vec<_>>();
        assert_eq!(
            told(MASTER),
            [
                ("K1".into(), None, names(&["FD1"])),
                ("K2".into(), Some("FLY".into()), names(&["M1"])),
            ]
        );
    }

    #[test]
    fn a_diode_that_conducts_both_ways_feeds_the_main_bus_without_alternator() {
        let text = "
            battery BT1
            diode D1
            switch S1 1-2
            load FD1 2
            load LT1 3
            wire P BT1.+ FD1.+ 12 1m
            wire N FD1.- BT1.- 12 1m
            wire A D1.K FD1.+ 14 1m
            wire B LT1.+ D1.A 14 1m
            wire M LT1.- BT1.- 14 1m
            wire C BT1.+ S1.1 14 1m
            wire D S1.2 LT1.+ 14 1m
            state FLY on=S1 running
            state OUT after=essential";
        assert_eq!(
            told(text),
            [("D1".into(), Some("OUT".into()), vec!["LT1".into()])]
        );
        // Without such a phase, the reviewed one with its alternators stopped: S1 is on, and nothing else runs.
        let without = text.replace("state OUT after=essential", "");
        assert_eq!(told(&without), []);
    }
}
