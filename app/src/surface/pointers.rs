//! Pointers on the drawing: fingers, pen and mouse, the wheel, and the menu they open.

use leptos::{ev, prelude::*};
use loomwright_core::order::Sorted;
use web_sys::Element;

use super::{
    board::Board,
    gestures::{Act, Gestures, Kind, Phase, Pointer},
    held, hover, input, over,
};
use crate::{
    commands::sight::look,
    platform::focus,
    tools::{At, Input, hit},
    view::{InkHand, Panel, ToolKind},
};

/// Pixels a pointer may tremble in a tap.
const SLOP_PX: f64 = 6.0;

impl Board {
    /// A pointer goes down.
    pub fn press(self, event: &ev::PointerEvent) {
        let Some((drawing, p)) = self.pointer(event) else {
            return;
        };
        // A browser that will not capture still sends the events while over the drawing.
        let _ = drawing.set_pointer_capture(event.pointer_id());
        focus::focus_element(&drawing);
        self.menu.set(None);
        self.offered.set(None);
        hover::away(self);
        self.aim(Some(p));
        let takes_ink = !matches!(self.ink_hand(), None | Some(InkHand::Write));
        let wants = takes_ink || self.with_tool(|tool| tool.wants_paper()).unwrap_or(false);
        let grip = wants || self.under(p.kind, p.x, p.y).is_some();
        let draws = (self.app().settings).with_untracked(|settings| settings.fingers_draw);
        self.act(|gestures| {
            gestures.let_fingers_draw(draws);
            gestures.press(p, grip)
        });
        held::begin(self, p, grip);
        held::watch_pen(self);
    }

    /// A pointer moves.
    pub fn moved(self, event: &ev::PointerEvent) {
        if let Some((_, p)) = self.pointer(event) {
            if self.lens.with_untracked(Option::is_some) {
                self.aim(Some(p));
            }
            held::moved(self, p);
            if p.kind != Kind::Touch && event.buttons() == 0 {
                hover::rest(self, p.x, p.y, self.under(p.kind, p.x, p.y));
            }
            self.act(|gestures| gestures.moved(p));
        }
    }

    /// A pointer goes up.
    pub fn release(self, event: &ev::PointerEvent) {
        held::stop(self);
        if let Some((_, p)) = self.pointer(event) {
            self.aim(None);
            self.act(|gestures| gestures.release(p));
        }
    }

    /// The browser takes a pointer away.
    pub fn cancel(self, event: &ev::PointerEvent) {
        held::stop(self);
        if let Some((_, p)) = self.pointer(event) {
            self.aim(None);
            self.act(|gestures| gestures.cancel(p));
        }
    }

    /// Lays the glass next to a finger that aims, or takes it away.
    fn aim(self, at: Option<Pointer>) {
        let tool = self.app().view.tool.get_untracked();
        let aims = matches!(tool, ToolKind::Wire | ToolKind::Splice | ToolKind::Cable);
        let at = at
            .filter(|p| aims && p.kind == Kind::Touch)
            .map(|p| (p.x, p.y));
        if self.lens.get_untracked() != at {
            self.lens.set(at);
        }
    }

    /// Opens the menu of what is under the pointer: the other mouse button, or a finger held there.
    pub fn open_menu(self, event: &ev::MouseEvent) {
        event.prevent_default();
        let Some(drawing) = self.drawing() else {
            return;
        };
        // A finger that aims at a pin takes its time.
        if self.lens.with_untracked(Option::is_none) {
            let (x, y) = input::place(event, &drawing);
            held::drop_begun(self);
            self.show_menu(x, y);
        }
    }

    /// Opens the menu of what is under a place of the surface, pixels.
    pub fn show_menu(self, x: f64, y: f64) {
        let kind = self.hands.with_value(|hands| hands.kind);
        let sheet = self.app().view.sheet.get_untracked();
        let key = self.under(kind, x, y).and_then(|hit| {
            self.app()
                .session
                .peek(|document| hit::key(document, sheet.as_ref()?, &hit))
        });
        let Some(key) = key else { return };
        if self
            .app()
            .view
            .selection
            .with_untracked(|keys| !keys.contains(&key))
        {
            self.app().view.selection.set(Sorted::from([key.clone()]));
        }
        self.menu.set(Some((x, y, key)));
    }

