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

#[cfg(test)]
mod tests {
    use super::is_short_for;

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
}
