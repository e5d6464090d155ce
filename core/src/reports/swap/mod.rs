//! The effects of swapping a unit for another, shown before anything is changed: its pins, its currents, and the
//! breakers, wires and contacts in its circuit.

mod pins;
mod view;
mod way;

pub use self::view::{GUESSED, Swap};

use self::view::View;
use super::{
    Paper,
    effects::{Effects, Side, effects},
};
use crate::{document::Device, rules};

/// The preview of a swap.
#[derive(Clone, Debug, PartialEq)]
pub struct SwapPreview {
    /// The paper.
    pub paper: Paper,
    /// A draft of the log entry.
    pub draft: String,
}

/// Previews a swap; none if the device is missing in one of the projects.
pub fn preview(swap: &Swap<'_>) -> Option<SwapPreview> {
    let (old, new) = (
        swap.before.devices.get(swap.device)?,
        swap.after.devices.get(swap.device)?,
    );
    let [before, after] = [swap.before, swap.after].map(Side::new);
    let it = View {
        swap,
        old,
        new,
        sides: [&before, &after],
        wires: way::on_the_way(swap.device, [&before, &after]),
    };
    let told = effects(&before, &after);
    let mut paper = Paper::new("swap", &format!("{} swapped", old.tag), swap.before);
    paper.text(format!(
        "{}, {}, is removed; {} is installed. {}",
        old.tag,
        or_unknown(&old.title),
        or_unknown(&new.title),
        match new.source.as_str() {
            "" => "Source of the new unit's figures: not set.".into(),
            source => format!("Source of the new unit's figures: {source}."),
        }
    ));
    paper.caution(
        "Compare every pin below with the manuals of both units before you apply power. A plug that fits can still \
         connect power to the wrong pin.",
    );
    let moves = it.pins();
    let changed = it.changed_cavities();
    let [as_it_is, _] = rules::check(swap.as_it_is).comes_and_goes(after.verdict());
    pins::plug(&mut paper, &changed, &as_it_is);
    paper.heading("Pins");
    paper.table(moves.table);
    if moves.is_guessed {
        paper.caution(
            "Check every pin matched by function alone against the manual, and set where it goes: the match is a guess.",
        );
    }
    paper.heading("Current and voltage drop");
    paper.table(it.currents());
    paper.text(it.limits());
    paper.table(it.protectors());
    paper.table(it.wires());
    paper.table(it.contacts());
    paper.text(it.weight());
    say_effects(&mut paper, &told);
    let draft = it.draft(&moves.told, &told);
    Some(SwapPreview { paper, draft })
}

fn or_unknown(title: &str) -> &str {
    if title.is_empty() {
        "a unit without a title"
    } else {
        title
    }
}

/// Adds the effects of a change beyond the unit itself.
fn say_effects(paper: &mut Paper, told: &Effects) {
    paper.heading("What gets worse");
    lines(paper, "New", "No new finding.", &told.new);
    lines(paper, "Worse", "", &told.worse);
    lines(paper, "More", "", &told.more_load());
    paper.heading("What gets better");
    lines(paper, "Resolved", "No finding is resolved.", &told.gone);
    if !told.unjudged.is_empty() {
        lines(paper, "No longer checked", "", &told.unjudged);
    }
    paper.heading("Loads and endurance");
    for table in told.tables() {
        paper.table(table.clone());
    }
}

fn lines(paper: &mut Paper, head: &str, none: &str, lines: &[String]) {
    for line in lines {
        paper.text(format!("{head}: {line}"));
    }
    if lines.is_empty() {
        paper.text(none);
    }
}

impl View<'_, '_> {
    fn weight(&self) -> String {
        let kg = |it: &Device| {
            it.weight_kg
                .map_or("not set".into(), |kg| format!("{kg:.2} kg"))
        };
        let both = self.old.weight_kg.zip(self.new.weight_kg);
        let change = both.map_or(String::new(), |(old, new)| {
            format!(", {:+.2} kg", new - old)
        });
        format!(
            "Weight: {} before, {} after{change}.",
            kg(self.old),
            kg(self.new)
        )
    }

    /// Its continuous current, or its demand where it cannot run.
    fn takes(&self) -> String {
        let [(before_a, could), (after_a, can)] = self.most_taken();
        let was = match could {
            true => format!("the old unit drew {before_a:.2} A"),
            false => format!("the old unit demanded {before_a:.2} A and could not run"),
        };
        match can {
            true => format!("Draws up to {after_a:.2} A continuously, as solved; {was}."),
            false => {
                format!("Demands up to {after_a:.2} A continuously and cannot run as wired; {was}.")
            }
        }
    }

