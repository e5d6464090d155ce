//! Select, move, operate: tap something to select it, drag it to move it, drag over empty paper to
//! select many, tap a selected switch or breaker to operate it.

use loomwright_core::order::Sorted;
use loomwright_core::{
    drawing::{
        geometry::{LATTICE_MM, Point, Rect},
        scene::GroupKey,
    },
    edit::{self, Key},
    ids::ItemId,
};

use super::{At, Ghost, Hit, Input, Reply, Tool, World, hit};

/// The select tool.
#[derive(Default)]
pub enum Select {
    /// Nothing begun.
    #[default]
    Idle,
    /// Down on something; a tap or the beginning of a drag.
    Pressed(At),
    /// Items follow the pointer.
    Moving { from: Point, items: Vec<ItemId> },
    /// A box is drawn on empty paper.
    Brushing(At),
}

impl Tool for Select {
    fn on(&mut self, input: &Input, world: &World<'_>) -> Reply {
        let state = std::mem::take(self);
        let (next, reply) = match (state, input) {
            (Self::Idle, Input::Press(at)) => match at.hit {
                Some(_) => (Self::Pressed(at.clone()), Reply::default()),
                None => (Self::Brushing(at.clone()), Reply::default()),
            },
            (Self::Pressed(from), Input::Move(at)) => press_moves(from, at, world),
            (Self::Pressed(at), Input::Release(_)) => (Self::Idle, tapped(&at, world)),
            (Self::Moving { from, items }, Input::Move(at)) => {
                let change = edit::move_items(world.document, world.sheet, &items, by(from, at));
                let draft = Some(change.ok());
                (
                    Self::Moving { from, items },
                    Reply {
                        draft,
                        ..Reply::default()
                    },
                )
            }
            (Self::Moving { from, items }, Input::Release(at)) => {
                let change = edit::move_items(world.document, world.sheet, &items, by(from, at));
                (
                    Self::Idle,
                    Reply {
                        commit: Some(("Move", change)),
                        ..Reply::default()
                    },
                )
            }
            (Self::Moving { .. }, Input::Escape) => (
                Self::Idle,
                Reply {
                    draft: Some(None),
                    ..Reply::default()
                },
            ),
            (Self::Brushing(from), Input::Move(at)) => {
                let ghost = Ghost::Box(around(from.point, at.point));
                (Self::Brushing(from), Reply::ghosts(vec![ghost]))
            }
            (Self::Brushing(from), Input::Release(at)) => (Self::Idle, brushed(&from, at, world)),
            (Self::Idle, Input::Escape) => (Self::Idle, Reply::select([])),
            (Self::Pressed(_) | Self::Brushing(_), Input::Escape) => (Self::Idle, Reply::default()),
            (state, _) => (state, Reply::default()),
        };
        *self = next;
        reply
    }
}

fn press_moves(from: At, at: &At, world: &World<'_>) -> (Select, Reply) {
    if from.point.distance(at.point) < from.slop_mm {
        return (Select::Pressed(from), Reply::default());
    }
    let (Some(Hit::Item(item) | Hit::Pin { item, .. }), Some(key)) = (
        &from.hit,
        from.hit
            .as_ref()
            .and_then(|hit| hit::key(world.document, world.sheet, hit)),
    ) else {
        // Wires and cables are not moved; a drag that begins on one draws the brush.
        return (Select::Brushing(from), Reply::default());
    };
    if world.selection.contains(&key) {
        let mut items = hit::items_of(world.document, world.sheet, |key| {
            world.selection.contains(key)
        });
        if !items.contains(item) {
            items.push(item.clone());
        }
        return (
            Select::Moving {
                from: from.point,
                items,
            },
            Reply::default(),
        );
    }
    let moving = Select::Moving {
        from: from.point,
        items: vec![item.clone()],
    };
    let mut reply = Reply::select([key]);
    reply.details = false;
    (moving, reply)
}

fn tapped(at: &At, world: &World<'_>) -> Reply {
    let Some(hit) = &at.hit else {
        return Reply::select([]);
    };
    let Some(key) = hit::key(world.document, world.sheet, hit) else {
        return Reply::default();
    };
    if at.extend {
        let mut keys = world.selection.clone();
        if !keys.remove(&key) {
            keys.insert(key);
        }
        return Reply::select(keys);
    }
    // The first tap selects; a tap on what is selected operates it.
    let operate = world
        .selection
        .contains(&key)
        .then(|| hit::operable(world.document, world.sheet, world.scene, at.point, hit))
        .flatten();
    Reply {
        operate,
        ..Reply::select([key])
    }
}

fn brushed(from: &At, at: &At, world: &World<'_>) -> Reply {
    if from.point.distance(at.point) < from.slop_mm {
        return Reply::select([]);
    }
    let brush = around(from.point, at.point);
    let inside = |rect: &Rect| {
        brush.contains(Point {
            x: rect.x,
            y: rect.y,
        }) && brush.contains(Point {
            x: rect.right(),
            y: rect.bottom(),
        })
    };
    let mut keys = if from.extend {
        world.selection.clone()
    } else {
        Sorted::new()
    };
    for (key, group) in &world.scene.groups {
        let found = match key {
            GroupKey::Item(item) if world.scene.boxes.get(item).is_some_and(inside) => {
                hit::item_key(world.document, world.sheet, item)
            }
            GroupKey::Wire(id) if inside(&group.bounds) => Some(Key::Wire(id.clone())),
            _ => None,
        };
        keys.extend(found);
    }
    Reply::select(keys)
}

fn by(from: Point, at: &At) -> (f64, f64) {
    let step = |mm: f64| (mm / LATTICE_MM).round() * LATTICE_MM;
    (step(at.point.x - from.x), step(at.point.y - from.y))
}

fn around(a: Point, b: Point) -> Rect {
    Rect::around([a, b])
}
