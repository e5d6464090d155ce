//! Cells as spreadsheets copy and save them: separated by tabs, commas or semicolons (RFC 4180
//! quotes).

/// Reads rows of cells. The separator is the tab if there is one, else whichever of comma and
/// semicolon the first line has more of. Nothing is rejected: an unclosed quote runs to the end.
pub fn read(text: &str) -> Vec<Vec<String>> {
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let first = text.lines().next().unwrap_or_default();
    let parted_by = match (text.contains('\t'), count(first, ';') > count(first, ',')) {
        (true, _) => '\t',
        (false, true) => ';',
        (false, false) => ',',
    };
    let mut rows = vec![vec![String::new()]];
    let mut rest = text.chars().peekable();
    let mut quoted = false;
    while let Some(c) = rest.next() {
        let row = rows.last_mut().expect("a row was begun");
        let cell = row.last_mut().expect("a cell was begun");
        match c {
            '"' if quoted && rest.peek() == Some(&'"') => {
                rest.next();
                cell.push('"');
            }
            '"' if quoted => quoted = false,
            // A quote inside a cell is plain text: 14" of wire.
            '"' if cell.is_empty() => quoted = true,
            c if quoted => cell.push(c),
            c if c == parted_by => row.push(String::new()),
            '\r' => {}
            '\n' => rows.push(vec![String::new()]),
            c => cell.push(c),
        }
    }
    // The end of the last line does not begin a row.
    if rows
        .last()
        .is_some_and(|row| row.iter().all(String::is_empty))
    {
        rows.pop();
    }
    for cell in rows.iter_mut().flatten() {
        *cell = plain(cell).to_owned();
    }
    rows
}

/// The rows that are not empty.
pub fn filled(text: &str) -> Vec<Vec<String>> {
    let mut rows = read(text);
    rows.retain(|row| row.iter().any(|cell| !cell.trim().is_empty()));
    rows
}

fn count(text: &str, c: char) -> usize {
    text.chars().filter(|it| *it == c).count()
}

/// A cell without the apostrophe that stops spreadsheets from reading it as a formula.
fn plain(cell: &str) -> &str {
    let guarded = |rest: &&str| rest.starts_with(['=', '+', '-', '@', '\t', '\r', '\'']);
    let bare = cell.strip_prefix('\'').filter(guarded);
    bare.unwrap_or(cell)
}

/// Cells in the form that a spreadsheet pastes.
pub fn write(rows: &[Vec<String>]) -> String {
    let cell = |text: &String| {
        // A cell that already begins like a guard gets one more, so that reading keeps it.
        let guard = if plain(text).len() < text.len() {
            "'"
        } else {
            ""
        };
        match text.contains(['\t', '\n', '\r', '"']) {
            true => format!("\"{guard}{}\"", text.replace('"', "\"\"")),
            false => format!("{guard}{text}"),
        }
    };
    let line = |row: &Vec<String>| row.iter().map(cell).collect::<Vec<_>>().join("\t");
    rows.iter().map(line).collect::<Vec<_>>().join("\n")
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    #[test]
    fn tabs_commas_and_semicolons_part_cells() {
        for text in ["a\tb\r\n1\t2\r\n", "a,b\n1,2", "\u{feff}a;b\n1;2\n"] {
            assert_eq!(read(text), [["a", "b"], ["1", "2"]], "{text:?}");
        }
        assert_eq!(read("1,2;3;4"), [["1,2", "3", "4"]]);
        assert_eq!(read("a\tb,c"), [["a", "b,c"]]);
        assert!(read("").is_empty());
        let guarded = [["'=1".to_owned(), "''-".to_owned()].to_vec()];
        assert_eq!(read(&write(&guarded)), guarded);
    }

    #[test]
    fn quotes_keep_what_would_part() {
        assert_eq!(read("\"a,\"\"b\"\"\nc\",d"), [["a,\"b\"\nc", "d"]]);
        assert_eq!(read("14\" of wire,2"), [["14\" of wire", "2"]]);
        assert_eq!(read("\"never closed,1\n2"), [["never closed,1\n2"]]);
    }

    #[test]
    fn what_our_papers_made_harmless_is_read_back() {
        for text in ["=1+1", "+5", "-3", "@x", "'quoted", "plain", "\t1"] {
            let guarded = crate::reports::harmless(text);
            assert_eq!(plain(&guarded), text);
        }
    }

    proptest! {
        #[test]
        fn what_is_copied_is_pasted_unchanged(
            rows in prop::collection::vec(prop::collection::vec("[a-z\"\t\n, ;]{0,6}", 2..4), 1..5)
        ) {
            // An empty last row does not count as a row.
            prop_assume!(rows.last().is_some_and(|row| row.iter().any(|cell| !cell.is_empty())));
            // At least two columns, so that there is a tab between them.
            prop_assert_eq!(read(&write(&rows)), rows);
        }
    }
}
