//! The order list: how much of everything the drawing needs, how much is in stock, how much to buy, and the
//! weight of the wiring.

mod needs;
mod supports;

use self::needs::{
    CABLE, CONNECTORS, CONTACTS, DEVICES, JACKS, KINDS, Need, Needs, PROTECTORS, SLEEVES,
    TERMINALS, WIRE, put,
};
use super::{
    Cell, Paper, PaperInput, Table, harness,
    mark::Mark,
    terminations::{self, Termination, has_boot},
};
use crate::order::InOrder;
use crate::{
    document::{
        Cable, CableKind, ConductorKind, Device, DeviceKind, Document, ElementKind, End, Jack,
        JackUse, ProtectorStyle, Wire, natural_cmp, rating,
    },
    ids::WireId,
    order::Sorted,
    standards::wire_weight,
    units::M_PER_FT,
};
pub use supports::spare_fuses_of;

/// Allowance over the drawn amount, %, if the project does not set it (common practice, no source).
const SPARE_PERCENT: f64 = 10.0;
/// Length of sleeve for one label, mm (common practice, no source).
const SLEEVE_MM: f64 = 30.0;

const COLUMNS: &[(&str, &str, &str)] = &[
    ("kind", "Kind", ""),
    ("item", "Item", ""),
    ("need", "Drawn", ""),
    ("unit", "Unit", ""),
    ("order", "With allowance", ""),
    ("on_hand", "In stock", ""),
    ("to_buy", "To buy", ""),
    ("weight_kg", "Weight", "kg"),
    ("note", "Note", ""),
];

/// The paper.
pub fn paper(asked: &PaperInput<'_>) -> Paper {
    let document = asked.document;
    let mut paper = Paper::new("order", "Order list", document);
    let percent = document.project.spare_percent.unwrap_or(SPARE_PERCENT);
    let up_to = if document.project.show_feet {
        "foot"
    } else {
        "half meter"
    };
    paper.text(format!(
        "Lengths: as drawn plus {percent:.0} % (common practice, no source), rounded up to the next {up_to}. \
         Contacts, rings, tabs, splices, sleeves and clamps: the same allowance, rounded up to whole pieces. Look up part \
         numbers in the makers' catalogs: this list has only kinds and sizes."
    ));
    let (total_kg, unknown) = weight(document);
    let missing = match unknown {
        0 => String::new(),
        n => format!("; {n} wires without a length are not included"),
    };
    let source = wire_weight::SOURCE;
    paper.text(format!(
        "Weight of the wire as drawn: {total_kg:.2} kg{missing} ({}: {}). Not counted: shields and jackets of \
         cables; coax, whose weight is its maker\u{2019}s figure; terminals and ties.",
        source.document, source.place
    ));
    paper.table(table(document));
    paper
}

/// Said of a line with coax in it.
const COAX_WEIGHT: &str = "weight: see the maker\u{2019}s figure";

/// True for coax: by its conductor, or by its cable.
fn is_coax(document: &Document, (id, wire): (&WireId, &Wire)) -> bool {
    let in_coax = |cable: &Cable| cable.kind == CableKind::Coaxial && cable.wires.contains(id);
    wire.conductor == ConductorKind::Coax || document.cables.values().any(in_coax)
}

/// Weight of a wire, kg; `None` without a length or a gauge. Coax weighs what its maker says and not what a wire of
/// its center conductor's gauge does: 0 here, and the paper says that it is left out.
fn wire_kg(document: &Document, (id, wire): (&WireId, &Wire)) -> Option<f64> {
    if is_coax(document, (id, wire)) {
        return Some(0.0);
    }
    Some(wire_weight::kg_per_m(wire.gauge_awg?)? * document.wire_length_m(wire)?)
}

/// Weight of all wire but coax, kg, without shields and jackets, and how many wires have no length.
pub fn weight(document: &Document) -> (f64, usize) {
    let mut sum = (0.0, 0);
    for drawn in &document.wires {
        match wire_kg(document, drawn) {
            Some(weight_kg) => sum.0 += weight_kg,
            None => sum.1 += 1,
        }
    }
    sum
}

