//! The worked networks of `data/network-cases.json`, each computed in two other ways (its `how_computed`).

use std::collections::BTreeMap;

use loomwright_core::analysis::bare::{BareNetwork, BareSolution};
use serde_json::{Value, json};

const CASES: &str = include_str!("../data/network-cases.json");

fn cases() -> Vec<Value> {
    let file: Value = serde_json::from_str(CASES).expect("the cases are valid JSON");
    file["network_cases"]
        .as_array()
        .expect("a list of cases")
        .clone()
}

fn case(start: &str) -> Value {
    let starts = |c: &Value| {
        c["name"]
            .as_str()
            .is_some_and(|name| name.starts_with(start))
    };
    cases()
        .into_iter()
        .find(starts)
        .unwrap_or_else(|| panic!("no case {start}"))
}

fn solve(case: &Value) -> BareSolution {
    let name = &case["name"];
    let network = BareNetwork::from_value(case).unwrap_or_else(|e| panic!("{name}: {e}"));
    network.solve().unwrap_or_else(|e| panic!("{name}: {e}"))
}

#[track_caller]
fn close(what: &str, got: f64, want: f64, tolerance: f64) {
    assert!(
        (got - want).abs() <= tolerance,
        "{what}: got {got}, want {want} within {tolerance}"
    );
}

/// Every expected figure of a map, by name.
fn close_all(what: &str, got: &BTreeMap<String, f64>, want: &Value, tolerance: f64) {
    for (name, want) in want.as_object().expect("a map of figures") {
        let got = got
            .get(name)
            .unwrap_or_else(|| panic!("{what}: nothing for {name}"));
        close(
            &format!("{what} {name}"),
            *got,
            want.as_f64().expect("a number"),
            tolerance,
        );
    }
}

fn number(value: &Value, field: &str) -> f64 {
    value[field]
        .as_f64()
        .unwrap_or_else(|| panic!("no number {field} in {value}"))
}

/// The largest difference of any voltage or current of a case, V or A.
pub fn largest_difference(start: &str) -> f64 {
    let case = case(&format!("{start}_"));
    let solved = solve(&case);
    let mut largest = 0.0_f64;
    for (field, got) in [
        ("node_volts", &solved.node_volts),
        ("currents", &solved.currents),
    ] {
        for (name, want) in case["expected"][field].as_object().expect("figures") {
            largest = largest.max((got[name] - want.as_f64().expect("a number")).abs());
        }
    }
    largest
}

#[test]
fn every_case_gives_the_expected_point() {
    let cases = cases();
    assert_eq!(cases.len(), 24);
    for case in cases
        .iter()
        .filter(|case| case["expected"].get("faults").is_none())
    {
        let (name, expected, s) = (
            case["name"].as_str().expect("a name"),
            &case["expected"],
            solve(case),
        );
        let (volt, amp) = (
            number(&case["tolerance"], "volt_abs"),
            number(&case["tolerance"], "amp_abs"),
        );
        assert_eq!(json!(s.converged), expected["converged"], "{name}");
        if let Some(factor) = expected.get("max_load_fraction") {
            let factor = factor.as_f64().expect("a number");
            close(
                name,
                s.margin.expect("a margin"),
                factor,
                number(&case["tolerance"], "fraction_abs"),
            );
            assert_eq!(json!(s.reason), expected["reason"], "{name}");
            let percent = (factor * 1000.0).floor() / 10.0;
            assert_eq!(
                s.message,
                Some(format!(
                    "supply can carry {percent:.1} % of the demanded power"
                ))
            );
            continue;
        }
        close_all(
            &format!("{name}: V"),
            &s.node_volts,
            &expected["node_volts"],
            volt,
        );
        close_all(
            &format!("{name}: A"),
            &s.currents,
            &expected["currents"],
            amp,
        );
        for id in ["off", "dropped"]
            .iter()
            .filter_map(|f| case.get(f).or(expected.get(f))?.as_array())
            .flatten()
        {
            assert!(
                !s.currents.contains_key(id.as_str().expect("an id")),
                "{name}: {id} carries nothing"
            );
        }
        for (field, got) in [
            ("states", json!(s.states)),
            ("dropped", json!(s.dropped)),
            ("drop_reasons", json!(s.drop_reasons)),
            ("undetermined", json!(s.undetermined)),
        ] {
            if let Some(want) = expected.get(field) {
                assert_eq!(&got, want, "{name}: {field}");
            }
        }
        if let Some(islands) = case.get("islands") {
            let got: Vec<Value> = s
                .islands
                .iter()
                .map(|i| json!({ "reference": i.reference, "status": i.status }))
                .collect();
            assert_eq!(&json!(got), islands, "{name}: islands");
        }
    }
}

