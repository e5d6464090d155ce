//! The card that a mouse or pen brings up by resting on something: what it is, in two or three lines.

use std::time::Duration;

use leptos::prelude::*;
use loomwright_core::document::{Document, End};

use super::board::Board;
use crate::{
    App, strings,
    tools::{Hit, hit},
    widgets::{Views, spoken},
};

/// How long a pointer rests before the card comes.
const REST: Duration = Duration::from_millis(500);
/// Width of the card, pixels.
const WIDE_PX: f64 = 260.0;

/// Takes the card away, and brings the next one up if the pointer rests here.
pub fn rest(board: Board, x: f64, y: f64, under: Option<Hit>) {
    if board.hover.with_untracked(Option::is_some) {
        board.hover.set(None);
    }
    let at = (x, y);
    board.rests.set_value(under.is_some().then_some(at));
    let Some(under) = under else { return };
    set_timeout(
        move || {
            // Only if the pointer has not moved since, and nothing was taken up.
            if board.rests.try_get_value().flatten() == Some(at) {
                let lines = lines(board.app(), &under);
                board
                    .hover
                    .set((!lines.is_empty()).then_some((x, y, lines)));
            }
        },
        REST,
    );
}

/// No card, and none under way.
pub fn away(board: Board) {
    board.rests.set_value(None);
    if board.hover.with_untracked(Option::is_some) {
        board.hover.set(None);
    }
}

/// The card.
pub fn card(board: Board, (x, y, lines): (f64, f64, Vec<String>)) -> AnyView {
    let (wide, high) = board.app().view.size.get_untracked();
    let left = (x + 14.0).min(wide - WIDE_PX - 8.0).max(4.0);
    // Above the pointer where there is no room below.
    let below = y + 18.0 + 24.0 * lines.len() as f64 + 16.0 < high;
    let place = match below {
        true => format!("left:{left:.0}px;top:{:.0}px", y + 18.0),
        false => format!("left:{left:.0}px;bottom:{:.0}px", high - y + 10.0),
    };
    let lines = lines.into_iter().map(|line| view! { <span>{line}</span> });
    view! { <div class="hover-card" role="tooltip" style=place>{lines.views()}</div> }.into_any()
}

fn lines(app: App, under: &Hit) -> Vec<String> {
    let Some(sheet) = app.view.sheet.get_untracked() else {
        return Vec::new();
    };
    let solved = app.derived.solved.get_untracked();
    app.session.peek(|document| match under {
        Hit::Wire(id) => {
            let Some(wire) = document.wires.get(id) else {
                return Vec::new();
            };
            let length = document.wire_length_m(wire).map_or(String::new(), |m| {
                format!(", {}", document.project.length(m, 2))
            });
            let amps = solved
                .wire_amps(id)
                .map_or(String::new(), |it| strings::in_amps(it.abs()));
            let made = format!("{} {}{length}{amps}", wire.size(), wire.colour);
            let ends = [&wire.from, &wire.to].map(|end| document.end_label(end));
            let all = vec![
                document.wire_label(id),
                ends.join(" – "),
                made,
                wire.function.clone(),
            ];
            all.into_iter()
                .filter(|line| !line.trim().is_empty())
                .collect()
        }
        Hit::Pin { end, .. } => pin_lines(document, end, solved.volts(end)),
        Hit::Cable(_) | Hit::Item(_) => {
            let Some(key) = hit::key(document, &sheet, under) else {
                return Vec::new();
            };
            let title = key.id();
            let device = document.devices.get(title);
            let label = document.record_label(key.kind(), title);
            let more = device.map(|device| {
                let place = device.place.as_ref().and_then(|id| document.places.get(id));
                let place = place.map_or(String::new(), |place| format!(", {}", place.title));
                format!("{}{place}", device.title)
            });
            [label].into_iter().chain(more).collect()
        }
    })
}

fn pin_lines(document: &Document, end: &End, volts: Option<f64>) -> Vec<String> {
    let mut lines = vec![document.end_label(end)];
    if let End::Terminal(device, terminal) = end {
        let device = document.devices.get(device);
        let name = device
            .and_then(|it| it.terminal(terminal))
            .map(|it| it.name.clone());
        lines.extend(name.filter(|name| !name.is_empty()));
    }
    lines.extend(volts.map(|volts| format!("{} V", spoken((volts * 100.0).round() / 100.0))));
    lines
}
