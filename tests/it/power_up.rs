//! The first power-up card, carried out: from the paper's JSON alone, each line is set on the drawing from
//! rest and solved.

use std::collections::BTreeSet;

use loomwright_core::{
    document::{
        DeviceKind, Document, ElementKind, End, Extra, Figure, LoadLaw, LoadUse, Origin, State,
        Terminal,
    },
    netlist::{AtNode, EdgeKind, EdgeOf, Netlist, Point, Through},
    reports,
    solve::{Figures, OperatingPoint, operate},
    testing::{aircraft, asked},
};
use serde_json::Value;

use crate::samples::{sorrel, teasel};

/// A terminal this far from 0 V is live, V; the same holds a motor for running.
const LIVE_V: f64 = 1.0;

struct Card {
    lines: Vec<Value>,
    live: BTreeSet<String>,
    always: BTreeSet<String>,
}

fn card(document: &Document) -> Card {
    let paper = reports::paper(&asked(document), "power-up").expect("it is listed");
    let json: Value = serde_json::from_str(&paper.to_json()).expect("JSON");
    let live = json["live"].as_array().expect("a list");
    let named = |wanted: &[&str]| {
        let of = live
            .iter()
            .filter(|it| wanted.contains(&it["always"].as_str().expect("a word")));
        of.map(|it| text(&it["lead"])).collect()
    };
    Card {
        lines: json["power-up"].as_array().expect("lines").clone(),
        live: named(&["yes", "no"]),
        always: named(&["yes"]),
    }
}

fn text(value: &Value) -> String {
    value.as_str().expect("a text").to_owned()
}

fn texts(value: &Value) -> Vec<String> {
    value.as_array().expect("a list").iter().map(text).collect()
}

/// A meter of 0.1 mA behind each diode: it makes the diode conduct, as the person's meter does.
fn meters(document: &mut Document) {
    let minus = document.devices.iter().find_map(|(id, device)| {
        device.elements.iter().find_map(|it| match &it.is {
            ElementKind::Battery(it) => Some(End::Terminal(id.clone(), it.minus.clone())),
            _ => None,
        })
    });
    let minus = minus.expect("a battery");
    let mut leads = Vec::new();
    for (id, device) in document.devices.iter_mut() {
        let cathode = device.elements.iter().find_map(|it| match &it.is {
            ElementKind::Diode(it) => Some(it.cathode.clone()),
            _ => None,
        });
        let Some(cathode) = cathode else { continue };
        let load = serde_json::json!({"id": "meter", "label": "", "is": {"load": {"plus": cathode,
            "minus": "meter", "law": "constant_current", "at_v": 12.0,
            "continuous_a": {"amps": 0.0001, "origin": "estimate"}}}});
        device.terminals.push(Terminal::plain("meter", "METER"));
        device
            .elements
            .push(serde_json::from_value(load).expect("a load"));
        leads.push(End::Terminal(id.clone(), "meter".into()));
    }
    for (n, lead) in leads.into_iter().enumerate() {
        let mut wire = document.wires.values().next().expect("a wire").clone();
        (wire.from, wire.to) = (lead, minus.clone());
        document
            .wires
            .insert(format!("meter {n}").as_str().into(), wire);
    }
}

/// The aircraft at rest on a supply, as the card has it: breakers out, cables off.
struct Bench {
    document: Document,
    state: State,
}

impl Bench {
    fn at_rest(drawn: &Document, line: &Value) -> Self {
        let mut document = drawn.clone();
        let mut state = State::default();
        let supply_v = line["supply_v"].as_f64().expect("volts");
        for (id, device) in document.devices.iter_mut() {
            for element in &mut device.elements {
                match &mut element.is {
                    ElementKind::Battery(it) => (it.emf_v, it.ohm) = (supply_v, 1e-6),
                    ElementKind::Protector(it)
                        if serde_json::json!(it.style) != serde_json::json!("limiter") =>
                    {
                        state.pulled.push(format!("{id}/{}", element.id));
                    }
                    _ => {}
                }
            }
        }
        meters(&mut document);
        for off in texts(&line["disconnect"]) {
            let (wire, at) = off.split_once(" at ").expect("wire and end");
            let ids: Vec<_> = document.wires.keys().cloned().collect();
            let id = ids.into_iter().find(|id| drawn.wire_label(id) == wire);
            let wire = document
                .wires
                .get_mut(&id.expect("a wire"))
                .expect("it is drawn");
            let end = [&mut wire.from, &mut wire.to];
            let end = end.into_iter().find(|end| drawn.end_label(end) == at);
            *end.expect("an end of it") = End::Open;
        }
        Self { document, state }
    }

