//! The two samples: what a newcomer opens first, and what every suite measures on.

use std::collections::{BTreeMap, BTreeSet};

use loomwright_core::{
    document::{ConductorKind, Document, ElementKind, End, Figure, Shown},
    drawing, exchange,
    ids::{DeviceId, ElementId, StateId, WireId},
    solve::{Figures, operate},
};

const SORREL: &[u8] = include_bytes!("../../public/samples/sorrel.json");
const TEASEL: &[u8] = include_bytes!("../../public/samples/teasel.json");

/// The aircraft from a blank sheet.
pub fn sorrel() -> Document {
    exchange::open(SORREL).expect("the sample opens").document
}

/// The overhead panel in an aircraft that flies.
pub fn teasel() -> Document {
    exchange::open(TEASEL).expect("the sample opens").document
}

fn both() -> [(&'static str, Document); 2] {
    [("sorrel", sorrel()), ("teasel", teasel())]
}

#[test]
fn samples_are_as_the_program_would_write_them() {
    for (bytes, document) in [(SORREL, sorrel()), (TEASEL, teasel())] {
        assert!(
            exchange::save(&document) == bytes,
            "{} is not canonical",
            document.project.title
        );
    }
}

/// Wires outside cables: the list of power, ground and control wires.
fn listed(document: &Document) -> Vec<&WireId> {
    let cored: BTreeSet<&WireId> = document
        .cables
        .values()
        .filter(|cable| !cable.label.starts_with("PL") && !cable.label.starts_with("ST"))
        .flat_map(|cable| &cable.wires)
        .collect();
    document
        .wires
        .keys()
        .filter(|id| !cored.contains(id))
        .collect()
}

/// Count and metres per gauge against the list's own totals (computed there from its 105 rows).
#[test]
fn sorrel_has_the_wires_of_its_list() {
    let document = sorrel();
    let mut totals: BTreeMap<i8, (usize, f64)> = BTreeMap::new();
    for id in listed(&document) {
        let wire = &document.wires[id];
        let total = totals.entry(wire.gauge_awg.0).or_default();
        total.0 += 1;
        total.1 += wire.length_m.expect("every length is known");
    }
    let wanted = [
        (22, 45, 84.4),
        (20, 17, 27.7),
        (18, 21, 43.7),
        (16, 9, 9.3),
        (12, 2, 0.5),
        (10, 1, 0.12),
        (8, 3, 1.7),
        (6, 2, 1.35),
        (2, 5, 2.4),
    ];
    for (gauge, count, metres) in wanted {
        let (n, m) = totals[&gauge];
        assert_eq!(n, count, "{gauge} AWG");
        assert!(
            (m - metres).abs() < 0.05,
            "{gauge} AWG: {m} m, list {metres} m"
        );
    }
    assert_eq!(totals.len(), wanted.len());
    let (n, m) = totals
        .values()
        .fold((0, 0.0), |(n, m), total| (n + total.0, m + total.1));
    assert_eq!(n, 105);
    assert!((m - 171.2).abs() < 0.05, "{m} m, list 171.2 m");
}

/// 105 listed, 8 CAN, 5 serial, 17 audio and 16 thermocouple conductors, three coaxial runs; eleven
/// shields on the data trunk and the audio cables (computed in the list).
#[test]
fn sorrel_has_the_cables_of_its_list() {
    let document = sorrel();
    let coax = |id: &WireId| document.wires[id].conductor == ConductorKind::Coax;
    let (coaxial, conductors): (Vec<_>, Vec<_>) = document.wires.keys().partition(|id| coax(id));
    assert_eq!((conductors.len(), coaxial.len()), (151, 3));
    let shielded = |letter: char| {
        let cables = document.cables.values();
        cables
            .filter(|cable| cable.shield.is_some() && cable.label.starts_with(letter))
            .count()
    };
    assert_eq!((shielded('D'), shielded('A')), (4, 7));
}

/// 20 audio core segments, 8 shield segments, 9 power and light wires (computed in the task).
#[test]
fn teasel_has_the_wires_of_the_overhead_panel() {
    let document = teasel();
    let cores: usize = document
        .cables
        .values()
        .map(|cable| cable.wires.len())
        .sum();
    assert_eq!(cores, 20);
    assert_eq!(
        document
            .cables
            .values()
            .filter(|cable| cable.shield.is_some())
            .count(),
        8
    );
    let metres: f64 = document
        .cables
        .values()
        .filter_map(|cable| document.wires[&cable.wires[0]].length_m)
        .sum();
    assert!((metres - 11.8).abs() < 1e-9, "{metres} m of shielded cable");
    let new = |id: &&WireId| id.as_str().starts_with("p30") || id.as_str().starts_with("l10");
    assert_eq!(document.wires.keys().filter(new).count(), 9);
}

/// What the loads that run in a state are said to take, A, and the coils that are on, by the bus
/// that `bus_of` says.
fn sums(document: &Document, state: &str, bus_of: &[(&str, &str)]) -> BTreeMap<String, f64> {
    let id = StateId::from(state);
    let point = operate(document, &id, &document.states[&id], Figures::Continuous);
    assert!(point.converged, "{state}: {:?}", point.problem);
    let mut sums = BTreeMap::new();
    for (device, record) in &document.devices {
        for element in &record.elements {
            let amps = match &element.is {
                ElementKind::Load(load) => continuous(load.continuous_a.as_ref()),
                ElementKind::Coil(coil) => 13.8 / coil.ohm,
                _ => continue,
            };
            if runs(&point, device, &element.id) {
                let bus = bus_of.iter().find(|(name, _)| *name == device.as_str());
                let bus = bus.map_or("MAIN", |(_, bus)| bus);
                *sums.entry(bus.to_string()).or_insert(0.0) += amps;
            }
        }
    }
    sums
}

fn continuous(figure: Option<&Figure>) -> f64 {
    figure.map_or(0.0, |figure| figure.amps)
}

fn runs(
    point: &loomwright_core::solve::OperatingPoint,
    device: &DeviceId,
    element: &ElementId,
) -> bool {
    point
        .element_amps(device, element)
        .is_some_and(|amps| amps.abs() > 1e-3)
}

/// The load sheet by phase: plain sums of continuous figures, computed there.
#[test]
fn sorrel_meets_its_loads_by_phase() {
    let document = sorrel();
    let essential = ["fd1", "em1", "com1", "xp1", "ic1", "ba1"].map(|device| (device, "ESS"));
    let battery = ["ck1", "lt5"].map(|device| (device, "BATT"));
    let buses: Vec<_> = essential.into_iter().chain(battery).collect();
    for (state, main, ess, total) in [
        ("before-start", 4.60, 0.40, 5.02),
        ("taxi", 10.50, 3.15, 13.67),
        ("climb", 16.80, 3.15, 19.97),
        ("cruise", 10.80, 3.15, 13.97),
        ("approach", 14.30, 3.15, 17.47),
        ("alternator-out", 0.0, 3.15, 3.17),
    ] {
        let sums = sums(&document, state, &buses);
        let of = |bus: &str| sums.get(bus).copied().unwrap_or(0.0);
        for (bus, want) in [("MAIN", main), ("ESS", ess), ("BATT", 0.02)] {
            assert!(
                (of(bus) - want).abs() < 0.005,
                "{state}, {bus}: {} A, sheet {want} A",
                of(bus)
            );
        }
        let sum: f64 = sums.values().sum();
        assert!(
            (sum - total).abs() < 0.005,
            "{state}: {sum} A, sheet {total} A"
        );
    }
}

/// Cruise before and after the overhead panel: 21.4 A, and 21.4 + 2.50 + 0.15 = 24.05 A.
#[test]
fn teasel_meets_its_cruise_load() {
    let document = teasel();
    for (state, want) in [("cruise-before", 21.4), ("cruise", 24.05)] {
        let sum: f64 = sums(&document, state, &[]).values().sum();
        assert!(
            (sum - want).abs() < 0.005,
            "{state}: {sum} A, sheet {want} A"
        );
    }
}

fn shown(document: &Document, sheet: &drawing::Scene) -> BTreeSet<String> {
    let _ = document;
    sheet
        .pins
        .values()
        .map(|spot| spot.end.to_string())
        .collect()
}

/// Every wire can be followed from end to end on one sheet at least.
#[test]
fn every_wire_is_seen_whole_on_a_sheet() {
    for (name, document) in both() {
        let sheets: Vec<BTreeSet<String>> = document
            .sheets
            .keys()
            .map(|id| shown(&document, &drawing::scene(&document, id)))
            .collect();
        for wire in document.wires.values() {
            let whole = |sheet: &BTreeSet<String>| {
                [&wire.from, &wire.to]
                    .iter()
                    .all(|end| sheet.contains(&end.to_string()))
            };
            assert!(
                sheets.iter().any(whole),
                "{name}: {} is on no sheet whole",
                wire.number
            );
        }
    }
}

/// No device covers another or leaves the border, and the title block stays free.
#[test]
fn devices_stand_clear_of_each_other() {
    for (name, document) in both() {
        for (id, sheet) in &document.sheets {
            let scene = drawing::scene(&document, id);
            let (width, height) = sheet.size.size_mm();
            for (item, rect) in &scene.boxes {
                let inside = rect.x >= 10.0
                    && rect.y >= 10.0
                    && rect.right() <= width - 10.0
                    && rect.bottom() <= height - 10.0;
                assert!(inside, "{name}, {}: {item} leaves the border", sheet.title);
                let on_block = rect.right() > width - 127.5 && rect.bottom() > height - 22.5;
                assert!(
                    !on_block,
                    "{name}, {}: {item} is on the title block",
                    sheet.title
                );
                for (other, near) in scene.boxes.range(item.clone()..).skip(1) {
                    assert!(
                        !rect.grown(1.0).overlaps(*near),
                        "{name}, {}: {item} covers {other}",
                        sheet.title
                    );
                }
            }
        }
    }
}

/// A device that no sheet shows would never be seen.
#[test]
fn every_device_is_on_a_sheet() {
    for (name, document) in both() {
        let seen: BTreeSet<&DeviceId> = document
            .sheets
            .values()
            .flat_map(|sheet| sheet.items.values())
            .filter_map(|item| match &item.shows {
                Shown::Device { device, .. } => Some(device),
                _ => None,
            })
            .collect();
        for (id, device) in &document.devices {
            assert!(seen.contains(id), "{name}: {} is on no sheet", device.tag);
        }
        for wire in document.wires.values() {
            assert!(
                wire.from != End::Open && wire.to != End::Open,
                "{name}: {}",
                wire.number
            );
        }
    }
}
