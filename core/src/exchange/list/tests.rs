//! Lists as people paste them.

use super::*;
use crate::units::Gauge;
use crate::{exchange, reports};

const LIST: &str = "Wire No\tFrom\tTo\tAWG\tColor\tLength (ft)\tSignal\tCable\n\
    P1A20\tMBUS CB5\tXP1 J106-1\t20\twhite\t4\tXPDR POWER\t\n\
    P1B20N\tXP1 J106-9\tGB1:3\t20\tblack\t3.5\tXPDR GROUND\t\n\
    A1\tIC1 J107-4\tJK1 TIP\t22\twhite\t3\tPHONES\tC7\n\
    A2\tIC1 J107-17\tJK1 SLEEVE\t22\tblue\t3\tPHONES LO\tC7\n";

fn sorrel() -> Document {
    let file = include_bytes!("../../../../public/samples/sorrel.json");
    exchange::open(file).expect("the sample opens").document
}

#[test]
fn a_list_becomes_devices_connectors_wires_and_cables() {
    let mut document = Document::default();
    let list = List::read(LIST);
    assert!(list.is_mapped());
    let made = import(&document, &list).expect("a sound list");
    assert_eq!((made.wires, made.devices.len()), (4, 5));
    made.change.apply(&mut document).expect("made for this");
    let tags: Vec<_> = (made.devices.iter())
        .map(|id| document.devices[id].tag.as_str())
        .collect();
    assert_eq!(tags, ["MBUS", "XP1", "GB1", "IC1", "JK1"]);
    let ic1 = &document.devices[&made.devices[3]];
    let pins: Vec<_> = (ic1.terminals.iter())
        .map(|terminal| ic1.terminal_label(terminal))
        .collect();
    assert_eq!(pins, ["IC1 J107-4", "IC1 J107-17"]);
    let wire = (document.wires.values()).find(|wire| wire.number == "P1B20N");
    let wire = wire.expect("the wire of the second row");
    assert_eq!(document.end_label(&wire.to), "GB1 3");
    assert_eq!(
        (wire.gauge_awg, wire.colour.as_str()),
        (Some(Gauge(20)), "black")
    );
    assert!((wire.length_m.expect("a length") - 3.5 * 0.3048).abs() < 1e-12);
    let cables: Vec<_> = document.cables.values().map(|it| it.wires.len()).collect();
    assert_eq!(cables, [2]);
}

#[test]
fn a_list_read_again_changes_nothing() {
    let mut document = Document::default();
    let list = List::read(LIST);
    let made = import(&document, &list).expect("a sound list");
    made.change.apply(&mut document).expect("made for this");
    let again = import(&document, &list).expect("a sound list");
    assert_eq!(
        (again.change.is_empty(), again.wires),
        (true, 0),
        "{:?}",
        again.change
    );
}

#[test]
fn our_own_wire_list_read_back_changes_nothing() {
    let document = sorrel();
    let csv = reports::wires::table(&crate::testing::asked(&document), None).to_csv();
    let list = List::read(&csv);
    assert_eq!(list.rows.len(), document.wires.len());
    let made = import(&document, &list).expect("our own list");
    assert!(made.change.is_empty(), "{:#?}", made.change);
}

#[test]
fn a_whole_aircraft_is_made_of_its_list() {
    for name in ["sorrel", "teasel"] {
        let path = format!(
            "{}/../public/samples/{name}.json",
            env!("CARGO_MANIFEST_DIR")
        );
        let file = std::fs::read(path).expect("the sample is there");
        let document = exchange::open(&file).expect("the sample opens").document;
        let csv = reports::wires::table(&crate::testing::asked(&document), None).to_csv();
        let mut again = Document::default();
        let made = import(&again, &List::read(&csv)).expect("every row can be read");
        assert_eq!(made.wires, document.wires.len(), "{name}");
        made.change.apply(&mut again).expect("made for this");
        assert!(again.cables.len() >= document.cables.len());
        // Every wire has the values that the list gave it.
        for wire in document.wires.values() {
            let same = |it: &&Wire| it.number == wire.number && it.function == wire.function;
            let made = again
                .wires
                .values()
                .find(same)
                .expect("every wire is there");
            assert_eq!(made.gauge_awg, wire.gauge_awg);
            assert_eq!(made.status, wire.status);
        }
    }
}

