//! What stays live or on with every switch at rest.

use petgraph::graph::EdgeIndex;

use crate::{
    netlist::EdgeKind,
    rules::{Subject, prelude::*},
    solve::{LIVE_ABOVE_V, OperatingPoint},
};

/// What stays live or on with every switch at rest.
pub const RULE: Rule = Rule {
    slug: "always-hot",
    title: "Live with every switch off",
    level: Level::Caution,
    why: "What is live with the master off is live in a crash and under a screwdriver, and what runs then empties \
          the battery on the ramp. So such circuits are few, weak and protected at the battery.",
    sources: &[
        cite(
            CFR_14_27,
            "27.1361(b): circuits that stay energized with the master off are protected at 5 A or less, at the source",
        ),
        cite(
            COMMON_PRACTICE,
            "a start button or a master that is bypassed shows with everything off",
        ),
    ],
    reads: Reads::ALL,
    check,
};

/// The most that protects a circuit that is always live, A (14 CFR 27.1361(b)).
pub const PROTECTED_A: f64 = 5.0;

/// Current of a load that nobody can leave on, A: it takes 17 Ah in a week (our own choice).
const DRAINS_A: f64 = 0.1;

/// Loads that a finding about the whole aircraft points at.
const SHOWN: usize = 30;

fn check(facts: &Facts<'_>, out: &mut Findings<'_, '_>) {
    let netlist = facts.netlist();
    let Some(battery) = netlist.batteries().next() else {
        return;
    };
    let point = facts.at_rest();
    loads(facts, out, point, battery);
    protectors(facts, out, point);
}

/// Loads and coils that are on, each at its own place; at the battery if nothing is switched at all.
fn loads(
    facts: &Facts<'_>,
    out: &mut Findings<'_, '_>,
    point: &OperatingPoint,
    battery: EdgeIndex,
) {
    let netlist = facts.netlist();
    let (mut on, mut off) = (Vec::new(), 0);
    for edge in netlist.graph.edge_indices() {
        let is_coil = matches!(netlist.graph[edge].kind, EdgeKind::Coil { .. });
        if !is_coil && netlist.graph[edge].kind != EdgeKind::Load {
            continue;
        }
        let volts = point.across_v(edge).unwrap_or(0.0).abs();
        match volts > LIVE_ABOVE_V {
            true => on.push((edge, is_coil, volts)),
            false => off += 1,
        }
    }
    // What hangs on a contactor that is held on follows from that.
    let any_coil = on.iter().any(|(_, is_coil, _)| *is_coil);
    if on.len() > off && !any_coil {
        let says = format!(
            "{} loads and coils are on with every switch at rest: no switch parts them from the battery",
            on.len()
        );
        let shown = on.iter().take(SHOWN);
        out.finding(Facts::subject_of(netlist.of(battery)))
            .says(says)
            .also_each(shown.map(|it| Facts::subject_of(netlist.of(it.0))))
            .help("feed the buses through a master contactor or switch");
        return;
    }
    for (edge, is_coil, volts) in on {
        let at = Facts::subject_of(netlist.of(edge));
        let is_starter = facts.starters().contains(&edge);
        let amps = point.edge_amps(edge).unwrap_or(0.0).abs();
        let (level, says, help) = if is_starter {
            (
                Level::Hazard,
                format!(
                    "{} has {volts:.1} V with every switch at rest: it turns as soon as the battery is connected",
                    facts.label(at)
                ),
                "keep clear of the propeller and disconnect the battery; then find what goes around the starter contactor",
            )
        } else if is_coil {
            (
                Level::Fault,
                format!(
                    "{} is held on with every switch at rest: nothing can switch it off",
                    facts.label(at)
                ),
                "lead its coil through its switch; look for a bypass or a ground between the coil and the switch",
            )
        } else if amps > DRAINS_A && !any_coil && !has_own_switch(facts, at) {
            (
                Level::Caution,
                format!(
                    "{} takes {amps:.2} A with every switch at rest and empties the battery",
                    facts.label(at)
                ),
                "feed it behind the master, give it a switch, or set it to off in the phases in which its own switch is off",
            )
        } else {
            out.clear(at);
            continue;
        };
        out.finding(at)
            .level(level)
            .says(says)
            .help(help)
            .measured(volts, "V");
    }
}

/// True if most phases have this load off at the unit itself: it is switched there.
fn has_own_switch(facts: &Facts<'_>, at: Subject<'_>) -> bool {
    let Subject::Element(device, element) = at else {
        return false;
    };
    let key = format!("{device}/{element}");
    let states = &facts.document.states;
    let off = states
        .values()
        .filter(|it| it.loads.get(key.as_str()) == Some(&LoadUse::Off));
    2 * off.count() > states.len()
}