    /// The wheel zooms about the pointer.
    pub fn wheel(self, event: &ev::WheelEvent) {
        event.prevent_default();
        let Some(drawing) = self.drawing() else {
            return;
        };
        let (x, y) = input::place(event, &drawing);
        let camera = self.camera();
        look(self.app(), camera.zoomed(x, y, input::wheel_factor(event)));
    }

    fn pointer(self, event: &ev::PointerEvent) -> Option<(Element, Pointer)> {
        let drawing = self.drawing()?;
        let p = input::pointer(event, &drawing);
        self.hands.update_value(|hands| {
            hands.kind = p.kind;
            // A pen that cannot tell says nothing, which is no light touch.
            hands.pressure = match f64::from(event.pressure()) {
                0.0 => 0.5,
                pressure => pressure,
            };
            // The button of the eraser end (W3C Pointer Events, section 4.1.1).
            hands.erases = p.kind == Kind::Pen && event.buttons() & 32 != 0;
            let several = self.several.get_untracked()
                && self.app().view.tool.get_untracked() == ToolKind::Wire;
            hands.extend = several || event.shift_key() || event.ctrl_key() || event.meta_key();
        });
        Some((drawing, p))
    }

    fn under(self, kind: Kind, x: f64, y: f64) -> Option<hit::Hit> {
        let camera = self.camera();
        let reach = input::reach_px(kind) / camera.scale;
        self.app()
            .derived
            .scene
            .with_untracked(|scene| hit::find(scene, camera.to_sheet(x, y), reach))
    }

    fn act(self, tell: impl FnOnce(&mut Gestures) -> Vec<Act>) {
        let told = self.gestures(|gestures| (tell(gestures), gestures.is_pinching()));
        let Some((acts, pinching)) = told else {
            return;
        };
        if self.pinching.get_untracked() != pinching {
            self.pinching.set(pinching);
        }
        self.obey(acts);
    }

    /// Does what the gestures answer.
    pub fn obey(self, acts: Vec<Act>) {
        for act in acts {
            match act {
                Act::Tool(phase, x, y) => self.tool(phase, x, y),
                Act::Drop => self.tell(&Input::Escape),
                Act::Pan(dx, dy) => look(self.app(), self.camera().panned(dx, dy)),
                Act::Zoom(x, y, factor) => {
                    look(self.app(), self.camera().zoomed(x, y, factor));
                }
            }
        }
    }

    fn tool(self, phase: Phase, x: f64, y: f64) {
        let (kind, extend) = self.hands.with_value(|hands| (hands.kind, hands.extend));
        if phase == Phase::Press && self.press_on_flag(x, y, kind) {
            return;
        }
        let camera = self.camera();
        let at = At {
            point: camera.to_sheet(x, y),
            hit: self.under(kind, x, y),
            extend,
            pen: kind == Kind::Pen,
            pressure: self.hands.with_value(|hands| hands.pressure),
            ink: self.ink_hand(),
            slop_mm: SLOP_PX / camera.scale,
        };
        self.tell(&match phase {
            Phase::Press => Input::Press(at),
            Phase::Move => Input::Move(at),
            Phase::Release => Input::Release(at),
        });
    }

    /// A tap on a finding's flag opens it. True if there was one.
    fn press_on_flag(self, x: f64, y: f64, kind: Kind) -> bool {
        let camera = self.camera();
        let at = camera.to_sheet(x, y);
        let reach = (2.6 * self.unzoom()).max(input::reach_px(kind) / 2.0 / camera.scale);
        let Some(index) = over::flag_at(self.app(), at, reach) else {
            return false;
        };
        self.app().view.marked.set(Some(index));
        self.app().view.panel.set(Panel::Findings);
        true
    }
}
