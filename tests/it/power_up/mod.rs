//! The first power-up card, carried out: from the paper's JSON alone, each line is set on the drawing from
//! rest and solved.

mod bench;
mod mistakes;

use loomwright_core::{document::Document, testing::aircraft};
use serde_json::Value;

use self::bench::{Bench, card, live, running, texts};
use crate::samples::{sorrel, teasel};

fn carry_out(document: &Document) -> usize {
    let card = card(document);
    for line in &card.lines {
        let name = format!("{} {}", line["protector"], line["positions"]);
        let found = bench::carry_out(document, document, &card, line);
        let [read, expected] = found.volts;
        assert!(
            (read - expected).abs() < 0.06,
            "{name}: {read} for {expected}"
        );
        if let Some([read, expected]) = found.rest {
            assert!(
                (read - expected).abs() < 0.06,
                "{name}, at rest: {read} for {expected}"
            );
        }
        assert!(found.rest_runs.is_empty(), "{name}: runs at rest");
        // Nothing is live but what is named, and what is named is live.
        assert_eq!(found.live, [""; 0], "{name}: live and not named");
        assert_eq!(found.dead, [""; 0], "{name}: named and dead");
        assert_eq!(found.runs, [""; 0], "{name}: runs and is not named");
        for [through, amps] in found.amps {
            assert!(
                (through - amps).abs() < 0.02,
                "{name}: {through} for {amps} A"
            );
        }
        if let Some(limit) = line["supply_limit_a"].as_f64() {
            let least_a = found.supply_a;
            assert!(limit > least_a, "{name}: limit {limit} for {least_a} A");
            assert!(
                limit < 1.1 * least_a + 0.25,
                "{name}: limit {limit} for {least_a} A"
            );
        }
    }
    card.lines.len()
}

#[test]
fn every_line_of_the_card_gives_what_it_says_from_rest() {
    assert!(carry_out(&sorrel()) >= 24);
    assert!(carry_out(&teasel()) >= 12);
    assert!(carry_out(&aircraft(150)) >= 30);
}

/// With the master on and every breaker out, exactly what is listed is live.
#[test]
fn the_list_of_what_is_live_is_all_that_is_live() {
    for (document, master) in [
        (sorrel(), Some("S1: BAT")),
        (teasel(), Some("S1: BAT")),
        (aircraft(60), None),
    ] {
        let card = card(&document);
        let mut line = card.lines[0].clone();
        line["close"] = Value::Array(Vec::new());
        line["positions"] = master.into_iter().map(Value::from).collect();
        let mut bench = Bench::at_rest(&document, &document, &line);
        bench.set(&line);
        let point = bench.solve(&|_| false, None);
        assert_eq!(live(&document, &point), card.live);
    }
    let live = card(&sorrel()).live;
    for at in [
        "K1 LOAD",
        "K2 BAT",
        "MBUS STUD",
        "G1 B",
        "D1 K",
        "EBUS STUD",
    ] {
        assert!(live.contains(at), "{at} is not in {live:?}");
    }
}

/// The starter's cable is off on every line, and its line says that the propeller could turn.
#[test]
fn the_starter_cannot_turn_and_its_line_says_so() {
    for document in [sorrel(), teasel()] {
        let card = card(&document);
        for line in &card.lines {
            assert_eq!(texts(&line["disconnect"]).len(), 1);
            let starts = texts(&line["positions"]).iter().any(|it| it == "S3: START");
            let warns = line["mind"]
                .as_str()
                .is_some_and(|it| it.contains("PROPELLER"));
            assert_eq!(starts, warns, "{line}");
        }
        // Were it not off, it would: the line is the one that needs the caution.
        let mut line = card.lines.iter().find(|it| {
            it["mind"]
                .as_str()
                .is_some_and(|it| it.contains("PROPELLER"))
        });
        let line = line.as_mut().expect("a start line");
        let mut bench = Bench::at_rest(&document, &document, line);
        bench.document = document.clone();
        bench.set(line);
        let point = bench.solve(&|_| false, None);
        assert!(running(&document, &point).contains("M1"));
    }
}

/// The essential bus is fed alone by its alternate feed, master off: it is live, the main bus is dead.
#[test]
fn the_alternate_feed_feeds_its_own_bus_alone() {
    for document in [sorrel(), teasel()] {
        let card = card(&document);
        let volts = |lead: &str| {
            let line = card.lines.iter().find(|it| {
                it["lead"] == lead
                    && it["circuit"]
                        .as_str()
                        .is_some_and(|it| it.ends_with("feeding the bus"))
            });
            let line = line.unwrap_or_else(|| panic!("no line for {lead}"));
            assert_eq!(texts(&line["positions"]), ["S2: ON"]);
            line["expected_v"].as_f64().expect("volts")
        };
        assert!(volts("EBUS STUD") > 12.0);
        assert_eq!(volts("MBUS STUD"), 0.0);
    }
}

/// Buses come in the order in which the supply reaches them, and a switched circuit is first measured at rest.
#[test]
fn lines_begin_at_the_battery_and_at_rest() {
    let card = card(&sorrel());
    let mut buses: Vec<&str> = card
        .lines
        .iter()
        .map(|it| it["bus"].as_str().expect("a bus"))
        .collect();
    buses.dedup();
    assert_eq!(
        buses,
        ["HBUS, Battery bus", "MBUS, Main bus", "EBUS, Essential bus"]
    );
    let pump = card
        .lines
        .iter()
        .find(|it| it["lead"] == "M2 +")
        .expect("a line");
    assert_eq!(pump["rest_v"], 0.0);
}
