//! Keys and labels that are not taken yet, and those that follow a first one.

use crate::document::{Document, Wire};
use crate::order::{Map, Sorted};

/// A key that is not in the map: the wish itself, or the wish with the next number.
pub(crate) fn key<K, V>(map: &Map<K, V>, wish: &str) -> K
where
    K: for<'a> From<&'a str> + Ord + std::borrow::Borrow<str>,
{
    free(wish, |text| map.contains_key(text))
}

/// A text that is not taken: the wish itself, or the wish with the next number.
pub fn text(wish: &str, is_taken: impl Fn(&str) -> bool) -> String {
    numbered(wish, is_taken)
}

/// The same, with a function that says which are used.
pub(crate) fn free<K: for<'a> From<&'a str>>(wish: &str, is_taken: impl Fn(&str) -> bool) -> K {
    numbered(wish, is_taken).as_str().into()
}

/// A text in the form of a key: small letters, digits, hyphens.
pub(crate) fn slug(text: &str) -> String {
    let mut slug = String::new();
    for c in text.chars().take(40) {
        if c.is_alphanumeric() {
            slug.extend(c.to_lowercase());
        } else if !slug.is_empty() && !slug.ends_with('-') {
            slug.push('-');
        }
    }
    match slug.trim_end_matches('-') {
        "" => "x".into(),
        slug => slug.into(),
    }
}

/// The wish if it is free, else the same with the next number: COM1 → COM2, JK → JK2.
pub(super) fn numbered(wish: &str, is_taken: impl Fn(&str) -> bool) -> String {
    if !is_taken(wish) {
        return wish.into();
    }
    let stem = wish.trim_end_matches(|c: char| c.is_ascii_digit());
    // A number too long to count on from is left unchanged.
    let (stem, first) = match wish[stem.len()..].parse::<u32>() {
        Ok(number) => (stem, number.saturating_add(1)),
        Err(_) if stem.len() == wish.len() => (stem, 2),
        Err(_) => (wish, 2),
    };
    (first..=u32::MAX)
        .map(|number| format!("{stem}{number}"))
        .find(|text| !is_taken(text))
        .unwrap_or_else(|| wish.into())
}

/// A device tag that no device has.
pub fn tag(document: &Document, wish: &str) -> String {
    let taken: Sorted<_> = document.devices.values().map(|d| d.tag.as_str()).collect();
    numbered(wish, |text| taken.contains(text))
}

/// A wire number in the form of AC 43.13-1B par 11-209 (circuit, segment letter, gauge, N for a ground wire), split
/// into its parts: "P30A18N".
struct Marked<'t> {
    circuit: &'t str,
    segment: char,
    ground: &'t str,
}

impl<'t> Marked<'t> {
    fn parse(number: &'t str) -> Option<Self> {
        let letters = number.find(|c: char| !c.is_ascii_uppercase())?;
        let digits = number[letters..].find(|c: char| !c.is_ascii_digit())?;
        let (circuit, rest) = number.split_at(letters + digits);
        let segment = rest.chars().next().filter(char::is_ascii_uppercase)?;
        let size = rest[1..].trim_start_matches(|c: char| c.is_ascii_digit());
        let is_whole = letters > 0 && digits > 0 && size.len() < rest.len() - 1;
        (is_whole && matches!(size, "" | "N")).then_some(Self {
            circuit,
            segment,
            ground: size,
        })
    }
}

/// The circuit in a wire number of the usual form: "P30" of "P30A18N".
pub(super) fn circuit(number: &str) -> Option<&str> {
    Marked::parse(number).map(|marked| marked.circuit)
}

/// The texts that go on from a first one: P1A20, P2A20, P3A20; CB5, CB6; and, if a second one says so,
/// in its steps. Without any number in it, the same again.
pub fn series(first: &str, second: Option<&str>, count: usize) -> Vec<String> {
    let Some((start, width)) = counted(first) else {
        return vec![first.to_owned(); count];
    };
    let (stem, rest) = first.split_at(start);
    let (digits, tail) = rest.split_at(width);
    let from: i64 = digits.parse().unwrap_or(0);
    let second = second.and_then(|text| text.strip_prefix(stem)?.strip_suffix(tail));
    let step = second
        .and_then(|digits| digits.parse::<i64>().ok())
        .map_or(1, |next| next - from);
    let mut next = from;
    let texts = (0..count).map(|_| {
        let number = next;
        next = next.saturating_add(step).max(0);
        format!("{stem}{number:0width$}{tail}")
    });
    texts.collect()
}

