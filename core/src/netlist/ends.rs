//! Conductor ends, found from the records only: the part of building a graph that another thread
//! can do at the same time.

use rustc_hash::FxHashMap;

use super::inside::find_from;
use crate::{
    document::{Cable, Document, End, Wire},
    ids::DeviceId,
};

/// A terminal that a record lists.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Listed {
    /// Its device, by record order.
    pub(super) device: u32,
    /// Its index in the device's list.
    pub(super) terminal: u32,
}

/// The conductor ends of a document.
#[derive(Debug)]
pub struct Ends {
    /// By wire, in record order: its two ends, where they are listed terminals.
    pub(super) wires: Vec<[Option<Listed>; 2]>,
    /// By cable, in record order: the length of its longest core, m, if it has a shield.
    pub(super) longest_core_m: Vec<Option<f64>>,
}

impl Ends {
    /// Finds them.
    pub fn of(document: &Document) -> Self {
        // Holds the ids themselves: those in the records are too far apart in memory to compare
        // quickly.
        let devices: FxHashMap<DeviceId, u32> = document.devices.keys().cloned().zip(0..).collect();
        let all: Vec<_> = document.devices.values().collect();
        // By device, where to look first: wires usually use one terminal after another.
        let mut next = vec![0; all.len()];
        let mut listed = |end: &End| {
            let End::Terminal(device, terminal) = end else {
                return None;
            };
            let device = *devices.get(device)?;
            let (terminals, next) = (&all[device as usize].terminals, &mut next[device as usize]);
            let at = find_from(*next, terminals.len(), |at| terminals[at].id == *terminal)?;
            *next = at + 1;
            Some(Listed {
                device,
                terminal: at as u32,
            })
        };
        let ends = |wire: &Wire| [&wire.from, &wire.to].map(&mut listed);
        let shielded = |cable: &Cable| match cable.shield {
            Some(_) => longest_core_m(document, cable),
            None => None,
        };
        Self {
            wires: document.wires.values().map(ends).collect(),
            longest_core_m: document.cables.values().map(shielded).collect(),
        }
    }
}

pub(super) fn longest_core_m(document: &Document, cable: &Cable) -> Option<f64> {
    let cores = cable.wires.iter().filter_map(|id| document.wires.get(id));
    cores
        .filter_map(|wire| document.wire_length_m(wire))
        .reduce(f64::max)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::document;

    #[test]
    fn terminals_are_found_in_whatever_order_wires_name_them() {
        let document = document(
            "unit X 1 2 3
             splice SP1
             wire A X.3 X.1
             wire B X.2 X.3
             wire C X.1 SP1
             wire D X.2 Y.1",
        );
        let ends = Ends::of(&document);
        let places = ends.wires.iter().map(|ends| {
            let place = |end: &Option<Listed>| end.map(|at| (at.device, at.terminal));
            [place(&ends[0]), place(&ends[1])]
        });
        let [one, two, three] = [0, 1, 2].map(|terminal| Some((0, terminal)));
        let wanted = [[three, one], [two, three], [one, None], [two, None]];
        assert_eq!(places.collect::<Vec<_>>(), wanted);
    }
}
