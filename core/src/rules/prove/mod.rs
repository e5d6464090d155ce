//! Tries fixes on a copy before anyone is offered them: a fix must never make the project worse.
//!
//! A rule suggests fixes from what it reads. Whether one is good for the whole aircraft shows only after it is
//! made: so it is made on a copy, all rules run on it, and [`laws`] say why it is not offered. This is done where
//! fixes are shown, not in every check.

mod circuits;
pub(super) mod currents;
mod findings;
mod tried;

use self::tried::{Side, Tried};
use super::{Facts, Finding, Mend, Verdict, check_with};
use crate::{document::Document, edit::Change};

/// The fixes offered for a finding, and those not offered, with the reason.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Proved {
    /// Fixes that clear the finding and make nothing worse.
    pub offered: Vec<Offer>,
    /// The others.
    pub refused: Vec<Refused>,
}

/// A fix that is offered, and what it does to the findings, one line each.
#[derive(Clone, Debug, PartialEq)]
pub struct Offer {
    /// The fix.
    pub fix: Mend,
    /// Findings that come with it.
    pub comes: Vec<String>,
    /// Findings that go with it.
    pub goes: Vec<String>,
}

/// A fix that is not offered.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Refused {
    /// Its title.
    pub title: String,
    /// The reason against it, a sentence without its full stop.
    pub because: String,
}

impl<'d> Side<'d> {
    fn new(document: &'d Document) -> Self {
        let facts = Facts::new(document);
        let verdict = check_with(&facts);
        Self { facts, verdict }
    }
}

/// The reason against a fix, if this law finds one.
type Law = fn(&Tried<'_, '_, '_>) -> Option<String>;

/// The laws of every fix that is offered.
const LAWS: [Law; 10] = [
    findings::goes,
    findings::nothing_comes,
    findings::nothing_gets_worse,
    currents::protectors_carry,
    currents::wires_start,
    currents::no_pair_on_one_protector,
    circuits::loads_run,
    circuits::nothing_is_left_open,
    circuits::supplies_stay_apart,
    findings::nothing_is_unjudged,
];

/// Tries fixes of one document.
pub struct Prover<'d> {
    before: Side<'d>,
}

impl<'d> Prover<'d> {
    /// Checks the document as it is.
    pub fn new(document: &'d Document) -> Self {
        Self {
            before: Side::new(document),
        }
    }

    /// The verdict of the document.
    pub fn verdict(&self) -> &Verdict {
        &self.before.verdict
    }

    /// The fixes of a finding, each tried on a copy. Each fix costs a check of the whole document.
    pub fn fixes(&self, finding: &Finding) -> Proved {
        let mut proved = Proved::default();
        for fix in &finding.mends {
            match self.tried(finding, &fix.change) {
                Ok([comes, goes]) => proved.offered.push(Offer {
                    fix: fix.clone(),
                    comes,
                    goes,
                }),
                Err(because) => proved.refused.push(Refused {
                    title: fix.title.clone(),
                    because,
                }),
            }
        }
        proved
    }

    /// The reason against a change made to clear a finding; none if it may be offered.
    pub fn against(&self, finding: &Finding, change: &Change) -> Option<String> {
        self.tried(finding, change).err()
    }

    /// The findings that come and go with a change made to clear one, or the reason against it.
    fn tried(&self, finding: &Finding, change: &Change) -> Result<[Vec<String>; 2], String> {
        let made = change.applied(self.before.facts.document);
        let made = made.map_err(|error| error.to_string())?;
        let after = Side::new(&made);
        let tried = Tried {
            finding,
            change,
            before: &self.before,
            after: &after,
        };
        match LAWS.iter().find_map(|law| law(&tried)) {
            Some(because) => Err(because),
            None => Ok(after.verdict.comes_and_goes(&self.before.verdict)),
        }
    }
}

impl std::fmt::Debug for Prover<'_> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str("Prover")
    }
}

/// The fixes of one finding of a document, each tried on a copy.
pub fn proved_fixes(document: &Document, finding: &Finding) -> Proved {
    match finding.mends.is_empty() {
        true => Proved::default(),
        false => Prover::new(document).fixes(finding),
    }
}

#[cfg(test)]
mod tests;
