//! What was operated by hand, over the chosen state.

use loomwright_core::{document::State, order::Map};

/// Switches and breakers operated by hand since a state was chosen.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Moves {
    /// Switch positions by `DEVICE/ELEMENT`.
    pub switches: Map<String, usize>,
    /// True for a breaker pulled, false for one pushed back in.
    pub pulled: Map<String, bool>,
}

impl Moves {
    /// True if every switch and breaker is as the state says.
    pub fn is_empty(&self) -> bool {
        self.switches.is_empty() && self.pulled.is_empty()
    }

    /// How many things were operated.
    pub fn len(&self) -> usize {
        self.switches.len() + self.pulled.len()
    }

    /// The state with these moves made.
    pub fn applied(&self, state: &State) -> State {
        let mut state = state.clone();
        state
            .switches
            .extend(self.switches.iter().map(|(key, at)| (key.clone(), *at)));
        for (key, pulled) in &self.pulled {
            state.pulled.retain(|there| there != key);
            if *pulled {
                state.pulled.push(key.clone());
            }
        }
        state
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn moves_stand_over_the_state_and_leave_the_rest() {
        let state = State {
            pulled: vec!["bus/cb1".into(), "bus/cb2".into()],
            switches: Map::from([("s1/s".into(), 0), ("s2/s".into(), 1)]),
            ..State::default()
        };
        let moves = Moves {
            switches: Map::from([("s1/s".into(), 2)]),
            pulled: Map::from([("bus/cb1".into(), false), ("bus/cb3".into(), true)]),
        };
        let now = moves.applied(&state);
        assert_eq!(now.switches["s1/s"], 2);
        assert_eq!(now.switches["s2/s"], 1);
        assert_eq!(now.pulled, ["bus/cb2", "bus/cb3"]);
        assert_eq!(Moves::default().applied(&state), state);
    }
}
