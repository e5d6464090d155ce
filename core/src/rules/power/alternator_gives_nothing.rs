//! An alternator that gives nothing in a phase in which the engine turns it.

use petgraph::graph::EdgeIndex;

use crate::{
    ids::{DeviceId, ElementId, TerminalId},
    netlist::Through,
    rules::{Report, and_list, prelude::*},
    solve::{Figures, OperatingPoint},
};

/// The rule.
pub const RULE: Rule = Rule {
    slug: "alternator-gives-nothing",
    title: "Alternator gives nothing",
    level: Level::Fault,
    why: "The battery then supplies everything and runs down in flight, while every sheet still counts on \
          the alternator. Without a low-voltage warning the first sign is a radio that stops.",
    sources: &[
        cite(
            CFR_14_23,
            "23.1351(a)(2): the generating system must supply the loads under probable conditions",
        ),
        cite(
            COMMON_PRACTICE,
            "an alternator needs its output lead, its field and a strap from its case to the battery",
        ),
    ],
    reads: Reads::ALL,
    check,
};

fn check(facts: &Facts<'_>, out: &mut Findings<'_, '_>) {
    for (id, element, alternator, edge) in facts.alternators() {
        judge(facts, out, (id, element), alternator, edge);
    }
}

fn judge(
    facts: &Facts<'_>,
    out: &mut Findings<'_, '_>,
    at: (&DeviceId, &ElementId),
    alternator: &Alternator,
    edge: EdgeIndex,
) {
    let states = &facts.document.states;
    let turns = |point: &&OperatingPoint| {
        point.figures == Figures::Continuous
            && states.get(&point.state).is_none_or(|it| it.alternators_on)
    };
    let points: Vec<_> = facts.points().iter().filter(turns).collect();
    if points.is_empty() {
        let label = facts.label(at.0);
        out.not_checked(at, format!("in no phase does the engine turn {label}"));
        return;
    }
    // Without a battery a dead alternator cannot be distinguished from an idle one.
    let dead: Vec<&OperatingPoint> = (points.into_iter())
        .filter(|point| point.reference().is_some() && !point.gives(edge))
        .collect();
    let Some(first) = dead.first() else {
        out.clear(at);
        return;
    };
    if let Some(problem) = &first.problem {
        let phase = facts.label(&first.state);
        out.not_checked(at, format!("\"{phase}\" could not be solved: {problem}"));
        return;
    }
    let phases: Vec<_> = (dead.iter())
        .map(|point| format!("\"{}\"", facts.label(&point.state)))
        .collect();
    let cause = Cause::of(facts, at.0, alternator, edge, first);
    let tag = facts.label(at.0);
    let mut report = out
        .finding(at)
        .says(format!(
            "{tag} gives nothing in {}: {}",
            and_list(&phases),
            cause.words
        ))
        .limit(0.0, alternator.limit_a, "A")
        .working("the battery supplies all loads in these phases; no share of the alternator can be stated")
        .help("close its circuit: output lead to the bus, field switched on, case joined to the battery's negative");
    report = at_terminal(facts, report, at.0, cause.terminal);
    for open in &cause.open {
        report = report.also(Facts::subject_of(facts.netlist().of(*open)));
    }
    if let Some(place) = facts.device(at.0).and_then(|it| it.place.as_ref()) {
        report = report.also(place);
    }
    for point in dead {
        report = report.also(&point.state);
    }
}

/// A terminal and what is wired to it.
fn at_terminal<'a, 'd>(
    facts: &Facts<'_>,
    mut report: Report<'a, 'd>,
    device: &DeviceId,
    terminal: &TerminalId,
) -> Report<'a, 'd> {
    report = report.also((device, terminal));
    let end = End::Terminal(device.clone(), terminal.clone());
    for (wire, _) in facts.wires_at(&end) {
        report = report.also(wire);
    }
    report
}

/// Why an alternator gives nothing.
struct Cause<'a> {
    /// In words.
    words: String,
    /// The terminal at which its circuit is open.
    terminal: &'a TerminalId,
    /// What is open in the path.
    open: Vec<EdgeIndex>,
}

