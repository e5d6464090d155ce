//! A wire carries more than its size and insulation allow.

use petgraph::graph::EdgeIndex;

use crate::{
    ids::{RouteId, WireId},
    netlist::EdgeKind,
    order::Map,
    rules::{Report, prelude::*},
    solve::{Figures, OperatingPoint},
    standards::{
        bundle::{
            ALTITUDE_SOURCE, BUNDLE_SOURCE, Surroundings, allowed_a, altitude_factor,
            bundle_factor, loaded,
        },
        free_air, wire_table,
    },
    units::Gauge,
};

/// The rule.
pub const RULE: Rule = Rule {
    slug: "wire-over-rating",
    title: "Wire over its current rating",
    level: Level::Fault,
    why: "A hot wire ages its own insulation and that of its neighbors in the bundle, and drops more \
          voltage than the cold figures say.",
    sources: &[
        wire_table::SOURCE,
        free_air::SOURCE,
        BUNDLE_SOURCE,
        ALTITUDE_SOURCE,
    ],
    reads: Reads::ALL,
    check,
};

/// Air temperature around wires where the project sets none, °C (AC 43.13-1B Table 11-9, note 1).
const AMBIENT_C: f64 = 70.0;
/// Altitude where the project sets none, ft (common practice, no source).
const ALTITUDE_FT: f64 = 20_000.0;
/// How well a solved current is known, A (tolerance of the worked networks in the tests).
const SOLVED_TO_A: f64 = 1e-6;

fn check(facts: &Facts<'_>, out: &mut Findings<'_, '_>) {
    let points: Vec<_> = facts
        .judged()
        .filter(|point| point.figures == Figures::Continuous && facts.cranking_a(point).is_none())
        .collect();
    let worst = |edge: EdgeIndex| {
        let amps = points
            .iter()
            .filter_map(|point| Some((point.edge_amps(edge)?.abs(), *point)));
        amps.max_by(|a, b| a.0.total_cmp(&b.0))
    };
    let bundles = bundles(facts, |edge| worst(edge).map_or(0.0, |it| it.0));
    for (id, wire, at) in facts.wires() {
        let EdgeKind::Wire {
            gauge,
            conductor: ConductorKind::Copper,
            ..
        } = facts.netlist().graph[at.edge].kind
        else {
            continue;
        };
        let worst = worst(at.edge);
        let Some((amps, point)) = worst else {
            out.not_checked(id, "its current could not be solved in any state");
            continue;
        };
        let Some(gauge) = gauge else {
            out.not_checked(id, format!("the gauge of {} is missing", facts.label(id)));
            continue;
        };
        let insulation_c = facts.document.insulation_c(wire);
        let rated_a = match (insulation_c, wire_table::find(gauge)) {
            (Some(insulation_c), Some(row)) => row.amps(insulation_c),
            _ => None,
        };
        let (Some(rated_a), Some(insulation_c)) = (rated_a, insulation_c) else {
            let because = match insulation_c {
                None => format!("the insulation rating of {} is missing", facts.label(id)),
                Some(c) => {
                    format!("Table 11-9 has no rating for {gauge} AWG with {c} °C insulation")
                }
            };
            out.not_checked(id, because);
            continue;
        };
        let air_c = facts.document.project.ambient_c.unwrap_or(AMBIENT_C);
        if air_c >= insulation_c {
            out.finding(id)
                .says(format!(
                    "{} has {insulation_c} °C insulation, and the air around wires is {air_c} °C",
                    facts.label(id)
                ))
                .limit(air_c, insulation_c, "°C")
                .help(
                    "use insulation for that heat, or correct the air temperature of the project",
                );
            continue;
        }
        let unknown = wire.route.iter().find_map(|route| {
            let bundle = bundles.get(&route)?;
            let full = Surroundings {
                loaded: 1.0,
                ..bundle.around
            };
            let holds = allowed_a(gauge, insulation_c, full).is_none_or(|most_a| amps <= most_a);
            bundle.unknown.filter(|it| *it != id && !holds)
        });
        if let Some(around) = fullest(&bundles, wire) {
            let is_clear = allowed_a(gauge, insulation_c, around)
                .is_some_and(|most_a| amps <= most_a + SOLVED_TO_A);
            if let (true, Some(other)) = (is_clear, unknown) {
                out.not_checked(
                    id,
                    format!(
                        "the gauge or the insulation rating of {}, in its bundle, is missing",
                        facts.label(other)
                    ),
                );
                continue;
            }
            in_bundle(facts, out, id, (gauge, insulation_c), (amps, point), around);
            continue;
        }
        let cooled = cooled(air_c, insulation_c);
        let rated_a = rated_a * cooled;
        if amps <= rated_a + SOLVED_TO_A {
            out.clear(id);
            continue;
        }
        let alone_a = free_air::amps_max(gauge, insulation_c).map(|amps| amps * cooled);
        let level = match alone_a {
            Some(alone_a) if amps <= alone_a => Level::Caution,
            _ => Level::Fault,
        };
        let limit_a = if level == Level::Caution {
            rated_a
        } else {
            alone_a.unwrap_or(rated_a)
        };
        let report = out
            .finding(id)
            .level(level)
            .says(format!(
                "{} {} {amps:.1} A in \"{}\"; {gauge} AWG with {insulation_c} °C insulation is \
                 good for {} A in a full bundle{}",
                facts.label(id),
                carries(point),
                facts.label(&point.state),
                figure(rated_a),
                alone_a.map_or(String::new(), |a| format!(", {a:.0} A alone in free air")),
            ))
            .limit(amps, limit_a, "A")
            .working(format!("{amps:.2} A {}", facts.currents_from(point)))
            .working("the table's rating is for 33 wires, 70 °C, 60,000 ft, a fifth of them loaded")
            .help("use thicker wire, or split the load over two circuits");
        let report = match cooled < 1.0 {
            true => report.working(format!("x {cooled:.2} for air of {air_c} °C: square root of ({insulation_c} - {air_c}) / ({insulation_c} - {AMBIENT_C})")),
            false => report,
        };
        mend(facts, report, id, |gauge| {
            let rated_a = wire_table::find(gauge)?.amps(insulation_c)?;
            Some(rated_a * cooled).filter(|it| *it >= amps)
        });
    }
}

