//! What ends of wires are called on a sheet, and where a wire goes on.

use super::wires::Onward;
use crate::order;
use crate::{
    document::{Document, End},
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
            let connector = pin
                .and_then(|pin| pin.connector.as_ref())
                .and_then(|id| record.connector(id));
            match connector {
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

/// Where a wire goes on whose far end is not on this sheet.
pub fn onward(document: &Document, sheet: &SheetId, far: &End) -> Onward {
    if *far == End::Open {
        return Onward::Open;
    }
    let name = end(document, far);
    let mut sheets: Vec<u32> = document
        .sheets
        .iter()
        .filter(|(id, other)| *id != sheet && other.shows(far))
        .map(|(_, other)| other.number)
        .collect();
    order::sort(&mut sheets);
    let here = document
        .sheets
        .get(sheet)
        .is_some_and(|this| this.shows(far));
    Onward::To(match (sheets.first(), here) {
        (_, true) => vec![name],
        (Some(number), _) => vec![format!("sheet {number}: {name}"), format!("sheet {number}")],
        (None, _) => vec![format!("on no sheet: {name}"), name],
    })
}
