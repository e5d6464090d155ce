//! From sheet to scene: device outlines, wire paths around them, labels, hit tests, and the sheet as SVG. Geometry
//! only: no rules, no solved figures. Findings and solved figures are drawn by an [`overlay`].
//!
//! Everything is on a lattice of 2.5 mm: an item is drawn at the lattice point nearest to its position, its pins
//! two steps apart, adjacent wires one step apart. So lanes are even without straightening them afterwards, and a
//! drag need not be exact.

pub mod beside;
mod cables;
mod compose;
mod frame;
pub mod geometry;
mod hit;
mod ink;
mod inline;
mod item;
pub mod measure;
mod names;
mod outlines;
pub mod overlay;
mod paths;
mod pen;
mod phase;
mod printed;
mod room;
pub mod route;
pub mod scene;
mod size;
pub mod spread;
pub mod svg;
#[cfg(test)]
mod tests;
mod text;
pub mod theme;
pub mod tidy;
mod wires;

pub use self::{
    compose::{rescene, scene, scene_in},
    frame::SAFETY,
    hit::{Hit, hit},
    item::item_scene,
    names::zone_of,
    overlay::Overlay,
    paths::Pace,
    phase::Phase,
    printed::{enlarged, printed, printed_scene},
    room::{boxes, clear_in_steps, clear_of_others, moving_and_others, within_paper},
    scene::{Group, GroupKey, PinSpot, Scene, Shape},
    size::item_size,
    svg::svg,
    theme::Theme,
};