#[test]
fn jack_panel_noise_follows_from_the_solved_currents() {
    for start in ["09a", "09b"] {
        let case = case(start);
        let s = solve(&case);
        let also = &case["also_expected"];
        // The phones' signal return is the low wire: what lies over it adds to the signal.
        let noise_mv = 1e3 * (s.node_volts["J_CPHN"] - s.node_volts["ICOM"]).abs();
        close(
            start,
            noise_mv,
            number(also, "noise_in_series_mV_rms"),
            1e-6,
        );
        close(
            start,
            s.currents["LO_CPHN"] / s.currents["RIPPLE"],
            number(also, "shield_fraction"),
            1e-6,
        );
        if !also["db_re_mic_150mV"].is_null() {
            close(
                start,
                20.0 * (noise_mv / 150.0).log10(),
                number(also, "db_re_mic_150mV"),
                1e-4,
            );
            // 50 mW into 600 ohm: sqrt(0.05 x 600) = 5.477 V.
            let phones_mv = 1e3 * 30f64.sqrt();
            close(
                start,
                20.0 * (noise_mv / phones_mv).log10(),
                number(also, "db_re_phones_5p477V"),
                1e-4,
            );
        }
    }
}

#[test]
fn brown_out_voltage_before_the_drop() {
    let mut case = case("16_");
    let elements = case["elements"].as_array_mut().expect("a list");
    for element in elements.iter_mut().filter(|e| e["id"] == "EFIS") {
        element["v_cut"] = json!(0.0);
    }
    let s = solve(&case);
    let want = number(&case["also_expected"], "terminal_volts_before_drop");
    close("16", s.node_volts["e+"], want, 1e-6);
}

#[test]
fn ripple_splits_as_expected() {
    let case = case("22_");
    let s = solve(&case);
    let also = &case["also_expected"];
    close(
        "bus",
        1e3 * (s.node_volts["BUS"] - s.node_volts["AF0"]),
        number(also, "bus_ripple_mV"),
        1e-6,
    );
    close(
        "battery",
        s.currents["RBAT"] / s.currents["RIP"],
        number(also, "battery_fraction"),
        1e-9,
    );
    close(
        "ground",
        1e3 * s.node_volts["AVG"],
        number(also, "avionics_ground_mV_vs_AF0"),
        1e-6,
    );
}

/// Voltage and current of one load of the fault sweep; nothing if it is off.
fn load(s: &BareSolution, id: &str, a: &str, b: &str) -> (f64, f64) {
    // Its terminals may be on different islands, whose voltages cannot be compared.
    s.currents
        .get(id)
        .map_or((0.0, 0.0), |amp| (s.node_volts[a] - s.node_volts[b], *amp))
}

