//! A load that is on, has supply, and cannot run on what reaches it.

use petgraph::graph::EdgeIndex;

use crate::{
    netlist::EdgeOf,
    rules::{Subject, prelude::*},
    solve::{Figures, OperatingPoint},
};

/// A load that is on, has supply, and cannot run on what reaches it.
pub const RULE: Rule = Rule {
    slug: "load-cannot-run",
    title: "Load cannot run here",
    level: Level::Fault,
    why: "Below the voltage that it needs a unit stops, or starts again and again. Its breaker and its wires \
          still have to bear what it asks for.",
    sources: &[cite(
        COMMON_PRACTICE,
        "a load runs only between its cut-off and the supply's voltage; solved, not published",
    )],
    reads: Reads::ALL,
    check,
};

fn check(facts: &Facts<'_>, out: &mut Findings<'_, '_>) {
    let netlist = facts.netlist();
    for (edge, _) in netlist.loads() {
        let EdgeOf::Element(device, element, _) = netlist.of(edge) else {
            continue;
        };
        judge(facts, out, edge, Subject::Element(device, element));
    }
}

/// The voltage at a load that cannot run: without current, and with its demand.
struct Starved {
    amps: f64,
    gives_v: f64,
    lost_v: f64,
}

fn starved(point: &OperatingPoint, load: EdgeIndex) -> Option<Starved> {
    let asked = point.asked.as_deref().filter(|_| point.cannot_run(load))?;
    // The wrong sign means reversed polarity, which has its own rule; a load for either polarity has no wrong one.
    let either_way = (point.netlist().load(load)).is_some_and(|figures| figures.either_way);
    let across_v = point.across_v(load)?;
    if across_v == 0.0 || (across_v < 0.0 && !either_way) {
        return None;
    }
    let drop = asked.drop_to(load)?;
    Some(Starved {
        amps: drop.amps,
        gives_v: (asked.across_v(load)? * across_v.signum()).max(0.0),
        lost_v: drop.total_v(),
    })
}

