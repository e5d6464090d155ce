//! A battery during discharge: its usable capacity, and its voltage and resistance over charge.

use petgraph::graph::EdgeIndex;
use serde::Serialize;

use crate::{
    document::{Battery, Chemistry, Document, ElementKind},
    ids::DeviceId,
    netlist::Netlist,
    solve::states::BatteryStands,
};

/// Share of capacity left with age, if not set: at 0.8 a battery is due for replacement (common
/// practice in maintenance manuals).
const AGE: f64 = 0.8;
/// Usable share in an endurance calculation (common practice in installation manuals).
const RATE: f64 = 0.75;
/// Discharge time of the rated capacity of aircraft lead-acid batteries as sold, h (common
/// practice, no source).
const RATED_H: f64 = 20.0;
/// Open-circuit voltage of an empty lead-acid battery over that of a full one: 11.70 V over 12.85 V
/// (common practice, no source).
const EMPTY_EMF: f64 = 0.91;
/// Open-circuit voltage of a lithium iron phosphate battery over that of a full one, by charge left: 10.6, 12.2, 12.7,
/// 12.9, 13.1 and 13.3 V of four cells at rest (common practice, no source, from memory). Flat, then steep: its volts
/// hardly say how much is left.
const LITHIUM_IRON_PHOSPHATE: [[f64; 2]; 6] = [
    [0.0, 0.80],
    [0.05, 0.92],
    [0.1, 0.955],
    [0.2, 0.97],
    [0.5, 0.985],
    [1.0, 1.0],
];
/// End voltage of a 12 V and of a 24 V lead-acid battery, V (common practice, from memory).
const CUTOFF_V: [f64; 2] = [10.0, 20.0];
/// An open-circuit voltage above this is a 24 V battery's, V.
const IS_24V_ABOVE: f64 = 18.0;

/// Usable capacity of a battery, factor by factor.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Cell {
    /// Its device.
    pub device: DeviceId,
    /// What a person calls it.
    pub label: String,
    /// Nameplate capacity, Ah.
    pub capacity_ah: f64,
    /// Its factors, in display order.
    pub factors: [Factor; 4],
    /// Usable capacity, Ah.
    pub usable_ah: f64,
    /// Peukert's exponent, if set.
    pub peukert: Option<f64>,
    /// Discharge time of the rated capacity, h.
    pub rated_h: f64,
    /// Terminal voltage at which it counts as empty, V.
    pub cutoff_v: f64,
    #[serde(skip)]
    pub(super) edge: EdgeIndex,
    /// Charge left, rising, and open-circuit voltage.
    #[serde(skip)]
    curve: Vec<[f64; 2]>,
    #[serde(skip)]
    ohm: [f64; 2],
}

/// A factor on the nameplate capacity.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Factor {
    /// Its name.
    pub what: &'static str,
    /// The part.
    pub value: f64,
    /// True if the builder set it.
    pub is_set: bool,
}

impl Cell {
    fn new(device: &DeviceId, label: String, edge: EdgeIndex, battery: &Battery) -> Option<Self> {
        let capacity_ah = battery.capacity_ah?;
        let reserve = battery.reserve.clone().unwrap_or_default();
        let factor = |what, value: Option<f64>, otherwise| Factor {
            what,
            value: value.unwrap_or(otherwise),
            is_set: value.is_some(),
        };
        let rate = if reserve.peukert.is_some() { 1.0 } else { RATE };
        let factors = [
            factor("charge", reserve.charge_factor, 1.0),
            factor("age", reserve.age_factor, AGE),
            factor("rate and cut-off", reserve.rate_factor, rate),
            factor("temperature", reserve.temperature_factor, 1.0),
        ];
        let share: f64 = factors.iter().map(|factor| factor.value).product();
        let shape: &[[f64; 2]] = match battery.chemistry.unwrap_or_default() {
            Chemistry::LeadAcid => &[[0.0, EMPTY_EMF], [1.0, 1.0]],
            Chemistry::LithiumIronPhosphate => &LITHIUM_IRON_PHOSPHATE,
        };
        let line = shape
            .iter()
            .map(|[left, share]| [*left, share * battery.emf_v]);
        let is_24v = battery.emf_v > IS_24V_ABOVE;
        let cutoff_v = reserve.cutoff_v.unwrap_or(CUTOFF_V[usize::from(is_24v)]);
        Some(Self {
            device: device.clone(),
            label,
            capacity_ah,
            factors,
            usable_ah: capacity_ah * share,
            // An exponent under 1 would mean more capacity at a higher current.
            peukert: reserve.peukert.map(|exponent| exponent.max(1.0)),
            rated_h: reserve.rated_h.unwrap_or(RATED_H),
            cutoff_v: battery
                .opens_below_v
                .map_or(cutoff_v, |opens_v| opens_v.max(cutoff_v)),
            edge,
            curve: match reserve.open_circuit_v.is_empty() {
                true => line.collect(),
                false => reserve.open_circuit_v,
            },
            ohm: [battery.ohm, reserve.empty_ohm.unwrap_or(battery.ohm)],
        })
    }

