//! The voltage drop between bus and load is over its limit.

use petgraph::graph::EdgeIndex;

use crate::{
    analysis::LoadDrop,
    ids::{StateId, WireId},
    netlist::{EdgeKind, EdgeOf, LoadFigures},
    rules::{Subject, prelude::*, prove::currents::starting_a},
    solve::{Figures, Leg, OperatingPoint},
    standards::{
        conductor_heat::{BALANCE_SOURCE, Rated, balanced_c},
        drop_limits, wire_table,
    },
    units::Gauge,
};

/// The rule.
pub const RULE: Rule = Rule {
    slug: "drop-over-limit",
    title: "Voltage drop over limit",
    level: Level::Fault,
    why: "The unit gets less voltage than the bus has. Lamps go dim, motors slow down, radios transmit \
          weakly, and a unit near its lower limit drops out when the battery is already low.",
    sources: &[
        drop_limits::SOURCE,
        wire_table::SOURCE,
        wire_table::TEMPERATURE_SOURCE,
        BALANCE_SOURCE,
    ],
    reads: Reads::ALL,
    check,
};

/// Surroundings that the ratings of the table are for, °C (AC 43.13-1B Table 11-9, note 1).
const TABLE_C: f64 = 70.0;

/// No wire within its rating has twice the resistance once it is warm.
const NOT_TWICE: f64 = 2.0;

/// The worst moment of one load against one limit.
struct Worst {
    state: StateId,
    currents_from: String,
    is_asked: bool,
    drop: LoadDrop,
    drop_v: f64,
    /// The same with each wire at the temperature it gets to.
    warm_v: f64,
    limit_v: f64,
    intermittent: bool,
}

fn check(facts: &Facts<'_>, out: &mut Findings<'_, '_>) {
    let netlist = facts.netlist();
    for (edge, figures) in netlist.loads() {
        let EdgeOf::Element(device, element, _) = netlist.of(edge) else {
            continue;
        };
        judge(facts, out, edge, figures, Subject::Element(device, element));
    }
}

fn judge(
    facts: &Facts<'_>,
    out: &mut Findings<'_, '_>,
    load: EdgeIndex,
    figures: &LoadFigures,
    subject: Subject<'_>,
) {
    if figures
        .continuous_a
        .or(figures.intermittent_a)
        .or(figures.peak_a)
        .is_none()
    {
        return out.not_checked(subject, format!("{} has no current", facts.label(subject)));
    }
    let nominal_v = facts.document.project.nominal_v;
    let Some(limits) = drop_limits::drop_limit(nominal_v) else {
        return out.not_checked(
            subject,
            format!("no limit is published for a {nominal_v} V system"),
        );
    };
    // A current above the continuous one, or a load that has none, is a passing one.
    let intermittent =
        |point: &OperatingPoint| figures.continuous_a.is_none() || point.figures == Figures::Peak;
    let limit_v = |point: &OperatingPoint| match intermittent(point) {
        true => limits.intermittent_v,
        false => limits.continuous_v,
    };
    let points = || {
        let differ = facts.points_that_differ();
        differ.filter(|point| point.figures == Figures::Continuous || has_more(figures))
    };
    // Most loads are far below their limit in any phase: nothing more is computed.
    let mut any = false;
    let mut lost = points().filter_map(|point| Some((point.lost_to(load)?, limit_v(point))));
    let far_within = lost.all(|(lost, limit_v)| {
        any = true;
        !lost.unknown && lost.wire_v + lost.contact_v < limit_v / NOT_TWICE
    });
    if any && far_within {
        return out.clear(subject);
    }
    let moment = |point: &OperatingPoint| {
        let drop = point.drop_to(load)?;
        let (intermittent, limit_v) = (intermittent(point), limit_v(point));
        let drop_v = drop.lost.wire_v + drop.lost.contact_v;
        // What passes does not warm a wire.
        let warm_v = match intermittent || drop_v < limit_v / NOT_TWICE {
            true => drop_v,
            false => drop_v + warmth_v(facts, &drop, None),
        };
        Some(Worst {
            state: point.state.clone(),
            currents_from: facts.currents_from(point),
            is_asked: point.is_asked,
            drop,
            drop_v,
            warm_v,
            limit_v,
            intermittent,
        })
    };
    let worse = |a: &Worst, b: &Worst| (a.warm_v / a.limit_v).total_cmp(&(b.warm_v / b.limit_v));
    let worst = points().filter_map(moment).max_by(worse).or_else(|| {
        let working = facts.while_working(load)?;
        working.judged().filter_map(moment).max_by(worse)
    });
    let Some(worst) = worst else {
        return out.not_checked(
            subject,
            format!(
                "{} gets no current in any switch position",
                facts.label(subject)
            ),
        );
    };
    if let Some(wire) = worst.drop.unknown_lengths.first() {
        return out.not_checked(
            subject,
            format!(
                "{} of {} is missing",
                facts.document.unknown_of_wire(wire),
                facts.label(wire)
            ),
        );
    }
    if worst.warm_v <= worst.limit_v {
        return match unknown_warmth(facts, &worst) {
            Some(wire) => out.not_checked(
                subject,
                format!(
                    "the insulation rating of {} is missing, and with it how warm it gets",
                    facts.label(wire)
                ),
            ),
            None => out.clear(subject),
        };
    }
    report(facts, out, subject, &worst);
}

