//! A wire or breaker that is named for one unit and serves another.

use std::collections::{BTreeMap, BTreeSet};

use petgraph::graph::NodeIndex;

use crate::{
    document::natural_cmp,
    ids::DeviceId,
    netlist::EdgeKind,
    rules::{
        Subject, and_list,
        names::{is_short_for, tokens},
        prelude::*,
    },
};

/// A wire or breaker that is named for one unit and serves another.
pub const RULE: Rule = Rule {
    slug: "function-of-another",
    title: "Named for another unit",
    level: Level::Caution,
    why: "The label at the breaker is what the pilot pulls by, and the function in the list is what the builder \
          connects by. If two are swapped, pulling one switches off the other.",
    sources: &[
        cite(
            CFR_14_23,
            "23.1367(d): switches labeled as to operation and the circuit controlled",
        ),
        cite(
            COMMON_PRACTICE,
            "breakers and wires are named by the unit they feed, in words or abbreviated",
        ),
    ],
    reads: Reads::FUNCTIONS,
    check,
};

fn check(facts: &Facts<'_>, out: &mut Findings<'_, '_>) {
    let mut names = Names::of(facts.document);
    for (id, wire, _) in facts.wires() {
        let Some(conductor) = facts.conductor_of(id) else {
            continue;
        };
        let fed = conductor.ends.iter().filter(|it| feeds(it.1));
        let met = conductor.ends.iter().chain(&conductor.passive);
        check_name(
            facts,
            out,
            &mut names,
            (Subject::Wire(id), &wire.function),
            fed.map(|it| it.0),
            met.map(|it| it.0),
        );
    }
    let netlist = facts.netlist();
    for (id, device) in &facts.document.devices {
        for element in &device.elements {
            // A bare designation, "CB4", names no unit; more than that does.
            if !matches!(element.is, ElementKind::Protector(_))
                || tokens(&element.label).count() < 2
            {
                continue;
            }
            let Some(edge) = netlist.element_edge(id, &element.id) else {
                continue;
            };
            let behind = facts.behind(edge);
            let is_load = |node: NodeIndex| {
                netlist
                    .edges_at(node)
                    .any(|it| netlist.graph[it].kind == EdgeKind::Load)
            };
            let there = |node: &NodeIndex| facts.terminal_at(*node).map(|it| it.id);
            let met = behind.iter().filter_map(there);
            let loads = behind.iter().filter(|node| is_load(**node));
            let fed = loads.filter_map(there);
            let at = Subject::Element(id, &element.id);
            check_name(facts, out, &mut names, (at, &element.label), fed, met);
        }
    }
}

/// True for a pin that a circuit is named after: the supply or the return of a unit.
fn feeds(terminal: &Terminal) -> bool {
    matches!(terminal.role, Role::PowerIn | Role::Return)
}

fn check_name<'d>(
    facts: &Facts<'d>,
    out: &mut Findings<'_, '_>,
    names: &mut Names<'d>,
    (at, name): (Subject<'_>, &str),
    fed: impl Iterator<Item = &'d DeviceId> + Clone,
    mut met: impl Iterator<Item = &'d DeviceId>,
) {
    if fed.clone().next().is_none() || name.trim().is_empty() {
        return;
    }
    let named = names.named(name);
    if named.is_empty() || met.any(|it| named.contains(it)) {
        out.clear(at);
        return;
    }
    let fed: BTreeSet<&DeviceId> = fed.collect();
    let tags = |devices: &BTreeSet<&DeviceId>| {
        let mut tags: Vec<String> = devices.iter().map(|id| facts.label(*id)).collect();
        tags.sort_by(|a, b| natural_cmp(a, b));
        and_list(&tags)
    };
    let mut report = out
        .finding(at)
        .says(format!(
            "{} is named {:?}, which is {}, but it serves {}",
            facts.label(at),
            name.trim(),
            tags(&named),
            tags(&fed)
        ))
        .help("follow the wire: swap it with the one that ends at the named unit, or correct the name");
    for device in fed.iter().chain(&named) {
        report = report.also(*device);
    }
    if let Subject::Element(device, element) = at
        && let Some(edge) = facts.netlist().element_edge(device, element)
    {
        report.also_wires(facts.netlist().ends(edge).1);
    }
}

/// The words of every unit's tag, title and parts, and which units each abbreviation of a name can mean.
struct Names<'d> {
    words: BTreeMap<String, BTreeSet<&'d DeviceId>>,
    meant: BTreeMap<String, BTreeSet<&'d DeviceId>>,
}

