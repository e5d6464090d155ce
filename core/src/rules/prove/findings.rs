//! A fix clears its finding, and brings none that is as bad.

use super::tried::{Side, Tried};
use crate::{
    edit::Key,
    rules::{Finding, rule},
};

/// Its finding is gone: the rule has less to say of that place.
pub(super) fn goes(tried: &Tried<'_, '_, '_>) -> Option<String> {
    let said = |side: &Side<'_>| {
        let findings = side.verdict.findings.iter();
        let same = |it: &&Finding| {
            (it.rule, it.at.first()) == (tried.finding.rule, tried.finding.at.first())
        };
        findings.filter(same).count()
    };
    (said(tried.after) >= said(tried.before)).then(|| "the finding stays".into())
}

/// No finding comes that is as bad as the one that goes, or worse.
pub(super) fn nothing_comes(tried: &Tried<'_, '_, '_>) -> Option<String> {
    let new = tried.after.verdict.without(&tried.before.verdict);
    let mut new = new.into_iter().filter(|it| counts(tried, it));
    let it = new.next()?;
    Some(format!("it brings a {}: {}", it.level.word(), it.message))
}

/// None that stays gets further beyond its limit.
pub(super) fn nothing_gets_worse(tried: &Tried<'_, '_, '_>) -> Option<String> {
    let worse = tried.after.verdict.worse_than(&tried.before.verdict);
    let mut worse = worse.into_iter().filter(|(now, _)| counts(tried, now));
    let (now, _) = worse.next()?;
    Some(format!("it makes worse: {}", now.message))
}

fn counts(tried: &Tried<'_, '_, '_>, finding: &Finding) -> bool {
    finding.accepted.is_none() && finding.level <= tried.finding.level
}

/// Every check that a rule as serious could make, it can still make. Records that the fix adds may lack values that
/// their model lacks.
pub(super) fn nothing_is_unjudged(tried: &Tried<'_, '_, '_>) -> Option<String> {
    let known = &tried.before.verdict.not_checked;
    let mut all = tried.after.verdict.not_checked.iter();
    let new = all.find(|it| {
        let is_added = |key: &Key| (key.kind(), key.id()) == (it.at.kind, it.at.id.as_str());
        rule(it.rule).is_some_and(|rule| rule.level <= tried.finding.level)
            && !known
                .iter()
                .any(|was| (was.rule, &was.at) == (it.rule, &it.at))
            && !tried.change.added().any(is_added)
    })?;
    Some(format!(
        "with it {} cannot be checked: {}",
        new.at.label, new.because
    ))
}
