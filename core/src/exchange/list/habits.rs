//! Twelve lists in the habits of twelve people, all invented: what each becomes, down to the kinds of its devices.

use super::*;
use crate::{
    document::{DeviceKind, ElementKind, SheetSize},
    drawing::{self, spread},
    edit,
    units::Gauge,
};

/// A list and what it says: how many wires, some of them, some kinds.
struct Habit {
    name: &'static str,
    text: &'static str,
    wires: usize,
    some: &'static [Said],
    kinds: &'static [(&'static str, DeviceKind)],
}

/// Number, ends, gauge, length in m.
type Said = (&'static str, [&'static str; 2], Option<i8>, Option<f64>);

const HABITS: [Habit; 12] = [
    Habit {
        name: "spreadsheet with a heading a column",
        text: "Wire No\tFrom\tTo\tAWG\tColor\tLength (ft)\tSignal\n\
               L1A18\tMBUS CB5\tS5 1\t18\twhite\t2.5\tLDG LT\n\
               L1B18\tS5 2\tLT1 +\t18\twhite\t14\tLDG LT\n\
               L1C18N\tLT1 -\tGB1 4\t18\tblack\t13.5\tLDG LT GND\n",
        wires: 3,
        some: &[("L1B18", ["S5 2", "LT1 +"], Some(18), Some(14.0 * 0.3048))],
        kinds: &[
            ("MBUS", DeviceKind::Bus),
            ("S5", DeviceKind::Switch),
            ("LT1", DeviceKind::Lamp),
            ("GB1", DeviceKind::GroundBlock),
        ],
    },
    Habit {
        name: "both ends in one cell",
        text: "Nr;Connection;Size;Run in mm\n\
               101;J1-4 to P2-7;22ga;850\n\
               102;J1-5 -> P2-8;#22;850\n\
               103;BAT1 + \u{2013} FL1 1;AWG 6;300\n",
        wires: 3,
        some: &[
            ("101", ["J1 4", "P2 7"], Some(22), Some(0.85)),
            ("103", ["BAT1 +", "FL1 1"], Some(6), Some(0.3)),
        ],
        kinds: &[("BAT1", DeviceKind::Battery), ("FL1", DeviceKind::Fuse)],
    },
    Habit {
        name: "a row for each pin",
        text: "Device,Pin,Wire,Gauge\n\
               COM1,1,W1,18\nCOM1,2,W2,18\nCOM1,3,W3,22\nCOM1,4,,\n\
               MBUS,CB1,W1,18\nGB2,1,W2,18\nIC1,14,W3,22\n",
        wires: 3,
        some: &[
            ("W1", ["COM1 1", "MBUS CB1"], Some(18), None),
            ("W3", ["COM1 3", "IC1 14"], Some(22), None),
        ],
        kinds: &[("COM1", DeviceKind::Unit), ("GB2", DeviceKind::GroundBlock)],
    },
    Habit {
        name: "several rows a cable, the label once",
        text: "Cable,Wire No,From,To,Color,AWG\n\
               C7,,IC1 J107-4,JK1 TIP,white,22\n\
               ,,IC1 J107-5,JK1 RING,blue,22\n\
               ,,IC1 J107-17,JK1 SLEEVE,orange,22\n\
               ,P9,IC1 J107-1,MBUS CB3,white,20\n",
        wires: 4,
        some: &[("P9", ["IC1 J107-1", "MBUS CB3"], Some(20), None)],
        kinds: &[("JK1", DeviceKind::Jack)],
    },
    Habit {
        name: "the device written once for its pins",
        text: "From device\tFrom pin\tTo device\tTo pin\tWire\tGauge\n\
               EM1\t1\tMBUS\tCB2\tE1\t20\n\
               \t2\tGB2\t3\tE2\t20\n\
               \t7\tEGT1\t+\tE3\t24\n\
               \t8\t\t-\tE4\t24\n",
        wires: 4,
        some: &[
            ("E2", ["EM1 2", "GB2 3"], Some(20), None),
            ("E4", ["EM1 8", "EGT1 -"], Some(24), None),
        ],
        kinds: &[("EM1", DeviceKind::Unit)],
    },
    Habit {
        name: "decimal commas and areas",
        text: "Nr;Von;From;To;Size mm2;Length m\n\
               1;;BT1 -;GB1 STUD;16;0,6\n\
               2;;MBUS CB1;S1 1;0,75;1,25\n\
               3;;S1 2;M2 +;0,75;2,1\n\
               4;;M2 -;GB1 3;0,75;2,2\n",
        wires: 4,
        some: &[
            ("1", ["BT1 -", "GB1 STUD"], Some(6), Some(0.6)),
            ("2", ["MBUS CB1", "S1 1"], Some(20), Some(1.25)),
        ],
        kinds: &[("M2", DeviceKind::Motor), ("BT1", DeviceKind::Battery)],
    },
    Habit {
        name: "feet and inches",
        text: "Wire\tFrom\tTo\tGauge\tLength\n\
               A1\tS4 1\tMBUS CB6\t18\t3' 6\"\n\
               A2\tS4 2\tM1 +\t18\t11 ft 2 in\n\
               A3\tM1 -\tGB1 2\t18\t11'\n\
               A4\tGB1 1\tGB2 1\t8\t18 in\n",
        wires: 4,
        some: &[
            ("A1", ["S4 1", "MBUS CB6"], Some(18), Some(42.0 * 0.0254)),
            ("A2", ["S4 2", "M1 +"], Some(18), Some(134.0 * 0.0254)),
            ("A4", ["GB1 1", "GB2 1"], Some(8), Some(0.4572)),
        ],
        kinds: &[("M1", DeviceKind::Motor), ("GB2", DeviceKind::GroundBlock)],
    },
    Habit {
        name: "sizes with their unit in each cell",
        text: "Wire\tFrom\tTo\tSize\n\
               D1\tFD1 5\tMD1 5\t0.34 mm\u{b2}\n\
               D2\tFD1 6\tMD1 6\t0.34 mm2\n\
               D3\tFD1 1\tEBUS CB22\t1 sq mm\n",
        wires: 3,
        some: &[
            ("D1", ["FD1 5", "MD1 5"], Some(24), None),
            ("D3", ["FD1 1", "EBUS CB22"], Some(18), None),
        ],
        kinds: &[("EBUS", DeviceKind::Bus)],
    },
    Habit {
        name: "ditto marks",
        text: "Wire,From,To,Color,AWG\n\
               R1,COM1 9,GB2 4,black,18\n\
               R2,XP1 8,GB2 5,do.,ditto\n\
               R3,IC1 14,GB2 6,'',''\n",
        wires: 3,
        some: &[("R3", ["IC1 14", "GB2 6"], Some(18), None)],
        kinds: &[("XP1", DeviceKind::Unit)],
    },
    Habit {
        name: "facing halves of a connector",
        text: "Wire,From,To,AWG\n\
               N1A,S6 2,J201-3,18\n\
               N1B,P201-3,LT2 +,18\n\
               N2A,GB1 5,J201-4,18\n\
               N2B,P201-4,LT2 -,18\n",
        wires: 4,
        some: &[
            ("N1B", ["P201-3", "LT2 +"], Some(18), None),
            ("N2A", ["GB1 5", "J201-4"], Some(18), None),
        ],
        kinds: &[("J201/P201", DeviceKind::InlineConnector)],
    },
    Habit {
        name: "a relay, a diode and a splice by their letters",
        text: "Wire No,From,To,AWG,Description\n\
               K1A,BT1 +,K1 BAT,4,main feed\n\
               K1B,K1 LOAD,MBUS STUD,4,main feed\n\
               K1C,K1 COIL,S1 1,20,master\n\
               K1D,D2 A,MBUS STUD,10,essential feed\n\
               K1E,D2 K,SP3,10,essential feed\n\
               K1F,SP3,EBUS STUD,10,essential feed\n",
        wires: 6,
        some: &[("K1E", ["D2 K", "SP3"], Some(10), None)],
        kinds: &[
            ("K1", DeviceKind::Relay),
            ("D2", DeviceKind::Diode),
            ("EBUS", DeviceKind::Bus),
        ],
    },
    Habit {
        name: "no headings that are known but one",
        text: "From\tGoes where\tThick\tMarked\n\
               S8 1\tMBUS CB8\t20\tX1\n\
               S8 2\tUSB1 1\t20\tX2\n\
               USB1 2\tGB1 8\t20\tX3\n",
        wires: 3,
        some: &[("X2", ["S8 2", "USB1 1"], Some(20), None)],
        kinds: &[("USB1", DeviceKind::Unit)],
    },
];

