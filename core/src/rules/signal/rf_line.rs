//! A radio-frequency line that is not one coaxial line from end to end.

use crate::{
    ids::WireId,
    rules::{
        Conductor, and_list,
        names::{is_short_for, tokens},
        prelude::*,
    },
};

/// A radio-frequency line that is not one coaxial line from end to end.
pub const RULE: Rule = Rule {
    slug: "rf-line",
    title: "Antenna line open or mismatched",
    level: Level::Fault,
    why: "A transmitter's power is reflected wherever the line changes: at an open wire, another impedance, \
          an unconnected shield or a second antenna. It heats the transmitter, shortens the range and \
          gets into the audio.",
    sources: &[cite(
        COMMON_PRACTICE,
        "50 ohm coaxial cable for com, navigation, transponder and GPS, its shield connected at both ends",
    )],
    reads: Reads::SIZES,
    check,
};

/// The impedance of aircraft antennas and radios, ohm (common practice, no source).
const USUAL_OHM: f64 = 50.0;

fn check(facts: &Facts<'_>, out: &mut Findings<'_, '_>) {
    let lines = antennas(facts);
    for conductor in facts.conductors() {
        if conductor.has(Role::Rf)
            && let Some(first) = conductor.wires.first()
        {
            match wrong(facts, conductor) {
                Err(because) => out.not_checked(*first, because),
                Ok(None) => match other_antenna(facts, &lines, first) {
                    Some(says) => {
                        let report = out.finding(*first).says(says).help(
                            "swap the two antenna cables at the radios, or correct the title of the antenna",
                        );
                        super::joined::also_all(report, conductor);
                    }
                    None => out.clear(*first),
                },
                Ok(Some((at, says, help))) => {
                    let report = out.finding(at).says(says).help(help);
                    super::joined::also_all(report, conductor);
                }
            }
        }
    }
}

/// A line from a radio to an antenna: its first wire, what the antenna is called, and the words of the radio.
struct Line<'d> {
    wire: &'d WireId,
    antenna: &'d Device,
    /// What its title says besides being an antenna: "COM".
    called: Vec<String>,
    radio: &'d Device,
    words: Vec<String>,
}

impl Line<'_> {
    /// True if an antenna of that name suits the radio of this line.
    fn suits(&self, called: &[String]) -> bool {
        called.iter().any(|name| {
            let mut words = self.words.iter();
            words.any(|word| is_short_for(name, word) || is_short_for(word, name))
        })
    }
}

fn antennas<'d>(facts: &Facts<'d>) -> Vec<Line<'d>> {
    let mut lines = Vec::new();
    for conductor in facts.conductors() {
        let ends: Vec<_> = conductor.with(Role::Rf).collect();
        let [(a, a_terminal), (b, b_terminal)] = ends[..] else {
            continue;
        };
        let (Some(a), Some(b)) = (facts.device(a), facts.device(b)) else {
            continue;
        };
        let (antenna, (radio, terminal)) = match [a, b].map(|it| it.kind == DeviceKind::Antenna) {
            [true, false] => (a, (b, b_terminal)),
            [false, true] => (b, (a, a_terminal)),
            _ => continue,
        };
        let is_name = |word: &String| word.len() > 1 && !is_short_for(word, "ANTENNA");
        lines.push(Line {
            wire: conductor.wires[0],
            antenna,
            called: tokens(&antenna.title).filter(is_name).collect(),
            radio,
            words: [&radio.tag, &radio.title, &terminal.name, &terminal.label]
                .into_iter()
                .flat_map(|text| tokens(text))
                .filter(is_name)
                .collect(),
        });
    }
    lines
}

