//! The item under a finger or a pointer.

use super::{
    geometry::Point,
    scene::{Group, GroupKey, Scene, Shape},
};
use crate::{
    document::End,
    ids::{CableId, ItemId, SpliceId, TerminalId, WireId},
};

/// The item under a point.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Hit {
    /// A pin of an item.
    Pin(ItemId, TerminalId),
    /// A splice.
    Splice(ItemId, SpliceId),
    /// A wire.
    Wire(WireId),
    /// A cable, at its sleeve.
    Cable(CableId),
    /// An item.
    Item(ItemId),
}

/// What a person means by touching this point: the closest pin or splice within tolerance; else the item under the
/// point; else the wire or cable whose text is there; else the sleeve under it; else the closest wire within
/// tolerance. A touch in a sleeve means the cable: its cores can be touched outside it.
///
/// Inside a device a wire beyond its edge is ignored; outside, a wire comes before the device's edge. The box of
/// every record is tested first, so 5,000 wires take a few microseconds.
pub fn hit(scene: &Scene, at: Point, reach_mm: f64) -> Option<Hit> {
    pin(scene, at, reach_mm)
        .or_else(|| item(scene, at).filter(|_| wire(scene, at, 0.5).is_none()))
        .or_else(|| written(scene, at))
        .or_else(|| sleeve(scene, at))
        .or_else(|| wire(scene, at, reach_mm))
}

fn pin(scene: &Scene, at: Point, reach_mm: f64) -> Option<Hit> {
    let near = scene
        .pins
        .iter()
        .map(|(key, pin)| (pin.at.distance(at), key, pin));
    let (_, (item, terminal), pin) = near
        .filter(|(far, ..)| *far <= reach_mm)
        .min_by(|a, b| a.0.total_cmp(&b.0))?;
    Some(match &pin.end {
        End::Splice(splice) => Hit::Splice(item.clone(), splice.clone()),
        _ => Hit::Pin(item.clone(), terminal.clone()),
    })
}

fn wire(scene: &Scene, at: Point, reach_mm: f64) -> Option<Hit> {
    let far = |path: &Vec<Point>| {
        let pieces = path
            .windows(2)
            .map(|piece| at.distance_to_line(piece[0], piece[1]));
        pieces.fold(f64::INFINITY, f64::min)
    };
    let near = scene.paths.iter().filter_map(|(id, paths)| {
        let key = GroupKey::Wire(id.clone());
        let group = scene.groups.get(&key)?;
        if !group.bounds.grown(reach_mm).contains(at) {
            return None;
        }
        let far = paths.iter().map(far).fold(f64::INFINITY, f64::min);
        (far <= reach_mm).then_some((far, id))
    });
    let (_, id) = near.min_by(|a, b| a.0.total_cmp(&b.0))?;
    Some(Hit::Wire(id.clone()))
}

/// The wire or cable whose number, rating or label is under the point.
fn written(scene: &Scene, at: Point) -> Option<Hit> {
    let has_text = |group: &Group| {
        let mut texts = (group.shapes.iter()).filter(|it| matches!(it, Shape::Text { .. }));
        group.bounds.contains(at) && texts.any(|text| text.bounds().contains(at))
    };
    scene.groups.iter().find_map(|(key, group)| match key {
        GroupKey::Wire(id) if has_text(group) => Some(Hit::Wire(id.clone())),
        GroupKey::Cable(id) if has_text(group) => Some(Hit::Cable(id.clone())),
        _ => None,
    })
}

fn sleeve(scene: &Scene, at: Point) -> Option<Hit> {
    let (id, _) = scene
        .sleeves
        .iter()
        .find(|(_, boxes)| boxes.iter().any(|rect| rect.contains(at)))?;
    Some(Hit::Cable(id.clone()))
}

/// The item under the point; the smallest if several overlap.
fn item(scene: &Scene, at: Point) -> Option<Hit> {
    let under = scene.boxes.iter().filter(|(_, rect)| rect.contains(at));
    let (id, _) = under.min_by(|a, b| (a.1.w * a.1.h).total_cmp(&(b.1.w * b.1.h)))?;
    Some(Hit::Item(id.clone()))
}
