//! Runs the operators over the samples, and the table of what comes of it.

use std::{
    sync::{
        OnceLock,
        atomic::{AtomicUsize, Ordering},
    },
    thread,
};

use loomwright_core::testing::aircraft;

use super::{
    OPERATORS, Operator,
    floors::{CAUSE_FIRST, MOST_SIDE_BY_SIDE, OF_ALL, SIDE_BY_SIDE, floor},
    judge::{Judged, Sound, Worth},
    unknowable::why,
    walk::{Mistake, Wiring},
};
use crate::{
    measured,
    samples::{sorrel, teasel},
};

/// How many mistakes of one operator came to what.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Score {
    nothing: usize,
    named: usize,
    aside: usize,
    silent: usize,
    /// Of those not named: a drawing cannot know.
    unknowable: usize,
}

impl Score {
    fn count(&mut self, case: &Case) {
        match case.judged.worth {
            Worth::Nothing => self.nothing += 1,
            Worth::Named => self.named += 1,
            Worth::Aside => self.aside += 1,
            Worth::Silent => self.silent += 1,
        }
        self.unknowable += usize::from(case.unknowable.is_some());
    }

    /// Mistakes that change something.
    fn counted(self) -> usize {
        self.named + self.aside + self.silent
    }

    /// Named ones in percent.
    fn percent(self) -> f64 {
        100.0 * self.named as f64 / self.counted().max(1) as f64
    }
}

/// A judged mistake.
pub struct Case {
    pub operator: &'static Operator,
    pub mistake: Mistake,
    pub judged: Judged,
    /// Why a drawing cannot know, where it is not named.
    pub unknowable: Option<&'static str>,
}

fn samples() -> Vec<Sound> {
    vec![
        Sound::of("Sorrel", sorrel()),
        Sound::of("Teasel", teasel()),
        Sound::of("generated, 60 wires", aircraft(60)),
        Sound::of("generated, 130 wires", aircraft(130)),
    ]
}

/// Every aircraft with its judged mistakes: made once for all tests.
pub fn all() -> &'static [(Sound, Vec<Case>)] {
    static ALL: OnceLock<Vec<(Sound, Vec<Case>)>> = OnceLock::new();
    ALL.get_or_init(|| {
        let with_cases = |sound| {
            let cases = judged(&sound, &operators());
            (sound, cases)
        };
        samples().into_iter().map(with_cases).collect()
    })
}

