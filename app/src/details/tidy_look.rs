//! A sheet laid out again: as it is and as it would be, before anything is moved.

use leptos::prelude::*;
use loomwright_core::{
    document::{Document, Sheet},
    drawing::{self, measure::measure},
    edit::Change,
    ids::SheetId,
    order::Sorted,
};

use crate::{
    app,
    commands::edits,
    platform::page,
    strings,
    widgets::{Given, Views},
};

/// A sheet as it is printed, as the address of a picture.
pub fn picture(document: &Document, sheet: &SheetId) -> String {
    page::address_of_svg(&drawing::printed(document, sheet))
}

/// The moves, and the sheet before and after them: its picture, and its crossings and corners in words.
#[derive(Clone)]
struct Look {
    /// The sheet that was laid out.
    of: Option<Sheet>,
    change: Change,
    sheets: [(String, String); 2],
}

fn look(document: &Document, sheet: &SheetId) -> Result<Look, String> {
    let change = edits::tidy(document, sheet, &Sorted::new())?;
    let after = change
        .applied(document)
        .map_err(|error| error.to_string())?;
    let seen = |document: &Document, when: &str| {
        let scene = drawing::scene(document, sheet);
        let it = measure(document, sheet, &scene);
        let words = strings::tidied(when, it.crossings, it.bends);
        let svg = drawing::printed_scene(document, sheet, &scene);
        (page::address_of_svg(&svg), words)
    };
    let sheets = [
        seen(document, strings::BEFORE),
        seen(&after, strings::AFTER),
    ];
    Ok(Look {
        of: document.sheets.get(sheet).cloned(),
        change,
        sheets,
    })
}

/// The button, and what it shows.
pub fn tidy_look(key: StoredValue<SheetId>) -> AnyView {
    let app = app();
    let looked = RwSignal::new(None::<Look>);
    // What was looked at is of the sheet as it was then.
    let current = Memo::new(move |_| {
        let is_same = |look: &Look| {
            let now = |document: &Document| document.sheets.get(&key.get_value()).cloned();
            app.session.with(now) == look.of
        };
        looked.with(|look| look.as_ref().is_some_and(is_same))
    });
    let begin = move |_| {
        match app
            .session
            .peek(|document| look(document, &key.get_value()))
        {
            Ok(found) => looked.set(Some(found)),
            // It says why there is no room.
            Err(why) => {
                app.session.try_run(strings::TIDY_SHEET, Err(why));
            }
        }
    };
    let take = move |_| {
        if let Some(found) = looked.get_untracked() {
            app.session.run(strings::TIDY_SHEET, found.change);
        }
        looked.set(None);
    };
    let shown = move || {
        let look = looked.get().filter(|_| current.get());
        let sheets = look.map(|it| it.sheets);
        let one = |(at, words): (String, String)| {
            view! {
                <figure class="looked">
                    <img class="looked-at" src=at alt="" />
                    <figcaption>{words}</figcaption>
                </figure>
            }
            .into_any()
        };
        sheets.into_iter().flatten().map(one).views()
    };
    view! {
        <button on:click=begin>{strings::TIDY_SHEET}</button>
        {shown}
        <Given when=move || current.get()>
            <div class="pair">
                <button class="main" on:click=take>{strings::TIDY_TAKE}</button>
                <button on:click=move |_| looked.set(None)>{strings::TIDY_LEAVE}</button>
            </div>
        </Given>
    }
    .into_any()
}
