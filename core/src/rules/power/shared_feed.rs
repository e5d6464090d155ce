//! Two devices set as independent, and one failure that stops both.

use petgraph::graph::EdgeIndex;

use crate::{
    analysis::failures::failures,
    ids::DeviceId,
    rules::{
        Subject, and_list,
        power::single_failure::{Fed, subject},
        prelude::*,
    },
};

/// Two devices set as independent, and one failure that stops both.
pub const RULE: Rule = Rule {
    slug: "shared-feed",
    title: "Independent feeds share a part",
    level: Level::Fault,
    why: "You set that these two must not fail together. A breaker, splice, connector, ground point or \
          battery that both depend on makes one feed out of two.",
    sources: &[cite(
        COMMON_PRACTICE,
        "a unit and its standby share no part of supply and return",
    )],
    reads: Reads::ALL,
    check,
};

fn check(facts: &Facts<'_>, out: &mut Findings<'_, '_>) {
    let netlist = facts.netlist();
    let mut all = None;
    let mut sources: Vec<EdgeIndex> = netlist.batteries().collect();
    if sources.is_empty() {
        sources = netlist.sources().collect();
    }
    for (id, device) in &facts.document.devices {
        for other in &device.independent_of {
            let all = all.get_or_insert_with(|| failures(facts.document, netlist));
            let both = match other == id {
                true => channels(facts, id, &sources),
                false => loads(facts, id, &sources)
                    .and_then(|own| Ok((own, loads(facts, other, &sources)?))),
            };
            let (own, theirs) = match both {
                Ok(both) => both,
                Err(because) => {
                    out.not_checked(id, because);
                    continue;
                }
            };
            // Checked first: it is cheap, and leaves a few of hundreds.
            let may_stop = |failure| {
                let stops = |it: &Fed<'_>| it.may_stop(failure);
                own.iter().any(stops) && theirs.iter().any(stops)
            };
            let stops_both = |failure| {
                let stops = |it: &Fed<'_>| it.is_stopped(facts, failure, &sources);
                own.iter().any(stops) && theirs.iter().any(stops)
            };
            let shared: Vec<Subject<'_>> = (all.iter())
                .filter(|failure| may_stop(failure) && stops_both(failure))
                .map(|(failure, _)| subject(failure))
                .collect();
            if shared.is_empty() {
                out.clear(id);
                continue;
            }
            report(facts, out, (id, other), &shared);
        }
    }
}

/// The loads of a device, or why they cannot be traced.
fn loads<'d>(
    facts: &Facts<'d>,
    id: &DeviceId,
    sources: &[EdgeIndex],
) -> Result<Vec<Fed<'d>>, String> {
    let Some((id, device)) = facts.document.devices.get_key_value(id) else {
        return Err(format!("there is no device {id}"));
    };
    let loads = (device.elements.iter()).filter(|it| matches!(it.is, ElementKind::Load(_)));
    let fed = |load: &'d Element| {
        let at = (id, &load.id);
        Fed::new(facts, at, sources)
            .ok_or_else(|| format!("{} has no supply or no return yet", facts.label(at)))
    };
    let found: Vec<Fed<'d>> = loads.map(fed).collect::<Result<_, _>>()?;
    if found.is_empty() {
        return Err(format!("{} has no load to trace", device.tag));
    }
    Ok(found)
}

/// The first load of a device and its others: the channels of a unit with a supply for each.
fn channels<'d>(
    facts: &Facts<'d>,
    id: &DeviceId,
    sources: &[EdgeIndex],
) -> Result<(Vec<Fed<'d>>, Vec<Fed<'d>>), String> {
    let mut first = loads(facts, id, sources)?;
    let others = first.split_off(1);
    match others.is_empty() {
        true => Err(format!("{} has one load only", facts.label(id))),
        false => Ok((first, others)),
    }
}