fn judge(facts: &Facts<'_>, out: &mut Findings<'_, '_>, load: EdgeIndex, subject: Subject<'_>) {
    let points = || facts.points().iter().filter(|point| !point.repeats);
    let runs = |point: &OperatingPoint| point.lost_to(load).is_some();
    let is_on = points().any(|point| runs(point) || point.cannot_run(load));
    let working = (!is_on).then(|| facts.while_working(load)).flatten();
    let all = points().chain(working.as_deref());
    let found = all.filter_map(|point| Some((point, starved(point, load)?)));
    let worst = found.min_by(|(a, at_a), (b, at_b)| {
        (a.figures, at_a.gives_v)
            .partial_cmp(&(b.figures, at_b.gives_v))
            .unwrap_or(std::cmp::Ordering::Equal)
    });
    let Some((point, it)) = worst else {
        if points().any(runs) || working.is_some() {
            out.clear(subject);
        }
        return;
    };
    let needs_v = facts.netlist().load(load).and_then(|load| load.cutoff_v);
    let level = match point.figures {
        Figures::Continuous => Level::Fault,
        Figures::Peak => Level::Caution,
    };
    let moment = match level {
        Level::Fault => "",
        _ => " for a moment",
    };
    let Starved {
        amps,
        gives_v,
        lost_v,
    } = it;
    let report = out
        .finding(subject)
        .level(level)
        .says(format!(
            "{} cannot run in \"{}\": it asks for {amps:.1} A{moment}, and what reaches it then is {gives_v:.1} V{}",
            facts.label(subject),
            facts.label(&point.state),
            needs_v.map_or(String::new(), |volts| format!(", it needs {volts} V")),
        ))
        .working(format!(
            "{:.2} V at its bus less {lost_v:.2} V lost on the way out and back at {amps:.2} A",
            gives_v + lost_v
        ))
        .working("its breaker, wires, contacts and returns are judged with the current that it asks for")
        .help("use thicker or shorter wire, feed it closer to the bus, or keep it off in this state");
    match needs_v {
        Some(needs_v) => report.limit(gives_v, needs_v, "V"),
        None => report.measured(gives_v, "V"),
    };
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::{
        rules::{Facts, Level, RULES, run},
        testing::{check_rule, document},
    };

    /// A port of 100 W on wires for one of 10 W: 24 m of 22 AWG.
    const PORT: &str = "
        battery BT1
        alternator G1 40
        bus MBUS CB13=5
        ground GB1 STUD T1
        load USB2 7.14 cutoff=9 #! load-cannot-run
        wire A BT1.+ MBUS.STUD 8 0.2m
        wire B G1.B MBUS.STUD 8 0.5m
        wire P30A22 MBUS.CB13 USB2.+ 22 12m rated=105
        wire P30B22N USB2.- GB1.T1 22 12m rated=105
        wire D GB1.STUD BT1.- 8 0.2m
        wire E G1.CASE GB1.STUD 8 0.2m
        state CRUISE running";

    #[test]
    fn finds_a_port_that_its_wires_starve() {
        let verdict = check_rule(&RULE, PORT);
        let finding = &verdict.findings[0];
        assert_eq!(finding.level, Level::Fault);
        // 24 m x 16.2 ohm / 304.8 m (AC 43.13-1B Table 11-9, 22 AWG) x 284.5 / 254.5 at 50 °C x 7.14 A = 10.2 V.
        let gives_v = finding.measured.expect("volts");
        assert!((3.6..4.3).contains(&gives_v), "{}", finding.message);
        assert_eq!(finding.limit, Some(9.0));
    }

    #[test]
    fn accepts_one_that_gets_enough() {
        let text = PORT.replace(" #! load-cannot-run", "").replace("12m", "1m");
        check_rule(&RULE, &text);
    }

    /// A motor for either polarity that gets too little is found in both of them, and a weak source is a source.
    #[test]
    fn finds_a_load_for_either_polarity_both_ways_and_at_a_tiny_voltage() {
        for emf_v in ["0.3", "0.7", "5"] {
            for (plus, minus) in [("+", "-"), ("-", "+")] {
                let text = format!(
                    "battery BT1 emf={emf_v}
                     load M3 1 cutoff=9 either #! load-cannot-run
                     wire A BT1.{plus} M3.+ 20 1m
                     wire N M3.- BT1.{minus} 20 1m
                     state FLY"
                );
                let verdict = check_rule(&RULE, &text);
                let found = &verdict.findings[0];
                let volts: f64 = emf_v.parse().expect("a number");
                let gives_v = found.measured.expect("volts");
                assert!((volts - 0.2..volts).contains(&gives_v), "{}", found.message);
                let all = run(&Facts::new(&document(&text)), RULES);
                let reversed = all
                    .findings
                    .iter()
                    .find(|it| it.message.contains("reversed"));
                assert_eq!(reversed, None);
            }
        }
    }

    /// Both ends of a motor at rest are on the return: the drop along it is no supply.
    #[test]
    fn accepts_a_motor_that_rests_between_two_grounds() {
        check_rule(
            &RULE,
            "battery BT1
             load M3 1 cutoff=9 either
             load LT1 20
             wire P BT1.+ LT1.+ 12 1m
             wire Q LT1.- M3.+ 20 2m
             wire R LT1.- M3.- 20 1m
             wire S M3.+ BT1.- 20 1m
             wire T M3.- BT1.- 20 3m
             state FLY",
        );
    }

    /// A load that cannot run hides nothing: breaker, wires, drop and the alternator are judged by its demand.
    #[test]
    fn what_it_asks_for_is_judged_beside_it() {
        let text = PORT.replace("alternator G1 40", "alternator G1 8");
        let document = document(&text);
        let verdict = run(&Facts::new(&document), RULES);
        let found = |rule: &str| {
            let finding = verdict.findings.iter().find(|it| it.rule == rule);
            finding.unwrap_or_else(|| panic!("{rule} is silent: {:#?}", verdict.findings))
        };
        for (rule, amps) in [("protector-under-load", 7.14), ("wire-over-rating", 7.14)] {
            let measured = found(rule).measured.expect("amps");
            assert!((measured - amps).abs() < 0.01, "{rule}: {measured}");
        }
        let drop = found("drop-over-limit");
        assert!(drop.measured > Some(9.0), "{}", drop.message);
        assert!(drop.message.contains("would drop"), "{}", drop.message);
        let share = found("overloaded-alternator").measured.expect("percent");
        assert!((share - 100.0 * 7.14 / 8.0).abs() < 0.5, "{share}");
    }
}
