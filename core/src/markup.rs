//! Escapes text for HTML and SVG.

use std::borrow::Cow;

/// Replaces a hidden character.
const SEEN: char = '\u{fffd}';

/// True for invisible characters that change how a text reads: those that change the direction of writing (Unicode
/// Annex 9) and those without width. The joiners that some scripts need are not among them.
pub fn is_hidden(c: char) -> bool {
    matches!(
        c,
        '\u{ad}'
            | '\u{61c}'
            | '\u{115f}'
            | '\u{1160}'
            | '\u{180e}'
            | '\u{200b}'
            | '\u{200e}'
            | '\u{200f}'
            | '\u{202a}'..='\u{202e}'
            | '\u{2060}'..='\u{206f}'
            | '\u{3164}'
            | '\u{feff}'
            | '\u{e0000}'..='\u{e007f}'
    )
}

/// True if any character of a text is hidden. ASCII text is recognized by its bytes.
pub fn has_hidden(text: &str) -> bool {
    !text.is_ascii() && text.chars().any(is_hidden)
}

/// A text with a sign in place of each hidden character.
pub fn seen(text: &str) -> Cow<'_, str> {
    if !has_hidden(text) {
        return Cow::Borrowed(text);
    }
    let seen = text.chars().map(|c| if is_hidden(c) { SEEN } else { c });
    Cow::Owned(seen.collect())
}

/// A key as the value of an attribute, from which it is read again as it is.
pub fn attribute(key: &str) -> String {
    let mut out = String::with_capacity(key.len());
    for c in key.chars() {
        match c {
            '&' | '<' | '>' | '"' | '\'' | '\n' | '\t' | '\r' => {
                out.push_str(&format!("&#{};", u32::from(c)));
            }
            c => out.push(c),
        }
    }
    out
}

/// Text made harmless in markup: the five special characters as entities, characters that XML
/// does not allow left out, hidden ones shown as a sign.
pub fn escape(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            '\n' | '\t' | '\r' => out.push(' '),
            c if c.is_control() || c == '\u{fffe}' || c == '\u{ffff}' => {}
            c if is_hidden(c) => out.push(SEEN),
            c => out.push(c),
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_attribute_cannot_be_left_and_keeps_its_key() {
        let told = attribute("a\" onload='x'<b>&\n\u{202e}ä");
        assert_eq!(
            told,
            "a&#34; onload=&#39;x&#39;&#60;b&#62;&#38;&#10;\u{202e}ä"
        );
    }
}
