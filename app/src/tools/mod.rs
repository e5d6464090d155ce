//! The drawing tools: pure state machines fed with plain input. No browser, no signals.

/// The five tools of the thumb rail.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum ToolKind {
    /// Select, move, operate.
    #[default]
    Select,
    /// Draw a wire.
    Wire,
    /// Add a device.
    Device,
    /// Splice into a wire.
    Splice,
    /// Make a cable of wires.
    Cable,
}

impl ToolKind {
    /// In the order of the rail.
    pub const ALL: [Self; 5] = [
        Self::Select,
        Self::Wire,
        Self::Device,
        Self::Splice,
        Self::Cable,
    ];

    /// The letter that takes this tool in hand.
    pub fn letter(self) -> char {
        match self {
            Self::Select => 's',
            Self::Wire => 'w',
            Self::Device => 'd',
            Self::Splice => 'j',
            Self::Cable => 'c',
        }
    }
}