impl<'d> Names<'d> {
    fn of(document: &'d Document) -> Self {
        let mut words: BTreeMap<String, BTreeSet<&DeviceId>> = BTreeMap::new();
        for (id, device) in &document.devices {
            // A breaker is named after what it feeds; that does not make it that.
            let is_protector = |it: &&Element| matches!(it.is, ElementKind::Protector(_));
            let parts = device.elements.iter().filter(|it| !is_protector(it));
            let labels = parts.map(|it| it.label.as_str());
            let texts = [device.tag.as_str(), device.title.as_str()]
                .into_iter()
                .chain(labels);
            for word in texts.flat_map(tokens) {
                // "XPDR" is a transponder, and "COM1" is also one of those
                // called "COM".
                let letters = word.trim_end_matches(|it: char| it.is_ascii_digit());
                if letters.len() > 1 && letters.len() < word.len() {
                    words.entry(letters.to_owned()).or_default().insert(id);
                }
                if let Some(rest) = word.strip_prefix("TRANS") {
                    words.entry(format!("X{rest}")).or_default().insert(id);
                }
                words.entry(word).or_default().insert(id);
            }
        }
        Self {
            words,
            meant: BTreeMap::new(),
        }
    }

    /// The units that every word of a name can mean; none if some word means no unit.
    fn named(&mut self, name: &str) -> BTreeSet<&'d DeviceId> {
        let mut named: Option<BTreeSet<&DeviceId>> = None;
        for token in tokens(name) {
            let meant = self.meant(&token);
            named = Some(match named {
                None => meant.clone(),
                Some(so_far) => so_far.intersection(meant).copied().collect(),
            });
        }
        named.unwrap_or_default()
    }

    fn meant(&mut self, token: &str) -> &BTreeSet<&'d DeviceId> {
        if !self.meant.contains_key(token) {
            let first = token.chars().next().map(String::from).unwrap_or_default();
            let near = self
                .words
                .range(first.clone()..)
                .take_while(|(word, _)| word.starts_with(&first));
            let found = near.filter(|(word, _)| is_short_for(token, word));
            let found = found
                .flat_map(|(_, devices)| devices.iter().copied())
                .collect();
            self.meant.insert(token.to_owned(), found);
        }
        &self.meant[token]
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::{
        rules::{self, Facts},
        testing::document,
    };

    fn found(functions: [&str; 2]) -> Vec<String> {
        let mut document = document(
            "
            bus MBUS CB1=5 CB2=5
            load FD1 1
            load XP1 1
            wire D1A22 MBUS.CB1 FD1.+
            wire R4A22 MBUS.CB2 XP1.+
            ",
        );
        for (id, title) in [("FD1", "Flight display"), ("XP1", "Xpdr, mode S")] {
            document.devices.get_mut(id).expect("there").title = title.into();
        }
        for (id, function) in ["D1A22", "R4A22"].into_iter().zip(functions) {
            document.wires.get_mut(id).expect("there").function = function.into();
        }
        let verdict = rules::run(&Facts::new(&document), &[&RULE]);
        verdict
            .findings
            .iter()
            .map(|it| it.message.clone())
            .collect()
    }

    #[test]
    fn finds_two_functions_swapped() {
        assert_eq!(
            found(["XPDR", "FLT DISPLAY"]),
            [
                "D1A22 is named \"XPDR\", which is XP1, but it serves FD1",
                "R4A22 is named \"FLT DISPLAY\", which is FD1, but it serves XP1",
            ]
        );
    }

    #[test]
    fn accepts_abbreviations_and_names_that_mean_no_unit() {
        assert_eq!(found(["FLT DISPLAY", "XPDR"]), Vec::<String>::new());
        assert_eq!(found(["PANEL FEED", ""]), Vec::<String>::new());
    }

    #[test]
    fn a_breaker_is_named_by_its_label() {
        let mut document = document(
            "
            battery BT1
            bus MBUS CB1=5 CB2=5
            load FD1 1
            load LT1 1
            wire P1 BT1.+ MBUS.STUD
            wire D1A22 MBUS.CB1 LT1.+
            wire L1A22 MBUS.CB2 FD1.+
            ",
        );
        for (id, title) in [("FD1", "Flight display"), ("LT1", "Landing light")] {
            document.devices.get_mut(id).expect("there").title = title.into();
        }
        let bus = document.devices.get_mut("MBUS").expect("there");
        for element in &mut bus.elements {
            match element.id.as_str() {
                "CB1" => element.label = "FLT DISPLAY".into(),
                "CB2" => element.label = "LDG LT".into(),
                _ => {}
            }
        }
        let verdict = rules::run(&Facts::new(&document), &[&RULE]);
        assert_eq!(verdict.findings.len(), 2, "{:?}", verdict.findings);
        assert!(
            verdict.findings[0].message.contains("FLT DISPLAY"),
            "{:?}",
            verdict.findings
        );
    }
}
