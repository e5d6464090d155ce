//! The wires to lay, and which of them may share a line.

use super::{grid::Axis, search::SHARED};
use crate::drawing::geometry::{Facing, Point};

/// One wire to lay between two ends.
#[derive(Clone, Debug, PartialEq)]
pub struct Job {
    /// Its ends.
    pub ends: [Stop; 2],
    /// A point that a person put it through, and along which axis.
    pub by: Option<(Point, Axis)>,
}

/// One end of a wire on the sheet.
#[derive(Clone, Debug, PartialEq)]
pub struct Stop {
    /// The point.
    pub at: Point,
    /// The direction in which the wire leaves; any direction if none (a splice).
    pub facing: Option<Facing>,
    /// Steps it goes straight before it may turn.
    pub straight: u32,
    /// Wires with an end of the same number may share a line close to it.
    pub joint: u32,
}

impl Job {
    /// True if both run between the same points in the same directions. Joints are numbered again with each wire
    /// that is added or removed.
    pub(super) fn runs_as(&self, other: &Self) -> bool {
        let both = self.ends.iter().zip(&other.ends);
        let same = |(a, b): (&Stop, &Stop)| {
            a.at == b.at && a.facing == b.facing && a.straight == b.straight
        };
        self.by == other.by && both.into_iter().all(same)
    }
}

/// Index of a job as the grid keeps it.
pub(super) fn mark(i: usize) -> u32 {
    i as u32 + 1
}

/// The job of a mark of the grid, if it is one.
pub(super) fn marked<T>(all: &[T], wire: u32) -> Option<&T> {
    (wire as usize).checked_sub(1).and_then(|i| all.get(i))
}

pub(super) fn shares(jobs: &[Job], i: usize, wire: u32) -> bool {
    let Some(other) = marked(jobs, wire) else {
        return false;
    };
    let joint = |stop: &Stop| other.ends.iter().any(|theirs| theirs.joint == stop.joint);
    jobs[i].ends.iter().any(joint)
}

/// The cost of a step along each wire to another, by their marks: needed at every step, so computed once.
pub(super) fn prices(jobs: &[Job], i: usize, others: u32) -> Vec<u32> {
    let price = |wire| {
        if shares(jobs, i, wire) {
            SHARED
        } else {
            others
        }
    };
    (0..=jobs.len() as u32).map(price).collect()
}
