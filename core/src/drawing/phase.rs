//! The phase that a sheet is drawn in. It arrives as plain data: the drawing solves nothing.

use crate::{document::State, order::Sorted};

/// The positions of switches, contacts and breakers on a drawn sheet.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Phase {
    /// Switches and breakers. Its title is written in the title block.
    pub state: State,
    /// Coils that hold their contacts, as `DEVICE/ELEMENT`.
    pub energised: Sorted<String>,
}

impl Phase {
    /// Its name in the title block.
    pub(super) fn title(phase: Option<&Self>) -> String {
        const AT_REST: &str = "Drawn at rest";
        let Some(Self { state, energised }) = phase else {
            return AT_REST.into();
        };
        let title = state.title.trim();
        let is_at_rest =
            state.switches.is_empty() && state.pulled.is_empty() && energised.is_empty();
        match (title, is_at_rest) {
            ("", true) => AT_REST.into(),
            ("", false) => "Drawn as set by hand".into(),
            (title, _) => format!("Drawn in {title}"),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{
        document::{Document, Shown},
        drawing::{GroupKey, Scene, Shape, scene, scene_in},
        exchange,
        ids::{ItemId, SheetId, StateId},
        solve::{Figures, operate},
    };

    fn sorrel() -> Document {
        let file = include_bytes!("../../../public/samples/sorrel.json");
        exchange::open(file).expect("the sample opens").document
    }

    /// A sheet that draws the contact of K1, and the item that does.
    fn contactor(document: &Document) -> (SheetId, ItemId) {
        let shows = |shown: &Shown| match shown {
            Shown::Device {
                device, terminals, ..
            } => device.as_str() == "k1" && terminals.is_empty(),
            _ => false,
        };
        let mut all = document.sheets.iter().flat_map(|(id, sheet)| {
            let items = sheet.items.iter();
            items.map(move |(item, record)| (id.clone(), item.clone(), record))
        });
        let found = all.find(|(.., record)| shows(&record.shows));
        let (sheet, item, _) = found.expect("K1 is drawn whole");
        (sheet, item)
    }

    /// True if a blade is level between the leads of a contact.
    fn is_closed(scene: &Scene, item: &ItemId) -> bool {
        let group = &scene.groups[&GroupKey::Item(item.clone())];
        group.shapes.iter().any(|shape| match shape {
            Shape::Line { points, .. } => {
                points.len() == 2
                    && (points[0].y - points[1].y).abs() < 1e-9
                    && (points[0].distance(points[1]) - 4.8).abs() < 1e-9
            }
            _ => false,
        })
    }

    fn texts(scene: &Scene) -> Vec<&str> {
        let shapes = scene.groups[&GroupKey::Frame].shapes.iter();
        let texts = shapes.filter_map(|shape| match shape {
            Shape::Text { text, .. } => Some(text.as_str()),
            _ => None,
        });
        texts.collect()
    }

    #[test]
    fn a_contactor_is_closed_in_cruise_and_open_at_rest() {
        let document = sorrel();
        let (sheet, item) = contactor(&document);
        let at_rest = scene(&document, &sheet);
        assert!(!is_closed(&at_rest, &item));
        assert!(texts(&at_rest).contains(&"Drawn at rest"));

        let id = StateId::new("cruise");
        let state = document.states[&id].clone();
        let solved = operate(&document, &id, &state, Figures::Continuous);
        let energised = solved.energised_coils();
        assert!(energised.contains("k1/coil"), "{energised:?}");
        let title = format!("Drawn in {}", state.title);
        let phase = Phase { state, energised };
        let in_cruise = scene_in(&document, &sheet, Some(&phase));
        assert!(is_closed(&in_cruise, &item));
        assert!(texts(&in_cruise).contains(&title.as_str()));
    }

    #[test]
    fn every_printed_sheet_says_in_which_phase_it_is_drawn() {
        let document = sorrel();
        for id in document.sheets.keys() {
            assert!(
                crate::drawing::printed(&document, id).contains("Drawn at rest"),
                "{id}"
            );
        }
    }
}