impl<'a> Cause<'a> {
    fn of(
        facts: &Facts<'_>,
        id: &DeviceId,
        alternator: &'a Alternator,
        edge: EdgeIndex,
        point: &OperatingPoint,
    ) -> Self {
        let netlist = facts.netlist();
        let label = |terminal| facts.label((id, terminal));
        let (plus, minus) = netlist.ends(edge);
        let batteries: Vec<_> = netlist.batteries().collect();
        let metal = netlist.groups(Through::METAL);
        let joined = |it: &EdgeIndex| metal.same(netlist.ends(*it).1, minus);
        if !batteries.is_empty() && !batteries.iter().any(joined) {
            let placed = facts.device(id).is_some_and(|it| it.place.is_some());
            let ground = label(&alternator.minus);
            let words = match placed {
                true => format!(
                    "nothing joins {ground} to the battery's negative (engine strap or bond missing)"
                ),
                false => format!(
                    "nothing joins {ground} to the battery's negative (it has no place, and no wire does)"
                ),
            };
            return Self {
                words,
                terminal: &alternator.minus,
                open: Vec::new(),
            };
        }
        let open_on = |path: &[EdgeIndex]| -> Vec<EdgeIndex> {
            let open = path.iter().filter(|it| !point.closed[it.index()]);
            open.copied().collect()
        };
        let named = |open: &[EdgeIndex]| {
            let names: Vec<_> = (open.iter())
                .map(|it| facts.label(Facts::subject_of(netlist.of(*it))))
                .collect();
            and_list(&names)
        };
        // An alternator does not feed its own field first.
        let from_battery = |node| {
            let mut feeds = facts.feeds().of_node(netlist, node).into_iter();
            feeds.find(|feed| batteries.contains(&feed.source))
        };
        if let (Some(field), false) = (&alternator.field, point.running.contains(&edge)) {
            let name = label(field);
            let feed = (netlist.terminal(id, field)).and_then(from_battery);
            let open = feed.as_ref().map_or(Vec::new(), |it| open_on(&it.path));
            let words = match (feed.is_some(), open.is_empty()) {
                (false, _) => format!("{name}, its field, is fed by nothing"),
                (true, true) => format!("{name}, its field, has no voltage"),
                (true, false) => format!("{name}, its field, is off: {} is open", named(&open)),
            };
            return Self {
                words,
                terminal: field,
                open,
            };
        }
        let name = label(&alternator.plus);
        let posts = batteries.iter().map(|it| netlist.ends(*it).0);
        let feeds: Vec<_> = posts
            .filter_map(|post| {
                let mut feeds = facts.feeds().of_node(netlist, post).into_iter();
                feeds.find(|feed| feed.source == edge)
            })
            .collect();
        let open = feeds.first().map_or(Vec::new(), |it| open_on(&it.path));
        let words = match (feeds.is_empty(), open.is_empty()) {
            (true, _) if netlist.edges_at(plus).count() < 2 => {
                format!("nothing is wired to {name}")
            }
            (true, _) => format!("{name} reaches no battery"),
            (false, true) => format!("no current flows from {name}"),
            (false, false) => format!("the lead from {name} is open at {}", named(&open)),
        };
        Self {
            words,
            terminal: &alternator.plus,
            open,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::{
        analysis::load_analysis,
        testing::{check_rule, document},
    };

    const SOUND: &str = "
        place ENGINE metal
        battery BT1
        bus MBUS CB1=5
        switch S1 1-2
        alternator G1 40 field
        load X 5
        wire B BT1.+ MBUS.STUD 8 0.5m
        wire L G1.B MBUS.STUD 8 0.5m
        wire F MBUS.CB1 S1.1 20 1m
        wire G S1.2 G1.FLD 20 1m
        wire N BT1.- G1.CASE 2 0.5m
        wire XA MBUS.STUD X.+ 18 1m
        wire XN X.- BT1.- 18 1m
        state CRUISE running on=S1
        state OUT
    ";

    fn check(change: [&str; 2], words: &str) {
        let text = SOUND.replace(change[0], change[1]).replace(
            "alternator G1 40 field",
            "alternator G1 40 field #! alternator-gives-nothing",
        );
        let verdict = check_rule(&RULE, &text);
        let message = &verdict.findings[0].message;
        assert!(
            message.starts_with("G1 gives nothing in \"CRUISE\": "),
            "{message}"
        );
        assert!(message.contains(words), "{message}");
        let analysis = load_analysis(&document(&text));
        let cruise = &analysis.phases[0];
        assert_eq!(cruise.percent(10.0), None);
        assert_eq!(cruise.headroom_a(), None);
        assert_eq!(cruise.give_nothing.len(), 1);
    }

    #[test]
    fn finds_an_output_lead_that_is_missing() {
        check(
            ["wire L G1.B MBUS.STUD", "wire L open MBUS.STUD"],
            "nothing is wired to G1 B",
        );
    }

    #[test]
    fn finds_a_case_that_is_not_joined() {
        check(["BT1.- G1.CASE", "BT1.- open"], "no place");
    }

    #[test]
    fn finds_a_field_that_is_off_or_unwired() {
        check(
            ["running on=S1", "running"],
            "its field, is off: S1 is open",
        );
        check(
            ["running on=S1", "running on=S1 pulled=MBUS/CB1"],
            "its field, is off: MBUS CB1 is open",
        );
        check(["S1.2 G1.FLD", "S1.2 open"], "is fed by nothing");
    }

    #[test]
    fn accepts_one_that_runs_and_one_that_stands() {
        check_rule(&RULE, SOUND);
    }

    /// Set 0.4 V lower it idles while the other one holds the bus.
    #[test]
    fn accepts_a_stand_by_that_idles() {
        let text = format!(
            "{SOUND}
            alternator G2 20 set=13.6
            wire L2 G2.B MBUS.STUD 10 0.5m
            wire N2 G2.CASE BT1.- 8 0.5m"
        );
        check_rule(&RULE, &text);
    }

    #[test]
    fn not_checked_if_no_phase_turns_it() {
        let text = SOUND.replace("CRUISE running", "CRUISE").replace(
            "alternator G1 40 field",
            "alternator G1 40 field #? alternator-gives-nothing",
        );
        check_rule(&RULE, &text);
    }
}
