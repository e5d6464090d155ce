//! Which figures a rule reads, or an edit changes.

bitflags::bitflags! {
    /// Which figures a rule reads, or an edit changes, besides records and how they are joined.
    #[derive(Clone, Copy, Debug, PartialEq, Eq)]
    pub struct Reads: u8 {
        /// Lengths of wires and of routes.
        const LENGTHS = 1;
        /// Sizes, materials, insulation and fuses of wires.
        const SIZES = 1 << 1;
        /// Figures of what is inside devices.
        const RATINGS = 1 << 2;
        /// States, and all volts and amps.
        const SOLVED = 1 << 3;
        /// The routes that wires lie in.
        const ROUTES = 1 << 4;
        /// Functions of wires.
        const FUNCTIONS = 1 << 5;
    }
}

impl Reads {
    /// None: only records and how they are joined.
    pub const JOINS: Self = Self::empty();
    /// All of them.
    pub const ALL: Self = Self::all();
}
