//! Select, move, operate: tap something to select it, drag it to move it, drag a selected wire to put one
//! of its stretches elsewhere, drag over empty paper to select many, tap a selected switch or breaker to
//! operate it.

use loomwright_core::order::Sorted;
use loomwright_core::{
    document::{Extra, HeldStretch},
    drawing::{
        self,
        geometry::{Point, Rect, snap},
        scene::GroupKey,
    },
    edit::{self, Change, EditError, Key},
    ids::{ItemId, WireId},
};

use super::{
    hit::{self, Hit},
    magnet::Magnet,
    tool::{At, Input, Reply, Tool, World},
};
use crate::view::{Ghost, item_key, items_of};

/// The select tool.
#[derive(Default)]
pub enum Select {
    /// Nothing begun.
    #[default]
    Idle,
    /// Down on something; a tap or the beginning of a drag.
    Pressed(At),
    /// Items follow the pointer.
    Moving(Held),
    /// A stretch of a selected wire follows the pointer.
    Stretching {
        from: At,
        wire: WireId,
        upright: bool,
    },
    /// A box is drawn on empty paper.
    Brushing(At),
}

/// Items in the hand.
pub struct Held {
    from: Point,
    items: Vec<ItemId>,
    magnet: Magnet,
}

impl Held {
    fn new(from: Point, items: Vec<ItemId>, world: &World<'_>) -> Self {
        let magnet = Magnet::of(world.document, world.scene, &items);
        Self {
            from,
            items,
            magnet,
        }
    }

    /// The move to where the pointer is, as far as the paper goes. Once the items are let go, they cover
    /// no other.
    fn moved(&self, at: &At, world: &World<'_>, let_go: bool) -> Result<Change, EditError> {
        let (x, y) = (at.point.x - self.from.x, at.point.y - self.from.y);
        let by = self.magnet.pull((x, y));
        let [moving, others] = drawing::moving_and_others(&world.scene.boxes, &self.items);
        let sheet = world.document.sheets.get(world.sheet);
        let by = match sheet.map(|sheet| sheet.size) {
            Some(size) if let_go => drawing::clear_of_others(size, &moving, &others, by),
            Some(size) => drawing::within_paper(size, &moving, by),
            None => by,
        };
        edit::move_items(world.document, world.sheet, &self.items, by)
    }
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
            (Self::Moving(held), Input::Move(at)) => {
                let reply = Reply {
                    draft: Some(held.moved(at, world, false).ok()),
                    ..Reply::default()
                };
                (Self::Moving(held), reply)
            }
            (Self::Moving(held), Input::Release(at)) => {
                let reply = Reply {
                    commit: Some(("Move", held.moved(at, world, true))),
                    ..Reply::default()
                };
                (Self::Idle, reply)
            }
            (
                Self::Stretching {
                    from,
                    wire,
                    upright,
                },
                Input::Move(at),
            ) => {
                let change = stretched(world, &from, &wire, upright, at);
                let reply = Reply {
                    draft: Some(change.ok()),
                    ..Reply::default()
                };
                (
                    Self::Stretching {
                        from,
                        wire,
                        upright,
                    },
                    reply,
                )
            }
            (
                Self::Stretching {
                    from,
                    wire,
                    upright,
                },
                Input::Release(at),
            ) => {
                let reply = Reply {
                    commit: Some((
                        "Move a stretch",
                        stretched(world, &from, &wire, upright, at),
                    )),
                    ..Reply::default()
                };
                (Self::Idle, reply)
            }
            (Self::Moving(_) | Self::Stretching { .. }, Input::Escape) => (
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

/// The stretch where the pointer went down, now where the pointer is.
fn stretched(
    world: &World<'_>,
    from: &At,
    wire: &WireId,
    upright: bool,
    at: &At,
) -> Result<Change, EditError> {
    let (x, y) = match upright {
        true => (at.point.x, from.point.y),
        false => (from.point.x, at.point.y),
    };
    let stretch = HeldStretch {
        x_mm: snap(x),
        y_mm: snap(y),
        upright,
        extra: Extra::new(),
    };
    edit::hold_stretch(world.document, world.sheet, wire, Some(stretch))
}

/// True if the piece of a wire nearest to a point is vertical.
fn is_upright(world: &World<'_>, wire: &WireId, at: Point) -> Option<bool> {
    let pieces = world.scene.paths.get(wire)?.iter();
    let pieces = pieces.flat_map(|path| path.windows(2));
    let nearest = pieces.min_by(|a, b| {
        let far = |piece: &[Point]| at.distance_to_line(piece[0], piece[1]);
        far(a).total_cmp(&far(b))
    })?;
    Some(nearest[0].x == nearest[1].x)
}

fn press_moves(from: At, at: &At, world: &World<'_>) -> (Select, Reply) {
    if from.point.distance(at.point) < from.slop_mm {
        return (Select::Pressed(from), Reply::default());
    }
    // A selected wire lets its stretches be moved.
    if let Some(Hit::Wire(wire)) = &from.hit
        && world.selection.contains(&Key::Wire(wire.clone()))
        && let Some(upright) = is_upright(world, wire, from.point)
    {
        let wire = wire.clone();
        let reply = Reply {
            draft: Some(stretched(world, &from, &wire, upright, at).ok()),
            ..Reply::default()
        };
        return (
            Select::Stretching {
                from,
                wire,
                upright,
            },
            reply,
        );
    }
    let (Some(Hit::Item(item) | Hit::Pin { item, .. }), Some(key)) = (
        &from.hit,
        from.hit
            .as_ref()
            .and_then(|hit| hit::key(world.document, world.sheet, hit)),
    ) else {
        // Other wires and cables are not moved; a drag that begins on one draws the brush.
        return (Select::Brushing(from), Reply::default());
    };
    if world.selection.contains(&key) {
        let mut items = items_of(world.document, world.sheet, |key| {
            world.selection.contains(key)
        });
        if !items.contains(item) {
            items.push(item.clone());
        }
        let held = Held::new(from.point, items, world);
        return (Select::Moving(held), Reply::default());
    }
    let held = Held::new(from.point, vec![item.clone()], world);
    let mut reply = Reply::select([key]);
    reply.details = false;
    (Select::Moving(held), reply)
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
                item_key(world.document, world.sheet, item)
            }
            GroupKey::Wire(id) if inside(&group.bounds) => Some(Key::Wire(id.clone())),
            _ => None,
        };
        keys.extend(found);
    }
    Reply::select(keys)
}

fn around(a: Point, b: Point) -> Rect {
    Rect::around([a, b])
}
