//! The table of published values and worked examples, `published.md`: each row is computed again, must
//! be within the allowed difference, and must be in the file as computed.

use std::fs;

use loomwright_core::{
    netlist::BOND_OHM,
    noise::ripple::{below_db, frequency_hz, induced_v, mutual_h},
    rules::power::always_hot::PROTECTED_A,
    standards::{
        bundle::{altitude_factor, bundle_factor},
        conductor_heat::{
            Rated, balanced_c, bears_s, hot_length_m, mm2_of_cmil, short_a2s, steady_c,
        },
        drop_limits::{FEEDER_SHARE, drop_limit},
        opening_time::{blade, thermal_s},
        protection_chart::{breaker_a, fuse_a},
        stud::TERMINALS_MAX,
        switch_factor::{Switched, factor},
        wire_table::{copper_ohm_per_m, find},
    },
    units::{Gauge, M_PER_FT},
};
use loomwright_tests::top;

use crate::network_cases::largest_difference;

/// Keys of tables that were typed twice: here, and in `core/src/standards`.
const TYPED_TWICE: [&str; 9] = [
    "wire",
    "protection",
    "switch",
    "drop_limit",
    "feeder",
    "always_hot",
    "stud",
    "bond",
    "blade",
];

/// A number as the table shows it: six digits, no more than needed.
fn shown(value: f64) -> String {
    let digits = match value.abs() {
        v if v < 1e-12 => return "0".into(),
        v if v < 1e-4 => return format!("{value:.1e}"),
        v => (5.0 - v.log10().floor()).clamp(0.0, 8.0) as usize,
    };
    let text = format!("{value:.digits$}");
    match text.contains('.') {
        true => text.trim_end_matches('0').trim_end_matches('.').to_owned(),
        false => text,
    }
}

/// The computed value for a key.
fn ours(key: &str) -> Option<f64> {
    let mut words = key.split('/');
    let what = words.next()?;
    let words: Vec<&str> = words.collect();
    let n = |at: usize| words.get(at).and_then(|it| it.parse::<f64>().ok());
    let gauge = || Some(Gauge(words.first()?.parse().ok()?));
    let rated = || {
        Some(Rated {
            ambient_c: n(0)?,
            rating_c: n(1)?,
            max_a: n(3)?,
        })
    };
    let drop_v = |gauge: Gauge, length_m: f64, amps: f64, conductor_c: f64| {
        copper_ohm_per_m(gauge, conductor_c) * length_m * amps
    };
    Some(match what {
        "wire" => {
            let row = find(gauge()?)?;
            match words[1] {
                "105" => row.amps_105c,
                "150" => row.amps_150c,
                "200" => row.amps_200c,
                "ohm" => row.ohm_per_kft,
                _ => row.circular_mil,
            }
        }
        "protection" if words[1] == "breaker" => breaker_a(gauge()?)?,
        "protection" => fuse_a(gauge()?)?,
        "switch" => {
            let load = match words[1] {
                "lamp" => Switched::Lamp,
                "inductive" => Switched::Inductive,
                "resistive" => Switched::Resistive,
                _ => Switched::Motor,
            };
            factor(n(0)?, load)?
        }
        "drop_limit" => drop_limit(n(0)?)?.continuous_v,
        "feeder" => FEEDER_SHARE * n(0)?,
        "always_hot" => PROTECTED_A,
        "stud" => TERMINALS_MAX as f64,
        "bond" => BOND_OHM * 1e3,
        "drop" => drop_v(gauge()?, n(1)? * M_PER_FT, n(2)?, 20.0),
        "hot_drop" => drop_v(gauge()?, n(1)?, n(2)?, n(3)?),
        "size" => {
            let limit_v = drop_limit(n(2)?)?.continuous_v;
            let (length_m, amps) = (n(0)? * M_PER_FT, n(1)?);
            let sizes = [10, 8, 6].map(Gauge);
            let fits = |gauge: &Gauge| drop_v(*gauge, length_m, amps, 20.0) <= limit_v;
            f64::from(sizes.into_iter().find(fits)?.0)
        }
        "altitude" => altitude_factor(n(0)?),
        "bundle" => bundle_factor(n(0)? as usize, n(1)?),
        "ampacity" => n(0)? * bundle_factor(n(1)? as usize, n(2)?) * altitude_factor(n(3)?),
        "steady" => steady_c(rated()?, n(2)?),
        "balanced" => balanced_c(rated()?, n(2)?)?,
        "hot_length" => hot_length_m(n(0)?, n(1)?),
        "a2s" => short_a2s(mm2_of_cmil(n(0)?), n(1)?, n(2)?),
        "bears" => bears_s(n(0)?, n(1)?, n(2)?),
        "blade" => match words[2] {
            "earliest" => blade(n(0)?, n(1)?).earliest_s,
            _ => blade(n(0)?, n(1)?).latest_s,
        },
        "thermal" => thermal_s(n(0)?, n(1)?, n(2)?)?,
        "ripple_hz" => frequency_hz(n(0)?, n(1)?),
        "db" => below_db(n(0)?, n(1)?)?,
        "mutual" => mutual_h(n(0)?, n(1)?, n(2)?) * 1e6,
        "induced" => induced_v(n(0)?, n(1)?) * 1e3,
        "network" => largest_difference(words[0]),
        _ => return None,
    })
}

#[test]
fn every_published_value_comes_out() {
    let path = top().join("tests/published.md");
    let text = fs::read_to_string(&path).expect("the table");
    let mut computed = String::new();
    let (mut rows, mut exact, mut typed) = (0, 0, 0);
    for line in text.lines() {
        let cells: Vec<&str> = line.split('|').map(str::trim).collect();
        let published = cells.get(5).and_then(|it| it.parse::<f64>().ok());
        let Some(published) = published else {
            computed += &format!("{line}\n");
            continue;
        };
        let [_, key, place, what, unit, printed, allowed, ..] = cells[..] else {
            panic!("a row of eight cells, not {line}")
        };
        let ours = ours(key).unwrap_or_else(|| panic!("no computation for {key}"));
        let most: f64 = allowed.parse().expect("the tolerance is a number");
        let difference = ours - published;
        assert!(
            difference.abs() <= most + 1e-12,
            "{place}, {what}: {ours} {unit}, published {published}"
        );
        rows += 1;
        typed += usize::from(TYPED_TWICE.contains(&key.split('/').next().unwrap_or(key)));
        exact += usize::from(difference.abs() < 1e-12);
        let (ours, difference) = match key.starts_with("network/") {
            // Rounding noise differs from machine to machine.
            true => ("under 1e-6".to_owned(), String::new()),
            false => (shown(ours), shown(difference)),
        };
        computed += &format!(
            "| {key} | {place} | {what} | {unit} | {printed} | {allowed} | {ours} | {difference} |\n"
        );
    }
    println!("{rows} published values, {exact} of them matched exactly");
    assert!(rows > 170, "{rows} rows");
    let counts = format!(
        "Of the {rows} rows, {typed} are tables that were typed twice, once here and once in `core/src/standards`; {} are \
         computed.",
        rows - typed
    );
    assert!(text.contains(&counts), "the file says otherwise: {counts}");
    if loomwright_tests::is_writing() {
        fs::write(&path, &computed).expect("the table can be written");
    }
    assert!(
        computed == text,
        "the table differs from what is computed; write it with LOOMWRIGHT_WRITE=1"
    );
}