/// True if a line of the list, by the key of its stock, is a length.
pub fn is_length(line: &str) -> bool {
    let kind = |kind: &str| line.strip_prefix(kind).and_then(|it| it.strip_prefix(": "));
    kind(WIRE).or(kind(CABLE)).is_some()
        || kind(SLEEVES).is_some_and(|item| item.starts_with("marking sleeve"))
}

/// A row for each thing.
pub fn table(document: &Document) -> Table {
    let mut needs = Needs::new();
    wires(document, &mut needs);
    ends(document, &mut needs);
    connectors(document, &mut needs);
    devices(document, &mut needs);
    supports::supports(document, &mut needs);
    supports::spare_fuses(document, &mut needs);
    let percent = document.project.spare_percent.unwrap_or(SPARE_PERCENT);
    let mut rows: Vec<(&(String, String), &Need)> = needs.iter().collect();
    rows.order_by(|a, b| {
        let kind = |key: &str| KINDS.iter().position(|it| *it == key);
        kind(&a.0.0)
            .cmp(&kind(&b.0.0))
            .then_with(|| natural_cmp(&a.0.1, &b.0.1))
    });
    let mut table = Table::new("order", "Order list", COLUMNS).grouped();
    for ((kind, item), need) in rows {
        let key = format!("{kind}: {item}");
        let over = match kind.as_str() {
            CONNECTORS | DEVICES | PROTECTORS | JACKS => 1.0,
            _ => 1.0 + percent / 100.0,
        };
        // Half a meter, a foot or a whole piece; a rounding error must not add another.
        let step = match (need.metres, document.project.show_feet) {
            (true, true) => M_PER_FT,
            (true, false) => 0.5,
            (false, _) => 1.0,
        };
        let order = (need.amount * over / step - 1e-6).ceil() * step;
        let on_hand = document.project.stock.get(&*key).copied();
        let amount = |amount: f64, decimals| match need.metres {
            true => Cell::length(document, Some(amount), decimals),
            false => Cell::Number(amount, 0),
        };
        let to_buy = (order - on_hand.unwrap_or(0.0)).max(0.0);
        table.rows.push(vec![
            Cell::text(kind),
            Cell::text(shown(item)),
            amount(need.amount, 2),
            match need.metres {
                true => Cell::LengthUnit(document.project.show_feet),
                false => Cell::text("pieces"),
            },
            amount(order, 1),
            Cell::Entry {
                value: on_hand.map_or(String::new(), |it| match amount(it, 1) {
                    length @ Cell::Length(..) if document.project.show_feet => length.show(),
                    _ => it.to_string(),
                }),
                key: Mark::Stock(key).key(),
            },
            amount(to_buy, 1),
            Cell::number(Some(need.weight_kg).filter(|it| *it > 0.0), 3),
            Cell::text(&need.note),
        ]);
    }
    table
}

/// How a wire without a color is listed in stock keys, which keep the spelling of earlier files.
const ANY_COLOR: &str = concat!("any ", "colour");

/// An item as a person reads it.
pub fn shown(item: &str) -> String {
    item.replace(ANY_COLOR, "any color")
        .replace("style not given", "style not set")
}

/// The item of the order list for a wire outside a cable, as in stock keys.
pub fn wire_item(document: &Document, wire: &Wire) -> String {
    let colour = match wire.colour.as_str() {
        "" => ANY_COLOR,
        colour => colour,
    };
    let insulation = (document.insulation_c(wire)).map_or(String::new(), |c| format!(", {c} °C"));
    match conductor(wire.conductor) {
        "" => format!("{} {colour}{insulation}", wire.size()),
        material => format!("{material}, {}{insulation}", wire.size()),
    }
}

fn conductor(kind: ConductorKind) -> &'static str {
    match kind {
        ConductorKind::Copper => "",
        ConductorKind::TypeKPositive => "type K positive",
        ConductorKind::TypeKNegative => "type K negative",
        ConductorKind::TypeJPositive => "type J positive",
        ConductorKind::TypeJNegative => "type J negative",
        ConductorKind::Coax => "coax",
    }
}

