//! The tool at work: the input it gets, and what is done with its answers.

use leptos::prelude::*;
use loomwright_core::{
    document::End,
    edit::{Change, Key},
    order::Sorted,
};

use super::board::{Board, Offered};
use crate::{
    App,
    commands::{operate, take},
    strings,
    tools::{At, Input, Reply, World, hit, pins_of},
    view::{Panel, ToolKind},
};

impl Board {
    /// Tells the tool, and does what it answers.
    pub fn tell(self, input: &Input) {
        let App {
            session,
            view,
            derived,
            ..
        } = self.app();
        let Some(sheet) = view.sheet.get_untracked() else {
            return;
        };
        let aside = session.lay_draft_aside();
        let scene = derived.scene.get_untracked();
        let selection = view.selection.get_untracked();
        let reply = self.with_tool(|tool| {
            session.peek(|document| {
                let world = World {
                    document,
                    sheet: &sheet,
                    scene: &scene,
                    selection: &selection,
                };
                tool.on(input, &world)
            })
        });
        let Some(reply) = reply else { return };
        self.answer(reply, aside, &selection);
    }

    fn answer(self, reply: Reply, aside: Option<Change>, before: &Sorted<Key>) {
        let App { session, view, .. } = self.app();
        let mut made = true;
        match (reply.commit, reply.draft) {
            (Some((label, change)), _) => made = session.try_run(label, change),
            (None, Some(draft)) => session.show_draft(draft),
            (None, None) => {
                if aside.is_some() {
                    session.show_draft(aside);
                }
            }
        }
        if view.ghosts.with_untracked(|ghosts| *ghosts != reply.ghosts) {
            view.ghosts.set(reply.ghosts);
        }
        if let Some(selection) = reply.select.filter(|_| made) {
            let empty = selection.is_empty();
            if selection != *before {
                view.selection.set(selection);
            }
            if reply.details && !empty {
                view.panel.set(Panel::Details);
            } else if empty && view.panel.get_untracked() == Panel::Details {
                view.panel.set(Panel::Closed);
            }
        }
        if let Some((from, item, near)) = reply.ask_pin {
            let (x, y) = self.camera().to_screen(near);
            let scene = self.app().derived.scene;
            let mut pins = scene.with_untracked(|scene| pins_of(scene, &item, near));
            pins.retain(|end| *end != from);
            self.offered.set(Some(Offered {
                at: (x, y),
                from,
                pins,
            }));
        }
        if let Some(key) = reply.operate {
            operate::operate(self.app(), &key);
        }
        if reply.done && made {
            view.adding.set(None);
            take(self.app(), ToolKind::Select);
        }
    }

    /// Begins a wire at an end chosen from a list, or ends the one begun there.
    pub fn begin_or_end_wire(self, end: End) {
        let spot = self.app().derived.scene.with_untracked(|scene| {
            let found = scene.pins.iter().find(|(_, spot)| spot.end == end);
            found.map(|((item, _), spot)| (item.clone(), spot.at))
        });
        let Some((item, at)) = spot else {
            self.app().session.say(strings::NOT_ON_SHEET.into());
            return;
        };
        let press = Input::Press(At {
            point: at,
            hit: Some(hit::Hit::Pin { end, at, item }),
            extend: false,
            pen: false,
            pressure: 0.0,
            ink: None,
            slop_mm: 0.0,
        });
        // Chosen again, it would forget where the wire begins.
        if self.app().view.tool.get_untracked() != ToolKind::Wire {
            take(self.app(), ToolKind::Wire);
        }
        self.tell(&press);
    }
}
