//! What is dragged rests a little longer where a wire of its becomes straight, so that the hand feels it.

use loomwright_core::{
    document::Document,
    drawing::{
        geometry::{Facing, snap},
        scene::{PinSpot, Scene},
    },
    ids::ItemId,
};

/// How far from such a place the pointer may be, mm: more than half a step of the lattice, so that the place is
/// felt, and less than a whole one, so that the next place can still be chosen.
const REACH_MM: f64 = 2.0;

/// Movements at which wires become straight, mm.
#[derive(Default)]
pub struct Magnet {
    across: Vec<f64>,
    down: Vec<f64>,
}

impl Magnet {
    /// Of the wires from items to what stays where it is.
    pub fn of(document: &Document, scene: &Scene, items: &[ItemId]) -> Self {
        let mut magnet = Self::default();
        let moves = |item: &ItemId| items.contains(item);
        let moving = scene.pins.iter().filter(|((item, _), _)| moves(item));
        let moving: Vec<&PinSpot> = moving.map(|(_, spot)| spot).collect();
        for wire in scene.paths.keys().filter_map(|id| document.wires.get(id)) {
            for (end, other) in [(&wire.from, &wire.to), (&wire.to, &wire.from)] {
                for spot in moving.iter().filter(|spot| spot.end == *end) {
                    let there = scene.pins.iter().filter(|(_, spot)| spot.end == *other);
                    let stays = there.filter(|((item, _), _)| !moves(item));
                    stays.for_each(|(_, stays)| magnet.add(spot, stays));
                }
            }
        }
        magnet
    }

    fn add(&mut self, moves: &PinSpot, stays: &PinSpot) {
        let is_level = |it: &PinSpot| matches!(it.facing, Facing::Left | Facing::Right);
        match (is_level(moves), is_level(stays)) {
            (true, true) => self.down.push(stays.at.y - moves.at.y),
            (false, false) => self.across.push(stays.at.x - moves.at.x),
            _ => {}
        }
    }

    /// A movement as it is made: to the lattice, and where a wire becomes straight if that is close.
    pub fn pull(&self, (dx, dy): (f64, f64)) -> (f64, f64) {
        (rest(dx, &self.across), rest(dy, &self.down))
    }
}

fn rest(by_mm: f64, straight_at: &[f64]) -> f64 {
    let far = |at: &f64| (by_mm - at).abs();
    let nearest = straight_at
        .iter()
        .copied()
        .min_by(|a, b| far(a).total_cmp(&far(b)));
    nearest
        .filter(|at| far(at) <= REACH_MM)
        .unwrap_or(snap(by_mm))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rests_longer_where_a_wire_is_straight_and_can_be_led_past() {
        let magnet = Magnet {
            across: vec![],
            down: vec![10.0],
        };
        let down = |dy: f64| magnet.pull((0.0, dy)).1;
        assert_eq!([8.1, 9.0, 11.9].map(down), [10.0; 3]);
        assert_eq!([7.5, 12.5, 4.0].map(down), [7.5, 12.5, 5.0]);
        assert_eq!(
            magnet.pull((9.0, 0.0)).0,
            10.0,
            "the lattice, where nothing pulls"
        );
        assert_eq!(magnet.pull((8.6, 0.0)).0, 7.5);
    }
}
