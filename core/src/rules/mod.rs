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
mod follows;
mod mends;
mod names;
mod next;
mod prove;
mod reads;
mod rule;
mod run;
mod subject;
mod verdict_text;
mod words;

pub mod ground;
pub mod power;
pub mod records;
pub mod signal;
pub mod wiring;

pub(crate) use self::words::and_list;
pub use self::{
    again::{Checked, Checker},
    conductor::Conductor,
    facts::Facts,
    finding::{Counts, Finding, Level, Location, Mend, MendKind, NotChecked, Source, Verdict},
    next::{NextAt, NextStep, next},
    prove::{Offer, Proved, Prover, Refused, proved_fixes},
    reads::Reads,
    rule::{Findings, Report, Rule},
    run::{check, check_with, run},
    subject::Subject,
};

/// What every rule file needs.
pub(crate) mod prelude {
    pub(crate) use super::{Facts, Findings, Level, MendKind, Reads, Rule};
    pub(crate) use crate::{
        document::*,
        edit::{Change, Key, Record},
        sources::*,
    };
}

macro_rules! rule_list {
    ($($family:ident: $($rule:ident),* $(,)?;)*) => {
        /// Every rule, family by family.
        pub const RULES: &[&Rule] = &[$($(&$family::$rule::RULE,)*)*];
    };
}

rule_list! {
    power: load_cannot_run, load_without_source, unprotected_wire, supply_to_return, protector_over_wire, protector_under_load, drop_over_limit,
        wire_over_rating, starter_wire, supply_cannot_carry,
        alternator_gives_nothing, alternator_always_on, alternator_alone, no_over_voltage, over_voltage_elsewhere, no_failure_warning, feeder_drop, overloaded_alternator, slow_recharge, short_endurance, battery_disconnects, charge_over_limit, load_left_on, always_hot, disconnect_far, bypassed, no_return, reversed_polarity, bus_without_source, single_failure, essential_with_others, essential_out_of_reach, shared_feed, short_too_weak,
        not_selective, rating_not_made, two_on_one_breaker, switch_over_rating, contact_over_rating, diode_heat, starting_current, coil_suppression, coil_duty, cart_unprotected, switch_in_return;
    wiring: unconnected_end, not_wired_yet, unmated_pin, one_sided, wire_on_spare, contact_size, crowded_terminal, crowded_stud, noisy_beside_audio;
    ground: shared_return, sender_ground, ground_block_loose, avionics_return_elsewhere, jack_on_structure, audio_low_on_return, uncovered_jack_terminal,
        shield_both_ends, shield_nowhere, shield_on_pin, antenna_without_ground_plane;
    signal: swapped_cores, pin_mismatch, pin_of_another, serial_outputs, can_crossed, can_not_terminated, can_stub, arinc_crossed,
        thermocouple_material, thermocouple_crossed, magneto_switch, motor_one_way, motor_no_stop,
        rf_line, sync_line, discrete_mismatch, serial_unheard, data_rate, arinc_receivers, audio_level, half_audio_pair, mic_bias, tach_on_p_lead, serial_without_ground;
    records: duplicate_wire_number, number_in_pieces, function_of_another, unlikely_length, hidden_characters, measured_otherwise, unused_acceptance;
}

/// The rule with this slug.
pub fn rule(slug: &str) -> Option<&'static Rule> {
    RULES.iter().copied().find(|rule| rule.slug == slug)
}
