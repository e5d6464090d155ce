//! Noise in the audio: ground loops, shared returns, supplies, and the suspects for the noise that is heard.

use serde_json::{Value, json};

use crate::{
    document::{Document, Project},
    netlist::EdgeOf,
    noise::{
        Answer, DriveKind, Effect, Hear, Noise, Onto, Outcome, Proposal, Settings, Step, Suspect,
        guide::CAUTION,
        hunt,
        names::{name, way},
        results::result,
        ripple::below_db,
    },
    solve::resistance::{UNKNOWN_GAUGE, UNKNOWN_LENGTH_M},
};

fn kind(kind: DriveKind) -> &'static str {
    match kind {
        DriveKind::Ripple => "ripple",
        DriveKind::Strobe => "strobe",
        DriveKind::Charging => "charging",
        DriveKind::Transmit => "transmit",
    }
}

/// Millivolts, with decibels relative to both levels: "9.610 mV (-24 dB re mic, -42 dB re phones)".
pub fn level(volts: f64, settings: &Settings) -> String {
    let db = |level_v| below_db(volts, level_v);
    match (db(settings.mic_v), db(settings.phones_v)) {
        (Some(mic), Some(phones)) if volts > 1e-9 => format!(
            "{:.3} mV ({mic:.0} dB re mic, {phones:.0} dB re phones)",
            volts * 1e3
        ),
        _ => "nothing".into(),
    }
}

/// How much noise a suspect adds and where, if there is a figure.
pub fn suspect_level(suspect: &Suspect, settings: &Settings) -> Option<String> {
    let volts = suspect.volts?;
    let only = match suspect.resistive_only {
        true => ", resistive only",
        false => "",
    };
    let volts = match suspect.into {
        Onto::Audio => level(volts, settings),
        _ => format!("{:.1} mV", volts * 1e3),
    };
    Some(format!("{volts} {}{only}", suspect.into.words()))
}

fn only_resistive(effect: &Effect) -> &'static str {
    match effect.resistive_only {
        true => ", resistive only: may be higher",
        false => "",
    }
}

/// The assumptions behind all figures, in a sentence.
pub fn assumed(settings: &Settings, project: &Project) -> String {
    let [near_m, far_m] = settings.apart_m;
    let length = project.length(UNKNOWN_LENGTH_M, 1);
    format!(
        "Assumed unless set: engine {:.0} rpm x {} = alternator {:.0} rpm, {} pole pairs: ripple {:.0} \
         Hz; ripple current {} A rms; wires {:.2} µH/m, {:.2} µH at each bond; mic {:.0} mV, phones {:.3} V. \
         Pickup: a wire that carries the ripple, {:.0} and {:.0} mm from the loop's two sides. A wire without a \
         length counts as {length}, one without a gauge as {length} of {UNKNOWN_GAUGE} AWG.\n",
        settings.engine_rpm,
        settings.pulley_ratio,
        settings.engine_rpm * settings.pulley_ratio,
        settings.pole_pairs,
        settings.ripple_hz(),
        settings.ripple_a,
        settings.wire_h_per_m * 1e6,
        settings.bond_h * 1e6,
        settings.mic_v * 1e3,
        settings.phones_v,
        near_m * 1e3,
        far_m * 1e3
    )
}

/// What is heard, and answers that the log does not hold.
pub type Heard<'a> = (Hear, &'a [(Step, Answer)]);

/// In words.
pub fn to_text(document: &Document, noise: &Noise, heard: Option<Heard<'_>>) -> String {
    let names = Names { document, noise };
    let mut text = format!(
        "Noise in \"{}\". Return loops: {}, {} of them parallel power grounds, which do no harm.\n",
        document.record_label("state", noise.point.state.as_str()),
        noise.loops.independent,
        noise.loops.benign
    );
    text += &assumed(&noise.settings, &document.project);
    let drives: Vec<_> = (0..noise.drives.len()).map(|at| names.drive(at)).collect();
    text += &match drives.is_empty() {
        true => "No source of ripple or pulses runs in this phase.\n".into(),
        false => format!("Noise sources in this phase: {}.\n", drives.join("; ")),
    };
    text += &loops(document, noise, &names);
    text +=
        "\nShared return wires, and the voltage of the other loads on the one disturbed most:\n";
    if noise.shared.is_empty() {
        text += "  none\n";
    }
    for shared in &noise.shared {
        let loads: Vec<_> = shared.loads.iter().map(|it| names.edge(*it)).collect();
        text += &format!(
            "  {}: {}; {:.2} mV on {}{}\n",
            names.edge(shared.wire),
            loads.join(", "),
            shared.other_v * 1e3,
            names.edge(shared.disturbed),
            if shared.audio {
                ", which has audio"
            } else {
                ""
            }
        );
    }
    if let Some(heard) = heard {
        text += &hunt_text(document, noise, heard);
    }
    text
}

