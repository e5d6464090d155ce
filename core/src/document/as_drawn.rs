//! The ends and values of a record that an acceptance is given for.

use super::{Document, ElementKind, ShieldEnd};
use crate::order::Map;

impl Document {
    /// The ends and values of a record, by the name of the field, in words that compare: of a wire its ends, gauge,
    /// length and fuse; of a cable the ends of its shield; of an element its rating, current or isolation. `key` is
    /// `kind:id`; of other records nothing is kept.
    pub fn as_drawn(&self, key: &str) -> Map<String, String> {
        let mut values = Map::new();
        let mut put = |field: &str, value: Option<String>| {
            values.insert(field.to_owned(), value.unwrap_or_else(|| "not set".into()));
        };
        let number = |value: Option<f64>| value.map(|it| it.to_string());
        let Some((kind, id)) = key.split_once(':') else {
            return values;
        };
        match kind {
            "wire" => {
                if let Some(wire) = self.wires.get(id) {
                    put("from", Some(wire.from.to_string()));
                    put("to", Some(wire.to.to_string()));
                    put("gauge_awg", wire.gauge_awg.map(|it| it.to_string()));
                    put("length_m", number(self.wire_length_m(wire)));
                    let fuse = wire.fuse.as_ref();
                    put(
                        "fuse_a",
                        fuse.map_or(Some("none".into()), |it| number(it.rating_a)),
                    );
                }
            }
            "cable" => {
                let shield = self.cables.get(id).and_then(|it| it.shield.as_ref());
                let at = |end: &ShieldEnd| end.at().map_or("floating".into(), ToString::to_string);
                if let Some(shield) = shield {
                    put("shield_from", Some(at(&shield.from)));
                    put("shield_to", Some(at(&shield.to)));
                }
            }
            "element" => match self.element_at(id).map(|(.., element)| &element.is) {
                Some(ElementKind::Protector(it)) => put("rating_a", number(it.rating_a)),
                Some(ElementKind::Switch(it)) => put("rating_a", number(it.rating_a)),
                Some(ElementKind::Contact(it)) => put("rating_a", number(it.rating_a)),
                Some(ElementKind::Load(it)) => {
                    put(
                        "continuous_a",
                        number(it.continuous_a.as_ref().map(|it| it.amps)),
                    );
                    put("peak_a", number(it.peak_a.as_ref().map(|it| it.amps)));
                }
                Some(ElementKind::Jack(it)) => {
                    put("isolated", it.isolated.map(|it| it.to_string()));
                }
                _ => {}
            },
            _ => {}
        }
        values
    }
}
