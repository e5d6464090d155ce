//! Aircraft of any size, made by rule: a battery, an alternator, a main bus, and as many zones as it
//! takes, each with a breaker bus, a ground block, an in-line connector, switches, loads, splices,
//! shielded audio cables and a sheet.

use serde_json::{Value, json};

use super::arbitrary::Dice;
use crate::{document::Document, exchange};

/// Circuits of one zone.
const CIRCUITS: usize = 12;

/// An aircraft of at least this many wires, and a few dozen more at most. The same number gives the same aircraft.
pub fn aircraft(wires: usize) -> Document {
    let mut make = Make {
        file: skeleton(wires),
        dice: Dice::new(wires as u64),
    };
    let mut zone = 0;
    while make.n_wires() < wires {
        make.zone(zone);
        zone += 1;
    }
    let bytes = make.file.to_string().into_bytes();
    let opened = exchange::open(&bytes);
    opened.expect("what is made by rule is sound").document
}

struct Make {
    file: Value,
    dice: Dice,
}

fn terminal(id: &str, role: &str, form: &str) -> Value {
    json!({"id": id, "label": id.to_uppercase(), "role": role, "form": form})
}

fn device(tag: &str, kind: &str, place: &str, terminals: &[Value], elements: &[Value]) -> Value {
    json!({"tag": tag, "title": tag, "kind": kind, "place": place,
           "terminals": terminals, "elements": elements})
}

fn element(id: &str, is: Value) -> Value {
    json!({"id": id, "label": id.to_uppercase(), "is": is})
}

/// Wires from which on one battery of 6 milliohm would not carry the loads.
const ONE_BATTERY: usize = 600;

/// Wires from which on an alternator of 4000 A, and its feeder, would not carry the loads.
const ONE_ALTERNATOR: usize = 5_000;

fn skeleton(wires: usize) -> Value {
    let ohm = 0.006 * ONE_BATTERY as f64 / wires.max(ONE_BATTERY) as f64;
    // One alternator and one feeder, however large.
    let times = (wires as f64 / ONE_ALTERNATOR as f64).max(1.0);
    let most_a = 4000.0 * times;
    let stud = |id| terminal(id, "passive", "stud");
    let battery = json!({"battery": {"plus": "plus", "minus": "minus", "emf_v": 12.9, "ohm": ohm,
        "charge_ohm": 0.05, "capacity_ah": 60.0}});
    let alternator = json!({"alternator": {"plus": "b", "minus": "case", "set_v": 14.2, "ohm": 0.005,
        "limit_a": most_a}});
    let limiter = json!({"protector": {"line": "a", "load": "b", "rating_a": most_a, "ohm": 0.002 / times, "style": "limiter"}});
    let wire = |number, from, to| {
        json!({"number": number, "from": from, "to": to, "gauge_awg": -3,
               "insulation_c": 150.0, "length_m": 0.2 / times})
    };
    json!({
        "format": "loomwright", "version": 1,
        "project": {"title": "Made by rule", "nominal_v": 14.0},
        "places": {"airframe": {"title": "Airframe", "conductive": true}},
        "devices": {
            "bt1": device("BT1", "battery", "airframe", &[terminal("plus", "power_out", "stud"),
                terminal("minus", "return", "stud")], &[element("cell", battery)]),
            "alt1": device("ALT1", "alternator", "airframe", &[terminal("b", "power_out", "stud"),
                terminal("case", "return", "case")], &[element("alt", alternator),
                element("tie", json!({"structure_tie": {"terminal": "case"}}))]),
            "f1": device("F1", "fuse", "airframe", &[stud("a"), stud("b")], &[element("f1", limiter)]),
            "mbus": device("MBUS", "bus", "airframe", &[json!({"id": "stud", "label": "STUD",
                "role": "passive", "form": "stud", "fits": 1000})], &[element("bar", json!({"bar":
                {"terminals": ["stud"], "used_as": "bus"}}))]),
        },
        "wires": {
            "w-bat": wire("P1A", "terminal:bt1/plus", "terminal:f1/a"),
            "w-bus": wire("P1B", "terminal:f1/b", "terminal:mbus/stud"),
            "w-alt": wire("P2A", "terminal:alt1/b", "terminal:mbus/stud"),
            "w-neg": wire("G1AN", "terminal:bt1/minus", "structure:airframe"),
        },
        "cables": {}, "splices": {}, "sheets": {},
        "states": {
            "parked": {"title": "Parked", "order": 0},
            "cruise": {"title": "Cruise", "order": 1, "alternators_on": true},
        },
    })
}

impl Make {
    fn n_wires(&self) -> usize {
        self.file["wires"]
            .as_object()
            .map_or(0, serde_json::Map::len)
    }

