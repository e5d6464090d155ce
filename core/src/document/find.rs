//! Search by anything a person remembers: a tag, a number, a function, a pin.

use super::{Document, folded, natural_cmp};
use crate::order;

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
    order::sort_by(&mut found, |(fit_a, a), (fit_b, b)| {
        let by_fit = fit_a.cmp(fit_b);
        by_fit.then_with(|| natural_cmp(&a.label, &b.label))
    });
    found.truncate(most);
    found.into_iter().map(|(_, found)| found).collect()
}

/// Calls `tell` with everything that can be found.
fn each(document: &Document, tell: &mut dyn FnMut(Found)) {
    let mut say = |kind: &'static str, id: &str, label: &str, about: String| {
        tell(Found {
            kind,
            id: id.to_owned(),
            label: label.to_owned(),
            about,
        });
    };
    for (id, device) in &document.devices {
        let place = device.place.as_ref().and_then(|id| document.places.get(id));
        let place = place.map_or("", |place| place.title.as_str());
        let about = joined([&device.title, place, &device.note]);
        say("device", id.as_str(), &device.tag, about);
        for terminal in device.terminals.iter().filter(|it| !it.name.is_empty()) {
            let label = device.terminal_label(terminal);
            say("device", id.as_str(), &label, terminal.name.clone());
        }
        let own_name = |label: &str| !label.is_empty() && label != device.tag;
        for element in device.elements.iter().filter(|it| own_name(&it.label)) {
            let label = device.element_label(element);
            say("device", id.as_str(), &label, device.title.clone());
        }
    }
    for (id, wire) in &document.wires {
        let ends = [&wire.from, &wire.to].map(|end| document.end_label(end));
        let about = joined([&wire.function, &ends[0], &ends[1], &wire.colour, &wire.note]);
        say("wire", id.as_str(), &document.wire_label(id), about);
    }
    for (id, cable) in &document.cables {
        say("cable", id.as_str(), &cable.label, cable.note.clone());
    }
    for (id, splice) in &document.splices {
        say("splice", id.as_str(), &splice.label, String::new());
    }
    for (id, place) in &document.places {
        say("place", id.as_str(), &place.title, String::new());
    }
    for (id, sheet) in &document.sheets {
        let number = format!("{}", sheet.number);
        say("sheet", id.as_str(), &sheet.title, number);
    }
}

fn joined<const N: usize>(texts: [&str; N]) -> String {
    let texts: Vec<&str> = texts.into_iter().filter(|text| !text.is_empty()).collect();
    texts.join(", ")
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
