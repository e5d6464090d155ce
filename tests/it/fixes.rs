//! Fixes of mistakes: none that is offered may make it worse. The operators of `mistakes` make them on both samples, every
//! fix that is offered for what they bring is made, and the outcome is measured by other means than
//! those that the program proves them with.

use std::collections::{BTreeMap, BTreeSet};

use loomwright_core::{
    document::{Document, ElementKind, SheetItem, Shown},
    drawing, edit,
    netlist::{EdgeKind, Netlist, Through},
    rules::{self, Finding, Level, Offer, Prover, Verdict},
    solve::{OperatingPoint, operate_all},
};

use crate::{
    mistakes::{OPERATORS, Wiring},
    samples::{sorrel, teasel},
};

fn key(finding: &Finding) -> (&'static str, Level, String) {
    (finding.rule, finding.level, finding.at[0].key())
}

fn open(verdict: &Verdict) -> BTreeSet<(&'static str, Level, String)> {
    let open = verdict.findings.iter().filter(|it| it.accepted.is_none());
    open.map(key).collect()
}

/// The most that each protector carries of what it is made for, over all phases and peaks.
fn loaded(points: &[OperatingPoint]) -> BTreeMap<String, f64> {
    let mut most = BTreeMap::new();
    for point in points.iter().flat_map(OperatingPoint::judged) {
        let netlist = point.netlist();
        for edge in netlist.graph.edge_indices() {
            if let EdgeKind::Protector {
                rating_a: Some(rating_a),
                ..
            } = netlist.graph[edge].kind
            {
                let share = point.edge_amps(edge).unwrap_or(0.0).abs() / rating_a;
                let most: &mut f64 = most.entry(format!("{:?}", netlist.of(edge))).or_default();
                *most = most.max(share);
            }
        }
    }
    most
}

/// Loads that run, phase by phase.
fn running(points: &[OperatingPoint]) -> BTreeSet<(String, String)> {
    let mut all = BTreeSet::new();
    for point in points {
        let netlist = point.netlist();
        let runs = netlist
            .loads()
            .filter(|(edge, _)| point.lost_to(*edge).is_some());
        all.extend(
            runs.map(|(edge, _)| (point.state.to_string(), format!("{:?}", netlist.of(edge)))),
        );
    }
    all
}

/// Pairs of power buses that metal joins.
fn joined_buses(document: &Document) -> BTreeSet<(String, String)> {
    let netlist = Netlist::new(document);
    let groups = netlist.groups(Through::METAL);
    let mut buses = Vec::new();
    for (id, device) in &document.devices {
        for element in &device.elements {
            if let ElementKind::Bar(bar) = &element.is
                && bar.used_as == loomwright_core::document::BarUse::Bus
                && let Some(node) = bar
                    .terminals
                    .first()
                    .and_then(|it| netlist.terminal(id, it))
            {
                buses.push((id.to_string(), groups.of(node)));
            }
        }
    }
    let mut pairs = BTreeSet::new();
    for (a, of_a) in &buses {
        let same = buses.iter().filter(|(b, of_b)| of_a == of_b && a < b);
        pairs.extend(same.map(|(b, _)| (a.clone(), b.clone())));
    }
    pairs
}

/// What a fix breaks, in words.
fn broken(
    before: &Document,
    verdict: &Verdict,
    finding: &Finding,
    after: &Document,
) -> Vec<String> {
    let mut broken = Vec::new();
    let now = rules::check(after);
    let (was_open, now_open) = (open(verdict), open(&now));
    // Both ends of a shield can have a finding of the same rule at the same cable: a fix at one end takes one away.
    let same = |verdict: &Verdict| {
        let open = verdict.findings.iter().filter(|it| it.accepted.is_none());
        open.filter(|it| key(it) == key(finding)).count()
    };
    if same(&now) >= same(verdict) {
        broken.push("its finding stays".into());
    }
    let come = now_open
        .difference(&was_open)
        .filter(|(_, level, _)| *level <= finding.level);
    broken.extend(come.map(|it| format!("{it:?} comes")));
    let points = [operate_all(before), operate_all(after)];
    let [was, now] = points.each_ref().map(|points| loaded(points));
    for (protector, share) in &now {
        if *share > 1.0 + 1e-6 && was.get(protector).is_none_or(|was| *share > was * 1.001) {
            broken.push(format!("{protector} carries {share:.2} times its rating"));
        }
    }
    let [was, now] = points.each_ref().map(|points| running(points));
    broken.extend(was.difference(&now).map(|it| format!("{it:?} stops")));
    let [was, now] = [before, after].map(joined_buses);
    broken.extend(now.difference(&was).map(|it| format!("{it:?} are joined")));
    broken
}

