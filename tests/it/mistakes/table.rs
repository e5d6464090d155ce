//! Runs the operators over the samples, and the table of what comes of it.

use std::{
    collections::BTreeMap,
    sync::{
        Mutex,
        atomic::{AtomicUsize, Ordering},
    },
    thread,
};

use loomwright_core::testing::aircraft;

use super::{
    OPERATORS, Operator,
    judge::{Judged, Sound, Worth},
    walk::{Mistake, Wiring},
};
use crate::samples::{sorrel, teasel};

/// How many mistakes of one operator came to what.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Score {
    pub nothing: usize,
    pub named: usize,
    pub aside: usize,
    pub silent: usize,
}

impl Score {
    fn count(&mut self, worth: Worth) {
        match worth {
            Worth::Nothing => self.nothing += 1,
            Worth::Named => self.named += 1,
            Worth::Aside => self.aside += 1,
            Worth::Silent => self.silent += 1,
        }
    }

    /// Mistakes that change something.
    pub fn counted(self) -> usize {
        self.named + self.aside + self.silent
    }

    pub fn percent(self) -> f64 {
        100.0 * self.named as f64 / self.counted().max(1) as f64
    }
}

/// A judged mistake.
pub struct Case {
    pub operator: &'static str,
    pub mistake: Mistake,
    pub judged: Judged,
}

pub fn samples() -> Vec<Sound> {
    vec![
        Sound::of("Sorrel", sorrel()),
        Sound::of("Teasel", teasel()),
        Sound::of("generated, 60 wires", aircraft(60)),
        Sound::of("generated, 130 wires", aircraft(130)),
    ]
}

/// Judges every so many-th mistake of these operators, on as many threads as there are.
pub fn judged(sound: &Sound, operators: &[&Operator], every: usize) -> Vec<Case> {
    let wiring = Wiring::new(&sound.document);
    let mut todo: Vec<(&Operator, Mistake)> = Vec::new();
    for operator in operators {
        let mistakes = operator.mistakes(&wiring).into_iter();
        todo.extend(mistakes.step_by(every).map(|it| (*operator, it)));
    }
    let next = AtomicUsize::new(0);
    let done: Mutex<BTreeMap<usize, Judged>> = Mutex::default();
    let threads = thread::available_parallelism().map_or(1, usize::from);
    thread::scope(|scope| {
        for _ in 0..threads {
            scope.spawn(|| {
                loop {
                    let at = next.fetch_add(1, Ordering::Relaxed);
                    let Some((operator, mistake)) = todo.get(at) else {
                        break;
                    };
                    let judged = sound.judge(mistake, operator.note_will_do());
                    done.lock().expect("no judge panics").insert(at, judged);
                }
            });
        }
    });
    let done = done.into_inner().expect("no judge panics");
    let cases = todo.into_iter().zip(done.into_values());
    cases
        .map(|((operator, mistake), judged)| Case {
            operator: operator.name,
            mistake,
            judged,
        })
        .collect()
}

#[test]
fn mistakes_are_named() {
    let only = std::env::var("LOOMWRIGHT_MISTAKES").unwrap_or_default();
    let operators: Vec<&Operator> = OPERATORS
        .iter()
        .filter(|it| only.is_empty() || it.name.contains(&only))
        .collect();
    for sound in samples() {
        let started = std::time::Instant::now();
        let cases = judged(&sound, &operators, 1);
        println!(
            "\n## {} ({} mistakes, {:.1} s)",
            sound.name,
            cases.len(),
            started.elapsed().as_secs_f64()
        );
        println!("| operator | made | nothing | named | aside | silent | % |");
        let mut sum = Score::default();
        for operator in &operators {
            let mut score = Score::default();
            for case in cases.iter().filter(|it| it.operator == operator.name) {
                score.count(case.judged.worth);
                sum.count(case.judged.worth);
            }
            row(operator.name, score);
        }
        row("all", sum);
        for worth in [Worth::Silent, Worth::Aside] {
            println!("\n{worth:?}:");
            for case in cases.iter().filter(|it| it.judged.worth == worth) {
                println!(
                    "- {}: {} {:?}",
                    case.operator, case.mistake.what, case.judged.said
                );
            }
        }
    }
}

fn row(name: &str, score: Score) {
    println!(
        "| {name} | {} | {} | {} | {} | {} | {:.1} |",
        score.counted() + score.nothing,
        score.nothing,
        score.named,
        score.aside,
        score.silent,
        score.percent()
    );
}
