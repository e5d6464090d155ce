//! What is under a finger.

use loomwright_core::{
    document::{Document, ElementKind, End},
    drawing::{
        self,
        geometry::{Point, pt, snap},
        scene::Scene,
    },
    edit::Key,
    ids::{CableId, ItemId, SheetId, WireId},
};

use crate::view::item_key;

/// Something on the sheet that can be taken hold of.
#[derive(Clone, Debug, PartialEq)]
pub enum Hit {
    /// A place where wires end.
    Pin {
        /// The end.
        end: End,
        /// Where it is drawn.
        at: Point,
        /// The item it belongs to.
        item: ItemId,
    },
    /// A wire.
    Wire(WireId),
    /// A cable, by its sleeve.
    Cable(CableId),
    /// An item, by its inside.
    Item(ItemId),
}

/// What is within reach of a point. Deep inside a device its pins do not catch the finger: there
/// is the body to take hold of.
pub fn find(scene: &Scene, point: Point, reach_mm: f64) -> Option<Hit> {
    match drawing::hit(scene, point, reach_mm)? {
        drawing::Hit::Pin(item, terminal) => {
            let spot = scene.pins.get(&(item.clone(), terminal))?;
            let deep = scene.boxes.get(&item).is_some_and(|rect| {
                rect.contains(point) && spot.at.distance(point) > rect.w.min(rect.h) * 0.3
            });
            Some(if deep {
                Hit::Item(item)
            } else {
                Hit::Pin {
                    end: spot.end.clone(),
                    at: spot.at,
                    item,
                }
            })
        }
        drawing::Hit::Splice(item, splice) => {
            let end = End::Splice(splice);
            let spot = scene
                .pins
                .iter()
                .find(|((owner, _), spot)| *owner == item && spot.end == end);
            let at = spot.map_or(point, |(_, spot)| spot.at);
            Some(Hit::Pin { end, at, item })
        }
        drawing::Hit::Wire(id) => Some(Hit::Wire(id)),
        drawing::Hit::Cable(id) => Some(Hit::Cable(id)),
        drawing::Hit::Item(id) => Some(Hit::Item(id)),
    }
}

/// The nearest point of the lattice.
pub fn snapped(point: Point) -> Point {
    pt(snap(point.x), snap(point.y))
}

/// The record that a hit shows.
pub fn key(document: &Document, sheet: &SheetId, hit: &Hit) -> Option<Key> {
    match hit {
        Hit::Wire(id) => Some(Key::Wire(id.clone())),
        Hit::Cable(id) => Some(Key::Cable(id.clone())),
        Hit::Pin { item, .. } | Hit::Item(item) => item_key(document, sheet, item),
    }
}

/// The switch, breaker or fuse at this hit, as `DEVICE/ELEMENT`, if the hit is on one: on its
/// device's inside where the device holds one, or between its pins where it holds several.
pub fn operable(
    document: &Document,
    sheet: &SheetId,
    scene: &Scene,
    at: Point,
    hit: &Hit,
) -> Option<String> {
    let (Hit::Item(item) | Hit::Pin { item, .. }) = hit else {
        return None;
    };
    let Key::Device(id) = item_key(document, sheet, item)? else {
        return None;
    };
    let device = document.devices.get(&id)?;
    let spot = |terminal| {
        scene
            .pins
            .get(&(item.clone(), terminal))
            .map(|spot| spot.at)
    };
    let candidates = device.elements.iter().filter_map(|element| {
        let (terminals, own) = match &element.is {
            ElementKind::Switch(switch) => {
                let joins = switch
                    .positions
                    .iter()
                    .flat_map(|position| position.joins.iter());
                (joins.flatten().cloned().collect::<Vec<_>>(), true)
            }
            ElementKind::Protector(protector) => (vec![protector.load.clone()], false),
            _ => return None,
        };
        let spots: Vec<Point> = terminals.into_iter().filter_map(spot).collect();
        let nearest = spots.iter().map(|p| p.distance(at)).reduce(f64::min)?;
        // A switch fills its device; a breaker of a bus sits next to its own pin.
        (own || nearest < 9.0 || device.elements.len() == 1).then_some((element, nearest))
    });
    let (element, _) = candidates.min_by(|a, b| a.1.total_cmp(&b.1))?;
    Some(format!("{id}/{}", element.id))
}
