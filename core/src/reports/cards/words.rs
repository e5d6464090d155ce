//! What all cards share: movements and loads in the words of the panel, and the card to cut out.

use crate::{
    analysis::{
        endurance::whole_min,
        pilot::{Act, Step},
    },
    document::{Device, Document, Element, ElementKind, End},
    ids::DeviceId,
    netlist::Netlist,
    reports::{
        Cell, Paper, Part, Table,
        harness::position,
        schedule::{Protected, circuit_name, protectors},
    },
};

/// Said on every card.
pub(super) const FIRST: &str = "Fly the aircraft first. The aircraft\u{2019}s handbook and the makers\u{2019} manuals \
    come before this card. Practice it on the ground, and measure the minutes there before you rely on them: all of it \
    is computed from the drawing.";

/// The columns of steps.
pub(super) const STEPS: &[(&str, &str, &str)] = &[
    ("step", "Step", ""),
    ("do", "Do", ""),
    ("positions", "Switch", ""),
    ("off", "Off at the unit", ""),
    ("pull", "Pull", ""),
    ("minutes", "Then lasts", "min"),
    ("gain_min", "Gain", "min"),
    ("battery_a", "Battery gives", "A"),
    ("stops", "Stops", ""),
    ("starts", "Starts", ""),
    ("early", "Stops by itself", ""),
    ("live", "Live buses", ""),
    ("runs", "Runs on", ""),
];

/// Names of a document's parts on its panel.
pub(super) struct Words<'d> {
    document: &'d Document,
    /// Breakers and fuses: key, and the function on the placard.
    circuits: Vec<(String, String)>,
}

impl<'d> Words<'d> {
    pub fn new(document: &'d Document) -> Self {
        let netlist = Netlist::new(document);
        let all = protectors(document, &netlist);
        let circuit = |it: &Protected<'_>| {
            let key = format!("{}/{}", it.device, it.element);
            (key, circuit_name(document, it).to_uppercase())
        };
        Self {
            document,
            circuits: all.iter().map(circuit).collect(),
        }
    }

    /// A movement as the panel says it: "ESSENTIAL BUS ALTERNATE FEED ON".
    pub fn act(&self, act: &Act) -> String {
        match act {
            Act::Switch(key, at) => {
                let place = self.document.element_at(key).and_then(|(_, _, element)| {
                    let ElementKind::Switch(it) = &element.is else {
                        return None;
                    };
                    Some(it.positions.get(*at)?.label.to_uppercase())
                });
                format!("{} {}", self.switch(key), place.unwrap_or_default())
            }
            Act::Off(key) => format!("{} off at the unit", self.load(key)),
            Act::Pull(key) => format!("Pull breaker {}", self.circuit(key)),
        }
    }

    /// A switch as the panel says it: its legend.
    pub fn switch(&self, key: &str) -> String {
        let found = self.document.element_at(key);
        found.map_or_else(
            || key.to_owned(),
            |(id, device, element)| legend(self.document, id, device, element),
        )
    }

    /// A breaker or fuse by its placard.
    pub fn circuit(&self, key: &str) -> String {
        let found = self.circuits.iter().find(|it| it.0 == key);
        found.map_or_else(|| self.tag(key), |it| it.1.clone())
    }

    /// A load by its name, without what follows a comma: "Com radio".
    pub fn load(&self, key: &str) -> String {
        let Some((_, device, element)) = self.document.element_at(key) else {
            return key.to_owned();
        };
        let title = short(&device.title);
        let mut elements = device.elements.iter();
        match title {
            "" => device.element_label(element),
            title if elements.any(|it| matches!(it.is, ElementKind::Alternator(_))) => {
                format!("{title} field")
            }
            title => title.into(),
        }
    }

    /// Loads by name, each name once, with commas.
    pub fn loads(&self, keys: &[String]) -> String {
        once(keys.iter().map(|it| self.load(it)))
    }

    /// The devices of some ends by name, each name once, with commas.
    pub fn devices(&self, ends: &[End]) -> String {
        once(ends.iter().filter_map(|end| {
            let device = self.document.devices.get(end.device()?)?;
            Some(match short(&device.title) {
                "" => device.tag.clone(),
                title => title.into(),
            })
        }))
    }

    /// The tag of an element: "EBUS CB22".
    pub fn tag(&self, key: &str) -> String {
        self.document.record_label("element", key)
    }

    /// Tags of elements, as a list.
    pub fn tags(&self, keys: &[String]) -> Cell {
        Cell::List(keys.iter().map(|it| self.tag(it)).collect())
    }

    /// A step as a row of [`STEPS`]: its number, and the minutes before it.
    pub fn row(&self, number: usize, step: &Step, before: Option<f64>) -> Vec<Cell> {
        let none = || Cell::List(Vec::new());
        let (mut positions, mut off, mut pull) = (none(), none(), none());
        match &step.act {
            Some(Act::Switch(key, at)) => {
                positions = Cell::List(vec![position(self.document, key, *at)]);
            }
            Some(Act::Off(key)) => off = self.tags(std::slice::from_ref(key)),
            Some(Act::Pull(key)) => pull = self.tags(std::slice::from_ref(key)),
            None => {}
        }
        let gain = step
            .minutes
            .zip(before)
            .map(|(now, was)| whole_min(now) - whole_min(was));
        let early = step
            .early
            .iter()
            .map(|(key, minutes)| format!("{} after {} min", self.tag(key), whole_min(*minutes)));
        vec![
            Cell::text(number.to_string()),
            Cell::text(
                step.act
                    .as_ref()
                    .map_or("Nothing done".into(), |it| self.act(it)),
            ),
            positions,
            off,
            pull,
            match step.lasts_on {
                true => Cell::text("over 6,000"),
                false => Cell::number(step.minutes.map(whole_min), 0),
            },
            Cell::number(gain, 0),
            Cell::number(step.battery_a, 1),
            self.tags(&step.lost),
            self.tags(&step.gained),
            Cell::List(early.collect()),
            Cell::List(step.live.clone()),
            self.tags(&step.runs),
        ]
    }

    /// A step as a line of the card to cut out; none if nothing is done.
    pub fn line(&self, step: &Step) -> Option<[String; 2]> {
        Some([self.act(step.act.as_ref()?), self.outcome(step)])
    }

    /// What a step comes to.
    pub fn outcome(&self, step: &Step) -> String {
        let mut parts = Vec::new();
        if let Some(minutes) = step.minutes {
            parts.push(format!("{} min", whole_min(minutes)));
        }
        if step.lasts_on {
            parts.push("over 100 h".into());
        }
        if !step.lost.is_empty() {
            parts.push(format!("stops {}", self.loads(&step.lost)));
        }
        if !step.gained.is_empty() {
            parts.push(format!("starts {}", self.loads(&step.gained)));
        }
        for (key, minutes) in &step.early {
            parts.push(format!(
                "{} stops after {} min",
                self.load(key),
                whole_min(*minutes)
            ));
        }
        parts.join("; ")
    }
}