/// Share of a rating for air of 70 °C that is left in hotter air: a wire's heat goes with the square of its current, and
/// leaves it with the temperature difference, as in [`free_air::amps_at`]. Cooler air counts as 70 °C, as in the table.
fn cooled(air_c: f64, insulation_c: f64) -> f64 {
    let warmer_by = insulation_c - air_c.max(AMBIENT_C);
    (warmer_by / (insulation_c - AMBIENT_C)).max(0.0).sqrt()
}

/// A rating as the table prints it, or with one decimal if it is not from the table.
fn figure(amps: f64) -> String {
    match amps.fract() == 0.0 || (2.0 * amps).fract() == 0.0 {
        true => format!("{amps}"),
        false => format!("{amps:.1}"),
    }
}

/// Offers the thinnest size that carries the current.
fn mend(
    facts: &Facts<'_>,
    report: Report<'_, '_>,
    id: &WireId,
    carries: impl Fn(Gauge) -> Option<f64>,
) {
    if let Some(gauge) = Gauge::ALL
        .into_iter()
        .find(|gauge| carries(*gauge).is_some())
    {
        let change = facts.change_wire(id, |wire| wire.gauge_awg = Some(gauge));
        report.mend(format!("Make it {gauge} AWG"), MendKind::Ask, change);
    }
}

/// The wires on a route.
struct Bundle<'d> {
    /// How many there are, and what part of the capacity of those that are known is in use.
    around: Surroundings,
    /// One that carries current and whose gauge or insulation rating is not set: it may use more.
    unknown: Option<&'d WireId>,
}

/// Every route with wires: how many there are, and what part of its capacity is in use.
fn bundles<'d>(facts: &Facts<'d>, amps: impl Fn(EdgeIndex) -> f64) -> Map<&'d RouteId, Bundle<'d>> {
    let project = &facts.document.project;
    let alone = Surroundings {
        ambient_c: project.ambient_c.unwrap_or(AMBIENT_C),
        altitude_ft: project.altitude_ft.unwrap_or(ALTITUDE_FT),
        wires: 0,
        loaded: 0.0,
    };
    let mut sums: Map<&RouteId, (usize, f64, f64)> = Map::new();
    let mut unknown: Map<&RouteId, &WireId> = Map::new();
    for (id, wire, at) in facts.wires() {
        if wire.route.is_empty() {
            continue;
        }
        let around = Surroundings { wires: 1, ..alone };
        let most_a = (facts.document)
            .insulation_c(wire)
            .zip(wire.gauge_awg)
            .and_then(|(c, gauge)| allowed_a(gauge, c, around));
        for route in &wire.route {
            let sum = sums.or_default(route);
            sum.0 += 1;
            let size = facts.document.insulation_c(wire).zip(wire.gauge_awg);
            if size.is_none() && amps(at.edge) > SOLVED_TO_A {
                unknown.insert(route, id);
            }
            if let Some(most_a) = most_a {
                sum.1 += amps(at.edge);
                sum.2 += most_a;
            }
        }
    }
    let bundle = |(route, (wires, used_a, most_a)): (&&'d RouteId, &(usize, f64, f64))| {
        let loaded = loaded(*wires, *used_a, *most_a);
        let around = Surroundings {
            wires: *wires,
            loaded,
            ..alone
        };
        let unknown = unknown.get(route).copied();
        (*route, Bundle { around, unknown })
    };
    sums.iter().map(bundle).collect()
}

