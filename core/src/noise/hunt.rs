//! The hunt: how likely each suspect is after every answer, and the next test.
//!
//! A hypothesis is one cause or two, each a suspect driven by a source. Its weight is the product of the odds of
//! its causes, times how well it fits each answer. The next test is the one whose answer is least certain, that is
//! the one with the largest expected information (de Kleer and Williams, "Diagnosing multiple faults", Artificial
//! Intelligence 32 (1987), after Lindley, Annals of Mathematical Statistics 27 (1956); both cited from memory).

use super::{
    effects::{Effects, Predicted, WRONG, WRONG_READING, own},
    guide::Guide,
    results::{answers, readings, result},
    review::Noise,
    step::{Answer, Step},
    suspect::{Cause, FOUND, Hear, Outcome, Suspect},
};
use crate::{
    document::Document,
    order::{InOrder, Map},
};

/// Less expected information is not worth a test, bits. A judgment, no source.
const LEAST_BITS: f64 = 0.1;
/// The most causes that are looked at in pairs.
const MOST_PAIRED: usize = 600;
/// The most hypotheses that the choice of a test looks at.
const MOST_WEIGHED: usize = 10_000;

/// One test to make.
#[derive(Clone, Debug, PartialEq)]
pub struct Proposal {
    /// The test.
    pub step: Step,
    /// Expected information, bits.
    pub bits: f64,
    /// What can be marked: keys of records with their labels. Seats, or what is measured.
    pub choices: Vec<(String, String)>,
    /// What to read at each, if it measures.
    pub readings: Vec<String>,
}

/// Where the hunt is.
#[derive(Clone, Debug, PartialEq)]
pub struct Hunt {
    /// Suspects, the most likely first.
    pub suspects: Vec<Suspect>,
    /// Sources that may drive it, as their device's tag with how likely each is, the most likely first.
    pub sources: Vec<(String, f64)>,
    /// The seats at which it is heard, while nobody has answered that.
    pub listen: Option<Proposal>,
    /// The next test; `None` if no test is worth its work.
    pub next: Option<Proposal>,
    /// Answers so far: each test with its answer in words.
    pub answers: Vec<(String, String)>,
    /// What the answers say together.
    pub says: Vec<&'static str>,
}

/// Suspects for what is heard and the next test, after the answers in the log and `more`.
pub fn hunt(document: &Document, noise: &Noise, hear: Hear, more: &[(Step, Answer)]) -> Hunt {
    let guide = Guide::new(document, noise, hear);
    let mut all = guide.all();
    for suspect in &mut all {
        suspect.outcome = result(document, hear, &suspect.what).map(|it| it.2);
    }
    let effects = Effects::new(&guide, &all);
    let mut given = answers(document, hear);
    given.extend_from_slice(more);
    let mut beliefs = Beliefs::new(&guide, &all);
    let mut partly = false;
    let mut implicated = vec![false; all.len()];
    for (step, answer) in &given {
        let predicted = effects.of(step);
        if let Some(code) = effects.code(&predicted, answer) {
            partly |= !predicted.lists() && code > 1;
            for (at, it) in implicated.iter_mut().enumerate() {
                *it |= predicted.implicates(at, code);
            }
            beliefs.learn(&predicted, code);
        }
    }
    let measured = readings(&guide, &all);
    for (at, suspect) in all.iter().enumerate() {
        if let Some(is_cause) = measured[at] {
            beliefs.learn_of(at, is_cause, WRONG_READING);
            implicated[at] |= is_cause;
        }
        if let Some(outcome) = suspect.outcome {
            implicated[at] |= outcome == Outcome::Changed;
            beliefs.learn_of(at, outcome == Outcome::Changed, WRONG);
        }
    }
    let (likely, driven) = beliefs.shares(all.len(), guide.sources.len());
    // What only remains because the others are cleared has its own test before it is blamed.
    let mut alone = (all.iter().zip(&likely).zip(&implicated))
        .filter(|((_, likely), implicated)| **likely >= FOUND && !**implicated)
        .map(|((it, _), _)| own(&it.fault));
    let alone = alone.find(|step| given.iter().all(|it| it.0 != *step));
    let next = match alone {
        Some(step) => Some(beliefs.proposal(&effects, step)),
        None => beliefs.next(&effects, &given, (&likely, &driven)),
    };
    let told = |(step, answer): &(Step, Answer)| {
        let labels = effects.choices(step);
        (step.title(document), words(step, answer, &labels))
    };
    let answers = given.iter().map(told).collect();
    let asked = guide.seats.len() < 2 || given.iter().any(|it| it.0 == Step::Listen);
    let listen = (!asked && !all.is_empty()).then(|| beliefs.proposal(&effects, Step::Listen));
    for (suspect, (likely, implicated)) in all.iter_mut().zip(likely.into_iter().zip(implicated)) {
        suspect.likely = likely;
        suspect.implicated = implicated;
    }
    all.order_by(|a, b| b.likely.total_cmp(&a.likely));
    let names = guide.sources.iter().zip(driven);
    let mut sources: Vec<_> = names
        .map(|(it, likely)| (guide.tag(&it.device), likely))
        .collect();
    sources.order_by(|a, b| b.1.total_cmp(&a.1));
    Hunt {
        says: says(&beliefs, partly, next.is_none(), &all),
        suspects: all,
        sources,
        listen,
        next,
        answers,
    }
}