/// Every how many-th mistake is tried where LOOMWRIGHT_FIXES_EVERY says nothing: all take a quarter of an hour.
const EVERY: usize = 37;

#[test]
fn no_fix_that_is_offered_makes_it_worse() {
    let every = std::env::var("LOOMWRIGHT_FIXES_EVERY");
    let every: usize = every.map_or(EVERY, |n| n.parse().expect("a number"));
    let (mut offered, mut refused, mut breaks) = (0, 0, Vec::new());
    for (name, sound) in [("sorrel", sorrel()), ("teasel", teasel())] {
        let known = open(&rules::check(&sound));
        let wiring = Wiring::new(&sound);
        let mistakes = OPERATORS.iter().flat_map(|it| it.mistakes(&wiring));
        for mistake in mistakes.step_by(every) {
            let document = mistake.change.applied(&sound).expect("made for this");
            let prover = Prover::new(&document);
            let findings = prover.verdict().findings.iter();
            let new = findings.filter(|it| it.accepted.is_none() && !known.contains(&key(it)));
            for finding in new {
                let proved = prover.fixes(finding);
                refused += proved.refused.len();
                for Offer { fix, .. } in &proved.offered {
                    offered += 1;
                    let after = fix.change.applied(&document).expect("it was made for this");
                    for broken in broken(&document, prover.verdict(), finding, &after) {
                        breaks.push(format!(
                            "{name}, {}: {:?} for {}: {broken}",
                            mistake.what, fix.title, finding.message
                        ));
                    }
                }
            }
        }
    }
    println!("{offered} fixes offered, {refused} not");
    assert!(breaks.is_empty(), "{breaks:#?}");
    assert!(
        offered >= 5 && refused >= 5,
        "{offered} fixes are offered, {refused} not"
    );
}

/// Two wires in one contact of Teasel: their splice is drawn on the sheet that shows both, on free paper.
#[test]
fn a_splice_that_a_fix_makes_is_on_the_sheet_of_its_wires() {
    let mut document = teasel();
    let crowded = document.wires["p30b18"].from.clone();
    let wire = document
        .wires
        .get_mut("l10a22")
        .expect("a wire of the sample");
    wire.from = crowded;
    let prover = Prover::new(&document);
    let mut findings = prover.verdict().findings.iter();
    let finding = findings.find(|it| it.rule == "crowded-terminal");
    let proved = prover.fixes(finding.expect("two wires at one terminal"));
    let offer = proved.offered.first();
    let fix = &offer.unwrap_or_else(|| panic!("{proved:#?}")).fix;
    let change = edit::show_splices(&document, &fix.change, drawing::item_size);
    let after = change.applied(&document).expect("it was made for this");
    let splice = after
        .splices
        .keys()
        .find(|id| !document.splices.contains_key(*id));
    let splice = splice.expect("the fix makes a splice");
    let mut shown = 0;
    for sheet in after.sheets.values() {
        let rect = |item: &SheetItem| {
            let (w_mm, h_mm) = drawing::item_size(&after, item);
            [item.x_mm, item.y_mm, item.x_mm + w_mm, item.y_mm + h_mm]
        };
        let is_it = |item: &&SheetItem| item.shows == Shown::Splice(splice.clone());
        for item in sheet.items.values().filter(is_it) {
            shown += 1;
            let own = rect(item);
            let (width_mm, height_mm) = sheet.size.size_mm();
            assert!(own[0] > 0.0 && own[1] > 0.0 && own[2] < width_mm && own[3] < height_mm);
            for other in sheet.items.values().filter(|it| !is_it(it)) {
                let it = rect(other);
                let apart =
                    own[2] <= it[0] || own[0] >= it[2] || own[3] <= it[1] || own[1] >= it[3];
                assert!(apart, "the splice covers {:?}", other.shows);
            }
        }
    }
    assert!(shown > 0, "the splice is on no sheet");
}