#[test]
fn an_end_may_stand_in_several_columns() {
    let mut list = List::read(
        "Number,From device,From pin,To device,To connector,To pin\n\
                           W1,S1,2,XP1,J106,7\n",
    );
    list.gauge_awg = Some(Gauge(22));
    let mut document = Document::default();
    let made = import(&document, &list).expect("a sound list");
    made.change.apply(&mut document).expect("made for this");
    let wire = document.wires.values().next().expect("a wire");
    let labels = [&wire.from, &wire.to].map(|end| document.end_label(end));
    assert_eq!(labels, ["S1 2", "XP1 J106-7"]);
}

#[test]
fn every_wrong_row_is_told_and_nothing_is_made() {
    let list = List::read("Number,From,To,Gauge\nW1,S1 2,XP1,20\nW2,S1 2,S1 2,19\n");
    let errors = import(&Document::default(), &list).expect_err("wrong rows");
    let told: Vec<_> = errors.iter().map(|it| (it.row, it.column)).collect();
    assert_eq!(told, [(0, "to"), (1, "gauge_awg"), (1, "to")]);
    assert!(
        errors[0]
            .to_string()
            .starts_with("row 1, to: \"XP1\" names no pin")
    );
}

/// The lengths of a list of wires, or what is wrong with its rows.
fn lengths(list: &List) -> Result<Vec<f64>, Vec<String>> {
    let document = Document::default();
    let told = |errors: Vec<CellError>| -> Vec<String> {
        errors.iter().map(ToString::to_string).collect()
    };
    let made = import(&document, list).map_err(told)?;
    let document = made.change.applied(&document).expect("made for this");
    let wires = document.wires.values();
    Ok(wires.filter_map(|it| it.length_m).collect())
}

fn with_lengths(heading: &str, cells: &[&str]) -> List {
    let mut text = format!("Number\tFrom\tTo\tGauge\t{heading}\n");
    for (at, cell) in cells.iter().enumerate() {
        text.push_str(&format!("W{at}\tS1 {at}\tXP1 {at}\t20\t{cell}\n"));
    }
    List::read(&text)
}

fn assert_near(found: &[f64], wanted: &[f64]) {
    assert_eq!(found.len(), wanted.len());
    for (a, b) in found.iter().zip(wanted) {
        assert!((a - b).abs() < 1e-9, "{found:?}");
    }
}

#[test]
fn a_unit_is_read_from_any_heading_of_a_length() {
    let length = ColumnContent::all().find(|says| says.key() == "length_m");
    for (heading, cell, m) in [
        ("Run (mm)", "350", 0.35),
        ("Run in mm", "350", 0.35),
        ("Distance, mm", "350", 0.35),
        ("how far [cm]", "350", 3.5),
        ("len ft", "35", 35.0 * 0.3048),
        ("Length in feet", "35", 35.0 * 0.3048),
        ("Length in", "35", 35.0 * 0.0254),
        ("Inches of wire", "35", 35.0 * 0.0254),
    ] {
        let mut list = with_lengths(heading, &[cell]);
        // A heading that the program does not know is assigned by hand.
        list.columns[4] = length;
        assert!(!list.asks_unit() && list.is_ready(), "{heading}");
        let found = lengths(&list).unwrap_or_else(|why| panic!("{heading}: {why:?}"));
        assert_near(&found, &[m]);
    }
}

