//! Papers as HTML: a fragment for the screen, where ticks and values can be put in, and a file for
//! paper that needs nothing else. All text is escaped here.

use super::{
    Cell, Paper, Table,
    paper::{NOTICE, Part},
};
use crate::{markup::escape, units::number};

/// What the markup is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Form {
    /// Ticks and values are put in here.
    Screen,
    /// Ticks and values stand as they are, with room for a pen.
    Print,
}

/// How paper looks; the same in the file and in the app.
pub const STYLE: &str = include_str!("paper.css");

/// A whole file.
pub fn file(title: &str, body: &str) -> String {
    format!(
        "<!doctype html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n\
         <meta name=\"viewport\" content=\"width=device-width\">\n<title>{}</title>\n\
         <style>\n{STYLE}</style>\n</head>\n<body class=\"on-paper\">\n{body}</body>\n</html>\n",
        escape(title)
    )
}

impl Paper {
    /// As an HTML file that needs nothing else.
    pub fn to_html(&self) -> String {
        file(&self.title, &body(self, Form::Print))
    }
}

/// A paper without the file around it.
pub fn body(paper: &Paper, form: Form) -> String {
    let mut out = String::new();
    for (n, section) in paper.parts.split(|part| *part == Part::Page).enumerate() {
        let class = if section.iter().any(is_wide) {
            " class=\"paper-landscape\""
        } else {
            ""
        };
        out += &format!("<section{class}>\n");
        if n == 0 {
            out += &format!("<h1>{}</h1>\n", escape(&paper.title));
        }
        put_section(&mut out, section, form);
        out += "</section>\n";
    }
    out + &format!("<p class=\"paper-notice\">{}</p>\n", escape(NOTICE))
}

/// True if a part wants the paper lying: a table of many columns, a drawing wider than high.
fn is_wide(part: &Part) -> bool {
    match part {
        Part::Table(table) => table.shown_columns().len() >= WIDE_FROM,
        Part::Drawing { svg, .. } => {
            let side = |name: &str| -> Option<f64> {
                let (_, rest) = svg.split_once(&format!(" {name}=\""))?;
                number(rest.split_once("mm\"")?.0)
            };
            side("width") > side("height").map(|high| high.max(LONGEST_UPRIGHT_MM))
        }
        _ => false,
    }
}

/// From so many columns on a table lies across the paper.
const WIDE_FROM: usize = 11;
/// What fits on upright paper, mm.
const LONGEST_UPRIGHT_MM: f64 = 190.0;

fn put_section(out: &mut String, parts: &[Part], form: Form) {
    for part in parts {
        match part {
            Part::Heading(text) => *out += &format!("<h2>{}</h2>\n", escape(text)),
            Part::Text(text) => *out += &format!("<p>{}</p>\n", escape(text)),
            Part::Caution(text) => {
                *out += &format!(
                    "<p class=\"paper-caution\"><b>Caution</b> {}</p>\n",
                    escape(text)
                );
            }
            Part::Table(table) => put_table(out, table, form),
            Part::Drawing { svg, told } => {
                *out += &format!(
                    "<figure role=\"img\" aria-label=\"{}\">{svg}</figure>\n",
                    escape(told)
                );
            }
            // Where a section ended.
            Part::Page => {}
        }
    }
}

fn put_table(out: &mut String, table: &Table, form: Form) {
    if table.rows.is_empty() {
        *out += "<p>Nothing to list.</p>\n";
        return;
    }
    let columns = table.shown_columns();
    let headings = table.headings();
    *out += "<div class=\"paper-wide\"><table>\n<thead>";
    // The heading is repeated on every page that the table runs over, and so is the name of its one group.
    let first = table.group_of(&table.rows[0]);
    let is_one = (table.rows.iter()).all(|row| table.group_of(row) == first);
    let of_one = first.filter(|name| is_one && table.title.starts_with(name));
    if of_one.is_some() {
        *out += &format!(
            "<tr class=\"paper-group\"><th colspan=\"{}\">{}</th></tr>",
            columns.len(),
            escape(&table.title)
        );
    }
    *out += "<tr>";
    for &at in &columns {
        *out += &format!("<th scope=\"col\">{}</th>", escape(&headings[at]));
    }
    *out += "</tr></thead>\n<tbody>\n";
    let mut group = None;
    for row in &table.rows {
        let name = table.group_of(row).filter(|text| group != Some(*text));
        if let Some(text) = name.filter(|_| of_one.is_none()) {
            *out += &format!(
                "<tr class=\"paper-group\"><th colspan=\"{}\">{}</th></tr>\n",
                columns.len(),
                escape(text)
            );
            group = Some(text);
        }
        // What a tick or a field is about, for those who do not see the row.
        let about = columns.first().map_or(String::new(), |&at| row[at].show());
        *out += "<tr>";
        for &at in &columns {
            put_cell(out, &row[at], (&headings[at], &about), form);
        }
        *out += "</tr>\n";
    }
    *out += "</tbody></table></div>\n";
}

