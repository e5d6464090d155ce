//! Required switch rating over load current (FAA AC 43.13-1B, Table 11-4).

use crate::sources::{AC_43_13_1B_1998, Source, cite};

/// Source of the table.
pub const SOURCE: Source = cite(AC_43_13_1B_1998, "par 11-53f, Table 11-4, p. 11-17");

/// Load type of a switch.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Switched {
    /// A lamp with a filament.
    Lamp,
    /// A relay or solenoid.
    Inductive,
    /// A heater.
    Resistive,
    /// A motor.
    Motor,
}

/// Rating over continuous current at a nominal system voltage: 14 V (the table's 12 V) or 28 V.
/// `None` for any other.
pub fn factor(nominal_v: f64, load: Switched) -> Option<f64> {
    let [lamp, inductive, resistive, motor] = match nominal_v {
        14.0 => [5.0, 2.0, 1.0, 2.0],
        28.0 => [8.0, 4.0, 2.0, 3.0],
        _ => return None,
    };
    Some(match load {
        Switched::Lamp => lamp,
        Switched::Inductive => inductive,
        Switched::Resistive => resistive,
        Switched::Motor => motor,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn values_as_printed() {
        let row = |v| {
            [
                Switched::Lamp,
                Switched::Inductive,
                Switched::Resistive,
                Switched::Motor,
            ]
            .map(|it| factor(v, it))
        };
        assert_eq!(row(28.0), [Some(8.0), Some(4.0), Some(2.0), Some(3.0)]);
        assert_eq!(row(14.0), [Some(5.0), Some(2.0), Some(1.0), Some(2.0)]);
        assert_eq!(factor(24.0, Switched::Lamp), None);
    }
}
