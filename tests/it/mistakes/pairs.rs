//! A fault must not hide another: random pairs of mistakes that are named alone, made together; both must be named.

use loomwright_core::{edit::Change, rules, testing::arbitrary::Dice};

use super::{
    floors,
    judge::{Sound, Worth},
    table::{self, Case},
};

/// Pairs that are tried, over both samples and a generated aircraft.
const PAIRS: usize = 500;

/// Pairs that are drawn for them: some share a record.
const TRIES: usize = 2 * PAIRS;

/// Both changes, if no record is in both.
fn both(a: &Change, b: &Change) -> Option<Change> {
    let is_in_both = a.steps().keys().any(|key| b.steps().get(key).is_some());
    (!is_in_both).then(|| a.clone().then(b))
}

/// What is not named of a pair that is made by this change, in words.
fn hidden(sound: &Sound, pair: [&Case; 2], change: &Change) -> Option<String> {
    let made = change
        .applied(&sound.document)
        .expect("they share no record");
    let verdict = rules::check(&made);
    let lost: Vec<&str> = (pair.iter())
        .filter(|case| {
            let places = sound.places(&case.mistake.change, &made);
            sound
                .judge_verdict(&verdict, &places, case.operator.note_will_do())
                .worth
                != Worth::Named
        })
        .map(|case| case.mistake.what.as_str())
        .collect();
    (!lost.is_empty()).then(|| {
        format!(
            "{}: {lost:?} of {:?} and {:?}",
            sound.name, pair[0].mistake.what, pair[1].mistake.what
        )
    })
}

#[test]
fn a_mistake_hides_no_other() {
    let mut dice = Dice::new(1);
    let (mut tried, mut lost) = (0, Vec::new());
    let named = |cases: &'static [Case]| -> Vec<&'static Case> {
        cases
            .iter()
            .filter(|it| it.judged.worth == Worth::Named)
            .collect()
    };
    let all: Vec<_> = table::all()
        .iter()
        .take(3)
        .map(|(sound, cases)| (sound, named(cases)))
        .collect();
    for n in 0..TRIES {
        let (sound, cases) = &all[n % all.len()];
        let pair = [0, 1].map(|_| dice.pick(cases.iter().copied()));
        let [Some(a), Some(b)] = pair else {
            continue;
        };
        if tried < PAIRS
            && let Some(change) = both(&a.mistake.change, &b.mistake.change)
        {
            tried += 1;
            lost.extend(hidden(sound, [a, b], &change));
        }
    }
    let percent = 100.0 * (tried - lost.len()) as f64 / tried.max(1) as f64;
    println!("{percent:.1} % of {tried} pairs are both named; not: {lost:#?}");
    assert!(tried == PAIRS || !table::is_all(), "{tried} pairs");
    assert!(percent >= floors::PAIRS, "{percent} %: {lost:#?}");
}
