//! Ends of a data line that are set to different rates.

use crate::rules::{and_list, prelude::*, signal::joined::also_all};

/// Ends of a data line that are set to different rates.
pub const RULE: Rule = Rule {
    slug: "data-rate",
    title: "Different data rates on one line",
    level: Level::Fault,
    why: "Two ends at different rates do not understand each other. Nothing shows it but the missing data: \
          it looks like a broken wire.",
    sources: &[
        cite(
            COMMON_PRACTICE,
            "both ends of a serial line or CAN trunk are set to one rate",
        ),
        cite(
            ARINC_429,
            "high speed 100 kbit/s, low speed 12 to 14.5 kbit/s",
        ),
    ],
    reads: Reads::JOINS,
    check,
};

/// Rates within this ratio count as one rate (ARINC 429 low speed is a range, 12 to 14.5 kbit/s).
const ALIKE: f64 = 1.25;

fn is_data(role: Role) -> bool {
    matches!(
        role,
        Role::SerialTx | Role::SerialRx | Role::CanHigh | Role::Arinc429A
    )
}

fn check(facts: &Facts<'_>, out: &mut Findings<'_, '_>) {
    for conductor in facts.conductors() {
        let ends: Vec<_> = conductor
            .ends
            .iter()
            .filter(|(_, it)| is_data(it.role))
            .collect();
        if ends.len() < 2 {
            continue;
        }
        let at = conductor.wires[0];
        let unset = ends.iter().find(|(_, it)| it.bit_per_s.is_none());
        let rates = || ends.iter().filter_map(|(_, it)| it.bit_per_s);
        let (least, most) = (
            rates().fold(f64::INFINITY, f64::min),
            rates().fold(0.0, f64::max),
        );
        if most > least * ALIKE {
            let names: Vec<String> = (ends.iter())
                .filter_map(|(device, it)| {
                    Some(format!(
                        "{} at {} bit/s",
                        facts.label((*device, &it.id)),
                        it.bit_per_s?
                    ))
                })
                .collect();
            let report = out
                .finding(at)
                .says(format!("different rates: {}", and_list(&names)))
                .limit(most, least, "bit/s")
                .help(
                    "set both ends to the rate that each maker's manual gives for the other unit",
                );
            also_all(report, conductor);
        } else if let Some((device, it)) = unset {
            let label = facts.label((*device, &it.id));
            out.not_checked(at, format!("the rate of {label} is missing"));
        } else {
            out.clear(at);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::testing::check_rule;

    fn line(tx: &str, rx: &str, mark: &str) -> String {
        format!(
            "unit COM1 J105-11:serial_tx:TXD{tx}
             unit FD1 J101-9:serial_rx:RX{rx}
             wire DB2A COM1.J105-11 FD1.J101-9 {mark}"
        )
    }

    #[test]
    fn finds_two_rates() {
        let verdict = check_rule(&RULE, &line("@9600", "@19200", "#! data-rate"));
        let said = &verdict.findings[0].message;
        assert!(said.contains("9600") && said.contains("19200"), "{said}");
    }

    #[test]
    fn accepts_one_rate() {
        check_rule(&RULE, &line("@9600", "@9600", ""));
    }

    #[test]
    fn not_checked_where_one_is_not_given() {
        check_rule(&RULE, &line("@9600", "", "#? data-rate"));
    }
}
