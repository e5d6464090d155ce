//! A sensitive unit shares its return with another load.

use petgraph::graph::EdgeIndex;

use crate::{
    analysis::shared_returns::has_audio,
    ids::WireId,
    netlist::EdgeOf,
    rules::{Spot, prelude::*},
    solve::{Leg, OperatingPoint},
};

/// The rule.
pub const RULE: Rule = Rule {
    slug: "shared-return",
    title: "Return shared with another load",
    level: Level::Caution,
    why: "The other load's current raises the sensitive unit's ground by its voltage drop in the shared wire. \
          Whatever that current does (start, tick or whine) is then heard in the headset.",
    sources: &[
        cite(
            AC_43_13_1B,
            "par 11-186f(1): no signal ground through a power return lead",
        ),
        cite(
            COMMON_PRACTICE,
            "1.5 mV is 40 dB under a microphone's 150 mV: own proposal",
        ),
    ],
    reads: Reads::ALL,
    check,
};

/// Volts from other currents that an audio ground may carry, V: 40 dB under 150 mV.
const LIMIT_V: f64 = 0.0015;

fn check(facts: &Facts<'_>, out: &mut Findings<'_, '_>) {
    let netlist = facts.netlist();
    for (edge, _) in netlist.loads() {
        let EdgeOf::Element(device, element, _) = netlist.of(edge) else {
            continue;
        };
        let unit = facts.terminal_at(netlist.ends(edge).0);
        if unit.is_some_and(|at| has_audio(at.device)) {
            judge(facts, out, edge, Spot::Element(device, element));
        }
    }
}

/// The shared part of a return in one state.
struct Shared<'a> {
    point: &'a OperatingPoint,
    load_a: f64,
    leg: Leg,
    other_v: f64,
}

fn judge(facts: &Facts<'_>, out: &mut Findings<'_, '_>, load: EdgeIndex, spot: Spot<'_>) {
    let mut running = false;
    let mut worst: Option<Shared<'_>> = None;
    for point in facts.points_that_differ() {
        let Some((load_a, back)) = point.way_back(load) else {
            continue;
        };
        running = true;
        for leg in back {
            let other_v = leg.other_v(load_a);
            let is_worse = other_v > worst.as_ref().map_or(LIMIT_V, |worst| worst.other_v);
            if is_worse && matches!(facts.netlist().of(leg.edge), EdgeOf::Wire(_)) {
                worst = Some(Shared {
                    point,
                    load_a,
                    leg,
                    other_v,
                });
            }
        }
    }
    match worst {
        Some(worst) => report(facts, out, load, spot, &worst),
        None if running => out.clear(spot),
        None => {
            out.not_checked(
                spot,
                format!("{} takes no current in any state", facts.label(spot)),
            );
        }
    }
}

fn report(
    facts: &Facts<'_>,
    out: &mut Findings<'_, '_>,
    load: EdgeIndex,
    spot: Spot<'_>,
    worst: &Shared<'_>,
) {
    let Shared {
        point,
        load_a,
        leg,
        other_v,
    } = worst;
    let EdgeOf::Wire(wire) = facts.netlist().of(leg.edge) else {
        return;
    };
    let others = others(facts, point, load, wire);
    let names: Vec<_> = others.iter().map(|it| facts.label(*it)).collect();
    let other_a = leg.amps * (1.0 - leg.share(*load_a));
    let mut report = out
        .finding(spot)
        .says(format!(
            "{} returns through {} together with {}: {:.1} mV from the other current in \"{}\"",
            facts.label(spot),
            facts.label(wire),
            if names.is_empty() {
                "another current".into()
            } else {
                names.join(", ")
            },
            other_v * 1e3,
            facts.label(&point.state)
        ))
        .limit(other_v * 1e3, LIMIT_V * 1e3, "mV")
        .also(wire)
        .working(format!(
            "{} carries {:.3} A, {other_a:.3} A of it not from {}",
            facts.label(wire),
            leg.amps,
            facts.label(spot)
        ))
        .working(format!(
            "{:.2} mΩ x {other_a:.3} A = {:.1} mV",
            leg.drop_v / leg.amps * 1e3,
            other_v * 1e3
        ))
        .help("give it a return wire of its own to the avionics ground block");
    for other in others {
        report = report.also(other);
    }
}

/// Other loads whose return goes through the same wire in this state.
fn others<'a>(
    facts: &'a Facts<'_>,
    point: &OperatingPoint,
    load: EdgeIndex,
    wire: &WireId,
) -> Vec<Spot<'a>> {
    let netlist = facts.netlist();
    let shares = |edge: &EdgeIndex| {
        let is_it = |leg: &Leg| matches!(netlist.of(leg.edge), EdgeOf::Wire(id) if id == wire);
        point
            .drop_to(*edge)
            .is_some_and(|drop| drop.back.iter().any(is_it))
    };
    netlist
        .loads()
        .map(|(edge, _)| edge)
        .filter(|edge| *edge != load)
        .filter(shares)
        .map(|edge| Facts::spot_of(netlist.of(edge)))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::testing::check_rule;

    const SHARED: &str = "
        battery BT1 emf=13.8 ohm=0.001
        ground GB1 1 2 3
        wire G GB1.3 BT1.- 2 0.3m
        unit IC1 1:power_in 14:return 4:audio_high #! shared-return
        inside IC1 load 1 14 0.35
        wire A BT1.+ IC1.1 22 1m
        load M2 3.8 law=current
        wire B BT1.+ M2.+ 18 1m
        splice SP1
        wire C IC1.14 SP1 22 0.6m
        wire D M2.- SP1 18 0.6m
        wire E SP1 GB1.1 18 0.6m
    ";

    #[test]
    fn finds_an_intercom_that_returns_with_a_pump() {
        let verdict = check_rule(&RULE, SHARED);
        // Computed: 0.6 m x 6.23 ohm / 304.8 m x (284.5 / 254.5 at 50 °C) x 3.8 A = 52.1 mV.
        let measured = verdict.findings[0].measured.expect("millivolts");
        assert!((measured - 52.1).abs() < 0.2, "{measured}");
    }

    #[test]
    fn accepts_two_returns_to_one_block() {
        let apart = SHARED
            .replace(" #! shared-return", "")
            .replace("wire D M2.- SP1", "wire D M2.- GB1.2");
        check_rule(&RULE, &apart);
    }
}
