//! Connector pages: both faces of each connector, the wires in each cavity with their area, what the contact carries and
//! may carry, the mating cavity, and spares.

mod face;

use super::{Cell, Paper, PaperInput, Part, Table, cuts::MAKER, harness::Ends};
use crate::{
    document::{
        Connector, Contacts, Device, DeviceKind, Document, ElementKind, End, Role, ShieldEnd,
        Terminal, natural_cmp,
    },
    ids::DeviceId,
    order::InOrder,
    solve::{OperatingPoint, operate_all},
    standards::{conductor_heat::mm2_of_cmil, contact_load, wire_table},
    units::{Gauge, fixed},
};

const COLUMNS: &[(&str, &str, &str)] = &[
    ("connector", "Connector", ""),
    ("pin", "Cavity", ""),
    ("name", "Function", ""),
    ("wire", "Wire", ""),
    ("gauge_awg", "Gauge", "AWG"),
    ("colour", "Color", ""),
    ("area_mm2", "Area in contact", "mm²"),
    ("fits", "Fits contact", ""),
    ("carries_a", "Carries", "A"),
    ("derated_a", "Contact limit", "A"),
    ("goes_to", "Goes to", ""),
    ("mate", "Mating half", ""),
];

/// Spare contacts to plan, by number of cavities (AC 43.13-1B CHG 1 par 11-234, p. 11-98).
fn spares_wanted(cavities: usize) -> usize {
    match cavities {
        0..=25 => 2,
        26..=100 => 4,
        _ => 6,
    }
}

/// Thickest and thinnest wire that a size 20 crimp contact takes (contact data sheets, from memory). Used where the
/// connector's own are not set.
const SIZE_20: (Option<Gauge>, Option<Gauge>) = (Some(Gauge(20)), Some(Gauge(24)));

/// The paper.
pub fn paper(asked: &PaperInput<'_>) -> Paper {
    let document = asked.document;
    let mut paper = Paper::new("connectors", "Connector pages", document);
    paper.text(
        "Compare the drawn faces with the numbers molded into the connector before you insert the first contact. A filled \
         circle is wired. The pattern of D-sub faces, and the wire their contacts take where it is not set (20 to 24 AWG), \
         are from memory.",
    );
    paper.text(format!(
        "Carries: the highest current in any phase, as solved. Contact limit of a D-sub: its rating, reduced by wire and by \
         how many contacts are wired ({}, {}; the rating is taken as that of one contact alone with 20 AWG, from memory). \
         Of other connectors: the rating as set, not reduced; look in the maker\u{2019}s sheet. Area: of all wires in one \
         contact together, where there are several.",
        contact_load::SOURCE.document,
        contact_load::SOURCE.place
    ));
    let ends = Ends::new(document);
    let points = operate_all(document);
    for (id, device, connector) in in_order(document) {
        let one = One::new(document, &ends, &points, (id, device, connector));
        paper.heading(title(device, connector));
        paper.text(format!("{} {}", one.made(), one.spares()));
        paper.parts.push(Part::Drawing {
            svg: face::svg(connector, &one.cavities()),
            told: format!("{}: rear face and mating face", connector.label),
        });
        // Its name is repeated on every page that the table runs over.
        paper.table(one.table());
    }
    paper
}

/// One connector with what its pages need.
struct One<'d> {
    document: &'d Document,
    ends: &'d Ends<'d>,
    points: &'d [OperatingPoint],
    id: &'d DeviceId,
    device: &'d Device,
    connector: &'d Connector,
    terminals: Vec<&'d Terminal>,
}