fn key(key: &str) -> Option<ColumnContent> {
    ColumnContent::all().find(|says| says.key() == key)
}

/// The list as its owner would have it read.
fn read(habit: &Habit) -> List {
    let mut list = List::read(habit.text);
    if habit.name.starts_with("no headings") {
        assert_eq!(list.headings.len(), 4, "one known heading is enough");
        list.columns = ["from", "to", "gauge_awg", "number"].map(key).to_vec();
    }
    list
}

fn made(habit: &Habit) -> (Document, Imported) {
    let list = read(habit);
    assert!(list.is_ready(), "{}", habit.name);
    let made = import(&Document::default(), &list).unwrap_or_else(|errors| {
        let errors: Vec<String> = errors.iter().map(ToString::to_string).collect();
        panic!("{}: {errors:?}", habit.name)
    });
    let document = made.change.applied(&Document::default());
    (document.expect("made for this"), made)
}

#[test]
fn every_list_becomes_the_wires_that_it_says() {
    for habit in &HABITS {
        let (document, made) = made(habit);
        assert_eq!(made.wires, habit.wires, "{}", habit.name);
        for (number, ends, gauge, length_m) in habit.some {
            let mut all = document.wires.values();
            let wire = all.find(|it| it.number == *number).expect(number);
            let found = [&wire.from, &wire.to].map(|end| document.end_label(end));
            assert_eq!(found, *ends, "{}", habit.name);
            assert_eq!(wire.gauge_awg, gauge.map(Gauge), "{} {number}", habit.name);
            match (wire.length_m, length_m) {
                (Some(a), Some(b)) => assert!((a - b).abs() < 1e-9, "{} {number}", habit.name),
                (a, b) => assert_eq!(a.is_some(), b.is_some(), "{} {number}", habit.name),
            }
        }
        for (tag, kind) in habit.kinds {
            let mut all = document.devices.values();
            let device = all.find(|it| it.tag == *tag).expect(tag);
            assert_eq!(device.kind, *kind, "{}: {tag}", habit.name);
        }
    }
}

