//! A name with invisible characters in it.

use crate::{
    markup::{has_hidden, is_hidden},
    rules::{Subject, prelude::*},
};

/// A name with invisible characters in it.
pub const RULE: Rule = Rule {
    slug: "hidden-characters",
    title: "Invisible characters in a name",
    level: Level::Caution,
    why: "Text copied from a manual or a web page can contain characters that have no width, or that \
          reverse the direction of writing. Two numbers that look the same then differ, and a label can \
          show something other than what it is.",
    sources: &[cite(
        UNICODE_TR_36,
        "section 2, visual security issues, and bidirectional text spoofing",
    )],
    reads: Reads::JOINS,
    check,
};

/// The names of a record and of its parts, borrowed to read or to change them.
macro_rules! names {
    (device $it:ident, $iter:ident, $($borrow:tt)+) => {{
        let connectors = $it.connectors.$iter().map(|it| $($borrow)+ it.label);
        let terminals = $it.terminals.$iter();
        let terminals = terminals.flat_map(|it| [$($borrow)+ it.label, $($borrow)+ it.name]);
        let elements = $it.elements.$iter().map(|it| $($borrow)+ it.label);
        let own = [$($borrow)+ $it.tag, $($borrow)+ $it.title];
        let parts = connectors.chain(terminals).chain(elements);
        own.into_iter().chain(parts)
    }};
    (wire $it:ident, $($borrow:tt)+) => {
        [$($borrow)+ $it.number, $($borrow)+ $it.function, $($borrow)+ $it.colour]
    };
}

fn check(facts: &Facts<'_>, out: &mut Findings<'_, '_>) {
    let document = facts.document;
    let mut judge = |subject: Subject<'_>, hides: bool, key: &dyn Fn() -> Key| match hides {
        false => out.clear(subject),
        true => report(facts, out, subject, key()),
    };
    for (id, it) in &document.devices {
        let hides = names!(device it, iter, &).any(|name| has_hidden(name));
        judge(id.into(), hides, &|| Key::Device(id.clone()));
    }
    for (id, it) in &document.wires {
        let hides = names!(wire it, &).into_iter().any(|name| has_hidden(name));
        judge(id.into(), hides, &|| Key::Wire(id.clone()));
    }
    for (id, it) in &document.cables {
        judge(id.into(), has_hidden(&it.label), &|| Key::Cable(id.clone()));
    }
    for (id, it) in &document.splices {
        judge(id.into(), has_hidden(&it.label), &|| {
            Key::Splice(id.clone())
        });
    }
    for (id, it) in &document.places {
        judge(id.into(), has_hidden(&it.title), &|| Key::Place(id.clone()));
    }
    for (id, it) in &document.states {
        judge(id.into(), has_hidden(&it.title), &|| Key::State(id.clone()));
    }
}

fn report(facts: &Facts<'_>, out: &mut Findings<'_, '_>, subject: Subject<'_>, key: Key) {
    let Some(mut record) = facts.document.record(&key) else {
        return;
    };
    let mut hidden = Vec::new();
    for name in to_change(&mut record) {
        hidden.extend(name.chars().filter(|it| is_hidden(*it)));
        name.retain(|it| !is_hidden(it));
    }
    let Some(first) = hidden.first() else {
        return;
    };
    let more = match hidden.len() {
        1 => String::new(),
        n => format!(", and {} more", n - 1),
    };
    let mend = Change::set(facts.document, key, Some(record));
    out.finding(subject)
        .says(format!(
            "invisible character in a name of {}: U+{:04X}{more}",
            facts.label(subject),
            u32::from(*first)
        ))
        .help("remove them; no visible text changes")
        .mend("Remove the invisible characters", MendKind::Safe, mend);
}

fn to_change(record: &mut Record) -> Vec<&mut String> {
    match record {
        Record::Device(it) => names!(device it, iter_mut, &mut).collect(),
        Record::Wire(it) => names!(wire it, &mut).into(),
        other => other.kind_mut().name_mut().into_iter().collect(),
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::{
        edit::{Change, Key},
        rules::{self, Facts},
        testing::document,
    };

    #[test]
    fn finds_a_number_that_only_looks_like_another_and_takes_it_out() {
        let mut project = document("load LT1 1\nwire A LT1.+ open\nwire B LT1.- open");
        project.wires.get_mut("A").expect("it").number = "L1A22".into();
        project.wires.get_mut("B").expect("it").number = "L1\u{200b}A22".into();
        let device = project.devices.get_mut("LT1").expect("it");
        device.terminals[0].name = "\u{202e}+ DNG\u{202c}".into();
        let verdict = rules::run(&Facts::new(&project), &[&RULE]);
        let found: Vec<_> = verdict.findings.iter().map(|it| &*it.at[0].id).collect();
        assert_eq!(found, ["LT1", "B"]);
        assert!(verdict.findings[0].message.contains("U+202E, and 1 more"));
        let mut mended = project.clone();
        for finding in &verdict.findings {
            finding.mends[0].change.apply(&mut mended).expect("it fits");
        }
        assert_eq!(mended.wires["B"].number, "L1A22");
        assert_eq!(mended.devices["LT1"].terminals[0].name, "+ DNG");
        let verdict = rules::run(&Facts::new(&mended), &[&RULE]);
        assert!(verdict.findings.is_empty());
        // The same number twice is seen for what it is now.
        let twice = rules::check(&mended);
        assert!(
            twice
                .findings
                .iter()
                .any(|it| it.rule == "duplicate-wire-number")
        );
        let change = Change::between(&project, &mended);
        assert!(
            change
                .steps()
                .keys()
                .all(|key| matches!(key, Key::Device(_) | Key::Wire(_)))
        );
    }

    #[test]
    fn accepts_other_scripts_and_the_joiners_they_need() {
        let mut project = document("load LT1 1\nwire A LT1.+ open");
        project.devices.get_mut("LT1").expect("it").title = "چراغ\u{200c}ها, Überland, אור".into();
        let verdict = rules::run(&Facts::new(&project), &[&RULE]);
        assert_eq!((verdict.findings.len(), verdict.counts.clear), (0, 2));
    }
}
