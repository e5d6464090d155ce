//! Clamps, ties and grommets of the order list, and spare fuses.

use super::needs::{Needs, PROTECTORS, SUPPORTS, put};
use crate::{
    document::{Document, ElementKind, ProtectorStyle, rating},
    order::{Map, Sorted},
    reports::harness::{harness, place},
};

/// The longest distance between supports of a harness, m: 24 in (AC 43.13-1B par 11-96a).
const SUPPORTS_APART_M: f64 = 24.0 * 0.0254;
/// Supports further apart than this need ties between them, m: 12 in (AC 43.13-1B par 11-158b).
const TIES_APART_M: f64 = 12.0 * 0.0254;

/// What holds the harnesses, by the longest wire of each, and what protects them where they pass.
pub(super) fn supports(document: &Document, needs: &mut Needs) {
    let mut longest: Map<String, Option<f64>> = Map::new();
    let mut passes: Map<String, usize> = Map::new();
    let mut crosses: Sorted<String> = Sorted::new();
    for wire in document.wires.values() {
        let name = harness(document, wire);
        let length_m = document.wire_length_m(wire);
        let most = longest.or_default(name.clone());
        *most = most.unwrap_or(0.0).max(length_m.unwrap_or(0.0)).into();
        for via in wire.via.iter().filter_map(|id| document.places.get(id)) {
            *passes.or_default(via.title.clone()) += 1;
        }
        let [a, b] = [&wire.from, &wire.to].map(|end| place(document, end).map(|it| &it.title));
        if wire.via.is_empty() && a.is_some() && b.is_some() && a != b {
            crosses.insert(name);
        }
    }
    for length_m in longest.values().filter_map(|it| it.filter(|it| *it > 0.0)) {
        let clamps = (length_m / SUPPORTS_APART_M - 1e-9).ceil();
        let ties = (length_m / TIES_APART_M - 1e-9).ceil();
        put(needs, SUPPORTS, "cushioned clamp", clamps)
            .remark("by the longest wire of each harness, at most 24 in apart (AC 43.13-1B par 11-96a); size by the bundle");
        put(needs, SUPPORTS, "cable tie or lacing", ties).remark(
            "one every 12 in (ties where clamps are further apart: AC 43.13-1B par 11-158b; their number is common practice, no source)",
        );
    }
    for (title, wires) in &passes {
        put(needs, SUPPORTS, format!("grommet or fitting, {title}"), 1.0).remark(&format!(
            "{wires} wires pass; 3/8 in clear of the edge (AC 43.13-1B par 11-115)"
        ));
    }
    if !crosses.is_empty() {
        let harnesses = match crosses.len() {
            1 => "one harness goes".into(),
            n => format!("{n} harnesses go"),
        };
        put(needs, SUPPORTS, "grommets not drawn", 0.0).remark(&format!(
            "{harnesses} from place to place with no pass-through drawn: count at the aircraft"
        ));
    }
}

/// Spare fuses: one of each rating or half as many as fitted, whichever is more (14 CFR 23.1357(e)).
pub(super) fn spare_fuses(document: &Document, needs: &mut Needs) {
    let spares = spare_fuses_of(document);
    for (rated, (fitted, spare)) in &spares {
        put(
            needs,
            PROTECTORS,
            format!("spare fuse, {rated}"),
            *spare as f64,
        )
        .remark(&format!(
            "{fitted} fitted; 14 CFR 23.1357(e), where a fuse may be replaced in flight"
        ));
    }
}

/// Fuses by rating: how many are fitted, and how many spares to carry.
pub fn spare_fuses_of(document: &Document) -> Map<String, (usize, usize)> {
    let mut all: Map<String, (usize, usize)> = Map::new();
    let elements = document.devices.values().flat_map(|it| &it.elements);
    let fitted = elements.filter_map(|element| match &element.is {
        ElementKind::Protector(it) if it.style == ProtectorStyle::Fuse => Some(it.rating_a),
        _ => None,
    });
    let inline = document.wires.values().filter_map(|it| it.fuse.as_ref());
    for rated in fitted.chain(inline.map(|it| it.rating_a)) {
        let found = all.or_default(rating(rated));
        found.0 += 1;
        found.1 = found.0.div_ceil(2);
    }
    all
}

#[cfg(test)]
mod tests {
    use super::super::table;
    use crate::{document::Document, testing::document};

    fn line(document: &Document, item: &str) -> Option<[String; 2]> {
        let rows = table(document).rows;
        let row = rows.iter().find(|row| row[1].show() == item)?;
        Some([row[2].show(), row[8].show()])
    }

    /// 24 in between clamps (par 11-96a), ties at 12 in (par 11-158b), by the longest wire.
    #[test]
    fn clamps_ties_and_grommets_are_counted_or_said_not_to_be_drawn() {
        let mut document = document(
            "place PANEL metal
             place TAIL metal
             place FW1 composite
             ground GB1 A B at=PANEL
             ground GB2 A B at=TAIL
             wire W1 GB1.A GB2.A 22 3.0m
             wire W2 GB1.B GB2.B 22 2.0m",
        );
        assert_eq!(line(&document, "cushioned clamp").expect("it")[0], "5");
        assert_eq!(line(&document, "cable tie or lacing").expect("it")[0], "10");
        let missing = line(&document, "grommets not drawn").expect("it");
        assert_eq!(missing[0], "0");
        assert!(missing[1].starts_with("one harness goes"), "{missing:?}");
        for wire in document.wires.values_mut() {
            wire.via.push("FW1".into());
        }
        assert_eq!(line(&document, "grommets not drawn"), None);
        let fitting = line(&document, "grommet or fitting, FW1").expect("it");
        assert!(fitting[1].starts_with("2 wires"), "{fitting:?}");
    }

    /// 14 CFR 23.1357(e): one of each rating or 50 %, whichever is more.
    #[test]
    fn spare_fuses_are_ordered_by_rating() {
        let document = document(
            "battery BT1
             bus FB F1=1f F2=1f F3=1f F4=10f CB1=5
             wire W1 BT1.+ FB.STUD 22 1m fuse=1@from",
        );
        assert_eq!(line(&document, "spare fuse, 1 A").expect("it")[0], "2");
        assert_eq!(line(&document, "spare fuse, 10 A").expect("it")[0], "1");
        assert_eq!(line(&document, "spare fuse, 5 A"), None);
    }
}