    /// Sets what a line says.
    fn set(&mut self, line: &Value) {
        let label = |key: &str| self.document.record_label("element", key);
        let close = texts(&line["close"]);
        self.state.pulled.retain(|key| !close.contains(&label(key)));
        for set in texts(&line["positions"]) {
            let (switch, position) = set.split_once(": ").expect("switch and position");
            for (id, device) in &self.document.devices {
                for element in &device.elements {
                    let key = format!("{id}/{}", element.id);
                    if let ElementKind::Switch(it) = &element.is
                        && self.document.record_label("element", &key) == switch
                    {
                        let at = it.positions.iter().position(|it| it.label == position);
                        self.state.switches.insert(key, at.expect("a position"));
                    }
                }
            }
        }
    }

    /// Units off their connectors, a meter of 1 mA at those of the circuit; or these units connected.
    fn solve(&self, circuit: &dyn Fn(&str) -> bool, connected: Option<Figures>) -> OperatingPoint {
        let (mut document, mut state) = (self.document.clone(), self.state.clone());
        for (id, device) in document.devices.iter_mut() {
            let unplugs =
                !device.connectors.is_empty() && device.kind != DeviceKind::InlineConnector;
            for element in &mut device.elements {
                let ElementKind::Load(load) = &mut element.is else {
                    continue;
                };
                let key = format!("{id}/{}", element.id);
                let works = match load.continuous_a {
                    Some(_) => LoadUse::Continuous,
                    None => LoadUse::Intermittent,
                };
                let used = match (circuit(id.as_str()), connected) {
                    (true, Some(Figures::Peak)) => LoadUse::Peak,
                    (true, Some(Figures::Continuous)) => LoadUse::Continuous,
                    (true, None) if unplugs => {
                        load.law = LoadLaw::ConstantCurrent;
                        load.cutoff_v = None;
                        load.continuous_a = Some(Figure {
                            amps: 0.001,
                            origin: Origin::Estimate,
                            extra: Extra::new(),
                        });
                        LoadUse::Continuous
                    }
                    (false, _) if unplugs => LoadUse::Off,
                    _ => works,
                };
                state.loads.insert(key, used);
            }
        }
        let figures = connected.unwrap_or(Figures::Continuous);
        operate(&document, &"bench".into(), &state, figures)
    }
}

fn live(document: &Document, point: &OperatingPoint) -> BTreeSet<String> {
    let mut live = BTreeSet::new();
    for (id, device) in &document.devices {
        for terminal in &device.terminals {
            let at = Point::Terminal(id.clone(), terminal.id.clone());
            if point.volts(&at).is_some_and(|volts| volts.abs() > LIVE_V) {
                live.insert(device.terminal_label(terminal));
            }
        }
    }
    live
}

/// What can hang on a breaker, by walking from it over metal, switches, contacts and diodes.
fn own(document: &Document, line: &Value) -> BTreeSet<String> {
    let netlist = Netlist::new(document);
    let first = &texts(&line["close"])[0];
    let edge = netlist
        .graph
        .edge_indices()
        .find(|edge| match netlist.of(*edge) {
            EdgeOf::Element(device, element, _) => {
                matches!(netlist.graph[*edge].kind, EdgeKind::Protector { .. })
                    && document.record_label("element", &format!("{device}/{element}")) == *first
            }
            _ => false,
        });
    let (_, load_side) = netlist.ends(edge.expect("a breaker"));
    let minus: Vec<_> = netlist.sources().map(|it| netlist.ends(it).1).collect();
    let ground = netlist.reach(minus, Through::METAL, |_| AtNode::GoOn);
    let through = Through::CLOSABLE
        .and(Through::DIODES)
        .and(Through::RESISTORS)
        .without(Through::PROTECTORS);
    let reach = netlist.reach([load_side], through, |node| {
        AtNode::stop_if(ground.has(node) && node != load_side)
    });
    let labels = reach
        .nodes
        .iter()
        .filter_map(|node| match netlist.point(*node) {
            Point::Terminal(device, terminal) => {
                Some(document.end_label(&End::Terminal(device.clone(), terminal.clone())))
            }
            _ => None,
        });
    labels.collect()
}

