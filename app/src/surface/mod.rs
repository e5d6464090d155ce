//! The drawing surface: the sheet as SVG, fingers and keys in, tools at work.

mod board;
pub mod camera;
pub mod gestures;
mod input;
pub mod keys;
mod over;
mod paint;

use leptos::{ev, prelude::*, svg::Svg};
use loomwright_core::drawing::theme::{self, Theme};
use wasm_bindgen::JsCast;

pub use board::Board;
pub use keys::delete;
pub use over::record_of;

use crate::{app, strings};

/// The sheet with everything that lies over it.
#[component]
pub fn Surface(
    /// The board it shows.
    board: Board,
) -> impl IntoView {
    let app = app();
    let drawing = NodeRef::<Svg>::new();
    let layer = NodeRef::<leptos::svg::G>::new();
    on_cleanup(move || board.leave());

    Effect::new(move |_| {
        if let Some(svg) = drawing.get() {
            board.attach(svg.unchecked_into());
        }
    });
    Effect::new(move |_| {
        let scene = app.derived.scene.get();
        if let Some(layer) = layer.get() {
            board.paint(layer.unchecked_ref(), &scene);
        }
    });
    // Another sheet or another project: shown whole.
    Effect::new(move |_| {
        app.session.track_opened();
        app.view.sheet.track();
        board.size.track();
        board.fit_once();
    });
    Effect::new(move |_| {
        let (_, keys) = app.view.centre.get();
        board.bring(&keys);
    });

    let live = Memo::new(move |_| over::live(app));
    let press = move |event: ev::PointerEvent| board.press(&event);
    let transform = move || {
        let camera = board.camera.get();
        format!(
            "translate({:.2} {:.2}) scale({:.4})",
            camera.x, camera.y, camera.scale
        )
    };
    view! {
        <style>{inks()}</style>
        <svg
            id="drawing"
            class="drawing loom"
            node_ref=drawing
            tabindex="0"
            role="application"
            aria-label=strings::DRAWING
            data-tool=move || board.tool_word()
            style=move || format!("--unzoom:{:.4}", board.unzoom())
            on:pointerdown=press
            on:pointermove=move |event: ev::PointerEvent| board.moved(&event)
            on:pointerup=move |event: ev::PointerEvent| board.release(&event)
            on:pointercancel=move |event: ev::PointerEvent| board.cancel(&event)
            on:wheel=move |event: ev::WheelEvent| board.wheel(&event)
            on:mousedown=|event: ev::MouseEvent| event.prevent_default()
            on:contextmenu=move |event: ev::MouseEvent| event.prevent_default()
            on:keydown=move |event: ev::KeyboardEvent| keys::down(board, &event)
        >
            <g transform=transform>
                <rect
                    class="f-paper paper"
                    width=move || app.derived.scene.with(|scene| scene.width_mm)
                    height=move || app.derived.scene.with(|scene| scene.height_mm)
                />
                <g class="over-live" inner_html=move || live.with(|live| live[0].clone()) />
                <g class="scene" node_ref=layer></g>
                <g class="over-live" inner_html=move || live.with(|live| live[1].clone()) />
                <g class="over-marks" inner_html=move || over::marks(app) />
                <g class="over-selection" inner_html=move || over::selection(app) />
                <g class="over-ghosts" inner_html=move || over::ghosts(&board.ghosts.get()) />
            </g>
        </svg>
    }
}

/// The colours of every ink in every theme.
fn inks() -> String {
    format!(
        ".loom{{{}}}[data-theme=dark] .loom{{{}}}[data-theme=sun] .loom{{{}}}{}\
         @media print{{:root .loom{{{}}}}}",
        theme::properties(Theme::Light),
        theme::properties(Theme::Dark),
        theme::properties(Theme::Sun),
        theme::classes(),
        theme::properties(Theme::BlackAndWhite),
    )
}
