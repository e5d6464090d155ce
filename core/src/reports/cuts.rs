//! The cut list and build sheet: the wires of each harness in the order to build them, with length, both ends, and a
//! check box for each step; shields and twists at their cable; contacts, strip lengths and tools.

use super::{
    Cell, Paper, PaperInput, Table,
    harness::harness,
    harness::in_order,
    mark::Mark,
    terminations::{self, Termination, cut_m, slid_on_first, spares_m},
};
use crate::order::InOrder;
use crate::{
    document::{
        BuildStatus, Cable, CableKind, CableStep, Document, End, ShieldEnd, Wire, natural_cmp,
    },
    ids::{CableId, WireId},
    order::Map,
};

/// The build steps of a wire, and their headings.
const STEPS: [(BuildStatus, &str, &str); 6] = [
    (BuildStatus::Cut, "cut", "Cut"),
    (BuildStatus::Marked, "marked", "Marked"),
    (BuildStatus::EndA, "end_a", "End A"),
    (BuildStatus::EndB, "end_b", "End B"),
    (BuildStatus::Routed, "routed", "Routed"),
    (BuildStatus::Tested, "tested", "Tested"),
];

const COLUMNS: &[(&str, &str, &str)] = &[
    ("harness", "Harness", ""),
    ("number", "Wire", ""),
    ("gauge_awg", "Gauge", "AWG"),
    ("colour", "Color", ""),
    ("length_m", "Length", "m"),
    ("spare_m", "Spare", "m"),
    ("cut_m", "Cut to", "m"),
    ("from", "End A", ""),
    ("make_a", "Lug or joint A", ""),
    ("strip_a_mm", "Strip A", "mm"),
    ("to", "End B", ""),
    ("make_b", "Lug or joint B", ""),
    ("strip_b_mm", "Strip B", "mm"),
    ("first", "Slide on first", ""),
    ("cable", "Cable", ""),
    ("origin", "Origin", ""),
    ("twisted", "Twisted", ""),
];

/// Said where only the maker of a part knows.
pub const MAKER: &str = "maker\u{2019}s sheet";

/// The paper.
pub fn paper(asked: &PaperInput<'_>) -> Paper {
    let document = asked.document;
    let mut paper = Paper::new("cuts", "Cut list and build sheet", document);
    let spare = match document.project.service_loop_m {
        Some(set) => format!(
            "{} at each end of every wire, as the project sets it",
            document.project.length(set, 2)
        ),
        None => "by gauge and termination".into(),
    };
    paper.text(format!(
        "Measure each route with a string before you cut its first wire. Cables come first within a harness, then the \
         longest wires. \u{201c}Cut to\u{201d} is the drawn length plus spare for two new terminations at each end \
         ({spare}; AC 43.13-1B par 11-118 requires two, the lengths are common practice, no source)."
    ));
    paper.text(
        "Slide on first: what does not pass over the lug afterwards. A is the left end of the row, B the right one. Use \
         clear sleeve over joint and label, so that both can be read.",
    );
    if document.cables.values().any(is_twisted_here) {
        paper.text(
            "Twisted: twist before you cut, since twisting shortens the wires, about one turn every 25 to 50 mm (1 to 2 \
             in) unless the manual says otherwise (common practice, no source).",
        );
    }
    paper.caution(
        "Do not cut a wire whose length is empty: measure the route and enter the length first. Thermocouple wire is \
         joined only with parts of its own alloy: a copper splice, ring or contact falsifies the reading.",
    );
    paper.table_with_origins(table(document));
    paper.heading("Contacts, strip lengths and tools");
    paper.text(
        "Make a test crimp with each tool and setting, on the wire of the job, and pull it, before the first good one. \
         Limits of the pull are in the maker\u{2019}s sheet.",
    );
    paper.table(crimps(document));
    paper
}

/// True if the builder twists its wires.
fn is_twisted_here(cable: &Cable) -> bool {
    cable.kind == CableKind::Twisted
}

