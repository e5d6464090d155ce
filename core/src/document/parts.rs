//! Common properties of elements: kind name, terminals, numbers.

use super::{ElementKind, Figure, Reserve};
use crate::ids::TerminalId;

/// Allowed range of a number in a record.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Bound {
    /// Greater than zero.
    Positive,
    /// Zero or more.
    NotNegative,
    /// Any finite number.
    Finite,
    /// A share: greater than zero, at most one.
    Share,
}

impl Bound {
    /// True if the value is finite and within the bound.
    pub fn holds(self, value: f64) -> bool {
        value.is_finite()
            && match self {
                Self::Positive => value > 0.0,
                Self::NotNegative => value >= 0.0,
                Self::Finite => true,
                Self::Share => value > 0.0 && value <= 1.0,
            }
    }

    /// In words, after "expected".
    pub fn words(self) -> &'static str {
        match self {
            Self::Positive => "a number greater than 0",
            Self::NotNegative => "a number, 0 or more",
            Self::Finite => "a finite number",
            Self::Share => "a number greater than 0, at most 1",
        }
    }
}

impl ElementKind {
    /// The name of the kind, as in a file.
    pub fn name(&self) -> &'static str {
        match self {
            Self::Load(_) => "load",
            Self::Battery(_) => "battery",
            Self::Alternator(_) => "alternator",
            Self::Protector(_) => "protector",
            Self::Switch(_) => "switch",
            Self::Coil(_) => "coil",
            Self::Contact(_) => "contact",
            Self::Diode(_) => "diode",
            Self::Bar(_) => "bar",
            Self::Shunt(_) => "shunt",
            Self::Resistor(_) => "resistor",
            Self::Jack(_) => "jack",
            Self::Mate(_) => "mate",
            Self::StructureTie(_) => "structure_tie",
            Self::OverVoltage(_) => "over_voltage",
        }
    }

    /// Every terminal of the element, with the name of its field.
    pub fn terminals(&self) -> Vec<(&'static str, &TerminalId)> {
        match self {
            Self::Load(it) => vec![("plus", &it.plus), ("minus", &it.minus)],
            Self::Battery(it) => vec![("plus", &it.plus), ("minus", &it.minus)],
            Self::Alternator(it) => {
                let mut all = vec![("plus", &it.plus), ("minus", &it.minus)];
                all.extend(it.field.iter().map(|field| ("field", field)));
                all
            }
            Self::Protector(it) => vec![("line", &it.line), ("load", &it.load)],
            Self::Switch(it) => (it.positions.iter())
                .flat_map(|position| position.joins.iter().flatten())
                .map(|terminal| ("positions", terminal))
                .collect(),
            Self::Coil(it) => vec![("a", &it.a), ("b", &it.b)],
            Self::Contact(it) => vec![("a", &it.a), ("b", &it.b)],
            Self::Diode(it) => vec![("anode", &it.anode), ("cathode", &it.cathode)],
            Self::Bar(it) => it.terminals.iter().map(|t| ("terminals", t)).collect(),
            Self::Shunt(it) => vec![("a", &it.a), ("b", &it.b)],
            Self::Resistor(it) => vec![("a", &it.a), ("b", &it.b)],
            Self::Jack(it) => {
                let tip = it.tip.iter().map(|terminal| ("tip", terminal));
                let ring = it.ring.iter().map(|terminal| ("ring", terminal));
                tip.chain(ring).chain([("sleeve", &it.sleeve)]).collect()
            }
            Self::Mate(it) => vec![("a", &it.a), ("b", &it.b)],
            Self::StructureTie(it) => vec![("terminal", &it.terminal)],
            Self::OverVoltage(it) => vec![("plus", &it.plus), ("minus", &it.minus)],
        }
    }

    /// Calls `each` with every terminal of the element.
    pub fn each_terminal_mut(&mut self, each: &mut dyn FnMut(&mut TerminalId)) {
        let mut all = |terminals: &mut [&mut TerminalId]| {
            for terminal in terminals {
                each(terminal);
            }
        };
        match self {
            Self::Load(it) => all(&mut [&mut it.plus, &mut it.minus]),
            Self::Battery(it) => all(&mut [&mut it.plus, &mut it.minus]),
            Self::Alternator(it) => {
                all(&mut [&mut it.plus, &mut it.minus]);
                it.field.iter_mut().for_each(each);
            }
            Self::Protector(it) => all(&mut [&mut it.line, &mut it.load]),
            Self::Switch(it) => (it.positions.iter_mut())
                .flat_map(|position| position.joins.iter_mut().flatten())
                .for_each(each),
            Self::Coil(it) => all(&mut [&mut it.a, &mut it.b]),
            Self::Contact(it) => all(&mut [&mut it.a, &mut it.b]),
            Self::Diode(it) => all(&mut [&mut it.anode, &mut it.cathode]),
            Self::Bar(it) => it.terminals.iter_mut().for_each(each),
            Self::Shunt(it) => all(&mut [&mut it.a, &mut it.b]),
            Self::Resistor(it) => all(&mut [&mut it.a, &mut it.b]),
            Self::Jack(it) => {
                let ends = it.tip.iter_mut().chain(&mut it.ring);
                ends.chain([&mut it.sleeve]).for_each(each);
            }
            Self::Mate(it) => all(&mut [&mut it.a, &mut it.b]),
            Self::StructureTie(it) => all(&mut [&mut it.terminal]),
            Self::OverVoltage(it) => all(&mut [&mut it.plus, &mut it.minus]),
        }
    }

    /// Its current rating, A, if its kind has one and it is set.
    pub fn rating_a(&self) -> Option<f64> {
        match self {
            Self::Protector(it) => it.rating_a,
            Self::Switch(it) => it.rating_a,
            Self::Contact(it) => it.rating_a,
            Self::Diode(it) => it.rating_a,
            _ => None,
        }
    }

    /// Its current rating, A, to be changed; `None` for a kind without one.
    pub fn rating_mut(&mut self) -> Option<&mut Option<f64>> {
        match self {
            Self::Protector(it) => Some(&mut it.rating_a),
            Self::Switch(it) => Some(&mut it.rating_a),
            Self::Contact(it) => Some(&mut it.rating_a),
            Self::Diode(it) => Some(&mut it.rating_a),
            _ => None,
        }
    }

    /// The numbers of the element, with field name and allowed range.
    pub fn numbers(&self) -> Vec<(&'static str, f64, Bound)> {
        use Bound::{NotNegative, Positive, Share};
        let mut all = Vec::new();
        let mut put = |field, value: Option<f64>, bound| {
            all.extend(value.map(|value| (field, value, bound)));
        };
        let amps = |figure: &Option<Figure>| figure.as_ref().map(|figure| figure.amps);
        match self {
            Self::Load(it) => {
                put("continuous_a", amps(&it.continuous_a), NotNegative);
                put("intermittent_a", amps(&it.intermittent_a), NotNegative);
                put("duty", it.duty, Share);
                put("peak_a", amps(&it.peak_a), NotNegative);
                put("at_v", Some(it.at_v), Positive);
                put("cutoff_v", it.cutoff_v, NotNegative);
            }
            Self::Battery(it) => {
                put("emf_v", Some(it.emf_v), Positive);
                put("ohm", Some(it.ohm), Positive);
                put("charge_ohm", it.charge_ohm, Positive);
                put("capacity_ah", it.capacity_ah, Positive);
                put("opens_above_a", it.opens_above_a, Positive);
                put("opens_slowly_above_a", it.opens_slowly_above_a, Positive);
                put("opens_below_v", it.opens_below_v, Positive);
                put("opens_above_v", it.opens_above_v, Positive);
                put("charge_limit_a", it.charge_limit_a, Positive);
            }
            Self::Alternator(it) => {
                put("set_v", Some(it.set_v), Positive);
                put("ohm", Some(it.ohm), Positive);
                put("limit_a", Some(it.limit_a), Positive);
            }
            Self::Protector(it) => {
                put("rating_a", it.rating_a, Positive);
                put("ohm", it.ohm, NotNegative);
                put("trip_s", it.trip_s, Positive);
            }
            Self::Switch(it) => {
                put("ohm", it.ohm, NotNegative);
                put("rating_a", it.rating_a, Positive);
            }
            Self::Coil(it) => {
                put("ohm", Some(it.ohm), Positive);
                put("pull_in_v", Some(it.pull_in_v), Positive);
                put("drop_out_v", Some(it.drop_out_v), NotNegative);
            }
            Self::Contact(it) => {
                put("ohm", it.ohm, NotNegative);
                put("rating_a", it.rating_a, Positive);
            }
            Self::Diode(it) => {
                put("vf_v", Some(it.vf_v), NotNegative);
                put("ohm", Some(it.ohm), Positive);
                put("rating_a", it.rating_a, Positive);
            }
            Self::Shunt(it) => put("ohm", Some(it.ohm), Positive),
            Self::Resistor(it) => put("ohm", Some(it.ohm), Positive),
            Self::Mate(it) => put("ohm", it.ohm, NotNegative),
            Self::StructureTie(it) => put("ohm", it.ohm, NotNegative),
            Self::OverVoltage(it) => put("trip_v", it.trip_v, Positive),
            Self::Jack(it) => put("hole_mm", it.hole_mm, Positive),
            Self::Bar(_) => {}
        }
        all
    }
}

impl Reserve {
    /// Its numbers, as [`ElementKind::numbers`], without those not set.
    pub fn numbers(&self) -> impl Iterator<Item = (&'static str, f64, Bound)> {
        let all = [
            ("charge_factor", self.charge_factor, Bound::Share),
            ("age_factor", self.age_factor, Bound::Share),
            ("rate_factor", self.rate_factor, Bound::Share),
            (
                "temperature_factor",
                self.temperature_factor,
                Bound::Positive,
            ),
            ("peukert", self.peukert, Bound::Positive),
            ("rated_h", self.rated_h, Bound::Positive),
            ("empty_ohm", self.empty_ohm, Bound::Positive),
            ("cutoff_v", self.cutoff_v, Bound::Positive),
        ];
        all.into_iter()
            .filter_map(|(field, value, bound)| Some((field, value?, bound)))
    }
}
