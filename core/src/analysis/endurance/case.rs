//! A case: what is asked, and what comes of it.

use serde::Serialize;

use crate::{
    document::{AfterAlternator, State},
    ids::{DeviceId, ElementId, StateId},
};

/// A state of a case, and how long it lasts.
pub(super) struct Stage {
    pub id: StateId,
    pub state: State,
    pub until_s: f64,
}

impl Stage {
    /// The one that lasts to the end.
    pub fn last(id: StateId, state: State) -> Self {
        Self {
            id,
            state,
            until_s: f64::INFINITY,
        }
    }
}

/// How much of each case to compute.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Extent {
    /// All of it, with voltage over time for the curve.
    Drawn,
    /// All of it, as minutes only.
    Minutes,
    /// Until the first load stops or the target is reached, whichever is first: loads that stop
    /// later are reported as still running.
    Target,
}

/// One case.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Case {
    /// What is switched off.
    pub case: AfterAlternator,
    /// The states it runs in, one after the other, by title.
    pub states: Vec<String>,
    /// True if the builder marked its state; else it was chosen by rule.
    pub is_marked: bool,
    /// Stated total in the last of its states, A.
    pub plain_a: f64,
    /// Minutes from the stated total: usable capacity over stated current.
    pub plain_min: Option<f64>,
    /// Battery current at the start, A.
    pub start_a: f64,
    /// Minutes until nothing runs; `None` if it keeps running.
    pub minutes: Option<f64>,
    /// Minutes until the first load that should run stops; `None` if none does.
    pub first_stop_min: Option<f64>,
    /// How it ends.
    pub ended: Ended,
    /// Every load that is on at the start, in stop order.
    pub devices: Vec<DeviceEnd>,
    /// Voltage over time.
    pub curve: Vec<Sample>,
}

/// When a load stops.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct DeviceEnd {
    /// Its device.
    pub device: DeviceId,
    /// The element.
    pub element: ElementId,
    /// Its label.
    pub label: String,
    /// Title of its device.
    pub title: String,
    /// Minutes after the alternator stops.
    pub minutes: f64,
    /// Why it stops.
    pub stop: Stop,
    /// Computed current at the start, A.
    pub start_a: f64,
}

/// How a case ends.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Ended {
    /// The battery's usable capacity is used up.
    Empty,
    /// The battery's voltage is at its cut-off.
    BatteryCutOff,
    /// Every load stops before the battery is empty.
    LoadsStopped,
    /// It runs on for more than 100 hours, or nothing draws.
    RunsOn,
}

/// Why a load stops.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Stop {
    /// Its voltage is at its cut-off.
    CutOff,
    /// The battery can no longer carry it.
    SupplyCannotCarry,
    /// A relay in its feed drops out.
    NoSupply,
    /// The battery is at its end.
    Battery,
    /// The pilot switches it off.
    Shed,
    /// It does not stop.
    RunsOn,
}

/// The circuit at one moment.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Sample {
    /// Minutes after the alternator stops.
    pub minutes: f64,
    /// Voltage at the posts of each battery, V.
    pub batteries_v: Vec<f64>,
    /// Used share of each battery's usable capacity.
    pub used: Vec<f64>,
    /// Voltage of each bus, V; `None` while it is dead.
    pub buses_v: Vec<Option<f64>>,
    /// Total battery current, A.
    pub amps: f64,
}
