//! A wire cut in two at a new splice.

use super::{
    Change, EditError,
    copy::on_copy,
    free,
    sheets::{SheetPoint, put_item},
};
use crate::{
    document::{BuildStatus, Document, End, Extra, Shown, Splice, Wire, WireEnd},
    ids::{RouteId, SpliceId, WireId},
};

/// Cuts a wire at `share` of its length from its `from` end (0 to 1) and connects both halves in a new splice,
/// shown at `spot` if one is given. The first half keeps the key, the number and the cable; the second gets the
/// next segment letter. Both are planned again, because they must be terminated again.
pub fn splice_into(
    document: &Document,
    id: &WireId,
    share: f64,
    spot: Option<&SheetPoint>,
) -> Result<Change, EditError> {
    let wire = document.wires.get(id);
    let wire = wire.ok_or_else(|| EditError::not_there("wire", id))?;
    // A share that is not a number, or would leave a half without length, becomes the nearest valid one.
    let share = if share.is_finite() {
        share.clamp(0.01, 0.99)
    } else {
        0.5
    };
    on_copy(document, |copy| {
        let labels: Vec<_> = copy.splices.values().map(|s| s.label.clone()).collect();
        let label = free::numbered("SP1", |text| labels.iter().any(|label| label == text));
        let splice: SpliceId = free::key(&copy.splices, "sp1");
        copy.splices.insert(
            splice.clone(),
            Splice {
                label,
                place: place_of(document, &wire.from),
                ohm: None,
                extra: Extra::new(),
            },
        );
        let (first, second) = halves(document, wire, share, &splice);
        copy.wires.insert(id.clone(), first);
        copy.wires.insert(free::key(&copy.wires, "w1"), second);
        match spot {
            Some(spot) => put_item(copy, spot, Shown::Splice(splice)),
            None => Ok(()),
        }
    })
}

fn place_of(document: &Document, end: &End) -> Option<crate::ids::PlaceId> {
    match end {
        End::Terminal(device, _) => document.devices.get(device)?.place.clone(),
        End::Splice(id) => document.splices.get(id)?.place.clone(),
        End::Structure(id) => Some(id.clone()),
        End::Open => None,
    }
}

fn halves(document: &Document, wire: &Wire, share: f64, splice: &SpliceId) -> (Wire, Wire) {
    let (mut first, mut second) = (wire.clone(), wire.clone());
    first.to = End::Splice(splice.clone());
    second.from = End::Splice(splice.clone());
    second.number = free::wire_number(document, Some(wire));
    match &wire.fuse {
        Some(fuse) if fuse.at == WireEnd::From => second.fuse = None,
        _ => first.fuse = None,
    }
    let routed = |routes: &[RouteId]| -> f64 {
        let found = routes.iter().filter_map(|id| document.routes.get(id));
        // A route without a length weighs nothing where its routes are shared out.
        found.filter_map(|route| route.length_m).sum()
    };
    let length_m = document.wire_length_m(wire);
    // To the millimeter, and no half without length.
    let to_mm = |length_m: f64| ((length_m * 1000.0).round() / 1000.0).max(0.001);
    first.length_m = length_m.map(|length| to_mm(length * share));
    second.length_m = length_m.map(|length| to_mm(length * (1.0 - share)));
    // Each piece of route goes with the half that has more of it.
    let cut_m = routed(&wire.route) * share;
    let n_first = (0..wire.route.len())
        .take_while(|&n| {
            let (before, through) = (routed(&wire.route[..n]), routed(&wire.route[..=n]));
            f64::midpoint(before, through) < cut_m
        })
        .count();
    first.route.truncate(n_first);
    second.route.drain(..n_first);
    for half in [&mut first, &mut second] {
        half.origins.set("length_m", None);
        half.status = BuildStatus::Planned;
    }
    (first, second)
}
