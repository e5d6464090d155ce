//! Jack cards: for each jack the hole, the order of washers and nut, what goes to each lug, and the ohms from the barrel
//! to the panel before and after wiring.

mod section;

use super::{Cell, Paper, PaperInput, Part, Table, harness::Ends, mark::Mark};
use crate::{
    analysis::ring_out::RingOut,
    document::{
        Device, Document, ElementKind, End, Jack, JackUse, Place, Reading, Terminal, Test,
        natural_cmp,
    },
    ids::{DeviceId, PlaceId, TerminalId},
    order::InOrder,
    rules::records::reading::{Outcome, judge, judge_barrel},
    units::fixed,
};

/// Hole for the shoulder of the usual insulating washer, mm: 7/16 in (common practice, no source). A kit's own figure
/// comes first.
const HOLE_MM: f64 = 7.0 / 16.0 * MM_PER_IN;
const MM_PER_IN: f64 = 25.4;
/// Diameters of plugs, mm: 1/4 in for phones, 0.206 in for a microphone (common practice, no source).
const PHONES_PLUG_MM: f64 = 6.35;
const MIC_PLUG_MM: f64 = 5.23;

/// What goes on the bushing, from behind the panel to the front; the numbers are those of the drawing.
const ORDER: [(&str, &str); 6] = [
    ("jack", "behind the panel, lugs where an iron reaches them"),
    (
        "insulating shoulder washer",
        "from behind, its shoulder in the hole: no thread may touch the edge",
    ),
    ("panel", "hole deburred on both sides, no swarf"),
    (
        "insulating flat washer",
        "on the front, as wide as the shoulder washer",
    ),
    (
        "metal washer",
        "if the kit has one: so that the nut does not turn on the insulation",
    ),
    (
        "nut",
        "hold the jack and turn the nut; too tight cracks the shoulder",
    ),
];

/// A jack and what it is mounted in.
struct Mounted<'d> {
    id: &'d DeviceId,
    device: &'d Device,
    jack: &'d Jack,
    panel: Option<(&'d PlaceId, &'d Place)>,
}

/// The paper.
pub fn paper(asked: &PaperInput<'_>) -> Paper {
    let document = asked.document;
    let mut paper = Paper::new("jacks", "Jack cards", document);
    let jacks = in_order(document);
    if jacks.is_empty() {
        paper.text("No jack is drawn.");
        return paper;
    }
    paper.text(
        "One card for each jack: drill, mount, measure, solder, measure again. Hole, washers and their order are common \
         practice, no source; the sheet that comes with jack and washers comes first.",
    );
    paper.caution(
        "Measure from barrel to panel before you solder and again after, with every connector on the jack\u{2019}s \
         wires unplugged. A barrel that touches the panel grounds the audio low there: alternator whine in every \
         headset, found only after the panel is closed.",
    );
    paper.parts.push(Part::Drawing {
        svg: section::svg(),
        told: "a jack in its panel, cut open: the order of washers and nut".into(),
    });
    paper.table(order());
    paper.table(list(document, &jacks));
    paper.heading("Solder");
    paper.text(
        "Lugs differ from maker to maker: put a plug in, find with a meter which lug goes to the plug\u{2019}s tip, ring \
         and sleeve, and check the box. Slide the label sleeve and a clear sleeve on the wire before you solder; push the \
         clear sleeve over the whole lug when it is cold. Clear, so that label and joint can be read and inspected. \
         Leave the plug in while you solder: it holds the springs in line if the insulation softens.",
    );
    paper.parts.push(Part::Page);
    let ends = Ends::new(document);
    let sheet = RingOut::new(document);
    for it in &jacks {
        paper.table(lugs(document, &ends, it));
        paper.table(ohms(document, &sheet, it));
    }
    paper
}

/// Every jack, by tag.
fn in_order(document: &Document) -> Vec<Mounted<'_>> {
    let mut all = Vec::new();
    for (id, device) in &document.devices {
        let place = device.place.as_ref();
        let panel = place.and_then(|it| document.places.get_key_value(it));
        for element in &device.elements {
            if let ElementKind::Jack(jack) = &element.is {
                all.push(Mounted {
                    id,
                    device,
                    jack,
                    panel,
                });
            }
        }
    }
    all.order_by(|a, b| natural_cmp(&a.device.tag, &b.device.tag).then_with(|| a.id.cmp(b.id)));
    all
}