fn report(
    facts: &Facts<'_>,
    out: &mut Findings<'_, '_>,
    (id, other): (&DeviceId, &DeviceId),
    shared: &[Subject<'_>],
) {
    let mut names: Vec<String> = shared.iter().map(|subject| facts.label(*subject)).collect();
    names.dedup();
    let both = match id == other {
        true => format!("both channels of {}", facts.label(id)),
        false => format!("{} and {} both", facts.label(id), facts.label(other)),
    };
    let mut report = out
        .finding(id)
        .says(format!(
            "{both} stop if any one of these fails: {}",
            and_list(&names)
        ))
        .working(
            "alternators are not counted as a supply: they need a battery, and may have stopped",
        )
        .help("give one of them its own feed and return, or accept this with a reason")
        .also(other);
    for subject in shared {
        report = report.also(*subject);
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::testing::check_rule;

    const TWO: &str = "
        battery BT1
        battery BT2
        breaker CB1 5
        breaker CB2 5
        load BA1 1
        wire A1 BT1.+ CB1.1 18 1m
        wire A2 CB1.2 FD1.+ 18 1m
        wire N1 FD1.- BT1.- 18 1m
        wire B2 CB2.2 BA1.+ 18 1m
        wire M1 BA1.- BT2.- 18 1m
    ";

    #[test]
    fn finds_the_battery_and_the_wire_that_both_depend_on() {
        let verdict = check_rule(
            &RULE,
            &format!(
                "load FD1 1 apart=BA1 #! shared-feed\n{TWO}\nwire B1 CB1.1 CB2.1 18 1m\nwire G BT1.- BT2.- 8 1m"
            ),
        );
        let said = &verdict.findings[0].message;
        assert!(said.contains("BT1") && said.contains("A1"), "{said}");
        assert!(!said.contains("CB1") && !said.contains("CB2"), "{said}");
    }

    const CHANNELS: &str = "
        battery BT1
        battery BT2
        unit ECU1 A:power_in B:return C:power_in D:return
        ground GB1 STUD T1 T2
        ground GB2 STUD T1
        inside ECU1 load A B 1 id=a
        inside ECU1 load C D 1 id=b
        wire A1 BT1.+ ECU1.A 18 1m
        wire B1 BT2.+ ECU1.C 18 1m
        wire N1 ECU1.B GB1.T1 18 1m
        wire N2 GB1.STUD BT1.- 8 1m
        wire N3 ECU1.D GB2.T1 18 1m
        wire N4 GB2.STUD BT2.- 8 1m
    ";

    /// Two channels in one case: each has a supply and a return of its own.
    #[test]
    fn finds_one_stud_under_both_channels_of_a_unit() {
        let apart = CHANNELS.replace("D:return", "D:return apart=ECU1");
        check_rule(&RULE, &apart);
        let joined = apart
            .replace("N3 ECU1.D GB2.T1", "N3 ECU1.D GB1.T2")
            .replace("apart=ECU1", "apart=ECU1 #! shared-feed");
        let said = check_rule(&RULE, &format!("{joined}\nwire N5 GB1.STUD BT2.- 8 1m"));
        let said = &said.findings[0].message;
        assert!(said.starts_with("both channels of ECU1 stop"), "{said}");
        assert!(said.contains("GB1"), "{said}");
    }

    #[test]
    fn accepts_feeds_with_nothing_in_common() {
        check_rule(
            &RULE,
            &format!("load FD1 1 apart=BA1\n{TWO}\nwire B1 BT2.+ CB2.1 18 1m"),
        );
    }

    #[test]
    fn not_checked_while_one_has_no_supply() {
        check_rule(
            &RULE,
            &format!("load FD1 1 apart=BA1 #? shared-feed\n{TWO}"),
        );
    }

    #[test]
    fn every_load_of_the_two_counts_and_alternators_do_not() {
        // The alternator feeds both too, and they still depend on the one battery.
        let text = format!(
            "load FD1 1 apart=BA1 #! shared-feed\n{TWO}\nalternator ALT1 60\n
             wire B1 CB1.1 CB2.1 18 1m\nwire G BT1.- BT2.- 8 1m\n
             wire P ALT1.B CB1.1 8 1m\nwire Q ALT1.CASE BT1.- 8 1m"
        );
        let verdict = check_rule(&RULE, &text);
        let said = &verdict.findings[0].message;
        assert!(said.contains("BT1"), "{said}");
    }
}