/// What to say of a line whose antenna is named for another line's radio, if it is.
fn other_antenna(facts: &Facts<'_>, lines: &[Line<'_>], wire: &WireId) -> Option<String> {
    let line = lines.iter().find(|it| it.wire == wire)?;
    let other = lines
        .iter()
        .find(|it| it.wire != wire && it.suits(&line.called))?;
    (!line.suits(&line.called)).then(|| {
        format!(
            "{} leads from {} to {} ({}), which is named for {}",
            facts.label(wire),
            line.radio.tag,
            line.antenna.tag,
            line.antenna.title,
            other.radio.tag
        )
    })
}

type Wrong<'d> = (&'d WireId, String, &'static str);

/// What is wrong with a line, and at which wire; or which value is missing.
fn wrong<'d>(facts: &Facts<'d>, line: &Conductor<'d>) -> Result<Option<Wrong<'d>>, String> {
    let ends: Vec<String> = (line.with(Role::Rf))
        .map(|(device, terminal)| facts.label((device, &terminal.id)))
        .collect();
    if ends.len() > 2 {
        let says = format!("{} are on one line without a splitter", and_list(&ends));
        return Ok(Some((
            line.wires[0],
            says,
            "give each its own line, or join them in a splitter",
        )));
    }
    if let Some((device, terminal)) = line.ends.iter().find(|(_, it)| it.role != Role::Rf) {
        let says = format!(
            "the center conductor of {} is on {}, which is no radio-frequency pin",
            facts.label(line.wires[0]),
            facts.label((*device, &terminal.id))
        );
        return Ok(Some((
            line.wires[0],
            says,
            "the center conductor goes to the center contact at both ends, the shield to the shell",
        )));
    }
    let mut impedance: Option<(&WireId, f64)> = None;
    for &wire in &line.wires {
        let cable = facts
            .cable_of(wire)
            .and_then(|id| facts.document.cables.get(id));
        let Some(cable) = cable.filter(|it| it.kind == CableKind::Coaxial) else {
            let says = format!(
                "{} is not coaxial cable, on the line of {}",
                facts.label(wire),
                and_list(&ends)
            );
            return Ok(Some((
                wire,
                says,
                "run coaxial cable from the radio to the antenna",
            )));
        };
        let tied = |end: &ShieldEnd| !matches!(end, ShieldEnd::Floating);
        if !cable
            .shield
            .as_ref()
            .is_some_and(|it| tied(&it.from) && tied(&it.to))
        {
            let says = format!(
                "the shield of {} is not connected at both ends",
                cable.label
            );
            return Ok(Some((
                wire,
                says,
                "connect the shield in both connectors: it is the other half of the line",
            )));
        }
        let Some(ohm) = cable.impedance_ohm else {
            return Err(format!("the impedance of {} is missing", cable.label));
        };
        if let Some((other, other_ohm)) = impedance
            && other_ohm != ohm
        {
            let says = format!(
                "{} is {ohm:.0} ohm cable, {} on the same line is {other_ohm:.0} ohm",
                facts.label(wire),
                facts.label(other)
            );
            return Ok(Some((
                wire,
                says,
                "use cable of one impedance from end to end",
            )));
        }
        impedance = Some((wire, ohm));
    }
    Ok(impedance
        .filter(|(_, ohm)| *ohm != USUAL_OHM)
        .map(|(wire, ohm)| {
            let says = format!(
                "{} is {ohm:.0} ohm cable, aircraft radios and antennas are {USUAL_OHM:.0} ohm",
                facts.label(wire)
            );
            (
                wire,
                says,
                "use 50 ohm cable, or accept this if the maker's manual calls for another",
            )
        }))
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::{
        document::Document,
        rules::{self, Verdict},
        testing::{check_rule, document},
    };

    const RADIO: &str = "
        unit COM1 ANT:rf SHELL:shield_tie
        unit AN1 C:rf BASE:shield_tie
        wire R1 COM1.ANT AN1.C material=coax
    ";

    fn with_cable(shield: &str, ohm: Option<f64>) -> Verdict {
        let mut document: Document =
            document(&format!("{RADIO}\ncable RF1 R1 kind=coax shield {shield}"));
        let cable = document.cables.get_mut("RF1").expect("the cable");
        cable.impedance_ohm = ohm;
        rules::run(&rules::Facts::new(&document), &[&RULE])
    }

    #[test]
    fn finds_an_open_wire() {
        check_rule(
            &RULE,
            "unit COM1 ANT:rf
             unit AN1 C:rf
             wire R1 COM1.ANT AN1.C #! rf-line",
        );
    }

    #[test]
    fn finds_another_impedance_and_an_open_shield() {
        let verdict = with_cable("COM1.SHELL AN1.BASE", Some(75.0));
        assert!(
            verdict.findings[0].message.contains("75 ohm"),
            "{:?}",
            verdict.findings
        );
        let verdict = with_cable("COM1.SHELL floating", Some(50.0));
        assert!(verdict.findings[0].message.contains("shield of RF1"));
    }

    #[test]
    fn finds_the_center_on_the_shell() {
        let verdict = check_rule(
            &RULE,
            "unit COM1 ANT:rf SHELL:shield_tie
             unit AN1 C:rf BASE:shield_tie
             wire R1 COM1.ANT AN1.BASE material=coax #! rf-line
             cable RF1 R1 kind=coax shield COM1.SHELL AN1.BASE",
        );
        assert!(
            verdict.findings[0].message.contains("R1 is on AN1 BASE"),
            "{:?}",
            verdict.findings
        );
    }

    #[test]
    fn finds_two_antennas_swapped() {
        let mut document: Document = document(
            "unit COM1 ANT:rf
             unit NAV1 ANT:rf
             unit AN1 C:rf
             unit AN2 C:rf
             wire R1 COM1.ANT AN2.C material=coax
             wire R2 NAV1.ANT AN1.C material=coax
             cable RF1 R1 kind=coax shield @X @X
             cable RF2 R2 kind=coax shield @X @X",
        );
        for (id, title) in [("AN1", "Com antenna"), ("AN2", "Nav antenna, V dipole")] {
            let device = document.devices.get_mut(id).expect("there");
            device.title = title.into();
            device.kind = crate::document::DeviceKind::Antenna;
        }
        for cable in document.cables.values_mut() {
            cable.impedance_ohm = Some(50.0);
        }
        let found = |document: &Document| {
            let verdict = rules::run(&rules::Facts::new(document), &[&RULE]);
            verdict
                .findings
                .iter()
                .map(|it| it.message.clone())
                .collect::<Vec<_>>()
        };
        assert_eq!(
            found(&document)[0],
            "R1 leads from COM1 to AN2 (Nav antenna, V dipole), which is named for NAV1"
        );
        let (first, second) = (
            document.wires["R1"].to.clone(),
            document.wires["R2"].to.clone(),
        );
        document.wires.get_mut("R1").expect("there").to = second;
        document.wires.get_mut("R2").expect("there").to = first;
        assert_eq!(found(&document), Vec::<String>::new());
    }

    #[test]
    fn finds_three_on_one_line() {
        let verdict = check_rule(
            &RULE,
            "unit COM1 ANT:rf
             unit COM2 ANT:rf
             unit AN1 C:rf
             splice SP1
             wire R1 COM1.ANT SP1 #! rf-line
             wire R2 COM2.ANT SP1
             wire R3 AN1.C SP1",
        );
        assert!(verdict.findings[0].message.contains("splitter"));
    }

    #[test]
    fn accepts_50_ohm_joined_at_both_ends() {
        assert_eq!(with_cable("COM1.SHELL AN1.BASE", Some(50.0)).findings, []);
    }

    #[test]
    fn not_checked_without_an_impedance() {
        let verdict = with_cable("COM1.SHELL AN1.BASE", None);
        assert_eq!(verdict.findings, []);
        assert!(verdict.not_checked[0].because.contains("impedance of RF1"));
    }
}