/// "22 AWG, 3 cores, shielded".
fn cable_item(cable: &Cable, cores: &[(&WireId, &Wire)]) -> String {
    let size = cores
        .first()
        .map_or_else(|| "no core".into(), |(_, wire)| wire.size());
    let n = cores.len();
    match cable.kind {
        CableKind::Coaxial => match cable.impedance_ohm {
            Some(ohm) => format!("coax, {ohm:.0} ohm"),
            None => "coax".into(),
        },
        CableKind::Thermocouple => {
            let kind = cores
                .first()
                .map_or("", |(_, wire)| conductor(wire.conductor));
            let kind = kind.split(" p").next().unwrap_or_default();
            format!("{} pair", kind.split(" n").next().unwrap_or_default())
        }
        kind => {
            let made = match kind {
                CableKind::Shielded => "shielded",
                CableKind::Twisted => "twisted",
                CableKind::TwistedShielded => "twisted and shielded",
                _ => "jacketed",
            };
            format!("{size}, {n} core{}, {made}", if n == 1 { "" } else { "s" })
        }
    }
}

fn wires(document: &Document, needs: &mut Needs) {
    let mut cored: Sorted<&WireId> = Sorted::new();
    for cable in document.cables.values() {
        let cores = cable.wires.iter();
        let cores: Vec<_> = cores
            .filter_map(|id| document.wires.get_key_value(id))
            .collect();
        for (id, _) in &cores {
            cored.insert(*id);
        }
        let lengths = cores
            .iter()
            .filter_map(|(_, wire)| document.wire_length_m(wire));
        let longest_m = lengths.reduce(f64::max);
        let left_out = match cores.iter().any(|core| is_coax(document, *core)) {
            true => COAX_WEIGHT,
            false if cable.kind == CableKind::Twisted => "",
            false if cable.kind == CableKind::Jacketed => "weight without jacket",
            false => "weight without shield or jacket",
        };
        let weights = cores.iter().filter_map(|core| wire_kg(document, *core));
        let weight_kg: f64 = weights.sum();
        let need = put(
            needs,
            CABLE,
            cable_item(cable, &cores),
            longest_m.unwrap_or(0.0),
        );
        need.metres = true;
        need.weight_kg += weight_kg;
        if longest_m.is_none() {
            need.note = "a length is not set".into();
        }
        need.remark(left_out);
    }
    for (id, wire) in &document.wires {
        if cored.contains(id) {
            continue;
        }
        let length_m = document.wire_length_m(wire);
        let need = put(
            needs,
            WIRE,
            wire_item(document, wire),
            length_m.unwrap_or(0.0),
        );
        need.metres = true;
        need.weight_kg += wire_kg(document, (id, wire)).unwrap_or(0.0);
        let unset = [
            (wire.conductor == ConductorKind::Coax, COAX_WEIGHT),
            (length_m.is_none(), "a length is not set"),
            (
                document.insulation_c(wire).is_none(),
                "insulation rating not set",
            ),
        ];
        for (_, what) in unset.into_iter().filter(|it| it.0) {
            need.remark(what);
        }
        if let Some(fuse) = &wire.fuse {
            put(
                needs,
                PROTECTORS,
                format!("in-line fuse holder, {}", rating(fuse.rating_a)),
                1.0,
            )
            .remark("with its fuse");
        }
    }
}