/// True if a load ever takes more than its continuous current.
fn has_more(figures: &LoadFigures) -> bool {
    let steady_a = figures.continuous_a.unwrap_or(0.0);
    [figures.intermittent_a, figures.peak_a]
        .into_iter()
        .flatten()
        .any(|amps| amps > steady_a)
}

fn report(facts: &Facts<'_>, out: &mut Findings<'_, '_>, subject: Subject<'_>, worst: &Worst) {
    let Worst {
        state,
        currents_from,
        is_asked,
        drop,
        drop_v,
        warm_v,
        limit_v,
        intermittent,
    } = worst;
    let how = if *intermittent {
        "intermittent,"
    } else {
        "continuous,"
    };
    let drops = if *is_asked { "would drop" } else { "drop" };
    let only_warm = drop_v <= limit_v;
    let (level, told_v, how) = match only_warm {
        true => (Level::Caution, warm_v, "with its wires warm,"),
        false => (Level::Fault, drop_v, how),
    };
    let mut report = out
        .finding(subject)
        .level(level)
        .says(format!(
            "{told_v:.2} V {drops} to {}, limit {limit_v} V: {how} between {} and {} at {:.2} A ({})",
            facts.label(subject),
            facts.node_label(drop.from),
            facts.node_label(drop.to),
            drop.amps,
            facts.label(state),
        ))
        .limit(*told_v, *limit_v, "V")
        .help(match shorter_m(facts, worst) {
            Some([now_m, fits_m]) => format!(
                "use thicker wire both ways, or shorten the round trip from {} to {}",
                facts.document.project.length(now_m, 1),
                facts.document.project.length(fits_m, 1)
            ),
            None => "use thicker wire both ways, and fewer contacts".into(),
        });
    report = report.working(format!("{:.2} A {currents_from}", drop.amps));
    for (legs, way) in [(&drop.out, "out"), (&drop.back, "back")] {
        for leg in legs {
            if let Some((wire, line)) = wire_line(facts, leg, way) {
                report = report.working(line).also(wire);
            }
        }
    }
    report = report.working(format!(
        "wires {:.2} V + contacts {:.2} V = {drop_v:.2} V; conductors at {} °C",
        drop.lost.wire_v, drop.lost.contact_v, facts.document.project.conductor_c
    ));
    if warm_v > drop_v {
        report = report.working(format!(
            "each wire as warm as its own current makes it, by heat balance and up to its rating: {warm_v:.2} V"
        ));
    }
    if let Some((gauge, change)) = thicker(facts, worst) {
        report.mend(
            format!("Make its wires {gauge} AWG both ways"),
            MendKind::Ask,
            change,
        );
    }
}

/// The length of all wire out and back, m, and the length that would keep to the limit; none if the contacts alone
/// drop too much.
fn shorter_m(facts: &Facts<'_>, worst: &Worst) -> Option<[f64; 2]> {
    let drop = &worst.drop;
    let edges = drop.out.iter().chain(&drop.back).map(|leg| leg.edge);
    let (now_m, _) = facts.netlist().length_m(edges);
    let wires_v = worst.warm_v - drop.lost.contact_v;
    let left_v = worst.limit_v - drop.lost.contact_v;
    (left_v > 0.0).then(|| [now_m, now_m * left_v / wires_v])
}

/// The first wire whose insulation rating is not set, if a wire with the lowest listed rating in its place would
/// drop more than the limit once it is warm.
fn unknown_warmth<'a>(facts: &'a Facts<'_>, worst: &Worst) -> Option<&'a WireId> {
    let is_cold = worst.intermittent || worst.drop_v < worst.limit_v / NOT_TWICE;
    if is_cold || worst.drop_v + warmth_v(facts, &worst.drop, Some(LOWEST_C)) <= worst.limit_v {
        return None;
    }
    let legs = worst.drop.out.iter().chain(&worst.drop.back);
    let wires = legs.filter_map(|leg| match facts.netlist().of(leg.edge) {
        EdgeOf::Wire(id) => Some(id),
        _ => None,
    });
    let is_unset = |id: &&WireId| {
        (facts.wire(id)).is_some_and(|wire| facts.document.insulation_c(wire).is_none())
    };
    wires.into_iter().find(is_unset)
}

