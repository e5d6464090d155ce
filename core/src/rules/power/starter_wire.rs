//! A wire that gets too hot while the starter turns.

use petgraph::graph::{EdgeIndex, NodeIndex};

use crate::{
    analysis::shorts::{start_c, wire_bears_s},
    ids::WireId,
    netlist::{EdgeKind, WireAt},
    rules::prelude::*,
    solve::OperatingPoint,
    standards::{conductor_heat::SHORT_SOURCE, wire_table},
    units::Gauge,
};

/// The rule.
pub const RULE: Rule = Rule {
    slug: "starter-wire",
    title: "Wire too thin for the starter",
    level: Level::Fault,
    why: "No breaker is in the starter's way, and no table of steady currents is made for it: what \
          limits the heat is how long it turns. Cables that get hot also drop what the starter needs in the cold.",
    sources: &[
        SHORT_SOURCE,
        wire_table::SOURCE,
        cite(
            COMMON_PRACTICE,
            "one try of 30 s at most; the starter maker's limit wins",
        ),
    ],
    reads: Reads::ALL,
    check,
};

/// How long a starter may turn in one try, s (common practice, no source: makers allow 10 to 30).
const CRANKS_S: f64 = 30.0;
/// Share of the starter's current from which a wire belongs to its circuit (our own choice).
const OF_STARTER: f64 = 0.5;

fn check(facts: &Facts<'_>, out: &mut Findings<'_, '_>) {
    let cranking: Vec<(&OperatingPoint, f64)> = (facts.judged())
        .filter_map(|point| Some((point, facts.cranking_a(point)?)))
        .collect();
    for (id, wire, at) in facts.wires() {
        let is_copper = |kind: &EdgeKind| {
            matches!(
                kind,
                EdgeKind::Wire {
                    conductor: ConductorKind::Copper,
                    ..
                }
            )
        };
        if !is_copper(&facts.netlist().graph[at.edge].kind) {
            continue;
        }
        let carried = cranking.iter().filter_map(|(point, starter_a)| {
            let amps = point.edge_amps(at.edge)?.abs();
            (amps >= OF_STARTER * starter_a).then_some((amps, *point))
        });
        if let Some((amps, point)) = carried.max_by(|a, b| a.0.total_cmp(&b.0)) {
            judge(facts, out, (id, wire, at), amps, point);
        }
    }
}

fn judge(
    facts: &Facts<'_>,
    out: &mut Findings<'_, '_>,
    (id, wire, at): (&WireId, &Wire, WireAt),
    amps: f64,
    point: &OperatingPoint,
) {
    let Some(bears_s) = wire_bears_s(facts.document, wire, amps) else {
        let what = facts.document.unknown_of_wire(id);
        return out.not_checked(id, format!("{what} of {} is missing", facts.label(id)));
    };
    if bears_s >= CRANKS_S {
        return out.clear(id);
    }
    let label = facts.label(id);
    let most_a = amps * (1.0 + dropped(facts, at, point).unwrap_or_default());
    let thicker = Gauge::ALL.into_iter().find(|gauge| {
        let other = Wire {
            gauge_awg: Some(*gauge),
            ..wire.clone()
        };
        wire_bears_s(facts.document, &other, most_a).is_some_and(|it| it >= CRANKS_S)
    });
    let report = out
        .finding(id)
        .says(format!(
            "{label} carries {amps:.0} A in \"{}\" and bears it for {bears_s:.0} s; a starter may turn for {CRANKS_S} s",
            facts.label(&point.state)
        ))
        .limit(CRANKS_S, bears_s, "s")
        .working(format!(
            "from {} °C to the rating of its insulation, by the heat that copper takes up and Table 11-9",
            start_c(facts.document)
        ))
        .help("use thicker cable, the same for the way back");
    if let Some(gauge) = thicker {
        let change = facts.change_wire(id, |wire| wire.gauge_awg = Some(gauge));
        report.mend(format!("Make it {gauge} AWG"), MendKind::Ask, change);
    }
}

/// What a wire drops, as a share of what the starter gets: without this drop the starter takes at most as much more.
fn dropped(facts: &Facts<'_>, at: WireAt, point: &OperatingPoint) -> Option<f64> {
    let volts = |[a, b]: [NodeIndex; 2]| Some((point.node_volts(a)? - point.node_volts(b)?).abs());
    let starter = facts.starters().iter().max_by(|a, b| {
        let amps = |it: &EdgeIndex| point.edge_amps(*it).map_or(0.0, f64::abs);
        amps(a).total_cmp(&amps(b))
    })?;
    let (plus, minus) = facts.netlist().ends(*starter);
    Some(volts(at.ends)? / volts([plus, minus])?.max(1.0))
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::testing::{check_mend, check_rule};

    fn started(cable: &str, back: &str) -> String {
        format!(
            "battery BT1
             contactor K2 BAT STR COIL+ COIL-
             switch S9 1-2
             load M1 - intermittent=200 sort=motor law=resistance
             wire P1 BT1.+ K2.BAT {cable}
             wire P2 K2.STR M1.+ 2 1m rated=150
             wire N M1.- BT1.- {back}
             wire Q1 BT1.+ S9.1 18 0.1m fuse=5@from
             wire Q2 S9.2 K2.COIL+ 18 1m
             wire Q3 K2.COIL- BT1.- 18 1m
             state START on=S9 intermittent=M1/load"
        )
    }

    #[test]
    fn finds_a_thin_way_back() {
        let verdict = check_rule(
            &RULE,
            &started("2 0.5m rated=150", "10 1m rated=150 #! starter-wire"),
        );
        assert!(
            verdict.findings[0].message.contains("bears it for"),
            "{}",
            verdict.findings[0].message
        );
    }

    #[test]
    fn accepts_cables_of_2_awg() {
        check_rule(&RULE, &started("2 0.5m rated=150", "2 1m rated=150"));
    }

    #[test]
    fn does_not_check_a_cable_of_no_gauge() {
        check_rule(&RULE, &started("0.5m #? starter-wire", "2 1m rated=150"));
    }

    #[test]
    fn a_thicker_cable_mends_it() {
        check_mend(
            &RULE,
            &started("2 0.5m rated=150", "10 1m rated=150 #! starter-wire"),
        );
    }
}