/// The bundle on a wire's route with the lowest allowed current.
fn fullest(bundles: &Map<&RouteId, Bundle<'_>>, wire: &Wire) -> Option<Surroundings> {
    let routes = wire.route.iter();
    let around = routes.filter_map(|route| Some(bundles.get(&route)?.around));
    around.min_by(|a, b| {
        let factor = |it: &Surroundings| bundle_factor(it.wires, it.loaded);
        factor(a).total_cmp(&factor(b))
    })
}

fn in_bundle(
    facts: &Facts<'_>,
    out: &mut Findings<'_, '_>,
    id: &WireId,
    (gauge, insulation_c): (Gauge, f64),
    (amps, point): (f64, &OperatingPoint),
    around: Surroundings,
) {
    let label = facts.label(id);
    let Some(most_a) = allowed_a(gauge, insulation_c, around) else {
        out.not_checked(
            id,
            format!(
                "there is no free-air figure for {gauge} AWG with {insulation_c} °C insulation"
            ),
        );
        return;
    };
    if amps <= most_a + SOLVED_TO_A {
        out.clear(id);
        return;
    }
    let report = out
        .finding(id)
        .says(format!(
            "{label} {} {amps:.1} A in \"{}\"; in its bundle {gauge} AWG with {insulation_c} °C \
             insulation may carry {most_a:.1} A",
            carries(point),
            facts.label(&point.state)
        ))
        .limit(amps, most_a, "A")
        .working(format!("{amps:.2} A {}", facts.currents_from(point)))
        .working(format!(
            "free air x {:.2} for {} wires with up to {:.0} % of their capacity in use x {:.2} for {:.0} ft; air \
             of {:.0} °C",
            bundle_factor(around.wires, around.loaded),
            around.wires,
            around.loaded * 100.0,
            altitude_factor(around.altitude_ft),
            around.altitude_ft,
            around.ambient_c
        ))
        .help("use thicker wire, or lead it in another bundle");
    mend(facts, report, id, |gauge| {
        allowed_a(gauge, insulation_c, around).filter(|it| *it >= amps)
    });
}

