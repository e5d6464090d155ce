//! More than four terminals on a stud.

use crate::{
    rules::prelude::*,
    standards::stud::{GROUND_WIRES_SOURCE, TERMINALS_MAX, TERMINALS_SOURCE},
};

/// More than four terminals on a stud.
pub const RULE: Rule = Rule {
    slug: "crowded-stud",
    title: "Too many terminals on a stud",
    level: Level::Fault,
    why: "Each extra terminal is one more joint for the current to cross and one more that settles under \
          the nut. A stack that loosens cuts off everything on the stud.",
    sources: &[TERMINALS_SOURCE, GROUND_WIRES_SOURCE],
    reads: Reads::JOINS,
    check,
};

fn check(facts: &Facts<'_>, out: &mut Findings<'_, '_>) {
    for (id, device) in &facts.document.devices {
        for terminal in &device.terminals {
            if terminal.form != TerminalForm::Stud || terminal.fits.is_some() {
                continue;
            }
            let end = End::Terminal(id.clone(), terminal.id.clone());
            let there = facts.touches(&end).len();
            if there == 0 {
                continue;
            }
            let at = (id, &terminal.id);
            if there <= TERMINALS_MAX {
                out.clear(at);
                continue;
            }
            let mut report = out
                .finding(at)
                .says(format!(
                    "{there} terminals on {}, limit {TERMINALS_MAX}",
                    facts.label(at)
                ))
                .limit(there as f64, TERMINALS_MAX as f64, "terminals")
                .help("move some of them to a small bus or ground block with its own stud");
            for (wire, _) in facts.wires_at(&end) {
                report = report.also(wire);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::testing::check_rule;

    fn ground_stud(wires: usize) -> String {
        let mut text = String::from("ground GB1 STUD T1 #! crowded-stud\n");
        for index in 0..wires {
            text += &format!("load L{index} 1\n wire W{index} L{index}.- GB1.STUD\n");
        }
        text
    }

    #[test]
    fn finds_a_fifth_terminal() {
        let verdict = check_rule(&RULE, &ground_stud(5));
        assert_eq!(
            verdict.findings[0].message,
            "5 terminals on GB1 STUD, limit 4"
        );
    }

    #[test]
    fn accepts_four() {
        check_rule(&RULE, &ground_stud(4).replace("#!", "#"));
    }
}
