//! A sender grounded where its instrument is not: the voltage between the two is in its reading.

use petgraph::graph::NodeIndex;

use crate::{
    ids::DeviceId,
    netlist::{AtNode, Through},
    rules::prelude::*,
};

/// The rule.
pub const RULE: Rule = Rule {
    slug: "sender-ground",
    title: "Sender grounded away from its instrument",
    level: Level::Caution,
    why: "The instrument measures from its own ground. What lights, motors and the alternator drop between the two \
          grounds is added to the reading: fuel or oil pressure changes when a light is switched.",
    sources: &[
        cite(
            AC_43_13_1B_1998,
            "par 11-186f(1): a signal is not grounded through a power return",
        ),
        cite(
            COMMON_PRACTICE,
            "a sender's return goes to its instrument, or both are grounded at one point",
        ),
    ],
    reads: Reads::ALL,
    check,
};

/// Difference from which it counts, V (our own choice: 2 % of a sender supply of 5 V).
const COUNTS_V: f64 = 0.1;

fn check(facts: &Facts<'_>, out: &mut Findings<'_, '_>) {
    let netlist = facts.netlist();
    let metal = netlist.groups(Through::METAL);
    for conductor in facts.conductors() {
        let is_sender = |id: &DeviceId| {
            let device = facts.device(id);
            device.is_some_and(|it| it.kind == DeviceKind::Sensor)
        };
        let mut ends = conductor.with(Role::SensorPlus);
        let Some((sender, pin)) = ends.find(|(id, _)| is_sender(id)) else {
            continue;
        };
        let mut ends = conductor.ends.iter();
        let Some((instrument, _)) = ends.find(|(id, _)| !is_sender(id)) else {
            continue;
        };
        let grounds = |id: &DeviceId, roles: &[Role]| -> Vec<NodeIndex> {
            let all = facts.device(id).map_or(&[][..], |it| &it.terminals).iter();
            let grounds = all.filter(|it| roles.contains(&it.role));
            let nodes = grounds.filter_map(|it| netlist.terminal(id, &it.id));
            nodes.filter(|node| facts.returns().has(*node)).collect()
        };
        let own = grounds(sender, &[Role::SensorMinus]);
        let theirs = grounds(instrument, &[Role::SignalReturn, Role::Return]);
        let (Some(own), Some(theirs)) = (own.first(), theirs.first()) else {
            continue;
        };
        let at = (sender, &pin.id);
        let Some((volts, state)) = facts.most_between(*own, *theirs) else {
            out.not_checked(at, "no phase could be solved");
            continue;
        };
        if volts.abs() < COUNTS_V || !metal.same(*own, *theirs) {
            out.clear(at);
            continue;
        }
        let report = out
            .finding(at)
            .says(format!(
                "in \"{}\" the ground of {} is {:.0} mV {} that of {}, and its reading is off by as much",
                facts.label(state),
                facts.label(sender),
                volts.abs() * 1e3,
                if volts > 0.0 { "above" } else { "below" },
                facts.label(*instrument)
            ))
            .limit(volts.abs() * 1e3, COUNTS_V * 1e3, "mV")
            .help("run a return wire from the sender to its instrument, with the signal")
            .also(*instrument);
        // What joins the two grounds carries what makes the difference.
        let between = netlist.reach([*theirs], Through::METAL, |_| AtNode::GoOn);
        let between = between.path(netlist, *own).unwrap_or_default();
        report
            .also_each(conductor.wires.iter().copied())
            .also_each(netlist.wires_among(between));
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::testing::check_rule;

    // 20 A at 14 V are 24.6 A at the 11.4 V that it gets; through 5 m of 12 AWG (6.6 mohm/m at 20 °C, 12 % more at
    // 50 °C) they drop 0.91 V between the two grounds.
    const REST: &str = "
        battery BT1
        ground GB1 STUD T1 T2
        ground GB2 STUD T1 T2
        load LT1 20
        wire P BT1.+ LT1.+ 12 1m
        wire L LT1.- GB2.T1 12 1m
        wire G GB2.STUD GB1.STUD 12 5m
        wire H GB1.T1 BT1.- 8 0.3m
        unit EM1 S:sensor_plus G:return
        wire E EM1.G GB1.T2 20 1m
        wire S FQ1.1 EM1.S 22 3m";

    #[test]
    fn finds_a_sender_whose_ground_carries_a_light() {
        let text = format!(
            "sensor FQ1 1:sensor_plus 2:sensor_minus #! sender-ground\n{REST}\nwire N FQ1.2 GB2.T2 22 1m"
        );
        let verdict = check_rule(&RULE, &text);
        let measured = verdict.findings[0].measured.expect("mV");
        assert!((870.0..950.0).contains(&measured), "{measured}");
    }

    #[test]
    fn accepts_one_that_returns_to_its_instrument() {
        check_rule(
            &RULE,
            &format!("sensor FQ1 1:sensor_plus 2:sensor_minus\n{REST}\nwire N FQ1.2 EM1.G 22 3m"),
        );
    }
}