/// Judges the mistakes of these operators, on as many threads as there are.
fn judged(sound: &Sound, operators: &[&'static Operator]) -> Vec<Case> {
    let wiring = Wiring::new(&sound.document);
    let mut todo: Vec<(&'static Operator, Mistake)> = Vec::new();
    for operator in operators {
        todo.extend(
            operator
                .mistakes(&wiring)
                .into_iter()
                .map(|it| (*operator, it)),
        );
    }
    let done: Vec<OnceLock<Case>> = todo.iter().map(|_| OnceLock::new()).collect();
    let next = AtomicUsize::new(0);
    let work = || {
        while let Some(at) =
            Some(next.fetch_add(1, Ordering::Relaxed)).filter(|at| *at < todo.len())
        {
            let (operator, mistake) = &todo[at];
            let judged = sound.judge(mistake, operator.note_will_do());
            let is_missed = matches!(judged.worth, Worth::Aside | Worth::Silent);
            let case = Case {
                operator,
                unknowable: is_missed
                    .then(|| why(operator.name, sound, mistake))
                    .flatten(),
                mistake: mistake.clone(),
                judged,
            };
            // No other thread has this index.
            let _ = done[at].set(case);
        }
    };
    thread::scope(|scope| {
        for _ in 0..thread::available_parallelism().map_or(1, usize::from) {
            scope.spawn(work);
        }
    });
    let done = done.into_iter().map(OnceLock::into_inner);
    done.map(|it| it.expect("each had its turn")).collect()
}

/// Mistakes of which most is said that are printed.
const MOST_SHOWN: usize = 20;

/// The heading of the table.
const HEADING: &str = "| mistake | made | nothing changes | named | aside | silent | of these, a drawing cannot know | named, % |\n\
                       |---|---|---|---|---|---|---|---|\n";

fn row(name: &str, score: Score) -> String {
    format!(
        "| {name} | {} | {} | {} | {} | {} | {} | {:.1} |\n",
        score.counted() + score.nothing,
        score.nothing,
        score.named,
        score.aside,
        score.silent,
        score.unknowable,
        score.percent()
    )
}

fn score<'c>(cases: impl Iterator<Item = &'c Case>) -> Score {
    let mut score = Score::default();
    cases.for_each(|case| score.count(case));
    score
}

/// The rows of one aircraft: each operator that fits, and all of them.
fn rows(cases: &[Case], operators: &[&'static Operator]) -> String {
    let mut rows = HEADING.to_owned();
    for operator in operators {
        let score = score(cases.iter().filter(|it| it.operator.name == operator.name));
        if score != Score::default() {
            rows += &row(operator.name, score);
        }
    }
    rows + &row("all", score(cases.iter()))
}

/// Those that are not named, grouped by operator and by what is said elsewhere.
fn print_missed(cases: &[Case]) {
    for worth in [Worth::Silent, Worth::Aside] {
        println!("\n{worth:?}:");
        for case in cases.iter().filter(|it| it.judged.worth == worth) {
            let said = case.judged.said.join(", ");
            let why = case
                .unknowable
                .map_or(String::new(), |it| format!(" (cannot know: {it})"));
            println!(
                "- {}: {}{why} {said}",
                case.operator.name, case.mistake.what
            );
        }
    }
}

/// The mistakes with most findings side by side: what follows from one cause must not bury it.
fn print_most_said(cases: &[Case]) {
    let mut cases: Vec<&Case> = cases.iter().collect();
    cases.sort_by_key(|it| std::cmp::Reverse(it.judged.side_by_side.len()));
    println!("\nMost side by side:");
    for case in cases.iter().take(MOST_SHOWN) {
        let (name, what) = (case.operator.name, &case.mistake.what);
        let (all, side_by_side) = (case.judged.said.len(), &case.judged.side_by_side);
        println!(
            "- {name}: {what}: {} of {all}: {}",
            side_by_side.len(),
            side_by_side.join(", ")
        );
    }
    println!("\nNamed, but something else comes first:");
    for case in
        (cases.iter()).filter(|it| it.judged.worth == Worth::Named && !it.judged.cause_first)
    {
        let (name, what) = (case.operator.name, &case.mistake.what);
        println!("- {name}: {what}: {}", case.judged.side_by_side.join(", "));
    }
}

/// True if every operator is asked for.
pub fn is_all() -> bool {
    std::env::var_os("LOOMWRIGHT_MISTAKES").is_none()
}

/// All of them, or those whose name contains what LOOMWRIGHT_MISTAKES says.
fn operators() -> Vec<&'static Operator> {
    let only = std::env::var("LOOMWRIGHT_MISTAKES").unwrap_or_default();
    OPERATORS
        .iter()
        .filter(|it| it.name.contains(&only))
        .collect()
}

/// How the findings of one named mistake stand in the list, over all that are named.
struct Order {
    /// Findings side by side, from the fewest.
    side_by_side: Vec<usize>,
    /// Mistakes at which the first of them points, percent.
    cause_first: f64,
}

impl Order {
    fn of(cases: &[Case]) -> Self {
        let named: Vec<&Judged> = (cases.iter().map(|it| &it.judged))
            .filter(|it| it.worth == Worth::Named)
            .collect();
        let mut side_by_side: Vec<usize> = named.iter().map(|it| it.side_by_side.len()).collect();
        side_by_side.sort_unstable();
        let first = named.iter().filter(|it| it.cause_first).count();
        Self {
            side_by_side,
            cause_first: 100.0 * first as f64 / named.len().max(1) as f64,
        }
    }

    /// So many findings or fewer for this share of the mistakes.
    fn within(&self, share: f64) -> usize {
        let at = (share * self.side_by_side.len() as f64).ceil() as usize;
        let at = at.clamp(1, self.side_by_side.len().max(1));
        self.side_by_side.get(at - 1).copied().unwrap_or_default()
    }
}

#[test]
fn the_cause_comes_first_and_what_follows_is_under_it() {
    let mut text = String::from(
        "| aircraft | half of the mistakes | 95 of 100 | the most | the first finding points at the mistake, % |\n\
         |---|---|---|---|---|\n",
    );
    let mut fell = Vec::new();
    for (sound, cases) in all() {
        let order = Order::of(cases);
        let (most, cause_first) = (order.within(1.0), order.cause_first);
        text += &format!(
            "| {} | {} | {} | {most} | {cause_first:.1} |\n",
            sound.name,
            order.within(0.5),
            order.within(0.95),
        );
        if order.within(0.95) > SIDE_BY_SIDE
            || most > MOST_SIDE_BY_SIDE
            || cause_first < CAUSE_FIRST
        {
            fell.push(sound.name);
        }
    }
    println!("{text}");
    if is_all() {
        measured::hold("side by side", &text);
        assert!(fell.is_empty(), "{fell:?} do worse than before:\n{text}");
    }
}

#[test]
fn mistakes_are_named() {
    let operators = operators();
    let mut text = String::new();
    let mut fell = Vec::new();
    for (at, (sound, cases)) in all().iter().enumerate() {
        let rows = rows(cases, &operators);
        println!("\n{}\n\n{rows}", sound.name);
        print_missed(cases);
        print_most_said(cases);
        text += &format!("\n{}\n\n{rows}", sound.name);
        for operator in &operators {
            let score = score(cases.iter().filter(|it| it.operator.name == operator.name));
            let floor = floor(operator.name, at);
            if (score.counted() == 0) != floor.is_none()
                || floor.is_some_and(|it| score.percent() < it)
            {
                fell.push(format!(
                    "{}, {}: {:.1} %, floor {floor:?}",
                    sound.name,
                    operator.name,
                    score.percent()
                ));
            }
        }
    }
    if is_all() {
        measured::hold("mistakes", &text);
        for (sound, cases) in all() {
            let percent = score(cases.iter()).percent();
            if percent < OF_ALL {
                fell.push(format!("{}: {percent:.1} % of all", sound.name));
            }
        }
    }
    assert!(
        fell.is_empty(),
        "fewer mistakes are named than before: {fell:#?}"
    );
}
