//! The build room: the wire list.

use leptos::prelude::*;
use loomwright_core::order;
use loomwright_core::{
    document::{Document, Wire, natural_cmp},
    edit::Key,
    ids::WireId,
    units::M_PER_FT,
};

use crate::{
    App, app,
    rooms::draw::findings,
    strings,
    widgets::{rows, spoken},
};

/// One line of the list.
#[derive(Clone, PartialEq)]
struct Line {
    id: WireId,
    cells: [String; 8],
}

/// The room.
#[component]
pub fn Build() -> impl IntoView {
    let app = app();
    let lines = Memo::new(move |_| app.session.with(lines));
    let length = Memo::new(move |_| app.session.with(|document| document.project.show_feet));
    view! {
        <section class="page">
            <h2>{strings::WIRE_LIST}</h2>
            <p class="hush">
                {move || strings::count(lines.with(Vec::len), strings::WIRES)}
            </p>
            <table class="list">
                <thead>
                    <tr>
                        <th>{strings::NUMBER}</th>
                        <th>{strings::FROM}</th>
                        <th>{strings::TO}</th>
                        <th>{strings::GAUGE}</th>
                        <th>{strings::COLOUR}</th>
                        <th>{move || if length.get() { strings::LENGTH_FT } else { strings::LENGTH_M }}</th>
                        <th>{strings::FUNCTION}</th>
                        <th>{strings::STATUS}</th>
                    </tr>
                </thead>
                <tbody>
                    {rows(
                        move || lines.get(),
                        |line| format!("{}\n{}", line.id, line.cells.join("\n")),
                        move |line| row(app, line),
                    )}
                </tbody>
            </table>
            <p class="hush">{strings::NOTICE_PRINT}</p>
        </section>
    }
}

fn row(app: App, line: Line) -> AnyView {
    let [number, rest @ ..] = line.cells;
    let id = line.id;
    view! {
        <tr>
            <td>
                <button on:click=move |_| {
                    findings::show(app, vec![Key::Wire(id.clone())]);
                    app.view.select(Key::Wire(id.clone()));
                }>{number}</button>
            </td>
            {Vec::from(rest.map(|cell| view! { <td>{cell}</td> }.into_any()))}
        </tr>
    }
    .into_any()
}

fn lines(document: &Document) -> Vec<Line> {
    let mut lines: Vec<Line> = document
        .wires
        .iter()
        .map(|(id, wire)| Line {
            id: id.clone(),
            cells: cells(document, id, wire),
        })
        .collect();
    order::sort_by(&mut lines, |a, b| natural_cmp(&a.cells[0], &b.cells[0]));
    lines
}

fn cells(document: &Document, id: &WireId, wire: &Wire) -> [String; 8] {
    let pieces = wire.route.iter().filter_map(|id| document.routes.get(id));
    let routed = (!wire.route.is_empty()).then(|| pieces.map(|route| route.length_m).sum::<f64>());
    let unit_m = if document.project.show_feet {
        M_PER_FT
    } else {
        1.0
    };
    let length = wire
        .length_m
        .or(routed)
        .map(|m| spoken((m / unit_m * 100.0).round() / 100.0));
    [
        document.wire_label(id),
        document.end_label(&wire.from),
        document.end_label(&wire.to),
        wire.gauge_awg.to_string(),
        wire.colour.clone(),
        length.unwrap_or_else(|| "–".into()),
        wire.function.clone(),
        crate::details::status_word(wire.status),
    ]
}
