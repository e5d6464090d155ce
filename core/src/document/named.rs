//! From the label of a point back to the point.

use super::{Document, End, folded};
use crate::order::InOrder;

/// Names that mean "no point".
const NOT_WIRED: [&str; 4] = ["", "open", "not wired yet", "–"];

/// Every point where a wire can end, by its label. A connector and pin, or a device and function,
/// also work where they name only one point.
#[derive(Clone, Debug)]
pub struct EndNames {
    labels: Vec<(String, End)>,
    short: Vec<(String, End)>,
}

/// A text that does not name a point.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NoSuchEnd {
    /// No point has this name.
    #[error("no pin, splice or place is named \"{0}\"; write it like COM1 J105-1")]
    Unknown(String),
    /// More than one point has this name.
    #[error("\"{0}\" names more than one point; write device, connector and pin")]
    Ambiguous(String),
}

impl EndNames {
    /// The names of a document's points.
    pub fn new(document: &Document) -> Self {
        let (mut labels, mut short) = (Vec::new(), Vec::new());
        for (id, device) in &document.devices {
            for terminal in &device.terminals {
                let end = End::Terminal(id.clone(), terminal.id.clone());
                labels.push((plain(&device.terminal_label(terminal)), end.clone()));
                if let Some(connector) = device.connector_of(terminal) {
                    let pin = format!("{} {}", connector.label, terminal.label);
                    short.push((plain(&pin), end.clone()));
                    let whole = format!("{} {pin}", device.tag);
                    short.push((plain(&whole), end.clone()));
                }
                if !terminal.name.is_empty() {
                    let by_function = format!("{} {}", device.tag, terminal.name);
                    short.push((plain(&by_function), end.clone()));
                }
            }
        }
        for (id, splice) in &document.splices {
            labels.push((plain(&splice.label), End::Splice(id.clone())));
        }
        for id in document.places.keys() {
            let end = End::Structure(id.clone());
            labels.push((plain(&document.end_label(&end)), end.clone()));
            let title = &document.places[id].title;
            // As lists of earlier programs write it.
            short.push((plain(&format!("structure, {title}")), end.clone()));
            short.push((plain(title), end));
        }
        for names in [&mut labels, &mut short] {
            names.order();
            names.dedup();
        }
        Self { labels, short }
    }

    /// The point with this name; [`End::Open`] for an empty name.
    ///
    /// # Errors
    /// [`NoSuchEnd`] if no point has this name, or more than one.
    pub fn find(&self, text: &str) -> Result<End, NoSuchEnd> {
        let text = text.trim();
        if NOT_WIRED.contains(&folded(text).as_str()) {
            return Ok(End::Open);
        }
        let wanted = plain(text);
        for names in [&self.labels, &self.short] {
            let from = names.partition_point(|(name, _)| *name < wanted);
            let found = names[from..].iter().take_while(|(name, _)| *name == wanted);
            let found: Vec<&End> = found.map(|(_, end)| end).collect();
            match found.as_slice() {
                [] => {}
                [end] => return Ok((*end).clone()),
                _ => return Err(NoSuchEnd::Ambiguous(text.into())),
            }
        }
        Err(NoSuchEnd::Unknown(text.into()))
    }
}

/// A name in lower case, with one space for any separator: COM1 J105-1, com1/j105.1. A sign at the
/// end is part of the name: BT1 + and BT1 - are two studs.
fn plain(name: &str) -> String {
    let name = folded(name.trim());
    let (name, sign) = match name.strip_suffix(['+', '-', '–', '−']) {
        Some(rest) if name.ends_with('+') => (rest, " +"),
        Some(rest) => (rest, " -"),
        None => (name.as_str(), ""),
    };
    let parts_words = |c: char| c.is_whitespace() || "-/.:,;_".contains(c);
    let words = name.split(parts_words).filter(|word| !word.is_empty());
    words.collect::<Vec<_>>().join(" ") + sign
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::whole;

    #[test]
    fn every_label_leads_back_to_its_point() {
        let document = whole();
        let names = EndNames::new(&document);
        for wire in document.wires.values() {
            for end in [&wire.from, &wire.to] {
                let label = document.end_label(end);
                assert_eq!(names.find(&label).as_ref(), Ok(end), "{label}");
                let earlier = label.replace("airframe, ", "structure, ");
                assert_eq!(names.find(&earlier).as_ref(), Ok(end), "{earlier}");
            }
        }
    }

    #[test]
    fn separators_and_case_do_not_matter_and_signs_do() {
        let document = whole();
        let names = EndNames::new(&document);
        let pin = names.find("COM1 J105-1");
        assert!(matches!(pin, Ok(End::Terminal(..))));
        for text in ["com1 j105 1", "COM1/J105.1", " COM1-J105-1 ", "J105-1"] {
            assert_eq!(names.find(text), pin, "{text}");
        }
        assert_ne!(names.find("BT1 +"), names.find("BT1 -"));
        assert_eq!(names.find("BT1+"), names.find("BT1 +"));
        assert_eq!(names.find(""), Ok(End::Open));
    }

    #[test]
    fn what_nothing_or_two_things_are_called_is_said() {
        let mut document = whole();
        let unknown = EndNames::new(&document).find("XYZ 1");
        assert_eq!(unknown, Err(NoSuchEnd::Unknown("XYZ 1".into())));
        let twin = document.devices["com1"].clone();
        document.devices.insert("com9".into(), twin);
        let twice = EndNames::new(&document).find("COM1 J105-1");
        assert_eq!(twice, Err(NoSuchEnd::Ambiguous("COM1 J105-1".into())));
    }
}
