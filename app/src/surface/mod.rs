//! The drawing surface: the sheet as SVG, fingers and keys in, tools at work.

mod board;
pub mod gestures;
mod held;
mod hover;
mod input;
pub mod keys;
mod menu;
mod over;
mod paint;
mod pointers;
mod tooling;

use leptos::{ev, prelude::*, svg::Svg};
use loomwright_core::drawing::theme::{self, Theme};
use wasm_bindgen::JsCast;

pub use board::Board;

use crate::{app, strings, widgets::Given};

/// The sheet with everything over it.
#[component]
pub fn Surface(
    /// The board it shows.
    board: Board,
) -> impl IntoView {
    let app = app();
    let drawing = NodeRef::<Svg>::new();
    let layer = NodeRef::<leptos::svg::G>::new();
    on_cleanup(move || {
        held::stop(board);
        board.leave();
    });

    drawing.on_load(move |svg| board.attach(svg.unchecked_into()));
    Effect::new(move |_| {
        let scene = app.derived.scene.get();
        if let Some(layer) = layer.get() {
            board.paint(layer.unchecked_ref(), &scene);
        }
    });

    let live = Memo::new(move |_| over::live(app));
    let press = move |event: ev::PointerEvent| board.press(&event);
    let transform = move || app.derived.camera.get().transform();
    view! {
        <style>{inks()}</style>
        // A box of its own gives the drawing its height: not every browser resolves a percentage against the row
        // of a grid.
        <div class="drawing-place">
        <svg
            id="drawing"
            class="drawing loom"
            node_ref=drawing
            tabindex="0"
            role="application"
            aria-label=strings::DRAWING
            data-tool=move || board.tool_word()
            data-pinched=move || board.pinching.get().then_some("")
            style=move || format!("--unzoom:{:.4}", board.unzoom())
            on:pointerdown=press
            on:pointermove=move |event: ev::PointerEvent| board.moved(&event)
            on:pointerup=move |event: ev::PointerEvent| board.release(&event)
            on:pointerleave=move |_| hover::away(board)
            on:pointercancel=move |event: ev::PointerEvent| board.cancel(&event)
            on:wheel=move |event: ev::WheelEvent| board.wheel(&event)
            on:mousedown=|event: ev::MouseEvent| event.prevent_default()
            on:contextmenu=move |event: ev::MouseEvent| board.open_menu(&event)
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
                <g class="over-selection" inner_html=move || over::selection(app) />
                <g class="over-marks" inner_html=move || over::marks(app) />
                <g class="over-ghosts" inner_html=move || over::ghosts(&board.app().view.ghosts.get()) />
            </g>
        </svg>
        </div>
        <Given when=move || board.lens.with(Option::is_some)>{lens(board)}</Given>
        <Given when=move || board.pen.get() && !board.app().settings.with(|it| it.fingers_draw)>
            {pen_in_use(board)}
        </Given>
        {move || board.hover.get().map(|card| hover::card(board, card))}
        {move || board.offered.get().map(|it| menu::pins(board, it.at, it.from, it.pins))}
        {move || board.menu.get().map(|(x, y, key)| menu::menu(board, (x, y), key))}
    }
}

/// Says that fingers do not draw while a pen is in use, and lets them.
fn pen_in_use(board: Board) -> AnyView {
    let let_draw = move |_| {
        (board.app().settings).update(|settings| settings.fingers_draw = true);
        board.app().session.say(strings::FINGERS_DRAW_NOW.into());
    };
    view! {
        <p class="pen-in-use" role="status">
            {strings::PEN_IN_USE}
            <button on:click=let_draw>{strings::LET_FINGERS_DRAW}</button>
        </p>
    }
    .into_any()
}

/// Side of the glass, pixels.
const LENS_PX: f64 = 148.0;
/// How much larger things are in it.
const LENS_TIMES: f64 = 2.2;

/// What is under the finger, larger, above it or, at the top, to its side. The drawing in it is from when
/// the finger came down; what the tool shows follows.
fn lens(board: Board) -> AnyView {
    let at = move || board.lens.get().unwrap_or_default();
    let seen = LENS_PX / LENS_TIMES;
    let style = move || {
        let (x, y) = at();
        let (wide, _) = board.app().view.size.get_untracked();
        let left = (x - LENS_PX / 2.0).clamp(4.0, (wide - LENS_PX - 4.0).max(4.0));
        let above = y - LENS_PX - 40.0;
        let (left, top) = match above > 4.0 {
            true => (left, above),
            false if x > wide / 2.0 => (x - LENS_PX - 60.0, 4.0),
            false => (x + 60.0, 4.0),
        };
        format!("left:{left:.0}px;top:{top:.0}px;width:{LENS_PX}px;height:{LENS_PX}px;--unzoom:1")
    };
    let view_box = move || {
        let (x, y) = at();
        format!(
            "{:.1} {:.1} {seen:.1} {seen:.1}",
            x - seen / 2.0,
            y - seen / 2.0
        )
    };
    let cross = move || {
        let (x, y) = at();
        format!("M{:.1} {y:.1}h8M{x:.1} {:.1}v8", x - 4.0, y - 4.0)
    };
    let transform = board.camera().transform();
    view! {
        <svg class="lens loom" aria-hidden="true" viewBox=view_box style=style>
            <g transform=transform>
                <g inner_html=board.drawn()></g>
                <g inner_html=move || over::ghosts(&board.app().view.ghosts.get())></g>
            </g>
            <path class="lens-cross" d=cross />
        </svg>
    }
    .into_any()
}

/// The colors of every ink in every theme.
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