#[test]
fn a_cable_named_once_has_all_its_cores() {
    let habit = HABITS.iter().find(|it| it.name.starts_with("several"));
    let (document, _) = made(habit.expect("it is there"));
    let cores: Vec<_> = document.cables.values().map(|it| it.wires.len()).collect();
    assert_eq!(cores, [3]);
}

#[test]
fn an_area_is_noted_and_never_taken_for_more_metal() {
    let habit = HABITS.iter().find(|it| it.name.starts_with("sizes"));
    let (document, _) = made(habit.expect("it is there"));
    let wire = document.wires.values().find(|it| it.number == "D3");
    assert_eq!(wire.expect("it is there").note, "1 mm\u{b2} in the list");
    // AC 43.13-1B Table 11-9: 20 AWG has 1,216 circular mils, 0.616 mm2; 22 AWG has 755, 0.383 mm2.
    assert_eq!(size::gauge_of(0.6), Ok(Gauge(20)));
    assert_eq!(size::gauge_of(0.5), Ok(Gauge(22)));
    assert_eq!(size::gauge_of(0.34), Ok(Gauge(24)));
    assert!(size::gauge_of(0.05).is_err() && size::gauge_of(500.0).is_err());
}

#[test]
fn a_kind_that_a_person_chose_stays() {
    let mut list = read(&HABITS[0]);
    list.kinds.insert("s5".into(), DeviceKind::Unit);
    let made = import(&Document::default(), &list).expect("a sound list");
    let document = made
        .change
        .applied(&Document::default())
        .expect("made for this");
    let switch = document.devices.values().find(|it| it.tag == "S5");
    assert_eq!(switch.expect("it is there").kind, DeviceKind::Unit);
}

#[test]
fn wires_by_pins_that_have_one_end_or_three_are_named_by_row() {
    let list = List::read("Device,Pin,Wire\nA1,1,W1\nA1,2,W2\nA2,1,W2\nA3,1,W2\n");
    let errors = import(&Document::default(), &list).expect_err("wrong rows");
    let errors: Vec<String> = errors.iter().map(ToString::to_string).collect();
    assert!(
        errors[0].starts_with("row 1, number: wire W1 has one row"),
        "{errors:?}"
    );
    assert!(
        errors[1].starts_with("row 2, number: wire W2 has 3 rows"),
        "{errors:?}"
    );
}

#[test]
fn nothing_that_was_not_said_is_made_up() {
    for habit in &HABITS {
        let (document, _) = made(habit);
        for element in document.devices.values().flat_map(|it| &it.elements) {
            match &element.is {
                ElementKind::Protector(it) => assert_eq!(it.rating_a, None),
                ElementKind::Load(it) => {
                    assert!(it.continuous_a.is_none() && it.peak_a.is_none());
                }
                ElementKind::Jack(it) => assert_eq!(it.isolated, None),
                _ => {}
            }
        }
    }
}

/// At most half a crossing a wire, on sheets as they are made of the list.
#[test]
fn a_list_is_drawn_with_few_crossings() {
    let (mut wires, mut crossings) = (0, 0);
    for habit in &HABITS {
        let (document, made) = made(habit);
        let mut document = document;
        for (n, items) in spread::sheets(&document, &made.devices, SheetSize::A3)
            .into_iter()
            .enumerate()
        {
            let sheet = edit::add_drawn_sheet(&document, &format!("{n}"), SheetSize::A3, items);
            let sheet = sheet.expect("a sound sheet");
            sheet.apply(&mut document).expect("made for this");
        }
        for id in document.sheets.keys() {
            let scene = drawing::scene(&document, id);
            let it = drawing::measure::measure(&document, id, &scene);
            crossings += it.crossings;
            assert_eq!((it.texts_on, it.close), (0, 0), "{}", habit.name);
        }
        wires += made.wires;
    }
    println!("{crossings} crossings, {wires} wires");
    assert!(
        2 * crossings <= wires,
        "{crossings} crossings, {wires} wires"
    );
}