/// The rows, by harness: the wires, and after those of a cable its shield.
pub fn table(document: &Document) -> Table {
    let mut cables: Map<&WireId, (&CableId, &Cable)> = Map::new();
    for (id, cable) in &document.cables {
        for wire in &cable.wires {
            cables.insert(wire, (id, cable));
        }
    }
    let mut wires: Vec<(String, &WireId, &Wire)> = (in_order(document).into_iter())
        .map(|(id, wire)| (harness(document, wire), id, wire))
        .collect();
    let cable_of = |id: &WireId| cables.get(id).map_or("", |(_, cable)| &cable.label);
    wires.order_by(|a, b| {
        let by_cable = match (cable_of(a.1), cable_of(b.1)) {
            ("", "") => length(document, b.2).total_cmp(&length(document, a.2)),
            ("", _) => std::cmp::Ordering::Greater,
            (_, "") => std::cmp::Ordering::Less,
            (a, b) => natural_cmp(a, b),
        };
        natural_cmp(&a.0, &b.0).then(by_cable)
    });
    let mut columns = COLUMNS.to_vec();
    columns.extend(STEPS.iter().map(|&(_, key, title)| (key, title, "")));
    let mut table = Table::new("cuts", "Cut list", &columns)
        .grouped()
        .lengths_as_in(document);
    let mut made: Vec<&CableId> = Vec::new();
    let mut next = wires.iter().peekable();
    while let Some((harness, id, wire)) = next.next() {
        let cable = cables.get(id);
        table
            .rows
            .push(wire_row(document, harness, (id, wire), cable_of(id)));
        // After the last wire of a cable, in this harness.
        let following = next.peek().and_then(|(_, id, _)| cables.get(id));
        if let Some((id, cable)) = cable
            && following.is_none_or(|(other, _)| other != id)
            && !made.contains(id)
        {
            made.push(id);
            table.rows.extend(cable_row(document, harness, (id, cable)));
        }
    }
    table.without_empty("origin").without_empty("twisted")
}

fn wire_row(
    document: &Document,
    harness: &str,
    (id, wire): (&WireId, &Wire),
    cable: &str,
) -> Vec<Cell> {
    let make = |end| Cell::text(Termination::of(document, wire, end).words());
    let strip = |end| {
        let connector = terminations::connector(document, end);
        Cell::number(connector.and_then(|it| it.strip_mm), 1)
    };
    let mut row = vec![
        Cell::text(harness),
        Cell::text(document.wire_label(id)),
        Cell::text(wire.gauge_text()),
        Cell::text(&wire.colour),
        Cell::length(document, document.wire_length_m(wire), 2),
        Cell::length(document, spares_m(document, wire), 2),
        Cell::length(document, cut_m(document, wire), 2),
        Cell::text(document.end_label(&wire.from)),
        make(&wire.from),
        strip(&wire.from),
        Cell::text(document.end_label(&wire.to)),
        make(&wire.to),
        strip(&wire.to),
        Cell::text(first(document, wire)),
        Cell::text(cable),
        Cell::text(document.origins_of(wire, false)),
        Cell::Empty,
    ];
    row.extend(STEPS.iter().map(|(step, ..)| Cell::Tick {
        done: wire.status >= *step,
        key: Mark::Step(id.clone(), *step).key(),
    }));
    row
}

/// "label", "label; A: boot; B: clear sleeve".
fn first(document: &Document, wire: &Wire) -> String {
    let [a, b] = [&wire.from, &wire.to].map(|end| slid_on_first(document, wire, end));
    let both: Vec<&str> = a.iter().copied().filter(|it| b.contains(it)).collect();
    let mut parts = vec![both.join(", ")];
    for (name, all) in [("A", &a), ("B", &b)] {
        let own: Vec<&str> = all
            .iter()
            .copied()
            .filter(|it| !both.contains(it))
            .collect();
        if !own.is_empty() {
            parts.push(format!("{name}: {}", own.join(", ")));
        }
    }
    parts.retain(|it| !it.is_empty());
    parts.join("; ")
}

