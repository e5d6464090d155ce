//! After the alternator stops, the battery does not last the target minutes.

use crate::{
    analysis::endurance::{Case, Cell, DeviceEnd, Extent, Stop, whole_min},
    rules::{and_list, prelude::*},
};

/// The rule.
pub const RULE: Rule = Rule {
    slug: "short-endurance",
    title: "Battery endurance below target",
    level: Level::Fault,
    why: "After the alternator stops, the battery is all there is. What must keep working stops before \
          the flight is over, and the pilot is the last to know.",
    sources: &[
        cite(
            COMMON_PRACTICE,
            "usable capacity 0.75 of nameplate, as in installation manuals; the minutes are the person's own",
        ),
        cite(
            CFR_14_23,
            "23.1353(h): 30 minutes for essential loads after a total loss of generation",
        ),
    ],
    reads: Reads::ALL,
    check,
};

/// Loads that stop within this time of each other stop together, min (reasoned: under what a clock shows).
const SAME_MIN: f64 = 0.05;

fn check(facts: &Facts<'_>, out: &mut Findings<'_, '_>) {
    // Without a target there is nothing to hold the minutes against.
    let (Some(target_min), Some(device)) = (facts.document.project.target_min, battery(facts))
    else {
        return;
    };
    let endurance = facts.endurance();
    let mut in_full = None;
    for missing in &endurance.missing {
        out.not_checked(device, missing.clone());
    }
    for case in &endurance.cases {
        match case.first_stop_min.filter(|first| *first < target_min) {
            None => out.clear(device),
            Some(first) => {
                // The facts end with the first stop; the text of a finding lists those that follow.
                let in_full = in_full.get_or_insert_with(|| facts.endurance_to(Extent::Minutes));
                let case = in_full.case(case.case).unwrap_or(case);
                finding(out, (case, first), &endurance.batteries, target_min, device);
            }
        }
    }
}

/// The first device with a battery in it.
fn battery<'d>(facts: &Facts<'d>) -> Option<&'d crate::ids::DeviceId> {
    let mut devices = facts.document.devices.iter();
    let found = devices.find(|(_, device)| {
        let mut elements = device.elements.iter();
        elements.any(|element| matches!(element.is, ElementKind::Battery(_)))
    });
    found.map(|(id, _)| id)
}

