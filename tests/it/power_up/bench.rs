//! The card of a first power-up from the paper's JSON alone, and the aircraft as a person sets it up for each line.

use std::collections::BTreeSet;

use loomwright_core::{
    document::{
        DeviceKind, Document, ElementKind, End, Extra, Figure, LoadLaw, LoadUse, Origin, State,
        Terminal,
    },
    netlist::{AtNode, EdgeKind, EdgeOf, Netlist, Point, Through},
    reports,
    solve::{Figures, OperatingPoint, operate},
    testing::asked,
};
use serde_json::Value;

/// A terminal this far from 0 V is live, V; the same holds a motor for running.
const LIVE_V: f64 = 1.0;

/// The lines of the card, the switches that turn the master on, and what is live with it on, and always.
pub struct Card {
    pub lines: Vec<Value>,
    pub master: Vec<String>,
    pub live: BTreeSet<String>,
    pub always: BTreeSet<String>,
}

pub fn card(document: &Document) -> Card {
    let paper = reports::paper(&asked(document), "power-up").expect("it is listed");
    let json: Value = serde_json::from_str(&paper.to_json()).expect("JSON");
    let live = json["live"].as_array().expect("a list");
    let named = |wanted: &[&str]| {
        let of = live
            .iter()
            .filter(|it| wanted.contains(&it["always"].as_str().expect("a word")));
        of.map(|it| text(&it["lead"])).collect()
    };
    let text_form = paper.to_text();
    let (_, after) = text_form.split_once("output on, then ").expect("step 4");
    let (master, _) = after.split_once(". Check that").expect("its end");
    let master = master.split(", ").filter(|it| it.contains(": "));
    Card {
        master: master.map(ToOwned::to_owned).collect(),
        lines: json["power-up"].as_array().expect("lines").clone(),
        live: named(&["yes", "no"]),
        always: named(&["yes"]),
    }
}

pub fn text(value: &Value) -> String {
    value.as_str().expect("a text").to_owned()
}

