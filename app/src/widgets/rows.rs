//! Rows that keep their state while others come and go.

use std::sync::Arc;

use leptos::prelude::*;

/// A row that can be made: its key, and how.
struct Row {
    key: String,
    make: Box<dyn FnOnce() -> AnyView + Send>,
}

/// A view of each item. An item with the key of one that was there before keeps the view of that.
pub fn rows<T: Send + 'static>(
    items: impl Fn() -> Vec<T> + Send + Sync + 'static,
    key: impl Fn(&T) -> String + Send + Sync + 'static,
    view: impl Fn(T) -> AnyView + Send + Sync + 'static,
) -> AnyView {
    let view = Arc::new(view);
    keyed(Box::new(move || {
        let row = |item| {
            let view = Arc::clone(&view);
            Row {
                key: key(&item),
                make: Box::new(move || view(item)),
            }
        };
        items().into_iter().map(row).collect()
    }))
}

/// One kind of list for every kind of item: leptos compiles some 10 KB for each.
fn keyed(rows: Box<dyn Fn() -> Vec<Row> + Send + Sync>) -> AnyView {
    view! { <For each=rows key=|row| row.key.clone() children=|row: Row| (row.make)() /> }
        .into_any()
}
