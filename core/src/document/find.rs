//! Search by anything a person remembers: a tag, a number, a function, a pin.

use super::{Document, folded, natural_cmp};
use crate::order::InOrder;

/// A search result.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Found {
    /// Kind of the record, as in files: "wire", "device".
    pub kind: &'static str,
    /// Key of the record.
    pub id: String,
    /// Its label; a pin is named with its device.
    pub label: String,
    /// Its title or function.
    pub about: String,
}

/// How well a record matches the search; the best first.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Fit {
    /// Its name is the text.
    Whole,
    /// Its name begins with the text.
    Begins,
    /// Its name contains the text.
    Holds,
    /// Its description contains the text.
    About,
}

/// Records that match every word of the text, the best first, at most `most` of them.
pub fn find(document: &Document, text: &str, most: usize) -> Vec<Found> {
    let wanted = folded(text.trim());
    let words: Vec<&str> = wanted.split_whitespace().collect();
    if words.is_empty() {
        return Vec::new();
    }
    let mut found: Vec<(Fit, Found)> = Vec::new();
    each(document, &mut |thing| {
        let (label, about) = (folded(&thing.label), folded(&thing.about));
        let in_label = words.iter().all(|word| label.contains(word));
        let fit = match () {
            () if label == wanted => Fit::Whole,
            () if label.starts_with(&wanted) => Fit::Begins,
            () if in_label => Fit::Holds,
            () => Fit::About,
        };
        let everywhere = |word: &&str| label.contains(*word) || about.contains(*word);
        if fit != Fit::About || words.iter().all(everywhere) {
            found.push((fit, thing));
        }
    });
    found.order_by(|(fit_a, a), (fit_b, b)| {
        let by_fit = fit_a.cmp(fit_b);
        by_fit.then_with(|| natural_cmp(&a.label, &b.label))
    });
    found.truncate(most);
    found.into_iter().map(|(_, found)| found).collect()
}

/// Calls `tell` with everything that can be found.
fn each(document: &Document, tell: &mut dyn FnMut(Found)) {
    document.each(&mut |[kind, _], id, record| {
        record.kind().search(document, &mut |label, about| {
            tell(Found {
                kind,
                id: id.to_owned(),
                label: label.to_owned(),
                about,
            });
        });
    });
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::whole;

    fn labels(text: &str) -> Vec<String> {
        let found = find(&whole(), text, 20);
        found.into_iter().map(|found| found.label).collect()
    }

    #[test]
    fn a_tag_a_number_and_a_pin_are_found_first() {
        assert_eq!(labels("com1")[0], "COM1");
        assert_eq!(labels("P1A2")[0], "P1A2");
        assert_eq!(labels("com1 j105-1")[0], "COM1 J105-1");
    }

    #[test]
    fn a_function_is_found_and_every_word_must_fit() {
        assert!(labels("battery feed").contains(&"P1A2".to_string()));
        assert!(labels("battery nonsense").is_empty());
        assert!(labels("  ").is_empty());
    }

    #[test]
    fn no_more_than_wanted_are_given() {
        assert_eq!(find(&whole(), "p", 3).len(), 3);
    }
}