    fn draft(&self, moves: &[String], told: &Effects) -> String {
        let mut parts = vec![
            format!(
                "{}: {} removed, {} installed.",
                self.old.tag,
                or_unknown(&self.old.title),
                or_unknown(&self.new.title)
            ),
            self.takes(),
            self.weight(),
        ];
        match moves.is_empty() {
            true => parts.push("Every wire stays on its pin.".into()),
            false => parts.push(format!(
                "Moved: {}. Ring these out again.",
                moves.join("; ")
            )),
        }
        match told.new.is_empty() {
            true => parts.push("No new finding.".into()),
            false => parts.push(format!("New findings: {}.", told.new.join("; "))),
        }
        if !told.worse.is_empty() {
            parts.push(format!("Worse than before: {}.", told.worse.join("; ")));
        }
        parts.join(" ")
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::reports::Cell;
    use crate::{
        edit::{match_cavities, match_pins, swap},
        order::Map,
        testing::document,
    };

    /// A charging port on a 5 A breaker and 18 AWG wire, through a connector pair.
    const PORT: &str = "
        target 60
        battery BT1 ah=16
        alternator G1 40
        bus MBUS CB13=5
        ground GB1 STUD T1
        mated J311/P311 1 2
        load USB2 2.5 peak=3.13
        wire A BT1.+ MBUS.STUD 8 0.2m
        wire B G1.B MBUS.STUD 8 0.5m
        wire P30A18 MBUS.CB13 J311.J311-1 18 2.9m
        wire P30B18 J311.P311-1 USB2.+ 18 0.3m
        wire P30C18N USB2.- J311.P311-2 18 0.3m
        wire P30D18N J311.J311-2 GB1.T1 18 2.6m
        wire D GB1.STUD BT1.- 8 0.2m
        wire E G1.CASE GB1.STUD 8 0.2m
        state CRUISE running
        state OUT after=nothing";

    /// The preview of swapping a device of one text for the unit of another.
    fn preview_of(before: &str, device: &str, unit: &str) -> SwapPreview {
        let before = document(before);
        let id = device.into();
        let unit = document(unit).devices.remove("NEW").expect("it");
        let pins = match_pins(&before, &id, &unit);
        let found = pins.iter().map(|it| (it.old.clone(), it.by.words()));
        let cavities = match_cavities(&before.devices[device], &unit);
        let made = |pins: &[_]| {
            let change = swap(&before, &id, unit.clone(), pins).expect("it fits");
            change.applied(&before).expect("made for it")
        };
        preview(&Swap {
            before: &before,
            after: &made(&pins),
            as_it_is: &made(&cavities),
            device: &id,
            found: &found.collect(),
        })
        .expect("the device is there")
    }

    fn rows(told: &SwapPreview, table: &str) -> Vec<Vec<String>> {
        let table = told.paper.tables().find(|it| it.name == table);
        let rows = table.into_iter().flat_map(|it| &it.rows);
        rows.map(|row| row.iter().map(Cell::show).collect())
            .collect()
    }

    #[test]
    fn a_port_with_three_times_the_power_is_previewed_down_to_its_contacts() {
        let told = preview_of(PORT, "USB2", "load NEW 7.5 peak=9.4");
        let pins = rows(&told, "pins");
        assert_eq!(pins.len(), 2, "both that are wired: {pins:?}");
        assert!(told.draft.contains("Every wire stays on its pin."));
        let cruise = &rows(&told, "currents")[0];
        let number = |text: &String| text.parse::<f64>().expect("a number");
        let times = number(&cruise[2]) / number(&cruise[1]);
        assert!(
            (3.0..3.4).contains(&times),
            "constant power takes more as the volts fall: {cruise:?}"
        );
        // 6.1 m of 18 AWG (FAA AC 43.13-1B Table 11-9: 6.23 ohm a thousand feet) lose over half a volt at 7.5 A.
        assert!(
            number(&cruise[6]) > 0.5 && number(&cruise[5]) < 0.5,
            "{cruise:?}"
        );
        let breaker = &rows(&told, "protectors")[0];
        assert_eq!(breaker[1], "5.0");
        assert!(number(&breaker[5]) > 100.0, "{breaker:?}");
        let wires: Vec<String> = rows(&told, "on_the_way")
            .into_iter()
            .map(|row| row[0].clone())
            .collect();
        for wire in ["P30A18", "P30B18", "P30C18N", "P30D18N"] {
            assert!(wires.iter().any(|it| it == wire), "{wires:?}");
        }
        assert_eq!(rows(&told, "contacts").len(), 4);
        let out = &rows(&told, "endurance_change")[0];
        assert!(number(&out[3]) < 0.0, "{out:?}");
        let text = told.paper.to_text();
        for words in [
            "Breaker or fuse too small for the load",
            "Voltage drop over limit",
            "Weight: not set",
        ] {
            assert!(text.contains(words), "no {words:?} in {text}");
        }
        assert!(
            told.draft
                .contains("Breaker or fuse too small for the load")
        );
    }

    /// The same place, on breaker and wires that carry 10 W: 24 m of 22 AWG behind 3 A.
    #[test]
    fn a_port_that_cannot_run_on_its_old_wires_makes_everything_worse_and_hides_nothing() {
        let thin = PORT
            .replace("CB13=5", "CB13=3")
            .replace("18 2.9m", "22 12m rated=105")
            .replace("18 2.6m", "22 12m rated=105")
            .replace("G1 40", "G1 8");
        let small = thin.replace("load USB2 2.5 peak=3.13", "load USB2 0.72");
        let told = preview_of(&small, "USB2", "load NEW 7.2 cutoff=9");
        let text = told.paper.to_text();
        let worse = text.split_once("What gets worse").expect("a heading").1;
        let worse = worse.split_once("What gets better").expect("a heading").0;
        for words in [
            "New: Load cannot run here",
            "New: Breaker or fuse too small for the load: MBUS CB13 is 3 A, 7.20 A demanded",
            "New: Wire over its current rating: P30A18 is asked to carry 7.2 A",
            "V would drop to USB2, limit 0.5 V",
            "New: Alternator loaded over 80 %",
            "More: Alternator load in",
        ] {
            assert!(worse.contains(words), "no {words:?} in {worse}");
        }
        assert!(
            told.draft.contains("Demands up to 7.20 A"),
            "{}",
            told.draft
        );
        assert!(!told.draft.contains(" 0.00 A"), "{}", told.draft);
        // Back again, all of it goes.
        let big = small.replace("load USB2 0.72", "load USB2 7.2 cutoff=9");
        let back = super::tests::preview_of(&big, "USB2", "load NEW 0.72");
        let text = back.paper.to_text();
        assert!(text.contains("Resolved: Load cannot run here"), "{text}");
        assert!(back.draft.contains("could not run"), "{}", back.draft);
    }

    #[test]
    fn a_pin_that_was_a_dimmer_and_is_a_power_input_is_a_caution_before_the_plug_goes_in() {
        let told = preview_of(
            "bus MBUS CB4=5 CB7=2
             battery BT1
             ground GB1 STUD T1
             unit COM1 J105-1:power_in:POWER J105-2:input_power:DIMMER J105-9:return:GROUND
             inside COM1 load J105-1 J105-9 0.35
             wire A BT1.+ MBUS.STUD 8 0.2m
             wire P4A20 MBUS.CB4 COM1.J105-1 20 1m
             wire L7A22 MBUS.CB7 COM1.J105-2 22 1m
             wire P4B20N COM1.J105-9 GB1.T1 20 1m
             wire D GB1.STUD BT1.- 8 0.2m",
            "COM1",
            "unit NEW J1-1:power_in:POWER J1-2:power_in:POWER J1-9:return:GROUND
             inside NEW bar J1-1 J1-2
             inside NEW load J1-1 J1-9 1.6",
        );
        let text = told.paper.to_text();
        assert!(
            text.contains("COM1 J105-2 was DIMMER (input, active when powered) and is POWER (takes power): remove L7A22"),
            "{text}"
        );
        let pins = rows(&told, "pins");
        let dimmer = pins.iter().find(|row| row[3] == "L7A22").expect("it");
        let dimmer: Vec<&str> = dimmer.iter().map(String::as_str).collect();
        assert_eq!(
            dimmer,
            [
                "COM1 J105-2",
                "DIMMER (input, active when powered)",
                "POWER (takes power)",
                "L7A22",
                "nothing: left open",
                "no match"
            ]
        );
        assert_eq!(crate::edit::By::Role.words(), GUESSED);
        let bare = pins
            .iter()
            .find(|row| row[3] == "no wire")
            .expect("the second power pin");
        assert_eq!(bare[0], "COM1 J105-2");
        assert!(
            told.draft.contains("L7A22 from COM1 J105-2"),
            "{}",
            told.draft
        );
    }

    #[test]
    fn a_missing_device_has_no_preview() {
        let document = document(PORT);
        let swap = Swap {
            before: &document,
            after: &document,
            as_it_is: &document,
            device: &"NONE".into(),
            found: &Map::new(),
        };
        assert!(preview(&swap).is_none());
    }
}
