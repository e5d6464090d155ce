//! Choosing a tool.

use leptos::prelude::*;

use crate::{
    App,
    view::{Addition, ToolKind},
};

/// Makes a tool the current one; what was begun with the one before is dropped.
pub fn take(app: App, tool: ToolKind) {
    drop_begun(app);
    app.view.take(tool);
}

/// Makes the device tool the current one, to add this.
pub fn take_to_add(app: App, addition: Addition) {
    app.view.adding.set(Some(addition));
    take(app, ToolKind::Device);
}

/// Drops what was begun without leaving the tool.
pub fn drop_begun(app: App) {
    app.session.show_draft(None);
    app.view.drop_ghosts();
}
