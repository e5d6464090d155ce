//! Worked examples of wire size and voltage drop from FAA AC 43.13-1B CHG 1 (27 Sep 2001), computed
//! from our table and again by solving a drawn circuit.

use loomwright_core::{
    document::Document,
    solve::operate_all,
    standards::wire_table::copper_ohm_per_m,
    testing::document,
    units::{Gauge, M_PER_FT},
};

/// One printed example: so much wire, one way and back taken together, at so much current.
struct Example {
    awg: i8,
    length_ft: f64,
    amps: f64,
    /// Drop as the arithmetic gives it, V, to half the last digit the document prints.
    drop_v: f64,
    tolerance_v: f64,
    /// Longest length within the limit, ft, if the document asks for it.
    longest_ft: Option<(f64, f64)>,
    from: &'static str,
}

const EXAMPLES: [Example; 8] = [
    Example {
        awg: 6,
        length_ft: 107.0,
        amps: 20.0,
        drop_v: 0.942,
        tolerance_v: 0.0005,
        longest_ft: None,
        from: "Table 11-7, p. 11-22, first row: 0.942 V",
    },
    Example {
        awg: 4,
        length_ft: 90.0,
        amps: 20.0,
        drop_v: 0.504,
        tolerance_v: 0.0005,
        longest_ft: Some((0.5, 89.3)),
        from: "Table 11-7, p. 11-22, second row: 0.504 V, over its own limit of 0.5 V",
    },
    Example {
        awg: 12,
        length_ft: 88.0,
        amps: 20.0,
        drop_v: 3.555,
        tolerance_v: 0.0005,
        longest_ft: None,
        from: "Table 11-7, p. 11-22, third row: prints 3.60 V; (.00202)(88)(20) is 3.555",
    },
    Example {
        awg: 14,
        length_ft: 100.0,
        amps: 20.0,
        drop_v: 6.12,
        tolerance_v: 0.005,
        longest_ft: None,
        from: "Table 11-7, p. 11-22, fourth row: 6.12 V",
    },
    Example {
        awg: 10,
        length_ft: 39.0,
        amps: 20.0,
        drop_v: 0.98,
        tolerance_v: 0.005,
        longest_ft: Some((1.0, 39.7)),
        from: "Table 11-8, p. 11-22, first row: 0.98 V",
    },
    Example {
        awg: 10,
        length_ft: 19.5,
        amps: 20.0,
        drop_v: 0.491,
        tolerance_v: 0.0005,
        longest_ft: Some((0.5, 19.8)),
        from: "Table 11-8, p. 11-22, second row: prints .366 V; (.00126)(19.5)(20) is 0.491",
    },
    Example {
        awg: 10,
        length_ft: 156.0,
        amps: 20.0,
        drop_v: 3.93,
        tolerance_v: 0.005,
        longest_ft: Some((4.0, 158.7)),
        from: "Table 11-8, p. 11-22, third row: 3.93 V",
    },
    Example {
        awg: 10,
        length_ft: 273.0,
        amps: 20.0,
        drop_v: 6.88,
        tolerance_v: 0.005,
        longest_ft: Some((7.0, 277.8)),
        from: "Table 11-8, p. 11-22, fourth row: 6.88 V",
    },
];

/// A load on a run of wire at 20 °C, half of the length out and half back; the drop by branch currents.
fn solved_drop_v(awg: i8, length_ft: f64, amps: f64) -> f64 {
    let half_m = length_ft * M_PER_FT / 2.0;
    let mut circuit: Document = document(&format!(
        "battery BT1 emf=28 ohm=0.001
         load LT1 {amps} law=current
         wire OUT BT1.+ LT1.+ {awg} {half_m}m
         wire BACK LT1.- BT1.- {awg} {half_m}m"
    ));
    circuit.project.conductor_c = 20.0;
    let point = operate_all(&circuit).swap_remove(0);
    let drop = point.drop_to_load(&"LT1".into(), &"load".into());
    drop.expect("the load takes current").lost.wire_v
}

#[test]
fn drops_are_those_of_the_circular() {
    for example in &EXAMPLES {
        let Example {
            awg,
            length_ft,
            amps,
            drop_v,
            tolerance_v,
            longest_ft,
            from,
        } = *example;
        let ohm_per_ft = copper_ohm_per_m(Gauge(awg), 20.0) * M_PER_FT;
        let by_table = ohm_per_ft * length_ft * amps;
        assert!(
            (by_table - drop_v).abs() <= tolerance_v,
            "{from}: {by_table} V by the table"
        );
        let solved = solved_drop_v(awg, length_ft, amps);
        assert!(
            (solved - by_table).abs() < 1e-9,
            "{from}: {solved} V solved"
        );
        if let Some((limit_v, wanted_ft)) = longest_ft {
            let longest = limit_v / (ohm_per_ft * amps);
            assert!(
                (longest - wanted_ft).abs() <= 0.05,
                "{from}: longest {longest} ft"
            );
        }
    }
}

/// Par 11-66c, p. 11-26, example 1: 50 ft, 20 A continuous, 28 V: between No. 8 and No. 10, take No. 8.
#[test]
fn example_1_takes_number_8() {
    // 1 V: limit for continuous loads at 28 V, Table 11-6.
    assert!(solved_drop_v(10, 50.0, 20.0) > 1.0);
    assert!(solved_drop_v(8, 50.0, 20.0) <= 1.0);
}

/// P. 11-22 and par 11-66d(4): the length at conductor temperature T2 is 254.5 L1 / (234.5 + T2).
#[test]
fn hot_wire_may_be_shorter_by_the_printed_factor() {
    for conductor_c in [20.0, 50.0, 105.0, 150.0, 200.0] {
        let at = |c| copper_ohm_per_m(Gauge(14), c);
        let allowed = at(20.0) / at(conductor_c);
        assert!((allowed - 254.5 / (234.5 + conductor_c)).abs() < 1e-12);
    }
}
