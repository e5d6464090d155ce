//! Which earlier states of a project are kept: the more recent, the closer together.

use loomwright_core::order::InOrder;

/// Minutes between two states that are kept while a person edits.
pub const EVERY_MIN: f64 = 5.0;
const MINUTE_MS: f64 = 60_000.0;
const HOUR_MS: f64 = 60.0 * MINUTE_MS;
const DAY_MS: f64 = 24.0 * HOUR_MS;
/// Older ones go.
const DAYS: f64 = 30.0;
/// Most bytes of the states of one project.
pub const ROOM_BYTES: usize = 16 * 1024 * 1024;

/// An earlier state, without its text.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct State {
    /// Which saving it was.
    pub turn: u64,
    /// When, by the clock of that day, ms.
    pub time_ms: f64,
    /// Its size.
    pub bytes: usize,
}

/// The turns of states that are to go, so that what is left is: everything of the last hour, one for each
/// hour of the last day, one for each of the last 30 days, and together no more than the room. A clock that
/// went back makes states from the future: they count as made now. The newest always stays.
pub fn to_go(states: &[State], now_ms: f64, room_bytes: usize) -> Vec<u64> {
    let mut states = states.to_vec();
    states.order_by_key(|state| std::cmp::Reverse(state.turn));
    let (mut go, mut seen, mut bytes) = (Vec::new(), Vec::new(), 0);
    for (n, state) in states.iter().enumerate() {
        let age_ms = (now_ms - state.time_ms).max(0.0);
        let of = |size_ms: f64| Some((size_ms, (state.time_ms / size_ms).floor()));
        // What may be there once: nothing for the last hour, an hour, a day.
        let span = match age_ms {
            age if age < HOUR_MS => None,
            age if age < DAY_MS => of(HOUR_MS),
            _ => of(DAY_MS),
        };
        let is_there = span.is_some_and(|span| seen.contains(&span));
        let is_old = age_ms > DAYS * DAY_MS;
        let is_much = bytes + state.bytes > room_bytes;
        if n > 0 && (is_there || is_old || is_much) {
            go.push(state.turn);
            continue;
        }
        bytes += state.bytes;
        seen.extend(span);
    }
    go
}

#[cfg(test)]
mod tests {
    use super::*;

    const NOW: f64 = 1_800_000_000_000.0;

    fn every(minutes: f64, count: u64) -> Vec<State> {
        (1..=count)
            .map(|turn| State {
                turn,
                time_ms: NOW - (count - turn) as f64 * minutes * MINUTE_MS,
                bytes: 25_000,
            })
            .collect()
    }

    #[test]
    fn thirty_days_of_work_are_an_hour_in_full_then_hours_then_days() {
        let all = every(EVERY_MIN, 12 * 24 * 40);
        let go = to_go(&all, NOW, ROOM_BYTES);
        let left: Vec<&State> = all.iter().filter(|it| !go.contains(&it.turn)).collect();
        let younger = |ms: f64| left.iter().filter(|it| NOW - it.time_ms < ms).count();
        assert_eq!(younger(HOUR_MS), 12);
        assert!(
            (12 + 23..=12 + 25).contains(&younger(DAY_MS)),
            "{}",
            younger(DAY_MS)
        );
        assert!((64..=69).contains(&left.len()), "{}", left.len());
        assert!(left.iter().all(|it| NOW - it.time_ms <= DAYS * DAY_MS));
        // Thinning again takes nothing.
        let left: Vec<State> = left.into_iter().copied().collect();
        assert_eq!(to_go(&left, NOW, ROOM_BYTES), [0; 0]);
    }

    #[test]
    fn they_fit_the_room_and_the_newest_stays() {
        let all = every(1.0, 30);
        let go = to_go(&all, NOW, 100_000);
        assert_eq!(all.len() - go.len(), 4);
        assert!(!go.contains(&30));
        let big = [State {
            bytes: ROOM_BYTES * 2,
            ..all[29]
        }];
        assert_eq!(to_go(&big, NOW, ROOM_BYTES), [0; 0]);
        let old = [State {
            time_ms: 0.0,
            ..all[0]
        }];
        assert_eq!(to_go(&old, NOW, ROOM_BYTES), [0; 0]);
    }

    #[test]
    fn a_clock_that_went_back_loses_nothing() {
        let mut all = every(EVERY_MIN, 12);
        // The clock was a year ahead, and is right now.
        for state in &mut all[..6] {
            state.time_ms += 365.0 * DAY_MS;
        }
        assert_eq!(to_go(&all, NOW, ROOM_BYTES), [0; 0]);
    }
}