#[test]
fn a_unit_that_nobody_gave_is_asked_for() {
    let mut list = with_lengths("Length", &["1,5", "40 cm"]);
    assert!(list.asks_unit() && !list.is_ready());
    let errors = lengths(&list).expect_err("no unit");
    assert_eq!(
        errors,
        ["row 1, length_m: \"1,5\" has no unit; choose the unit of the column"]
    );
    list.length_unit = Some(LengthUnit::Feet);
    assert!(list.is_ready());
    assert_near(&lengths(&list).expect("chosen"), &[1.5 * 0.3048, 0.4]);
    let list = with_lengths("Length", &["0.4 m", "40cm"]);
    assert!(!list.asks_unit() && list.is_ready(), "each has its own");
    let mut list = with_lengths("Length mm", &["350"]);
    list.length_unit = Some(LengthUnit::Feet);
    assert_near(&lengths(&list).expect("as its heading says"), &[0.35]);
    let list = with_lengths("Length ft/mm", &["3"]);
    assert!(list.asks_unit(), "two units are none");
}

#[test]
fn lengths_that_no_aircraft_has_or_that_read_two_ways_are_reported_by_row() {
    let list = with_lengths(
        "Length m",
        &["350", "1.2", "1,200", "0,350", "60", "60.1", "3 or 6"],
    );
    let errors = lengths(&list).expect_err("wrong lengths");
    let rows: Vec<_> = errors
        .iter()
        .map(|it| it.split(',').next().unwrap_or(""))
        .collect();
    assert_eq!(rows, ["row 1", "row 3", "row 6", "row 7"]);
    assert!(errors[0].contains("350 m is 350.000 m; no aircraft has such a wire"));
    let list = with_lengths("Length mm", &["1.2"]);
    assert!(lengths(&list).is_err(), "a wire of a millimetre");
}

#[test]
fn a_row_without_a_gauge_has_none_until_one_is_chosen() {
    let mut list = List::read("Number\tFrom\tTo\tGauge\nW1\tS1 1\tXP1 1\t#22\nW2\tS1 2\tXP1 2\t\n");
    assert!(list.asks_gauge());
    for chosen in [None, Some(Gauge(18))] {
        list.gauge_awg = chosen;
        let made = import(&Document::default(), &list).expect("a sound list");
        let document = made.change.applied(&Document::default());
        let document = document.expect("made for this");
        let gauges: Vec<_> = document.wires.values().map(|it| it.gauge_awg).collect();
        assert_eq!(gauges, [Some(Gauge(22)), chosen]);
    }
    let without = List::read("Number\tFrom\tTo\nW1\tS1 1\tXP1 1\n");
    assert!(without.asks_gauge(), "no column of sizes at all");
}

#[test]
fn an_area_without_its_unit_is_never_read_as_a_gauge() {
    for (heading, cell, gauge) in [
        ("Gauge", "0.34 mm\u{b2}", Some(24)),
        ("Gauge", "0,34", None),
        ("Gauge", "2 mm2", Some(14)),
        ("Size mm2", "2", Some(14)),
        ("mm\u{b2}", "4", Some(12)),
    ] {
        let text = format!("Number\tFrom\tTo\t{heading}\nW1\tS1 1\tXP1 1\t{cell}\n");
        let mut list = List::read(&text);
        list.columns[3] = ColumnContent::all().find(|says| says.key() == "gauge_awg");
        match (import(&Document::default(), &list), gauge) {
            (Ok(made), Some(gauge)) => {
                let document = made.change.applied(&Document::default());
                let document = document.expect("made for this");
                let mut found = document.wires.values().map(|it| it.gauge_awg);
                assert_eq!(found.next(), Some(Some(Gauge(gauge))), "{cell}");
            }
            (Err(errors), None) => {
                let at = (errors[0].row, errors[0].column);
                assert_eq!(at, (0, "gauge_awg"), "{cell}");
            }
            (other, _) => panic!("{cell}: {other:?}"),
        }
    }
}

#[test]
fn columns_without_a_known_heading_wait_for_the_person() {
    let mut list = List::read("W1;S1 2;XP1 7;18\nW2;S1 4;XP1 8;18");
    assert!(list.headings.is_empty() && !list.is_mapped());
    let key = |key| ColumnContent::all().find(|says| says.key() == key);
    list.columns = ["number", "from", "to", "gauge_awg"].map(key).to_vec();
    let made = import(&Document::default(), &list).expect("mapped by hand");
    assert_eq!((made.wires, made.devices.len()), (2, 2));
}