/// A title without what follows a comma.
fn short(title: &str) -> &str {
    title.split(',').next().unwrap_or_default().trim()
}

fn once(all: impl Iterator<Item = String>) -> String {
    let mut names: Vec<String> = Vec::new();
    for name in all {
        if !names.contains(&name) {
            names.push(name);
        }
    }
    names.join(", ")
}

/// The legend of a switch: its device's title without the word for its kind, or the function of a wire on it.
pub fn legend(document: &Document, id: &DeviceId, device: &Device, element: &Element) -> String {
    let on_it = |end: &End| end.device() == Some(id);
    let title = match device.title.as_str() {
        "" => {
            let mut wires = document.wires.values();
            let wire =
                wires.find(|it| !it.function.is_empty() && (on_it(&it.from) || on_it(&it.to)));
            wire.map_or(device.tag.clone(), |it| it.function.clone())
        }
        title => title.into(),
    };
    let title = title.to_uppercase();
    let short = ["SWITCH", "BUTTON"]
        .iter()
        .find_map(|it| title.strip_suffix(it));
    let short = short
        .map(str::trim)
        .filter(|it| !it.is_empty())
        .unwrap_or(&title);
    match element.label.is_empty() {
        true => short.into(),
        false => format!("{short} {}", element.label.to_uppercase()),
    }
}

/// The card to cut out: what to do, and what comes of it.
pub(super) fn cut_out(paper: &mut Paper, title: &str, lines: Vec<[String; 2]>, foot: Vec<String>) {
    let columns = &[("do", "Do", ""), ("then", "Then", "")];
    let mut table = Table::new("card", title, columns);
    let row = |line: [String; 2]| line.map(Cell::text).to_vec();
    table.rows = lines.into_iter().map(row).collect();
    let mut parts = vec![Part::Heading(title.into()), Part::Table(table)];
    parts.extend(foot.into_iter().filter(|it| !it.is_empty()).map(Part::Text));
    parts.push(Part::Text(format!(
        "{}. Computed, an aid only.",
        paper.aircraft
    )));
    paper.text("To cut out, 5 in (127 mm) wide. Print at 100 %.");
    paper.parts.push(Part::Card(parts));
}
