//! The cards for what fails in flight, carried out: from each paper's text and JSON alone the cockpit is set line by
//! line and solved, and the batteries are run down by a clock of our own.

use std::collections::BTreeSet;

use loomwright_core::{
    document::{
        Battery, Document, Element, ElementKind, Extra, LoadUse, Mate, ProtectorStyle, State,
    },
    netlist::{EdgeKind, EdgeOf, Point},
    reports,
    solve::{Figures, OperatingPoint, operate},
    testing::asked,
};
use serde_json::Value;

use crate::samples::{sorrel, teasel};

/// A terminal this far from 0 V is live, V.
const LIVE_V: f64 = 1.0;
/// A load that takes less does not run, A.
const RUNS_A: f64 = 0.001;
/// Share of the nameplate that a battery gives: 0.8 for its age, 0.75 for rate and cut-off, as the load sheet says.
const USABLE: f64 = 0.8 * 0.75;
/// Volts of an empty battery over those of a full one, and the end of a 12 V battery, as the load sheet says.
const EMPTY: f64 = 0.91;
const CUTOFF_V: f64 = 10.0;
/// Minutes on paper are whole, and a load that stops is found to a minute.
const CLOSE_MIN: f64 = 1.6;

struct Card {
    json: Value,
    text: String,
}

impl Card {
    fn of(document: &Document, name: &str) -> Self {
        let paper = reports::paper(&asked(document), name).expect("it is listed");
        Self {
            json: serde_json::from_str(&paper.to_json()).expect("JSON"),
            text: paper.to_text(),
        }
    }

    fn rows(&self, table: &str) -> &[Value] {
        match &self.json {
            Value::Array(rows) => rows,
            all => all[table].as_array().map_or(&[], Vec::as_slice),
        }
    }

    /// What stands between two texts.
    fn between(&self, from: &str, to: &str) -> &str {
        let (_, after) = self.text.split_once(from).expect("its beginning");
        after.split_once(to).expect("its end").0
    }
}

fn texts(value: &Value) -> BTreeSet<String> {
    let list = value.as_array().map_or(&[][..], Vec::as_slice);
    let text = |it: &Value| it.as_str().expect("a text").to_owned();
    list.iter().map(text).collect()
}

fn elements(document: &Document) -> impl Iterator<Item = (String, &Element)> {
    document.devices.iter().flat_map(|(id, device)| {
        let elements = device.elements.iter();
        elements.map(move |it| (format!("{id}/{}", it.id), it))
    })
}

/// The aircraft as the pilot has it.
#[derive(Clone)]
struct Cockpit {
    document: Document,
    state: State,
}

impl Cockpit {
    /// In the phase with this title, the alternator turning or not.
    fn in_phase(document: &Document, title: &str, alternators_on: bool) -> Self {
        let mut states = document.states.values();
        let state = states.find(|it| it.title == title).expect("a phase");
        Self {
            document: document.clone(),
            state: State {
                alternators_on,
                ..state.clone()
            },
        }
    }

    fn label(&self, key: &str) -> String {
        self.document.record_label("element", key)
    }

    /// Sets "S2: ON".
    fn set(&mut self, position: &str) {
        let (switch, place) = position.split_once(": ").expect("switch and position");
        let found = elements(&self.document).find_map(|(key, it)| match &it.is {
            ElementKind::Switch(it) if self.label(&key) == switch => {
                let at = it.positions.iter().position(|it| it.label == place);
                Some((key, at.expect("a position")))
            }
            _ => None,
        });
        let (key, at) = found.expect("a switch");
        self.state.switches.insert(key, at);
    }

    fn key(&self, label: &str) -> String {
        let mut all = elements(&self.document).map(|it| it.0);
        all.find(|key| self.label(key) == label)
            .expect("it is drawn")
    }