    fn wire(&mut self, number: &str, from: &str, to: &str, gauge_awg: i8) -> String {
        let id = format!("w{}", self.n_wires());
        let length_m = (self.dice.between(0.3, 3.0) * 100.0).round() / 100.0;
        self.file["wires"][&id] = json!({"number": number, "from": from, "to": to,
            "gauge_awg": gauge_awg, "insulation_c": 150.0, "colour": "white", "length_m": length_m});
        id
    }

    fn put(&mut self, zone: usize, id: &str, device: Value) {
        self.file["devices"][id] = device;
        let sheet = &mut self.file["sheets"][format!("z{zone}")]["items"];
        let n = sheet.as_object().map_or(0, serde_json::Map::len);
        let (column, row) = (n % 6, n / 6);
        sheet[format!("i{n}")] = json!({"shows": {"device": {"device": id}},
            "x_mm": 20.0 + 62.5 * column as f64, "y_mm": 20.0 + 55.0 * row as f64});
    }

    /// A bus of breakers, a connector through which everything leaves the panel, loads, returns.
    fn zone(&mut self, zone: usize) {
        let place = format!("zone-{zone}");
        self.file["places"][&place] =
            json!({"title": place, "conductive": true, "bonded_to": "airframe"});
        self.file["sheets"][format!("z{zone}")] =
            json!({"number": zone + 1, "title": place, "items": {}});
        let (bus, gnd, conn) = (
            format!("bus{zone}"),
            format!("gb{zone}"),
            format!("j{zone}"),
        );
        let breakers = (0..CIRCUITS).map(|n| {
            let is = json!({"protector": {"line": "stud", "load": format!("cb{n}"),
                "rating_a": if n % 3 == 0 { 7.5 } else { 5.0 }, "style": "breaker"}});
            element(&format!("cb{n}"), is)
        });
        let bar = json!({"bar": {"terminals": ["stud"], "used_as": "bus"}});
        let inside: Vec<Value> = [element("bar", bar)].into_iter().chain(breakers).collect();
        let mut ends = vec![terminal("stud", "passive", "stud")];
        ends.extend((0..CIRCUITS).map(|n| terminal(&format!("cb{n}"), "passive", "screw")));
        self.put(
            zone,
            &bus,
            device(&bus.to_uppercase(), "bus", &place, &ends, &inside),
        );
        let tabs: Vec<String> = (0..2 * CIRCUITS).map(|n| format!("t{n}")).collect();
        let tab_ends: Vec<Value> = tabs.iter().map(|t| terminal(t, "passive", "tab")).collect();
        let block = [
            element(
                "bar",
                json!({"bar": {"terminals": tabs, "used_as": "ground"}}),
            ),
            element("tie", json!({"structure_tie": {"terminal": "t0"}})),
        ];
        self.put(
            zone,
            &gnd,
            device(
                &gnd.to_uppercase(),
                "ground_block",
                &place,
                &tab_ends,
                &block,
            ),
        );
        self.put(zone, &conn, inline_connector(zone, &place));
        let feeder = format!("F{zone}A4");
        self.wire(
            &feeder,
            "terminal:mbus/stud",
            &format!("terminal:{bus}/stud"),
            4,
        );
        for n in 0..CIRCUITS {
            self.circuit(zone, n, &place);
        }
    }

    fn circuit(&mut self, zone: usize, n: usize, place: &str) {
        let gauge = if n.is_multiple_of(3) { 16 } else { 18 };
        let name = format!("P{}", 100 + zone * CIRCUITS + n);
        let number = |segment: char, suffix: &str| format!("{name}{segment}{gauge}{suffix}");
        let unit = format!("u{zone}-{n}");
        let (plus, minus) = (
            format!("terminal:{unit}/plus"),
            format!("terminal:{unit}/minus"),
        );
        self.put(zone, &unit, load(&unit.to_uppercase(), n, place));
        let (j, p) = (
            format!("terminal:j{zone}/j{n}"),
            format!("terminal:j{zone}/p{n}"),
        );
        self.wire(
            &number('A', ""),
            &format!("terminal:bus{zone}/cb{n}"),
            &j,
            gauge,
        );
        match n % 4 {
            0 => {
                let switch = format!("s{zone}-{n}");
                self.put(zone, &switch, switch_of(&switch.to_uppercase(), place));
                self.wire(&number('B', ""), &p, &format!("terminal:{switch}/a"), gauge);
                self.wire(
                    &number('C', ""),
                    &format!("terminal:{switch}/b"),
                    &plus,
                    gauge,
                );
                self.file["states"]["cruise"]["switches"][format!("{switch}/sw")] = json!(1);
            }
            1 => {
                let splice = format!("sp{zone}-{n}");
                let label = splice.to_uppercase();
                self.file["splices"][&splice] = json!({"label": label, "place": place});
                let second = format!("v{zone}-{n}");
                self.put(zone, &second, load(&second.to_uppercase(), n, place));
                let splice = format!("splice:{splice}");
                self.wire(&number('B', ""), &p, &splice, gauge);
                self.wire(&number('C', ""), &splice, &plus, gauge);
                self.wire(
                    &number('D', ""),
                    &splice,
                    &format!("terminal:{second}/plus"),
                    gauge,
                );
                let tab = format!("terminal:gb{zone}/t{}", CIRCUITS + n);
                self.wire(
                    &number('E', "N"),
                    &format!("terminal:{second}/minus"),
                    &tab,
                    gauge,
                );
            }
            2 => {
                self.wire(&number('B', ""), &p, &plus, gauge);
                self.audio(zone, n, place, &name, &unit);
            }
            _ => drop(self.wire(&number('B', ""), &p, &plus, gauge)),
        }
        self.wire(
            &number('Z', "N"),
            &minus,
            &format!("terminal:gb{zone}/t{n}"),
            gauge,
        );
    }