impl<'d> One<'d> {
    fn new(
        document: &'d Document,
        ends: &'d Ends<'d>,
        points: &'d [OperatingPoint],
        (id, device, connector): (&'d DeviceId, &'d Device, &'d Connector),
    ) -> Self {
        let mut terminals: Vec<&Terminal> = (device.terminals.iter())
            .filter(|it| it.connector.as_ref() == Some(&connector.id))
            .collect();
        terminals.order_by(|a, b| natural_cmp(&a.label, &b.label));
        Self {
            document,
            ends,
            points,
            id,
            device,
            connector,
            terminals,
        }
    }

    /// Labels of the cavities, and whether they are wired.
    fn cavities(&self) -> Vec<(&'d str, bool)> {
        let is_used = |it: &Terminal| self.ends.is_used(&end(self.id, it));
        let all = self.terminals.iter();
        all.map(|it| (it.label.as_str(), is_used(it))).collect()
    }

    /// Cavities, and how many have a wire.
    fn sizes(&self) -> (usize, usize) {
        let wired =
            (self.terminals.iter()).filter(|it| !self.ends.at(&end(self.id, it)).is_empty());
        let all = face::ways(&self.connector.style).unwrap_or(self.terminals.len());
        (all, wired.count())
    }

    fn spares(&self) -> String {
        let used = self.cavities().iter().filter(|it| it.1).count();
        let (cavities, _) = self.sizes();
        let spare = cavities.saturating_sub(used);
        let wanted = spares_wanted(cavities);
        let short = if spare < wanted {
            ", fewer than recommended"
        } else {
            ""
        };
        format!(
            "{used} of {cavities} cavities used, {spare} spare{short} ({wanted} recommended for growth: FAA AC 43.13-1B CHG \
             1 par 11-234). Plug every empty cavity."
        )
    }

    /// Gender, keying, contact and rating.
    fn made(&self) -> String {
        let it = self.connector;
        let gender = match it.contacts {
            Some(Contacts::Sockets) => "sockets on the harness half, pins on its partner",
            Some(Contacts::Pins) => "pins on the harness half, sockets on its partner",
            None => {
                "pins or sockets not set (drawn for sockets; with pins, left and right are swapped)"
            }
        };
        let or = |text: &str, none: &str| match text {
            "" => none.to_owned(),
            text => text.to_owned(),
        };
        let rating = it.contact_a.map_or("not set".into(), |a| format!("{a} A"));
        format!(
            "Contacts: {gender}. Keying: {}. Crimp contact: {}. Contact rating: {rating}.",
            or(&it.keying, "not set"),
            or(&it.contact_part, MAKER)
        )
    }

    fn table(&self) -> Table {
        let title = title(self.device, self.connector);
        let mut table = Table::new("connectors", title, COLUMNS).grouped();
        let mut known = self.connector.clone();
        if known.taken().is_empty() && known.style.contains("D-sub") {
            (known.thickest_awg, known.thinnest_awg) = SIZE_20;
        }
        for terminal in &self.terminals {
            table.rows.extend(self.rows(&known, terminal));
        }
        table
    }

    /// What a contact carries at most in any phase, A: the largest of its wires and of what they bring together.
    fn carries_a(&self, here: &End) -> Option<f64> {
        let wires = self.ends.at(here);
        let of = |point: &OperatingPoint| -> Option<f64> {
            let (mut sum, mut most) = (0.0, None::<f64>);
            for (id, wire, _) in wires {
                let amps = point.wire_amps(id)?;
                sum += if wire.from == *here { amps } else { -amps };
                most = Some(most.unwrap_or(0.0).max(amps.abs()));
            }
            most.map(|most| most.max(f64::abs(sum)))
        };
        self.points.iter().filter_map(of).reduce(f64::max)
    }

    /// What a contact may carry, A.
    fn limit(&self, thinnest: Option<Gauge>) -> Cell {
        let (cavities, wired) = self.sizes();
        let Some(rating_a) = self.connector.contact_a else {
            return Cell::text(MAKER);
        };
        if !self.connector.style.contains("D-sub") {
            return Cell::Number(rating_a, 2);
        }
        let derated =
            thinnest.and_then(|it| contact_load::derated_a(rating_a, wired, cavities, it));
        derated.map_or_else(|| Cell::text("not in the table"), |a| Cell::Number(a, 2))
    }
}

/// Area of a conductor, mm².
fn area_mm2(gauge: Gauge) -> Option<f64> {
    Some(mm2_of_cmil(wire_table::find(gauge)?.circular_mil))
}

/// Every connector, by device and label.
fn in_order(document: &Document) -> Vec<(&DeviceId, &Device, &Connector)> {
    let devices = document.devices.iter();
    let mut all: Vec<_> = devices
        .flat_map(|(id, device)| device.connectors.iter().map(move |it| (id, device, it)))
        .collect();
    all.order_by(|a, b| natural_cmp(&a.2.label, &b.2.label).then_with(|| a.0.cmp(b.0)));
    all
}

fn title(device: &Device, connector: &Connector) -> String {
    let of = match device.kind == DeviceKind::InlineConnector {
        true => device.title.clone(),
        false => format!("on {}, {}", device.tag, device.title),
    };
    let style = match connector.style.as_str() {
        "" => String::new(),
        style => format!(", {style}"),
    };
    format!("{}{style}: {of}", connector.label)
}

/// Whether one wire, or several by their area together, fit a contact.
fn fits(connector: &Connector, gauges: &[Option<Gauge>]) -> String {
    let taken = connector.taken();
    let gauges: Option<Vec<Gauge>> = gauges.iter().copied().collect();
    let Some(gauges) = gauges.filter(|_| !taken.is_empty()) else {
        return String::new();
    };
    if let [only] = gauges[..] {
        return match connector.takes(only) {
            None => String::new(),
            Some(true) => "yes".into(),
            Some(false) => format!("no: {taken}"),
        };
    }
    let sum: Option<f64> = gauges.iter().map(|it| area_mm2(*it)).sum();
    let most = connector.thickest_awg.and_then(area_mm2);
    match (sum, most) {
        (Some(sum), Some(most)) if sum > most + 1e-9 => {
            format!("no: takes {} mm²", fixed(most, 2))
        }
        (Some(_), Some(_)) => "yes, together".into(),
        _ => MAKER.into(),
    }
}

impl One<'_> {
    fn rows(&self, connector: &Connector, terminal: &Terminal) -> Vec<Vec<Cell>> {
        let (document, ends, device) = (self.document, self.ends, self.device);
        let id = self.id;
        let here = end(id, terminal);
        let mate = mate(device, terminal).map(|mate| {
            let told = ends.described(document, &End::Terminal(id.clone(), mate.clone()));
            let here = ends.is_used(&here);
            match (told.as_str(), here) {
                ("", true) => "not wired: mismatch".into(),
                (_, false) if !told.is_empty() => format!("{told}: mismatch"),
                _ => told,
            }
        });
        let mate = || Cell::text(mate.clone().unwrap_or_default());
        let row = |cells: [Cell; 8]| {
            let mut row = vec![
                Cell::text(&connector.label),
                Cell::text(&terminal.label),
                Cell::text(&terminal.name),
            ];
            row.extend(cells);
            row.push(mate());
            row
        };
        let wires = ends.at(&here);
        let gauges: Vec<Option<Gauge>> = wires.iter().map(|(_, wire, _)| wire.gauge_awg).collect();
        let fits = fits(connector, &gauges);
        let thinnest = gauges.iter().flatten().copied();
        let thinnest = thinnest.reduce(|a, b| if b.is_thinner_than(a) { b } else { a });
        let area = gauges
            .iter()
            .map(|it| area_mm2((*it)?))
            .sum::<Option<f64>>();
        let mut rows: Vec<Vec<Cell>> = (wires.iter().enumerate())
            .map(|(n, (wire_id, wire, far))| {
                // What is of the contact and not of a wire is said once.
                let once = |cell: Cell| if n == 0 { cell } else { Cell::Empty };
                row([
                    Cell::text(document.wire_label(wire_id)),
                    Cell::text(wire.gauge_text()),
                    Cell::text(&wire.colour),
                    once(Cell::number(area.filter(|_| wires.len() > 1), 2)),
                    once(Cell::text(&*fits)),
                    once(Cell::number(self.carries_a(&here), 2)),
                    once(self.limit(thinnest)),
                    Cell::text(document.end_label(far)),
                ])
            })
            .collect();
        for label in ends.shields_at(&here) {
            let cable = document
                .cables
                .values()
                .find(|cable| cable.label == **label);
            let tied = cable.and_then(|it| it.shield.as_ref()).map(|shield| {
                let ends = [&shield.from, &shield.to];
                match ends.into_iter().find(|it| it.at() == Some(&here)) {
                    Some(ShieldEnd::Tied { .. }) => "grounded here",
                    _ => "carried through",
                }
            });
            let mut cells = [const { Cell::Empty }; 8];
            cells[0] = Cell::text(format!("shield of {label}"));
            cells[7] = Cell::text(tied.unwrap_or_default());
            rows.push(row(cells));
        }
        if rows.is_empty() {
            let what = match terminal.role {
                _ if terminal.covered => "spare, covered",
                Role::Spare => "spare",
                _ => "not wired",
            };
            let mut cells = [const { Cell::Empty }; 8];
            cells[0] = Cell::text(what);
            rows.push(row(cells));
        }
        rows
    }
}