impl Mounted<'_> {
    fn title(&self) -> String {
        match self.device.title.as_str() {
            "" => self.device.tag.clone(),
            title => format!("{}, {title}", self.device.tag),
        }
    }

    fn washers(&self) -> &'static str {
        let is_metal = self.panel.and_then(|(_, it)| it.conductive);
        match (self.jack.isolated, is_metal) {
            (Some(true), _) => "insulating",
            (_, Some(false)) => "plain: the panel is not metal",
            (Some(false), Some(true)) => "none drawn: the barrel touches the panel",
            (Some(false), None) => "none drawn; panel: metal or not is not set",
            (None, _) => "not set",
        }
    }

    /// True if its barrel is drawn apart from the metal of the panel: by washers, or because there is no metal.
    fn is_apart(&self) -> bool {
        let is_metal = self.panel.and_then(|(_, it)| it.conductive);
        self.jack.isolated == Some(true) || is_metal == Some(false)
    }

    /// The hole, mm, and where the figure comes from.
    fn hole(&self) -> (Option<f64>, &'static str) {
        let is_metal = self.panel.and_then(|(_, it)| it.conductive);
        match (self.jack.hole_mm, self.jack.isolated, is_metal) {
            (Some(mm), ..) => (Some(mm), "the kit"),
            (None, Some(true), _) => (Some(HOLE_MM), "common practice, 7/16 in"),
            _ => (None, "maker\u{2019}s sheet"),
        }
    }

    /// Barrel and panel, as ends of a reading.
    fn ends(&self) -> Option<(End, End)> {
        let barrel = End::Terminal(self.id.clone(), self.jack.sleeve.clone());
        Some((barrel, End::Structure(self.panel?.0.clone())))
    }
}

/// What goes on the bushing, in order.
fn order() -> Table {
    let columns = &[
        ("step", "No.", ""),
        ("part", "Part", ""),
        ("how", "How", ""),
    ];
    let mut table = Table::new("jack_order", "From behind the panel to the front", columns);
    for (at, (part, how)) in ORDER.iter().enumerate() {
        let step = Cell::text((at + 1).to_string());
        table
            .rows
            .push(vec![step, Cell::text(*part), Cell::text(*how)]);
    }
    table
}

