//! What edits do, and what holds for all of them.

use super::*;
use crate::{
    document::{
        BuildStatus, Cable, CableKind, Document, End, Extra, LoadUse, Shield, ShieldEnd, Shown,
        WireEnd, invariants,
    },
    exchange,
    ids::{DeviceId, WireId},
    testing::{
        arbitrary::{self, Dice},
        whole,
    },
    units::Gauge,
};

/// Makes the edit, checks that the document is sound and that the edit can be undone.
#[track_caller]
fn made(document: &Document, change: Result<Change, EditError>) -> Document {
    let change = change.unwrap();
    let mut after = document.clone();
    change.apply(&mut after).unwrap();
    assert_eq!(invariants::broken(&after), vec![]);
    let mut back = after.clone();
    change.invert().apply(&mut back).unwrap();
    assert_eq!(back, *document);
    after
}

fn spot(x_mm: f64, y_mm: f64) -> SheetPoint {
    SheetPoint {
        sheet: "power".into(),
        x_mm,
        y_mm,
    }
}

/// 10,000 random edits: the document is sound after each, undo gives back the bytes it began with, redo those it
/// ended with.
#[test]
fn ten_thousand_edits_are_sound_and_undo_to_the_same_bytes() {
    let mut document = whole();
    let first = exchange::save(&document);
    let mut history = History::new(20_000);
    let mut dice = Dice::new(20_260_301);
    let mut n_made = [0; arbitrary::EDITS];
    for n in 0..10_000 {
        // A document that grew is cut back, so that the run stays quick.
        let which = if document.keys_len() > 150 {
            5
        } else {
            dice.below(arbitrary::EDITS)
        };
        if let Some(Ok(change)) = arbitrary::edit(&document, which, &mut dice) {
            n_made[which] += 1;
            history.run(&mut document, "edit", change).unwrap();
            assert_eq!(invariants::broken(&document), vec![]);
        }
        // From time to time start again with a complete aircraft, or there would be no switch left to operate.
        if n % 250 == 249 {
            let (sound, now) = (whole(), document.clone());
            let back = Change::between(&now, &sound);
            history.run(&mut document, "begin again", back).unwrap();
        }
    }
    assert!(
        n_made.iter().all(|n| *n > 10),
        "some edit is never made: {n_made:?}"
    );
    let last = exchange::save(&document);
    while history.undo(&mut document).unwrap().is_some() {}
    assert_eq!(exchange::save(&document), first);
    while history.redo(&mut document).unwrap().is_some() {}
    assert_eq!(exchange::save(&document), last);
}

#[test]
fn a_changed_document_saves_and_opens() {
    let mut document = whole();
    let mut texts = exchange::Texts::new(&document);
    let mut dice = Dice::new(7);
    for _ in 0..300 {
        let which = dice.below(arbitrary::EDITS);
        if let Some(Ok(change)) = arbitrary::edit(&document, which, &mut dice) {
            change.apply(&mut document).unwrap();
            let saved = exchange::save(&document);
            assert_eq!(exchange::open(&saved).unwrap().document, document);
            texts.follow(&document, &change);
            assert!(
                texts.file(&document).into_bytes() == saved,
                "{change:?} was not followed"
            );
        }
    }
}

#[test]
fn a_wire_takes_after_the_one_it_goes_on_from() {
    let document = whole();
    let change = connect(
        &document,
        End::Splice("sp1".into()),
        End::terminal("r1", "a"),
    )
    .unwrap();
    let key = change.added().next().unwrap().clone();
    let after = made(&document, Ok(change));
    let wire = &after.wires[key.id()];
    assert_eq!(
        (wire.number.as_str(), wire.gauge_awg),
        ("P6C18", Some(Gauge(18)))
    );
    let from = End::terminal("com1", "p3");
    let after = made(
        &document,
        connect(&document, from.clone(), End::terminal("r1", "b")),
    );
    let wire = after
        .wires
        .values()
        .find(|wire| wire.number == "W1")
        .unwrap();
    assert_eq!((wire.gauge_awg, wire.colour.as_str()), (None, "white"));
    let error = connect(&document, from.clone(), from)
        .unwrap_err()
        .to_string();
    assert_eq!(
        error,
        "both ends of the wire are at COM1 J105-3; choose another point for one of them"
    );
}

#[test]
fn a_wire_from_a_bus_takes_a_number_of_its_own() {
    let document = whole();
    let after = made(
        &document,
        connect(
            &document,
            End::terminal("mbus", "stud"),
            End::terminal("d1", "a"),
        ),
    );
    assert!(after.wires.values().any(|wire| wire.number == "W1"));
}

#[test]
fn an_end_is_put_elsewhere_but_not_on_the_other_end() {
    let document = whole();
    let id = WireId::new("w6");
    let after = made(
        &document,
        set_end(&document, &id, WireEnd::To, &End::terminal("com1", "p6")),
    );
    assert_eq!(after.wires[&id].to, End::terminal("com1", "p6"));
    assert!(set_end(&document, &id, WireEnd::To, &End::terminal("mbus", "cb1")).is_err());
    assert!(set_end(&document, &id, WireEnd::To, &End::terminal("com1", "p77")).is_err());
    assert!(set_end(&document, &"w99".into(), WireEnd::To, &End::Open).is_err());
}