    /// Its voltage and resistance with this share of its usable capacity used.
    pub(super) fn stands(&self, used: f64, empty: bool) -> BatteryStands {
        BatteryStands {
            edge: self.edge,
            emf_v: along(&self.curve, 1.0 - used),
            ohm: self.ohm[0] + (self.ohm[1] - self.ohm[0]) * used.clamp(0.0, 1.0),
            empty,
        }
    }

    /// Share used per second at this current. Peukert's law with the hour rating: t = H (C/(I
    /// H))^k, above the rated current only.
    pub(super) fn used_per_s(&self, amps: f64) -> f64 {
        let rated_a = self.capacity_ah / self.rated_h;
        let more = match self.peukert {
            Some(exponent) if amps > rated_a => (amps / rated_a).powf(exponent - 1.0),
            _ => 1.0,
        };
        amps * more / (self.usable_ah * 3600.0)
    }
}

/// The value of a polyline, with its first and last segments extended.
fn along(line: &[[f64; 2]], x: f64) -> f64 {
    let last = line.len().saturating_sub(1);
    let Some(first) = line.first() else {
        return 0.0;
    };
    let right = line.iter().position(|[at, _]| *at >= x).unwrap_or(last);
    match (line.get(right.max(1) - 1), line.get(right.max(1))) {
        (Some([x0, y0]), Some([x1, y1])) => y0 + (y1 - y0) * (x - x0) / (x1 - x0),
        _ => first[1],
    }
}

/// The batteries of a document; else the label of one without a capacity.
pub(super) fn cells(document: &Document, netlist: &Netlist) -> Result<Vec<Cell>, String> {
    let mut cells = Vec::new();
    for (id, device) in &document.devices {
        for element in &device.elements {
            let (ElementKind::Battery(battery), Some(edge)) =
                (&element.is, netlist.element_edge(id, &element.id))
            else {
                continue;
            };
            let label = device.element_label(element);
            cells.push(Cell::new(id, label.clone(), edge, battery).ok_or(label)?);
        }
    }
    Ok(cells)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::document;

    fn cell(line: &str) -> Cell {
        let document = document(&format!("{line}\nwire A BT1.+ open 20 1m"));
        let netlist = Netlist::new(&document);
        cells(&document, &netlist).expect("a capacity").remove(0)
    }

    fn near(found: f64, wanted: f64) {
        assert!((found - wanted).abs() < 1e-9, "{found}, wanted {wanted}");
    }

    /// 17 Ah at 20 h, exponent 1.15, 8 A: 20 x (17/160)^1.15 = 1.5181 h (worked by hand).
    #[test]
    fn peukert_counts_above_the_rated_current() {
        let cell = cell("battery BT1 ah=17 age=1 peukert=1.15");
        near(
            1.0 / cell.used_per_s(8.0) / 3600.0,
            20.0 * (17.0_f64 / 160.0).powf(1.15),
        );
        near(cell.used_per_s(0.5) * 3600.0, 0.5 / 17.0);
        near(cell.used_per_s(-0.5) * 3600.0, -0.5 / 17.0);
    }

    #[test]
    fn factors_multiply_and_say_whether_they_were_set() {
        let cell = cell("battery BT1 ah=16 age=0.9");
        near(cell.usable_ah, 16.0 * 0.9 * 0.75);
        assert_eq!(
            cell.factors.map(|it| it.is_set),
            [false, true, false, false]
        );
    }

    #[test]
    fn voltage_falls_along_the_curve() {
        let cell = cell("battery BT1 ah=10 ohm=0.02 empty_ohm=0.04 curve=0:11,0.2:12,1:13");
        for (used, emf_v, ohm) in [(0.0, 13.0, 0.02), (0.4, 12.5, 0.028), (0.9, 11.5, 0.038)] {
            let stands = cell.stands(used, false);
            near(stands.emf_v, emf_v);
            near(stands.ohm, ohm);
        }
        near(along(&[[0.5, 12.0]], 0.9), 12.0);
    }

    /// A lithium iron phosphate battery holds its voltage until little is left, and its electronics end it.
    #[test]
    fn each_chemistry_has_its_own_curve() {
        let lead = cell("battery BT1 ah=10 emf=13.3");
        near(lead.stands(0.5, false).emf_v, 13.3 * 0.955);
        near(lead.cutoff_v, 10.0);
        let lithium = cell("battery BT1 ah=10 emf=13.3 lithium under_v=10.8");
        near(lithium.stands(0.5, false).emf_v, 13.3 * 0.985);
        near(lithium.stands(0.95, false).emf_v, 13.3 * 0.92);
        near(lithium.stands(1.0, false).emf_v, 13.3 * 0.80);
        near(lithium.cutoff_v, 10.8);
        near(
            cell("battery BT1 ah=10 lithium under_v=9 cutoff=11").cutoff_v,
            11.0,
        );
    }

    #[test]
    fn a_battery_without_capacity_is_named() {
        let document = document("battery BT1\nwire A BT1.+ open 20 1m");
        assert_eq!(
            cells(&document, &Netlist::new(&document)),
            Err("BT1".into())
        );
    }
}
