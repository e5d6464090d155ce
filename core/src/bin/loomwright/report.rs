//! `loomwright report`.

use std::path::Path;

use loomwright_core::{
    document::Document,
    drawing,
    exchange::revisions,
    ids::RevisionId,
    reports::{self, Asked, Paper, Part, Table},
};

use crate::{
    ask::{GroupBy, PaperForm, Report},
    files::{open, write},
};

/// The earlier project to compare with: a file, or a version kept in the project, by the first letters of its key.
fn earlier(document: &Document, given: &Path) -> Result<Document, String> {
    let key = given.to_str().filter(|_| !given.exists());
    let begins = |id: &&RevisionId| key.is_some_and(|key| id.as_str().starts_with(key));
    let kept: Vec<&RevisionId> = document.revisions.keys().filter(begins).collect();
    match kept[..] {
        [only] => revisions::content(document, only).map_err(|error| error.to_string()),
        _ => open(given),
    }
}

/// Prints a paper.
pub fn run(ask: &Report) -> Result<(), String> {
    let document = open(&ask.file)?;
    let before = ask.before.as_deref();
    let before = before.map(|given| earlier(&document, given)).transpose()?;
    let asked = Asked {
        document: &document,
        before: before.as_ref(),
        zone: drawing::zone_of,
        drawn: drawing::plain_svg,
    };
    if ask.group.is_some() && ask.paper != "wires" {
        return Err("only the wire list can be grouped; leave --group out".into());
    }
    let mut paper = match &*ask.paper {
        "wires" => reports::wires::paper_by(&asked, ask.group.map(GroupBy::group)),
        "always-hot" => one_table(reports::always_hot::table(&document)),
        "endurance" => one_table(reports::endurance::table(&document)),
        name => {
            reports::paper(&asked, name).ok_or_else(|| format!("there is no paper {name:?}"))?
        }
    };
    for part in &mut paper.parts {
        let Part::Table(table) = part else { continue };
        if let Some(only) = &ask.only {
            table.keep(only);
        }
        if let Some(key) = ask.sort.as_deref().filter(|key| !table.sort_by(key)) {
            let keys: Vec<&str> = table.columns.iter().map(|column| column.key).collect();
            return Err(format!(
                "there is no column {key:?}; expected one of: {}",
                keys.join(", ")
            ));
        }
    }
    write(ask.output.as_deref(), formed(&paper, ask.format).as_bytes())
}

/// A paper in a form.
pub fn formed(paper: &Paper, form: PaperForm) -> String {
    match form {
        PaperForm::Html => paper.to_html(),
        PaperForm::Csv => paper.to_csv(),
        PaperForm::Json => paper.to_json(),
        PaperForm::Text => paper.to_text(),
    }
}

fn one_table(table: Table) -> Paper {
    Paper {
        name: table.name,
        title: table.title.clone(),
        parts: vec![Part::Table(table)],
    }
}