/// An answer in words.
pub fn words(step: &Step, answer: &Answer, labels: &[(String, String)]) -> String {
    let label = |key: &String| {
        let found = labels.iter().find(|it| it.0 == *key);
        found.map_or_else(|| key.clone(), |it| it.1.clone())
    };
    match answer {
        Answer::Same => "the noise stayed the same".into(),
        Answer::Gone => "the noise is gone".into(),
        Answer::Partly => "the noise is weaker".into(),
        Answer::These(keys) => {
            let keys: Vec<_> = keys.iter().map(label).collect();
            let keys = match keys.is_empty() {
                true => "none".into(),
                false => keys.join(", "),
            };
            match step {
                Step::Listen => format!("heard at: {keys}"),
                it if it.measures() => format!("reads wrong: {keys}"),
                _ => format!("gone at: {keys}"),
            }
        }
    }
}

fn says(beliefs: &Beliefs, partly: bool, done: bool, all: &[Suspect]) -> Vec<&'static str> {
    let mut says = Vec::new();
    if all.is_empty() {
        says.push("No suspect in this drawing: nothing that runs in this phase causes this noise.");
        return says;
    }
    if partly {
        says.push(
            "Partly gone: there are two causes, or the cause is on the part of the path that the \
             quiet and the noisy seats do not share. The rest stays on the list.",
        );
    }
    if beliefs.misfit {
        says.push(
            "The answers fit no one or two causes on this list. Repeat the test that surprised \
             you; if it stays, the cause is one that this list does not know.",
        );
    }
    let found = all.iter().filter(|it| it.is_found()).count();
    if done && found > 0 {
        says.push("Fix what is found, put everything else back, and listen at every seat again.");
    } else if done {
        says.push("No test on this list would tell more. Try the first suspect's own test.");
    }
    says
}

/// One or two causes; of one, the second is the same.
struct Hypothesis {
    causes: [Cause; 2],
    weight: f64,
    /// True while it fits every answer.
    fits: bool,
}

struct Beliefs {
    all: Vec<Hypothesis>,
    misfit: bool,
}

impl Beliefs {
    fn new(guide: &Guide<'_>, suspects: &[Suspect]) -> Self {
        let mut causes: Vec<Cause> = Vec::new();
        for (at, suspect) in suspects.iter().enumerate() {
            let fits = |source: &usize| suspect.sources >> source & 1 == 1;
            let share = |source: usize| guide.sources.get(source).map_or(1.0, |it| it.share);
            let sources: Vec<usize> = (0..64).filter(fits).collect();
            let total: f64 = sources.iter().map(|it| share(*it)).sum();
            causes.extend(sources.into_iter().map(|source| Cause {
                suspect: at,
                source,
                seats: suspect.seats,
                odds: suspect.odds * share(source) / total,
            }));
        }
        // In a very large aircraft, pairs of the least likely are left out.
        causes.order_by(|a, b| b.odds.total_cmp(&a.odds));
        let paired = causes.len().min(MOST_PAIRED);
        let mut all = Vec::new();
        for (at, a) in causes.iter().enumerate() {
            all.push(Hypothesis {
                causes: [*a, *a],
                weight: a.odds * guide.fits(a.seats),
                fits: true,
            });
            for b in causes.get(at + 1..paired).unwrap_or_default() {
                // One radio transmits at a time.
                if guide.hear == Hear::Transmit && a.source != b.source {
                    continue;
                }
                all.push(Hypothesis {
                    causes: [*a, *b],
                    weight: a.odds * b.odds * guide.fits(a.seats | b.seats),
                    fits: true,
                });
            }
        }
        Self { all, misfit: false }
    }

