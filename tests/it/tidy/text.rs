//! Splits Rust source into code, texts and comments.

/// A file's code, texts and comments.
#[derive(Debug, Default, PartialEq, Eq)]
pub struct Parts {
    /// The source with comments and the insides of texts blanked out; lines stay where they were.
    pub code: String,
    /// The line and content of each text.
    pub texts: Vec<(usize, String)>,
    /// The line and content of each comment up to the end of its line.
    pub comments: Vec<(usize, String)>,
}

/// Splits a Rust file.
pub fn parts(source: &str) -> Parts {
    let chars: Vec<char> = source.chars().collect();
    let mut out = Parts::default();
    let (mut at, mut line) = (0, 1);
    while at < chars.len() {
        let end = match chars[at] {
            '/' if chars.get(at + 1) == Some(&'/') => until(&chars, at, |rest| rest[0] == '\n'),
            '/' if chars.get(at + 1) == Some(&'*') => {
                (until(&chars, at + 2, |rest| rest.starts_with(&['*', '/'])) + 2).min(chars.len())
            }
            '"' => text_end(&chars, at),
            'r' if !is_word(at.checked_sub(1).map(|before| chars[before])) => {
                raw_text_end(&chars, at).unwrap_or(at)
            }
            '\'' => char_end(&chars, at).unwrap_or(at),
            _ => at,
        };
        if end == at {
            line += usize::from(chars[at] == '\n');
            out.code.push(chars[at]);
            at += 1;
            continue;
        }
        let piece: String = chars[at..end].iter().collect();
        if let Some(comment) = piece.strip_prefix("//") {
            out.comments
                .push((line, comment.trim_matches(['/', '!', ' ']).into()));
        } else if let Some(text) = inside(&piece) {
            out.texts.push((line, text));
            out.code.push_str("\"\"");
        }
        let breaks = piece.matches('\n').count();
        out.code.push_str(&"\n".repeat(breaks));
        line += breaks;
        at = end;
    }
    out
}

/// The code before a file's tests: everything up to `#[cfg(test)]`, except the declaration of a
/// test module with its own file.
pub fn without_tests(code: &str) -> String {
    let mut kept = String::new();
    let mut lines = code.lines().peekable();
    while let Some(line) = lines.next() {
        if line.trim() == "#[cfg(test)]" {
            let declares = lines
                .peek()
                .is_some_and(|next| next.trim_end().ends_with(';'));
            if !declares {
                break;
            }
            lines.next();
            kept.push_str("\n\n");
            continue;
        }
        kept.push_str(line);
        kept.push('\n');
    }
    kept
}

/// True if a character can be part of a name.
pub fn is_word(letter: Option<char>) -> bool {
    letter.is_some_and(|letter| letter.is_alphanumeric() || letter == '_')
}

fn until(chars: &[char], from: usize, found: impl Fn(&[char]) -> bool) -> usize {
    (from..chars.len())
        .find(|&at| found(&chars[at..]))
        .unwrap_or(chars.len())
}

fn text_end(chars: &[char], start: usize) -> usize {
    let mut at = start + 1;
    while at < chars.len() && chars[at] != '"' {
        at += if chars[at] == '\\' { 2 } else { 1 };
    }
    (at + 1).min(chars.len())
}

fn raw_text_end(chars: &[char], start: usize) -> Option<usize> {
    let hashes = chars[start + 1..]
        .iter()
        .take_while(|&&letter| letter == '#')
        .count();
    let open = start + 1 + hashes;
    if chars.get(open) != Some(&'"') {
        return None;
    }
    let mut close = vec!['"'];
    close.extend(std::iter::repeat_n('#', hashes));
    Some((until(chars, open + 1, |rest| rest.starts_with(&close)) + close.len()).min(chars.len()))
}

/// The end of a character in quotes; None for a lifetime.
fn char_end(chars: &[char], start: usize) -> Option<usize> {
    if chars.get(start + 1) == Some(&'\\') {
        return Some((until(chars, start + 3, |rest| rest[0] == '\'') + 1).min(chars.len()));
    }
    (chars.get(start + 2) == Some(&'\'')).then_some(start + 3)
}

fn inside(piece: &str) -> Option<String> {
    let start = piece.find('"')?;
    let is_text = piece.starts_with('"') || piece.starts_with('r');
    let end = piece.rfind('"')?;
    (is_text && start < end).then(|| piece[start + 1..end].replace("\\\"", "\""))
}

#[test]
fn source_is_split() {
    let source = "let a = 'x'; // say \"no\"\nlet b: &'static str = \"one \\\" two\";\n\
                  /* crate::x\n */ let c = r#\"three \"four\"\"#; let d = '\"'; let e = \"five\";\n";
    let parts = parts(source);
    let texts: Vec<_> = parts
        .texts
        .iter()
        .map(|(line, text)| (*line, text.as_str()))
        .collect();
    assert_eq!(
        texts,
        [(2, "one \" two"), (4, "three \"four\""), (4, "five")]
    );
    assert!(
        !parts.code.contains("no") && !parts.code.contains("crate::x"),
        "{}",
        parts.code
    );
    assert_eq!(parts.comments, [(1, "say \"no\"".into())]);
    assert_eq!(parts.code.lines().count(), source.lines().count());
}

#[test]
fn tests_are_left_out() {
    let code =
        "use a;\n#[cfg(test)]\nmod tests;\nfn b() {}\n#[cfg(test)]\nmod more {\n use c;\n}\n";
    assert_eq!(without_tests(code), "use a;\n\n\nfn b() {}\n");
}
