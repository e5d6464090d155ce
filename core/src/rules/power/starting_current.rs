//! A breaker or fuse that may open when its lamps and motors start.

use petgraph::graph::EdgeIndex;

use crate::{
    analysis::shorts::CARRIES,
    netlist::{EdgeKind, EdgeOf, LoadFigures},
    rules::prelude::*,
    standards::opening_time::{BLADE_SOURCE, blade, thermal_s},
};

/// The rule.
pub const RULE: Rule = Rule {
    slug: "starting-current",
    title: "Starting current may open the breaker or fuse",
    level: Level::Note,
    why: "A cold filament draws many times its current for a moment, and a motor several times while it \
          runs up. A breaker or fuse sized for the steady current may open at each start, or age and \
          open one day.",
    sources: &[
        cite(
            AC_43_13_1B_1998,
            "par 11-53, cold filaments up to fifteen times; from memory",
        ),
        cite(
            COMMON_PRACTICE,
            "motors six times until they run, from memory",
        ),
        BLADE_SOURCE,
    ],
    reads: Reads::RATINGS,
    check,
};

/// Multiple of the steady current, and for how long, s (the times are our own choice: a filament is hot
/// after some hundredths of a second, a small motor runs after some tenths).
const LAMP: (f64, f64) = (15.0, 0.03);
const MOTOR: (f64, f64) = (6.0, 0.3);
/// Multiple of a blade fuse's rating up to which an earliest time is published; beyond, the square of the
/// current times the time is taken to stay (common practice, no source).
const LAST_EARLIEST: f64 = 3.5;

fn check(facts: &Facts<'_>, out: &mut Findings<'_, '_>) {
    let netlist = facts.netlist();
    for (load, figures) in netlist.loads() {
        let EdgeOf::Element(device, id, _) = netlist.of(load) else {
            continue;
        };
        let Some(ElementKind::Load(record)) = facts.element_of(load) else {
            continue;
        };
        let (times, for_s) = match record.sort {
            LoadSort::Lamp => LAMP,
            LoadSort::Motor => MOTOR,
            _ => continue,
        };
        let at = (device, id);
        let plus = netlist.ends(load).0;
        let path = facts.feeds().first_path(netlist, plus);
        let nearest = path.into_iter().flatten().rev().find_map(|edge| {
            let EdgeKind::Protector { rating_a, .. } = netlist.graph[edge].kind else {
                return None;
            };
            Some((edge, rating_a))
        });
        let Some((protector, rating_a)) = nearest else {
            out.clear(at);
            continue;
        };
        let Some(rating_a) = rating_a else {
            out.not_checked(at, facts.rating_missing(protector));
            continue;
        };
        let Some(steady_a) = steady_a(figures) else {
            out.not_checked(at, format!("the current of {} is missing", facts.label(at)));
            continue;
        };
        let starts_a = figures.peak_a.unwrap_or(times * steady_a);
        let multiple = starts_a / rating_a;
        let label = facts.label(Facts::subject_of(netlist.of(protector)));
        let Some(opens_s) = opens_s(facts, (protector, rating_a), multiple) else {
            out.not_checked(at, format!("the trip time of {label} is missing"));
            continue;
        };
        if opens_s >= for_s {
            out.clear(at);
            continue;
        }
        out.finding(at)
            .says(format!(
                "{} may open {label} at start: {starts_a:.0} A for {:.0} ms, {multiple:.1} times its \
                 rating of {rating_a} A",
                facts.label(at),
                for_s * 1e3
            ))
            .limit(starts_a, rating_a, "A")
            .working(format!("{label} opens in {:.0} ms at that current", opens_s * 1e3))
            .help("enter the load's peak current from its data sheet; fit a slower breaker or fuse, or a larger one if the wire allows it")
            .also(Facts::subject_of(netlist.of(protector)));
    }
}

fn steady_a(figures: &LoadFigures) -> Option<f64> {
    figures.continuous_a.or(figures.intermittent_a)
}

/// The shortest opening time at a multiple of the rating, s; none if the curve is not known. A breaker's
/// own trip time is used as given: for most breakers it is the slow end of a band.
fn opens_s(
    facts: &Facts<'_>,
    (protector, rating_a): (EdgeIndex, f64),
    multiple: f64,
) -> Option<f64> {
    let record = match facts.element_of(protector) {
        Some(ElementKind::Protector(it)) => Some(it),
        _ => None,
    };
    match record.map(|it| (it.style, it.trip_s)) {
        None | Some((ProtectorStyle::Fuse, None)) => {
            let beyond = multiple / multiple.min(LAST_EARLIEST);
            Some(blade(rating_a, multiple.min(LAST_EARLIEST)).earliest_s / beyond.powi(2))
        }
        Some((_, Some(trip_s))) => {
            Some(thermal_s(trip_s, CARRIES, multiple).unwrap_or(f64::INFINITY))
        }
        // Whatever its curve is, it carries its rating.
        Some((_, None)) if multiple <= 1.0 => Some(f64::INFINITY),
        Some((_, None)) => None,
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::testing::check_rule;

    fn fed(protector: &str, load: &str) -> String {
        format!(
            "battery BT1
             {protector}
             load LT1 {load}
             wire A BT1.+ P1.1 18 1m
             wire B P1.2 LT1.+ 18 1m
             wire N LT1.- BT1.- 18 1m"
        )
    }

    #[test]
    fn finds_a_filament_behind_a_quick_fuse() {
        let verdict = check_rule(&RULE, &fed("fuse P1 5", "4 sort=lamp #! starting-current"));
        assert_eq!(verdict.findings[0].measured, Some(60.0));
    }

    #[test]
    fn accepts_a_larger_fuse() {
        // 60 A is 4 times the rating: no fuse of the band opens in the 30 ms.
        check_rule(&RULE, &fed("fuse P1 15", "4 sort=lamp"));
    }

    #[test]
    fn not_checked_without_a_rating() {
        let verdict = check_rule(&RULE, &fed("fuse P1 ?", "4 sort=lamp #? starting-current"));
        assert_eq!(
            verdict.not_checked[0].because,
            "the rating of P1 is missing"
        );
    }

    #[test]
    fn a_breaker_needs_its_trip_time() {
        check_rule(
            &RULE,
            &fed("breaker P1 5", "4 sort=motor #? starting-current"),
        );
        check_rule(&RULE, &fed("breaker P1 5 trip=20", "4 sort=motor"));
    }
}