    /// Does what a line says.
    fn take(&mut self, line: &Value) {
        for position in texts(&line["positions"]) {
            self.set(&position);
        }
        for label in texts(&line["off"]) {
            let key = self.key(&label);
            self.state.loads.insert(key, LoadUse::Off);
        }
        for label in texts(&line["pull"]) {
            let key = self.key(&label);
            self.state.pulled.push(key);
        }
    }

    fn solve(&self) -> OperatingPoint {
        operate(
            &self.document,
            &"cockpit".into(),
            &self.state,
            Figures::Continuous,
        )
    }

    /// Labels of the loads that run.
    fn running(&self, point: &OperatingPoint) -> BTreeSet<String> {
        let netlist = point.netlist();
        let mut all = BTreeSet::new();
        for (edge, load) in netlist.loads() {
            let EdgeOf::Element(device, element, _) = netlist.of(edge) else {
                continue;
            };
            let amps = point.edge_amps(edge).unwrap_or(0.0).abs();
            let volts = point.across_v(edge).unwrap_or(0.0).abs();
            if amps >= RUNS_A && volts >= load.cutoff_v.unwrap_or(LIVE_V) {
                all.insert(self.label(&format!("{device}/{element}")));
            }
        }
        all
    }

    /// Tags of the buses that are live.
    fn buses(&self, point: &OperatingPoint) -> BTreeSet<String> {
        let buses = self.document.devices.iter().filter(|(_, device)| {
            let kind = serde_json::json!(device.kind);
            kind == "bus"
        });
        let is_live = |id: &loomwright_core::ids::DeviceId| {
            volts(&self.document, point, &self.document.devices[id].tag).abs() > LIVE_V
        };
        buses
            .filter(|(id, _)| is_live(id))
            .map(|(_, device)| device.tag.clone())
            .collect()
    }

    /// Live terminals, by label.
    fn live(&self, point: &OperatingPoint) -> BTreeSet<String> {
        let mut all = BTreeSet::new();
        for (id, device) in &self.document.devices {
            for terminal in &device.terminals {
                let at = Point::Terminal(id.clone(), terminal.id.clone());
                if point.volts(&at).is_some_and(|it| it.abs() > LIVE_V) {
                    all.insert(device.terminal_label(terminal));
                }
            }
        }
        all
    }

    fn batteries(&self) -> Vec<Battery> {
        let all = elements(&self.document).filter_map(|(_, it)| match &it.is {
            ElementKind::Battery(it) => Some(it.clone()),
            _ => None,
        });
        all.collect()
    }

    /// With this share of the battery's charge used.
    fn used(&self, share: f64) -> Self {
        let mut next = self.clone();
        for device in next.document.devices.values_mut() {
            for element in &mut device.elements {
                if let ElementKind::Battery(it) = &mut element.is {
                    assert!(it.reserve.is_none(), "the samples set no factors");
                    it.emf_v *= 1.0 - share * (1.0 - EMPTY);
                }
            }
        }
        next
    }

    /// Current and volts of the only battery.
    fn battery(point: &OperatingPoint) -> (f64, f64) {
        let netlist = point.netlist();
        let mut edges = netlist.graph.edge_indices();
        let edge = edges.find(|it| matches!(netlist.graph[*it].kind, EdgeKind::Battery { .. }));
        let edge = edge.expect("a battery");
        let amps = point.edge_amps(edge).unwrap_or(0.0).abs();
        (amps, point.across_v(edge).unwrap_or(0.0).abs())
    }

