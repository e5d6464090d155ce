//! A ground block from which no current gets home.

use crate::rules::prelude::*;

/// A ground block from which no current gets home.
pub const RULE: Rule = Rule {
    slug: "ground-block-loose",
    title: "Ground block without its strap",
    level: Level::Fault,
    why: "Everything that returns to a block depends on the one strap that ties it. Without it all its units are dead, \
          or their current finds its way home through shields, headsets and antenna cables.",
    sources: &[
        cite(AC_43_13_1B, "par 11-185 and 11-186, grounds and returns"),
        cite(
            COMMON_PRACTICE,
            "the avionics block is tied to the power ground by one strap",
        ),
    ],
    reads: Reads::JOINS,
    check,
};

fn check(facts: &Facts<'_>, out: &mut Findings<'_, '_>) {
    let netlist = facts.netlist();
    // A drawing without a source has no home yet.
    if netlist.sources().next().is_none() {
        return;
    }
    for (id, device) in &facts.document.devices {
        for element in &device.elements {
            let ElementKind::Bar(bar) = &element.is else {
                continue;
            };
            let is_wired = |terminal: &&crate::ids::TerminalId| {
                !facts
                    .touches(&End::Terminal(id.clone(), (*terminal).clone()))
                    .is_empty()
            };
            let first = bar
                .terminals
                .first()
                .and_then(|it| netlist.terminal(id, it));
            let (BarUse::Ground, Some(node), true) = (
                bar.used_as,
                first,
                bar.terminals.iter().any(|it| is_wired(&it)),
            ) else {
                continue;
            };
            if facts.returns().has(node) {
                out.clear(id);
                continue;
            }
            let mut report = out
                .finding(id)
                .says(format!(
                    "no metal leads from {} to a battery's negative: what returns there does not work",
                    facts.label(id)
                ))
                .help("tie it to the power ground or the airframe with a strap of the size of its largest feeder");
            for terminal in bar.terminals.iter().filter(|it| !is_wired(it)) {
                report = report.also((id, terminal));
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::testing::check_rule;

    const GROUNDS: &str = "
        battery BT1
        ground GB1 STUD T1
        load FD1 1
        wire N1 BT1.- GB1.STUD
        wire R1 FD1.- GB2.T1
    ";

    #[test]
    fn finds_a_block_without_its_strap() {
        let verdict = check_rule(
            &RULE,
            &format!("ground GB2 STUD T1 #! ground-block-loose\n{GROUNDS}"),
        );
        assert!(
            verdict.findings[0]
                .message
                .starts_with("no metal leads from GB2"),
            "{:?}",
            verdict.findings
        );
    }

    #[test]
    fn accepts_a_block_with_its_strap() {
        check_rule(
            &RULE,
            &format!(
                "ground GB2 STUD T1
{GROUNDS}
wire T GB1.T1 GB2.STUD"
            ),
        );
    }
}
