//! The words of a fixture's line.

use crate::document::{Document, End};

/// The record a line is about, as kind and id.
pub type Key = (&'static str, String);

/// The words of a line: the first says what, the second which, the others are plain or `key=value`.
pub(super) struct Words<'a> {
    line: &'a str,
    pub(super) what: &'a str,
    pub(super) name: &'a str,
    pub(super) plain: Vec<&'a str>,
    keyed: Vec<(&'a str, &'a str)>,
}

impl<'a> Words<'a> {
    pub(super) fn new(line: &'a str, words: &[&'a str]) -> Self {
        let (keyed, plain): (Vec<&str>, Vec<&str>) =
            words.iter().skip(2).partition(|word| word.contains('='));
        Self {
            line,
            what: words[0],
            name: words.get(1).copied().unwrap_or_default(),
            plain,
            keyed: keyed
                .iter()
                .filter_map(|word| word.split_once('='))
                .collect(),
        }
    }

    /// The value after `key=`.
    pub(super) fn get(&self, key: &str) -> Option<&'a str> {
        self.keyed
            .iter()
            .find(|(k, _)| *k == key)
            .map(|(_, value)| *value)
    }

    /// All `key=value` words.
    pub(super) fn keyed(&self) -> &[(&'a str, &'a str)] {
        &self.keyed
    }

    /// The number after `key=`.
    pub(super) fn number(&self, key: &str) -> Option<f64> {
        self.get(key).map(|text| self.parse(text))
    }

    /// Yes or no after `key=`.
    pub(super) fn yes_no(&self, key: &str) -> Option<bool> {
        self.get(key).map(|text| match text {
            "yes" => true,
            "no" => false,
            _ => self.wrong("yes or no comes after it"),
        })
    }

    /// The plain word at this place.
    pub(super) fn at(&self, index: usize) -> &'a str {
        self.plain
            .get(index)
            .copied()
            .unwrap_or_else(|| self.wrong("a word is missing"))
    }

    /// True if this plain word is there.
    pub(super) fn has(&self, word: &str) -> bool {
        self.plain.contains(&word)
    }

    /// The text as a number.
    pub(super) fn parse(&self, text: &str) -> f64 {
        text.parse()
            .unwrap_or_else(|_| self.wrong(&format!("{text} is not a number")))
    }

    /// The text as a number; `?` is a number that nobody gave.
    pub(super) fn maybe(&self, text: &str) -> Option<f64> {
        (text != "?").then(|| self.parse(text))
    }

    /// Where a conductor ends.
    pub(super) fn end(&self, document: &Document, text: &str) -> End {
        if text == "open" {
            End::Open
        } else if let Some(place) = text.strip_prefix('@') {
            End::Structure(place.into())
        } else if let Some((device, terminal)) = text.split_once('.') {
            End::terminal(device, terminal)
        } else if document.splices.contains_key(text) {
            End::Splice(text.into())
        } else {
            self.wrong(&format!("{text} is no end"))
        }
    }

    /// Stops the test.
    pub(super) fn wrong(&self, why: &str) -> ! {
        panic!("fixture line {:?}: {why}", self.line.trim())
    }
}
