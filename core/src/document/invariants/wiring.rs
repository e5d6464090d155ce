//! Wires, cables, splices, places and routes.

use super::{Check, FieldPath};
use crate::order::Map;
use crate::{
    document::{Cable, End, Place, Route, ShieldEnd, Splice, Wire, parts::Bound},
    ids::{CableId, PlaceId, RouteId, SpliceId, WireId},
    units::Gauge,
};

/// Thickest and thinnest conductor that a wire may have: 4/0 and AWG 40.
const GAUGES: std::ops::RangeInclusive<i8> = -3..=40;

impl Check<'_> {
    pub(super) fn wire(&mut self, at: &FieldPath, _: &WireId, wire: &Wire) {
        self.text(at, "number", &wire.number);
        self.text(at, "colour", &wire.colour);
        self.text(at, "function", &wire.function);
        self.text(at, "note", &wire.note);
        self.end(&at.field("from"), &wire.from);
        self.end(&at.field("to"), &wire.to);
        if wire.from == wire.to && wire.from != End::Open {
            self.say(
                &at.field("to"),
                "both ends are at the same point, expected two points",
            );
        }
        self.gauge(at, "gauge_awg", wire.gauge_awg);
        self.number(at, "insulation_c", wire.insulation_c, Bound::Finite);
        self.number(at, "length_m", wire.length_m, Bound::Positive);
        if let Some(fuse) = &wire.fuse {
            let rating = Some(fuse.rating_a);
            self.number(&at.field("fuse"), "rating_a", rating, Bound::Positive);
        }
        let routes = at.field("route");
        for (index, id) in wire.route.iter().enumerate() {
            let exists = self.document.routes.contains_key(id);
            self.mention(&routes.index(index), "route", id.as_str(), exists);
        }
        let via = at.field("via");
        for (index, id) in wire.via.iter().enumerate() {
            self.place_mention(&via.index(index), id);
        }
    }

    pub(super) fn gauge(&mut self, at: &FieldPath, field: &str, gauge: Gauge) {
        if !GAUGES.contains(&gauge.0) {
            self.say(
                &at.field(field),
                format!("found {}, expected AWG 40 to -3 (-3 is 4/0)", gauge.0),
            );
        }
    }

    pub(super) fn cable(&mut self, at: &FieldPath, _: &CableId, cable: &Cable) {
        self.text(at, "label", &cable.label);
        self.text(at, "note", &cable.note);
        self.number(at, "impedance_ohm", cable.impedance_ohm, Bound::Positive);
        let wires = at.field("wires");
        if cable.wires.is_empty() {
            self.say(&wires, "expected at least one wire");
        }
        for (index, id) in cable.wires.iter().enumerate() {
            let exists = self.document.wires.contains_key(id);
            self.mention(&wires.index(index), "wire", id.as_str(), exists);
        }
        if let Some(shield) = &cable.shield {
            let at = at.field("shield");
            if let Some(gauge) = shield.gauge_awg {
                self.gauge(&at, "gauge_awg", gauge);
            }
            self.shield_end(&at.field("from"), &shield.from);
            self.shield_end(&at.field("to"), &shield.to);
        }
    }

    fn shield_end(&mut self, at: &FieldPath, end: &ShieldEnd) {
        let (word, place, pigtail_mm) = match end {
            ShieldEnd::Tied { at, pigtail_mm, .. } => ("tied", at, *pigtail_mm),
            ShieldEnd::Carried { at, .. } => ("carried", at, None),
            ShieldEnd::Floating => return,
        };
        let at = at.field(word);
        self.number(&at, "pigtail_mm", pigtail_mm, Bound::NotNegative);
        self.end(&at.field("at"), place);
        if *place == End::Open {
            self.say(
                &at.field("at"),
                "found \"open\", expected a terminal, splice or structure; a cut-back shield is \
                 \"floating\"",
            );
        }
    }

    /// A wire is in at most one cable, and only once.
    pub(super) fn cables_share_no_wire(&mut self) {
        let mut held_by = Map::new();
        let cables = FieldPath::TOP.field("cables");
        for (id, cable) in &self.document.cables {
            let at = cables.field(id.as_str());
            let wires = at.field("wires");
            for (index, wire) in cable.wires.iter().enumerate() {
                if let Some(other) = held_by.insert(wire, id) {
                    self.say(
                        &wires.index(index),
                        format!("wire \"{wire}\" is already in cable \"{other}\""),
                    );
                }
            }
        }
    }

    pub(super) fn splice(&mut self, at: &FieldPath, _: &SpliceId, splice: &Splice) {
        self.text(at, "label", &splice.label);
        self.number(at, "ohm", splice.ohm, Bound::NotNegative);
        if let Some(place) = &splice.place {
            self.place_mention(&at.field("place"), place);
        }
    }

    pub(super) fn place(&mut self, at: &FieldPath, id: &PlaceId, place: &Place) {
        self.text(at, "title", &place.title);
        self.number(at, "bond_ohm", place.bond_ohm, Bound::NotNegative);
        if let Some(other) = &place.bonded_to {
            let at = at.field("bonded_to");
            self.place_mention(&at, other);
            if other == id {
                self.say(&at, "is bonded to itself, expected another place");
            }
        }
    }

    pub(super) fn route(&mut self, at: &FieldPath, _: &RouteId, route: &Route) {
        self.text(at, "title", &route.title);
        self.place_mention(&at.field("from"), &route.from);
        self.place_mention(&at.field("to"), &route.to);
        self.number(at, "length_m", Some(route.length_m), Bound::Positive);
    }
}
