//! The top bar: project, rooms, state, undo and redo, settings.

use leptos::prelude::*;

use super::{
    over::{Over, Overlaid},
    states,
};
use crate::{app, strings, view::Room, widgets::Icon};

/// The top bar.
#[component]
pub fn Bar() -> impl IntoView {
    let app = app();
    let over = expect_context::<Overlaid>().0;
    let title = Memo::new(move |_| app.session.with(|document| document.project.title.clone()));
    let room = move |room: Room, label: &'static str, icon: &'static str| {
        view! {
            <button
                class="room-tab"
                aria-current=move || (app.view.room.get() == room).then_some("page")
                on:click=move |_| app.view.room.set(room)
            >
                <Icon name=icon />
                <span>{label}</span>
            </button>
        }
    };
    view! {
        <header class="bar">
            <button
                class="project"
                aria-haspopup="dialog"
                aria-label=move || format!("{}: {}", strings::PROJECT_MENU, title.get())
                on:click=move |_| over.set(Over::Projects)
            >
                <Icon name="menu" />
                <span class="title">{title}</span>
            </button>
            <nav aria-label=strings::ROOMS>
                {room(Room::Plan, strings::PLAN, "plan")} {room(Room::Draw, strings::DRAW, "draw")}
                {room(Room::Check, strings::CHECK, "check")}
                {room(Room::Build, strings::BUILD, "build")}
                {room(Room::Test, strings::TEST_ROOM, "test")} {room(Room::Log, strings::LOG, "log")}
            </nav>
            <states::StateSwitch />
            <button class="plain" aria-label=strings::FIND on:click=move |_| over.set(Over::Find)>
                <Icon name="find" />
            </button>
            <button
                class="plain"
                aria-label=strings::SETTINGS
                on:click=move |_| over.set(Over::Settings)
            >
                <Icon name="settings" />
            </button>
        </header>
    }
}
