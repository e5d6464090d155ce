//! A few lines of text become a document.
//!
//! ```text
//! system 28                                # volts; 14 if left out
//! place PANEL metal                        # or composite; bonded=FIREWALL, bond=0.0025
//! target 60                                # minutes without alternator; shed=5 recharge=1
//! battery BT1                              # + and - studs; emf=12.8 ohm=0.01 ah=16 at=FIREWALL
//!                                          # charge= age= rate= temperature= peukert= rated_h=
//!                                          # curve=0:11.7,1:12.8 empty_ohm= cutoff=
//! alternator G1 40                         # B and CASE; set=14.2; FLD too with `field`; trips=yes warns=no
//! bus MBUS CB1=5 F3=10f FL1=60l            # STUD, and CB1 … each behind its breaker, fuse, limiter
//! ground GB1 STUD T1 T2                    # tied: grounded to the metal of its place
//! breaker CB9 5                            # terminals 1 (line) and 2; so are `fuse` and `limiter`; reach=no
//! switch S1 1-2                            # OFF, and ON that joins 1 and 2; pairs with commas
//! throw S7 UP:2-1,5-4 OFF: DN:2-3,5-6      # positions with their connections; rest=1
//! contactor K1 BAT LOAD COIL+ COIL-        # contact between the first two; suppressed=yes continuous=no
//! diode D1                                 # A and K
//! load LT1 3.6                             # + and -; law=resistance; peak=, intermittent=, duty=,
//!                                          # cutoff=; `either`, `estimate`, `critical`,
//!                                          # apart=LT2 (must not fail together with it)
//! resistor R1 120                          # terminals 1 and 2; so is `shunt`
//! jack JK8 mic isolated                    # tip, ring, sleeve; used for mic or phones; or `bare`, `unsaid`
//! mated J310/P310 1 2 3                    # in-line connector: ends are J310.J310-1, J310.P310-1 …
//! unit COM1 J105-1:power_in J105-9:return  # any terminals; a name may follow: J1-2:serial_tx:TXD_1;
//!                                          # so is `sensor`
//! inside COM1 load J105-1 J105-9 2.8       # what is inside: load, bar, tie, resistor, diode
//! splice SP1
//! wire W1 MBUS.CB1 COM1.J105-1 22 1.2m     # AWG and length may be left out; fuse=1@from,
//!                                          # material=k+, k-, j+ or coax
//! cable A1 W1 W2 shield GB1.T1 floating    # or carried:J310.J310-6; kind=twisted
//! covered JK8.tip
//! fits GB1.T1 2
//! stud GB1.T1                              # or screw, tab, lead, case
//! state CRUISE running on=S1,S7:2 pulled=MBUS/CB1 off=LT1/load
//! state OUT after=essential                # or nothing, shed
//! accept 0.81 0.5 drop-over-limit wire:W1  # measured and limit may be -
//! ```
//!
//! An end is `DEVICE.TERMINAL`, a splice, `@PLACE` for metal, or `open`. `#! slug` at the end of a
//! line: a rule must have a finding at that line's record; `#? slug`: it must report it as not checked.

use super::{
    parts,
    words::{Key, Words},
};
use crate::document::Document;

/// A document, and what its text expects of rules.
#[derive(Debug, Default)]
pub struct Fixture {
    /// The document.
    pub document: Document,
    /// Slug and record (`kind`, id) of each `#!`.
    pub found: Vec<(String, Key)>,
    /// Slug and record of each `#?`.
    pub not_checked: Vec<(String, Key)>,
}

/// The document of this text.
///
/// # Panics
/// If the text is wrong; it is a test's own text.
pub fn document(text: &str) -> Document {
    fixture(text).document
}

/// The document of this text with what it expects.
///
/// # Panics
/// If the text is wrong; it is a test's own text.
pub fn fixture(text: &str) -> Fixture {
    let mut fixture = Fixture::default();
    for line in text.lines() {
        let (body, remark) = line.split_once('#').unwrap_or((line, ""));
        let words: Vec<&str> = body.split_whitespace().collect();
        if words.is_empty() {
            continue;
        }
        let record = parts::add(&mut fixture.document, &Words::new(line, &words));
        let (list, slugs) = match remark.split_at_checked(1) {
            Some(("!", slugs)) => (&mut fixture.found, slugs),
            Some(("?", slugs)) => (&mut fixture.not_checked, slugs),
            _ => continue,
        };
        for slug in slugs.split_whitespace() {
            list.push((slug.to_string(), record.clone()));
        }
    }
    fixture
}
