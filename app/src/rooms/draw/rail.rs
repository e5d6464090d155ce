//! The thumb rail: five tools at the edge of the hand that holds the tablet, and what is done
//! often with the other hand.

use leptos::prelude::*;
use loomwright_core::order::Sorted;

use crate::{
    App, app,
    commands::{delete, take},
    strings,
    view::{Panel, ToolKind},
    widgets::{Icon, Views},
};

/// The rail.
#[component]
pub fn Rail() -> impl IntoView {
    let app = app();
    let view = app.view;
    let steps = move || app.session.steps();
    view! {
        <div class="rail" role="toolbar" aria-label=strings::TOOLS aria-orientation="vertical">
            {ToolKind::ALL
                .map(|tool| {
                    let (name, label) = face(tool);
                    view! {
                        <button
                            data-tool=name
                            aria-pressed=move || if view.tool.get() == tool { "true" } else { "false" }
                            title=format!("{label} ({})", tool.key())
                            on:click=move |_| choose(app, tool)
                        >
                            <Icon name=name />
                            <span>{label}</span>
                        </button>
                    }
                })
                .views()}
            <hr />
            <button
                disabled=move || view.selection.with(Sorted::is_empty)
                on:click=move |_| delete(app)
            >
                <Icon name="delete" />
                <span>{strings::DELETE}</span>
            </button>
            <button disabled=move || steps().0.is_none() on:click=move |_| app.session.undo()>
                <Icon name="undo" />
                <span>{strings::UNDO}</span>
            </button>
            <button disabled=move || steps().1.is_none() on:click=move |_| app.session.redo()>
                <Icon name="redo" />
                <span>{strings::REDO}</span>
            </button>
        </div>
    }
}

fn face(tool: ToolKind) -> (&'static str, &'static str) {
    match tool {
        ToolKind::Select => ("select", strings::TOOL_SELECT),
        ToolKind::Wire => ("wire", strings::TOOL_WIRE),
        ToolKind::Device => ("device", strings::TOOL_DEVICE),
        ToolKind::Splice => ("splice", strings::TOOL_SPLICE),
        ToolKind::Cable => ("cable", strings::TOOL_CABLE),
    }
}

fn choose(app: App, tool: ToolKind) {
    let view = app.view;
    take(app, tool);
    match tool {
        ToolKind::Device => view.panel.set(Panel::Devices),
        ToolKind::Cable => view.panel.set(Panel::Details),
        _ if view.panel.get_untracked() == Panel::Devices => view.panel.set(Panel::Closed),
        _ => {}
    }
}
