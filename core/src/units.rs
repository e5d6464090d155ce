//! Quantities that need more than a unit in their name.

use std::fmt;

use serde::{Deserialize, Serialize};

/// Meters in one foot (exact, international foot).
pub const M_PER_FT: f64 = 0.3048;

/// American wire gauge. Sizes 24 to 1 are plain numbers; 1/0, 2/0, 3/0 and 4/0 are 0, -1, -2 and -3
/// (the `n` of the gauge formula, ASTM B258 basis).
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Serialize, Deserialize)]
#[cfg_attr(feature = "cli", derive(schemars::JsonSchema))]
#[serde(transparent)]
pub struct Gauge(pub i8);

impl Gauge {
    /// The sizes of AC 43.13-1B Table 11-9, thinnest first.
    pub const ALL: [Gauge; 17] = [
        Gauge(24),
        Gauge(22),
        Gauge(20),
        Gauge(18),
        Gauge(16),
        Gauge(14),
        Gauge(12),
        Gauge(10),
        Gauge(8),
        Gauge(6),
        Gauge(4),
        Gauge(2),
        Gauge(1),
        Gauge(0),
        Gauge(-1),
        Gauge(-2),
        Gauge(-3),
    ];

    /// True if this conductor is thinner than the other.
    pub fn is_thinner_than(self, other: Gauge) -> bool {
        self.0 > other.0
    }
}

impl Gauge {
    /// The size as typed: "20", "AWG 20", "20 ga", "2/0", "00".
    pub fn typed(text: &str) -> Option<Self> {
        let text = text.trim().to_ascii_lowercase();
        let bare = text.trim_start_matches("awg").trim();
        let bare = bare.trim_start_matches('#').trim_end_matches('.');
        let ends = ["awg", "gauge", "ga", "g"];
        let bare = ends
            .into_iter()
            .find_map(|end| bare.strip_suffix(end))
            .unwrap_or(bare)
            .trim();
        let zeros = bare.len() > 1 && bare.bytes().all(|it| it == b'0');
        let is = |gauge: &Self| match zeros {
            true => usize::from((1 - gauge.0).unsigned_abs()) == bare.len() && gauge.0 < 0,
            false => gauge.to_string() == bare || (bare == "0" && gauge.0 == 0),
        };
        Self::ALL.into_iter().find(is)
    }
}

/// A number as people type it, with a decimal point or comma; `None` if it is not a finite number.
pub fn number(text: &str) -> Option<f64> {
    let number: f64 = text.trim().replace(',', ".").parse().ok()?;
    number.is_finite().then_some(number)
}

/// A typed length, m: a bare number in the project's unit, feet or meters, or with its own unit:
/// "1.2 m", "120 cm", "4 ft", "14 in", 14".
pub fn length_m(text: &str, in_feet: bool) -> Option<f64> {
    let text = text.trim();
    let units = [
        ("mm", 0.001),
        ("cm", 0.01),
        ("m", 1.0),
        ("ft", M_PER_FT),
        ("in", M_PER_FT / 12.0),
        ("'", M_PER_FT),
        ("\"", M_PER_FT / 12.0),
    ];
    let with = |(unit, m): (&str, f64)| Some(number(text.strip_suffix(unit)?)? * m);
    let bare = || Some(number(text)? * if in_feet { M_PER_FT } else { 1.0 });
    units.into_iter().find_map(with).or_else(bare)
}

/// The unit in which a person reads lengths.
pub fn length_unit(in_feet: bool) -> &'static str {
    if in_feet { "ft" } else { "m" }
}

/// A length in the unit in which a person reads it.
pub fn in_length_unit(length_m: f64, in_feet: bool) -> f64 {
    if in_feet {
        length_m / M_PER_FT
    } else {
        length_m
    }
}

/// A length as a person reads it: "2.90 m", "9.51 ft".
pub fn length(length_m: f64, decimals: usize, in_feet: bool) -> String {
    let value = fixed(in_length_unit(length_m, in_feet), decimals);
    format!("{value} {}", length_unit(in_feet))
}

