//! Papers as HTML: a fragment for the screen, where people check boxes and enter values, and a file to print that
//! needs no other file. All text is escaped here.

use super::{
    Cell, Paper, Table,
    paper::{NOTICE, Part},
};
use crate::{document::SheetSize, markup::escape, units::number};

/// Where the markup is used.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Form {
    /// On screen: boxes and values can be changed.
    Screen,
    /// On paper: boxes and values as they are, with room to write.
    Print,
}

/// The style sheet of papers, the same in files and in the app.
pub const STYLE: &str = include_str!("paper.css");

/// The script that lays papers out on pages, the same in files and in the app: no engine but one can number pages
/// by styles alone, and none repeats the name of a table.
pub const SCRIPT: &str = include_str!("paper.js");

impl Paper {
    /// As an HTML file that needs nothing else. Where its script may not run, an engine that can puts the line of
    /// each page there by styles, and the others put it on the first page.
    pub fn to_html(&self) -> String {
        let head = format!("{}, {}, {}", self.aircraft, self.what, self.edition.line());
        format!(
            "<!doctype html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n\
             <meta name=\"viewport\" content=\"width=device-width\">\n<title>{}</title>\n\
             <style>\n{STYLE}</style>\n<noscript><style>@page {{ @bottom-center {{ font: 8pt sans-serif; content: \
             \"{}, page \" counter(page) \" of \" counter(pages) }} }}</style></noscript>\n</head>\n\
             <body class=\"on-paper\">\n{}<script>\n{SCRIPT}</script>\n</body>\n</html>\n",
            escape(&self.title),
            style_text(&head),
            body(self, Form::Print)
        )
    }
}

/// A text inside quotes of a style sheet (CSS Syntax 3, section 4.3.7): what is no letter of ASCII, digit or space is
/// written by its number.
fn style_text(text: &str) -> String {
    let letter = |it: char| match it {
        ' ' | '0'..='9' | 'A'..='Z' | 'a'..='z' => it.to_string(),
        it => format!("\\{:x} ", u32::from(it)),
    };
    text.chars().map(letter).collect()
}

/// A paper without the file around it. In print it begins with the line that [`SCRIPT`] puts on every page; a part
/// of the paper that begins a page is a section.
pub fn body(paper: &Paper, form: Form) -> String {
    let mut out = String::new();
    if form == Form::Print {
        out += &head(paper);
    }
    let mut began = 0;
    let sections = sections(&paper.parts);
    for (n, section) in sections.iter().enumerate() {
        let (begins, parts) = match section.split_first() {
            Some((Part::Begin(name), rest)) => (Some(name), rest),
            _ => (None, *section),
        };
        let mut attributes = String::new();
        let class = parts.iter().find_map(shape).unwrap_or_default();
        if !class.is_empty() {
            attributes += &format!(" class=\"{class}\"");
        }
        if let Some(name) = begins {
            attributes += &format!(" data-begins=\"{began}\" data-name=\"{}\"", escape(name));
            began += 1;
        }
        out += &format!("<section{attributes}>\n");
        // A sheet is alone on its page, and has its title block and the notice itself.
        let is_sheet = class.starts_with(SHEET);
        if n == 0 && !is_sheet {
            out += &format!("<h1>{}</h1>\n", escape(&paper.title));
        }
        put_section(&mut out, paper, parts, form);
        if n + 1 == sections.len() && !is_sheet {
            out += &format!("<p class=\"paper-notice\">{}</p>\n", escape(NOTICE));
        }
        out += "</section>\n";
    }
    out
}

/// The parts of each section: a [`Part::Begin`] is the first of its own.
fn sections(parts: &[Part]) -> Vec<&[Part]> {
    let mut all = Vec::new();
    for page in parts.split(|part| *part == Part::Page) {
        let mut from = 0;
        for (at, part) in page.iter().enumerate() {
            if at > from && matches!(part, Part::Begin(_)) {
                all.push(&page[from..at]);
                from = at;
            }
        }
        all.push(&page[from..]);
    }
    all
}