fn ends(document: &Document, needs: &mut Needs) {
    let mut splices: Sorted<&crate::ids::SpliceId> = Sorted::new();
    for wire in document.wires.values() {
        for end in [&wire.from, &wire.to] {
            let size = wire.size();
            match Termination::of(document, wire, end) {
                Termination::Contact { style, sort } => {
                    let what = sort.unwrap_or("contact");
                    let style = style.split(',').next().unwrap_or_default();
                    let of = if style.is_empty() { "connector" } else { style };
                    put(needs, CONTACTS, format!("{what} for {of}"), 1.0);
                }
                Termination::Ring | Termination::Bond => {
                    match stud_of(document, end) {
                        Some(stud) => {
                            put(
                                needs,
                                TERMINALS,
                                format!("ring terminal, {size}, for {stud}"),
                                1.0,
                            );
                        }
                        None => put(needs, TERMINALS, format!("ring terminal, {size}"), 1.0)
                            .remark("stud size not set"),
                    }
                    if has_boot(document, wire, end) {
                        put(
                            needs,
                            SLEEVES,
                            format!("boot over a ring terminal, {size}"),
                            1.0,
                        );
                    }
                }
                Termination::Tab => {
                    put(needs, TERMINALS, format!("push-on receptacle, {size}"), 1.0);
                }
                Termination::LeadSplice => {
                    put(needs, TERMINALS, format!("butt splice, {size}"), 1.0);
                    put(needs, SLEEVES, "clear sleeve over a splice", 1.0);
                }
                Termination::Splice => {
                    if let End::Splice(id) = end
                        && splices.insert(id)
                    {
                        put(needs, SLEEVES, "clear sleeve over a splice", 1.0);
                        put(
                            needs,
                            TERMINALS,
                            format!("splice of several wires, {size}"),
                            1.0,
                        );
                    }
                }
                Termination::Solder => {
                    put(needs, SLEEVES, "clear sleeve over a soldered joint", 1.0);
                }
                Termination::Alloy => {
                    let alloy = conductor(wire.conductor);
                    let item = format!("thermocouple joint, {alloy} alloy, {size}");
                    // Of several wires that meet in a splice, one joint.
                    let first = match end {
                        End::Splice(id) => splices.insert(id),
                        _ => true,
                    };
                    if first {
                        put(needs, TERMINALS, item, 1.0);
                    }
                }
                Termination::AlloyContact => {
                    let alloy = conductor(wire.conductor);
                    let item = format!("thermocouple contact, {alloy} alloy, {size}");
                    put(needs, CONTACTS, item, 1.0);
                }
                Termination::Instrument => {
                    let connector = terminations::connector(document, end);
                    let style = connector.map_or("", |it| &it.style);
                    let of = match style.split(',').next().unwrap_or_default() {
                        "" => "connector",
                        style => style,
                    };
                    put(
                        needs,
                        CONTACTS,
                        format!("contact for thermocouple wire in {of}"),
                        1.0,
                    )
                    .remark("kind: the instrument\u{2019}s manual");
                }
                Termination::Coax => {
                    put(needs, CONNECTORS, "coax connector", 1.0);
                }
                Termination::Open => {}
            }
        }
    }
    let height = document.project.label_mm.unwrap_or(9.0);
    let labels = super::labels::count(document);
    if labels > 0 {
        let length_m = labels as f64 * SLEEVE_MM / 1000.0;
        let need = put(
            needs,
            SLEEVES,
            format!("marking sleeve, {height} mm"),
            length_m,
        );
        need.metres = true;
        need.note = format!("{SLEEVE_MM:.0} mm for each label");
    }
    for shield in document.cables.values().filter_map(|it| it.shield.as_ref()) {
        for end in [&shield.from, &shield.to] {
            match end.at() {
                Some(_) => put(needs, SLEEVES, "solder sleeve for a shield", 1.0),
                None => put(needs, SLEEVES, "sleeve over a shield cut back", 1.0),
            };
        }
    }
}

/// The thread of the stud or screw at an end, if it is set.
pub fn stud_of(document: &Document, end: &End) -> Option<String> {
    let End::Terminal(_, id) = end else {
        return None;
    };
    let terminal = harness::device(document, end)?.terminal(id)?;
    (!terminal.stud.is_empty()).then(|| terminal.stud.clone())
}

fn connectors(document: &Document, needs: &mut Needs) {
    for device in document.devices.values() {
        for connector in &device.connectors {
            let style = match connector.style.as_str() {
                "" => "connector, style not given",
                style => style,
            };
            let style = style.split(',').next().unwrap_or(style);
            let of = match device.kind == DeviceKind::InlineConnector {
                true => connector.label.clone(),
                false => format!("{} of {}", connector.label, device.tag),
            };
            let need = put(
                needs,
                CONNECTORS,
                format!("{style} with backshell, half on the wires"),
                1.0,
            );
            need.also(&of);
        }
    }
}