/// A row for each jack: what to drill and how it is mounted.
fn list(document: &Document, jacks: &[Mounted<'_>]) -> Table {
    let columns = &[
        ("jack", "Jack", ""),
        ("used_for", "Use", ""),
        ("plug_mm", "Plug", "mm"),
        ("panel", "Panel", ""),
        ("washers", "Washers", ""),
        ("hole_mm", "Hole", "mm"),
        ("hole_in", "Hole", "in"),
        ("hole_from", "Figure from", ""),
    ];
    let mut table = Table::new("jacks", "Jacks", columns);
    for it in jacks {
        let (used_for, plug_mm) = match it.jack.used_for {
            JackUse::Phones => ("phones", Some(PHONES_PLUG_MM)),
            JackUse::Mic => ("microphone", Some(MIC_PLUG_MM)),
            JackUse::Other => ("other", None),
        };
        let panel = match it.panel {
            None => "place not set".into(),
            Some((_, place)) => match place.conductive {
                Some(true) => format!("{}, metal", place.title),
                Some(false) => format!("{}, not metal", place.title),
                None => format!("{}, metal or not: not set", place.title),
            },
        };
        let (hole_mm, from) = it.hole();
        table.rows.push(vec![
            Cell::text(document.record_label("device", it.id.as_str())),
            Cell::text(used_for),
            Cell::number(plug_mm, 2),
            Cell::text(panel),
            Cell::text(it.washers()),
            Cell::number(hole_mm, 1),
            Cell::text(hole_mm.map_or(String::new(), inches)),
            Cell::text(from),
        ]);
    }
    table
}

/// A length in inches: as sixteenths where it is one, else with three decimals.
fn inches(mm: f64) -> String {
    let sixteenths = mm / MM_PER_IN * 16.0;
    let whole = sixteenths.round();
    if (sixteenths - whole).abs() > 0.02 || !(1.0..16.0).contains(&whole) {
        return fixed(mm / MM_PER_IN, 3);
    }
    let (mut over, mut under) = (whole as u32, 16);
    while over % 2 == 0 {
        (over, under) = (over / 2, under / 2);
    }
    format!("{over}/{under}")
}

/// A row for each wire of each lug.
fn lugs(document: &Document, ends: &Ends<'_>, it: &Mounted<'_>) -> Table {
    let columns = &[
        ("jack", "Jack", ""),
        ("lug", "Lug", ""),
        ("found", "Found", ""),
        ("carries", "Carries", ""),
        ("wire", "Wire", ""),
        ("colour", "Color", ""),
        ("goes_to", "Goes to", ""),
        ("sleeve", "Slide on first", ""),
        ("soldered", "Soldered", ""),
    ];
    let mut table = Table::new("jack_lugs", it.title(), columns).grouped();
    let all: [(&str, Option<&TerminalId>); 3] = [
        ("tip", it.jack.tip.as_ref()),
        ("ring", it.jack.ring.as_ref()),
        ("sleeve and barrel", Some(&it.jack.sleeve)),
    ];
    for (lug, id) in all {
        let Some(terminal) = id.and_then(|id| it.device.terminal(id)) else {
            continue;
        };
        let end = End::Terminal(it.id.clone(), terminal.id.clone());
        let box_ = || Cell::Tick {
            done: false,
            key: String::new(),
        };
        let mut put = |wire: String, colour: &str, to: String, sleeve: &str, soldered: Cell| {
            table.rows.push(vec![
                Cell::text(it.title()),
                Cell::text(lug),
                box_(),
                Cell::text(carries(terminal)),
                Cell::text(wire),
                Cell::text(colour),
                Cell::text(to),
                Cell::text(sleeve),
                soldered,
            ]);
        };
        for (wire_id, wire, far) in ends.at(&end) {
            put(
                document.wire_label(wire_id),
                &wire.colour,
                document.end_label(far),
                "label, clear sleeve",
                box_(),
            );
        }
        for label in ends.shields_at(&end) {
            let shield = format!("shield of {label}");
            put(shield, "", String::new(), "solder sleeve", box_());
        }
        if !ends.is_used(&end) {
            let what = match terminal.covered {
                true => "not wired: cover it with sleeve",
                false => "not wired",
            };
            put(what.into(), "", String::new(), "", Cell::Empty);
        }
    }
    table
}

fn carries(terminal: &Terminal) -> String {
    match terminal.name.as_str() {
        "" => terminal.role.words().into(),
        name => name.into(),
    }
}

/// The two readings from barrel to panel.
fn ohms(document: &Document, sheet: &RingOut, it: &Mounted<'_>) -> Table {
    let columns = &[
        ("jack", "Jack", ""),
        ("when", "Barrel to panel", ""),
        ("expected", "Expected", ""),
        ("read", "Read", "ohm"),
        ("result", "Result", ""),
        ("by", "By", ""),
    ];
    let mut table = Table::new("jack_ohms", format!("{}: ohms", it.title()), columns).grouped();
    let expected = if it.is_apart() { "open" } else { "not set" };
    let group = table.title.clone();
    let Some((barrel, panel)) = it.ends() else {
        let row = ["", "place not set", "", "", ""];
        let mut cells = vec![Cell::text(group)];
        cells.extend(row.map(Cell::text));
        table.rows.push(cells);
        return table;
    };
    let is_between = |reading: &&Reading| {
        let ends = (&reading.from, &reading.to);
        reading.test == Test::Isolation
            && reading.position.is_none()
            && (ends == (&barrel, &panel) || ends == (&panel, &barrel))
    };
    let readings = || document.readings.values().filter(is_between);
    let lines = [
        (
            "mounted, no wire soldered",
            readings().find(|it| it.before_wiring),
            Mark::BeforeWiring(barrel.clone(), panel.clone()),
        ),
        (
            "wired, connectors unplugged",
            readings().find(|it| !it.before_wiring),
            Mark::Read(Test::Isolation, barrel.clone(), panel.clone(), None),
        ),
    ];
    for (when, reading, mark) in lines {
        let judged = reading.map(|reading| match sheet.line_of(reading) {
            Some(line) => judge(line, reading),
            None => it.panel.map_or(Outcome::Unknown, |(_, panel)| {
                judge_barrel(it.jack, panel, reading)
            }),
        });
        let result = match judged {
            None => String::new(),
            Some(Outcome::Right) => "pass".into(),
            Some(Outcome::Wrong(why)) => format!("FAIL: {why}"),
            Some(Outcome::Unknown) => "not judged".into(),
        };
        table.rows.push(vec![
            Cell::text(&*group),
            Cell::text(when),
            Cell::text(expected),
            Cell::Entry {
                value: reading.map_or(String::new(), Reading::shown),
                key: mark.key(),
            },
            Cell::text(result),
            Cell::text(reading.map_or(String::new(), |it| format!("{} {}", it.who, it.date))),
        ]);
    }
    table
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{
        edit::{put_before_wiring, put_reading},
        testing::{asked, document},
    };

    const SEAT: &str = "
        place PANEL metal
        place PLATE metal
        place POD composite
        unit IC1 J112-1:audio_high J112-2:audio_low at=PANEL
        jack JK5 phones isolated at=PLATE
        jack JK6 mic unsaid at=PLATE
        jack JK7 phones bare at=POD
        wire A1 IC1.J112-1 JK5.tip 22 2.6m
        wire A2 IC1.J112-2 JK5.sleeve 22 2.6m
        covered JK5.ring";

    fn rows(paper: &Paper, name: &str) -> Vec<Vec<String>> {
        let tables = paper.tables().filter(|it| it.name == name);
        let rows = tables.flat_map(|it| &it.rows);
        rows.map(|row| row.iter().map(Cell::show).collect())
            .collect()
    }

    #[test]
    fn the_hole_is_that_of_the_kit_else_seven_sixteenths_and_never_a_guess_without_washers() {
        let mut document = document(SEAT);
        let told = |document: &Document| -> Vec<[String; 4]> {
            let rows = rows(&paper(&asked(document)), "jacks");
            let pick = |row: &Vec<String>| [0, 5, 6, 7].map(|at| row[at].clone());
            rows.iter().map(pick).collect()
        };
        let common = "common practice, 7/16 in";
        assert_eq!(told(&document)[0], ["JK5", "11.1", "7/16", common]);
        assert_eq!(told(&document)[1], ["JK6", "", "", "maker\u{2019}s sheet"]);
        assert_eq!(told(&document)[2], ["JK7", "", "", "maker\u{2019}s sheet"]);
        let device = document.devices.get_mut("JK5").expect("it");
        if let ElementKind::Jack(jack) = &mut device.elements[0].is {
            jack.hole_mm = Some(12.7);
        }
        assert_eq!(told(&document)[0], ["JK5", "12.7", "1/2", "the kit"]);
    }

    #[test]
    fn each_lug_has_its_wire_and_sleeves_are_slid_on_first() {
        let rows = rows(&paper(&asked(&document(SEAT))), "jack_lugs");
        let of = |jack: &str, lug: &str| {
            let found = rows
                .iter()
                .find(|it| it[0].starts_with(jack) && it[1] == lug);
            found
                .unwrap_or_else(|| panic!("no {lug} of {jack}"))
                .clone()
        };
        let tip = of("JK5", "tip");
        assert_eq!(
            tip[4..8],
            ["A1", "white", "IC1 J112-1", "label, clear sleeve"]
        );
        assert_eq!(of("JK5", "ring")[4], "not wired: cover it with sleeve");
        assert_eq!(of("JK5", "sleeve and barrel")[4], "A2");
        assert_eq!(of("JK6", "tip")[3], "key line");
        assert_eq!(of("JK6", "tip")[4], "not wired");
    }

    #[test]
    fn ohms_before_and_after_are_two_readings_with_a_verdict_each() {
        let mut document = document(SEAT);
        let (barrel, panel) = (
            End::terminal("JK5", "sleeve"),
            End::Structure("PLATE".into()),
        );
        let before = put_before_wiring(&document, (&barrel, &panel), "open", "ME", "2026-03-01");
        before.expect("a reading").apply(&mut document).expect("it");
        let key = (Test::Isolation, &barrel, &panel, None);
        let after = put_reading(&document, key, "0.4", "ME", "2026-03-02").expect("a reading");
        after.apply(&mut document).expect("it");
        let rows = rows(&paper(&asked(&document)), "jack_ohms");
        assert_eq!(rows[0][2..5], ["open", "open", "pass"]);
        assert!(rows[1][4].starts_with("FAIL: 0.4 ohm"), "{rows:?}");
        assert_eq!(rows[2][2], "not set");
    }

    #[test]
    fn inches_are_sixteenths_where_they_are() {
        for (mm, told) in [
            (HOLE_MM, "7/16"),
            (9.525, "3/8"),
            (12.7, "1/2"),
            (10.0, "0.394"),
            (25.4, "1.000"),
        ] {
            assert_eq!(inches(mm), told);
        }
    }
}
