//! A record under another key, with everything that mentions it.

use super::Key;
use crate::{
    document::{Document, End, Shown},
    ids::{DeviceId, PlaceId, SpliceId},
    order::Map,
};

/// Moves a record to another key of its kind, which must be free. References are updated; what a person sees stays.
/// Does nothing if there is no such record.
pub fn rekey(document: &mut Document, key: &Key, id: &str) {
    let Some(record) = document.record(key) else {
        return;
    };
    let new = record.key(id);
    document.put(key, None);
    document.put(&new, Some(record));
    match key {
        Key::Device(old) => device(document, old, id),
        Key::Splice(old) => splice(document, old, id),
        Key::Place(old) => place(document, old, id),
        Key::Wire(old) => {
            for wire in document
                .cables
                .values_mut()
                .flat_map(|cable| &mut cable.wires)
            {
                if wire == old {
                    *wire = id.into();
                }
            }
            for sheet in document.sheets.values_mut() {
                if let Some(stretch) = sheet.held.remove(old) {
                    sheet.held.insert(id.into(), stretch);
                }
            }
        }
        Key::Route(old) => {
            for route in document.wires.values_mut().flat_map(|wire| &mut wire.route) {
                if route == old {
                    *route = id.into();
                }
            }
        }
        _ => {}
    }
    accepted(document, key, id);
}

/// Changes every end that may mention something.
fn ends(document: &mut Document, change: impl Fn(&mut End)) {
    for wire in document.wires.values_mut() {
        change(&mut wire.from);
        change(&mut wire.to);
    }
    for shield in document
        .cables
        .values_mut()
        .filter_map(|cable| cable.shield.as_mut())
    {
        for end in [&mut shield.from, &mut shield.to] {
            if let Some(at) = end.at_mut() {
                change(at);
            }
        }
    }
    for reading in document.readings.values_mut() {
        change(&mut reading.from);
        change(&mut reading.to);
    }
}

fn shown(document: &mut Document, change: impl Fn(&mut Shown)) {
    for sheet in document.sheets.values_mut() {
        for item in sheet.items.values_mut() {
            change(&mut item.shows);
        }
    }
}

fn device(document: &mut Document, old: &DeviceId, id: &str) {
    ends(document, |end| {
        if let End::Terminal(device, _) = end
            && device == old
        {
            *device = id.into();
        }
    });
    shown(document, |shows| {
        if let Shown::Device { device, .. } = shows
            && device == old
        {
            *device = id.into();
        }
    });
    for device in document.devices.values_mut() {
        for other in device.independent_of.iter_mut().filter(|it| *it == old) {
            *other = id.into();
        }
    }
    let moved = |key: &str| match key.split_once('/') {
        Some((device, element)) if device == old.as_str() => format!("{id}/{element}"),
        _ => key.to_owned(),
    };
    for state in document.states.values_mut() {
        let switches = state.switches.iter().map(|(key, at)| (moved(key), *at));
        state.switches = switches.collect::<Map<_, _>>();
        let loads = state.loads.iter().map(|(key, used)| (moved(key), *used));
        state.loads = loads.collect::<Map<_, _>>();
        for key in &mut state.pulled {
            *key = moved(key);
        }
    }
}

fn splice(document: &mut Document, old: &SpliceId, id: &str) {
    ends(document, |end| {
        if let End::Splice(splice) = end
            && splice == old
        {
            *splice = id.into();
        }
    });
    shown(document, |shows| {
        if let Shown::Splice(splice) = shows
            && splice == old
        {
            *splice = id.into();
        }
    });
}

fn place(document: &mut Document, old: &PlaceId, id: &str) {
    ends(document, |end| {
        if let End::Structure(place) = end
            && place == old
        {
            *place = id.into();
        }
    });
    shown(document, |shows| {
        if let Shown::Structure(place) = shows
            && place == old
        {
            *place = id.into();
        }
    });
    let devices = document
        .devices
        .values_mut()
        .filter_map(|it| it.place.as_mut());
    let splices = document
        .splices
        .values_mut()
        .filter_map(|it| it.place.as_mut());
    let bonds = document
        .places
        .values_mut()
        .filter_map(|it| it.bonded_to.as_mut());
    let routes = document
        .routes
        .values_mut()
        .flat_map(|it| [&mut it.from, &mut it.to]);
    let passed = document.wires.values_mut().flat_map(|it| &mut it.via);
    for place in devices
        .chain(splices)
        .chain(bonds)
        .chain(routes)
        .chain(passed)
    {
        if place == old {
            *place = id.into();
        }
    }
}

/// Acceptances name places as `kind:id`, or `kind:id/part`.
fn accepted(document: &mut Document, key: &Key, id: &str) {
    let of_device = matches!(key, Key::Device(_));
    let rename = |at: &mut String| {
        let Some((kind, rest)) = at.split_once(':') else {
            return;
        };
        let (head, part) = match rest.split_once('/') {
            Some((head, part)) if of_device => (head, format!("/{part}")),
            _ => (rest, String::new()),
        };
        let names_place = kind == "structure" && matches!(key, Key::Place(_));
        let is_kind = kind == key.kind()
            || names_place
            || (of_device && matches!(kind, "terminal" | "element"));
        if is_kind && head == key.id() {
            *at = format!("{kind}:{id}{part}");
        }
    };
    for record in document.accepted.values_mut() {
        record.at.iter_mut().for_each(rename);
        let drawn = std::mem::take(&mut record.drawn);
        record.drawn = drawn
            .into_iter()
            .map(|(mut at, mut values)| {
                rename(&mut at);
                values.values_mut().for_each(rename);
                (at, values)
            })
            .collect();
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{document::invariants, testing::whole};

    /// A project moved to another key and back is unchanged; in between it is valid.
    #[test]
    fn every_record_can_go_under_another_key_and_back() {
        let before = whole();
        for key in before.keys() {
            if key == Key::Project {
                continue;
            }
            let mut document = before.clone();
            rekey(&mut document, &key, "another-key");
            assert_eq!(invariants::broken(&document), [], "{key}");
            assert!(document != before, "{key}");
            let new = Key::parse(key.kind(), "another-key").expect("of the same kind");
            rekey(&mut document, &new, key.id());
            assert_eq!(document, before, "{key}");
        }
    }
}