#[test]
fn fault_sweep() {
    let case = case("23_");
    let (volt, amp) = (
        number(&case["tolerance"], "volt_abs"),
        number(&case["tolerance"], "amp_abs"),
    );
    let check_load = |what: &str, s: &BareSolution, id: &str, want_v: f64, want_a: f64| {
        let (a, b) = if id == "LA" {
            ("a2", "a3")
        } else {
            ("b2", "b3")
        };
        let (got_v, got_a) = load(s, id, a, b);
        close(&format!("{what}: {id}"), got_v, want_v, volt);
        close(&format!("{what}: {id}"), got_a, want_a, amp);
    };
    let base = solve(&case);
    for id in ["LA", "LB"] {
        let want = &case["expected"]["baseline"][id];
        check_load(
            "baseline",
            &base,
            id,
            number(want, "volts"),
            number(want, "amps"),
        );
    }
    let faults = case["expected"]["faults"]
        .as_array()
        .expect("a list of faults");
    assert_eq!(faults.len(), 16);
    for fault in faults {
        let mut faulted = case.clone();
        let what = format!("{} {}{}", fault["fault"], fault["element"], fault["node"]);
        if fault["fault"] == "open" {
            faulted["off"] = json!([fault["element"]]);
        } else {
            let short = json!({ "id": "FAULT", "type": "resistor", "a": fault["node"], "b": "AF", "ohm": 0.005 });
            faulted["elements"]
                .as_array_mut()
                .expect("a list")
                .push(short);
        }
        let s = solve(&faulted);
        assert_eq!(json!(s.dropped), fault["dropped"], "{what}");
        close(&what, s.currents["BAT"], number(fault, "amps_battery"), amp);
        if fault["fault"] == "open" {
            for id in ["LA", "LB"] {
                let want = (
                    number(fault, &format!("volts_{id}")),
                    number(fault, &format!("amps_{id}")),
                );
                check_load(&what, &s, id, want.0, want.1);
            }
        } else {
            close(&what, s.currents["FAULT"], number(fault, "fault_amps"), amp);
            close(&what, s.currents["CB1"], number(fault, "amps_CB1"), amp);
            close(&what, s.currents["CB2"], number(fault, "amps_CB2"), amp);
            close(&what, s.node_volts["BUS"], number(fault, "volts_bus"), volt);
        }
    }
}

#[test]
fn a_file_in_error_says_where() {
    let battery =
        r#"{ "id": "BAT", "type": "battery", "pos": "P", "neg": "AF", "emf": 12, "ohm": 0.1 }"#;
    for (elements, rest, says) in [
        (
            r#"{ "id": "X", "type": "gizmo" }"#,
            "",
            r#"element "X": unknown type "gizmo""#,
        ),
        (
            r#"{ "id": "X", "type": "resistor", "a": "P", "ohm": 1 }"#,
            "",
            r#"element "X", field "b": found nothing"#,
        ),
        (
            r#"{ "id": "X", "type": "resistor", "a": "P", "b": "AF", "ohm": "1" }"#,
            "",
            r#"field "ohm": found "1", expected a number"#,
        ),
        (
            r#"{ "id": "X", "type": "resistor", "a": "P", "b": "AF", "ohm": -1 }"#,
            "",
            r#"element "X", field "ohm": found -1"#,
        ),
        (
            r#"{ "id": "X", "type": "diode", "a": "P", "b": "AF", "vf": -1, "ohm": 1 }"#,
            "",
            r#"element "X", field "vf""#,
        ),
        (battery, "", r#"element "BAT" appears twice"#),
        (r#"{ "type": "ideal" }"#, "", "elements[1].id"),
        (
            r#"{ "id": "X", "type": "ideal", "a": "P", "b": "AF" }"#,
            r#", "off": ["Y"]"#,
            r#"no element "Y""#,
        ),
    ] {
        let text = format!(r#"{{ "reference": "AF", "elements": [{battery}, {elements}]{rest} }}"#);
        let error = BareNetwork::parse(&text).expect_err(&text).to_string();
        assert!(error.contains(says), "{error}\nshould say {says}");
    }
    let error = |text| BareNetwork::parse(text).expect_err(text).to_string();
    assert!(error("{").contains("not valid JSON"));
    assert!(error(r#"{ "reference": "AF" }"#).contains(r#"field "elements": found nothing"#));
    assert!(
        error(r#"{ "reference": "AF", "elements": [] }"#)
            .contains(r#"no element has the node "AF""#)
    );
}