/// The shield of a cable, or its twist, with a box for each end.
fn cable_row(
    document: &Document,
    harness: &str,
    (id, cable): (&CableId, &Cable),
) -> Option<Vec<Cell>> {
    let twisted = is_twisted_here(cable);
    if cable.shield.is_none() && !twisted {
        return None;
    }
    let tick = |step| Cell::Tick {
        done: cable.done.contains(&step),
        key: Mark::Cable(id.clone(), step).key(),
    };
    let is_coax = cable.kind == CableKind::Coaxial;
    let at = |end: &ShieldEnd| Cell::text(end.at().map_or("-".into(), |at| document.end_label(at)));
    let make = |end: &ShieldEnd| match end {
        ShieldEnd::Tied { .. } if is_coax => "by the coax connector".into(),
        ShieldEnd::Tied { pigtail_mm, .. } => match pigtail_mm {
            Some(mm) => format!("pigtail {mm:.0} mm, solder sleeve"),
            None => "pigtail as short as possible, solder sleeve".into(),
        },
        ShieldEnd::Carried { .. } => "through the pin, solder sleeve".into(),
        ShieldEnd::Floating => "cut back, sleeve over it".into(),
    };
    let of = |what: &str| Cell::text(format!("{what} of {}", cable.label));
    let mut cells = vec![
        ("harness", Cell::text(harness)),
        ("cable", Cell::text(&cable.label)),
    ];
    if twisted {
        cells.push(("twisted", tick(CableStep::Twisted)));
    }
    let Some(shield) = &cable.shield else {
        cells.push(("number", of("twist")));
        return Some(row_of(cells));
    };
    let sleeves = [&shield.from, &shield.to].map(|end| match end {
        ShieldEnd::Floating => "sleeve",
        _ if is_coax => "",
        _ => "solder sleeve",
    });
    let first = match sleeves {
        [a, b] if a == b => a.to_owned(),
        [a, b] => format!("A: {a}; B: {b}"),
    };
    cells.extend([
        ("number", of("shield")),
        ("from", at(&shield.from)),
        ("make_a", Cell::text(make(&shield.from))),
        ("to", at(&shield.to)),
        ("make_b", Cell::text(make(&shield.to))),
        ("first", Cell::text(first)),
        ("end_a", tick(CableStep::ShieldFrom)),
        ("end_b", tick(CableStep::ShieldTo)),
    ]);
    Some(row_of(cells))
}

/// The keys of all columns.
fn keys() -> impl Iterator<Item = &'static str> {
    let steps = STEPS.iter().map(|(_, key, _)| *key);
    COLUMNS.iter().map(|(key, ..)| *key).chain(steps)
}

/// A row with these cells in their columns, the others empty.
fn row_of(cells: Vec<(&str, Cell)>) -> Vec<Cell> {
    let mut row: Vec<Cell> = keys().map(|_| Cell::Empty).collect();
    for (key, cell) in cells {
        if let Some(at) = keys().position(|it| it == key) {
            row[at] = cell;
        }
    }
    row
}

fn length(document: &Document, wire: &Wire) -> f64 {
    document.wire_length_m(wire).unwrap_or(0.0)
}

/// A termination of the table of contacts: its words, contact, strip, tool, setting.
type Crimp = (String, String, String, String, String);

