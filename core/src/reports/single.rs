//! Every paper but the pack, which is made of them.

use super::{
    Paper, PaperInput,
    cards::{alternator_out, low_volts, smoke, stays_live},
    connectors, cuts, grounds, jacks, labels, load_sheet, order_list, placards, power_up, progress,
    ring_out, schedule, wires,
};

/// Makes a paper.
pub type Make = fn(&PaperInput<'_>) -> Paper;

/// A paper: its name in commands, its title, and the function that makes it.
pub type Entry = (&'static str, &'static str, Make);

/// In the order shown on screen.
pub(super) const SINGLE: &[Entry] = &[
    ("wires", "Wire list", wires::paper),
    ("cuts", "Cut list and build sheet", cuts::paper),
    ("labels", "Labels", labels::paper),
    ("connectors", "Connector pages", connectors::paper),
    ("jacks", "Jack cards", jacks::paper),
    ("ring-out", "Ring-out sheet", ring_out::paper),
    ("power-up", "First power-up", power_up::paper),
    ("loads", "Load sheet and endurance", load_sheet::paper),
    ("schedule", "Breaker and fuse schedule", schedule::paper),
    ("grounds", "Ground block map", grounds::paper),
    ("order", "Order list", order_list::paper),
    ("progress", "Progress", progress::paper),
    ("placards", "Placards and panel legend", placards::paper),
    (
        "alternator-out",
        "Card: alternator out",
        alternator_out::paper,
    ),
    ("low-volts", "Card: low volts", low_volts::paper),
    ("smoke", "Card: smoke or smell of burning", smoke::paper),
    (
        "stays-live",
        "Card: what cannot be turned off",
        stays_live::paper,
    ),
];
