//! Paths alone, without a document: for benches and for holding them against another router.

use std::sync::Arc;

use super::{
    geometry::{Facing, Point, Rect},
    paths::{self, Job, Pace, RoutedPaths, Stop, grid::Grid},
};

/// Wires routed around boxes on a sheet of this size: corners in order for each pair of pins. A pin is a point on
/// the lattice, on the edge of its box, with the direction in which a wire leaves it. No two pairs share a pin.
pub fn route(
    (width_mm, height_mm): (f64, f64),
    boxes: &[Rect],
    pins: &[[(Point, Facing); 2]],
) -> Vec<Vec<Point>> {
    let frame = Rect::new(0.0, 0.0, width_mm, height_mm);
    let mut grid = Grid::new(width_mm, height_mm, frame);
    for rect in boxes {
        grid.build(*rect);
    }
    let mut joint = 0;
    let mut stop = |(at, facing): (Point, Facing)| {
        joint += 1;
        Stop {
            at,
            facing: Some(facing),
            straight: 1,
            joint,
        }
    };
    let jobs: Vec<Job> = (pins.iter())
        .map(|ends| Job {
            ends: ends.map(&mut stop),
            by: None,
        })
        .collect();
    paths::reserve(&mut grid, &jobs);
    let lay: Arc<RoutedPaths> = RoutedPaths::new(&mut grid, jobs, None, Pace::Settled);
    lay.paths.clone()
}