#[test]
fn a_spliced_wire_shares_its_length_and_keeps_its_fuse() {
    let document = whole();
    let after = made(
        &document,
        splice_into(&document, &"w4".into(), 0.25, Some(&spot(50.0, 60.0))),
    );
    let first = &after.wires["w4"];
    let second = after
        .wires
        .values()
        .find(|wire| wire.number == "P4B8")
        .unwrap();
    assert_eq!((first.length_m, second.length_m), (Some(0.25), Some(0.75)));
    assert_eq!((first.fuse.is_some(), second.fuse.is_some()), (true, false));
    assert_eq!(first.to, second.from);
    assert_eq!(second.to, document.wires["w4"].to);
    assert!(
        after.sheets["power"]
            .items
            .values()
            .any(|item| item.shows == Shown::Splice("sp2".into()))
    );
    // A wire that is measured by its route: the length is shared, the route goes with the longer half.
    let after = made(&document, splice_into(&document, &"w3".into(), 0.4, None));
    let second = after
        .wires
        .values()
        .find(|wire| wire.number == "P3B8")
        .unwrap();
    assert_eq!(
        (second.length_m, second.status),
        (Some(0.9), BuildStatus::Planned)
    );
    assert_eq!((after.wires["w3"].route.len(), second.route.len()), (0, 1));
}

#[test]
fn a_deleted_device_leaves_open_ends_and_nothing_else() {
    let document = whole();
    let after = made(&document, delete(&document, &[Key::Device("com1".into())]));
    assert_eq!(after.wires["w6"].to, End::Open);
    assert_eq!(
        after.cables["a10"].shield.as_ref().unwrap().from,
        ShieldEnd::Floating
    );
    assert!(!after.states["cruise"].loads.contains_key("com1/rx"));
    let after = made(&document, delete(&document, &[Key::Device("k1".into())]));
    assert!(!after.sheets["power"].items.contains_key("i2"));
}

#[test]
fn a_deleted_wire_leaves_its_cable_and_the_last_one_takes_it_along() {
    let document = whole();
    let after = made(&document, delete(&document, &[Key::Wire("a10w".into())]));
    assert_eq!(after.cables["a10"].wires, [WireId::new("a10b")]);
    let after = made(&after, delete(&after, &[Key::Wire("a10b".into())]));
    assert!(!after.cables.contains_key("a10"));
    assert!(delete(&after, &[Key::Wire("a10b".into())]).is_err());
    assert!(delete(&after, &[Key::Project]).is_err());
}

#[test]
fn a_deleted_place_takes_its_routes_and_bonds_along() {
    let document = whole();
    let after = made(&document, delete(&document, &[Key::Place("panel".into())]));
    assert!(after.routes.is_empty());
    assert_eq!(after.wires["w13"].to, End::Open);
    assert!(after.wires["w3"].route.is_empty() && after.wires["w3"].via.is_empty());
    assert_eq!(after.devices["com1"].place, None);
}

#[test]
fn a_device_gets_a_free_tag_and_a_spot() {
    let document = whole();
    let like = document.devices["com1"].clone();
    let after = made(
        &document,
        add_device(&document, like, Some(&spot(10.0, 20.0))),
    );
    assert_eq!(after.devices["com2"].tag, "COM2");
    let shown = after.sheets["power"].items.values().any(|item| {
        matches!(&item.shows, Shown::Device { device, .. } if *device == DeviceId::new("com2"))
    });
    assert!(shown);
}

#[test]
fn cores_of_a_cable_run_the_same_way() {
    let mut document = whole();
    for (id, number) in [("x1", "X1"), ("x2", "X2")] {
        let mut wire = document.wires["w6"].clone();
        wire.number = number.into();
        (wire.from, wire.to) = (End::terminal("com1", "p6"), End::terminal("jk5", "tip"));
        document.wires.insert(id.into(), wire);
    }
    let x2 = document.wires.get_mut("x2").unwrap();
    std::mem::swap(&mut x2.from, &mut x2.to);
    let cable = Cable {
        label: String::new(),
        kind: CableKind::Shielded,
        wires: vec!["x1".into(), "x2".into()],
        shield: Some(Shield {
            from: ShieldEnd::Floating,
            to: ShieldEnd::Floating,
            gauge_awg: None,
            extra: Extra::new(),
        }),
        impedance_ohm: None,
        done: Vec::new(),
        note: String::new(),
        extra: Extra::new(),
    };
    let after = made(&document, make_cable(&document, cable.clone()));
    assert_eq!(after.wires["x2"].from, End::terminal("com1", "p6"));
    assert_eq!(after.cables["c1"].label, "C1");
    let error = make_cable(&after, cable).unwrap_err().to_string();
    assert_eq!(
        error,
        "X1 is already in cable C1; remove it from that cable first"
    );
    let after = made(&after, remove_cable(&after, &"c1".into()));
    assert!(after.wires.contains_key("x1"));
}

