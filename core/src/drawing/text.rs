//! How much room a text takes. The reader's own face without serifs is used, so widths are those of a wide common one:
//! DejaVu Sans, measured from the advances in its font file. In a narrower face every text has room to spare.

use super::geometry::{Point, Rect};

/// Which part of a text is at its point.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Anchor {
    /// Its beginning.
    Start,
    /// Its middle.
    Middle,
    /// Its end.
    End,
}

/// Smallest type on a sheet, mm.
pub const SMALL_MM: f64 = 2.2;
/// Names and labels, mm.
pub const PLAIN_MM: f64 = 2.4;
/// Tags, mm.
pub const TAG_MM: f64 = 3.0;

/// A rating as it is written next to a symbol: "7.5 A", "? A" if it is not set.
pub fn amps(rating_a: Option<f64>) -> String {
    rating_a.map_or("? A".into(), |a| format!("{a} A"))
}

/// Width of a line of text, mm.
pub fn width(text: &str, size_mm: f64, bold: bool) -> f64 {
    let ems: f64 = text
        .chars()
        .map(|c| match c {
            'i' | 'j' | 'l' | 'I' | 'J' | '\'' => 0.3,
            ' ' | '|' | '.' | ',' | ':' | ';' | '/' | '-' | '\u{b7}' => 0.34,
            'f' | 't' | 'r' | '(' | ')' | '[' | ']' | '!' => 0.41,
            'm' | 'W' | '%' | '@' | '\u{2192}' | '\u{2190}' => 1.0,
            'M' | 'w' | '+' | '=' | '<' | '>' | '#' | '~' => 0.86,
            'C' | 'D' | 'G' | 'H' | 'N' | 'O' | 'Q' | 'U' | '&' => 0.76,
            'A'..='Z' => 0.68,
            c if c.is_ascii() => 0.63,
            c if (c as u32) < 0x2000 => 0.8,
            _ => 1.0,
        })
        .sum();
    ems * size_mm * if bold { 1.11 } else { 1.0 }
}

/// Box around a line of text.
pub fn bounds(
    at: Point,
    text: &str,
    size_mm: f64,
    anchor: Anchor,
    bold: bool,
    upward: bool,
) -> Rect {
    bounds_of(at, width(text, size_mm, bold), size_mm, anchor, upward)
}

/// Box around a line of text so long.
pub fn bounds_of(at: Point, long: f64, size_mm: f64, anchor: Anchor, upward: bool) -> Rect {
    let before = match anchor {
        Anchor::Start => 0.0,
        Anchor::Middle => long / 2.0,
        Anchor::End => long,
    };
    let (rise, fall) = (size_mm * 0.75, size_mm * 0.22);
    if upward {
        Rect::new(at.x - rise, at.y + before - long, rise + fall, long)
    } else {
        Rect::new(at.x - before, at.y - rise, long, rise + fall)
    }
}

/// The text cut to a width, with an ellipsis if anything is cut.
pub fn fit(text: &str, size_mm: f64, bold: bool, room_mm: f64) -> String {
    if width(text, size_mm, bold) <= room_mm {
        return text.to_owned();
    }
    let mut cut = String::new();
    for c in text.chars() {
        cut.push(c);
        if width(&cut, size_mm, bold) + size_mm > room_mm {
            cut.pop();
            break;
        }
    }
    format!("{}\u{2026}", cut.trim_end())
}

#[cfg(test)]
mod tests {
    #[test]
    fn a_rating_that_nobody_gave_is_drawn_as_a_question() {
        assert_eq!(super::amps(Some(7.5)), "7.5 A");
        assert_eq!(super::amps(None), "? A");
    }
}