    /// Minutes until the battery is empty, and when loads stop by themselves before; `until` cuts it short and gives
    /// the share used by then.
    fn runs_down(&self, until_min: f64) -> (f64, Vec<(String, f64)>, f64) {
        let batteries = self.batteries();
        let [battery] = &batteries[..] else {
            panic!("one battery");
        };
        let usable_as = battery.capacity_ah.expect("a capacity") * USABLE * 3600.0;
        let mut now = self.clone();
        let (mut share, mut time_s, mut stops) = (0.0, 0.0, Vec::new());
        let rate = |it: &Self, share: f64| Self::battery(&it.used(share).solve()).0 / usable_as;
        let point = now.solve();
        let mut running = now.running(&point);
        loop {
            let first = rate(&now, share);
            if first < 1e-9 {
                return (f64::INFINITY, stops, share);
            }
            // A twentieth of the charge at most, and the time left.
            let mut step_s = (0.05 / first).min(until_min * 60.0 - time_s);
            let mut next = share + step_s * (first + rate(&now, share + step_s * first)) / 2.0;
            let ends = |share: f64, it: &Self| {
                let used = it.used(share);
                let point = used.solve();
                let (_, volts) = Self::battery(&point);
                let still = it.running(&point);
                (volts < CUTOFF_V || share >= 1.0, still)
            };
            // When something stops within the step, the step ends there.
            let (empty, still) = ends(next, &now);
            if empty || still != running {
                let (mut low, mut high) = (0.0, 1.0);
                for _ in 0..12 {
                    let middle = (low + high) / 2.0;
                    let (empty, still) = ends(share + middle * (next - share), &now);
                    match empty || still != running {
                        true => high = middle,
                        false => low = middle,
                    }
                }
                step_s *= high;
                next = share + high * (next - share);
            }
            time_s += step_s;
            share = next;
            let (empty, still) = ends(share, &now);
            if empty || time_s >= until_min * 60.0 - 0.01 {
                return (time_s / 60.0, stops, share);
            }
            for load in running.difference(&still) {
                stops.push((load.clone(), time_s / 60.0));
                let key = now.key(load);
                now.state.loads.insert(key, LoadUse::Off);
            }
            running = still;
        }
    }
}

/// Volts of the bus with this tag.
fn volts(document: &Document, point: &OperatingPoint, tag: &str) -> f64 {
    let (id, device) = (document.devices.iter())
        .find(|(_, it)| it.tag == tag)
        .expect("a bus");
    let bar = device.elements.iter().find_map(|it| match &it.is {
        ElementKind::Bar(it) => it.terminals.first().cloned(),
        _ => None,
    });
    let at = Point::Terminal(id.clone(), bar.expect("a bar"));
    point.volts(&at).unwrap_or(0.0)
}

/// Holds a line of steps against the cockpit after it.
fn holds(name: &str, line: &Value, before: &Cockpit, after: &Cockpit) {
    let name = format!("{name}: {}", line["do"]);
    let (was, point) = (before.running(&before.solve()), after.solve());
    let runs = after.running(&point);
    assert_eq!(texts(&line["runs"]), runs, "{name}: runs");
    let of = |a: &BTreeSet<String>, b: &BTreeSet<String>| -> BTreeSet<String> {
        a.difference(b).cloned().collect()
    };
    assert_eq!(texts(&line["stops"]), of(&was, &runs), "{name}: stops");
    assert_eq!(texts(&line["starts"]), of(&runs, &was), "{name}: starts");
    assert_eq!(
        texts(&line["live"]),
        after.buses(&point),
        "{name}: live buses"
    );
    if after.state.alternators_on {
        assert!(
            line["minutes"].is_null(),
            "{name}: minutes with an alternator"
        );
        return;
    }
    let printed = line["battery_a"].as_f64().expect("amperes");
    let (amps, _) = Cockpit::battery(&point);
    assert!(
        (printed - amps).abs() < 0.06,
        "{name}: {printed} for {amps} A"
    );
    let (minutes, stops, _) = after.runs_down(6_000.0);
    match line["minutes"].as_f64() {
        Some(printed) => assert!(
            (printed - minutes).abs() <= CLOSE_MIN.max(0.01 * minutes),
            "{name}: {printed} min, {minutes} by the clock"
        ),
        None => assert!(
            minutes >= 6_000.0 && line["minutes"] == "over 6,000",
            "{name}: {} for {minutes}",
            line["minutes"]
        ),
    }
    let early = texts(&line["early"]);
    let stops = stops.iter().filter(|it| it.1 < minutes - 0.5);
    let stops: Vec<_> = stops.collect();
    assert_eq!(early.len(), stops.len(), "{name}: {early:?} for {stops:?}");
    for (load, at) in stops {
        let told = early
            .iter()
            .find(|it| it.starts_with(&format!("{load} after ")));
        let told = told.unwrap_or_else(|| panic!("{name}: {load} stops after {at}"));
        let (_, told) = told.split_once(" after ").expect("minutes");
        let told: f64 = told.trim_end_matches(" min").parse().expect("minutes");
        assert!(
            (told - at).abs() <= CLOSE_MIN,
            "{name}: {load}: {told} for {at}"
        );
    }
}

