//! Names that people give, compared word by word: FLT DISPLAY is the flight display.

/// The words of a text in capitals, without their plural.
pub fn tokens(text: &str) -> impl Iterator<Item = String> {
    let words = text
        .split(|it: char| !it.is_alphanumeric())
        .filter(|it| !it.is_empty());
    words.map(|word| {
        let word = word.to_uppercase();
        match word.strip_suffix('S') {
            Some(one) if one.len() > 2 => one.to_owned(),
            _ => word,
        }
    })
}

/// True if a word can stand for another: the same, or its first letter and then more of its letters in order, as FLT
/// for FLIGHT. A figure at the end must be the same.
pub fn is_short_for(short: &str, word: &str) -> bool {
    let parts = |text: &'_ str| text.trim_end_matches(|it: char| it.is_ascii_digit()).len();
    let ((letters, number), (of, of_number)) =
        (short.split_at(parts(short)), word.split_at(parts(word)));
    let mut rest = of.chars();
    short.chars().next() == word.chars().next()
        && (number == of_number || number.is_empty())
        && letters.chars().all(|it| rest.any(|other| other == it))
}

/// Letters and number of the circuit in a wire number: "L2" in "L2A18", if a segment letter follows. A number that
/// is no such number, or of a cable's core ("A11-1"), names no circuit.
pub fn circuit_of(number: &str) -> Option<(&str, u32)> {
    let number = number.trim();
    let digits_at = number.find(|it: char| it.is_ascii_digit())?;
    let (letters, rest) = number.split_at(digits_at);
    let is_letters = !letters.is_empty() && letters.chars().all(|it| it.is_ascii_uppercase());
    let end = rest.find(|it: char| !it.is_ascii_digit())?;
    let segment = rest[end..].chars().next()?;
    let circuit = rest[..end].parse().ok()?;
    (is_letters && segment.is_ascii_uppercase()).then_some((letters, circuit))
}

#[cfg(test)]
mod tests {
    use super::{circuit_of, is_short_for};

    #[test]
    fn words_are_shortened_by_leaving_letters_out() {
        for (short, word) in [
            ("FLT", "FLIGHT"),
            ("LT", "LIGHT"),
            ("LDG", "LANDING"),
            ("COM1", "COM1"),
            ("BKUP", "BACKUP"),
        ] {
            assert!(is_short_for(short, word), "{short} {word}");
        }
        for (short, word) in [
            ("FLT", "FUEL"),
            ("COM2", "COM1"),
            ("MAP", "FLAP"),
            ("LIGHT", "LT"),
        ] {
            assert!(!is_short_for(short, word), "{short} {word}");
        }
    }

    #[test]
    fn a_number_names_its_circuit_before_the_segment() {
        assert_eq!(circuit_of("L2A18"), Some(("L", 2)));
        assert_eq!(circuit_of("DB12H22N"), Some(("DB", 12)));
        assert_eq!(circuit_of("A11-1"), None);
        assert_eq!(circuit_of("7"), None);
        assert_eq!(circuit_of(""), None);
    }
}
