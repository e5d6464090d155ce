//! The alternator stops: from the phase in which it does to essential loads only, one movement after the other, and
//! what to turn off then.

use super::hands::{Act, Hands, Solved, Step};
use crate::{
    document::{Document, State},
    order::InOrder,
};

/// Loads offered to turn off at most: what fits on a card.
const MOST_NEXT: usize = 8;

/// The card.
#[derive(Clone, Debug, PartialEq)]
pub struct AlternatorOut {
    /// Title of the phase in which the alternator stops.
    pub phase: String,
    /// Nothing done, then each movement to essential loads only.
    pub steps: Vec<Step>,
    /// What to turn off next, the largest current first; each after all before it.
    pub next: Vec<Step>,
    /// True if a unit is marked as one that must keep working: it is not offered.
    pub knows_critical: bool,
    /// Loads that run to the end and that nothing in reach turns off alone.
    pub fixed: Vec<String>,
    /// What could not be computed, and why.
    pub missing: Vec<String>,
}

/// The card of a document; `None` if it has no phase.
pub fn alternator_out(document: &Document) -> Option<AlternatorOut> {
    let mut hands = Hands::new(document);
    let (card, _) = shed(&mut hands)?;
    Some(card)
}

/// The card, and the state after its steps, before anything is turned off next.
pub(super) fn shed(hands: &mut Hands<'_>) -> Option<(AlternatorOut, State)> {
    let (_, mut state) = hands.before()?;
    let mut card = AlternatorOut {
        phase: state.title.clone(),
        steps: Vec::new(),
        next: Vec::new(),
        knows_critical: hands.document.devices.values().any(|it| it.critical),
        fixed: Vec::new(),
        missing: hands.missing().to_vec(),
    };
    let start = hands.solve(&state);
    card.steps.push(hands.step(None, &start, &state));
    match hands.essential() {
        Some((_, essential)) => {
            let acts = acts(hands, &state, &essential);
            for act in in_order(hands, &state, acts) {
                take(hands, &mut state, &mut card.steps, act);
            }
        }
        None => card.missing.push(
            "No phase is marked \u{201c}essential loads only\u{201d}: which switches lead there is not known".into(),
        ),
    }
    let shed = state.clone();
    turn_off(hands, &mut card, &mut state);
    Some((card, shed))
}

fn take(hands: &mut Hands<'_>, state: &mut State, steps: &mut Vec<Step>, act: Act) {
    let before = hands.solve(state);
    act.apply(state);
    steps.push(hands.step(Some(act), &before, state));
}

/// The movements from one state to another that matter: without any of them something else would run.
fn acts(hands: &mut Hands<'_>, from: &State, to: &State) -> Vec<Act> {
    let mut acts = Vec::new();
    for load in to.loads.keys() {
        let off = |state: &State| state.loads.get(load) == Some(&crate::document::LoadUse::Off);
        if off(to) && !off(from) {
            acts.push(Act::Off(load.clone()));
        }
    }
    let pulled = to.pulled.iter().filter(|it| !from.pulled.contains(it));
    acts.extend(pulled.cloned().map(Act::Pull));
    for (key, _, rest) in hands.switches() {
        let of = |state: &State| state.position(&key, rest);
        if of(from) != of(to) {
            acts.push(Act::Switch(key.clone(), of(to)));
        }
    }
    let after = |acts: &[Act]| {
        let mut state = from.clone();
        for act in acts {
            act.apply(&mut state);
        }
        state
    };
    let wanted = hands.solve(&after(&acts));
    let mut at = 0;
    while at < acts.len() {
        let mut fewer = acts.clone();
        fewer.remove(at);
        match hands.solve(&after(&fewer)).is_same(&wanted) {
            true => acts = fewer,
            false => at += 1,
        }
    }
    acts
}

/// The order in which nothing that runs at the end goes out in between; where there is none, the fewest do.
fn in_order(hands: &mut Hands<'_>, from: &State, mut acts: Vec<Act>) -> Vec<Act> {
    let mut state = from.clone();
    let mut end = from.clone();
    for act in &acts {
        act.apply(&mut end);
    }
    let end = hands.solve(&end);
    let mut ordered = Vec::new();
    while !acts.is_empty() {
        let now = hands.solve(&state);
        let mut best = (usize::MAX, 0);
        for (at, act) in acts.iter().enumerate() {
            let mut next = state.clone();
            act.apply(&mut next);
            let next = hands.solve(&next);
            let goes_out = |it: &&(String, f64)| end.has(&it.0) && !next.has(&it.0);
            let out = now.runs.iter().filter(goes_out).count();
            best = best.min((out, at));
        }
        let act = acts.remove(best.1);
        act.apply(&mut state);
        ordered.push(act);
    }
    ordered
}

