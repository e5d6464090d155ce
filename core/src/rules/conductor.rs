//! What wires, mated pins and splices connect end to end: the conductor that a signal runs on, without
//! anything that a device connects inside.

use crate::{
    document::{Role, Terminal},
    ids::{DeviceId, WireId},
};

/// Terminals and wires that are one conductor.
#[derive(Debug, Default)]
pub struct Conductor<'d> {
    /// Terminals with a role of their own; pins of in-line connectors, switches and the like have none.
    pub ends: Vec<(&'d DeviceId, &'d Terminal)>,
    /// Terminals without one.
    pub passive: Vec<(&'d DeviceId, &'d Terminal)>,
    /// The wires, by id.
    pub wires: Vec<&'d WireId>,
}

impl<'d> Conductor<'d> {
    /// Terminals with this role.
    pub fn with(&self, role: Role) -> impl Iterator<Item = (&'d DeviceId, &'d Terminal)> {
        self.ends
            .iter()
            .copied()
            .filter(move |(_, terminal)| terminal.role == role)
    }

    /// True if some terminal has this role.
    pub fn has(&self, role: Role) -> bool {
        self.with(role).next().is_some()
    }
}

/// Conductors, and by node of the circuit which one it belongs to.
pub(super) type Conductors<'d> = (Vec<Conductor<'d>>, Vec<Option<u32>>);
