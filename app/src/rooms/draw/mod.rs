//! The draw room: the sheet, the thumb rail, the panel of details.

mod devices;
mod ink;
mod rail;
mod sheets;

use leptos::{ev, prelude::*};

use crate::{
    app,
    commands::{
        sight::{fit, zoom},
        toggle_wires,
    },
    details,
    findings::Findings,
    grid::WireGrid,
    platform::focus,
    strings,
    surface::{Board, Surface},
    view::{Panel, ToolKind},
    widgets::{Given, Icon},
};

/// The room.
#[component]
pub fn Draw() -> impl IntoView {
    let app = app();
    let board = Board::new(app);
    provide_context(board);
    let title = move || match app.view.panel.get() {
        Panel::Closed => "",
        Panel::Details => strings::DETAILS,
        Panel::Findings => strings::FINDINGS,
        Panel::Devices => strings::ADD_DEVICE,
        Panel::Wires => strings::WIRES_OF_SHEET,
    };
    view! {
        <div class="draw-room" data-panel=move || format!("{:?}", app.view.panel.get()).to_ascii_lowercase()>
            <div class="sheet-area">
                <Surface board=board />
                <p class="hint" role="status">
                    {move || hint(board)}
                </p>
                <Given when=move || app.view.tool.get() == ToolKind::Wire>
                    <button
                        class="several"
                        aria-pressed=move || board.several.get().to_string()
                        on:click=move |_| board.several.update(|on| *on = !*on)
                    >
                        {strings::SEVERAL_PINS}
                    </button>
                </Given>
                <ink::InkButtons board=board />
                <div class="below">
                <sheets::Tabs />
                <div class="zoom" role="group">
                    <button
                        aria-label=strings::WIRES_OF_SHEET
                        aria-pressed=move || (app.view.panel.get() == Panel::Wires).to_string()
                        on:click=move |_| toggle_wires(app)
                    >
                        <Icon name="build" />
                    </button>
                    <button class="step" aria-label=strings::ZOOM_OUT on:click=move |_| zoom(app, 0.8)>
                        <Icon name="minus" />
                    </button>
                    <button aria-label=strings::FIT on:click=move |_| fit(app)>
                        <Icon name="fit" />
                    </button>
                    <button class="step" aria-label=strings::ZOOM_IN on:click=move |_| zoom(app, 1.25)>
                        <Icon name="plus" />
                    </button>
                </div>
                </div>
            </div>
            <rail::Rail />
            <Given when=move || app.view.panel.get() != Panel::Closed>
                <aside
                    class="panel"
                    aria-label=title
                    on:keydown=move |event: ev::KeyboardEvent| {
                        if event.key() == "Escape" {
                            app.view.panel.set(Panel::Closed);
                            focus::focus("drawing");
                        }
                    }
                >
                    <header>
                        <h2>{title}</h2>
                        <button
                            class="plain"
                            aria-label=strings::CLOSE
                            on:click=move |_| app.view.panel.set(Panel::Closed)
                        >
                            <Icon name="close" />
                        </button>
                    </header>
                    <div class="panel-body">
                        {move || match app.view.panel.get() {
                            Panel::Closed => ().into_any(),
                            Panel::Details => view! { <details::Details board=board /> }.into_any(),
                            Panel::Findings => view! { <Findings /> }.into_any(),
                            Panel::Devices => view! { <devices::Devices /> }.into_any(),
                            Panel::Wires => view! { <WireGrid of_sheet=true /> }.into_any(),
                        }}
                    </div>
                </aside>
            </Given>
        </div>
    }
}

/// One line on what the current tool waits for.
fn hint(board: Board) -> Option<&'static str> {
    let begun = board.app().view.ghosts.with(|ghosts| ghosts.len() > 1);
    match board.app().view.tool.get() {
        ToolKind::Select
            if board
                .app()
                .derived
                .scene
                .with(|scene| scene.boxes.is_empty()) =>
        {
            let is_new = is_without_devices(board);
            Some(if is_new {
                strings::HINT_EMPTY
            } else {
                strings::HINT_EMPTY_SHEET
            })
        }
        ToolKind::Select => None,
        ToolKind::Wire if begun => Some(strings::HINT_WIRE_TO),
        ToolKind::Wire if board.several.get() => Some(strings::HINT_SEVERAL),
        ToolKind::Wire => Some(strings::HINT_WIRE),
        ToolKind::Splice => Some(strings::HINT_SPLICE),
        ToolKind::Cable => Some(strings::HINT_CABLE),
        ToolKind::Device if board.app().view.adding.with(Option::is_some) => {
            Some(strings::HINT_DEVICE_AT)
        }
        ToolKind::Device => Some(strings::HINT_DEVICE),
    }
}

/// True if the aircraft has no device yet.
fn is_without_devices(board: Board) -> bool {
    let session = board.app().session;
    session.with(|document| document.devices.is_empty())
}
