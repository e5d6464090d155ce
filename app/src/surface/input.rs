//! Reads the browser's events as plain data.

use leptos::ev;

use super::gestures::{Kind, Pointer};
use crate::platform::clock;

/// The pointer of an event, in pixels from the top left corner of the drawing.
pub fn pointer(event: &ev::PointerEvent, drawing: &web_sys::Element) -> Pointer {
    let (x, y) = place(event, drawing);
    let kind = match event.pointer_type().as_str() {
        "touch" => Kind::Touch,
        "pen" => Kind::Pen,
        // Which button went down, or which are held while moving.
        _ if event.button() > 0 || event.buttons() & 0b110 != 0 => Kind::MouseOther,
        _ => Kind::Mouse,
    };
    Pointer {
        id: event.pointer_id(),
        kind,
        x,
        y,
        ms: clock::now_ms(),
    }
}

/// Where a mouse event is, in pixels from the top left corner of the drawing.
pub fn place(event: &web_sys::MouseEvent, drawing: &web_sys::Element) -> (f64, f64) {
    let corner = drawing.get_bounding_client_rect();
    (
        f64::from(event.client_x()) - corner.left(),
        f64::from(event.client_y()) - corner.top(),
    )
}

/// The zoom of a wheel event: what is under the pointer comes nearer or goes away.
pub fn wheel_factor(event: &ev::WheelEvent) -> f64 {
    let lines = match event.delta_mode() {
        web_sys::WheelEvent::DOM_DELTA_LINE => 20.0,
        web_sys::WheelEvent::DOM_DELTA_PAGE => 300.0,
        _ => 1.0,
    };
    // A pinch on a touch pad comes as a wheel with small steps and the control key.
    let speed = if event.ctrl_key() { 0.01 } else { 0.0015 };
    (-event.delta_y() * lines * speed).exp().clamp(0.5, 2.0)
}

/// How far from a thing the pointer may be to take hold of it, in pixels. A finger has 22 to every
/// side, so that everything is a target of 44.
pub fn reach_px(kind: Kind) -> f64 {
    match kind {
        Kind::Touch => 22.0,
        Kind::Pen => 12.0,
        Kind::Mouse | Kind::MouseOther => 8.0,
    }
}