/// The lines of the alternator's card that every pilot takes.
fn in_order(card: &Card) -> Vec<Value> {
    let rows = card.rows("steps").iter();
    rows.filter(|it| it["part"] == "In this order")
        .cloned()
        .collect()
}

#[test]
fn the_alternator_card_gives_what_each_line_says() {
    for (document, steps, next) in [(sorrel(), 3, 6), (teasel(), 3, 5)] {
        let card = Card::of(&document, "alternator-out");
        let phase = card.between("Computed from \u{201c}", "\u{201d}");
        let mut cockpit = Cockpit::in_phase(&document, phase, false);
        let all = card.rows("steps");
        assert_eq!(all.len(), steps + next);
        let first = in_order(&card);
        let end = texts(&first.last().expect("steps")["runs"]);
        for line in all {
            let before = cockpit.clone();
            cockpit.take(line);
            holds(&document.project.title, line, &before, &cockpit);
        }
        // What runs at the end of the steps never goes out on the way.
        for line in &first {
            let runs = texts(&line["runs"]);
            assert!(end.is_subset(&runs), "{line}");
        }
        // In the panel's own words, in this order.
        let done = |text: &str| first.iter().position(|it| it["do"] == text);
        let feed = done("ESSENTIAL BUS ALTERNATE FEED ON").expect("the feed");
        assert!(done("MASTER OFF").is_some_and(|it| it > feed));
        let minutes = |line: &Value| line["minutes"].as_f64().unwrap_or(f64::INFINITY);
        assert!(minutes(&first[steps - 1]) >= document.project.target_min.expect("a target"));
    }
}

/// A unit that is marked as critical is never offered to be turned off.
#[test]
fn what_must_keep_working_is_not_offered() {
    let mut document = sorrel();
    let offered = |document: &Document| {
        let card = Card::of(document, "alternator-out");
        let rows = card.rows("next").iter();
        rows.flat_map(|it| texts(&it["stops"]))
            .collect::<BTreeSet<_>>()
    };
    assert!(offered(&document).contains("FD1"));
    let display = document.devices.values_mut().find(|it| it.tag == "FD1");
    display.expect("a display").critical = true;
    let left = offered(&document);
    assert!(!left.contains("FD1") && left.contains("XP1"), "{left:?}");
}

