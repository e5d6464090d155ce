//! Labels of wire ends on a sheet, and where a wire continues.

use super::{frame, item};
use crate::{
    document::{Document, End, Sheet},
    ids::SheetId,
};

/// "COM1 J105-1", "MBUS CB5", "SP2", "airframe".
pub fn end(document: &Document, end: &End) -> String {
    match end {
        End::Terminal(device, terminal) => {
            let Some(record) = document.devices.get(device) else {
                return format!("{device} (not there)");
            };
            let pin = record.terminal(terminal);
            let label = pin.map_or(terminal.as_str(), |pin| pin.label.as_str());
            match pin.and_then(|pin| record.connector_of(pin)) {
                Some(connector) => format!("{} {}-{label}", record.tag, connector.label),
                None => format!("{} {label}", record.tag),
            }
        }
        End::Splice(splice) => match document.splices.get(splice) {
            Some(record) => record.label.clone(),
            None => format!("{splice} (not there)"),
        },
        End::Structure(place) => match document.places.get(place) {
            Some(record) => record.title.clone(),
            None => format!("{place} (not there)"),
        },
        End::Open => "not wired yet".into(),
    }
}

/// Where a wire goes on that leaves the sheet.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Continuation {
    /// Nowhere yet.
    Open,
    /// Texts for it, the fullest first.
    To(Vec<String>),
}

/// Where a wire goes on whose far end is not on this sheet: on the first sheet that shows all of it, or else its far
/// end.
pub fn onward(document: &Document, sheet: &SheetId, (near, far): (&End, &End)) -> Continuation {
    if *far == End::Open {
        return Continuation::Open;
    }
    let name = end(document, far);
    let sheets = document.sheets.iter();
    let others = sheets.filter(|(id, other)| *id != sheet && other.shows(far));
    let others = others.map(|(_, other)| other);
    let first = others.min_by_key(|it| (!it.shows(near), it.number));
    let here = document
        .sheets
        .get(sheet)
        .is_some_and(|this| this.shows(far));
    Continuation::To(match (first, here) {
        (_, true) => vec![name],
        (Some(other), _) => {
            let zone =
                zone_of(document, other, far).map_or(String::new(), |zone| format!(" {zone}"));
            let place = format!("sheet {}{zone}", other.number);
            vec![format!("{place}: {name}"), place]
        }
        (None, _) => vec![format!("on no sheet: {name}"), name],
    })
}

/// The zone of a sheet in which an end is shown: "B3".
pub fn zone_of(document: &Document, sheet: &Sheet, end: &End) -> Option<String> {
    let shown = sheet.items.values().find(|item| item.shows_end(end))?;
    let placed = item::place(document, sheet, shown, None)?;
    let pin = placed.outline.pins.iter().find(|(terminal, ..)| match end {
        End::Terminal(_, at) => at == terminal,
        _ => true,
    });
    let at = pin.map_or(placed.rect.centre(), |(_, at, _)| *at);
    Some(frame::zone(sheet.size, at))
}
