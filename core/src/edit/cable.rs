//! Cables: wires that are given one jacket.

use super::{Change, EditError, copy::on_copy, free};
use crate::{
    document::{Cable, Document, Wire},
    ids::{CableId, WireId},
};

/// Puts wires in a new cable. Cores that run in the other direction than the first are reversed, so that the
/// cable's ends are the ends of its cores. An empty label becomes the next free one.
pub fn make_cable(document: &Document, cable: Cable) -> Result<Change, EditError> {
    if cable.wires.is_empty() {
        return Err(EditError::cannot(
            "a cable needs at least one wire",
            "select its wires first",
        ));
    }
    for wire in &cable.wires {
        if let Some((_, other)) = cable_of(document, wire) {
            return Err(EditError::cannot(
                format!(
                    "{} is already in cable {}",
                    document.wire_label(wire),
                    other.label
                ),
                "remove it from that cable first",
            ));
        }
    }
    on_copy(document, |copy| {
        let mut cable = cable;
        if cable.label.is_empty() {
            let taken = |text: &str| copy.cables.values().any(|cable| cable.label == text);
            cable.label = free::numbered("C1", taken);
        }
        let first = cable
            .wires
            .first()
            .and_then(|id| copy.wires.get(id))
            .cloned();
        for id in &cable.wires {
            let wire = copy.wires.get_mut(id);
            let wire = wire.ok_or_else(|| EditError::not_there("wire", id))?;
            if first
                .as_ref()
                .is_some_and(|first| runs_against(first, wire))
            {
                turn(wire);
            }
        }
        copy.cables.insert(free::key(&copy.cables, "c1"), cable);
        Ok(())
    })
}

/// Takes the jacket off: the cable goes, its wires stay.
pub fn remove_cable(document: &Document, id: &CableId) -> Result<Change, EditError> {
    super::delete(document, &[super::Key::Cable(id.clone())])
}

/// The cable of a wire.
pub fn cable_of<'d>(document: &'d Document, wire: &WireId) -> Option<(&'d CableId, &'d Cable)> {
    (document.cables.iter()).find(|(_, cable)| cable.wires.contains(wire))
}

fn runs_against(first: &Wire, wire: &Wire) -> bool {
    let devices = |wire: &Wire| (wire.from.device().cloned(), wire.to.device().cloned());
    let ((from, to), (other_from, other_to)) = (devices(first), devices(wire));
    from != to && from == other_to && to == other_from
}

fn turn(wire: &mut Wire) {
    std::mem::swap(&mut wire.from, &mut wire.to);
    wire.route.reverse();
    wire.via.reverse();
    if let Some(fuse) = &mut wire.fuse {
        fuse.at = fuse.at.other();
    }
}