/// A row for each kind of termination: contact, strip length, tool and its setting, where not known the maker's sheet.
pub fn crimps(document: &Document) -> Table {
    let columns = &[
        ("termination", "Termination", ""),
        ("at", "At", ""),
        ("contact", "Contact or terminal", ""),
        ("strip_mm", "Strip", "mm"),
        ("tool", "Tool", ""),
        ("tool_setting", "Setting", ""),
        ("ends", "Ends", ""),
    ];
    let mut all: Map<Crimp, (Vec<String>, usize)> = Map::new();
    for (_, wire) in in_order(document) {
        for end in [&wire.from, &wire.to] {
            let of = Termination::of(document, wire, end);
            if matches!(of, Termination::Open) {
                continue;
            }
            let or_maker = |text: &str| match text {
                "" => MAKER.to_owned(),
                text => text.to_owned(),
            };
            let (mut words, mut at) = (of.words().to_owned(), String::new());
            let mut crimp = [""; 3];
            let mut strip_mm = None;
            if let (Some(connector), End::Terminal(id, _)) =
                (terminations::connector(document, end), end)
            {
                crimp = [
                    &connector.contact_part,
                    &connector.tool,
                    &connector.tool_setting,
                ];
                strip_mm = connector.strip_mm;
                let style = connector.style.split(',').next().unwrap_or_default();
                if !style.is_empty() {
                    words += &format!(" of a {style}");
                }
                at = format!(
                    "{} of {}",
                    connector.label,
                    document.record_label("device", id.as_str())
                );
                if let Some(device) = document.devices.get(id)
                    && device.tag.contains(&connector.label)
                {
                    at.clone_from(&connector.label);
                }
            } else if of == Termination::Coax {
                at = document.end_label(end);
            } else {
                words += &format!(", {}", wire.size());
                let stud = super::order_list::stud_of(document, end);
                words += &stud.map_or(String::new(), |stud| format!(", for {stud}"));
            }
            let strip = match (strip_mm, &of) {
                (Some(mm), _) => mm.to_string(),
                (None, Termination::Solder) => "as long as the lug".into(),
                (None, _) => MAKER.into(),
            };
            let [contact, tool, setting] = match of {
                Termination::Solder => ["solder lug", "soldering iron", "-"].map(str::to_owned),
                _ => crimp.map(or_maker),
            };
            let (places, ends) = all.or_default((words, contact, strip, tool, setting));
            *ends += 1;
            if !at.is_empty() && !places.contains(&at) {
                places.push(at);
            }
        }
    }
    let mut rows: Vec<(&Crimp, &(Vec<String>, usize))> = all.iter().collect();
    rows.order_by(|a, b| natural_cmp(&a.0.0, &b.0.0).then_with(|| a.0.cmp(b.0)));
    let mut table = Table::new("crimps", "Contacts, strip lengths and tools", columns);
    for ((words, contact, strip, tool, setting), (places, ends)) in rows {
        let mut places = places.clone();
        places.order_by(|a, b| natural_cmp(a, b));
        table.rows.push(vec![
            Cell::text(words),
            Cell::text(places.join(", ")),
            Cell::text(contact),
            crate::units::number(strip).map_or_else(|| Cell::text(strip), |mm| Cell::Number(mm, 1)),
            Cell::text(tool),
            Cell::text(setting),
            Cell::Number(*ends as f64, 0),
        ]);
    }
    table
}