fn loops(document: &Document, noise: &Noise, names: &Names<'_>) -> String {
    let mut text = String::new();
    let (audio, other): (Vec<_>, Vec<_>) = noise.found.iter().partition(|it| it.audio);
    if audio.is_empty() {
        text += "\nNo loop includes an audio low or an audio shield.\n";
    }
    for found in audio {
        text += &format!(
            "\n{}, {:.1} mΩ around: {}\n",
            found.finding.kind.words(),
            found.finding.series_ohm * 1e3,
            way(document, noise, found)
        );
        for effect in &found.effects {
            text += &format!(
                "  {}: {:.2} mA in the loop, {} in the audio low{}\n",
                names.drive(effect.drive),
                effect.loop_a * 1e3,
                level(effect.volts, &noise.settings),
                only_resistive(effect)
            );
            if !effect.resistive_only && effect.resistive_v > 1e-9 {
                let times = effect.volts / effect.resistive_v;
                text += &format!("    {times:.1} times less with resistance only\n");
            }
        }
        if found.effects.is_empty() {
            text += "  no other load drives current through an audio low here\n";
        }
        if let Some(volts) = found.pickup_v {
            let level = level(volts, &noise.settings);
            text += &format!("  pickup from an adjacent ripple wire, at most: {level}\n");
        }
    }
    if !other.is_empty() {
        text += "\nShield loops without audio (coax and ignition shields are grounded at both ends by design):\n";
        for found in other {
            text += &format!("  {}\n", way(document, noise, found));
        }
    }
    text
}

fn hunt_text(document: &Document, noise: &Noise, (hear, more): Heard<'_>) -> String {
    let hunt = hunt(document, noise, hear, more);
    let mut text = format!("\nHeard: {}.\n{CAUTION}\n", hear.words());
    for (step, answer) in &hunt.answers {
        text += &format!("  {step}: {answer}\n");
    }
    for says in &hunt.says {
        text += &format!("{says}\n");
    }
    for next in hunt.listen.iter().chain(&hunt.next) {
        text += &next_text(document, hear, next);
    }
    text += "\nSuspects, the most likely first:\n";
    for (at, suspect) in hunt.suspects.iter().enumerate() {
        text += &format!("\n{}. {}: {}\n", at + 1, suspect.verdict(), suspect.what);
        if let Some(level) = suspect_level(suspect, &noise.settings) {
            text += &format!("   {level}\n");
        }
        text += &format!("   test: {}\n", suspect.test);
        text += &format!("   if it changes: {}\n", suspect.if_changed);
        text += &format!("   meter: {}\n", suspect.meter);
        if let Some((_, entry, outcome)) = result(document, hear, &suspect.what) {
            text += &format!(
                "   found: {} ({}, {})\n",
                outcome.words(),
                entry.who,
                entry.date
            );
        }
    }
    let sources: Vec<_> = (hunt.sources.iter().take(5))
        .map(|(tag, likely)| format!("{tag} {:.0} %", likely * 100.0))
        .collect();
    if !sources.is_empty() {
        text += &format!("\nSources, the most likely first: {}\n", sources.join(", "));
    }
    text
}

fn next_text(document: &Document, hear: Hear, next: &Proposal) -> String {
    let step = &next.step;
    let mut text = format!(
        "\nNext test: {} (answer as --answer {}=...)\n  CAUTION: {}\n  {}\n",
        step.title(document),
        step.to_words().join(","),
        hear.caution(step),
        step.how()
    );
    let lines = next.choices.iter().enumerate();
    for (at, (key, label)) in lines {
        text += &match next.readings.get(at) {
            Some(reading) => format!("  {key}: {label}\n    {reading}\n"),
            None => format!("  {key}: {label}\n"),
        };
    }
    text
}