/// The mating terminal of a pin of an in-line connector.
fn mate<'d>(device: &'d Device, terminal: &Terminal) -> Option<&'d crate::ids::TerminalId> {
    device
        .elements
        .iter()
        .find_map(|element| match &element.is {
            ElementKind::Mate(mate) if mate.a == terminal.id => Some(&mate.b),
            ElementKind::Mate(mate) if mate.b == terminal.id => Some(&mate.a),
            _ => None,
        })
}

fn end(device: &DeviceId, terminal: &Terminal) -> End {
    End::Terminal(device.clone(), terminal.id.clone())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::{asked, document};

    #[test]
    fn the_halves_of_a_connector_are_compared() {
        let document = document(
            "ground GB1 A B C D
             mated J310/P310 1 2 3
             wire W1 GB1.A J310.J310-1 22 1m
             wire W2 GB1.B J310.P310-1 22 1m
             wire W3 GB1.C J310.J310-2 22 1m",
        );
        let paper = paper(&asked(&document));
        let rows: Vec<[String; 4]> = (paper.tables().flat_map(|table| &table.rows))
            .map(|row| [row[0].show(), row[1].show(), row[3].show(), row[11].show()])
            .collect();
        let has = |row: [&str; 4]| rows.iter().any(|it| *it == row.map(String::from));
        assert!(has(["J310", "1", "W1", "W2"]), "{rows:?}");
        assert!(has(["J310", "2", "W3", "not wired: mismatch"]), "{rows:?}");
        assert!(has(["P310", "2", "not wired", "W3: mismatch"]), "{rows:?}");
    }

    fn rows(document: &Document) -> Vec<Vec<String>> {
        let paper = paper(&asked(document));
        let rows = paper.tables().flat_map(|table| &table.rows);
        rows.map(|row| row.iter().map(Cell::show).collect())
            .collect()
    }

    const UNIT: &str = "
        battery BT1
        unit MD1 J102-1:power_in J102-9:return J102-5:can_high
        inside MD1 load J102-1 J102-9 1
        wire A BT1.+ MD1.J102-1 20 1m
        wire B MD1.J102-9 BT1.- 20 1m
        wire C MD1.J102-5 open 22 1m
        wire D MD1.J102-5 open 22 1m
        state T";

    fn with(change: impl FnOnce(&mut Connector)) -> Document {
        let mut document = document(UNIT);
        let connector = &mut document.devices.get_mut("MD1").expect("it").connectors[0];
        connector.style = "15-way D-sub".into();
        change(connector);
        document
    }

    /// Two 22 AWG are 0.77 mm², a contact for 20 AWG takes 0.62 (Table 11-9); they fit one for 18.
    #[test]
    fn wires_in_one_contact_are_judged_by_their_area_together() {
        let of = |document: &Document| {
            let rows = rows(document);
            let row = rows.iter().find(|row| row[3] == "C").expect("it").clone();
            [row[6].clone(), row[7].clone()]
        };
        let thin = of(&with(|_| {}));
        assert_eq!(thin, ["0.77", "no: takes 0.62 mm²"]);
        let thick = of(&with(|it| it.thickest_awg = Some(Gauge(18))));
        assert_eq!(thick, ["0.77", "yes, together"]);
        let one = rows(&with(|_| {}));
        let one = one.iter().find(|row| row[3] == "A").expect("it");
        assert_eq!((&*one[6], &*one[7]), ("", "yes"));
    }

    /// 3 of 15 contacts are wired: the row of 26 %, 0.491 of 0.795 with 20 AWG.
    #[test]
    fn the_limit_of_a_contact_is_derated_and_its_current_stands_beside_it() {
        let of = |document: &Document| {
            let rows = rows(document);
            let row = rows.iter().find(|row| row[3] == "A").expect("it").clone();
            (row[8].parse::<f64>().ok(), row[9].clone())
        };
        let (carries, limit) = of(&with(|it| it.contact_a = Some(5.0)));
        assert!(
            carries.is_some_and(|a| (0.9..1.3).contains(&a)),
            "{carries:?}"
        );
        assert_eq!(limit, "3.09");
        assert_eq!(of(&with(|_| {})).1, MAKER);
        let other =
            with(|it| (it.style, it.contact_a) = ("4-way power connector".into(), Some(10.0)));
        assert_eq!(of(&other).1, "10.00");
    }

    #[test]
    fn gender_keying_and_contact_are_said_or_said_to_be_missing() {
        let text = |document: &Document| paper(&asked(document)).to_text();
        let bare = text(&with(|_| {}));
        for says in [
            "pins or sockets not set (drawn for sockets",
            "Keying: not set",
            "Crimp contact: maker\u{2019}s sheet",
        ] {
            assert!(bare.contains(says), "{bare}");
        }
        let told = text(&with(|it| {
            it.contacts = Some(Contacts::Pins);
            it.keying = "posts turned to 2".into();
            it.contact_part = "part 7".into();
        }));
        for says in [
            "pins on the harness half, sockets on its partner",
            "Keying: posts turned to 2",
            "Crimp contact: part 7",
        ] {
            assert!(told.contains(says), "{told}");
        }
    }
}
