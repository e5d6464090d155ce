//! `loomwright swap`.

use loomwright_core::{
    catalogue,
    document::{Device, Document, Extra, LogEntry, LogKind, Terminal},
    edit::{self, By, EditError, Pin, Record},
    exchange,
    ids::{DeviceId, TerminalId},
    reports::swap::{Swap, tell},
};

use crate::{
    ask,
    files::{open, open_to_write, print, write},
    report::formed,
};

/// Shows what a swap changes, and makes the change if an output file is given.
pub fn run(ask: &ask::Swap) -> Result<(), String> {
    let before = match ask.output {
        Some(_) => open_to_write(&ask.file)?,
        None => open(&ask.file)?,
    };
    let (id, old) = device(&before, &ask.device).ok_or_else(|| {
        format!(
            "there is no device {:?}; expected a tag or an id",
            ask.device
        )
    })?;
    let unit = unit(ask, &before)?;
    let mut pins = edit::match_pins(&before, id, &unit);
    for given in &ask.pins {
        put(&mut pins, (old, &unit), given)?;
    }
    let made = |pins: &[Pin]| -> Result<Document, EditError> {
        let change = edit::swap(&before, id, unit.clone(), pins)?;
        Ok(change.applied(&before)?)
    };
    let after = made(&pins).map_err(|it| it.to_string())?;
    let as_it_is = made(&edit::match_cavities(old, &unit)).map_err(|it| it.to_string())?;
    let found = pins.iter().map(|pin| (pin.old.clone(), pin.by.words()));
    let sheet = tell(&Swap {
        before: &before,
        after: &after,
        as_it_is: &as_it_is,
        device: id,
        found: &found.collect(),
    });
    let mut sheet = sheet.ok_or("the device is gone")?;
    sheet.paper.heading("Draft for the log");
    sheet.paper.text(sheet.draft.clone());
    print(&formed(&sheet.paper, ask.format))?;
    let Some(output) = &ask.output else {
        return Ok(());
    };
    let logged = match (&ask.who, &ask.date) {
        (Some(who), Some(date)) => {
            let entry = LogEntry {
                date: date.clone(),
                who: who.clone(),
                kind: LogKind::Change,
                text: sheet.draft,
                hours: None,
                results: Vec::new(),
                extra: Extra::new(),
            };
            let change = edit::add_record(&after, Record::Log(entry));
            let change = change.map_err(|it| it.to_string())?;
            change.applied(&after).map_err(|it| it.to_string())?
        }
        _ => after,
    };
    write(Some(output), &exchange::save(&logged))
}

fn device<'d>(document: &'d Document, wanted: &str) -> Option<(&'d DeviceId, &'d Device)> {
    let mut devices = document.devices.iter();
    devices.find(|(id, it)| it.tag == wanted || id.as_str() == wanted)
}

/// The new unit.
fn unit(ask: &ask::Swap, before: &Document) -> Result<Device, String> {
    let of = |document: &Document| device(document, &ask.unit).map(|(_, it)| it.clone());
    let found = match &ask.from {
        Some(file) => of(&open(file)?),
        None => catalogue::get(&ask.unit)
            .map(catalogue::Part::device)
            .or_else(|| of(before)),
    };
    found.ok_or_else(|| {
        let parts = catalogue::all().iter().map(|part| part.id.as_str());
        let parts: Vec<&str> = parts.collect();
        format!(
            "there is no unit {:?}; expected the tag of a device, or one of: {}",
            ask.unit,
            parts.join(", ")
        )
    })
}

/// Assigns a pin by hand: "2=14".
fn put(pins: &mut [Pin], (old, unit): (&Device, &Device), given: &str) -> Result<(), String> {
    let (from, to) = given
        .split_once('=')
        .ok_or_else(|| format!("--pin {given}: expected OLD=NEW, such as 2=14"))?;
    let from = pin(old, from)?;
    let to = match to.trim() {
        "" => None,
        to => Some(pin(unit, to)?),
    };
    for it in pins.iter_mut().filter(|it| it.old == from) {
        (it.new, it.by) = (to.clone(), By::Hand);
    }
    Ok(())
}

/// Finds a pin by its marking, with or without its connector.
fn pin(unit: &Device, called: &str) -> Result<TerminalId, String> {
    let called = called.trim();
    let is_it = |it: &&Terminal| {
        let label = unit.terminal_label(it);
        let short = label.strip_prefix(&unit.tag).map_or("", str::trim_start);
        it.label == called || label == called || short == called || it.id.as_str() == called
    };
    let found: Vec<&Terminal> = unit.terminals.iter().filter(is_it).collect();
    match found.as_slice() {
        [one] => Ok(one.id.clone()),
        [] => Err(format!("{} has no pin {called:?}", unit.title)),
        many => {
            let names: Vec<String> = many.iter().map(|it| unit.terminal_label(it)).collect();
            Err(format!(
                "{called:?} matches {}; add the connector",
                names.join(" or ")
            ))
        }
    }
}