/// What to turn off next: the largest current first, by the movement that stops the fewest others.
fn turn_off(hands: &mut Hands<'_>, card: &mut AlternatorOut, state: &mut State) {
    let now = hands.solve(state);
    let means = means(hands, state, &now);
    let mut left = now.runs.clone();
    left.retain(|it| !hands.is_critical(&it.0) && !hands.is_field(&it.0));
    left.order_by(|a, b| b.1.total_cmp(&a.1).then_with(|| a.0.cmp(&b.0)));
    let mut off: Vec<String> = Vec::new();
    for (load, _) in left {
        if off.contains(&load) {
            continue;
        }
        let stops = means.iter().filter(|it| it.1.contains(&load));
        let best = stops.min_by_key(|it| it.1.len());
        let Some((act, stopped)) = best.filter(|it| it.1.len() < now.runs.len()) else {
            card.fixed.push(load);
            continue;
        };
        let keeps = |it: &String| !hands.is_critical(it);
        if !stopped.iter().all(keeps) {
            card.fixed.push(load);
            continue;
        }
        off.extend(stopped.iter().cloned());
        if card.next.len() < MOST_NEXT {
            take(hands, state, &mut card.next, act.clone());
        }
    }
}

/// Each movement, and the loads that it stops: switches first, then switches of units, then breakers.
fn means(hands: &mut Hands<'_>, state: &State, now: &Solved) -> Vec<(Act, Vec<String>)> {
    let mut acts = hands.moves(state);
    let own = now.runs.iter().filter(|it| hands.has_own_switch(&it.0));
    acts.extend(own.map(|it| Act::Off(it.0.clone())));
    acts.extend(hands.protectors(false).into_iter().map(Act::Pull));
    let mut all = Vec::new();
    for act in acts {
        let mut next = state.clone();
        act.apply(&mut next);
        let after = hands.solve(&next);
        let starts = after.runs.iter().any(|it| !now.has(&it.0));
        let stopped: Vec<_> = (now.runs.iter())
            .filter(|it| !after.has(&it.0))
            .map(|it| it.0.clone())
            .collect();
        if !stopped.is_empty() && !starts {
            all.push((act, stopped));
        }
    }
    all
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::document;

    /// 10 Ah, all of it usable: 5 A for 2 h, 3 A alone for 200 min (worked by hand). S1 feeds B, and A through D1; S2
    /// feeds A alone.
    const TWO_FEEDS: &str = "battery BT1 emf=12 ohm=1e-6 ah=10 age=1 rate=1 curve=0:11,1:12
        switch S1 1-2
        switch S2 1-2
        diode D1
        load A 3 law=current
        load B 2 law=current
        wire P1 BT1.+ S1.1 2 1m
        wire P2 S1.2 B.+ 2 1m
        wire P3 S1.2 D1.A 2 1m
        wire P4 D1.K A.+ 2 1m
        wire P5 BT1.+ S2.1 2 1m
        wire P6 S2.2 A.+ 2 1m
        wire N1 A.- BT1.- 2 1m
        wire N2 B.- BT1.- 2 1m
        state FLY on=S1 running
        state OUT on=S2 after=essential";

    fn steps(document: &Document) -> Vec<(Option<Act>, f64, Vec<String>)> {
        let card = alternator_out(document).expect("it has phases");
        let told = |it: Step| (it.act, it.minutes.expect("it ends").round(), it.lost);
        card.steps.into_iter().map(told).collect()
    }

    #[test]
    fn a_bus_has_its_other_feed_before_it_loses_the_first() {
        let document = document(TWO_FEEDS);
        let key = |tag: &str| {
            let found = document.devices.iter().find(|(_, it)| it.tag == tag);
            let (id, device) = found.expect("drawn");
            format!("{id}/{}", device.elements[0].id)
        };
        assert_eq!(
            steps(&document),
            [
                (None, 120.0, vec![]),
                (Some(Act::Switch(key("S2"), 1)), 120.0, vec![]),
                (Some(Act::Switch(key("S1"), 0)), 200.0, vec![key("B")]),
            ]
        );
    }

    /// Until the pilot acts after half an hour, 2.5 Ah of the 10 are gone: 7.5 Ah at 3 A are 150 min more.
    #[test]
    fn minutes_count_from_when_the_alternator_stops() {
        let mut document = document(TWO_FEEDS);
        document.project.shed_after_min = Some(30.0);
        let last = steps(&document).pop().expect("a step");
        assert_eq!(last.1, 180.0);
    }

    #[test]
    fn without_a_capacity_or_a_marked_phase_the_card_says_so() {
        let document = document(
            &TWO_FEEDS
                .replace("ah=10 ", "")
                .replace(" after=essential", ""),
        );
        let card = alternator_out(&document).expect("it has phases");
        assert_eq!(card.missing.len(), 2, "{:?}", card.missing);
        assert_eq!(card.steps.len(), 1);
        assert_eq!(card.steps[0].minutes, None);
        // S1 alone would stop everything that runs: no way to turn off one of the two.
        assert_eq!((card.next.len(), card.fixed.len()), (0, 2));
    }
}
