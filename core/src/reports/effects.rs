//! What a change of a project does to it electrically: findings that come and go, loads by phase and the
//! alternator's share, how long the battery lasts.

use super::{Cell, Table, endurance::words};
use crate::{
    analysis::{
        LoadAnalysis,
        endurance::{Endurance, Extent},
        loads::Work,
    },
    document::Document,
    rules::{Facts, Finding, Verdict, check_with},
};

/// A project with all that is said of it.
#[derive(Debug)]
pub struct Side<'d> {
    /// What is known of it.
    pub facts: Facts<'d>,
    verdict: Verdict,
    loads: LoadAnalysis,
    endurance: Endurance,
}

impl<'d> Side<'d> {
    /// Looks a project over.
    pub fn new(document: &'d Document) -> Self {
        let facts = Facts::new(document);
        Self {
            verdict: check_with(&facts),
            loads: facts.loads_as(Work::Solved),
            endurance: facts.endurance_to(Extent::Minutes),
            facts,
        }
    }

    /// What the rules say of it.
    pub fn verdict(&self) -> &Verdict {
        &self.verdict
    }
}

/// What differs between a project before and after.
#[derive(Clone, Debug, PartialEq)]
pub struct Effects {
    /// Open findings that come, in lines.
    pub new: Vec<String>,
    /// Open findings that stay and get worse, with what they were.
    pub worse: Vec<String>,
    /// Open findings that go.
    pub gone: Vec<String>,
    /// What cannot be judged any more, and why.
    pub unjudged: Vec<String>,
    /// Continuous loads and the alternator's share, phase by phase: solved, a load that cannot run with its stated
    /// current.
    pub loads: Table,
    /// Minutes without alternator, case by case.
    pub endurance: Table,
}

/// Sets two sides beside each other.
pub fn effects(before: &Side<'_>, after: &Side<'_>) -> Effects {
    let [new, gone] = comes_and_goes(&before.verdict, &after.verdict);
    let known = &before.verdict.not_checked;
    let is_new = |it: &&crate::rules::NotChecked| {
        !known
            .iter()
            .any(|was| (was.rule, &was.at) == (it.rule, &it.at))
    };
    let unjudged = after.verdict.not_checked.iter().filter(is_new);
    let worse = after.verdict.worse_than(&before.verdict);
    let worse = worse.into_iter().filter(|(now, _)| now.accepted.is_none());
    let worse = worse.map(|(now, was)| {
        let figure = was.measured.unwrap_or_default();
        format!("{}; before: {figure:.2} {}", line(now), was.unit)
    });
    Effects {
        new,
        worse: worse.collect(),
        gone,
        unjudged: unjudged
            .map(|it| format!("{}: {}", it.rule, it.because))
            .collect(),
        loads: by_phase(&before.loads, &after.loads),
        endurance: by_case(&before.endurance, &after.endurance),
    }
}

impl Effects {
    /// True if loads and endurance are what they were.
    pub fn is_same_load(&self) -> bool {
        let rows = self.loads.rows.iter().chain(&self.endurance.rows);
        rows.map(|row| [row[1].show(), row[2].show()])
            .all(|[before, after]| before == after)
    }

    /// Phases in which the alternator's share grows, in lines.
    pub fn more_load(&self) -> Vec<String> {
        let percent = |cell: &Cell| match cell {
            Cell::Number(value, _) => Some(*value),
            _ => None,
        };
        let more = |row: &Vec<Cell>| {
            let (was, now) = (percent(&row[4])?, percent(&row[5])?);
            let title = row[0].show();
            (now - was >= 0.5)
                .then(|| format!("Alternator load in \"{title}\": {now:.0} %, was {was:.0} %"))
        };
        self.loads.rows.iter().filter_map(more).collect()
    }

    /// Its tables.
    pub fn tables(&self) -> [&Table; 2] {
        [&self.loads, &self.endurance]
    }
}