pub fn texts(value: &Value) -> Vec<String> {
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
pub struct Bench {
    pub document: Document,
    state: State,
    /// A wire to disconnect is not where the card says.
    astray: bool,
}

impl Bench {
    /// `built` with what the line sets before anything else; the line names what the drawing names.
    pub fn at_rest(drawn: &Document, built: &Document, line: &Value) -> Self {
        let mut document = built.clone();
        let mut astray = false;
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
            let mut ids = drawn.wires.keys();
            let id = ids.find(|id| drawn.wire_label(id) == wire);
            let id = id.expect("it is drawn");
            let Some(wire) = document.wires.get_mut(id) else {
                continue;
            };
            let end = match drawn.end_label(&drawn.wires[id].from) == at {
                true => &mut wire.from,
                false => &mut wire.to,
            };
            // It is disconnected wherever it ends; that it ends elsewhere is seen.
            astray |= drawn.end_label(end) != at;
            *end = End::Open;
        }
        Self {
            document,
            state,
            astray,
        }
    }

    /// Sets what a line says.
    pub fn set(&mut self, line: &Value) {
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
    pub fn solve(
        &self,
        circuit: &dyn Fn(&str) -> bool,
        connected: Option<Figures>,
    ) -> OperatingPoint {
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

pub fn live(document: &Document, point: &OperatingPoint) -> BTreeSet<String> {
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
pub fn running(document: &Document, point: &OperatingPoint) -> BTreeSet<String> {
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

/// What a person finds on a line.
#[derive(Debug, Default)]
pub struct Found {
    /// A wire to disconnect is not where the card says.
    pub astray: bool,
    /// Volts between the leads, and as printed.
    pub volts: [f64; 2],
    /// The same with only the master on, if the line has it.
    pub rest: Option<[f64; 2]>,
    /// Motors that run then.
    pub rest_runs: BTreeSet<String>,
    /// Terminals that are live and not named.
    pub live: Vec<String>,
    /// Terminals that are named as live and dead.
    pub dead: Vec<String>,
    /// Amperes through the breaker, and as printed: continuous, peak.
    pub amps: Vec<[f64; 2]>,
    /// Motors that run and are not named.
    pub runs: Vec<String>,
    /// Motors that run.
    pub running: BTreeSet<String>,
    /// The most that the supply gives, if it has no limit, A.
    pub supply_a: f64,
    /// The solutions: units off, continuous, peak.
    pub points: Vec<OperatingPoint>,
}

/// Carries out a line of the card of a drawing on an aircraft as built.
pub fn carry_out(drawn: &Document, built: &Document, card: &Card, line: &Value) -> Found {
    let is_alternate = text(&line["circuit"]).ends_with(", feeding the bus");
    let own = match is_alternate {
        true => BTreeSet::new(),
        false => own(drawn, line),
    };
    let moved = texts(&line["positions"]);
    let is_moved = |set: &&String| {
        let (switch, _) = set.split_once(": ").expect("switch and position");
        moved
            .iter()
            .any(|it| it.starts_with(&format!("{switch}: ")))
    };
    let master: Vec<Value> = card
        .master
        .iter()
        .filter(is_moved)
        .map(|it| it.as_str().into())
        .collect();
    let listed = match !is_alternate && master.len() == card.master.len() {
        true => &card.live,
        false => &card.always,
    };
    let on_it = |id: &str| {
        let Some(device) = drawn.devices.get(id) else {
            return false;
        };
        device
            .terminals
            .iter()
            .any(|it| own.contains(&device.terminal_label(it)))
            && device.elements.iter().any(|it| match &it.is {
                ElementKind::Load(load) => [&load.plus, &load.minus].into_iter().any(|it| {
                    let at = End::Terminal(id.into(), it.clone());
                    own.contains(&drawn.end_label(&at))
                }),
                _ => false,
            })
    };
    let read = |point: &OperatingPoint| {
        let volts = |key: &str| point.volts(&end_named(drawn, &text(&line[key])));
        volts("lead").unwrap_or(0.0) - volts("other_lead").unwrap_or(0.0)
    };
    let mut bench = Bench::at_rest(drawn, built, line);
    let mut rest = None;
    let mut rest_runs = BTreeSet::new();
    if let Some(printed) = line["rest_v"].as_f64() {
        let mut line = line.clone();
        line["positions"] = Value::Array(master);
        bench.set(&line);
        let point = bench.solve(&on_it, None);
        rest = Some([read(&point), printed]);
        rest_runs = running(built, &point);
    }
    bench.set(line);
    let bare = bench.solve(&on_it, None);
    let read = read(&bare);
    let mut found = Found {
        rest,
        rest_runs,
        astray: bench.astray,
        volts: [read, line["expected_v"].as_f64().expect("volts")],
        ..Found::default()
    };
    let live = live(drawn, &bare);
    let too: BTreeSet<String> = texts(&line["live_too"]).into_iter().collect();
    let named = |at: &String| own.contains(at) || too.contains(at) || listed.contains(at);
    found.live = live.iter().filter(|at| !named(at)).cloned().collect();
    let must = card.always.iter().chain(&too);
    found.dead = must.filter(|at| !live.contains(*at)).cloned().collect();
    found.points.push(bare);
    for (figures, key) in [
        (Figures::Continuous, "continuous_a"),
        (Figures::Peak, "peak_a"),
    ] {
        let point = bench.solve(&on_it, Some(figures));
        let sources = point.netlist().sources();
        let amps = sources.filter_map(|it| point.edge_amps(it)).map(f64::abs);
        found.supply_a = found.supply_a.max(amps.fold(0.0, f64::max));
        for motor in running(built, &point) {
            if !line["mind"].as_str().unwrap_or_default().contains(&motor) {
                found.runs.push(motor.clone());
            }
            found.running.insert(motor);
        }
        if let Some(amps) = line[key].as_f64() {
            let through = through(drawn, &point, &texts(&line["close"])[0]);
            found.amps.push([through, amps]);
        }
        found.points.push(point);
    }
    found
}

/// Amperes through the breaker or fuse with this label.
fn through(drawn: &Document, point: &OperatingPoint, label: &str) -> f64 {
    let amps = point.netlist().graph.edge_indices().find_map(|edge| {
        let EdgeOf::Element(device, element, _) = point.netlist().of(edge) else {
            return None;
        };
        let is_it = drawn.record_label("element", &format!("{device}/{element}")) == *label;
        is_it.then(|| point.element_amps(device, element))?
    });
    amps.expect("a breaker").abs()
}