fn end_named(document: &Document, label: &str) -> Point {
    for (id, device) in &document.devices {
        for terminal in &device.terminals {
            if device.terminal_label(terminal) == label {
                return Point::Terminal(id.clone(), terminal.id.clone());
            }
        }
    }
    let place = label
        .strip_prefix("structure, ")
        .expect("a terminal or structure");
    let mut places = document.places.iter();
    let found = places.find(|(_, it)| it.title == place);
    Point::Structure(found.expect("a place").0.clone())
}

/// Motors that turn.
fn running(document: &Document, point: &OperatingPoint) -> BTreeSet<String> {
    let mut all = BTreeSet::new();
    for (id, device) in &document.devices {
        for element in &device.elements {
            let is_motor = device.kind == DeviceKind::Motor;
            let is_load = matches!(element.is, ElementKind::Load(_));
            let amps = point.element_amps(id, &element.id).unwrap_or(0.0).abs();
            if is_motor && is_load && amps > 0.01 {
                all.insert(device.tag.clone());
            }
        }
    }
    all
}

fn carry_out(document: &Document) -> usize {
    let card = card(document);
    for line in &card.lines {
        let name = format!("{} {}", line["protector"], line["positions"]);
        let mut bench = Bench::at_rest(document, line);
        bench.set(line);
        let own = own(document, line);
        let on_it = |id: &str| {
            let device = &document.devices[id];
            device
                .terminals
                .iter()
                .any(|it| own.contains(&device.terminal_label(it)))
                && device.elements.iter().any(|it| match &it.is {
                    ElementKind::Load(load) => [&load.plus, &load.minus].into_iter().any(|it| {
                        let at = End::Terminal(id.into(), it.clone());
                        own.contains(&document.end_label(&at))
                    }),
                    _ => false,
                })
        };
        let bare = bench.solve(&on_it, None);
        let volts = |key: &str| bare.volts(&end_named(document, &text(&line[key])));
        let read = volts("lead").unwrap_or(0.0) - volts("other_lead").unwrap_or(0.0);
        let expected = line["expected_v"].as_f64().expect("volts");
        assert!(
            (read - expected).abs() < 0.06,
            "{name}: {read} for {expected}"
        );
        // Nothing is live but what is named, and what is named is live.
        let found = live(document, &bare);
        let too: BTreeSet<String> = texts(&line["live_too"]).into_iter().collect();
        for at in &found {
            let named = own.contains(at) || too.contains(at) || card.live.contains(at);
            assert!(named, "{name}: {at} is live and not named");
        }
        for at in card.always.iter().chain(&too) {
            assert!(found.contains(at), "{name}: {at} is named and dead");
        }
        let mut least_a = 0.0_f64;
        for (figures, key) in [
            (Figures::Continuous, "continuous_a"),
            (Figures::Peak, "peak_a"),
        ] {
            let point = bench.solve(&on_it, Some(figures));
            let sources = point.netlist().sources();
            let amps = sources.filter_map(|it| point.edge_amps(it)).map(f64::abs);
            let supply_a = amps.fold(0.0, f64::max);
            least_a = least_a.max(supply_a);
            for motor in running(document, &point) {
                let mind = line["mind"].as_str().unwrap_or_default();
                assert!(
                    mind.contains(&motor),
                    "{name}: {motor} runs and is not named"
                );
            }
            let Some(amps) = line[key].as_f64() else {
                continue;
            };
            let first = &texts(&line["close"])[0];
            let through = point.netlist().graph.edge_indices().find_map(|edge| {
                let EdgeOf::Element(device, element, _) = point.netlist().of(edge) else {
                    return None;
                };
                let label = document.record_label("element", &format!("{device}/{element}"));
                (label == *first).then(|| point.element_amps(device, element))?
            });
            let through = through.expect("a breaker").abs();
            assert!(
                (through - amps).abs() < 0.02,
                "{name}: {through} for {amps} A"
            );
        }
        if let Some(limit) = line["supply_limit_a"].as_f64() {
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
        let mut bench = Bench::at_rest(&document, &line);
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
        let mut bench = Bench::at_rest(&document, line);
        bench.document = document.clone();
        bench.set(line);
        let point = bench.solve(&|_| false, None);
        assert!(running(&document, &point).contains("M1"));
    }
}