#[test]
fn the_low_volts_card_gives_what_each_line_says() {
    for document in [sorrel(), teasel()] {
        let name = &document.project.title;
        let card = Card::of(&document, "low-volts");
        let phase = card.between("just after it stops in \u{201c}", "\u{201d}");
        let start = Cockpit::in_phase(&document, phase, false);
        let stopped = start.solve();
        let near = |printed: &Value, volts: f64| {
            let printed = printed.as_f64().expect("volts");
            assert!(
                (printed - volts).abs() < 0.06,
                "{name}: {printed} for {volts} V"
            );
        };
        let running = document.states.values().filter(|it| it.alternators_on);
        let running: Vec<_> = running
            .map(|it| Cockpit::in_phase(&document, &it.title, true).solve())
            .collect();
        assert_eq!(card.rows("buses").len(), start.buses(&stopped).len());
        for line in card.rows("buses") {
            let bus = line["bus"].as_str().expect("a bus");
            near(&line["stopped_v"], volts(&document, &stopped, bus));
            let all = running.iter().map(|it| volts(&document, it, bus));
            near(&line["running_v"], all.fold(f64::INFINITY, f64::min));
        }
        // Off takes the field and nothing else, on brings it back, and so does its breaker.
        let sound = Cockpit::in_phase(&document, phase, true);
        let now = sound.running(&sound.solve());
        for line in card.rows("reset") {
            let field = texts(&line["field"]);
            let lost = |cockpit: &Cockpit| -> BTreeSet<String> {
                let after = cockpit.running(&cockpit.solve());
                now.difference(&after).cloned().collect()
            };
            let mut off = sound.clone();
            for position in texts(&line["off"]) {
                off.set(&position);
            }
            assert_eq!(lost(&off), field, "{name}");
            for position in texts(&line["on"]) {
                off.set(&position);
            }
            assert_eq!(off.running(&off.solve()), now, "{name}");
            for label in texts(&line["close"]) {
                let mut pulled = sound.clone();
                pulled.state.pulled.push(pulled.key(&label));
                assert_eq!(lost(&pulled), field, "{name}: {label}");
            }
        }
        // Readings after the steps of the other card.
        let mut shed = start.clone();
        for line in in_order(&Card::of(&document, "alternator-out")) {
            shed.take(&line);
        }
        let bus = card.between("Volts of ", " after the steps");
        let (total_min, ..) = shed.runs_down(6_000.0);
        assert!(card.rows("readings").len() >= 5);
        for line in card.rows("readings") {
            let left = line["left_min"].as_f64().expect("minutes");
            let (_, stops, share) = shed.runs_down((total_min - left).max(0.1));
            near(
                &line["volts"],
                volts(&document, &shed.used(share.min(0.999)).solve(), bus),
            );
            if left > 1.0 {
                let stops: BTreeSet<String> = stops.into_iter().map(|it| it.0).collect();
                assert_eq!(texts(&line["stopped"]), stops, "{name}: {line}");
            }
        }
    }
}

#[test]
fn the_smoke_card_gives_what_each_line_says() {
    for document in [sorrel(), teasel()] {
        let name = &document.project.title;
        let card = Card::of(&document, "smoke");
        let phase = card.between("From \u{201c}", "\u{201d}");
        let mut cockpit = Cockpit::in_phase(&document, phase, true);
        assert!(!card.rows("steps").is_empty());
        for line in card.rows("steps") {
            let before = cockpit.clone();
            cockpit.take(line);
            holds(name, line, &before, &cockpit);
        }
        // No other switch, but those that ground a magneto, turns anything more off.
        let runs = cockpit.running(&cockpit.solve());
        for (key, element) in elements(&document) {
            let ElementKind::Switch(switch) = &element.is else {
                continue;
            };
            for at in 0..switch.positions.len() {
                let mut other = cockpit.clone();
                other.state.switches.insert(key.clone(), at);
                let left = other.running(&other.solve());
                assert!(
                    runs.is_subset(&left),
                    "{name}: {key} to {at} leaves {left:?}"
                );
            }
        }
        cockpit.state.alternators_on = false;
        for line in card.rows("back") {
            let mut back = cockpit.clone();
            back.take(line);
            assert!(!texts(&line["starts"]).is_empty(), "{name}: {line}");
            holds(name, line, &cockpit, &back);
        }
        assert!(card.rows("back").len() >= 2);
    }
}

