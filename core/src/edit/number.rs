//! Wire numbers by the builder's own scheme.

use super::{Change, EditError, copy::on_copy};
use crate::order::InOrder;
use crate::{
    document::{BuildStatus, DeviceKind, Document, ElementKind, End, Wire, natural_cmp},
    ids::{DeviceId, WireId},
    order::{Map, Sorted},
};

/// Numbers planned wires by the project's scheme; wires that are cut or marked keep their numbers. Wires connected
/// end to end through splices and in-line connectors are one circuit and get consecutive letters. Returns the
/// change and how many built wires keep their numbers.
///
/// The scheme is plain text with words in braces: `{letter}` (of the number a wire has, W if it has none),
/// `{circuit}` (counted for each letter), `{segment}` (A, B, … without I and O), `{gauge}`, `{ground}` (N on a wire
/// to a ground).
///
/// # Errors
/// [`EditError::Cannot`] if the scheme is empty or gives different wires the same number.
pub fn number_wires(document: &Document) -> Result<(Change, usize), EditError> {
    let scheme = document.project.numbering.trim();
    if !scheme.contains("{circuit}") || !scheme.contains("{segment}") {
        return Err(EditError::cannot(
            "these wires would get the same number",
            "use {circuit} and {segment} in the numbering scheme",
        ));
    }
    let mut wires: Vec<(&WireId, &Wire)> = document.wires.iter().collect();
    wires.order_by(|a, b| natural_cmp(&a.1.number, &b.1.number).then_with(|| a.0.cmp(b.0)));
    let is_built = |wire: &Wire| wire.status != BuildStatus::Planned;
    let built = wires.iter().filter(|(_, wire)| is_built(wire)).count();
    let mut taken: Sorted<String> = wires
        .iter()
        .filter(|(_, wire)| is_built(wire))
        .map(|(_, wire)| wire.number.clone())
        .collect();
    let mut ends: Ends<'_> = Map::new();
    for (id, wire) in &document.wires {
        for end in [&wire.from, &wire.to] {
            ends.or_default(end).push(id);
        }
    }
    let change = on_copy(document, |copy| {
        let mut circuits: Vec<(char, u32)> = Vec::new();
        let mut done: Sorted<&WireId> = Sorted::new();
        for (id, wire) in &wires {
            if done.contains(*id) || is_built(wire) {
                continue;
            }
            let letter = wire.number.chars().next().filter(char::is_ascii_alphabetic);
            let letter = letter.unwrap_or('W').to_ascii_uppercase();
            let at = circuits.iter().position(|(it, _)| *it == letter);
            let at = at.unwrap_or_else(|| {
                circuits.push((letter, 0));
                circuits.len() - 1
            });
            circuits[at].1 += 1;
            let mut segment = 0;
            for other in circuit_of(document, &ends, id) {
                let other_wire = &document.wires[other];
                if is_built(other_wire) || !done.insert(other) {
                    continue;
                }
                let number = loop {
                    let number = filled(
                        scheme,
                        document,
                        other_wire,
                        (letter, circuits[at].1, segment),
                    );
                    segment += 1;
                    if taken.insert(number.clone()) {
                        break number;
                    }
                    // A circuit number whose letters are used by built wires stays reserved for them.
                    if segment > 500 {
                        circuits[at].1 += 1;
                        segment = 0;
                    }
                };
                if let Some(wire) = copy.wires.get_mut(other) {
                    wire.number = number;
                }
            }
        }
        Ok(())
    })?;
    Ok((change, built))
}

fn filled(
    scheme: &str,
    document: &Document,
    wire: &Wire,
    (letter, circuit, segment): (char, u32, usize),
) -> String {
    const LETTERS: &[u8] = b"ABCDEFGHJKLMNPQRSTUVWXYZ";
    let mut segments = char::from(LETTERS[segment % LETTERS.len()]).to_string();
    if segment >= LETTERS.len() {
        segments += &(segment / LETTERS.len()).to_string();
    }
    let is_block =
        |id: &DeviceId| document.devices.get(id).map(|it| it.kind) == Some(DeviceKind::GroundBlock);
    let is_ground = |end: &End| match end {
        End::Structure(_) => true,
        End::Terminal(id, _) => is_block(id),
        _ => false,
    };
    let ground = if is_ground(&wire.from) || is_ground(&wire.to) {
        "N"
    } else {
        ""
    };
    scheme
        .replace("{letter}", &letter.to_string())
        .replace("{circuit}", &circuit.to_string())
        .replace("{segment}", &segments)
        .replace("{gauge}", &wire.gauge_text())
        .replace("{ground}", ground)
}

/// The wires connected end to end with this one, through splices and in-line connectors, itself first.
fn circuit_of<'d>(document: &'d Document, ends: &Ends<'d>, first: &'d WireId) -> Vec<&'d WireId> {
    let mut found = vec![first];
    let mut seen = Sorted::from([first]);
    let mut next = 0;
    while let Some(wire) = found.get(next).and_then(|id| document.wires.get(*id)) {
        next += 1;
        for end in [&wire.from, &wire.to] {
            for end in through(document, end) {
                for &id in ends.get(&end).map_or(&[][..], Vec::as_slice) {
                    if seen.insert(id) {
                        found.push(id);
                    }
                }
            }
        }
    }
    found
}

type Ends<'d> = Map<&'d End, Vec<&'d WireId>>;

/// Where a conductor continues at an end: a splice itself, both pins of a mated pair.
fn through(document: &Document, end: &End) -> Vec<End> {
    match end {
        End::Splice(_) => vec![end.clone()],
        End::Terminal(id, pin) => {
            let device = document.devices.get(id);
            let elements = device.into_iter().flat_map(|device| &device.elements);
            let mates = elements.filter_map(|it| match &it.is {
                ElementKind::Mate(mate) if mate.a == *pin || mate.b == *pin => {
                    Some([&mate.a, &mate.b])
                }
                _ => None,
            });
            let pins = mates.flatten();
            pins.map(|pin| End::Terminal(id.clone(), pin.clone()))
                .collect()
        }
        End::Structure(_) | End::Open => Vec::new(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::document;

    #[test]
    fn what_is_built_keeps_its_number() {
        let mut document = document(
            "ground GB1 A B
             splice SP1
             load LT1 1
             load LT2 1
             wire L7 LT1.+ SP1 22 1m
             wire L8 SP1 LT2.+ 20 1m
             wire L9 LT1.- GB1.A 22 1m
             wire R1 LT2.- GB1.B 22 1m",
        );
        document.project.numbering = "{letter}{circuit}{segment}{gauge}{ground}".into();
        document.wires.get_mut("L9").expect("L9").status = BuildStatus::Marked;
        let (change, built) = number_wires(&document).expect("a scheme");
        assert_eq!(built, 1);
        change.apply(&mut document).expect("made for it");
        let number = |id: &str| document.wires[id].number.clone();
        assert_eq!(
            [number("L7"), number("L8"), number("L9"), number("R1")],
            ["L1A22", "L1B20", "L9", "R1A22N"]
        );
        document.project.numbering = "{letter}".into();
        assert!(number_wires(&document).is_err());
    }
}
