//! Our own icons: strokes on a 24 by 24 grid, drawn in the ink of the text around them.

use leptos::prelude::*;

/// An icon by name. It says nothing to a screen reader; its button has the words.
#[component]
pub fn Icon(
    /// One of the names below.
    name: &'static str,
) -> impl IntoView {
    view! {
        <svg class="icon" viewBox="0 0 24 24" aria-hidden="true">
            <path d=path(name) />
        </svg>
    }
}

fn path(name: &str) -> &'static str {
    match name {
        "select" => "M5 3l6 16 2.5-6.5L20 10z",
        "wire" => {
            "M3 6h7v12h11M3 6m-1.5 0a1.5 1.5 0 1 0 3 0a1.5 1.5 0 1 0-3 0M21 18m-1.5 0a1.5 1.5 0 1 0 3 0a1.5 1.5 0 1 0-3 0"
        }
        "device" => "M5 5h14v14H5zM2 9h3M2 15h3M19 9h3M19 15h3",
        "splice" => "M2 12h20M12 12v9M9 9h6v6H9z",
        "cable" => "M2 9h20M2 15h20M7 5v14M17 5v14",
        "delete" => "M2 12h6.5M15.5 12H22M8.5 7l7 10M15.5 7l-7 10",
        "undo" => "M13 6L5 12l8 6zM17 9v6M20.5 7v10",
        "redo" => "M11 6l8 6-8 6zM7 9v6M3.5 7v10",
        "close" => "M6 6l12 12M18 6L6 18",
        "menu" => "M4 6h16M4 12h16M4 18h16",
        "settings" => {
            "M12 13m-6.5 0a6.5 6.5 0 1 0 13 0a6.5 6.5 0 1 0-13 0M12 13l3-4M12 3v1.5M4 6.5l1.2 1.2M20 6.5l-1.2 1.2"
        }
        "find" => "M10.5 10.5m-6 0a6 6 0 1 0 12 0a6 6 0 1 0-12 0M15 15l6 6",
        "plus" => "M12 5v14M5 12h14",
        "minus" => "M5 12h14",
        "fit" => "M3 4h18v16H3zM7 12h10M7 12l2.5-2.5M7 12l2.5 2.5M17 12l-2.5-2.5M17 12l-2.5 2.5",
        "details" => "M4 5h16v14H4zM14 5v14",
        "plan" => "M5 4h14v16H5zM8 9h8M8 13h8M8 17h5",
        "draw" => "M4 17V7h6v10zM10 12h5v5h5",
        "check" => "M4 12l5 6L20 5",
        "build" => "M4 6h3M10 6h10M4 12h3M10 12h10M4 18h3M10 18h10",
        "test" => "M12 20m-2 0a2 2 0 1 0 4 0a2 2 0 1 0-4 0M12 18V11M4 13a8 8 0 0 1 16 0M12 11l4-4",
        "log" => "M6 3h12v18H6zM9 8h6M9 12h6M9 16h3",
        _ => "",
    }
}