fn put_cell(out: &mut String, cell: &Cell, (heading, about): (&str, &str), form: Form) {
    let shown = escape(&cell.show());
    let about = format!("{heading}: {about}");
    // A small screen shows each row as a card, and needs the heading beside the cell.
    let told = match form {
        Form::Screen => format!(" data-label=\"{}\"", escape(heading)),
        Form::Print => String::new(),
    };
    *out += &match (cell, form) {
        (Cell::Number(..) | Cell::Length(..), _) => format!("<td class=\"n\"{told}>{shown}</td>"),
        (Cell::Tick { done, key }, Form::Screen) if !key.is_empty() => format!(
            "<td class=\"t\"{told}><label><input type=\"checkbox\" data-tick=\"{}\" aria-label=\"{}\"{}>\
             </label></td>",
            escape(key),
            escape(&about),
            if *done { " checked" } else { "" }
        ),
        (Cell::Tick { done, .. }, _) => {
            format!(
                "<td class=\"t\">{}</td>",
                if *done { "\u{2611}" } else { "\u{2610}" }
            )
        }
        (Cell::Entry { key, .. }, Form::Screen) => format!(
            "<td class=\"e\"{told}><input data-entry=\"{}\" value=\"{shown}\" aria-label=\"{}\" \
             autocomplete=\"off\"></td>",
            escape(key),
            escape(&about)
        ),
        (Cell::Entry { .. }, Form::Print) => format!("<td class=\"e\"><span>{shown}</span></td>"),
        // A pin or a date is not torn in two.
        (_, Form::Print) if shown.chars().count() <= SHORT => {
            format!("<td class=\"s\">{shown}</td>")
        }
        _ => format!("<td{told}>{shown}</td>"),
    };
}

/// Characters of a cell that stays on one line on paper: "COM1 J105-13".
const SHORT: usize = 12;

#[cfg(test)]
mod tests {
    use super::*;
    use crate::reports::Column;

    fn paper(text: &str) -> Paper {
        let column = |key, title| Column {
            key,
            title,
            unit: "",
        };
        let mut paper = Paper {
            name: "p",
            title: text.into(),
            parts: Vec::new(),
        };
        paper.heading(text);
        paper.caution(text);
        paper.table(Table {
            name: "t",
            title: "table".into(),
            columns: vec![
                column("g", "G"),
                column("a", "A"),
                column("t", "T"),
                column("e", "E"),
            ],
            grouped: true,
            rows: vec![vec![
                Cell::text(text),
                Cell::text(text),
                Cell::Tick {
                    done: true,
                    key: text.into(),
                },
                Cell::Entry {
                    value: text.into(),
                    key: text.into(),
                },
            ]],
        });
        paper
    }

    #[test]
    fn no_text_becomes_markup() {
        let nasty = "<script>alert('1')</script>\" onload=\"x";
        for form in [Form::Screen, Form::Print] {
            let html = body(&paper(nasty), form);
            assert!(!html.contains("<script"), "{html}");
            assert!(!html.contains("\" onload"), "{html}");
        }
        assert!(!paper(nasty).to_html().contains("<script"));
    }

    /// A table of one connector has its name in the part that a printer repeats on each page.
    #[test]
    fn the_name_of_the_only_group_is_in_the_heading() {
        let mut one = paper("J101");
        for part in &mut one.parts {
            if let Part::Table(table) = part {
                table.title = "J101, 25-way D-sub".into();
            }
        }
        let print = body(&one, Form::Print);
        let (head, rows) = print.split_once("</thead>").expect("a heading");
        assert!(head.contains(">J101, 25-way D-sub</th></tr><tr>"), "{head}");
        assert!(!rows.contains("paper-group"), "{rows}");
    }

    #[test]
    fn ticks_and_fields_are_for_the_screen_and_stand_on_paper() {
        let screen = body(&paper("W1"), Form::Screen);
        assert!(screen.contains("type=\"checkbox\" data-tick=\"W1\" aria-label=\"T: W1\" checked"));
        assert!(screen.contains("data-entry=\"W1\" value=\"W1\""));
        let print = body(&paper("W1"), Form::Print);
        assert!(print.contains('\u{2611}') && !print.contains("<input"));
        assert!(print.contains("<tr class=\"paper-group\"><th colspan=\"3\">W1</th></tr>"));
    }
}
