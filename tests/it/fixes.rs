//! Fixes of mistakes: none that is offered may make it worse. Mistakes are seeded by rule on both samples, every
//! fix that is offered for what they bring is made, and the outcome is measured by other means than
//! those that the program proves them with.

use std::collections::{BTreeMap, BTreeSet};

use loomwright_core::{
    document::{Document, ElementKind, End, SheetItem, ShieldEnd, Shown},
    drawing, edit,
    netlist::{EdgeKind, Netlist, Through},
    rules::{self, Finding, Level, Prover, Verdict},
    solve::{OperatingPoint, operate_all},
    units::Gauge,
};

use crate::samples::{sorrel, teasel};

/// One mistake: what was done, and the document with it.
type Mistake = (String, Document);

/// Every mistake of these kinds that fits a document, in the order of its records.
fn mistakes(sound: &Document) -> Vec<Mistake> {
    let mut all = Vec::new();
    let mut put = |name: String, edit: &dyn Fn(&mut Document)| {
        let mut document = sound.clone();
        edit(&mut document);
        if document != *sound {
            all.push((name, document));
        }
    };
    for (id, wire) in &sound.wires {
        put(format!("{id} left out"), &|it| {
            it.wires.remove(id);
            it.cables
                .values_mut()
                .for_each(|cable| cable.wires.retain(|wire| wire != id));
            it.cables.retain(|_, cable| !cable.wires.is_empty());
        });
        put(format!("{id} eight sizes thinner"), &|it| {
            let thin = Gauge::ALL.into_iter().find(|size| {
                wire.gauge_awg
                    .is_some_and(|it| size.0 == (it.0 + 8).min(24))
            });
            if let (Some(thin), Some(wire)) = (thin, it.wires.get_mut(id)) {
                wire.gauge_awg = Some(thin);
            }
        });
        for from in [true, false] {
            let next = next_terminal(sound, if from { &wire.from } else { &wire.to });
            let side = if from { "from" } else { "to" };
            put(format!("{id} {side} one pin further"), &|it| {
                if let (Some(next), Some(wire)) = (next.clone(), it.wires.get_mut(id)) {
                    *(if from { &mut wire.from } else { &mut wire.to }) = next;
                }
            });
        }
        put(format!("{id} fed past its protector"), &|it| {
            let line = line_side(sound, &wire.from);
            if let (Some(line), Some(wire)) = (line, it.wires.get_mut(id)) {
                wire.from = line;
            }
        });
    }
    for (id, device) in &sound.devices {
        for (at, element) in device.elements.iter().enumerate() {
            for (name, times) in [("times five", 5.0), ("a sixth", 1.0 / 6.0)] {
                put(format!("{id} {} {name}", element.id), &|it| {
                    let device = it.devices.get_mut(id).expect("it is there");
                    if let ElementKind::Protector(it) = &mut device.elements[at].is {
                        it.rating_a = it.rating_a.map(|a| a * times);
                    }
                });
            }
        }
    }
    for (id, cable) in &sound.cables {
        let wires = cable.wires.iter().filter_map(|wire| sound.wires.get(wire));
        let ends: Vec<[End; 2]> = wires
            .map(|wire| [wire.from.clone(), wire.to.clone()])
            .collect();
        let (Some([from, to]), Some(_)) = (ends.last(), &cable.shield) else {
            continue;
        };
        let tie = |at: &End| ShieldEnd::Tied {
            at: at.clone(),
            pigtail_mm: None,
            extra: loomwright_core::document::Extra::new(),
        };
        for (name, shield) in [
            ("at both ends", [tie(from), tie(to)]),
            ("nowhere", [ShieldEnd::Floating, ShieldEnd::Floating]),
        ] {
            put(format!("shield of {id} {name}"), &|it| {
                let cable = it.cables.get_mut(id).expect("it is there");
                if let Some(it) = &mut cable.shield {
                    [it.from, it.to] = shield.clone();
                }
            });
        }
        // The low of its last core left out: the shield alone is the low then.
        if let Some(low) = cable.wires.last() {
            put(format!("shield of {id} as the low"), &|it| {
                let cable = it.cables.get_mut(id).expect("it is there");
                cable.wires.retain(|wire| wire != low);
                if let Some(it) = &mut cable.shield {
                    [it.from, it.to] = [tie(from), tie(to)];
                }
                it.wires.remove(low);
            });
        }
    }
    all
}

/// The terminal after this one on the same device.
fn next_terminal(document: &Document, end: &End) -> Option<End> {
    let End::Terminal(device, terminal) = end else {
        return None;
    };
    let terminals = &document.devices.get(device)?.terminals;
    let at = terminals.iter().position(|it| it.id == *terminal)?;
    let next = terminals.get(at + 1)?;
    Some(End::Terminal(device.clone(), next.id.clone()))
}

/// The line side of the protector whose load side this is.
fn line_side(document: &Document, end: &End) -> Option<End> {
    let End::Terminal(device, terminal) = end else {
        return None;
    };
    let elements = &document.devices.get(device)?.elements;
    elements.iter().find_map(|element| match &element.is {
        ElementKind::Protector(it) if it.load == *terminal => {
            Some(End::Terminal(device.clone(), it.line.clone()))
        }
        _ => None,
    })
}

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
        for (mistake, document) in mistakes(&sound).into_iter().step_by(every) {
            let prover = Prover::new(&document);
            let findings = prover.verdict().findings.iter();
            let new = findings.filter(|it| it.accepted.is_none() && !known.contains(&key(it)));
            for finding in new {
                let proved = prover.fixes(finding);
                refused += proved.refused.len();
                for fix in &proved.offered {
                    offered += 1;
                    let after = fix.change.applied(&document).expect("it was made for this");
                    for broken in broken(&document, prover.verdict(), finding, &after) {
                        breaks.push(format!(
                            "{name}, {mistake}: {:?} for {}: {broken}",
                            fix.title, finding.message
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
    let fix = proved
        .offered
        .first()
        .unwrap_or_else(|| panic!("{proved:#?}"));
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
