//! More receivers on an ARINC 429 line than its transmitter can drive.

use crate::rules::{prelude::*, signal::joined::also_all};

/// More receivers on an ARINC 429 line than its transmitter can drive.
pub const RULE: Rule = Rule {
    slug: "arinc-receivers",
    title: "Too many receivers on an ARINC 429 line",
    level: Level::Fault,
    why: "Each receiver loads the line. Beyond what the transmitter can drive, its levels sag and words are \
          lost intermittently.",
    sources: &[cite(
        ARINC_429,
        "one transmitter and at most 20 receivers on a line",
    )],
    reads: Reads::JOINS,
    check,
};

/// One transmitter and twenty receivers.
const MOST: usize = 21;

fn check(facts: &Facts<'_>, out: &mut Findings<'_, '_>) {
    for conductor in facts.conductors() {
        let units = conductor.with(Role::Arinc429A).count();
        let at = conductor.wires[0];
        match units {
            0 => {}
            units if units <= MOST => out.clear(at),
            units => {
                let report = out
                    .finding(at)
                    .says(format!(
                        "{} receivers on the line of {}, limit {}",
                        units - 1,
                        facts.label(at),
                        MOST - 1
                    ))
                    .limit((units - 1) as f64, (MOST - 1) as f64, "receivers")
                    .working(format!("{units} units on the line, one of them transmits"))
                    .help("feed some of them from another output");
                also_all(report, conductor);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::testing::check_rule;

    fn line(receivers: usize, mark: &str) -> String {
        let mut text = "unit U0 J1-1:arinc429_a\n".to_owned();
        for n in 1..=receivers {
            let mark = if n == 1 { mark } else { "" };
            text += &format!(
                "unit U{n} J1-1:arinc429_a\nwire W{n:02} U{}.J1-1 U{n}.J1-1 {mark}\n",
                n - 1
            );
        }
        text
    }

    #[test]
    fn finds_twenty_one_receivers() {
        let verdict = check_rule(&RULE, &line(21, "#! arinc-receivers"));
        assert_eq!(verdict.findings[0].measured, Some(21.0));
    }

    #[test]
    fn accepts_twenty() {
        check_rule(&RULE, &line(20, ""));
    }
}