/// What every page says: aircraft and paper, version and date, and its number.
fn head(paper: &Paper) -> String {
    format!(
        "<header class=\"paper-head\"><b>{}, <span class=\"paper-name\">{}</span></b>\
         <span class=\"paper-number\"></span><span>{}</span></header>\n",
        escape(&paper.aircraft),
        escape(&paper.what),
        escape(&paper.edition.line())
    )
}

/// The shape of a part's page, as a class: a sheet by its size, landscape for a table of many columns and for a drawing
/// wider than high; none for any other.
fn shape(part: &Part) -> Option<String> {
    match part {
        Part::Table(table) => {
            (table.shown_columns().len() >= WIDE_FROM).then(|| "paper-landscape".into())
        }
        Part::Drawing { svg, .. } => {
            let side = |name: &str| -> Option<f64> {
                let (_, rest) = svg.split_once(&format!(" {name}=\""))?;
                number(rest.split_once("mm\"")?.0)
            };
            let (wide, high) = (side("width")?, side("height")?);
            let is_it = |size: &&SheetSize| size.size_mm() == (wide, high);
            match SheetSize::ALL.iter().find(is_it) {
                Some(size) => Some(format!("{SHEET} {size:?}").to_ascii_lowercase()),
                None => (wide > high.max(LONGEST_UPRIGHT_MM)).then(|| "paper-landscape".into()),
            }
        }
        _ => None,
    }
}

/// The class of a page with a sheet.
const SHEET: &str = "paper-sheet";
/// Tables of this many columns or more are printed in landscape.
const WIDE_FROM: usize = 11;
/// The widest drawing that fits on portrait paper, mm.
const LONGEST_UPRIGHT_MM: f64 = 190.0;

fn put_section(out: &mut String, paper: &Paper, parts: &[Part], form: Form) {
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
            Part::Contents => {
                *out += "<ol class=\"paper-contents\">\n";
                for (at, name) in paper.contents().enumerate() {
                    // The script puts the number of the page there.
                    let page = match form {
                        Form::Print => format!("<span data-page-of=\"{at}\"></span>"),
                        Form::Screen => String::new(),
                    };
                    *out += &format!("<li>{}{page}</li>\n", escape(name));
                }
                *out += "</ol>\n";
            }
            Part::Card(parts) => {
                *out += "<div class=\"paper-card\">\n";
                put_section(out, paper, parts, form);
                *out += "</div>\n";
            }
            // Sections are split at them.
            Part::Page | Part::Begin(_) => {}
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
    *out += &format!(
        "<div class=\"paper-wide\"><table data-name=\"{}\">\n<thead>",
        escape(&table.title)
    );
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
        // Screen readers say which row a box or field belongs to.
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
    // A small screen shows each row as a card, with the heading next to the cell.
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
        (Cell::Entry { key, .. }, Form::Screen) if !key.is_empty() => format!(
            "<td class=\"e\"{told}><input data-entry=\"{}\" value=\"{shown}\" aria-label=\"{}\" \
             autocomplete=\"off\"></td>",
            escape(key),
            escape(&about)
        ),
        (Cell::Entry { .. }, _) => format!("<td class=\"e\"><span>{shown}</span></td>"),
        // A pin or a date is not broken over two lines.
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
            what: text.into(),
            aircraft: text.into(),
            ..Paper::default()
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
        let file = paper(nasty).to_html();
        assert_eq!(file.matches("<script").count(), 1, "{file}");
        let (styles, _) = file.split_once("</head>").expect("a head");
        assert!(!styles.contains("alert('"), "{styles}");
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
    fn boxes_and_fields_can_be_changed_on_screen_and_are_printed_on_paper() {
        let screen = body(&paper("W1"), Form::Screen);
        assert!(screen.contains("type=\"checkbox\" data-tick=\"W1\" aria-label=\"T: W1\" checked"));
        assert!(screen.contains("data-entry=\"W1\" value=\"W1\""));
        let print = body(&paper("W1"), Form::Print);
        assert!(print.contains('\u{2611}') && !print.contains("<input"));
        assert!(print.contains("<tr class=\"paper-group\"><th colspan=\"3\">W1</th></tr>"));
    }
}