fn finding(
    out: &mut Findings<'_, '_>,
    (case, first_min): (&Case, f64),
    batteries: &[Cell],
    target_min: f64,
    device: &crate::ids::DeviceId,
) {
    let (level, how) = match case.case {
        AfterAlternator::EssentialOnly => (Level::Fault, "with essential loads only"),
        AfterAlternator::MainBusShed => (Level::Caution, "with the main bus off"),
        AfterAlternator::NothingDone => (Level::Note, "with no pilot action"),
    };
    let stops = case
        .devices
        .iter()
        .filter(|it| !matches!(it.stop, Stop::Shed | Stop::RunsOn | Stop::Battery));
    let (firsts, later): (Vec<&DeviceEnd>, Vec<_>) =
        stops.partition(|it| it.minutes <= first_min + SAME_MIN);
    let names: Vec<_> = firsts.iter().map(|it| it.label.clone()).collect();
    let by = match names.len() {
        0 => String::new(),
        1 => format!(": {} stops first", names[0]),
        _ => format!(": {} stop first", and_list(&names)),
    };
    let mut report = out
        .finding(device)
        .level(level)
        .says(format!(
            "{how} {} min, target {} min{by}",
            whole_min(first_min),
            whole_min(target_min)
        ))
        .limit(first_min, target_min, "min")
        .working(format!(
            "in \"{}\": {:.2} A at the start, solved; {:.2} A as stated",
            case.states.join("\", then \""),
            case.start_a,
            case.plain_a
        ));
    for cell in batteries {
        let factors = cell.factors.iter();
        let factors: String = factors
            .map(|it| format!(" x {} {:.2}", it.what, it.value))
            .collect();
        report = report.working(format!(
            "{}: {} Ah{factors} = {:.1} Ah usable",
            cell.label, cell.capacity_ah, cell.usable_ah
        ));
    }
    if !firsts.is_empty() {
        let later: Vec<_> = (later.iter())
            .map(|it| format!("{} after {} min", it.label, whole_min(it.minutes)))
            .collect();
        let end = case.minutes.map_or("the rest runs on".into(), |minutes| {
            format!("the last load stops after {} min", whole_min(minutes))
        });
        let follow = match later.is_empty() {
            true => "no other load stops before the battery is empty".into(),
            false => format!("then stop: {}", later.join(", ")),
        };
        report = report.working(format!("{follow}; {end}"));
    }
    for it in firsts {
        report = report.also((&it.device, &it.element));
    }
    report.help(match case.case {
        AfterAlternator::NothingDone => {
            "a low-voltage warning that cannot be missed, and a checklist that sheds the main bus at once"
        }
        _ => "switch off more, move loads to the main bus, or fit a larger battery",
    });
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::{
        rules::{Facts, Level, run},
        testing::{check_rule, document},
    };

    /// 16 x 0.8 x 0.75 = 9.6 Ah; 9.6 A last 60 minutes, 9.7 A a little less (constant current).
    const SHORT: &str = "
        target 60
        battery BT1 ah=16 #! short-endurance
        load X 9.7 law=current
        wire A BT1.+ X.+ 2 1m
        wire N X.- BT1.- 2 1m
        state OUT after=essential
    ";

    #[test]
    fn finds_a_battery_that_is_too_small() {
        let verdict = check_rule(&RULE, SHORT);
        let finding = &verdict.findings[0];
        assert_eq!(finding.level, Level::Fault);
        let minutes = finding.measured.expect("minutes");
        assert!((minutes - 60.0 * 9.6 / 9.7).abs() < 0.01, "{minutes}");
    }

    /// A load that stops at its own cut-off counts, though the battery has more.
    #[test]
    fn finds_a_load_that_stops_first() {
        let text = SHORT.replace("load X 9.7 law=current", "load X 3 cutoff=12.6");
        let verdict = check_rule(&RULE, &text);
        let message = &verdict.findings[0].message;
        assert!(message.contains("X stops first"), "{message}");
    }

    /// A, first in the alphabet, runs until the battery is empty; Y stops at 12.6 V, Z at 12.4 V.
    #[test]
    fn names_what_stops_first_and_what_follows() {
        let text = SHORT.replace(
            "load X 9.7 law=current",
            "load A 1 law=current
            wire AA BT1.+ A.+ 2 1m
            wire AN A.- BT1.- 2 1m
            load Z 1 law=current cutoff=12.4
            wire ZA BT1.+ Z.+ 2 1m
            wire ZN Z.- BT1.- 2 1m
            load X 3 law=current cutoff=12.6",
        );
        let verdict = check_rule(&RULE, &text);
        let finding = &verdict.findings[0];
        assert!(
            finding.message.ends_with(": X stops first"),
            "{}",
            finding.message
        );
        let follow = finding
            .working
            .iter()
            .find(|it| it.starts_with("then stop: Z after"));
        assert!(follow.is_some(), "{:?}", finding.working);
        assert!(finding.at.iter().any(|at| at.key() == "element:X/load"));
    }

    #[test]
    fn a_pilot_who_does_nothing_is_a_note() {
        let text = SHORT.replace(
            "state OUT after=essential",
            "switch S1 1-2
            wire A BT1.+ S1.1 2 1m
            wire B S1.2 X.+ 2 1m
            state FLY running on=S1
            state OUT after=essential",
        );
        let verdict = run(&Facts::new(&document(&text)), &[&RULE]);
        let levels: Vec<_> = verdict.findings.iter().map(|it| it.level).collect();
        assert_eq!(levels, [Level::Note]);
    }

    #[test]
    fn accepts_a_battery_that_lasts() {
        let text = SHORT
            .replace("9.7", "9.5")
            .replace("#! short-endurance", "");
        check_rule(&RULE, &text);
    }

    #[test]
    fn not_checked_without_capacity_or_an_essential_state() {
        let text = SHORT.replace("ah=16 #! short-endurance", "#? short-endurance");
        check_rule(&RULE, &text);
        let text = SHORT.replace("#!", "#?").replace("after=essential", "");
        check_rule(&RULE, &text);
    }
}