/// For programs. Lists are in the order of the text.
pub fn to_json(document: &Document, noise: &Noise, heard: Option<Heard<'_>>) -> Value {
    let names = Names { document, noise };
    let settings = &noise.settings;
    let effect = |effect: &Effect| {
        json!({"drive": names.drive(effect.drive), "loop_a": effect.loop_a, "audio_mv": effect.volts * 1e3,
               "mic_db": below_db(effect.volts, settings.mic_v),
               "phones_db": below_db(effect.volts, settings.phones_v),
               "resistive_mv": effect.resistive_v * 1e3, "resistive_only": effect.resistive_only})
    };
    let effects = |all: &[Effect]| all.iter().map(effect).collect::<Vec<_>>();
    let loops = noise.found.iter().map(|found| {
        let links = found.finding.way.iter();
        let ids = links.map(|at| key(names.of(noise.graph.links[*at].edge)));
        json!({"kind": found.finding.kind.words(), "audio": found.audio,
               "way": way(document, noise, found), "records": ids.collect::<Vec<_>>(),
               "series_ohm": found.finding.series_ohm, "effects": effects(&found.effects),
               "pickup_mv": found.pickup_v.map(|it| it * 1e3)})
    });
    let shared = noise.shared.iter().map(|it| {
        let loads = it.loads.iter().map(|load| names.edge(*load));
        json!({"wire": names.edge(it.wire), "ohm": it.ohm, "loads": loads.collect::<Vec<_>>(),
               "disturbed": names.edge(it.disturbed), "audio": it.audio, "other_mv": it.other_v * 1e3})
    });
    let supplies = noise
        .supplies
        .iter()
        .map(|it| json!({"unit": names.edge(it.load), "effects": effects(&it.effects)}));
    let suspect = |it: &Suspect| {
        json!({"what": it.what, "records": it.at.iter().map(key).collect::<Vec<_>>(),
               "mv": it.volts.map(|volts| volts * 1e3), "into": it.into.words(), "resistive_only": it.resistive_only,
               "test": it.test, "if_changed": it.if_changed, "meter": it.meter,
               "likely": it.likely, "verdict": it.verdict(), "found": it.outcome.map(Outcome::words)})
    };
    let hunt = heard.map(|(hear, more)| hunt(document, noise, hear, more));
    let suspects = hunt
        .as_ref()
        .map(|it| it.suspects.iter().map(suspect).collect::<Vec<_>>());
    let proposal = |next: &Proposal| {
        let hear = heard?.0;
        Some(
            json!({"step": next.step.to_words(), "title": next.step.title(document), "how": next.step.how(),
                    "caution": hear.caution(&next.step), "bits": next.bits, "choices": next.choices,
                    "readings": next.readings}),
        )
    };
    let next = hunt.as_ref().and_then(|it| proposal(it.next.as_ref()?));
    let listen = hunt.as_ref().and_then(|it| proposal(it.listen.as_ref()?));
    let says = hunt.as_ref().map(|it| &it.says);
    let sources = hunt.as_ref().map(|it| &it.sources);
    json!({
        "state": noise.point.state, "drives": (0..noise.drives.len()).map(|at| names.drive(at)).collect::<Vec<_>>(), "ripple_hz": settings.ripple_hz(), "ripple_a": settings.ripple_a,
        "assumptions": assumed(settings, &document.project),
        "independent_loops": noise.loops.independent, "benign_loops": noise.loops.benign,
        "loops": loops.collect::<Vec<_>>(), "shared_returns": shared.collect::<Vec<_>>(),
        "supplies": supplies.collect::<Vec<_>>(), "caution": CAUTION, "suspects": suspects,
        "listen": listen, "next": next, "says": says, "sources": sources,
    })
}

/// The key of a record: "wire:a13-2".
fn key(of: &EdgeOf) -> String {
    match of {
        EdgeOf::Wire(id) | EdgeOf::InlineFuse(id) => format!("wire:{id}"),
        EdgeOf::Shield(id) | EdgeOf::ShieldEnd(id, _) => format!("cable:{id}"),
        EdgeOf::Element(device, element, _) => format!("element:{device}/{element}"),
        EdgeOf::Bond(place) => format!("place:{place}"),
    }
}

struct Names<'a> {
    document: &'a Document,
    noise: &'a Noise,
}

impl Names<'_> {
    fn of(&self, edge: petgraph::graph::EdgeIndex) -> &EdgeOf {
        self.noise.point.netlist().of(edge)
    }

    fn edge(&self, edge: petgraph::graph::EdgeIndex) -> String {
        name(self.document, self.of(edge))
    }

    fn drive(&self, at: usize) -> String {
        let drive = &self.noise.drives[at];
        let what = match drive.kind {
            DriveKind::Ripple => " rms",
            _ => " pulse",
        };
        format!(
            "{} of {}, {:.2} A{what}",
            kind(drive.kind),
            self.edge(drive.edge),
            drive.amps
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_length_that_is_assumed_is_in_the_unit_of_the_project() {
        let mut project = Project::default();
        let told = |project: &Project| assumed(&Settings::of(project), project);
        assert!(
            told(&project).contains("counts as 0.1 m,"),
            "{}",
            told(&project)
        );
        project.show_feet = true;
        assert!(
            told(&project).contains("counts as 0.3 ft,"),
            "{}",
            told(&project)
        );
    }
}