/// Where the number that counts is in a text, and its length: that of the circuit in a wire number
/// of the usual form, else the last one.
fn counted(text: &str) -> Option<(usize, usize)> {
    let of = circuit(text).unwrap_or(text);
    let end = of.rfind(|c: char| c.is_ascii_digit())? + 1;
    let digits = of[..end].bytes().rev().take_while(u8::is_ascii_digit);
    // Longer ones are no numbers to count on from.
    let width = digits.count();
    (width <= 9).then_some((end - width, width))
}

/// How far numbers are counted on to find one that is free.
const NUMBERS_TRIED: usize = 1000;

/// A number that no wire has: this one if it is given and free, else counted on from `number`, else the
/// next of W1, W2, W3.
pub(super) fn number_after(document: &Document, wish: Option<String>, number: &str) -> String {
    let taken = |number: &str| document.wires.values().any(|it| it.number == number);
    let counted = series(number, None, NUMBERS_TRIED);
    let mut wishes = wish.into_iter().chain(counted);
    let found = wishes.find(|wish| !wish.is_empty() && !taken(wish));
    found.unwrap_or_else(|| wire_number(document, None))
}

/// A number that no wire has: the next segment of the wire that this one continues, else the next of W1, W2, W3.
pub(super) fn wire_number(document: &Document, goes_on_from: Option<&Wire>) -> String {
    let numbers = || document.wires.values().map(|it| it.number.as_str());
    let beginning_with = |stem| numbers().filter(move |it| it.starts_with(stem)).collect();
    if let Some(wire) = goes_on_from {
        if let Some(mark) = Marked::parse(&wire.number) {
            let taken: Vec<_> = beginning_with(mark.circuit);
            let gauge = wire.gauge_text().replace("/0", "0");
            let next = (mark.segment..='Z')
                .skip(1)
                .map(|segment| format!("{}{segment}{gauge}{}", mark.circuit, mark.ground))
                .find(|number| !taken.contains(&number.as_str()));
            if let Some(number) = next {
                return number;
            }
        } else if !wire.number.is_empty() {
            let taken: Vec<_> = beginning_with(&wire.number);
            let mut next = ('B'..='Z').map(|segment| format!("{}{segment}", wire.number));
            if let Some(number) = next.find(|it| !taken.contains(&it.as_str())) {
                return number;
            }
        }
    }
    let last = numbers()
        .filter_map(|number| number.strip_prefix('W')?.parse::<u32>().ok())
        .max()
        .unwrap_or(0);
    numbered(&format!("W{}", last.saturating_add(1)), |wish| {
        numbers().any(|it| it == wish)
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_next_number_is_taken() {
        let taken = |text: &str| ["COM1", "COM2", "JK", "A99999999999"].contains(&text);
        assert_eq!(numbered("NAV1", taken), "NAV1");
        assert_eq!(numbered("COM1", taken), "COM3");
        assert_eq!(numbered("JK", taken), "JK2");
        assert_eq!(numbered("A99999999999", taken), "A999999999992");
    }

    #[test]
    fn slugs_are_keys() {
        assert_eq!(slug("J310/P310"), "j310-p310");
        assert_eq!(slug("  Left wing tip "), "left-wing-tip");
        assert_eq!(slug("//"), "x");
    }

    #[test]
    fn a_wire_that_goes_on_takes_the_next_segment_letter() {
        let document = crate::testing::whole();
        let number = |id: &str| wire_number(&document, Some(&document.wires[id]));
        // P6A18 is there, P6B18 as well; P6C18N is the return, so P6C18 is free.
        assert_eq!(number("w7"), "P6C18");
        assert_eq!(number("w9"), "P6D18N");
        assert_eq!(number("a10w"), "A10WB");
        assert_eq!(wire_number(&document, None), "W1");
    }

    #[test]
    fn a_series_counts_on() {
        let texts = |first, second| series(first, second, 3).join(" ");
        assert_eq!(texts("P9A20", None), "P9A20 P10A20 P11A20");
        assert_eq!(texts("P9A20N", None), "P9A20N P10A20N P11A20N");
        assert_eq!(
            texts("MBUS CB8", Some("MBUS CB10")),
            "MBUS CB8 MBUS CB10 MBUS CB12"
        );
        assert_eq!(texts("W007", None), "W007 W008 W009");
        assert_eq!(texts("red", None), "red red red");
        assert_eq!(texts("J1-5", Some("J1-4")), "J1-5 J1-4 J1-3");
    }
}