/// The lowest insulation rating with a column in AC 43.13-1B Table 11-9, °C.
const LOWEST_C: f64 = 105.0;

/// The drop of these wires beyond the solved one, because each is warmer with its own current than the temperature
/// they were all solved at: by heat balance, from the surroundings. A wire whose insulation rating is not set counts with
/// `unset_c`, or as warm as solved.
fn warmth_v(facts: &Facts<'_>, drop: &LoadDrop, unset_c: Option<f64>) -> f64 {
    let project = &facts.document.project;
    let around_c = project.ambient_c.unwrap_or(project.conductor_c);
    let more_v = |leg: &Leg| {
        let edge = &facts.netlist().graph[leg.edge];
        let EdgeKind::Wire {
            gauge: Some(gauge),
            conductor: ConductorKind::Copper,
            ..
        } = edge.kind
        else {
            return None;
        };
        let EdgeOf::Wire(id) = facts.netlist().of(leg.edge) else {
            return None;
        };
        let own_rating_c = facts.document.insulation_c(facts.wire(id)?);
        let insulation_c = own_rating_c.or(unset_c)?;
        let rated = Rated {
            ambient_c: around_c,
            rating_c: around_c + insulation_c - TABLE_C,
            max_a: wire_table::find(gauge)?.amps(insulation_c)?,
        };
        // A wire hotter than its rating is a separate finding.
        let own_c = balanced_c(rated, leg.amps)?
            .min(own_rating_c.unwrap_or(f64::INFINITY))
            .max(project.conductor_c);
        let per_m = |conductor_c| wire_table::copper_ohm_per_m(gauge, conductor_c);
        Some(leg.drop_v * (per_m(own_c) / per_m(project.conductor_c) - 1.0))
    };
    (drop.out.iter().chain(&drop.back)).filter_map(more_v).sum()
}

fn wire_line<'a>(facts: &'a Facts<'_>, leg: &Leg, way: &str) -> Option<(&'a WireId, String)> {
    let netlist = facts.netlist();
    let (
        EdgeOf::Wire(id),
        EdgeKind::Wire {
            length_m,
            gauge: Some(gauge),
            ..
        },
    ) = (netlist.of(leg.edge), &netlist.graph[leg.edge].kind)
    else {
        return None;
    };
    let line = format!(
        "{way}: {}, {gauge} AWG, {}, {:.1} mΩ x {:.2} A = {:.3} V",
        facts.label(id),
        (facts.document.project).length(length_m.unwrap_or_default(), 2),
        leg.drop_v / leg.amps * 1e3,
        leg.amps,
        leg.drop_v
    );
    Some((id, line))
}

