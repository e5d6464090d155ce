//! Shedding the main bus leaves a load on that is not essential.

use crate::{
    analysis::endurance::{Case, DeviceEnd, Extent, Stop, whole_min},
    rules::prelude::*,
};

/// The rule.
pub const RULE: Rule = Rule {
    slug: "load-left-on",
    title: "Load left on when the main bus is shed",
    level: Level::Caution,
    why: "After the alternator stops, one switch should shed every load the flight can do without. Any \
          other load left on takes minutes from the essential ones until somebody switches it off.",
    sources: &[cite(
        COMMON_PRACTICE,
        "the essential bus carries only what must keep working after the alternator stops",
    )],
    reads: Reads::ALL,
    check,
};

fn check(facts: &Facts<'_>, out: &mut Findings<'_, '_>) {
    let document = facts.document;
    if document.project.target_min.is_none() {
        return;
    }
    let endurance = facts.endurance();
    let case = |case| endurance.case(case);
    let (Some(shed), Some(essential)) = (
        case(AfterAlternator::MainBusShed),
        case(AfterAlternator::EssentialOnly),
    ) else {
        return;
    };
    let mut in_full = None;
    for end in shed.devices.iter().filter(|it| it.stop != Stop::Shed) {
        let subject = (&end.device, &end.element);
        if stays_on(essential, end) {
            out.clear(subject);
            continue;
        }
        let edge = facts.netlist().element_edge(&end.device, &end.element);
        let bus = edge.and_then(|edge| facts.bus_of(edge));
        let bus = bus.map_or(String::new(), |label| format!(" on {label}"));
        let in_full = in_full.get_or_insert_with(|| facts.endurance_to(Extent::Minutes));
        let minutes = |case| {
            let case = in_full.case(case).and_then(|case| case.minutes);
            case.unwrap_or(f64::INFINITY)
        };
        let (left, without) = (
            minutes(AfterAlternator::MainBusShed),
            minutes(AfterAlternator::EssentialOnly),
        );
        out.finding(subject)
            .says(format!(
                "{}{bus} stays on when the main bus is shed: {} min, {} min with only \
                 essential loads",
                end.label,
                whole_min(left),
                whole_min(without)
            ))
            .limit(left, without, "min")
            .working(format!(
                "it takes {:.2} A of the {:.2} A that the battery then supplies",
                end.start_a, shed.start_a
            ))
            .working(format!(
                "it is off in {}, the phase for essential loads",
                essential.states.last().map_or("", String::as_str)
            ))
            .help("feed it from the main bus; if it is essential, leave it on in that phase");
    }
}

/// True if a load of the shed case also runs with only essential loads on.
fn stays_on(essential: &Case, end: &DeviceEnd) -> bool {
    let mut ends = essential.devices.iter().filter(|it| it.stop != Stop::Shed);
    ends.any(|it| (&it.device, &it.element) == (&end.device, &end.element))
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::testing::check_rule;

    /// The essential bus is fed past the master switch; Y hangs on it.
    const LEFT: &str = "
        target 30
        battery BT1 ah=16
        switch S1 1-2
        bus MBUS CB1=5
        bus EBUS CB2=5 CB3=5
        load X 2
        load Y 2 #! load-left-on
        load Z 2
        wire A BT1.+ S1.1 2 1m
        wire B S1.2 MBUS.STUD 2 1m
        wire C BT1.+ EBUS.STUD 2 1m
        wire XA EBUS.CB2 X.+ 20 1m
        wire XN X.- BT1.- 20 1m
        wire YA EBUS.CB3 Y.+ 20 1m
        wire YN Y.- BT1.- 20 1m
        wire ZA MBUS.CB1 Z.+ 20 1m
        wire ZN Z.- BT1.- 20 1m
        state FLY running on=S1
        state OUT after=essential off=Y,Z
    ";

    #[test]
    fn finds_a_load_that_no_switch_sheds() {
        let verdict = check_rule(&RULE, LEFT);
        let message = &verdict.findings[0].message;
        assert!(message.starts_with("Y on EBUS stays on"), "{message}");
    }

    #[test]
    fn accepts_it_on_the_main_bus_or_as_essential() {
        let text = LEFT.replace(" #! load-left-on", "");
        check_rule(&RULE, &text.replace("EBUS.CB3 Y.+", "MBUS.CB1 Y.+"));
        check_rule(&RULE, &text.replace("off=Y,Z", "off=Z"));
    }
}