#[test]
fn a_terminal_that_goes_lets_go_of_what_hung_on_it() {
    let document = whole();
    let after = made(
        &document,
        remove_terminal(&document, &"k1".into(), &"ca".into()),
    );
    // The coil needs it, and its contact needs the coil.
    assert!(after.devices["k1"].elements.is_empty());
    assert_eq!(after.wires["w11"].from, End::Open);
    let after = made(
        &document,
        remove_terminal(&document, &"gb1".into(), &"t1".into()),
    );
    assert_eq!(after.devices["gb1"].elements.len(), 2);
}

#[test]
fn switches_breakers_and_loads_are_set_state_by_state() {
    let document = whole();
    let off = "off".into();
    let after = made(&document, set_switch(&document, &off, "s1/sw", 1));
    assert_eq!(after.states["off"].switches["s1/sw"], 1);
    let after = made(&after, set_switch(&after, &off, "s1/sw", 0));
    assert!(after.states["off"].switches.is_empty());
    assert!(set_switch(&document, &off, "s1/sw", 2).is_err());
    let after = made(&document, pull_breaker(&document, &off, "mbus/cb1"));
    let after = made(&after, push_breaker(&after, &off, "mbus/cb1"));
    assert!(after.states["off"].pulled.is_empty());
    let after = made(
        &after,
        set_load_use(&after, &off, "com1/rx", Some(LoadUse::Off)),
    );
    let after = made(&after, set_load_use(&after, &off, "com1/rx", None));
    assert!(after.states["off"].loads.is_empty());
}

#[test]
fn an_update_is_held_to_the_invariants() {
    let document = whole();
    let mut wire = document.wires["w6"].clone();
    wire.length_m = Some(0.0);
    let key = Key::Wire("w6".into());
    let error = update_record(&document, &key, Record::Wire(wire))
        .unwrap_err()
        .to_string();
    assert_eq!(
        error,
        "wires.w6.length_m is invalid: found 0, expected a number greater than 0; correct it"
    );
    let place = Record::Place(document.places["panel"].clone());
    assert!(update_record(&document, &key, place).is_err());
    let after = made(&document, rename(&document, &key, " P5Z22 "));
    assert_eq!(after.wires["w6"].number, "P5Z22");
}

#[test]
fn history_forgets_the_oldest_steps() {
    let mut document = whole();
    let mut history = History::new(3);
    for name in ["A", "B", "C", "D", "E"] {
        let change = rename(&document, &Key::Wire("w6".into()), name).unwrap();
        history.run(&mut document, name, change).unwrap();
    }
    while history.undo(&mut document).unwrap().is_some() {}
    assert_eq!(document.wires["w6"].number, "B");
}

#[test]
fn a_change_of_something_edited_meanwhile_is_refused() {
    let document = whole();
    let key = Key::Wire("w6".into());
    let (first, second) = (rename(&document, &key, "A"), rename(&document, &key, "B"));
    let mut document = document;
    first.unwrap().apply(&mut document).unwrap();
    let before = document.clone();
    assert!(second.unwrap().apply(&mut document).is_err());
    assert_eq!(document, before);
}

/// What holds for a record of any kind, of kinds that come later as well.
#[test]
fn every_kind_of_record_is_named_kept_compared_and_undone() {
    let before = whole();
    for key in before.keys() {
        assert_eq!(Key::parse(key.kind(), key.id()), Some(key.clone()));
        assert_ne!(before.key_label(&key), "", "{key}");
        let label = before.record_label(key.kind(), key.id());
        assert_eq!(label, before.key_label(&key));
        let mut record = before.record(&key).expect("it is there");
        if key == Key::Project {
            continue;
        }
        // The file holds it under its field, as the record says itself.
        let file = serde_json::to_value(&before).expect("it is written");
        let written = serde_json::to_value(before.get(&key)).expect("it is written");
        assert_eq!(file[key.field()][key.id()], written, "{key}");
        // A second one gets a key of its own.
        let change = add_record(&before, record.clone());
        if let Ok(change) = change {
            let added: Vec<_> = change.added().cloned().collect();
            assert_eq!(added.len(), 1, "{key}");
            assert_eq!(added[0].kind(), key.kind());
            let after = change.applied(&before).expect("made for this");
            assert_eq!(before.differing(&after), added);
            assert_eq!(after.differing(&before), added);
            assert_eq!(after.keys_len(), before.keys_len() + 1);
            assert_eq!(change.invert().applied(&after), Ok(before.clone()));
        } else {
            // A wire is in one cable only.
            assert_eq!(key.kind(), "cable", "{change:?}");
        }
        // A name that is too long breaks an invariant, at the record's path.
        if let Some(name) = record.kind_mut().name_mut() {
            *name = "x".repeat(crate::document::limits::MAX_TEXT + 1);
            let broken = invariants::broken_record(&before, &key, &record);
            let path = format!("{}.{}.", key.field(), key.id());
            assert!(broken[0].path.starts_with(&path), "{broken:?}");
        }
    }
}