fn devices(document: &Document, needs: &mut Needs) {
    for device in document.devices.values() {
        for element in &device.elements {
            match &element.is {
                ElementKind::Protector(it) => {
                    let what = match it.style {
                        ProtectorStyle::Breaker => "breaker",
                        ProtectorStyle::Fuse => "fuse",
                        ProtectorStyle::Limiter => "limiter",
                    };
                    put(
                        needs,
                        PROTECTORS,
                        format!("{what}, {}", rating(it.rating_a)),
                        1.0,
                    );
                }
                ElementKind::Jack(jack) => jack_parts(device, jack, needs),
                _ => {}
            }
        }
        let bought = matches!(
            device.kind,
            DeviceKind::Bus
                | DeviceKind::GroundBlock
                | DeviceKind::Switch
                | DeviceKind::Relay
                | DeviceKind::Diode
                | DeviceKind::Lamp
        );
        if bought {
            let title = if device.title.is_empty() {
                &device.tag
            } else {
                &device.title
            };
            let need = put(needs, DEVICES, title.as_str(), 1.0);
            need.also(&device.tag);
        }
    }
}

fn jack_parts(device: &Device, jack: &Jack, needs: &mut Needs) {
    let what = match jack.used_for {
        JackUse::Phones => "phones jack",
        JackUse::Mic => "mic jack",
        JackUse::Other => "jack",
    };
    let need = put(needs, JACKS, what, 1.0);
    need.also(&device.tag);
    if jack.isolated == Some(true) {
        put(
            needs,
            JACKS,
            "insulating shoulder washer and flat washer, pair",
            1.0,
        );
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{standards::wire_weight::kg_per_m, testing::document, units::Gauge};

    #[test]
    fn coax_does_not_weigh_what_a_wire_of_its_gauge_does_and_what_is_left_out_is_said() {
        let document = document(
            "battery BT1
             load LT1 1
             wire A BT1.+ LT1.+ 20 2m rated=150
             wire B BT1.- LT1.- 20 2m rated=150
             wire R BT1.+ LT1.+ 20 5m material=coax
             wire Q BT1.- LT1.- 20 5m
             cable C1 A B shield floating floating
             cable C2 Q kind=coax",
        );
        let (total_kg, unknown) = weight(&document);
        let of_20 = kg_per_m(Gauge(20)).expect("a size of the table");
        assert!((total_kg - 4.0 * of_20).abs() < 1e-9, "{total_kg}");
        assert_eq!(unknown, 0);
        let rows = table(&document).rows;
        let note = |row: &Vec<Cell>| (row[7].show(), row[8].show());
        let notes: Vec<_> = rows.iter().map(note).collect();
        let coax = |it: &&(String, String)| it.0.is_empty() && it.1.contains(COAX_WEIGHT);
        assert_eq!(notes.iter().filter(coax).count(), 2, "{notes:?}");
        let shielded = |it: &(String, String)| it.1.contains("weight without shield or jacket");
        assert!(notes.iter().any(shielded), "{notes:?}");
    }

    fn line(document: &Document, item: &str) -> Option<[String; 2]> {
        let rows = table(document).rows;
        let row = rows.iter().find(|row| row[1].show() == item)?;
        Some([row[2].show(), row[8].show()])
    }

    #[test]
    fn rings_are_by_stud_where_it_is_set_and_keep_their_line_where_not() {
        let mut document = document(
            "place AIR metal
             battery BT1
             contactor K1 BAT LOAD COIL+ COIL-
             stud K1.BAT
             wire P1 BT1.+ K1.BAT 2 1m
             wire P2 BT1.- @AIR 2 1m",
        );
        let not_set = line(&document, "ring terminal, 2 AWG").expect("a line");
        assert_eq!(not_set, ["4", "stud size not set"]);
        let device = document.devices.get_mut("K1").expect("it");
        let stud = device.terminals.iter_mut().find(|it| it.label == "BAT");
        stud.expect("it").stud = "5/16".into();
        assert_eq!(
            line(&document, "ring terminal, 2 AWG, for 5/16").expect("it")[0],
            "1"
        );
        assert_eq!(line(&document, "ring terminal, 2 AWG").expect("it")[0], "3");
        // Posts and studs that carry power have boots, the battery's negative and the airframe none.
        assert_eq!(
            line(&document, "boot over a ring terminal, 2 AWG").expect("it")[0],
            "2"
        );
    }
}
