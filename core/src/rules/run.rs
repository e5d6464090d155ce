//! Runs rules, in parallel where the machine has threads: all read the same facts, and none depends on another.

use std::{
    sync::{
        OnceLock,
        atomic::{AtomicUsize, Ordering},
    },
    thread,
};

use super::{Facts, Findings, RULES, Reads, Rule, Verdict, accept::settle, rule::Outcome};
use crate::document::Document;

/// Most threads that a check takes (our own choice: its longest step, the solving, is one thread's).
const MOST_THREADS: usize = 4;

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
    let said = each(facts, rules, vec![None; rules.len()]);
    settle(facts, rules, said)
}

/// The results of these rules; those with an earlier result repeat it.
pub(super) fn each(
    facts: &Facts<'_>,
    rules: &[&'static Rule],
    before: Vec<Option<Outcome>>,
) -> Vec<Outcome> {
    each_on(threads(), facts, rules, before)
}

fn each_on(
    threads: usize,
    facts: &Facts<'_>,
    rules: &[&'static Rule],
    before: Vec<Option<Outcome>>,
) -> Vec<Outcome> {
    let said: Vec<OnceLock<Outcome>> = (before.into_iter())
        .map(|said| said.map_or_else(OnceLock::new, OnceLock::from))
        .collect();
    // Rules that wait for the solution are last; those that need records only are first, and are last in the list.
    let waits = |at: &usize| rules[*at].reads.intersects(Reads::SOLVED);
    let open = || (0..rules.len()).filter(|at| said[*at].get().is_none());
    let turns: Vec<usize> = (open().rev().filter(|at| !waits(at)))
        .chain(open().filter(waits))
        .collect();
    let next = AtomicUsize::new(0);
    let work = &|| {
        while let Some(&at) = turns.get(next.fetch_add(1, Ordering::Relaxed)) {
            let mut out = Findings::of(facts, rules[at]);
            (rules[at].check)(facts, &mut out);
            // No other thread has this index.
            let _ = said[at].set(out.outcome());
        }
    };
    let helpers = threads.min(turns.len()).saturating_sub(1);
    if helpers == 0 {
        work();
    } else {
        thread::scope(|scope| {
            for helper in 0..helpers {
                let help = move || {
                    if helper == 0 {
                        facts.find_meanwhile();
                    }
                    work();
                };
                // A machine that has no thread left does all of it in this one.
                let _ = thread::Builder::new().spawn_scoped(scope, help);
            }
            facts.points();
            work();
        });
    }
    (said.into_iter())
        .map(|said| said.into_inner().expect("every rule had its turn"))
        .collect()
}

/// How many threads a check may take; a browser gives it one.
fn threads() -> usize {
    static THREADS: OnceLock<usize> = OnceLock::new();
    if cfg!(target_arch = "wasm32") {
        return 1;
    }
    // Asking takes as long as some rules do.
    *THREADS.get_or_init(|| {
        thread::available_parallelism().map_or(1, |threads| threads.get().min(MOST_THREADS))
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{
        document::Document,
        exchange,
        rules::RULES,
        testing::{aircraft, whole},
    };

    #[test]
    fn so_many_threads_as_there_are_say_the_same() {
        let file = include_bytes!("../../../public/samples/sorrel.json");
        let sorrel = exchange::open(file).expect("the sample opens").document;
        let said = |document: &Document, threads| {
            let nothing = vec![None; RULES.len()];
            each_on(threads, &Facts::new(document), RULES, nothing)
        };
        for document in [sorrel, whole(), aircraft(300)] {
            let alone = said(&document, 1);
            assert!(alone.iter().any(|it| !it.found.is_empty()));
            for threads in [2, 3, 7] {
                assert_eq!(said(&document, threads), alone, "with {threads} threads");
            }
        }
    }

    #[test]
    fn a_rule_that_spoke_before_is_not_asked_again() {
        let document = whole();
        let before = Outcome {
            clear: 1234,
            ..Outcome::default()
        };
        let facts = Facts::new(&document);
        let spoke = vec![None, Some(before.clone()), None];
        let said = each_on(2, &facts, &RULES[..3], spoke);
        assert_eq!(said[1], before);
        assert_ne!(said[0], before);
    }
}