/// A number with so many decimals; zero has no sign.
pub fn fixed(value: f64, decimals: usize) -> String {
    let text = format!("{value:.decimals$}");
    match text.strip_prefix('-') {
        Some(bare) if bare.bytes().all(|it| it == b'0' || it == b'.') => bare.into(),
        _ => text,
    }
}

/// A difference with its sign: "+0.06", "-0.06", "0.00".
pub fn signed(value: f64, decimals: usize) -> String {
    let text = fixed(value, decimals);
    let is_more = !text.starts_with('-') && text.bytes().any(|it| (b'1'..=b'9').contains(&it));
    if is_more { format!("+{text}") } else { text }
}

impl fmt::Display for Gauge {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.0 {
            n if n <= 0 => write!(f, "{}/0", 1 - i32::from(n)),
            n => write!(f, "{n}"),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sizes_are_read_as_people_write_them() {
        for (text, size) in [
            ("20", 20),
            (" AWG 20", 20),
            ("20 AWG", 20),
            ("#18", 18),
            ("16ga", 16),
            ("22 GA.", 22),
            ("Awg #22", 22),
            ("#20 awg", 20),
            ("20 gauge", 20),
            ("2/0", -1),
            ("00", -1),
            ("0000", -3),
            ("0", 0),
            ("1/0", 0),
        ] {
            assert_eq!(Gauge::typed(text), Some(Gauge(size)), "{text}");
        }
        for text in [
            "",
            "19",
            "x",
            "20.0",
            "5/0",
            "00000",
            "0.34 mm²",
            "0,34",
            "2 mm²",
            "2.5mm2",
        ] {
            assert_eq!(Gauge::typed(text), None, "{text}");
        }
        for gauge in Gauge::ALL {
            assert_eq!(Gauge::typed(&gauge.to_string()), Some(gauge));
        }
    }

    #[test]
    fn lengths_are_read_with_and_without_a_unit() {
        for (text, in_feet, m) in [
            ("1.2", false, 1.2),
            ("10", true, 3.048),
            ("1,2 m", true, 1.2),
            ("120cm", false, 1.2),
            ("850 mm", false, 0.85),
            ("4 ft", false, 1.2192),
            ("14 in", false, 0.3556),
            ("14\"", false, 0.3556),
        ] {
            let found = length_m(text, in_feet).expect(text);
            assert!((found - m).abs() < 1e-12, "{text}: {found}");
        }
        assert_eq!(length_m("long", false), None);
    }

    #[test]
    fn lengths_are_shown_in_one_unit() {
        assert_eq!(length(2.9, 2, false), "2.90 m");
        assert_eq!(length(2.9, 2, true), "9.51 ft");
        assert_eq!(length(-0.001, 2, true), "0.00 ft");
    }

    #[test]
    fn zero_has_no_sign() {
        assert_eq!(fixed(-0.004, 2), "0.00");
        assert_eq!(fixed(-0.006, 2), "-0.01");
        assert_eq!(fixed(-0.0, 0), "0");
        let all = [0.06, -0.06, -0.004, 0.004].map(|it| signed(it, 2));
        assert_eq!(all, ["+0.06", "-0.06", "0.00", "0.00"]);
    }

    #[test]
    fn numbers_are_read_as_people_type_them() {
        for text in [
            "0",
            "-0.5",
            "+7",
            ".25",
            "-.5",
            "5.",
            "007.50",
            "1e3",
            "2.5E-2",
            "12345.678",
        ] {
            assert_eq!(number(text), text.parse().ok(), "{text}");
        }
        assert_eq!(number(" 2,5 "), Some(2.5));
        for text in [
            "", ".", "-", "1.2.3", "--1", "1e", "e5", "0x10", "1 2", "[1]", "3 m", "NaN", "1e999",
        ] {
            assert_eq!(number(text), None, "{text}");
        }
    }
}
