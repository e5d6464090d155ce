//! Smoke: the fewest movements that take the supply from the most, what to leave alone then, and what each switch
//! brings back.

use super::hands::{Act, Hands, Step};
use crate::document::{Document, State};

/// Movements at most: more would not be done in smoke.
const MOST: usize = 6;

/// The card.
#[derive(Clone, Debug, PartialEq)]
pub struct Smoke {
    /// Title of the phase.
    pub phase: String,
    /// The movements, one after the other, the alternator turning.
    pub off: Vec<Step>,
    /// Switches that are off and would bring loads back: leave them. Their present position.
    pub leave: Vec<Act>,
    /// What brings something back on the batteries alone, each from everything off, the fewest loads first.
    pub back: Vec<Step>,
    /// What could not be computed, and why.
    pub missing: Vec<String>,
}

/// The card of a document; `None` if it has no phase.
pub fn smoke(document: &Document) -> Option<Smoke> {
    let mut hands = Hands::new(document);
    let (_, before) = hands.before()?;
    let mut card = Smoke {
        phase: before.title.clone(),
        off: Vec::new(),
        leave: Vec::new(),
        back: Vec::new(),
        missing: hands.missing().to_vec(),
    };
    let mut state = State {
        alternators_on: true,
        ..before
    };
    for act in all_off(&mut hands, &mut state.clone()) {
        let now = hands.solve(&state);
        act.apply(&mut state);
        card.off.push(hands.step(Some(act), &now, &state));
    }
    let off = State {
        alternators_on: false,
        ..state
    };
    let dark = hands.solve(&off);
    let mut back = Vec::new();
    for act in hands.moves(&off) {
        let mut next = off.clone();
        act.apply(&mut next);
        let after = hands.solve(&next);
        if after.keys().iter().any(|it| !dark.has(it)) {
            back.push((after.runs.len(), act));
        }
    }
    back.sort();
    for (_, act) in back {
        let Act::Switch(key, _) = &act else { continue };
        if let Some(now) = hands
            .stands(key, &off)
            .filter(|it| !card.leave.contains(it))
        {
            card.leave.push(now);
        }
        let mut next = off.clone();
        act.apply(&mut next);
        card.back.push(hands.step(Some(act), &dark, &next));
    }
    Some(card)
}

/// Movements of switches until none stops anything more, each the one that leaves the least.
pub(super) fn all_off(hands: &mut Hands<'_>, state: &mut State) -> Vec<Act> {
    let mut acts = Vec::new();
    let mut now = hands.solve(state);
    while acts.len() < MOST {
        let mut best = None;
        for act in hands.moves(state) {
            let mut next = state.clone();
            act.apply(&mut next);
            let after = hands.solve(&next);
            let least = best.as_ref().map_or(&now, |(_, least)| least);
            if after.is_less(least) {
                best = Some((act, after));
            }
        }
        let Some((act, after)) = best else { break };
        act.apply(state);
        acts.push(act);
        now = after;
    }
    acts
}