/// The status of a wire after a step's box is checked or cleared: that step, or the one before.
pub fn ticked(step: BuildStatus, done: bool) -> BuildStatus {
    let at = BuildStatus::ALL
        .iter()
        .position(|it| *it == step)
        .unwrap_or(0);
    BuildStatus::ALL[if done { at } else { at.saturating_sub(1) }]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::document;

    #[test]
    fn a_wire_is_cut_longer_than_drawn_and_terminated_at_both_ends() {
        let document = document(
            "place PANEL metal
             unit COM1 J105-1:power_in J105-9:return at=PANEL
             ground GB1 STUD T1
             stud GB1.STUD
             tab GB1.T1
             wire W1 COM1.J105-9 GB1.T1 20 0.80m
             wire W2 COM1.J105-1 open 22",
        );
        let rows: Vec<Vec<String>> = (table(&document).rows.iter())
            .map(|row| row.iter().map(Cell::show).collect())
            .collect();
        assert_eq!(rows.len(), 2);
        let w1 = rows.iter().find(|row| row[1] == "W1").expect("W1");
        assert_eq!(
            [&*w1[4], &*w1[6], &*w1[8], &*w1[11]],
            ["0.80", "0.90", "crimp contact", "push-on receptacle"]
        );
        let w2 = rows.iter().find(|row| row[1] == "W2").expect("W2");
        assert_eq!([&*w2[6], &*w2[11]], ["", "not wired: insulate the end"]);
    }

    #[test]
    fn a_checked_box_is_its_step_and_a_cleared_one_the_step_before() {
        for (step, ..) in STEPS {
            assert_eq!(ticked(step, true), step);
            assert!(ticked(step, false) < step);
        }
    }

    /// Rows of a table as text, by the first column after the harness.
    fn told(table: &Table) -> Map<String, Vec<String>> {
        let rows = table.rows.iter();
        let rows = rows.map(|row| row.iter().map(Cell::show).collect::<Vec<_>>());
        rows.map(|row| (row[1].clone(), row)).collect()
    }

    const THICK: &str = "
        battery BT1
        contactor K1 BAT LOAD COIL+ COIL-
        unit XP1 RF:rf SH:shield_tie
        unit AN1 RF:rf
        stud K1.BAT
        wire P1 BT1.+ K1.BAT 2 1m
        wire P2 K1.BAT open 22 1m
        wire P3 K1.LOAD BT1.- 8 1m
        wire R1 XP1.RF AN1.RF 20 1m material=coax";

    /// A thick lug and a coax connector use up more wire than a crimp contact.
    #[test]
    fn spare_is_by_gauge_and_kind_unless_the_project_sets_it() {
        let mut document = document(THICK);
        let spares = |document: &Document| -> [f64; 3] {
            ["P1", "P2", "R1"].map(|id| spares_m(document, &document.wires[id]).expect("it"))
        };
        let [thick, thin, coax] = spares(&document);
        assert!(
            thick > 0.3 && (0.19..0.21).contains(&coax),
            "{thick} {coax}"
        );
        assert!((thin - 0.1).abs() < 1e-9, "{thin}");
        document.wires.get_mut("P2").expect("it").gauge_awg = None;
        assert_eq!(cut_m(&document, &document.wires["P2"]), None);
        document.project.service_loop_m = Some(0.2);
        assert_eq!(spares(&document), [0.4; 3]);
    }

    #[test]
    fn boots_and_sleeves_are_named_before_the_lug() {
        let rows = told(&table(&document(THICK)));
        assert_eq!(rows["P1"][13], "label, boot");
        assert_eq!(rows["P2"][13], "A: label");
        assert_eq!(rows["R1"][13], "label, coax connector");
    }

    const PAIR: &str = "
        unit IC1 J1-1:audio_high J1-2:audio_low J1-3:shield_tie
        jack JK1 phones isolated
        unit U1 1:serial_tx 2:return
        unit U2 1:serial_rx 2:return
        wire A1 IC1.J1-1 JK1.tip 22 1m
        wire A2 IC1.J1-2 JK1.sleeve 22 1m
        wire D1 U1.1 U2.1 22 1m
        wire D2 U1.2 U2.2 22 1m
        cable A A1 A2 shield IC1.J1-3 floating
        cable D D1 D2 kind=twisted";

    #[test]
    fn a_shield_and_a_twist_stand_at_their_cable_with_boxes() {
        let mut document = document(PAIR);
        let of = table(&document);
        let order: Vec<String> = of.rows.iter().map(|row| row[1].show()).collect();
        assert_eq!(order, ["A1", "A2", "shield of A", "D1", "D2", "twist of D"]);
        let row = &of.rows[2];
        assert_eq!(row[7].show(), "IC1 J1-3");
        assert_eq!(row[8].show(), "pigtail as short as possible, solder sleeve");
        assert_eq!(row[11].show(), "cut back, sleeve over it");
        let is_done = |row: &[Cell], at: usize| match &row[at] {
            Cell::Tick { done, key } => Some((*done, Mark::of(key))),
            _ => None,
        };
        let at = |key| of.columns.iter().position(|it| it.key == key).expect("it");
        let (a, b, twisted) = (at("end_a"), at("end_b"), at("twisted"));
        let cable = CableId::new("A");
        let shield = |step| Some((false, Some(Mark::Cable(cable.clone(), step))));
        assert_eq!(is_done(row, a), shield(CableStep::ShieldFrom));
        assert_eq!(is_done(row, b), shield(CableStep::ShieldTo));
        assert!(is_done(row, twisted).is_none());
        assert!(is_done(&of.rows[5], twisted).is_some());
        let it = document.cables.get_mut("A").expect("it");
        it.set_done(CableStep::ShieldTo, true);
        let of = table(&document);
        assert_eq!(is_done(&of.rows[2], b).map(|it| it.0), Some(true));
        assert_eq!(is_done(&of.rows[2], a).map(|it| it.0), Some(false));
    }

    /// Copper in a thermocouple lead falsifies it: no ring, splice or contact of copper is named for one.
    #[test]
    fn thermocouple_wire_is_joined_only_with_thermocouple_parts() {
        let document = document(
            "sensor CHT1 +:thermocouple_plus -:thermocouple_minus
             unit EM1 J104-1:thermocouple_plus J104-2:thermocouple_minus
             mated J1/P1 1 2
             splice SP1
             wire TA CHT1.+ J1.J1-1 24 1m material=k+
             wire TB J1.P1-1 EM1.J104-1 24 1m material=k+
             wire TC CHT1.- SP1 24 1m material=k-
             wire TD SP1 EM1.J104-2 24 1m material=k-",
        );
        let rows = told(&table(&document));
        let (own, joint, manual) = (
            "contact of the wire\u{2019}s own alloy, no copper",
            "joint of the wire\u{2019}s own alloy, no copper",
            "contact as the instrument\u{2019}s manual says",
        );
        for (wire, a, b) in [
            ("TA", joint, own),
            ("TB", own, manual),
            ("TC", joint, joint),
            ("TD", joint, manual),
        ] {
            assert_eq!((&*rows[wire][8], &*rows[wire][11]), (a, b), "{wire}");
        }
        let order = super::super::order_list::table(&document).to_text();
        assert!(
            !order.contains("butt splice") && !order.contains("splice of several"),
            "{order}"
        );
        assert!(
            order.contains("thermocouple contact, type K positive alloy"),
            "{order}"
        );
    }

    #[test]
    fn contacts_strip_and_tool_are_those_of_the_connector_else_the_makers_sheet() {
        let mut document = document(
            "unit COM1 J105-1:power_in J105-9:return
             ground GB1 T1
             tab GB1.T1
             wire W1 COM1.J105-9 GB1.T1 20 0.80m",
        );
        let find = |document: &Document, begins: &str| -> Vec<String> {
            let rows = crimps(document).rows;
            let row = rows.iter().find(|row| row[0].show().starts_with(begins));
            row.expect("it").iter().map(Cell::show).collect()
        };
        let unknown = find(&document, "crimp contact");
        assert_eq!(unknown[1..6], ["J105 of COM1", MAKER, MAKER, MAKER, MAKER]);
        assert_eq!(find(&document, "push-on")[3], MAKER);
        let connector = &mut document.devices.get_mut("COM1").expect("it").connectors[0];
        connector.strip_mm = Some(3.2);
        connector.contact_part = "part 7".into();
        connector.tool = "four-indent tool".into();
        connector.tool_setting = "selector 6".into();
        let known = find(&document, "crimp contact");
        assert_eq!(
            known[2..6],
            ["part 7", "3.2", "four-indent tool", "selector 6"]
        );
        let json = crimps(&document).rows_json();
        assert_eq!(json[0]["tool_setting"], "selector 6");
        assert_eq!(json[1]["strip_mm"], MAKER);
    }
}