#[test]
fn the_card_of_what_stays_live_gives_what_each_line_says() {
    for (document, fuses) in [(sorrel(), 3), (teasel(), 0)] {
        let name = &document.project.title;
        let card = Card::of(&document, "stays-live");
        let phase = Card::of(&document, "smoke");
        let phase = phase.between("From \u{201c}", "\u{201d}");
        let mut cockpit = Cockpit::in_phase(&document, phase, true);
        for position in card
            .between("every breaker pulled, and ", ":\n")
            .split(", ")
        {
            cockpit.set(position);
        }
        for (key, element) in elements(&document) {
            if matches!(&element.is, ElementKind::Protector(it) if it.style == ProtectorStyle::Breaker)
            {
                cockpit.state.pulled.push(key);
            }
        }
        let point = cockpit.solve();
        let rows = card.rows("circuits");
        let all = |field: &str| -> BTreeSet<String> {
            rows.iter().flat_map(|it| texts(&it[field])).collect()
        };
        assert_eq!(all("live"), cockpit.live(&point), "{name}");
        assert_eq!(all("runs"), cockpit.running(&point), "{name}");
        let of_fuses: Vec<_> = rows.iter().filter(|it| it["fuse"] != "none").collect();
        assert_eq!(of_fuses.len(), fuses, "{name}");
        let mut bare = cockpit.clone();
        for line in of_fuses {
            bare.state
                .pulled
                .push(bare.key(line["fuse"].as_str().expect("a fuse")));
            let point = bare.solve();
            let live = bare.live(&point);
            assert!(texts(&line["live"]).is_disjoint(&live), "{name}: {line}");
            assert!(
                texts(&line["runs"]).is_disjoint(&bare.running(&point)),
                "{name}: {line}"
            );
        }
        // What no fuse is named for stays live with every one of them out, wherever any switch is.
        let none = rows
            .iter()
            .find(|it| it["fuse"] == "none")
            .expect("the battery");
        for (key, element) in elements(&document) {
            let ElementKind::Switch(switch) = &element.is else {
                continue;
            };
            for at in 0..switch.positions.len() {
                let mut other = bare.clone();
                other.state.switches.insert(key.clone(), at);
                let live = other.live(&other.solve());
                let plus = texts(&none["live"]);
                // A switch that pulls a coil in takes the volts off the coil's own wire.
                let dead: Vec<_> = plus
                    .difference(&live)
                    .filter(|it| !it.contains("COIL"))
                    .collect();
                assert!(
                    dead.iter().all(|it| it.ends_with(" 1")),
                    "{name}: {key} to {at}: {dead:?}"
                );
            }
        }
        welded(&document, &card);
    }
}

/// Every contact that stays closed, every switch at rest: what runs on is listed, and no more.
fn welded(document: &Document, card: &Card) {
    let cockpit = Cockpit {
        document: document.clone(),
        state: State::default(),
    };
    let sound = cockpit.running(&cockpit.solve());
    let mut found = 0;
    for (id, device) in &document.devices {
        for (at, element) in device.elements.iter().enumerate() {
            let ElementKind::Contact(contact) = &element.is else {
                continue;
            };
            let mut failed = cockpit.clone();
            let device = failed.document.devices.get_mut(id).expect("the same");
            device.elements[at].is = ElementKind::Mate(Mate {
                a: contact.a.clone(),
                b: contact.b.clone(),
                ohm: None,
                extra: Extra::new(),
            });
            let runs = failed.running(&failed.solve());
            let more: BTreeSet<String> = runs.difference(&sound).cloned().collect();
            let label = cockpit.label(&format!("{id}/{}", element.id));
            let line = card
                .rows("welded")
                .iter()
                .find(|it| it["contact"] == *label);
            let told = line.map_or(BTreeSet::new(), |it| texts(&it["runs"]));
            // A starter has no continuous current: it is asked for what it takes when it turns.
            let told: BTreeSet<String> = told.into_iter().filter(|it| it != "M1").collect();
            assert_eq!(told, more, "{label}");
            found += usize::from(!more.is_empty());
        }
    }
    assert!(found > 0);
}

/// The cards of an aircraft with nothing drawn say that, and do not fail.
#[test]
fn an_empty_project_has_cards_that_say_so() {
    let document = Document::default();
    for name in ["alternator-out", "low-volts", "smoke", "stays-live"] {
        let card = Card::of(&document, name);
        assert!(card.text.contains("Local regulation"), "{name}");
    }
}
