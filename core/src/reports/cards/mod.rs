//! Cards for what fails in flight, one a file: each as a page with tags and figures, and as a card to cut out with the
//! words of the panel.

pub mod alternator_out;
pub mod low_volts;
pub mod smoke;
pub mod stays_live;
mod words;

pub use words::legend;
