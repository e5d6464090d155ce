//! Findings on a sheet: where the flag of each is, and which record it speaks of.

use loomwright_core::{
    drawing::{
        Overlay, Scene,
        overlay::{Flag, FlagAt, FlagLevel, PlacedFlag},
    },
    edit::Key,
    order::Map,
    rules::{Level, Location, Verdict},
};

/// The open findings' flags on this sheet, with the place of each finding in the list.
pub fn placed_flags(verdict: &Verdict, scene: &Scene) -> Vec<(usize, PlacedFlag)> {
    let open = verdict
        .findings
        .iter()
        .enumerate()
        .filter(|(_, f)| f.accepted.is_none());
    let (flags, owners): (Vec<Flag>, Vec<usize>) = open
        .filter_map(|(index, finding)| {
            let at = finding.at.iter().find_map(flag_at_record)?;
            let level = level(finding.level);
            Some((
                Flag {
                    at,
                    level,
                    number: index + 1,
                },
                index,
            ))
        })
        .unzip();
    let overlay = Overlay {
        flags,
        live_v: Map::new(),
    };
    let placed = overlay.placed_flags(scene).into_iter();
    placed.map(|flag| (owners[flag.index], flag)).collect()
}

fn level(level: Level) -> FlagLevel {
    match level {
        Level::Hazard => FlagLevel::Hazard,
        Level::Fault => FlagLevel::Fault,
        Level::Caution => FlagLevel::Caution,
        Level::Note => FlagLevel::Note,
    }
}

fn flag_at_record(at: &Location) -> Option<FlagAt> {
    Some(match at.kind {
        "terminal" => {
            let (device, terminal) = at.id.split_once('/')?;
            FlagAt::Terminal(device.into(), terminal.into())
        }
        "element" => FlagAt::Device(at.id.split_once('/')?.0.into()),
        "device" => FlagAt::Device(at.id.as_str().into()),
        "wire" => FlagAt::Wire(at.id.as_str().into()),
        "cable" => FlagAt::Cable(at.id.as_str().into()),
        "splice" => FlagAt::Splice(at.id.as_str().into()),
        "place" => FlagAt::Place(at.id.as_str().into()),
        _ => return None,
    })
}

/// The record a finding's place belongs to.
pub fn record_of(at: &Location) -> Option<Key> {
    match at.kind {
        "terminal" | "element" => Some(Key::Device(at.id.split_once('/')?.0.into())),
        kind => Key::parse(kind, &at.id),
    }
}