/// The thinnest size that brings the drop under its limit if every thinner wire of the path gets it, with the
/// current unchanged (a constant-power load takes less at the higher voltage) and no wire warmer than now.
fn thicker(facts: &Facts<'_>, worst: &Worst) -> Option<(Gauge, Change)> {
    let conductor_c = facts.document.project.conductor_c;
    let netlist = facts.netlist();
    let wires: Vec<_> = (worst.drop.out.iter().chain(&worst.drop.back))
        .filter_map(
            |leg| match (netlist.of(leg.edge), &netlist.graph[leg.edge].kind) {
                (
                    EdgeOf::Wire(id),
                    EdgeKind::Wire {
                        length_m,
                        gauge: Some(gauge),
                        ..
                    },
                ) => Some((leg, id, length_m.unwrap_or_default(), *gauge)),
                _ => None,
            },
        )
        .collect();
    let gauge = Gauge::ALL.into_iter().find(|gauge| {
        let saved: f64 = wires
            .iter()
            .filter(|(.., old)| old.is_thinner_than(*gauge))
            .map(|(leg, _, length_m, old)| {
                let per_m = |gauge| wire_table::copper_ohm_per_m(gauge, conductor_c);
                leg.amps * length_m * (per_m(*old) - per_m(*gauge))
            })
            .sum();
        // What passes for seconds only is in no rating, and still warms the wire.
        let bears = |leg: &Leg, id: &WireId| {
            let bears_a = facts
                .wire(id)
                .and_then(|wire| starting_a(facts.document.insulation_c(wire), *gauge));
            bears_a.is_none_or(|bears_a| leg.amps <= bears_a)
        };
        let mut thin = wires.iter().filter(|(.., old)| old.is_thinner_than(*gauge));
        worst.drop_v - saved <= worst.limit_v * worst.drop_v / worst.warm_v
            && thin.all(|(leg, id, ..)| bears(leg, id))
    })?;
    let mut change = Change::default();
    for (_, id, _, _) in wires.iter().filter(|(.., old)| old.is_thinner_than(gauge)) {
        change = change.then(&facts.change_wire(id, |wire| wire.gauge_awg = Some(gauge)));
    }
    Some((gauge, change))
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::units::Gauge;
    use crate::{
        rules::Level,
        testing::{check_mend, check_rule},
    };

    /// AC 43.13-1B CHG 1, Table 11-8: 20 A over 19.5 ft of No. 10 is near 0.5 V (the line's own
    /// 0.366 V is a misprint; 0.00126 x 19.5 x 20 = 0.491 V), and 28 V allows 1 V.
    const LAMP: &str = "
        battery BT1 emf=14.0 ohm=0.0001
        bus MBUS CB1=20
        ground GB1 1 2
        wire P1 BT1.+ MBUS.STUD 2 0.1m
        wire P2 GB1.2 BT1.- 2 0.1m
        load LT1 3.6 law=current #! drop-over-limit
        wire A MBUS.CB1 LT1.+ 18 5.6m
        wire B LT1.- GB1.1 18 5.4m
    ";

    #[test]
    fn finds_a_long_run_of_thin_wire_with_its_return() {
        let verdict = check_rule(&RULE, LAMP);
        let finding = &verdict.findings[0];
        // Computed: 11.0 m x 6.23 ohm / 304.8 m x 3.6 A = 0.809 V at 20 °C, x 284.5 / 254.5 at 50 °C
        // (AC 43.13-1B p. 11-22), and the breaker's 2 mΩ.
        let measured = finding.measured.expect("volts");
        assert!(
            (measured - (0.8094 * 284.5 / 254.5 + 0.0072)).abs() < 1e-3,
            "{measured}"
        );
        assert_eq!(finding.limit, Some(0.5));
        let after = check_mend(&RULE, LAMP);
        assert_eq!(
            after.wires["A"].gauge_awg,
            Some(Gauge(14)),
            "16 AWG still loses 0.70 V"
        );
    }

    #[test]
    fn accepts_a_drop_just_under_the_limit() {
        let short = LAMP.replace("5.4m", "0.3m rated=150");
        let sound = short.replace(" #! drop-over-limit", "");
        check_rule(&RULE, &sound.replace("5.6m", "4.6m rated=150"));
        // Close to the limit the warmth of a wire decides, and its insulation rating is not set.
        check_rule(&RULE, &short.replace("#!", "#?"));
    }

    #[test]
    fn not_checked_without_a_length() {
        let text = LAMP.replace("#! drop", "#? drop").replace(" 5.4m", "");
        check_rule(&RULE, &text);
    }

    #[test]
    fn tells_a_drop_that_only_warm_wires_have() {
        // 20 AWG with 150 °C insulation, good for 7 A by Table 11-9, 1.1 m out and back at 6.2 A: 0.49 V at
        // 50 °C. By the balance of heat it gets to 108 °C, and its resistance grows by (234.5 + 108) /
        // (234.5 + 50): 0.59 V. The limit is 0.5 V.
        let text = "battery BT1 emf=14
            load LT1 6 #! drop-over-limit
            wire A BT1.+ LT1.+ 20 1.1m rated=150
            wire N LT1.- BT1.- 20 1.1m rated=150
            state FLY";
        let verdict = check_rule(&RULE, text);
        let found = &verdict.findings[0];
        assert_eq!(found.level, Level::Caution);
        let warm_v = found.measured.expect("volts");
        assert!((0.57..0.61).contains(&warm_v), "{found:?}");
        // It says what is computed: a balance of heat, and not the handbook's square root, which gives
        // 70 + 80 x sqrt(6.2 / 7) °C.
        let said = found.working.join("; ");
        assert!(said.contains("by heat balance"), "{said}");
        let cited: String = RULE.sources.iter().map(|it| it.place).collect();
        assert!(cited.contains("heat balance"), "{cited}");
        assert!(!cited.contains("11-66d(6)"), "{cited}");
        let unset = text.replace(" rated=150", "");
        check_rule(&RULE, &unset.replace("#!", "#?"));
        // 2.2 m x 0.5 V / 0.59 V.
        assert!(found.help.contains("from 2.2 m to 1.9 m"), "{}", found.help);
        check_rule(
            &RULE,
            &text
                .replace("1.1m", "0.8m")
                .replace(" #! drop-over-limit", ""),
        );
    }
}
