//! The electrical effects of a change: new and resolved findings, loads by phase, alternator load and battery
//! endurance.

use super::{
    Cell, Table,
    endurance::{minutes, words},
};
use crate::{
    analysis::{
        LoadAnalysis,
        endurance::{Endurance, Extent, whole_min},
        loads::Work,
    },
    document::Document,
    rules::{Facts, Verdict, check_with},
};

/// A project with its check results, loads and endurance.
#[derive(Debug)]
pub struct Side<'d> {
    /// The facts that rules read.
    pub facts: Facts<'d>,
    verdict: Verdict,
    loads: LoadAnalysis,
    endurance: Endurance,
}

impl<'d> Side<'d> {
    /// Checks and solves a project.
    pub fn new(document: &'d Document) -> Self {
        let facts = Facts::new(document);
        Self {
            verdict: check_with(&facts),
            loads: facts.loads_as(Work::Solved),
            endurance: facts.endurance_to(Extent::Minutes),
            facts,
        }
    }

    /// The result of its check.
    pub fn verdict(&self) -> &Verdict {
        &self.verdict
    }
}

/// The differences between a project before and after a change.
#[derive(Clone, Debug, PartialEq)]
pub struct Effects {
    /// New open findings, one line each.
    pub new: Vec<String>,
    /// Open findings that get worse, with their figure before.
    pub worse: Vec<String>,
    /// Open findings that are resolved.
    pub gone: Vec<String>,
    /// Checks that can no longer be made, and why.
    pub unjudged: Vec<String>,
    /// Continuous loads and alternator load by phase, as solved. A load that cannot run counts with its stated
    /// current.
    pub loads: Table,
    /// Minutes without alternator, by case.
    pub endurance: Table,
}

/// Compares two sides.
pub fn effects(before: &Side<'_>, after: &Side<'_>) -> Effects {
    let [new, gone] = after.verdict.comes_and_goes(&before.verdict);
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
        let figure = match &*was.unit {
            "m" => before.facts.document.project.length(figure, 2),
            unit => format!("{figure:.2} {unit}"),
        };
        format!("{}; before: {figure}", now.line())
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
    /// True if loads and endurance do not change.
    pub fn is_same_load(&self) -> bool {
        let rows = self.loads.rows.iter().chain(&self.endurance.rows);
        rows.map(|row| [row[1].show(), row[2].show()])
            .all(|[before, after]| before == after)
    }

    /// Phases in which the alternator load grows, one line each.
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

/// The continuous total and the alternator load by phase, before and after.
pub fn by_phase(before: &LoadAnalysis, after: &LoadAnalysis) -> Table {
    let columns = &[
        ("phase", "Phase", ""),
        ("before_a", "Before", "A"),
        ("after_a", "After", "A"),
        ("difference_a", "Difference", "A"),
        ("before_percent", "Alternator load before", "%"),
        ("after_percent", "Alternator load after", "%"),
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

/// The minutes until the first load stops and until none runs, by case, before and after.
fn by_case(before: &Endurance, after: &Endurance) -> Table {
    let columns = &[
        ("case", "Alternator-out case", ""),
        ("before_min", "Before", "min"),
        ("after_min", "After", "min"),
        ("difference_min", "Difference", "min"),
        ("first_before_min", "First load lost, before", "min"),
        ("first_after_min", "First load lost, after", "min"),
        ("target_min", "Target", "min"),
    ];
    let mut table = Table::new("endurance_change", "Endurance before and after", columns);
    for case in &after.cases {
        let was = before.case(case.case);
        let then = was.and_then(|it| it.minutes);
        // Of the minutes shown, so that the row adds up.
        let difference = case
            .minutes
            .zip(then)
            .map(|(now, then)| whole_min(now) - whole_min(then));
        table.rows.push(vec![
            Cell::text(words(case.case)),
            minutes(then),
            minutes(case.minutes),
            minutes(difference),
            minutes(was.and_then(|it| it.first_stop_min)),
            minutes(case.first_stop_min),
            minutes(after.target_min),
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
    fn a_load_three_times_as_large_shows_in_amps_minutes_and_findings() {
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
        // 9.6 Ah over 2.97 A are 193.9 min, over 3 A 192 min: what is shown adds up, 194 - 192 = 2.
        let (before, after) = (
            document(&BEFORE.replace("2 law", "3 law")),
            document(&BEFORE.replace("2 law", "2.975 law")),
        );
        let told = effects(&Side::new(&before), &Side::new(&after));
        assert_eq!(row(&told.endurance)[1..4], ["192", "194", "2"]);
        let papers = crate::reports::endurance::table(&after);
        let at = |key| {
            papers
                .columns
                .iter()
                .position(|it| it.key == key)
                .expect("a column")
        };
        assert_eq!(papers.rows[0][at("minutes")].show(), "194");
        let same = effects(&Side::new(&before), &Side::new(&before));
        assert!(same.is_same_load() && same.new.is_empty() && same.unjudged.is_empty());
    }
}