fn carries(point: &OperatingPoint) -> &'static str {
    match point.is_asked {
        true => "is asked to carry",
        false => "carries",
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::units::Gauge;
    use crate::{
        document::{Extra, Origins, Route},
        rules,
        testing::{check_mend, check_rule, document},
    };

    const PLAIN: &str = "
        battery BT1 emf=13.8 ohm=0.001
        load X 5.1 law=current
        wire A BT1.+ X.+ 22 0.5m rated=150 #! wire-over-rating
        wire B X.- BT1.- 20 0.5m rated=150
    ";

    /// A load through 12 AWG in one route with some others that carry the same.
    fn bundled(others: usize, amps: f64) -> crate::rules::Verdict {
        bundle_of(&vec![amps; others + 1], "rated=200")
    }

    /// Loads through 12 AWG in one route, and how the insulation of the last wire is given.
    fn bundle_of(amps: &[f64], last: &str) -> crate::rules::Verdict {
        let mut text =
            String::from("place A metal\nplace B metal\nbattery BT1 emf=13.8 ohm=0.0001\n");
        let others = amps.len() - 1;
        for (n, amps) in amps.iter().enumerate() {
            let rated = if n == others { last } else { "rated=200" };
            text += &format!(
                "load X{n} {amps} law=current\nwire P{n} BT1.+ X{n}.+ 12 1m {rated}\nwire N{n} X{n}.- BT1.- 2 1m rated=200\n"
            );
        }
        let mut document = document(&text);
        (document.project.ambient_c, document.project.altitude_ft) = (Some(60.0), Some(20_000.0));
        let route = Route {
            title: "tunnel".into(),
            from: "A".into(),
            to: "B".into(),
            length_m: Some(1.0),
            origins: Origins::default(),
            extra: Extra::new(),
        };
        document.routes.insert("tunnel".into(), route);
        for n in 0..=others {
            let wire = document.wires.get_mut(format!("P{n}").as_str());
            wire.expect("a wire").route = vec!["tunnel".into()];
        }
        rules::run(&rules::Facts::new(&document), &[&RULE])
    }

    /// Twelve of 12 AWG, 200 °C, air of 60 °C, 20,000 ft, all in use: 23.8 A each (FAA-H-8083-31 ch. 9,
    /// from memory, from 61 A in free air; our free-air model with its margin has 56.8 A: 22.2 A).
    #[test]
    fn finds_a_full_bundle_and_accepts_a_small_one() {
        let verdict = bundled(11, 23.0);
        assert_eq!(verdict.findings.len(), 12);
        let limit = verdict.findings[0].limit.expect("a limit");
        assert!((limit - 23.8).abs() < 0.1 * 23.8, "{limit}");
        assert_eq!(bundled(1, 23.0).findings, []);
        assert_eq!(bundled(11, 5.0).findings, []);
    }

    /// What a wire of unknown insulation uses of a bundle's capacity is not known. Eleven known wires use little of it;
    /// in a full bundle 22.2 A would be allowed.
    #[test]
    fn a_bundle_with_a_wire_of_unknown_insulation_is_not_cleared() {
        let mut amps = vec![0.1; 12];
        (amps[0], amps[11]) = (23.0, 23.0);
        assert_eq!(bundle_of(&amps, "rated=200").findings, []);
        let verdict = bundle_of(&amps, "");
        assert_eq!(verdict.findings, []);
        let told = verdict.not_checked.iter().map(|it| it.because.as_str());
        let in_bundle = "the gauge or the insulation rating of P11, in its bundle, is missing";
        let told: Vec<&str> = told.filter(|it| *it == in_bundle).collect();
        assert_eq!(told.len(), 1, "{:?}", verdict.not_checked);
    }

    #[test]
    fn finds_more_than_the_table_allows() {
        // AC 43.13-1B CHG 1, Table 11-9: 22 AWG, 150 °C: 5 A; 20 AWG: 7 A.
        let verdict = check_rule(&RULE, PLAIN);
        assert_eq!(verdict.findings[0].limit, Some(5.0));
    }

    /// 22 AWG, 150 °C: 5 A in air of 70 °C (Table 11-9); in air of 110 °C half the difference, so 5 x 0.707.
    #[test]
    fn hot_air_lowers_the_rating_of_a_wire_that_lies_alone() {
        let text = PLAIN
            .replace("5.1", "4")
            .replace(" #! wire-over-rating", "");
        let mut document = document(&text);
        let found = |document: &crate::document::Document| {
            rules::run(&rules::Facts::new(document), &[&RULE]).findings
        };
        assert_eq!(found(&document), []);
        document.project.ambient_c = Some(110.0);
        let hot = found(&document);
        assert_eq!(hot.len(), 1, "{hot:?}");
        assert!(
            (hot[0].limit.expect("a limit") - 5.0 / 2.0_f64.sqrt()).abs() < 1e-9,
            "{hot:?}"
        );
        document.project.ambient_c = Some(160.0);
        let too_hot = found(&document);
        assert_eq!(too_hot.len(), 2, "{too_hot:?}");
        assert_eq!(
            too_hot[0].message,
            "A has 150 °C insulation, and the air around wires is 160 °C"
        );
    }

    #[test]
    fn accepts_exactly_the_rating() {
        let text = PLAIN
            .replace("5.1", "5.0")
            .replace(" #! wire-over-rating", "");
        check_rule(&RULE, &text);
    }

    #[test]
    fn not_checked_without_an_insulation_rating() {
        let text = PLAIN.replace("rated=150 #!", "#?");
        check_rule(&RULE, &text);
    }

    #[test]
    fn the_mend_is_the_thinnest_wire_that_carries_it() {
        // Table 11-9, 150 °C: 22 AWG 5 A, 20 AWG 7 A.
        let after = check_mend(&RULE, PLAIN);
        assert_eq!(after.wires["A"].gauge_awg, Some(Gauge(20)));
    }
}