/// Breakers and fuses that keep a circuit live, where they are larger than such a circuit may have.
fn protectors(facts: &Facts<'_>, out: &mut Findings<'_, '_>, point: &OperatingPoint) {
    let netlist = facts.netlist();
    let is_live = |node| {
        !facts.returns().has(node) && point.node_volts(node).unwrap_or(0.0).abs() > LIVE_ABOVE_V
    };
    for edge in netlist.graph.edge_indices() {
        let EdgeKind::Protector { rating_a, .. } = netlist.graph[edge].kind else {
            continue;
        };
        let (line, load) = netlist.ends(edge);
        let at = Facts::subject_of(netlist.of(edge));
        if !is_live(line) || !is_live(load) || !feeds_something(facts, edge) {
            continue;
        }
        let Some(rating_a) = rating_a else {
            out.not_checked(at, facts.rating_missing(edge));
            continue;
        };
        if rating_a <= PROTECTED_A {
            out.clear(at);
            continue;
        }
        out.finding(at)
            .says(format!(
                "the circuit behind {} is live with every switch at rest, protected at {rating_a} A",
                facts.label(at)
            ))
            .limit(rating_a, PROTECTED_A, "A")
            .help(
                "protect it at 5 A or less at the battery, or lead it through a relay there; accept it with its \
                 reason if the engine needs it, and shield the wire",
            );
    }
}

/// True if behind a protector, before any other one, there is a wire that leads to something.
fn feeds_something(facts: &Facts<'_>, edge: EdgeIndex) -> bool {
    let netlist = facts.netlist();
    facts.behind(edge).iter().any(|&node| {
        netlist.edges_at(node).any(|it| {
            matches!(
                netlist.graph[it].kind,
                EdgeKind::Load
                    | EdgeKind::Coil { .. }
                    | EdgeKind::Switch { .. }
                    | EdgeKind::Contact { .. }
            )
        })
    })
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::{
        document::LoadUse,
        rules::{self, Facts, Level},
        testing::{check_rule, document},
    };

    const AIRCRAFT: &str = "
        battery BT1
        contactor K1 BAT BUS COIL+ COIL-
        switch S1 1-2
        switch S4 1-2
        bus MBUS CB1=5 CB2=5
        bus HBUS F1=3f F2=10f
        load M2 3
        load LT1 2
        load CK1 0.02
        wire P1 BT1.+ K1.BAT 2 0.3m
        wire P2 K1.BUS MBUS.STUD 6 1m fuse=60
        wire P3 BT1.+ K1.COIL+ 20 0.1m
        wire P4 K1.COIL- S1.1 20 1m
        wire P5 S1.2 BT1.- 20 1m
        wire Q1 MBUS.CB1 S4.1 20 1m
        wire Q2 S4.2 M2.+ 20 1m
        wire Q3 M2.- BT1.- 20 1m
        wire L1 MBUS.CB2 LT1.+ 20 1m
        wire L2 LT1.- BT1.- 20 1m
        wire H1 BT1.+ HBUS.STUD 10 0.1m
        wire C1 HBUS.F1 CK1.+ 22 1m
        wire C2 CK1.- BT1.- 22 1m
    ";

    #[test]
    fn accepts_a_clock_behind_a_small_fuse() {
        check_rule(&RULE, AIRCRAFT);
    }

    #[test]
    fn finds_a_coil_that_is_grounded_past_its_switch() {
        let text = AIRCRAFT.replace("S1.1 20", "BT1.- 20");
        let verdict = rules::run(&Facts::new(&document(&text)), &[&RULE]);
        let said: Vec<&str> = verdict
            .findings
            .iter()
            .map(|it| it.message.as_str())
            .collect();
        assert!(
            said.iter()
                .any(|it| it.contains("K1 is held on") || it.contains("K1 coil is held on")),
            "{said:?}"
        );
    }

    #[test]
    fn finds_a_load_that_runs_and_one_that_has_a_switch_of_its_own_is_clear() {
        let text = AIRCRAFT.replace("MBUS.CB2 LT1.+", "HBUS.F1 LT1.+");
        let mut document = document(&text);
        let found = |document: &_| {
            let verdict = rules::run(&Facts::new(document), &[&RULE]);
            verdict
                .findings
                .iter()
                .map(|it| it.message.clone())
                .collect::<Vec<_>>()
        };
        assert!(
            found(&document)[0].contains("LT1 takes 2."),
            "{:?}",
            found(&document)
        );
        let mut state = crate::document::State::default();
        state.loads.insert("LT1/load".into(), LoadUse::Off);
        document.states.insert("parked".into(), state);
        assert_eq!(found(&document), Vec::<String>::new());
    }

    #[test]
    fn finds_a_circuit_over_5_a() {
        let text = AIRCRAFT.replace("HBUS.F1 CK1.+", "HBUS.F2 CK1.+");
        let verdict = rules::run(&Facts::new(&document(&text)), &[&RULE]);
        assert_eq!(
            verdict.findings[0].message,
            "the circuit behind HBUS F2 is live with every switch at rest, protected at 10 A"
        );
    }

    #[test]
    fn finds_a_starter_that_turns_with_everything_off() {
        let text = format!(
            "{AIRCRAFT}
            contactor K2 BAT STR C1 C2
            load M1 - peak=200 sort=motor
            wire P6 BT1.+ K2.BAT 2 0.3m
            wire P7 K2.STR M1.+ 2 1m
            wire P8 M1.- BT1.- 2 1m
            wire P9 K2.STR K2.BAT 2 0.1m
            "
        );
        let verdict = rules::run(&Facts::new(&document(&text)), &[&RULE]);
        assert_eq!(
            verdict.findings[0].level,
            Level::Hazard,
            "{:?}",
            verdict.findings
        );
    }
}