/// Open findings that a change brings, and those that it takes away, in lines.
pub fn comes_and_goes(before: &Verdict, after: &Verdict) -> [Vec<String>; 2] {
    let told = |findings: Vec<&Finding>| {
        let open = findings.into_iter().filter(|it| it.accepted.is_none());
        open.map(line).collect()
    };
    [told(after.without(before)), told(before.without(after))]
}

fn line(finding: &Finding) -> String {
    format!("{}: {}", finding.title, finding.message)
}

/// Phase by phase, the continuous sum and the alternator's share, then and now.
pub fn by_phase(before: &LoadAnalysis, after: &LoadAnalysis) -> Table {
    let columns = &[
        ("phase", "Phase", ""),
        ("before_a", "Before", "A"),
        ("after_a", "After", "A"),
        ("difference_a", "Difference", "A"),
        ("before_percent", "Of alternator before", "%"),
        ("after_percent", "Of alternator after", "%"),
    ];
    let mut table = Table::new("change", "Before and after", columns);
    for phase in &after.phases {
        let now = phase.total.continuous.asked_a;
        let was = before.phases.iter().find(|it| it.title == phase.title);
        let then = was.map(|it| it.total.continuous.asked_a);
        table.rows.push(vec![
            Cell::text(&phase.title),
            Cell::number(then, 2),
            Cell::Number(now, 2),
            Cell::number(then.map(|then| now - then), 2),
            Cell::number(was.zip(then).and_then(|(it, amps)| it.percent(amps)), 0),
            Cell::number(phase.percent(now), 0),
        ]);
    }
    table
}

/// Case by case, the minutes until the first load stops and until nothing runs, then and now.
fn by_case(before: &Endurance, after: &Endurance) -> Table {
    let columns = &[
        ("case", "Alternator out", ""),
        ("before_min", "Before", "min"),
        ("after_min", "After", "min"),
        ("difference_min", "Difference", "min"),
        ("first_before_min", "First stop before", "min"),
        ("first_after_min", "First stop after", "min"),
        ("target_min", "Wanted", "min"),
    ];
    let mut table = Table::new("endurance_change", "Endurance before and after", columns);
    for case in &after.cases {
        let was = before.case(case.case);
        let then = was.and_then(|it| it.minutes);
        let difference = case.minutes.zip(then).map(|(now, then)| now - then);
        table.rows.push(vec![
            Cell::text(words(case.case)),
            Cell::number(then, 0),
            Cell::number(case.minutes, 0),
            Cell::number(difference, 0),
            Cell::number(was.and_then(|it| it.first_stop_min), 0),
            Cell::number(case.first_stop_min, 0),
            Cell::number(after.target_min, 0),
        ]);
    }
    table
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::document;

    const BEFORE: &str = "
        target 60
        battery BT1 ah=16
        bus EBUS CB1=5
        load USB2 2 law=current
        ground GB1 STUD T1
        wire A BT1.+ EBUS.STUD 8 0.2m
        wire B EBUS.CB1 USB2.+ 20 1m
        wire C USB2.- GB1.T1 20 1m
        wire D GB1.STUD BT1.- 8 0.2m
        state OUT after=essential";

    #[test]
    fn a_load_three_times_as_large_is_told_in_amperes_minutes_and_findings() {
        let (before, after) = (
            document(BEFORE),
            document(&BEFORE.replace("2 law", "6 law")),
        );
        let told = effects(&Side::new(&before), &Side::new(&after));
        let row = |table: &Table| -> Vec<String> { table.rows[0].iter().map(Cell::show).collect() };
        assert_eq!(row(&told.loads)[..4], ["OUT", "2.00", "6.00", "4.00"]);
        // 16 Ah x 0.80 for age x 0.75 for rate: 9.6 Ah over 2 A are 288 min, over 6 A 96 min.
        assert_eq!(row(&told.endurance)[1..4], ["288", "96", "-192"]);
        assert!(
            told.new.iter().any(|it| it.contains("CB1")),
            "{:?}",
            told.new
        );
        assert!(told.gone.is_empty() && !told.is_same_load());
        let same = effects(&Side::new(&before), &Side::new(&before));
        assert!(same.is_same_load() && same.new.is_empty() && same.unjudged.is_empty());
    }
}
