//! The rules: facts in; findings, or "not checked, because…", out. One rule, one file.
//!
//! A rule looks at every place it applies to and reports one of three results for each: clear, not
//! checked because a value is missing, or a finding. A builder takes silence for approval, so the counts
//! add up: examined = clear + found + accepted + not checked.

mod accept;
mod again;
mod conductor;
pub mod facts;
pub mod finding;
mod mends;
mod prove;
mod reads;
mod run;
mod sink;
mod subject;
mod verdict_text;

pub mod ground;
pub mod power;
pub mod records;
pub mod signal;
pub mod wiring;

pub use self::{
    again::{Checked, Checker},
    conductor::Conductor,
    facts::Facts,
    finding::{Counts, Finding, Level, Location, Mend, MendKind, NotChecked, Source, Verdict},
    prove::{Proved, Prover, Refused, proved_fixes},
    reads::Reads,
    sink::{Findings, Report},
    subject::Subject,
};
use crate::document::Document;

/// Something that can be wrong in a drawing, and the check that finds it.
pub struct Rule {
    /// Its name in files and on the command line; never reused for another meaning.
    pub slug: &'static str,
    /// What is wrong, as a heading.
    pub title: &'static str,
    /// How bad it is, unless a finding says otherwise.
    pub level: Level,
    /// What it does in the aircraft, in two or three sentences.
    pub why: &'static str,
    /// The published sources.
    pub sources: &'static [Source],
    /// Which values it reads, besides the records and how they are connected.
    pub reads: Reads,
    /// Reads the facts and reports to the sink.
    pub check: fn(&Facts<'_>, &mut Findings<'_, '_>),
}

impl std::fmt::Debug for Rule {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(self.slug)
    }
}

/// What every rule file needs.
pub(crate) mod prelude {
    pub(crate) use super::{Facts, Findings, Level, MendKind, Reads, Rule};
    pub(crate) use crate::{
        document::*,
        edit::{Change, Key, Record},
        sources::*,
    };
}

/// "A", "A and B", "A, B and C".
pub(crate) fn and_list(names: &[String]) -> String {
    match names {
        [] => String::new(),
        [one] => one.clone(),
        [first @ .., last] => format!("{} and {last}", first.join(", ")),
    }
}

macro_rules! rule_list {
    ($($family:ident: $($rule:ident),* $(,)?;)*) => {
        /// Every rule, family by family.
        pub const RULES: &[&Rule] = &[$($(&$family::$rule::RULE,)*)*];
    };
}

rule_list! {
    power: load_cannot_run, unprotected_wire, supply_to_return, protector_over_wire, protector_under_load, drop_over_limit,
        wire_over_rating, supply_cannot_carry,
        alternator_gives_nothing, overloaded_alternator, slow_recharge, short_endurance, load_left_on, no_return, reversed_polarity, bus_without_source, single_failure, shared_feed, short_too_weak,
        not_selective, switch_over_rating, contact_over_rating, diode_heat, starting_current;
    wiring: unconnected_end, unmated_pin, one_sided, wire_on_spare, contact_size, crowded_terminal, crowded_stud, noisy_beside_audio;
    ground: shared_return, avionics_return_elsewhere, jack_on_structure, audio_low_on_return, uncovered_jack_terminal,
        shield_both_ends, shield_nowhere, shield_on_pin;
    signal: swapped_cores, serial_outputs, can_crossed, can_not_terminated, arinc_crossed,
        thermocouple_material, thermocouple_crossed, magneto_switch, motor_one_way, motor_no_stop,
        rf_line, sync_line, discrete_mismatch, serial_unheard, data_rate, arinc_receivers, audio_level, half_audio_pair, mic_bias;
    records: duplicate_wire_number, hidden_characters, measured_otherwise, unused_acceptance;
}

/// The rule with this slug.
pub fn rule(slug: &str) -> Option<&'static Rule> {
    RULES.iter().copied().find(|rule| rule.slug == slug)
}

/// Runs every rule over a document.
pub fn check(document: &Document) -> Verdict {
    check_with(&Facts::new(document))
}

/// Runs every rule over facts that are already worked out.
pub fn check_with(facts: &Facts<'_>) -> Verdict {
    run(facts, RULES)
}

/// Runs some rules.
pub fn run(facts: &Facts<'_>, rules: &[&'static Rule]) -> Verdict {
    let said = run::each(facts, rules, vec![None; rules.len()]);
    accept::settle(facts, rules, said)
}