    fn learn(&mut self, predicted: &Predicted<'_>, code: u64) {
        self.learn_by(|causes| predicted.likelihood(causes, code));
    }

    fn learn_of(&mut self, suspect: usize, is_cause: bool, wrong: f64) {
        self.learn_by(|causes| {
            let fits = causes.iter().any(|it| it.suspect == suspect) == is_cause;
            (if fits { 1.0 - wrong } else { wrong / 4.0 }, fits)
        });
    }

    fn learn_by(&mut self, likelihood: impl Fn(&[Cause; 2]) -> (f64, bool)) {
        self.misfit = !self.all.is_empty();
        for it in &mut self.all {
            let (times, fits) = likelihood(&it.causes);
            it.weight *= times;
            it.fits &= fits;
            self.misfit &= !it.fits;
        }
    }

    /// How likely each suspect is a cause, and each source drives one.
    fn shares(&self, suspects: usize, sources: usize) -> (Vec<f64>, Vec<f64>) {
        let (mut likely, mut driven) = (vec![0.0; suspects], vec![0.0; sources]);
        let mut total = 0.0;
        for it in &self.all {
            let [a, b] = it.causes;
            total += it.weight;
            likely[a.suspect] += it.weight;
            if b.suspect != a.suspect {
                likely[b.suspect] += it.weight;
            }
            if let Some(share) = driven.get_mut(a.source) {
                *share += it.weight;
            }
            if b.source != a.source
                && let Some(share) = driven.get_mut(b.source)
            {
                *share += it.weight;
            }
        }
        for share in likely.iter_mut().chain(&mut driven) {
            *share /= total;
        }
        (likely, driven)
    }

    /// The heaviest hypotheses.
    fn weighed(&self) -> Vec<&Hypothesis> {
        let heaviest = self.all.iter().map(|it| it.weight).fold(0.0, f64::max);
        let mut least = heaviest * 1e-6;
        let mut weighed: Vec<&Hypothesis> =
            self.all.iter().filter(|it| it.weight > least).collect();
        while weighed.len() > MOST_WEIGHED {
            least *= 2.0;
            weighed.retain(|it| it.weight > least);
        }
        weighed
    }

    fn next(
        &self,
        effects: &Effects<'_>,
        given: &[(Step, Answer)],
        (likely, driven): (&[f64], &[f64]),
    ) -> Option<Proposal> {
        let weighed = self.weighed();
        let mut best: Option<(f64, Step)> = None;
        for (step, predicted) in effects.steps(likely, driven) {
            if given.iter().any(|it| it.0 == step) {
                continue;
            }
            let bits = expected_bits(&weighed, &predicted);
            let worth = bits * ease(&step);
            let better = best.as_ref().is_none_or(|it| worth > it.0 + 1e-9);
            if bits >= LEAST_BITS && better {
                best = Some((worth, step));
            }
        }
        Some(self.proposal(effects, best?.1))
    }

    fn proposal(&self, effects: &Effects<'_>, step: Step) -> Proposal {
        Proposal {
            bits: expected_bits(&self.weighed(), &effects.of(&step)),
            choices: effects.choices(&step),
            readings: effects.readings(&step),
            step,
        }
    }
}

/// How uncertain the answer of a test is, bits: its expected information, but for wrong answers, which are as
/// frequent in all tests.
fn expected_bits(weighed: &[&Hypothesis], predicted: &Predicted<'_>) -> f64 {
    let mut by_answer: Map<u64, f64> = Map::new();
    let mut total = 0.0;
    for it in weighed {
        *by_answer.or_default(predicted.code(&it.causes)) += it.weight;
        total += it.weight;
    }
    let bits = |weight: &f64| {
        let share = weight / total;
        if share > 0.0 {
            -share * share.log2()
        } else {
            0.0
        }
    };
    by_answer.values().map(bits).sum()
}

/// What a test is worth for its work: of two that tell about the same, the one from the seat comes first. A
/// judgment, no source.
fn ease(step: &Step) -> f64 {
    match step {
        Step::Listen | Step::EngineOff | Step::FieldOff | Step::Off(_) | Step::Swap(_) => 1.0,
        Step::Magneto(_) | Step::Drops | Step::Jumper(_) => 0.9,
        Step::Ohms | Step::Unplug(_) => 0.85,
        _ => 0.75,
    }
}
