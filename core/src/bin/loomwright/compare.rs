//! `loomwright diff` and `loomwright merge`.

use std::{
    path::{Path, PathBuf},
    process::ExitCode,
};

use loomwright_core::{
    exchange::{
        self,
        compare::{ChangeKind, Difference, compare},
    },
    order::Sorted,
    reports::effects::{Side, effects},
    rules,
};
use serde_json::json;

use crate::{
    ask::Form,
    files::{self, NOTICE, open, open_to_write, print, write},
};

/// Lists what changed between two files.
pub fn diff([before, after]: [&PathBuf; 2], format: Form) -> Result<(), String> {
    let (before, after) = (open(before)?, open(after)?);
    let differences = compare(&before, &after);
    let effects = effects(&Side::new(&before), &Side::new(&after));
    print(&match format {
        Form::Json => files::json(&json!({
            "differences": differences.iter().map(difference_json).collect::<Vec<_>>(),
            "findings_gone": effects.gone,
            "findings_new": effects.new,
            "findings_worse": effects.worse,
            "not_judged_any_more": effects.unjudged,
            "loads": effects.loads.rows_json(),
            "endurance": effects.endurance.rows_json(),
        })),
        Form::Text => {
            let lines = differences.iter().map(Difference::words);
            let gone = effects.gone.iter();
            let gone = gone.map(|it| format!("finding gone: {it}"));
            let new = effects.new.iter().map(|it| format!("finding new: {it}"));
            let worse = effects.worse.iter();
            let worse = worse.map(|it| format!("finding worse: {it}"));
            let all = lines.chain(gone).chain(new).chain(worse);
            let mut text: String = all.map(|it| it + "\n").collect();
            if text.is_empty() {
                text = "no difference\n".into();
            }
            if !effects.is_same_load() {
                for table in effects.tables() {
                    text += &format!("\n{}\n{}", table.title, table.to_text());
                }
            }
            text + NOTICE
        }
    })
}

fn difference_json(it: &Difference) -> serde_json::Value {
    let (became, fields) = match &it.became {
        ChangeKind::Added => ("added", &[][..]),
        ChangeKind::Removed => ("removed", &[][..]),
        ChangeKind::Changed(fields) => ("changed", fields.as_slice()),
    };
    json!({
        "kind": it.key.kind(), "id": it.key.id(), "label": it.label, "became": became, "fields": fields,
    })
}

/// Merges two files that began as the same project: common, mine, other. Exit code 1: a conflict.
pub fn merge(files: [&PathBuf; 3], output: Option<&Path>) -> Result<ExitCode, String> {
    let [common, mine, other] = files.map(|file| open_to_write(file));
    let (common, mine, other) = (common?, mine?, other?);
    let merged = exchange::merge::merge(&common, &mine, &other).map_err(|it| it.to_string())?;
    write(output, &exchange::save(&merged.document))?;
    let verdict = rules::check(&merged.document);
    for conflict in &merged.conflicts {
        eprintln!("conflict: {}", conflict.words(&mine));
        let turned = Sorted::from([conflict.path.clone()]);
        let turned = exchange::merge::merge_by(Some(&common), &mine, &other, &turned);
        let turned = turned.map_err(|it| it.to_string())?;
        let [comes, goes] = rules::check(&turned.document).comes_and_goes(&verdict);
        for (what, lines) in [("comes", comes), ("goes", goes)] {
            for line in lines {
                eprintln!("  with the other file {what}: {line}");
            }
        }
    }
    Ok(ExitCode::from(u8::from(!merged.conflicts.is_empty())))
}