    fn audio(&mut self, zone: usize, n: usize, place: &str, name: &str, unit: &str) {
        let jack = format!("jk{zone}-{n}");
        let ends = [
            terminal("tip", "audio_high", "pin"),
            terminal("sleeve", "audio_low", "pin"),
        ];
        let is = json!({"jack": {"tip": "tip", "sleeve": "sleeve", "used_for": "phones", "isolated": true}});
        let made = device(
            &jack.to_uppercase(),
            "jack",
            place,
            &ends,
            &[element("jack", is)],
        );
        self.put(zone, &jack, made);
        let cores = [("hi", "tip", 'F'), ("lo", "sleeve", 'G')].map(|(from, to, segment)| {
            let (from, to) = (
                format!("terminal:{unit}/{from}"),
                format!("terminal:{jack}/{to}"),
            );
            self.wire(&format!("{name}{segment}22"), &from, &to, 22)
        });
        self.file["cables"][format!("c{zone}-{n}")] = json!({"label": format!("{name}C"),
            "kind": "shielded", "wires": cores, "shield": {"from": {"tied": {"at":
            format!("terminal:{unit}/shield"), "pigtail_mm": 30.0}}, "to": "floating"}});
    }
}

fn inline_connector(zone: usize, place: &str) -> Value {
    let (j, p) = (format!("J{zone}"), format!("P{zone}"));
    let end = |half: &str, n: usize| json!({"id": format!("{half}{n}"), "label": (n + 1).to_string(), "connector": half, "role": "passive"});
    let ends: Vec<Value> = ["j", "p"]
        .iter()
        .flat_map(|half| (0..CIRCUITS).map(move |n| end(half, n)))
        .collect();
    let mate = |n: usize| json!({"mate": {"a": format!("j{n}"), "b": format!("p{n}")}});
    let mates: Vec<Value> = (0..CIRCUITS)
        .map(|n| element(&format!("m{n}"), mate(n)))
        .collect();
    let mut made = device(
        &format!("{j}/{p}"),
        "inline_connector",
        place,
        &ends,
        &mates,
    );
    made["connectors"] = json!([{"id": "j", "label": j, "contact_a": 13.0},
                                {"id": "p", "label": p, "contact_a": 13.0}]);
    made
}

fn switch_of(tag: &str, place: &str) -> Value {
    let ends = [
        terminal("a", "passive", "screw"),
        terminal("b", "passive", "screw"),
    ];
    let is = json!({"switch": {"positions": [{"label": "OFF"}, {"label": "ON", "joins": [["a", "b"]]}],
        "rating_a": 15.0}});
    device(tag, "switch", place, &ends, &[element("sw", is)])
}

fn load(tag: &str, n: usize, place: &str) -> Value {
    let ends = [
        terminal("plus", "power_in", "pin"),
        terminal("minus", "return", "pin"),
        terminal("hi", "audio_high", "pin"),
        terminal("lo", "audio_low", "pin"),
        terminal("shield", "shield_tie", "pin"),
    ];
    let law = if n.is_multiple_of(2) {
        "constant_power"
    } else {
        "resistance"
    };
    let is = json!({"load": {"plus": "plus", "minus": "minus", "law": law, "at_v": 13.8,
        "continuous_a": {"amps": 0.4 + 0.1 * n as f64, "origin": "manual"}}});
    device(tag, "unit", place, &ends, &[element("load", is)])
}

#[cfg(test)]
mod tests {
    use super::aircraft;

    #[test]
    fn it_is_as_large_as_asked_and_the_same_each_time() {
        for wires in [10, 600, 5000] {
            let made = aircraft(wires);
            assert!(
                (wires..wires + 60).contains(&made.wires.len()),
                "{}",
                made.wires.len()
            );
            assert_eq!(made, aircraft(wires));
        }
    }
}
