//! What no switch and no breaker turns off, what does, and what a contactor that stays closed keeps on.

use super::{
    hands::{Act, Hands},
    smoke::all_off,
};
use crate::{
    analysis::stays_on::{Closed, stays_on},
    document::{Document, End, State},
    netlist::Point,
    order::InOrder,
    solve::{LIVE_ABOVE_V, OperatingPoint},
};

/// The card.
#[derive(Clone, Debug, PartialEq)]
pub struct StaysLive {
    /// What is turned off first: the switches of the smoke card.
    pub switches: Vec<Act>,
    /// What is still live with these switches so and every breaker pulled.
    pub circuits: Vec<Circuit>,
    /// Loads that run on when a contact does not open, every switch at rest.
    pub welded: Vec<Welded>,
}

/// Terminals that go dead together.
#[derive(Clone, Debug, PartialEq)]
pub struct Circuit {
    /// The fuse that takes them off, by key; `None` if only the battery does.
    pub fuse: Option<String>,
    /// The terminals.
    pub live: Vec<End>,
    /// Loads that run there, by key.
    pub runs: Vec<String>,
}

/// A contact that does not open.
#[derive(Clone, Debug, PartialEq)]
pub struct Welded {
    /// The contact, by key.
    pub contact: String,
    /// Loads that run on, by key.
    pub runs: Vec<String>,
}

/// The card of a document; `None` if it has no phase.
pub fn stays_live(document: &Document) -> Option<StaysLive> {
    let mut hands = Hands::new(document);
    let (id, before) = hands.before()?;
    let mut state = State {
        alternators_on: true,
        ..before.clone()
    };
    let switches = all_off(&mut hands, &mut state);
    for key in hands.protectors(false) {
        Act::Pull(key).apply(&mut state);
    }
    let now = hands.solve(&state);
    let mut live = live(document, &now.point);
    let mut runs = now.keys();
    let mut circuits = Vec::new();
    for fuse in hands.protectors(true) {
        let mut next = state.clone();
        Act::Pull(fuse.clone()).apply(&mut next);
        let after = hands.solve(&next);
        let still = self::live(document, &after.point);
        let (stay, dead): (Vec<End>, Vec<End>) =
            live.into_iter().partition(|it| still.contains(it));
        live = stay;
        let (on, off): (Vec<String>, Vec<String>) = runs.into_iter().partition(|it| after.has(it));
        runs = on;
        if !dead.is_empty() || !off.is_empty() {
            circuits.push(Circuit {
                fuse: Some(fuse),
                live: dead,
                runs: off,
            });
        }
    }
    if !live.is_empty() {
        let battery = Circuit {
            fuse: None,
            live,
            runs,
        };
        circuits.insert(0, battery);
    }
    let mut welded = Vec::new();
    for it in stays_on(document, (&id, &before)) {
        if it.closed == Closed::Contact && it.state.is_none() && !it.loads.is_empty() {
            let runs = it
                .loads
                .iter()
                .map(|(device, element)| format!("{device}/{element}"));
            welded.push(Welded {
                contact: format!("{}/{}", it.part.0, it.part.1),
                runs: runs.collect(),
            });
        }
    }
    Some(StaysLive {
        switches,
        circuits,
        welded,
    })
}

/// Terminals that are live.
fn live(document: &Document, point: &OperatingPoint) -> Vec<End> {
    let mut all = Vec::new();
    for (id, device) in &document.devices {
        for terminal in &device.terminals {
            let at = Point::Terminal(id.clone(), terminal.id.clone());
            if point.volts(&at).is_some_and(|it| it.abs() > LIVE_ABOVE_V) {
                all.push(End::Terminal(id.clone(), terminal.id.clone()));
            }
        }
    }
    all.order();
    all
}
